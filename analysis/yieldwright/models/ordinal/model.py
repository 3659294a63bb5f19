"""Cumulative-link models: what moves ordered levels, without taking them for numbers."""

from __future__ import annotations

from collections.abc import Hashable, Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

import numpy as np
import numpy.typing as npt

from yieldwright.models.ordinal._posing import OrdinalPosing, posed_in_levels
from yieldwright.models.ordinal._profile import Profile, profile
from yieldwright.models.ordinal._reporting import carried, unbounded_ways
from yieldwright.models.ordinal._separation import Highest, highest

if TYPE_CHECKING:
    import pandas as pd

    from yieldwright.models.terms.design import Design

__all__ = ["OrdinalFit", "fit_ordinal"]

Array = npt.NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class OrdinalFit:
    """A cumulative-link fit: P(level ≤ j) = F(threshold j − slopes · columns).

    A positive slope means higher levels.

    Attributes
    ----------
    names : tuple of str
        Names of the parameters: thresholds such as `1|2`, then slopes.
    params, std_error : ndarray
        Parameters and their standard errors, in the units of the design. Infinite where
        the rows separate completely, not a number where nothing determines them; neither
        has a standard error.
    cov : ndarray
        Covariance matrix of the parameters.
    link : {"logit", "probit"}
        The distribution F.
    levels, unused_levels : tuple of hashable
        Levels that occur, lowest first, and stated levels that do not.
    unbounded : mapping of str to str
        Parameters without a finite estimate, and where they go: `up`, `down` or `either`.
    log_likelihood : float
        At the estimates, or what it tends to.
    n_rows : float
        Rows fitted, each counted as often as its weight says.
    condition_number : float
        Of the columns after centring and scaling.
    design : Design
        What was fitted.
    posing : OrdinalPosing
        How its figures are carried to the units of the design.
    highest : Highest
        Where the likelihood is highest, in scaled parameters.
    """

    names: tuple[str, ...]
    params: Array
    std_error: Array
    cov: Array
    link: Literal["logit", "probit"]
    levels: tuple[Hashable, ...]
    unused_levels: tuple[Hashable, ...]
    unbounded: Mapping[str, str]
    log_likelihood: float
    n_rows: float
    condition_number: float
    design: Design
    posing: OrdinalPosing
    highest: Highest

    @property
    def n_parameters(self) -> int:
        """Thresholds and slopes."""
        return len(self.params)

    @property
    def aic(self) -> float:
        """−2 × log-likelihood and twice the parameters."""
        return 2 * (self.n_parameters - self.log_likelihood)

    @property
    def bic(self) -> float:
        """−2 × log-likelihood and the parameters times the log of the rows."""
        return float(np.log(self.n_rows)) * self.n_parameters - 2 * self.log_likelihood

    @property
    def separated(self) -> bool:
        """Whether some combination of columns orders rows of different levels completely."""
        return not self.highest.cone.is_empty

    def along(self, weights: Array) -> Profile:
        """Return the likelihood along a combination of scaled parameters.

        Parameters
        ----------
        weights : ndarray
            One per scaled parameter.

        Returns
        -------
        Profile
        """
        rows = self.posing.likelihood()
        return profile(rows, self.highest, weights, n_cuts=self.posing.n_cuts)


def fit_ordinal(
    design: Design,
    response: pd.Series,
    *,
    levels: Sequence[Hashable] = (),
    weights: pd.Series[float] | Array | None = None,
    link: Literal["logit", "probit"] = "logit",
) -> OrdinalFit:
    """Fit ordered levels by a cumulative-link model, or say by name what cannot be told apart.

    Parameters
    ----------
    design : Design
        What explains.
    response : Series
        What is explained: one level per row of the design.
    levels : sequence of hashable, optional
        Levels from lowest to highest; without, the order of an ordered categorical, or
        the size of numbers. Those without a row are left out, and listed.
    weights : Series or ndarray, optional
        How often each row stands for itself. [count]
    link : {"logit", "probit"}
        Logistic (proportional odds) or normal distribution behind the levels.

    Returns
    -------
    OrdinalFit

    Raises
    ------
    AliasedColumnsError
        If columns cannot be told apart. The attribute `columns` names them.
    TooFewShotsError
        If there are not more rows than thresholds and slopes.
    MisalignedError
        If design, response and weights describe different rows.
    OutOfRangeError
        If a level is missing, the order of levels is not known, there is one level only,
        or a weight is not above 0.
    UnknownNameError
        If a row has a level that was not stated.

    Notes
    -----
    The log-likelihood is concave [1]_ and climbed by Newton's method. Where columns
    separate the levels it rises for ever along some directions; a linear program finds
    them beforehand [2]_, and what the other combinations tend to is fitted.

    References
    ----------
    .. [1] Pratt (1981), J. Am. Stat. Assoc. 76, 103.
    .. [2] Albert and Anderson (1984), Biometrika 71, 1; Konis (2007), D.Phil. thesis, Oxford.

    Examples
    --------
    >>> import pandas as pd
    >>> from yieldwright.models.terms.design import build_design
    >>> from yieldwright.models.terms.terms import Factor
    >>> frame = pd.DataFrame({"band": list("aaaabbbb"), "score": [1, 1, 1, 2, 1, 2, 2, 2]})
    >>> fit = fit_ordinal(build_design(frame, [Factor("band")]), frame["score"])
    >>> dict(zip(fit.names, fit.params.round(3).tolist()))
    {'1|2': 1.099, 'band = b': 2.197}
    """
    posing = posed_in_levels(design, response, levels=levels, weights=weights, link=link)
    found = highest(posing.likelihood(), posing.start)
    return _reported(posing, found)


def _reported(posing: OrdinalPosing, found: Highest) -> OrdinalFit:
    """Return everything a fit reports, carried to the units of the design."""
    params, cov = carried(posing, found)
    return OrdinalFit(
        names=posing.names,
        params=params,
        std_error=np.sqrt(np.diag(cov)),
        cov=cov,
        link=posing.link.name,
        levels=posing.scores.levels,
        unused_levels=posing.scores.unused,
        unbounded=unbounded_ways(posing, params),
        log_likelihood=found.value,
        n_rows=float(posing.scores.weights.sum()),
        condition_number=posing.condition_number,
        design=posing.design,
        posing=posing,
        highest=found,
    )
