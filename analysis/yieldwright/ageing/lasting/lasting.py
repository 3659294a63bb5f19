"""How long a bag lasts: from which day on what is followed lies below a level."""

from __future__ import annotations

import math
import numbers
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt
import pandas as pd
from scipy import optimize

from yieldwright.ageing.breaks.stretch_names import service_in_force
from yieldwright.ageing.lasting.lasting_words import days_shown, lasting_sentences, refusal_of
from yieldwright.ageing.lasting.levels import COLUMNS, Levels, levels_of
from yieldwright.ageing.lasting.reaching import reaching
from yieldwright.ageing.lasting.standing import Fall, Stretch, fall_of, stretches_of
from yieldwright.checks import require_possible
from yieldwright.errors import OutOfRangeError, RoleError
from yieldwright.formatting import with_article
from yieldwright.results import Result
from yieldwright.taste.columns.roles import attribute_of
from yieldwright.taste.words.wording import column_label

if TYPE_CHECKING:
    from collections.abc import Sequence

    from yieldwright.ageing.trend.drift import Drift
    from yieldwright.ageing.trend.entangled import Entwined
    from yieldwright.ageing.trend.rows import BagRows
    from yieldwright.bench import Bench

__all__ = ["Lasting", "lasting", "no_lasting", "require_level"]

#: Days a table of levels holds at the most, and ages looked at on the way to a crossing.
MOST_DAYS, LOOKED_AT = 61, 61


@dataclass(frozen=True, kw_only=True, eq=False, repr=False)
class Lasting(Result):
    """From which day on a response lies below a level, in the mean and for a single shot.

    Attributes
    ----------
    response : str
        Column followed.
    at_least : float
        The level asked for. [unit of the response]
    verdict : str
        Of the mean of a session: `told`, `back`, `not yet`, `holds`, `early`, `below`,
        `rising`, `between` or `unsure`, see `Fall`; `refused` where nothing is told.
    day : float
        The age at which the curve falls below; missing where it does not inside these
        limits. [d]
    low, high : float
        Ages between which the mean falls below, at 95 %; infinite on a side that may lie
        beyond the ages tried. [d]
    first, last : float
        Ages tried. [d]
    forms : tuple of str
        Forms whose limits are held together.
    stretches : tuple of Stretch
        On which days the mean is clearly at the level or above, clearly below, or neither.
    levels : DataFrame
        What is expected at the first age, on whole days, and at the last age: `roast_age_d`,
        `mean`, `low`, `high`, `shot_low`, `shot_high`; limits end where the scale does.
    hardly_from : float
        Age from which on the 95 % limits of a single shot lie below the level up to the last
        age; missing where they do not. [d]
    share, share_low, share_high : float
        Share of shots expected to reach the level at the last age, with 95 % limits. [1]
    since : str
        Service since which the bench is as it is told for, in words; empty where none is
        taken off.
    missing : str
        Why nothing is told; empty where something is.
    """

    response: str
    at_least: float
    verdict: str
    day: float = math.nan
    low: float = math.nan
    high: float = math.nan
    first: float = math.nan
    last: float = math.nan
    forms: tuple[str, ...] = ()
    stretches: tuple[Stretch, ...] = ()
    levels: pd.DataFrame
    hardly_from: float = math.nan
    share: float = math.nan
    share_low: float = math.nan
    share_high: float = math.nan
    since: str = ""
    missing: str = ""

    @property
    def title(self) -> str:
        """What is asked."""
        return "How long it lasts"

    @property
    def answered(self) -> bool:
        """Whether the level could be looked for at all."""
        return not self.missing

    def to_frame(self) -> pd.DataFrame:
        """Return what is expected at each age at full precision."""
        return self.levels

    def display_frame(self) -> pd.DataFrame:
        """Return what is expected on a few days as text.

        Returns
        -------
        DataFrame
            One row per day: the mean of a session with its interval, the limits of one shot,
            and how the mean stands to the level.
        """
        return days_shown(self)


def require_level(at_least: object, response: str, bench: Bench) -> float:
    """Return a level of a response as a number, where it can be one.

    Parameters
    ----------
    at_least : object
        The level. [unit of the response]
    response : str
        `ey_pct`, `time_s`, `tds_pct`, or `score:` and an attribute.
    bench : Bench
        Whose attributes say how far their scales go.

    Returns
    -------
    float

    Raises
    ------
    OutOfRangeError
        If it is no finite number, or lies outside what the response can be.
    RoleError
        If the response is an attribute that is best in the middle of its scale.

    Examples
    --------
    >>> from yieldwright.bench import Bench
    >>> require_level(6, "score:overall", Bench())
    6.0
    >>> require_level(60, "score:overall", Bench())
    Traceback (most recent call last):
        ...
    yieldwright.errors.OutOfRangeError: an overall score goes from 0 to 10, so it cannot stay at \
60 or more; state a level inside that scale
    """
    label = column_label(response)
    if (
        isinstance(at_least, bool | np.bool_)
        or not isinstance(at_least, numbers.Real)
        or not math.isfinite(at_least)
    ):
        raise OutOfRangeError(
            f"at_least must be a number, a level of the {label}, not {at_least!r:.40}"
        )
    level, attribute = float(at_least), attribute_of(response)
    if attribute is None:
        require_possible(**{response: level})
        return level
    scale = bench.attribute(attribute)
    if scale.better == "middle":
        raise RoleError(
            f"the {label} is best in the middle of its scale, so no level of it is worth "
            "holding; ask of another taste, or of ey_pct"
        )
    if not scale.low <= level <= scale.high:
        raise OutOfRangeError(
            f"{with_article(label)} goes from {scale.low:g} to {scale.high:g}, so it cannot "
            f"stay at {level:g} or more; state a level inside that scale"
        )
    return level


def no_lasting(
    response: str,
    at_least: float,
    *,
    n_shots: int = 0,
    entwined: Sequence[Entwined] = (),
    missing: str = "",
) -> Lasting:
    """Return that it cannot be told how long a bag lasts.

    Parameters
    ----------
    response : str
        Column followed.
    at_least : float
        The level asked for. [unit of the response]
    n_shots : int
        Shots that were looked at.
    entwined : sequence of Entwined
        What cannot be told apart from age.
    missing : str
        Why there is no trend, where there is none.

    Returns
    -------
    Lasting
    """
    why = refusal_of(tuple(each.column for each in entwined), missing)
    found = Lasting(
        response=response,
        at_least=at_least,
        verdict="refused",
        levels=pd.DataFrame(columns=list(COLUMNS)),
        missing=why,
        n_shots=n_shots,
    )
    return replace(found, sentences=tuple(lasting_sentences(found)))


def lasting(drift: Drift, at_least: float, *, told_in: pd.DataFrame | None = None) -> Lasting:
    """Return from which day on a response lies below a level.

    Parameters
    ----------
    drift : Drift
        Of a bag whose age can be told apart from everything else.
    at_least : float
        The level. [unit of the response]
    told_in : DataFrame or None
        The whole log, in whose words a service is named.

    Returns
    -------
    Lasting

    Notes
    -----
    The ages at which the mean may fall below the level are those at which the level is not
    outside the mean's 95 % interval, as in inverse prediction [1]_; only ages inside what was
    pulled at are looked at. Numbers beside the age stand at their mean, the bench as it is
    since the last service, a band as of most shots. The interval is that of a curve wherever one
    can be borne; unless it fits far better than two lines that meet, also what these may reach.

    A single shot of one more session spreads about that mean as sessions and shots do. Of 250
    simulated bags for each way of following one, the days told held the truth in 96 % or more, a
    side left open counted as told, and one shot more fell inside its limits in 95 to 98 %. Days
    with two limits are printed of few bags that fall gently, and hold the truth in 83 % or
    more of these; where each session is like the one before, all that is told holds in 90 %.

    References
    ----------
    .. [1] Seber and Lee (2003), Linear Regression Analysis, 2nd ed., section 6.1.5.

    Examples
    --------
    >>> from yieldwright.ageing.trend.drift import drift_of
    >>> from yieldwright.ageing.trend.model import fit_trend
    >>> from yieldwright.ageing.trend.rows import bag_rows
    >>> from yieldwright.bench import Bench
    >>> from yieldwright.taste.columns.comparable import ComparableSet
    >>> age = np.repeat(np.arange(4.0, 36.0, 4.0), 2)
    >>> shots = pd.DataFrame({"roast_age_d": age, "session": age.astype(str)})
    >>> shots["ey_pct"] = 21 - 0.1 * age + 0.1 * np.tile([1, -1, -1, 1], 4)
    >>> rows = bag_rows(ComparableSet("", "", shots), "ey_pct", bench=Bench())
    >>> found = lasting(drift_of(fit_trend(rows)), 19.0)
    >>> found.verdict, round(found.day)
    ('told', 20)
    """
    model = drift.model
    tried = (model.age.low, model.age.high)
    levels = levels_of(model, drift.forms)
    stretches = stretches_of(levels.limits, at_least, tried)
    fall = fall_of(stretches)
    table = _bounded(levels.table(_days(*tried)), model.rows)
    reached = reaching(levels, at_least, tried[1])
    found = Lasting(
        response=model.rows.response,
        at_least=at_least,
        verdict=fall.verdict,
        day=_falling_day(levels, at_least, fall, tried),
        low=fall.low,
        high=fall.high,
        first=tried[0], last=tried[1],
        forms=levels.forms,
        stretches=stretches,
        levels=table,
        hardly_from=_hardly_from(levels, at_least, table),
        share=reached.share, share_low=reached.low, share_high=reached.high,
        since=service_in_force(model.rows, told_in),
        n_shots=drift.n_shots, dropped=drift.dropped,
    )  # fmt: skip
    return replace(found, sentences=tuple(lasting_sentences(found, drift)))


def _days(first: float, last: float) -> npt.NDArray[np.float64]:
    """Return the ends and whole days between them, not more than a table can hold."""
    step = max(math.ceil((last - first) / (MOST_DAYS - 2)), 1)
    return np.unique([first, *np.arange(math.ceil(first), last, step), last])


def _bounded(table: pd.DataFrame, rows: BagRows) -> pd.DataFrame:
    """Return levels, no limit beyond the ends of the scale."""
    attribute = attribute_of(rows.response)
    least, most = 0.0, math.inf
    if attribute is not None:
        scale = rows.bench.attribute(attribute)
        least, most = scale.low, scale.high
    limits = list(COLUMNS[2:])
    return table.assign(**table[limits].clip(least, most))


def _falling_day(levels: Levels, at_least: float, fall: Fall, tried: tuple[float, float]) -> float:
    """Return where the curve falls below a level inside some limits, missing if it does not."""
    low, high = max(fall.low, tried[0]), min(fall.high, tried[1])
    if not low < high:
        return math.nan

    def over(age: float) -> float:
        return levels.mean(age).estimate - at_least

    ages = [float(age) for age in np.linspace(low, high, LOOKED_AT)]
    values = [over(age) for age in ages]
    falls = [n for n in range(1, len(ages)) if values[n - 1] >= 0 > values[n]]
    if not falls:
        return math.nan
    return float(optimize.brentq(over, ages[falls[-1] - 1], ages[falls[-1]], xtol=1e-9))


def _hardly_from(levels: Levels, at_least: float, table: pd.DataFrame) -> float:
    """Return from which age on the limits of one shot lie below a level up to the last age."""
    ages = table["roast_age_d"].to_numpy(dtype=float)
    reach = table["shot_high"].to_numpy(dtype=float) >= at_least
    if reach[-1]:
        return math.nan
    if not reach.any():
        return float(ages[0])
    last = int(np.flatnonzero(reach)[-1])

    def over(age: float) -> float:
        return levels.shot_limits(age)[1] - at_least

    return float(optimize.brentq(over, ages[last], ages[last + 1], xtol=1e-9))
