"""Hard and soft ranges, column by column: set aside, or keep and flag."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from yieldwright.shotlog.checks.offers import Offers
from yieldwright.shotlog.findings import Finding
from yieldwright.shotlog.headers.entries import entry_of

if TYPE_CHECKING:
    import pandas as pd

    from yieldwright.bench import Bench
    from yieldwright.glossary import Quantity, Span

__all__ = ["beyond_hard", "beyond_soft", "failed_pulls"]

#: What a choked or gushed pull may carry to any length: kept and flagged, not set aside.
_OUTCOMES = frozenset({"beverage_g", "brew_ratio", "time_s", "first_drip_s", "tds_pct", "ey_pct"})


#: What to do about a computed value that no cell of its own could explain.
_REMEDIES = {
    "frozen_d": "correct frozen_on or thawed_on",
    "open_d": "correct opened_on or the day of the pull",
    "roast_age_d": "correct roasted_on, the days frozen or the day of the pull",
}


def beyond_hard(
    frame: pd.DataFrame, texts: Mapping[str, Sequence[str]], bench: Bench
) -> tuple[list[Finding], list[Finding]]:
    """Return values outside their hard ranges: for setting rows aside, and for flags.

    The outcome of a pull that failed, such as 3 g in the cup of a choked one, is no
    mistake of the log: it is flagged, as long as it is possible at all.

    Parameters
    ----------
    frame : DataFrame
        One row per data row.
    texts : mapping of str to sequence of str
        The same columns as typed; absent where a column is computed.
    bench : Bench
        May widen the ranges.

    Returns
    -------
    refused, flagged : list of Finding

    Examples
    --------
    >>> import pandas as pd
    >>> from yieldwright.bench import Bench
    >>> frame = pd.DataFrame({"dose_g": [18.0, 180.0]})
    >>> refused, _ = beyond_hard(frame, {"dose_g": ["18", "180"]}, Bench())
    >>> refused[0].reason, refused[0].suggestion
    ('dose_g is 180 g, outside 5–30 g', '180 → 18.0?')
    """
    refused: list[Finding] = []
    flagged: list[Finding] = []
    failed = failed_pulls(frame)
    offers = Offers(frame, texts, bench)
    for column in _numeric(frame, texts, bench):
        spared = failed & _inside(column.numbers, column.entry.possible) & column.is_outcome
        outside = ~_inside(column.numbers, column.entry.hard)
        refused += _findings(column, outside & ~spared, offers)
        flagged += _findings(column, outside & spared, offers)
    return refused, flagged


def beyond_soft(
    frame: pd.DataFrame, texts: Mapping[str, Sequence[str]], bench: Bench
) -> list[Finding]:
    """Return values outside their usual ranges, outcomes of failed pulls left out.

    Parameters
    ----------
    frame : DataFrame
        One row per data row.
    texts : mapping of str to sequence of str
        The same columns as typed; absent where a column is computed.
    bench : Bench
        May widen the ranges.

    Returns
    -------
    list of Finding

    Examples
    --------
    >>> import pandas as pd
    >>> from yieldwright.bench import Bench
    >>> beyond_soft(pd.DataFrame({"dose_g": [23.0]}), {}, Bench())[0].reason
    'dose_g comes to 23 g, outside the usual 14–22 g'
    """
    flagged: list[Finding] = []
    failed = failed_pulls(frame)
    offers = Offers(frame, texts, bench)
    for column in _numeric(frame, texts, bench):
        unusual = ~_inside(column.numbers, column.entry.soft)
        unusual &= _inside(column.numbers, column.entry.hard) & ~(failed & column.is_outcome)
        if not column.is_check:
            flagged += _findings(column, unusual, offers, usual=True)
    return flagged


def failed_pulls(frame: pd.DataFrame) -> np.ndarray:
    """Return which rows say that the pull failed.

    Parameters
    ----------
    frame : DataFrame
        One row per data row.

    Returns
    -------
    ndarray of bool

    Examples
    --------
    >>> import pandas as pd
    >>> failed_pulls(pd.DataFrame({"fate": ["pulled", None, "choked"]})).tolist()
    [False, False, True]
    """
    if "fate" not in frame:
        return np.zeros(len(frame), dtype=bool)
    return frame["fate"].fillna("pulled").ne("pulled").to_numpy(dtype=bool)


class _Column(NamedTuple):
    """One column of numbers beside its entry and, where it was typed, its texts."""

    name: str
    entry: Quantity
    numbers: np.ndarray
    texts: Sequence[str] | None

    @property
    def is_outcome(self) -> bool:
        """Whether a failed pull may carry it to any length."""
        return self.entry.name in _OUTCOMES

    @property
    def is_check(self) -> bool:
        """Whether it is typed beside a column that we compute."""
        return self.name.startswith("typed_")


def _numeric(
    frame: pd.DataFrame, texts: Mapping[str, Sequence[str]], bench: Bench
) -> Iterator[_Column]:
    for name in frame.columns.tolist():
        if name.startswith(("u_", "cov_", "half_width_")) or name.endswith(":day"):
            continue
        entry = entry_of(name, bench)
        if entry.is_numeric:
            yield _Column(name, entry, frame[name].to_numpy(dtype=float), texts.get(name))


def _inside(values: np.ndarray, span: Span) -> np.ndarray:
    """Return which values lie in a span; a missing one does."""
    low = values <= span.low if span.open_low else values < span.low
    inside: np.ndarray = ~(low | (values > span.high))
    return inside


def _shown(value: float, span: Span) -> str:
    """Return a number short, yet long enough to be seen outside a span."""
    short = f"{value:.4g}"
    return f"{value:.9g}" if span.holds(float(short)) else short


def _findings(
    column: _Column, outside: np.ndarray, offers: Offers, *, usual: bool = False
) -> Iterator[Finding]:
    entry = column.entry
    unit = "" if entry.unit in ("", "1") else f" {entry.unit}"
    span = entry.soft if usual else entry.hard
    is_computed = column.texts is None
    verb = "comes to" if is_computed else "is"
    remedy = _REMEDIES.get(entry.name, "") if is_computed and not usual else ""
    rows = np.flatnonzero(outside).tolist()
    meant = offers.of_cells(column.name, rows, only_far=usual)
    for row, offer in zip(rows, meant, strict=True):
        text = column.texts[row] if column.texts is not None else ""
        bounds = f"outside{' the usual' if usual else ''} {span}{unit}"
        reason = f"{entry.name} {verb} {_shown(float(column.numbers[row]), span)}{unit}, {bounds}"
        yield Finding(row, entry.name, text, reason, offer or remedy)
