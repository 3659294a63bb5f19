"""How many shots failed, by setting, with an interval that holds on few shots."""

from __future__ import annotations

import math
from collections.abc import Hashable, Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import pandas as pd

from yieldwright.errors import UnknownNameError
from yieldwright.formatting import count, listing, percent
from yieldwright.models.intervals.intervals import wilson_interval
from yieldwright.results import Dropped, Result
from yieldwright.shotlog.tables.sessions import NO_FATE
from yieldwright.taste.words.phrases import column_noun

if TYPE_CHECKING:
    from yieldwright.shotlog import ShotLog
    from yieldwright.taste.columns.comparable import ComparableSet

__all__ = ["FailureRates", "every_shot", "failure_rate"]

PULLED = "pulled"
NOT_LOGGED = "not logged"


@dataclass(frozen=True, kw_only=True, eq=False, repr=False)
class FailureRates(Result):
    """How many of the shots at each setting were not pulled to the end.

    Attributes
    ----------
    by : tuple of str
        Columns that shots are gathered by.
    rates : DataFrame
        One row per setting: the columns of `by`, `n_shots`, `n_failed`, and the share
        with its Wilson interval, `rate`, `ci_low`, `ci_high`.
    fates : mapping of str to int
        How many shots met each fate.
    logged : bool
        Whether the log says how shots ended; where it does not, every shot counts as
        pulled and no rate means anything.
    """

    by: tuple[str, ...]
    rates: pd.DataFrame
    fates: Mapping[str, int]
    logged: bool

    @property
    def title(self) -> str:
        """What was counted."""
        names = [column_noun(column) for column in self.by]
        return f"Shots that failed, by {listing(names)}" if names else "Shots that failed"

    def to_frame(self) -> pd.DataFrame:
        """Return the rates at full precision."""
        return self.rates

    def display_frame(self) -> pd.DataFrame:
        """Return the rates as text.

        Returns
        -------
        DataFrame
            One row per setting: its columns, shots, failures, share and interval.
        """
        return pd.DataFrame([_shown(row, self.by) for row in self.rates.to_dict("records")])


def every_shot(log: ShotLog, comparable: ComparableSet) -> pd.DataFrame:
    r"""Return all shots of a bag and grinder, with their fate only where it was logged.

    Parameters
    ----------
    log : ShotLog
        A log that was read.
    comparable : ComparableSet
        Whose bag and grinder are meant.

    Returns
    -------
    DataFrame
        One row per shot, warm-ups and failures included.

    Examples
    --------
    >>> from pathlib import Path
    >>> from tempfile import TemporaryDirectory
    >>> from yieldwright.shotlog import read_log
    >>> from yieldwright.taste.asking import named_set
    >>> with TemporaryDirectory() as folder:
    ...     path = Path(folder, "shots.csv")
    ...     _ = path.write_text("shot,bag,fate\n1,a,pulled\n2,a,choked\n", encoding="utf-8")
    ...     log = read_log(path)
    >>> every_shot(log, named_set(log))["fate"].tolist()
    ['pulled', 'choked']
    """
    shots = log.shots
    for name, code in (("bag", comparable.bag), ("grinder", comparable.grinder)):
        if name in shots:
            shots = shots[shots[name].fillna("") == code]
    return shots.drop(columns="fate") if NO_FATE in log.reading.remarks else shots


def failure_rate(shots: pd.DataFrame, by: str | Sequence[str] = ()) -> FailureRates:
    """Return the share of shots that were not pulled to the end, by setting.

    Parameters
    ----------
    shots : DataFrame
        One row per shot, failures included.
    by : str or sequence of str
        Columns to gather shots by; none for one rate of all.

    Returns
    -------
    FailureRates

    Raises
    ------
    UnknownNameError
        If the table has no such column.

    Notes
    -----
    Warm-ups are left out: nobody expects them to succeed. An absent fate means pulled,
    and is said.

    References
    ----------
    .. [1] Wilson (1927), J. Am. Stat. Assoc. 22, 209.

    Examples
    --------
    >>> shots = pd.DataFrame({"fate": ["pulled"] * 9 + ["choked"], "grind_setting": 8.0})
    >>> failure_rate(shots, "grind_setting").sentences[0]
    '1 of 10 shots failed (10 %, 95 % interval 2 % to 40 %): 1 choked.'
    """
    columns = (by,) if isinstance(by, str) else tuple(by)
    _require_columns(shots, columns)
    warm_ups = int((shots["stage"] == "warm_up").sum()) if "stage" in shots else 0
    counted = shots[shots["stage"] != "warm_up"] if warm_ups else shots
    logged = "fate" in counted and bool(counted["fate"].notna().any())
    fate = counted["fate"].fillna(PULLED) if logged else pd.Series(PULLED, index=counted.index)
    failed = fate != PULLED if logged else pd.Series(math.nan, index=counted.index)
    fates = {str(name): int(n) for name, n in fate.value_counts().items()}
    return FailureRates(
        by=columns,
        rates=_rates(counted, failed, columns),
        fates=fates,
        logged=logged,
        n_shots=len(counted),
        dropped=(Dropped(warm_ups, "pulled to warm up"),) if warm_ups else (),
        sentences=(_sentence(fates, len(counted)) if logged else _unseen(len(counted)),),
    )


def _require_columns(shots: pd.DataFrame, columns: Sequence[str]) -> None:
    missing = [column for column in columns if column not in shots]
    if missing:
        raise UnknownNameError(f"the table has no column {listing(missing)} to gather shots by")


def _rates(shots: pd.DataFrame, failed: pd.Series, by: Sequence[str]) -> pd.DataFrame:
    figures = ["n_shots", "n_failed", "rate", "ci_low", "ci_high"]
    if not by:
        return pd.DataFrame([_rate(failed)], columns=figures)
    keys = {column: shots[column].astype(object).fillna(NOT_LOGGED) for column in by}
    groups = pd.DataFrame({**keys, "failed": failed}).groupby(list(by), sort=False)["failed"]
    rows = [(*_as_tuple(key), *_rate(group)) for key, group in groups]
    rates = pd.DataFrame(rows, columns=[*by, *figures])
    return rates.sort_values(list(by), key=_orderly, ignore_index=True)


def _as_tuple(key: object) -> tuple[object, ...]:
    return key if isinstance(key, tuple) else (key,)


def _rate(failed: pd.Series) -> tuple[float, ...]:
    n_shots, n_failed = len(failed), int(failed.sum())
    if failed.isna().any() or not n_shots:
        return n_shots, math.nan, math.nan, math.nan, math.nan
    low, high = wilson_interval(n_failed, n_shots)
    return n_shots, n_failed, n_failed / n_shots, low, high


def _orderly(values: pd.Series) -> pd.Series:
    """Return ranks that sort numbers as numbers and words as words, what is missing last."""
    words = {value: (value == NOT_LOGGED, isinstance(value, str), value) for value in values}
    ranks = {value: rank for rank, value in enumerate(sorted(words, key=lambda each: words[each]))}
    return values.map(ranks)


def _unseen(n_shots: int) -> str:
    if not n_shots:
        return "There is no shot whose end could be counted."
    return (
        f"The log does not say how its {count(n_shots, 'shot')} ended: add a column fate, or "
        "failures stay unseen and the spread looks smaller than it is."
    )


def _sentence(fates: Mapping[str, int], n_shots: int) -> str:
    failures = {fate: n for fate, n in fates.items() if fate != PULLED}
    n_failed = sum(failures.values())
    low, high = wilson_interval(n_failed, n_shots)
    kinds = listing([f"{n} {fate}" for fate, n in failures.items()])
    return (
        f"{n_failed} of {count(n_shots, 'shot')} failed ({percent(n_failed / n_shots)}, 95 % "
        f"interval {percent(low)} to {percent(high)}){f': {kinds}' if kinds else ''}."
    )


def _shown(row: Mapping[Hashable, Any], by: Sequence[str]) -> dict[str, str]:
    low, high = percent(row["ci_low"]), percent(row["ci_high"])
    heads = {column_noun(column): _value(row[column]) for column in by}
    return {
        **heads,
        "Shots": str(row["n_shots"]),
        "Failed": "–" if math.isnan(row["rate"]) else f"{row['n_failed']:.0f}",
        "Share": percent(row["rate"]),
        "95 % interval": "–" if math.isnan(row["rate"]) else f"{low} to {high}",
    }


def _value(value: Any) -> str:  # noqa: ANN401
    return f"{value:g}" if isinstance(value, float) else str(value)
