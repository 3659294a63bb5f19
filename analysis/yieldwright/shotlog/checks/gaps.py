"""Numbers that a log skips: shots that were pulled, perhaps, and never written down."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Sequence
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from yieldwright.formatting import count, listing
from yieldwright.shotlog.findings import NO_ROW, Finding, findings_of, quoted, shown
from yieldwright.shotlog.formats.texts import TextColumn

if TYPE_CHECKING:
    from yieldwright.shotlog.findings import Texts

__all__ = ["missing_positions", "missing_shots", "repeated_positions"]

#: Random codes leave more numbers out than they use; a log with gaps does not.
_MOST_MISSING = 0.5
_FEWEST = 3
#: Longer runs of digits are days, moments or serial numbers.
_MOST_DIGITS = 6
_LONGEST_ID = 40
#: What stands before the last number of a day or a time of day.
_DAY_OR_TIME = re.compile(r"([0-9]{4}[-./]|([0-9]{4}|[0-9]{1,2})[-./][0-9]{1,2}[-./]|.*[0-9]:)")
_MOST_TOLD = 6
_ODD_SHARE = 0.05
_REMEDY = "log failed pulls too, with their fate: without them shots look steadier than they are"


def missing_shots(ids: Sequence[str], elsewhere: Iterable[str] = ()) -> list[Finding]:
    """Return one finding on the running numbers that no row carries.

    Parameters
    ----------
    ids : sequence of str
        Names of the shots, of rows set aside too: 1, 2, 4 or s-12, s-14, or 2026-03-07/3.
    elsewhere : iterable of str
        Names on lines that could not be taken apart.

    Returns
    -------
    list of Finding
        One, of no row, or none: days, times and random codes skip nothing.

    Examples
    --------
    >>> missing_shots(["1", "2", "4", "5", "6"])[0].reason
    'shot 3 is not in the log: a failure left out?'
    >>> missing_shots(["417", "283", "905"])
    []
    """
    of_rows = ids.texts if isinstance(ids, TextColumn) else ids
    names = [*of_rows, *elsewhere]
    if not names or max(map(len, names)) > _LONGEST_ID:
        return []
    told = [
        f"{shown(prefix)}{numbers}"
        for prefix, missing in _gaps_by_prefix(names)
        for numbers in _runs(missing)
    ]
    return _finding("shot", "shot", told)


def missing_positions(frame: pd.DataFrame, texts: Texts) -> list[Finding]:
    """Return one finding on the typed positions that sessions skip.

    Parameters
    ----------
    frame : DataFrame
        One row per pull: `session` and `position`.
    texts : mapping of str to sequence of str
        The typed columns as typed.

    Returns
    -------
    list of Finding
        One, of no row, or none.

    Examples
    --------
    >>> frame = pd.DataFrame({"session": "e1", "position": [1.0, 2.0, 4.0]})
    >>> missing_positions(frame, {"position": ["1", "2", "4"]})[0].reason
    'position 3 of session “e1” is not in the log: a failure left out?'
    """
    if "position" not in texts or not {"session", "position"} <= set(frame.columns):
        return []
    known = frame.loc[frame["position"].notna(), ["session", "position"]]
    codes, sessions = pd.factorize(known["session"])
    told = [
        f"{numbers} of session {quoted(str(sessions[code]))}"
        for code, missing in _gaps(codes, known["position"].to_numpy(dtype=np.int64))
        for numbers in _runs(missing)
    ]
    return _finding("position", "position", told)


def repeated_positions(frame: pd.DataFrame, texts: Texts) -> list[Finding]:
    """Return rows with the position of an earlier row of their session.

    Parameters
    ----------
    frame : DataFrame
        One row per pull: `session` and `position`; its index numbers the data rows.
    texts : mapping of str to sequence of str
        The typed columns as typed.

    Returns
    -------
    list of Finding
        None where many repeat: then several sessions share a name.

    Examples
    --------
    >>> frame = pd.DataFrame({"session": "e1", "position": [1.0, 2.0, 2.0]})
    >>> texts = {"session": ["e1"] * 3, "position": ["1", "2", "2"]}
    >>> repeated_positions(frame, texts)[0].reason
    'another shot of its session has this position'
    """
    if not {"session", "position"} <= set(texts) or "position" not in frame:
        return []
    known = frame.loc[frame["position"].notna(), ["session", "position"]]
    again = known.duplicated()
    if not 0 < again.sum() <= max(1, _ODD_SHARE * len(known)):
        return []
    rows = np.zeros(len(texts["position"]), dtype=bool)
    rows[known.index[again].to_numpy()] = True
    reason = "another shot of its session has this position"
    return list(findings_of(rows, "position", texts, reason, "count every pull once, in order"))


def _finding(column: str, noun: str, told: Sequence[str]) -> list[Finding]:
    if not told:
        return []
    named = list(told[:_MOST_TOLD])
    if len(told) > _MOST_TOLD:
        named.append(count(len(told) - _MOST_TOLD, "further gap"))
    is_one = len(told) == 1 and "–" not in told[0].partition(" of ")[0]
    words = f"{noun} {told[0]} is" if is_one else f"{noun}s {listing(named)} are"
    failures = "a failure left out?" if is_one else "failures left out?"
    return [Finding(NO_ROW, column, "", f"{words} not in the log: {failures}", _REMEDY)]


def _gaps_by_prefix(names: Sequence[str]) -> Iterator[tuple[str, np.ndarray]]:
    """Yield what stands before a running number, and the numbers skipped behind it."""
    letters: np.ndarray = np.array(names, dtype=np.str_).view(np.uint32).reshape(len(names), -1)
    lengths = (letters != 0).sum(axis=1)
    digits, numbers = _last_numbers(letters, lengths)
    is_number = (digits > 0) & (digits <= _MOST_DIGITS)
    heads = _hashes(letters, lengths - digits)
    _, firsts, codes = np.unique(heads[is_number], return_index=True, return_inverse=True)
    firsts = np.flatnonzero(is_number)[firsts]
    for code, missing in _gaps(codes, numbers[is_number]):
        first = int(firsts[code])
        prefix = names[first][: lengths[first] - digits[first]]
        if not _DAY_OR_TIME.fullmatch(prefix):
            yield prefix, missing


def _last_numbers(letters: np.ndarray, lengths: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Return how many digits end each name, and the number they make."""
    rows = np.arange(len(letters))
    digits = np.zeros(len(letters), dtype=np.int64)
    numbers = np.zeros(len(letters), dtype=np.int64)
    goes_on = np.ones(len(letters), dtype=bool)
    for place in range(min(letters.shape[1], _MOST_DIGITS + 1)):
        at = lengths - 1 - place
        digit = letters[rows, np.maximum(at, 0)].astype(np.int64) - ord("0")
        goes_on &= (at >= 0) & (digit >= 0) & (digit <= 9)
        if not goes_on.any():
            break
        digits += goes_on
        numbers += np.where(goes_on, digit * 10**place, 0)
    return digits, numbers


def _hashes(letters: np.ndarray, lengths: np.ndarray) -> np.ndarray:
    """Return one number for each different beginning of names."""
    hashes = lengths.astype(np.uint64)
    for place in range(int(lengths.max(initial=0))):
        kept = np.where(place < lengths, letters[:, place], 0).astype(np.uint64)
        hashes = hashes * np.uint64(1_099_511_628_211) + kept
    return hashes


def _gaps(codes: np.ndarray, numbers: np.ndarray) -> Iterator[tuple[int, np.ndarray]]:
    """Yield each group that skips some numbers between its first and last, and which."""
    order = np.lexsort((numbers, codes))
    codes, numbers = codes[order], numbers[order]
    steps = (codes[1:] == codes[:-1]) & (numbers[1:] > numbers[:-1] + 1)
    sizes = np.bincount(codes)
    for code in np.unique(codes[1:][steps]).tolist():
        start = int(np.searchsorted(codes, code))
        own = np.unique(numbers[start : start + sizes[code]])
        n_missing = own[-1] - own[0] + 1 - len(own)
        if len(own) >= _FEWEST and n_missing <= _MOST_MISSING * len(own):
            yield code, np.setdiff1d(np.arange(own[0], own[-1]), own, assume_unique=True)


def _runs(numbers: np.ndarray) -> list[str]:
    """Return numbers as runs: 3, 7–9."""
    parts = np.split(numbers, np.flatnonzero(np.diff(numbers) > 1) + 1)
    return [f"{run[0]}–{run[-1]}" if len(run) > 1 else f"{run[0]}" for run in parts]
