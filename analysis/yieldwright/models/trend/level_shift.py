"""The single most likely shift of a mean in rows that follow one another."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt
from scipy import optimize, special

from yieldwright.errors import OutOfRangeError, TooFewShotsError
from yieldwright.models.intervals.intervals import LEVEL
from yieldwright.models.linear.resampled import in_portions
from yieldwright.models.terms.columns import ROUNDING

if TYPE_CHECKING:
    from yieldwright.models.trend.rows import Values

__all__ = ["TRIM", "LevelShift", "find_level_shift", "largest_f_probability"]

Array = npt.NDArray[np.float64]
Places = npt.NDArray[np.intp]

#: Share of rows at least on either side of a shift (Andrews 1993, section 4).
TRIM = 0.15

#: Rows at least on either side, so that each has a spread.
LEAST = 2

#: Series simulated: a p-value of 5 % then errs by 0.15 points.
DRAWS = 20_000

#: Directions around a circle at which the chance of two statistics at once is summed.
AROUND = 4_096

#: Rows on a side from which it has a spread of its own; with fewer, both share one.
OWN_SPREAD = 10

#: Farthest place looked at for a limit, in units in which the bulk lies within 11.
FARTHEST = 400.0


@dataclass(frozen=True, slots=True)
class LevelShift:
    """Where a mean most likely shifted, and whether it did.

    Attributes
    ----------
    place : int
        Rows before the shift: it lies between row `place` and the next. [count]
    low, high : int
        Limits of that number; 0 and the number of rows where they run off. [count]
    mean_before, mean_after : float
        Means on both sides. [unit of y]
    rss_without, rss_with : float
        Sums of squares about one mean, and about two. [unit of y²]
    bic_without, bic_with : float
        Schwarz's criterion of both; the place counts as a parameter.
    statistic : float
        Largest F of two means against one, over the places looked at.
    p_value : float
        Probability of one as large where nothing shifted; simulated, or an upper bound.
    n : int
        Rows. [count]
    """

    place: int
    low: int
    high: int
    mean_before: float
    mean_after: float
    rss_without: float
    rss_with: float
    bic_without: float
    bic_with: float
    statistic: float
    p_value: float
    n: int

    @property
    def change(self) -> float:
        """Mean after less mean before."""
        return self.mean_after - self.mean_before


def find_level_shift(
    y: Values,
    *,
    trim: float = TRIM,
    level: float = LEVEL,
    rng: np.random.Generator | None = None,
) -> LevelShift:
    """Return the most likely shift of a mean, with a test and limits of its place.

    Parameters
    ----------
    y : array-like
        Values in order, one per row. [any unit]
    trim : float
        Share of rows at least on either side. [1]
    level : float
        Confidence level of the limits. [1]
    rng : Generator, optional
        Source of chance for a p-value from 20,000 simulated series; without one it is an
        upper bound.

    Returns
    -------
    LevelShift

    Raises
    ------
    OutOfRangeError
        If a value is missing or infinite, all are alike, or a share lies outside its range.
    TooFewShotsError
        If there are fewer than six rows, or the trim leaves no place.

    Notes
    -----
    The test is for independent normal rows of one variance, on any number of them. Its
    p-value is simulated, or a bound from each place and each pair of neighbours
    (`largest_f_probability`), at most a third too large near 5 % on 40 rows. Limits are
    asymptotic [1]_, each side with a variance of its own if it holds ten rows. On few rows
    they are often too narrow, since the place was chosen to separate the means: in
    simulations of 20 to 100 rows limits of 95 % held the place in 87 to 98 %.

    References
    ----------
    .. [1] Bai (1997), Rev. Econ. Stat. 79, 551, section 3.
    .. [2] Zeileis, Kleiber, Krämer and Hornik (2003), Comput. Stat. Data Anal. 44, 109.

    Examples
    --------
    >>> found = find_level_shift([3.0, 3.2, 2.9, 3.1, 3.0, 4.1, 4.0, 4.2, 3.9, 4.0])
    >>> found.place, round(found.change, 2), found.p_value < 0.001
    (5, 1.0, True)
    """
    values = _sound(y)
    if not 0 < level < 1:
        raise OutOfRangeError(f"a confidence level must lie between 0 and 1, not {level:g}")
    n, places = len(values), _places(len(values), trim)
    gained, spread = _gained(values[np.newaxis], places)
    place, without = int(places[int(np.argmax(gained[0]))]), float(spread[0])
    before, after = values[:place], values[place:]
    squares = float(np.sum((before - before.mean()) ** 2) + np.sum((after - after.mean()) ** 2))
    statistic = (without - squares) / (squares / (n - 2)) if squares > 0 else math.inf
    low, high = _limits(before, after, level)
    return LevelShift(
        place=place,
        low=low,
        high=high,
        mean_before=float(before.mean()),
        mean_after=float(after.mean()),
        rss_without=without,
        rss_with=squares,
        bic_without=_bic(without, n, 2),
        bic_with=_bic(squares, n, 4),
        statistic=statistic,
        p_value=_p_value(statistic, n, places, rng),
        n=n,
    )


def largest_f_probability(statistic: float, n: int, places: Places) -> float:
    """Return a close upper bound of the chance of so large an F at any place.

    Parameters
    ----------
    statistic : float
        Largest F. [1]
    n : int
        Rows. [count]
    places : ndarray of int
        Rows before each shift looked at, neighbours next to each other. [count]

    Returns
    -------
    float

    Notes
    -----
    Chances of single places, less those of two neighbours at once: never too small, and
    close where the chance is small. Both are exact for normal rows, whose residuals point
    in every direction alike.

    References
    ----------
    .. [1] Worsley (1983), Biometrika 70, 455, on bounds by pairs of neighbours.

    Examples
    --------
    A single place is the F test of two means.

    >>> from scipy import stats
    >>> (
    ...     round(largest_f_probability(5.0, 12, np.array([6])), 9),
    ...     round(float(stats.f.sf(5, 1, 10)), 9),
    ... )
    (0.049332196, 0.049332196)
    """
    if math.isinf(statistic):
        return 0.0
    share = statistic / (statistic + n - 2)
    single = float(special.betaincc(0.5, (n - 2) / 2, share))
    nearer, farther = places[:-1], places[1:]
    turns = np.arccos(np.sqrt(nearer * (n - farther) / (farther * (n - nearer))))
    both = np.array([_both(share, turn, n) for turn in turns.tolist()])
    return float(np.clip(len(places) * single - both.sum(), single, 1.0))


def _gained(values: Array, places: Places) -> tuple[Array, Array]:
    """Return what two means explain at each place, and all there is, for each series."""
    n = values.shape[1]
    centred = values - values.mean(axis=1, keepdims=True)
    sums = np.cumsum(centred, axis=1)[:, places - 1]
    return sums**2 * (n / (places * (n - places))), np.einsum("bi,bi->b", centred, centred)


def _p_value(statistic: float, n: int, places: Places, rng: np.random.Generator | None) -> float:
    if rng is None:
        return largest_f_probability(statistic, n, places)
    reached = 0
    for count in in_portions(DRAWS, n):
        gained, spread = _gained(rng.normal(size=(count, n)), places)
        best = gained.max(axis=1)
        reached += int(np.sum(best * (n - 2) >= statistic * (spread - best)))
    return (1 + reached) / (1 + DRAWS)


def _both(share: float, turn: float, n: int) -> float:
    """Return the chance that two statistics exceed a share, their directions so far apart."""
    around = (np.arange(AROUND) + 0.5) * np.pi / AROUND
    least = np.minimum(np.cos(around) ** 2, np.cos(around - turn) ** 2)
    reached = np.maximum(1 - share / np.maximum(least, share), 0.0)
    return float(np.mean(reached ** ((n - 3) / 2)))


def _bic(squares: float, n: int, n_params: int) -> float:
    if squares <= 0:
        return -math.inf
    return n * (math.log(2 * math.pi * squares / n) + 1) + n_params * math.log(n)


def _limits(before: Array, after: Array, level: float) -> tuple[int, int]:
    """Return Bai's limits of the number of rows before the shift."""
    place, n = len(before), len(before) + len(after)
    spreads = float(before.var()), float(after.var())
    change = float(after.mean() - before.mean())
    if min(place, n - place) < OWN_SPREAD:
        pooled = (place * spreads[0] + (n - place) * spreads[1]) / (n - 2)
        spreads = pooled, pooled
    if min(spreads) <= (ROUNDING * change) ** 2:
        return place, place
    unit = spreads[0] / change**2
    high, low = (unit * _quantile((1 + side * level) / 2, spreads) for side in (1, -1))
    first = place - math.ceil(high) if high < place else 0
    return first, place - math.floor(low) if -low < n - place else n


def _quantile(share: float, spreads: tuple[float, float]) -> float:
    """Return the place up to which an estimated shift lies with this chance."""

    def over(place: float) -> float:
        return _place_probability(place, spreads) - share

    if over(-FARTHEST) >= 0 or over(FARTHEST) <= 0:
        return math.copysign(math.inf, share - 0.5)
    return float(optimize.brentq(over, -FARTHEST, FARTHEST, xtol=1e-10))


def _place_probability(place: float, spreads: tuple[float, float]) -> float:
    """Return the chance that the estimated shift lies this far on, or less.

    That is where two random walks with a drift away from the shift, one on each side, are
    highest; their variances are those of the two sides.
    """
    ratio = spreads[1] / spreads[0]
    if place < 0:
        return _beyond(-place, ratio)
    return 1 - _beyond(place / ratio, 1 / ratio)


def _beyond(distance: float, ratio: float) -> float:
    """Return the chance that the higher walk tops this far out on one side."""
    root = math.sqrt(distance)
    tail = math.exp(-distance / 8) * root / math.sqrt(2 * math.pi)
    weight = ratio * (ratio + 2) / (ratio + 1)
    steep = 0.5 + 1 / ratio
    grown = (1 / ratio) * (1 + 1 / ratio) * distance / 2
    lifted = weight * math.exp(grown + float(special.log_ndtr(-steep * root)))
    level = distance / 2 - 2 + (ratio + 2) ** 2 / (ratio + 1)
    return -tail - lifted + level * float(special.ndtr(-root / 2))


def _places(n: int, trim: float) -> Places:
    if not 0 <= trim < 0.5:
        raise OutOfRangeError(f"trim must lie between 0 and 0.5, not {trim:g}")
    least = max(math.floor(trim * n), LEAST)
    return np.arange(least, n - least + 1)


def _sound(y: Values) -> Array:
    values = np.asarray(y, dtype=float)
    if values.ndim != 1 or not np.isfinite(values).all():
        unusable = int((~np.isfinite(values)).sum())
        raise OutOfRangeError(
            f"values must be finite numbers, one per row; {unusable} of {values.size} are not "
            "(drop such rows, and say how many)"
        )
    if len(values) < 3 * LEAST:
        raise TooFewShotsError(
            f"{len(values)} rows cannot tell a shift of the mean from chance; bring 6 at least"
        )
    if np.ptp(values) <= ROUNDING * np.abs(values).max():
        raise OutOfRangeError(f"values must vary; all {len(values)} rows hold {values[0]:g}")
    return values
