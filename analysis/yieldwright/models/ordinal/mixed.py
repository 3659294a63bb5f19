"""Cumulative-link models in which groups, such as people, place the same thing higher or lower."""

from __future__ import annotations

from collections.abc import Hashable, Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

import numpy as np
import numpy.typing as npt
from scipy.linalg import block_diag, null_space

from yieldwright.errors import OutOfRangeError, RoleError
from yieldwright.models.mixed.groups import Grouping, require_groupings
from yieldwright.models.ordinal._mixed_search import (
    Follower,
    GroupedPeak,
    climbed_in_groups,
    in_groups,
    top_in_groups,
)
from yieldwright.models.ordinal._posing import OrdinalPosing, posed_in_levels
from yieldwright.models.ordinal._profile import Profile, profile
from yieldwright.models.ordinal._reporting import carried, unbounded_ways
from yieldwright.models.ordinal._separation import Cone, Highest, highest, left_over
from yieldwright.models.wording import quoted

if TYPE_CHECKING:
    import pandas as pd

    from yieldwright.models.ordinal._likelihood import Likelihood
    from yieldwright.models.terms.design import Design

__all__ = ["NODES", "OrdinalMixedFit", "fit_ordinal_mixed"]

Array = npt.NDArray[np.float64]

#: Nodes of the adaptive rule: on the wine of Randall (1989) more change no printed digit.
NODES = 15

#: Nodes beyond which the weights of Gauss and Hermite's rule leave the range of numbers.
MOST_NODES = 100


@dataclass(frozen=True, eq=False)
class OrdinalMixedFit:
    """A cumulative-link fit with a normal shift of each group on the line behind the levels.

    P(level ≤ j) = F(threshold j − slopes · columns − shift of the group).

    Attributes
    ----------
    names : tuple of str
        Names of the parameters: thresholds such as `1|2`, then slopes.
    params, std_error : ndarray
        Parameters and their standard errors, in the units of the design, for a group in
        the middle; infinite or not a number as in `OrdinalFit`.
    cov : ndarray
        Covariance matrix of the parameters, the unknown spread of groups counted.
    sd, sd_std_error : float
        Standard deviation of the shifts and its standard error; that of a standard
        deviation of 0 is not a number.
    at_edge : bool
        Whether groups differ no more than chance has them differ: the estimate is exactly 0.
    grouping : Grouping
        The groups, as given.
    effects, effect_sd : ndarray
        Most likely shift of each group, and its standard deviation given the parameters.
    link : {"logit", "probit"}
        The distribution F.
    levels, unused_levels : tuple of hashable
        Levels that occur, lowest first, and stated levels that do not.
    unbounded : mapping of str to str
        Parameters without a finite estimate, and where they go: `up`, `down` or `either`.
    log_likelihood : float
        At the estimates, integrated over the shifts.
    nodes : int
        Nodes of the integration; 1 is Laplace's approximation.
    n_rows : int
        Rows fitted.
    condition_number : float
        Of the columns after centring and scaling.
    design : Design
        What was fitted.
    posing : OrdinalPosing
        How its figures are carried to the units of the design.
    highest : Highest
        Where the likelihood is highest, in scaled parameters.
    peak : GroupedPeak
        The same with the spread of groups among the parameters.
    """

    names: tuple[str, ...]
    params: Array
    std_error: Array
    cov: Array
    sd: float
    sd_std_error: float
    at_edge: bool
    grouping: Grouping
    effects: Array
    effect_sd: Array
    link: Literal["logit", "probit"]
    levels: tuple[Hashable, ...]
    unused_levels: tuple[Hashable, ...]
    unbounded: Mapping[str, str]
    log_likelihood: float
    nodes: int
    n_rows: int
    condition_number: float
    design: Design
    posing: OrdinalPosing
    highest: Highest
    peak: GroupedPeak

    @property
    def n_parameters(self) -> int:
        """Thresholds and slopes; the standard deviation of the groups comes on top."""
        return len(self.params)

    @property
    def aic(self) -> float:
        """−2 × log-likelihood and twice the parameters, the standard deviation counted."""
        return 2 * (self.n_parameters + 1 - self.log_likelihood)

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
        guess = self._guess_across(weights)
        follower = None if guess is None else Follower(self.peak.spread, guess)

        def top(rows: Likelihood, start: Array, cone: Cone) -> float:
            left, basis = left_over(rows, cone)
            grouped = in_groups(left, self.grouping.codes, self.nodes)
            if follower is None:
                return top_in_groups(grouped, basis.T @ start)
            return follower.top(grouped, start)

        rows = self.posing.likelihood()
        return profile(rows, self.highest, weights, n_cuts=self.posing.n_cuts, top=top)

    def _guess_across(self, weights: Array) -> Array | None:
        """Return the covariance of all else where a combination is held, if there is one."""
        if self.at_edge or self.separated:
            return None
        across = block_diag(null_space(weights[None, :]), np.eye(1))
        inner = np.linalg.inv(across.T @ np.linalg.inv(self.peak.cov) @ across)
        return np.asarray(inner, dtype=float)


def fit_ordinal_mixed(
    design: Design,
    response: pd.Series,
    groups: Grouping,
    *,
    levels: Sequence[Hashable] = (),
    link: Literal["logit", "probit"] = "logit",
    nodes: int = NODES,
) -> OrdinalMixedFit:
    """Fit ordered levels by a cumulative-link model in which each group has a shift of its own.

    Parameters
    ----------
    design : Design
        What explains.
    response : Series
        What is explained: one level per row of the design.
    groups : Grouping
        From `grouping`, without a slope.
    levels : sequence of hashable, optional
        Levels from lowest to highest, as in `fit_ordinal`.
    link : {"logit", "probit"}
        Logistic (proportional odds) or normal distribution behind the levels.
    nodes : int
        Nodes of adaptive Gauss–Hermite quadrature; 1 is Laplace's approximation. [count]

    Returns
    -------
    OrdinalMixedFit

    Raises
    ------
    AliasedColumnsError
        If columns cannot be told apart. The attribute `columns` names them.
    TooFewShotsError
        If there are not more rows than thresholds and slopes.
    MisalignedError
        If design, response and groups describe different rows.
    OutOfRangeError
        If a level is missing, their order is not known or there is one only; if the number
        of nodes is not in 1–100; or if groups differ by more than 8 standard deviations of
        the distribution behind the levels, so that they hardly share a level.
    RoleError
        If the groups have a slope.
    UnknownNameError
        If a row has a level that was not stated.

    Notes
    -----
    The shift of each group is integrated out about its most likely value [1]_; modes and
    slopes are exact, those of nodes that move with the parameters included. A spread that
    brings no likelihood is exactly 0. Slopes are those within a group: over all groups
    together the same step moves the shares of levels less.

    References
    ----------
    .. [1] Liu and Pierce (1994), Biometrika 81, 624; Tutz and Hennevogl (1996), Comput.
       Stat. Data Anal. 22, 537.

    Examples
    --------
    >>> import pandas as pd
    >>> from yieldwright.models.terms.design import build_design
    >>> from yieldwright.models.mixed.groups import grouping
    >>> scores = [1, 1, 2, 1, 2, 2, 2, 3, 3, 3, 2, 3]
    >>> frame = pd.DataFrame({"taster": list("aaaabbbbcccc"), "score": scores})
    >>> groups = grouping(frame, "taster")
    >>> fit = fit_ordinal_mixed(build_design(frame, []), frame["score"], groups)
    >>> fit.at_edge, bool(fit.effects[0] < fit.effects[1] < fit.effects[2])
    (False, True)
    """
    _require_shifts(groups, nodes)
    posing = posed_in_levels(design, response, levels=levels, weights=None, link=link)
    require_groupings([groups], design.index)
    rows = posing.likelihood()
    plain = highest(rows, posing.start)
    left, basis = left_over(rows, plain.cone)
    found = climbed_in_groups(in_groups(left, groups.codes, nodes), basis.T @ plain.params)
    inner = basis @ found.cov[:-1, :-1] @ basis.T
    top = Highest(plain.cone, basis @ found.params, found.value, inner)
    return _reported(posing, groups, found, top, nodes)


def _require_shifts(groups: Grouping, nodes: int) -> None:
    if groups.slope is not None:
        raise RoleError(
            f"groups by {quoted(groups.name)} tilt along {quoted(groups.slope_name)}; here "
            "groups may only shift: make them without a slope"
        )
    if not 1 <= nodes <= MOST_NODES:
        raise OutOfRangeError(f"nodes must lie in 1–{MOST_NODES}; {nodes} does not")


def _reported(
    posing: OrdinalPosing, groups: Grouping, found: GroupedPeak, top: Highest, nodes: int
) -> OrdinalMixedFit:
    """Return everything a fit reports, carried to the units of the design."""
    params, cov = carried(posing, top)
    spread = found.spread
    variance = float(found.cov[-1, -1])
    return OrdinalMixedFit(
        names=posing.names,
        params=params,
        std_error=np.sqrt(np.diag(cov)),
        cov=cov,
        sd=abs(spread),
        sd_std_error=variance**0.5 if spread else np.nan,
        at_edge=not spread,
        grouping=groups,
        effects=spread * found.point.shifts,
        effect_sd=abs(spread) / np.sqrt(found.point.bends),
        link=posing.link.name,
        levels=posing.scores.levels,
        unused_levels=posing.scores.unused,
        unbounded=unbounded_ways(posing, params),
        log_likelihood=found.value,
        nodes=nodes,
        n_rows=len(posing.scores.codes),
        condition_number=posing.condition_number,
        design=posing.design,
        posing=posing,
        highest=top,
        peak=found,
    )
