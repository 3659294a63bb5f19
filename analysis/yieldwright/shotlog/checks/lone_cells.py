"""Cells that stand alone in their column: far from the rest of it, or written unlike it."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

import numpy as np

from yieldwright.shotlog.checks.keystrokes import (
    core_number,
    corrections,
    decimals,
    ends_in_zero,
)
from yieldwright.shotlog.checks.ranges import failed_pulls
from yieldwright.shotlog.checks.slips import likely_meant
from yieldwright.shotlog.checks.spread import FEWEST, groups_of_rows, levels_of, spread_column
from yieldwright.shotlog.checks.written import Written
from yieldwright.shotlog.findings import Finding, shown
from yieldwright.shotlog.headers.entries import entry_of

if TYPE_CHECKING:
    from collections.abc import Sequence

    import pandas as pd

    from yieldwright.bench import Bench
    from yieldwright.glossary import Quantity
    from yieldwright.shotlog.checks.spread import SpreadColumn
    from yieldwright.shotlog.findings import Texts

__all__ = ["far_cells", "oddly_written_cells", "rare_levels"]

#: Spreads from the middle at which a cell is far: a normal log reaches it once in two
#: million cells, real ones more often.
_FAR = 5.0
#: Where settings differ between coffees, a cell is held against its own bag and grinder.
_GROUPED_BY = ("bag", "grinder")
#: Set once and kept; a grind or a purge may be tried once.
_SETTINGS = frozenset({"temp_c", "dose_target_g", "beverage_target_g"})
#: Share of cells that may be written otherwise in a column that is written one way.
_ODD_SHARE = 0.02
#: Cells that show that last zeros are written, so that a missing digit means something.
_ZEROS = 2
_LEVELS_FROM, _MOST_LEVELS, _OFTEN = 20, 6, 3


def far_cells(frame: pd.DataFrame, texts: Texts, bench: Bench) -> list[Finding]:
    """Return cells far from the rest of their column that one key would bring back.

    Parameters
    ----------
    frame : DataFrame
        One row per data row.
    texts : mapping of str to sequence of str
        The typed columns as typed.
    bench : Bench
        May widen ranges.

    Returns
    -------
    list of Finding
        None for cells outside their usual range, which have a flag of their own, nor for
        the outcome of a pull that failed.

    Examples
    --------
    >>> import pandas as pd
    >>> from yieldwright.bench import Bench
    >>> times = [35.0, 36.0, 34.0, 37.0, 36.0, 35.0, 38.0, 33.0, 36.0, 53.0]
    >>> frame = pd.DataFrame({"time_s": times})
    >>> far_cells(frame, {"time_s": [f"{time:.0f}" for time in times]}, Bench())[0].suggestion
    '53 → 35?'
    """
    groups = groups_of_rows(frame, _GROUPED_BY)
    failed = failed_pulls(frame)
    found: list[Finding] = []
    for name, entry in _numbers(frame, texts, bench):
        column = spread_column(frame, texts, name, groups, bench)
        values = column.numbers
        with np.errstate(invalid="ignore"):
            far = np.abs(values - column.middle) > _FAR * column.scale
            far &= (values >= entry.soft.low) & (values <= entry.soft.high) & ~failed
        found += _brought_back(entry, column, np.flatnonzero(far))
    return found


def rare_levels(frame: pd.DataFrame, texts: Texts, bench: Bench) -> list[Finding]:
    """Return cells beside the few settings that all other rows share.

    Parameters
    ----------
    frame : DataFrame
        One row per data row.
    texts : mapping of str to sequence of str
        The typed columns as typed.
    bench : Bench
        May widen ranges.

    Returns
    -------
    list of Finding
        Only where all others lie on a few levels more than a digit apart, and one key
        leads to one of them.

    Examples
    --------
    >>> import pandas as pd
    >>> from yieldwright.bench import Bench
    >>> temps = [87.0] * 10 + [91.0] * 10 + [81.0]
    >>> frame = pd.DataFrame({"temp_c": temps})
    >>> rare_levels(frame, {"temp_c": [f"{temp:.0f}" for temp in temps]}, Bench())[0].suggestion
    '81 → 87 or 91?'
    """
    found: list[Finding] = []
    for name, entry in _numbers(frame, texts, bench):
        if name not in _SETTINGS:
            continue
        values = frame[name].to_numpy(dtype=float)
        levels, codes = levels_of(values, texts[name])
        counts = np.bincount(codes[codes >= 0], minlength=len(levels))
        often, rest = levels[counts >= _OFTEN], int(counts[counts < _OFTEN].sum())
        if not 2 <= len(often) <= _MOST_LEVELS or counts.sum() < _LEVELS_FROM:
            continue
        is_next = np.diff(often).min() < 1.5 * 10.0 ** -Written.of(texts[name]).usual
        if is_next or not 0 < rest <= max(1, _ODD_SHARE * counts.sum()):
            continue
        odd = np.isin(values, levels[counts < _OFTEN])
        found += _beside(entry, texts[name], values, often, np.flatnonzero(odd))
    return found


def oddly_written_cells(frame: pd.DataFrame, texts: Texts, bench: Bench) -> list[Finding]:
    """Return cells with a digit more or fewer behind the point than all of their column.

    Parameters
    ----------
    frame : DataFrame
        One row per data row.
    texts : mapping of str to sequence of str
        The typed columns as typed.
    bench : Bench
        May widen ranges.

    Returns
    -------
    list of Finding
        None in a column of whole numbers; fewer digits count only where others end in a
        written zero: else it fell.

    Examples
    --------
    >>> import pandas as pd
    >>> from yieldwright.bench import Bench
    >>> doses = ["18.0", "18.1", "17.9", "18.0", "18.2", "17.8", "18.1", "18"]
    >>> frame = pd.DataFrame({"dose_g": [float(dose) for dose in doses]})
    >>> oddly_written_cells(frame, {"dose_g": doses}, Bench())[0].reason
    'written with no decimal, where the rest of its column has 1: a digit left out?'
    """
    found: list[Finding] = []
    for name, entry in _numbers(frame, texts, bench, checks=True):
        written = Written.of(texts[name])
        usual, plain = written.usual, np.isfinite(written.places)
        odd = plain & (written.places != usual)
        n_plain, n_odd = (int(written.counts[which].sum()) for which in (plain, odd))
        if not usual or n_plain < FEWEST or not 0 < n_odd <= max(1, _ODD_SHARE * n_plain):
            continue
        if (written.measured(ends_in_zero) * written.counts).sum() < _ZEROS:
            odd &= written.places > usual
        found += [
            _odd_finding(entry, row, texts[name][row], usual)
            for row in np.flatnonzero(odd[written.codes]).tolist()
        ]
    return found


def _numbers(
    frame: pd.DataFrame, texts: Texts, bench: Bench, *, checks: bool = False
) -> Iterator[tuple[str, Quantity]]:
    """Yield the typed columns of numbers, scores left out, with their entries."""
    for name in texts:
        if name not in frame or name.startswith("score:"):
            continue
        entry = entry_of(name, bench)
        if entry.kind == "number" and (checks or not name.startswith("typed_")):
            yield name, entry


def _brought_back(entry: Quantity, column: SpreadColumn, rows: np.ndarray) -> Iterator[Finding]:
    for row in rows.tolist():
        middle, scale = float(column.middle[row]), float(column.scale[row])
        value, text = float(column.numbers[row]), column.texts[row]
        if not np.isfinite(middle) or core_number(text) != value:
            continue
        meant = likely_meant(text, value, entry.soft, middle=middle, scale=scale)
        if meant:
            low, high = middle - 2 * scale, middle + 2 * scale
            usual = f"{low:.{column.places}f}–{high:.{column.places}f}"
            reason = f"far from the rest of its column, usually {usual}"
            yield Finding(row, entry.name, text, reason, meant)


def _beside(
    entry: Quantity,
    texts: Sequence[str],
    values: np.ndarray,
    often: np.ndarray,
    rows: np.ndarray,
) -> Iterator[Finding]:
    for row in rows.tolist():
        if not entry.soft.holds(values[row]):
            continue
        near = [each.text for each in corrections(texts[row]).each if each.value in often]
        if near:
            levels = ", ".join(f"{level:g}" for level in often)
            reason = f"the only row off the settings of all others ({levels})"
            meant = f"{shown(texts[row])} → {' or '.join(sorted(near)[:3])}?"
            yield Finding(row, entry.name, texts[row], reason, meant)


def _odd_finding(entry: Quantity, row: int, text: str, usual: int) -> Finding:
    places = decimals(text)
    written = f"{places} decimal{'s' if places > 1 else ''}" if places else "no decimal"
    rest = f"where the rest of its column has {usual}"
    if places < usual:
        reason = f"written with {written}, {rest}: a digit left out?"
        return Finding(row, entry.name, text, reason, "write the last zero too, or the digit")
    made = [each for each in corrections(text).each if each.kind == "extra"]
    near = [each.text for each in made if each.decimals == usual]
    reason = f"written with {written}, {rest}: a digit too many?"
    meant = f"{shown(text)} → {' or '.join(near[:3])}?" if near else ""
    return Finding(row, entry.name, text, reason, meant)
