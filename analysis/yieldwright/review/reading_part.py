"""The part of the page that accounts for the log: every line, every shot, every doubt."""

from __future__ import annotations

from typing import TYPE_CHECKING

from yieldwright.formatting import clip, count, listing, visible

if TYPE_CHECKING:
    from collections.abc import Hashable, Mapping
    from typing import Any

    from yieldwright.review.window import ReviewedShots
    from yieldwright.shotlog import Reading, ShotLog

__all__ = [
    "doubt_sentences",
    "line_sum",
    "lines_sentence",
    "remark_sentences",
    "review_sentence",
]

#: Where everything the page cuts short is listed in full.
FULL_LIST = "“yieldwright check” lists all"

_SHOWN_ROWS = 2
_SHOWN_REMARKS = 2
_REASON_WIDTH = 90
_REMARK_WIDTH = 170


def line_sum(reading: Reading) -> tuple[tuple[str, str], ...]:
    """Return the lines read, then the parts they add up from: number and word.

    Parameters
    ----------
    reading : Reading
        How the log was read.

    Returns
    -------
    tuple of pairs of str

    Examples
    --------
    >>> from yieldwright.shotlog import Reading
    >>> line_sum(Reading(files=()))[0]
    ('0', 'lines read')
    """
    noun = "line" if reading.lines_read == 1 else "lines"
    files = f" in {len(reading.files)} files" if len(reading.files) > 1 else ""
    return (
        (f"{reading.lines_read:,}", f"{noun} read{files}"),
        (f"{reading.lines_accepted:,}", "accepted"),
        (f"{reading.lines_set_aside:,}", "set aside"),
        (f"{reading.lines_listed:,}", "listed (headers, blanks, comments)"),
    )


def lines_sentence(reading: Reading) -> str:
    """Return the sum of lines as a sentence.

    Parameters
    ----------
    reading : Reading
        How the log was read.

    Returns
    -------
    str

    Examples
    --------
    >>> from yieldwright.shotlog import Reading
    >>> lines_sentence(Reading(files=()))
    '0 lines read = 0 accepted + 0 set aside + 0 listed (headers, blanks, comments)'
    """
    total, *parts = [f"{number} {word}" for number, word in line_sum(reading)]
    return f"{total} = {' + '.join(parts)}"


def review_sentence(reviewed: ReviewedShots, *, n_accepted: int) -> str:
    """Return which shots are reviewed and what became of the others.

    Parameters
    ----------
    reviewed : ReviewedShots
        The shots under review.
    n_accepted : int
        Shots the log holds.

    Returns
    -------
    str

    Examples
    --------
    >>> import pandas as pd
    >>> from yieldwright.review.window import choose_shots
    >>> review_sentence(choose_shots(pd.DataFrame({"shot": ["a"]})), n_accepted=1)
    'The log states no day, so all its shots are reviewed: 1 of 1 accepted.'
    """
    rule = reviewed.rule.removesuffix(".")
    others = listing([str(each) for each in reviewed.left_out])
    tail = f"; not reviewed: {others}" if others else ""
    return f"{rule}: {reviewed.n_shots:,} of {n_accepted:,} accepted{tail}."


def doubt_sentences(log: ShotLog) -> tuple[str, ...]:
    r"""Return which rows were set aside and which kept with a flag, counted where cut.

    Parameters
    ----------
    log : ShotLog
        A log that was read.

    Returns
    -------
    tuple of str
        Empty where every row was accepted as it stood.

    Examples
    --------
    >>> from pathlib import Path
    >>> from tempfile import TemporaryDirectory
    >>> from yieldwright.shotlog import read_log
    >>> with TemporaryDirectory() as folder:
    ...     path = Path(folder, "shots.csv")
    ...     _ = path.write_text("shot,dose_g\n1,180\n", encoding="utf-8")
    ...     print(doubt_sentences(read_log(path))[0].partition(" (")[0])
    Set aside: line 2
    """
    return tuple(filter(None, (_set_aside(log), _flagged(log))))


def remark_sentences(reading: Reading) -> tuple[str, ...]:
    """Return what was detected and assumed while reading, as one paragraph.

    Parameters
    ----------
    reading : Reading
        How the log was read.

    Returns
    -------
    tuple of str
        Empty where there is nothing to remark.

    Examples
    --------
    >>> from yieldwright.shotlog import Reading
    >>> remark_sentences(Reading(files=(), remarks=("No column fate: every shot counts.",)))
    ('How it was read: No column fate: every shot counts.',)
    """
    remarks = [clip(visible(remark), _REMARK_WIDTH) for remark in reading.remarks]
    if not remarks:
        return ()
    more = _more(len(remarks) - _SHOWN_REMARKS, "remark")
    shown = " ".join(remarks[:_SHOWN_REMARKS])
    return (f"How it was read: {shown}{more and f' ({more})'}",)


def _set_aside(log: ShotLog) -> str:
    """Return the first rows set aside with line and reason, and a count of the rest."""
    rows = log.set_aside.head(_SHOWN_ROWS).to_dict("records")
    if not rows:
        return ""
    several = len(log.reading.files) > 1
    told = [_row_told(row, with_file=several) for row in rows]
    more = _more(len(log.set_aside) - _SHOWN_ROWS, "row")
    return f"Set aside: {'; '.join(told)}{more and f'; {more}'}."


def _row_told(row: Mapping[Hashable, Any], *, with_file: bool) -> str:
    file = f"{clip(str(row['file']), 40)}, " if with_file else ""
    return f"{file}line {row['line']} ({clip(visible(str(row['reason'])), _REASON_WIDTH)})"


def _flagged(log: ShotLog) -> str:
    if log.flags.empty:
        return ""
    shots = log.flags["shot"].dropna().nunique()
    doubts = count(len(log.flags), "doubt")
    return f"Kept with a flag: {count(shots, 'shot')}, {doubts} in all; {FULL_LIST}."


def _more(n: int, noun: str) -> str:
    return f"{count(n, f'more {noun}')}; {FULL_LIST}" if n > 0 else ""
