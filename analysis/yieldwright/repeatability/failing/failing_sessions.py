"""Whether shots fail as often in every session: shares with limits, a session each."""

from __future__ import annotations

from collections.abc import Hashable, Mapping
from dataclasses import dataclass, field, replace
from typing import Any

import numpy as np
import numpy.typing as npt
import pandas as pd

from yieldwright.formatting import count, listing, percent, visible
from yieldwright.models.charts.attribute import CountChart, share_chart
from yieldwright.models.intervals.intervals import wilson_interval
from yieldwright.results import Dropped, Result

__all__ = ["FailingSessions", "failing_sessions"]

#: Fewest sessions, and failures among them, that a limit is worth (common practice, no source).
LEAST_SESSIONS, LEAST_FAILURES = 5, 3

#: Steady benches drawn, and where chance begins if a caller brings no generator.
DRAWS, SEED = 10_000, 20_261_130

_COLUMNS = ("session", "n_shots", "n_failed", "rate", "lower", "upper", "beyond")


@dataclass(frozen=True, kw_only=True, eq=False, repr=False)
class FailingSessions(Result):
    """Share of failed shots, a session each, with limits.

    Attributes
    ----------
    table : DataFrame
        One row per session: shots, failures, share, limits, and whether it lies beyond.
    rate : float
        Share of all shots that failed; missing without a chart.
    chance : float
        How often some session lies beyond its limits though all fail alike.
    missing : str
        What a chart lacks; empty where there is one.
    """

    table: pd.DataFrame = field(default_factory=lambda: pd.DataFrame(columns=list(_COLUMNS)))
    rate: float = float("nan")
    chance: float = float("nan")
    missing: str = ""

    @property
    def title(self) -> str:
        """What was watched."""
        return "Whether shots fail as often in every session"

    def to_frame(self) -> pd.DataFrame:
        """Return the shares at full precision."""
        return self.table

    def display_frame(self) -> pd.DataFrame:
        """Return the shares as text.

        Returns
        -------
        DataFrame
            One row per session.
        """
        return pd.DataFrame([_shown(row) for row in self.table.to_dict("records")])


def failing_sessions(
    shots: pd.DataFrame, *, rng: np.random.Generator | None = None
) -> FailingSessions:
    """Return whether shots fail as often in every session.

    Parameters
    ----------
    shots : DataFrame
        One row per shot of a log, failures included, in the order of the file.
    rng : Generator or None
        Source of chance for steady benches; None for one that begins the same each time.

    Returns
    -------
    FailingSessions
        With `missing` in place of a chart where sessions or failures are too few.

    Notes
    -----
    A p chart: limits three standard deviations √(p (1 − p) / n) from the share of all.
    On sessions of a few shots they are rough and alarm more often than 0.3 %, so the
    chance is counted on drawn benches on which every shot fails alike. Warm-ups are left
    out; an absent fate means pulled.

    References
    ----------
    .. [1] NIST/SEMATECH e-Handbook of Statistical Methods, 6.3.3.2.

    Examples
    --------
    >>> sessions = [f"e{place // 6}" for place in range(36)]
    >>> fates = ["pulled"] * 30 + ["choked"] * 5 + ["pulled"]
    >>> found = failing_sessions(pd.DataFrame({"session": sessions, "fate": fates}))
    >>> found.sentences[0]
    'Session e5: 5 of 6 shots failed (83 %), more than the limit of 56 %.'
    """
    if not {"session", "fate"} <= set(shots) or not shots["fate"].notna().any():
        return _refused(shots, "The log does not say how shots ended, and in which session")
    warm = (shots["stage"] == "warm_up") if "stage" in shots else pd.Series(False, shots.index)
    named = shots["session"].notna() & ~warm
    failed = (shots["fate"].fillna("pulled") != "pulled")[named]
    groups = failed.groupby(shots.loc[named, "session"], sort=False)
    sizes, bad = groups.size(), groups.sum()
    losses = (
        (int(warm.sum()), "pulled to warm up"),
        (int((~named & ~warm).sum()), "of no session"),
    )
    dropped = tuple(Dropped(n, why) for n, why in losses if n)
    if len(sizes) < LEAST_SESSIONS or bad.sum() < LEAST_FAILURES:
        failures = f"are {count(int(bad.sum()), 'failure')}" if bad.sum() else "is no failure"
        failures = failures.replace("are 1 ", "is 1 ")
        why = (
            f"There {failures} in {count(len(sizes), 'session')}; limits need {LEAST_FAILURES} "
            f"failures and {LEAST_SESSIONS} sessions at least"
        )
        return replace(_refused(shots[named], why), dropped=dropped)
    chart = share_chart(bad.to_list(), sizes.to_list())
    chance = _chance(chart.center, sizes.to_numpy(), rng or np.random.default_rng(SEED))
    found = FailingSessions(
        n_shots=int(sizes.sum()),
        dropped=dropped,
        table=_table(chart, sizes, bad),
        rate=chart.center,
        chance=chance,
    )
    return replace(found, sentences=tuple(_sentences(found)))


def _refused(shots: pd.DataFrame, why: str) -> FailingSessions:
    return FailingSessions(n_shots=len(shots), missing=f"{why}.", sentences=(f"{why}.",))


def _table(chart: CountChart, sizes: pd.Series, bad: pd.Series) -> pd.DataFrame:
    columns = (
        sizes.index.astype("str"), sizes.to_numpy(), bad.to_numpy(), chart.observed,
        chart.lower, chart.upper, chart.beyond,
    )  # fmt: skip
    return pd.DataFrame(dict(zip(_COLUMNS, columns, strict=True)))


def _chance(rate: float, sizes: npt.NDArray[Any], rng: np.random.Generator) -> float:
    """Return how often some session lies beyond limits drawn from sessions that fail alike."""
    bad = rng.binomial(sizes, rate, (DRAWS, len(sizes)))
    center = bad.sum(axis=1, keepdims=True) / sizes.sum()
    reach = 3 * np.sqrt(center * (1 - center) / sizes)
    return float((np.abs(bad / sizes - center) > reach).any(axis=1).mean())


def _sentences(found: FailingSessions) -> list[str]:
    table = found.table
    beyond = table[table["beyond"]].to_dict("records")
    told = [_told(row) for row in beyond]
    low, high = wilson_interval(int(table["n_failed"].sum()), found.n_shots)
    if not told:
        told = ["No session stands out by its share of failed shots."]
    verdict = "a reason to look, and no proof" if beyond else "no proof that nothing changed"
    rest = (
        f"{int(table['n_failed'].sum())} of {count(found.n_shots, 'shot')} in "
        f"{count(len(table), 'session')} failed ({percent(found.rate)}, 95 % interval "
        f"{percent(low)} to {percent(high)}). Where all shots fail alike, some session lies "
        f"beyond its limits in {percent(found.chance)} of such logs: {verdict}."
    )
    return [*told, rest]


def _told(row: Mapping[Hashable, Any]) -> str:
    more = row["rate"] > row["upper"]
    limit = row["upper"] if more else row["lower"]
    return (
        f"Session {visible(str(row['session']))}: {row['n_failed']} of "
        f"{count(int(row['n_shots']), 'shot')} failed ({percent(row['rate'])}), "
        f"{'more' if more else 'fewer'} than the limit of {percent(limit)}."
    )


def _shown(row: Mapping[Hashable, Any]) -> dict[str, str]:
    """Return one session as text."""
    limits = listing([percent(row["lower"]), percent(row["upper"])], last="to")
    return {
        "Session": str(row["session"]),
        "Shots": str(row["n_shots"]),
        "Failed": str(row["n_failed"]),
        "Share": percent(row["rate"]),
        "Limits": limits,
        "": "beyond" if row["beyond"] else "",
    }
