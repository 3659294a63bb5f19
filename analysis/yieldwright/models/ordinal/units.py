"""Ordered levels of rows in units: what several people say of one thing counts as one thing."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt
from scipy import special

from yieldwright.errors import MisalignedError, OutOfRangeError, TooFewShotsError
from yieldwright.models.contrasts.contrasts import weights_in_order
from yieldwright.models.intervals.intervals import LEVEL, t_quantile
from yieldwright.models.ordinal._held import HeldLikelihood, HeldProfile
from yieldwright.models.ordinal._links import link_named
from yieldwright.models.ordinal._posing import Scores, caught, marginal_cuts, scored
from yieldwright.models.ordinal.effects import OrdinalEstimate
from yieldwright.models.wording import quoted

if TYPE_CHECKING:
    import pandas as pd

    from yieldwright.models.terms.design import Design

__all__ = [
    "SHIFT_SPREAD",
    "SLOPE_SPREAD",
    "UnitScores",
    "pose_in_units",
    "uneven_p",
    "unit_contrast",
]

Array = npt.NDArray[np.float64]
Codes = npt.NDArray[np.intp]

#: Spread of the normal distribution that holds the slopes of what is only allowed for, on
#: the line of log odds, from the middle of the values tried to either end. Twice as far in
#: one direction is odds of 150 to 1.
SLOPE_SPREAD = 2.5

#: The same for the shift of a block or a rater.
SHIFT_SPREAD = 2.0


@dataclass(frozen=True, slots=True, eq=False)
class UnitScores:
    """Levels of rows in units, ready for questions about slopes.

    Attributes
    ----------
    scores : Scores
        Level of each row.
    design : Design
        One row per unit: what explains.
    units : ndarray of int
        Row of the design that each score belongs to.
    blocks, raters : ndarray of int
        Block of each unit, rater of each row.
    likelihood : HeldLikelihood
        Of thresholds, slopes and shifts.
    df : int
        Units less slopes and blocks.
    profiles : dict
        Those asked for so far, by the bytes of their weights: each is found once.
    """

    scores: Scores
    design: Design
    units: Codes
    blocks: Codes
    raters: Codes
    likelihood: HeldLikelihood
    df: int
    profiles: dict[bytes, HeldProfile] = field(default_factory=dict)

    @property
    def levels(self) -> tuple[object, ...]:
        """Levels that occur, lowest first."""
        return self.scores.levels

    @property
    def n_cuts(self) -> int:
        """Number of thresholds."""
        return len(self.scores.levels) - 1

    def profile(self, weights: Array) -> HeldProfile:
        """Return the likelihood along a combination of slopes.

        Parameters
        ----------
        weights : ndarray
            One per column of the design.

        Returns
        -------
        HeldProfile
        """
        key = weights.tobytes()
        if key not in self.profiles:
            self.profiles[key] = self._profile(weights)
        return self.profiles[key]

    def _profile(self, weights: Array) -> HeldProfile:
        n_slopes = len(weights) - 1
        inside = slice(self.n_cuts, self.n_cuts + n_slopes)
        others = self.likelihood.n_parameters - n_slopes
        n_raters = int(self.raters.max()) + 1 if self.raters.any() else 0
        return HeldProfile(
            self.likelihood.along(inside, weights[1:]),
            marginal_cuts(self.scores, self.likelihood.link),
            self.scores.codes,
            self.units,
            raters=slice(others - n_raters, others),
        )


def pose_in_units(
    design: Design,
    response: pd.Series,
    units: Codes,
    *,
    blocks: Codes | None = None,
    raters: Codes | None = None,
) -> UnitScores:
    """Return levels of rows in units, ready for questions about slopes.

    Parameters
    ----------
    design : Design
        One row per unit: numbers and factors, without blocks.
    response : Series
        One level per row.
    units : ndarray of int
        Row of the design that each row belongs to.
    blocks : ndarray of int, optional
        Block of each unit, from 0: slopes are those inside blocks.
    raters : ndarray of int, optional
        Who gave each row its level, from 0.

    Returns
    -------
    UnitScores

    Raises
    ------
    MisalignedError
        If units, blocks or raters do not go with the rows.
    OutOfRangeError
        If a level is missing or there is one only.
    TooFewShotsError
        If no degree of freedom is left.

    Notes
    -----
    A cumulative logit model in which blocks and raters shift the line behind the levels by
    amounts held near 0 by a normal distribution, as random groups are; the spread of a
    handful of groups cannot be learnt from them, so it is a wide one set beforehand. What
    is asked about stays free; every other slope is held as widely, or on few rows they
    would go off to infinity. Block means are taken off the columns first, so that what
    differs between blocks does not pass for an effect.

    References
    ----------
    .. [1] McCullagh (1980), J. R. Stat. Soc. B 42, 109.
    .. [2] Gelman, Jakulin, Pittau and Su (2008), Ann. Appl. Stat. 2, 1360: priors that
       steady slopes on few rows.

    Examples
    --------
    >>> import pandas as pd
    >>> from yieldwright.models.terms.design import build_design
    >>> from yieldwright.models.terms.terms import Factor
    >>> frame = pd.DataFrame({"band": list("aaaabbbb"), "score": [1, 1, 1, 2, 1, 2, 2, 2]})
    >>> posed = pose_in_units(build_design(frame, [Factor("band")]), frame["score"], np.arange(8))
    >>> posed.levels, posed.df
    ((1, 2), 6)
    """
    n_units, n_slopes = len(design.index), design.matrix.shape[1] - 1
    blocks = np.zeros(n_units, dtype=np.intp) if blocks is None else blocks
    raters = np.zeros(len(units), dtype=np.intp) if raters is None else raters
    _require_rows(response, units, blocks, raters)
    df = _freedom(n_units, n_slopes, int(blocks.max()) + 1)
    scores = scored(response)
    several = [codes for codes in (blocks[units], raters) if codes.any()]
    shifts = [np.eye(codes.max() + 1)[codes] for codes in several]
    columns = _inside(design.matrix[:, 1:], blocks)[units]
    plain = caught(scores, link_named("logit"), np.hstack([columns, *shifts]))
    held = np.full(plain.n_parameters, SHIFT_SPREAD**-2)
    n_cuts = len(scores.levels) - 1
    held[:n_cuts], held[n_cuts : n_cuts + n_slopes] = 0.0, SLOPE_SPREAD**-2
    likelihood = HeldLikelihood.of(plain, held)
    return UnitScores(scores, design, units, blocks, raters, likelihood, df)


def unit_contrast(
    posed: UnitScores,
    weights: Mapping[str, float] | Sequence[float] | Array,
    *,
    term: str = "contrast",
    level: float = LEVEL,
) -> OrdinalEstimate:
    """Return a weighted sum of slopes with limits that count units, not rows.

    Parameters
    ----------
    posed : UnitScores
        From `pose_in_units`.
    weights : mapping of str to float, or sequence of float
        Weights by name of a column of the design, or one for each, that of the intercept 0.
    term : str
        What to call it.
    level : float
        Confidence level of the interval. [1]

    Returns
    -------
    OrdinalEstimate
        A limit is infinite where the rows rule nothing out on that side.

    Raises
    ------
    UnknownNameError, MisalignedError
        If the weights do not fit the design.
    OutOfRangeError
        If all weights of slopes are 0.

    Notes
    -----
    Limits of the profile likelihood, its fall divided by how much more the summed slopes
    of a unit vary than rows without ties between them would [1]_, with a t quantile on
    `df`: rows of one unit go together, and few units leave that ratio uncertain. It is
    never less than 1; with one row a unit, than units over units less what is spent.

    References
    ----------
    .. [1] Chandler and Bate (2007), Biometrika 94, 167, with one ratio for all slopes.

    Examples
    --------
    >>> import pandas as pd
    >>> from yieldwright.models.terms.design import build_design
    >>> from yieldwright.models.terms.terms import Factor
    >>> frame = pd.DataFrame({"band": list("aaaabbbb"), "score": [1, 1, 2, 2, 3, 3, 3, 3]})
    >>> posed = pose_in_units(build_design(frame, [Factor("band")]), frame["score"], np.arange(8))
    >>> found = unit_contrast(posed, {"band = b": 1.0})
    >>> found.estimate, found.ci_low > 0, found.ci_high
    (inf, True, inf)
    """
    asked = weights_in_order(posed.design.columns, weights)
    if not asked[1:].any():
        raise OutOfRangeError("a contrast needs weights of slopes that are not all 0")
    along = posed.profile(asked)
    reach = t_quantile(posed.df, level=level)
    low, high = along.limits(reach)
    statistic = along.statistic()
    return OrdinalEstimate(
        term=term,
        estimate=along.estimate,
        std_error=along.std_error,
        df=posed.df,
        ci_low=low,
        ci_high=high,
        statistic=statistic,
        p_value=float(2 * special.stdtr(posed.df, -abs(statistic))),
    )


def uneven_p(posed: UnitScores, weights: Mapping[str, float] | Sequence[float] | Array) -> float:
    """Return the p-value of one slope for all thresholds against one for low and one for high.

    Parameters
    ----------
    posed : UnitScores
        From `pose_in_units`.
    weights : mapping of str to float, or sequence of float
        Weights of the slope, as in `unit_contrast`.

    Returns
    -------
    float
        Not a number where only two levels occur.

    Notes
    -----
    Thresholds are parted in the middle of the rows. One degree of freedom finds on few rows
    what a slope for each threshold cannot; a large value does not show that one slope does.

    Examples
    --------
    >>> import pandas as pd
    >>> from yieldwright.models.terms.design import build_design
    >>> from yieldwright.models.terms.terms import Factor
    >>> frame = pd.DataFrame({"band": list("aaaabbbb"), "score": [1, 1, 1, 2, 1, 2, 2, 2]})
    >>> posed = pose_in_units(build_design(frame, [Factor("band")]), frame["score"], np.arange(8))
    >>> uneven_p(posed, {"band = b": 1.0})
    nan
    """
    if posed.n_cuts < 2:
        return float("nan")
    asked = weights_in_order(posed.design.columns, weights)
    root = posed.profile(asked).gain_of_two(posed.n_cuts)
    return float(2 * special.stdtr(posed.df - 1, -root)) if posed.df > 1 else float("nan")


def _require_rows(response: pd.Series, units: Codes, blocks: Codes, raters: Codes) -> None:
    known = np.array_equal(np.unique(units), np.arange(len(blocks)))
    if not (known and len(response) == len(units) == len(raters)):
        raise MisalignedError(
            f"{quoted(response.name)}, units, blocks and raters do not go together: each of "
            f"{len(blocks)} units needs a row, each of {len(response)} rows a unit; take them "
            "from one table"
        )


def _freedom(n_units: int, n_slopes: int, n_blocks: int) -> int:
    df = n_units - n_slopes - n_blocks
    if df < 1:
        raise TooFewShotsError(
            f"{n_units} units leave no degree of freedom beside {n_slopes} slopes in {n_blocks} "
            f"blocks; bring at least {1 - df} more, or ask for fewer terms"
        )
    return df


def _inside(columns: Array, blocks: Codes) -> Array:
    """Return columns less the means of their blocks; of one block their mean is nothing new."""
    member = np.eye(blocks.max() + 1)[blocks]
    left: Array = columns - member @ ((member.T @ columns) / member.sum(axis=0)[:, None])
    return left
