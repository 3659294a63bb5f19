"""The drift of every bag of a grinder, in one table."""

from __future__ import annotations

from collections.abc import Hashable, Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np
import pandas as pd

from yieldwright.ageing.compared.grinder_shots import (
    AGELESS,
    bag_name,
    shots_of_grinder,
    with_ages,
)
from yieldwright.formatting import listing, number, visible
from yieldwright.models.intervals.intervals import t_interval
from yieldwright.models.trend.many import trends_of
from yieldwright.results import Dropped, Result
from yieldwright.taste.asking import named_response
from yieldwright.taste.columns.predictors import response_values
from yieldwright.taste.words.wording import column_label, effect_interval, response_words

if TYPE_CHECKING:
    from yieldwright.bench import Bench
    from yieldwright.shotlog import ShotLog

__all__ = ["EveryBag", "every_bag"]

#: Columns taken off in each bag where they differ and are known of all its shots.
BESIDE = ("grind_setting", "dose_g")

#: Degrees of freedom of a slope below which its limits say nothing.
LEAST_DF = 1.0

#: Bags named in a sentence.
MOST_NAMED = 5

_COLUMNS = (
    "bag", "n_shots", "n_sessions", "first_d", "last_d", "per_day", "std_error", "df", "ci_low",
    "ci_high", "why_not",
)  # fmt: skip


@dataclass(frozen=True, kw_only=True, eq=False, repr=False)
class EveryBag(Result):
    """What each day of age did to a response, in each bag by itself.

    Attributes
    ----------
    response : str
        Column followed.
    unit : str
        Its unit.
    bags : DataFrame
        One row per bag: `bag`, `n_shots`, `n_sessions`, `first_d` and `last_d` (ages),
        `per_day` with `std_error`, `df`, `ci_low`, `ci_high`, and `why_not` where the bag
        has too little to tell a drift.
    freed : tuple of str
        Columns whose effect was taken off.
    """

    response: str
    unit: str
    bags: pd.DataFrame
    freed: tuple[str, ...]

    @property
    def title(self) -> str:
        """What is told."""
        return f"How the {column_label(self.response)} drifts in every bag"

    def to_frame(self) -> pd.DataFrame:
        """Return the drifts at full precision."""
        return self.bags

    def display_frame(self) -> pd.DataFrame:
        """Return the drifts as text.

        Returns
        -------
        DataFrame
            One row per bag.
        """
        return pd.DataFrame([_shown(row, self.unit) for row in self.bags.to_dict("records")])


def every_bag(log: ShotLog, of: str = "", *, grinder: str = "", bench: Bench) -> EveryBag:
    r"""Return the drift of each bag of a grinder, all in one pass.

    Parameters
    ----------
    log : ShotLog
        A log that was read.
    of : str
        An attribute that was scored, or `ey_pct`, `time_s`, `tds_pct`; empty for the first
        attribute scored.
    grinder : str
        Its code; empty for that of the bag that ends last.
    bench : Bench
        Whose scales to use.

    Returns
    -------
    EveryBag

    Raises
    ------
    UnknownNameError
        If the log has no such grinder or outcome.
    TooFewShotsError
        If the log holds no shots.

    Notes
    -----
    A line in age for each bag by itself, with grind and dose beside it where they differ and
    sessions that shift their shots; degrees of freedom after Kenward and Roger. Services are
    not taken off. To see whether it bends, when it is best, and what goes along with age,
    follow one bag.

    Examples
    --------
    >>> from pathlib import Path
    >>> from tempfile import TemporaryDirectory
    >>> from yieldwright.shotlog import read_log
    >>> rows = [(d, bag, 36 - 0.2 * d + d % 3 / 9) for bag in "ab" for d in range(4, 12)]
    >>> lines = [f"{n},{d},{d},{bag},{t}" for n, (d, bag, t) in enumerate(rows)]
    >>> with TemporaryDirectory() as folder:
    ...     path = Path(folder, "shots.csv")
    ...     text = "\n".join(["shot,session,roast_age_d,bag,time_s", *lines])
    ...     _ = path.write_text(text, encoding="utf-8")
    ...     log = read_log(path)
    >>> every_bag(log, "time_s", bench=log.bench).bags["per_day"].round(1).tolist()
    [-0.2, -0.2]
    """
    comparable = shots_of_grinder(log, grinder=grinder)
    response = named_response(of, comparable, bench=bench)
    aged, dropped = with_ages(comparable, response, bench=bench)
    shots = aged.shots
    freed = tuple(name for name in BESIDE if name in shots and shots[name].notna().any())
    whole = shots.dropna(subset=list(freed))
    if len(whole) < len(shots):
        labels = listing([column_label(name) for name in freed], last="or")
        dropped = (*dropped, Dropped(len(shots) - len(whole), f"without its {labels}"))
    bags = _told(whole, response_values(whole, response, bench), freed)
    return EveryBag(
        response=response,
        unit=response_words(response, bench).unit,
        bags=bags,
        freed=freed,
        n_shots=len(whole),
        dropped=(*comparable.excluded, *dropped),
        sentences=tuple(
            _sentences(bags, freed, column_label(response), serviced=_serviced(whole))
            if len(bags)
            else _no_shot(comparable.excluded, dropped)
        ),
    )


def _told(shots: pd.DataFrame, response: pd.Series[float], freed: tuple[str, ...]) -> pd.DataFrame:
    """Return one row per bag, the one pulled first on top."""
    if shots.empty:
        return pd.DataFrame(columns=[*_COLUMNS])
    bag = (shots["bag"] if "bag" in shots else pd.Series("", index=shots.index)).fillna("")
    session = shots["session"] if "session" in shots else pd.Series("all", index=shots.index)
    ages = shots["roast_age_d"].astype(float)
    found = trends_of(
        ages,
        response.to_numpy(dtype=float),
        bag.astype(str),
        beside=shots[list(freed)].to_numpy(dtype=float),
        groups=session.astype(str),
    )
    thin = ~(found["df"] >= LEAST_DF)
    lacks = (
        found["why_not"]
        .where(found["slope"].isna(), "")
        .mask(thin & found["slope"].notna(), "hardly any degrees of freedom are left")
    )
    found = found.assign(slope=found["slope"].mask(thin), std_error=found["std_error"].mask(thin))
    limits = [
        (np.nan, np.nan) if np.isnan(figures[0]) else t_interval(*figures)
        for figures in found[["slope", "std_error", "df"]].itertuples(index=False, name=None)
    ]
    spans = ages.groupby(bag.astype(str), sort=False).agg(["min", "max"])
    return pd.DataFrame(
        {
            "bag": found.index,
            "n_shots": found["n"].to_numpy(),
            "n_sessions": session.groupby(bag.astype(str), sort=False).nunique().to_numpy(),
            "first_d": spans["min"].to_numpy(),
            "last_d": spans["max"].to_numpy(),
            "per_day": found["slope"].to_numpy(dtype=float),
            "std_error": found["std_error"].to_numpy(dtype=float),
            "df": found["df"].to_numpy(dtype=float),
            "ci_low": [low for low, _ in limits],
            "ci_high": [high for _, high in limits],
            "why_not": lacks.to_numpy(),
        }
    )


def _serviced(shots: pd.DataFrame) -> bool:
    """Return whether something was serviced between some of the shots."""
    return "service_stretch" in shots and len(shots["service_stretch"].dropna().unique()) > 1


def _sentences(
    bags: pd.DataFrame, freed: tuple[str, ...], noun: str, *, serviced: bool
) -> list[str]:
    told = bags[bags["per_day"].notna()]
    if told.empty:
        return ["In no bag are there sessions enough for a drift; three ages and more would do."]
    clear = told[told["ci_low"] * told["ci_high"] > 0]
    held = f" at the same {listing([column_label(name) for name in freed])}" if freed else ""
    ways = []
    for word, part in (
        ("falls", clear[clear["per_day"] < 0]),
        ("rises", clear[clear["per_day"] > 0]),
    ):
        if len(part):
            ways.append(f"{word} clearly in {_named(part)}")
    still = told[told["ci_low"] * told["ci_high"] <= 0]
    if len(still):
        ways.append(f"shows no drift in {_named(still)}")
    said = f"With age{held} the {noun} {listing(ways)} (95 % intervals, each bag by itself)."
    if not serviced:
        return [said]
    return [said, "What a service changed is not taken off here: follow the bag that had one."]


def _no_shot(excluded: Sequence[Dropped], dropped: Sequence[Dropped]) -> list[str]:
    """Return why no bag has a shot to tell from, and what would mend it."""
    why = listing([str(each) for each in (*excluded, *dropped)]) or "it holds none"
    said = f"The log cannot tell how any bag drifts: no shot of this grinder is left ({why})."
    if all(each.reason != AGELESS for each in dropped):
        return [said]
    return [
        said,
        "Write roasted_on beside the shots, or once for each bag under [[bags]] in bench.toml.",
    ]


def _named(bags: pd.DataFrame) -> str:
    names = [bag_name(str(code)) for code in bags["bag"]]
    more = len(names) - MOST_NAMED
    return listing([*names[:MOST_NAMED], *([f"{more} more"] if more > 0 else [])])


def _shown(row: Mapping[Hashable, Any], unit: str) -> dict[str, str]:
    known = not np.isnan(row["per_day"])
    half = (row["ci_high"] - row["ci_low"]) / 2
    return {
        "Bag": visible(str(row["bag"])) or "–",
        "Shots": str(row["n_shots"]),
        "Sessions": str(row["n_sessions"]),
        "Age (d)": f"{row['first_d']:g} to {row['last_d']:g}",
        f"{unit} a day": number(row["per_day"], half) if known else "–",
        "95 % interval": effect_interval(row["ci_low"], row["ci_high"])
        if known
        else "too few sessions",
    }
