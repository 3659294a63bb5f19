"""What each group seems to add, shrunk towards nothing as far as its rows are few."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from yieldwright.models.mixed._equations import projected

if TYPE_CHECKING:
    import numpy.typing as npt

    from yieldwright.models.mixed.model import MixedFit

__all__ = ["conditional_modes"]


def conditional_modes(fit: MixedFit) -> pd.DataFrame:
    """Return the effects of single groups with their conditional standard deviations.

    Parameters
    ----------
    fit : MixedFit
        From `fit_mixed`.

    Returns
    -------
    DataFrame
        One row per group and what differs between groups: group (the grouping), level,
        term, mode and conditional_sd, in the units of the user.

    Notes
    -----
    Modes are what is expected of a group given the data, at the variances and
    coefficients estimated; their standard deviation leaves out the uncertainty of both
    [1]_. A mode is not an estimate with an interval: it is shrunk.

    References
    ----------
    .. [1] Bates, Maechler, Bolker and Walker (2015), J. Stat. Softw. 67(1), section 3.

    Examples
    --------
    >>> from yieldwright.models.mixed.model import fit_mixed
    >>> from yieldwright.models.mixed.groups import grouping
    >>> frame = pd.DataFrame({"day": list("aabbcc"), "y": [1.0, 2.0, 4.0, 5.0, 9.0, 8.0]})
    >>> fit = fit_mixed(np.ones((6, 1)), frame["y"], [grouping(frame, "day")])
    >>> conditional_modes(fit)["mode"].round(3).tolist()
    [-3.266, -0.327, 3.593]
    """
    spreads = _conditional_sds(fit)
    tables = [
        pd.DataFrame(
            {
                "group": groups.name,
                "level": pd.Series([level for level in groups.levels for _ in groups.terms]),
                "term": groups.terms * len(groups.levels),
                "mode": fit.effects[groups.name].ravel(),
                "conditional_sd": spread.ravel(),
            }
        )
        for groups, spread in zip(fit.groupings, spreads, strict=True)
    ]
    return pd.concat(tables, ignore_index=True)


def _conditional_sds(fit: MixedFit) -> list[npt.NDArray[np.float64]]:
    """Return the conditional standard deviations of each grouping: groups × effects."""
    surface = fit.posing.surface
    whole = projected(fit.solution, fixed=False)
    covariances = [factor @ factor.T for factor in surface.factors(fit.lowest.theta)]
    within = [own - own @ whole.groupwise(term) @ own for term, own in enumerate(covariances)]
    backs = [groups.back * fit.sigma for groups in fit.groupings]
    carried = [
        back @ block @ back.T
        for back, block in zip(backs, fit.posing.as_given(within), strict=True)
    ]
    diagonals = [np.diagonal(each, axis1=1, axis2=2) for each in carried]
    return [np.sqrt(np.maximum(diagonal, 0.0)) for diagonal in diagonals]
