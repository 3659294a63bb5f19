"""A mixed model of one grouping fitted to many responses at once, and its bootstrap."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt

from yieldwright.errors import MisalignedError, OutOfRangeError
from yieldwright.models.linear.bootstrap import DRAWS
from yieldwright.models.linear.resampled import Resampled, in_portions
from yieldwright.models.mixed.shifts import (
    Refits,
    ShiftedDesign,
    drawn_refits,
    refits,
    shifted_design,
)

if TYPE_CHECKING:
    from yieldwright.models.mixed.model import MixedFit

__all__ = ["bootstrap_mixed", "refit_mixed"]

Array = npt.NDArray[np.float64]


def refit_mixed(fit: MixedFit, responses: Array) -> Refits:
    """Return what the model of a fit says of other responses of the same rows.

    Parameters
    ----------
    fit : MixedFit
        Fit with one grouping that shifts the response, without a slope.
    responses : ndarray
        One row per response, one column per row of the fit. [any unit]

    Returns
    -------
    Refits

    Raises
    ------
    OutOfRangeError
        If the fit has several groupings or a slope, or a response is missing or infinite.
    MisalignedError
        If a response has not as many values as the fit has rows.

    Notes
    -----
    The columns leave a response in directions whose variances are 1 + λψ, with ψ the
    relative variance of the groups [1]_; these are found once. Then the deviance of every
    response is a sum over few terms, and all are made smallest side by side.

    References
    ----------
    .. [1] Crainiceanu and Ruppert (2004), J. R. Stat. Soc. B 66, 165, section 3.

    Examples
    --------
    >>> import pandas as pd
    >>> from yieldwright.models.mixed.model import fit_mixed
    >>> from yieldwright.models.mixed.groups import grouping
    >>> frame = pd.DataFrame({"day": list("aabbcc"), "y": [1.0, 2.0, 4.0, 5.0, 9.0, 8.0]})
    >>> fit = fit_mixed(np.ones((6, 1)), frame["y"], [grouping(frame, "day")])
    >>> again = refit_mixed(fit, frame["y"].to_numpy()[np.newaxis])
    >>> again.params.round(6).tolist(), (again.group_sd**2).round(6).tolist()
    ([[4.833333]], [12.083333])
    """
    shape = _shape(fit)
    given = np.atleast_2d(np.asarray(responses, dtype=float))
    if given.shape[1] != fit.n_rows:
        raise MisalignedError(
            f"responses of {given.shape[1]} values do not go with {fit.n_rows} rows; give one "
            "value a row"
        )
    if not np.isfinite(given).all():
        unusable = int((~np.isfinite(given).all(axis=1)).sum())
        raise OutOfRangeError(
            f"responses must be finite; {unusable} of {len(given)} are not (leave them out)"
        )
    return refits(shape, given)


def bootstrap_mixed(fit: MixedFit, *, rng: np.random.Generator, times: int = DRAWS) -> Resampled:
    """Return a mixed model refitted to responses drawn from itself.

    Parameters
    ----------
    fit : MixedFit
        Fit with one grouping that shifts the response, without a slope.
    rng : Generator
        Source of chance; the same seed gives the same draws.
    times : int
        How many refits. [count]

    Returns
    -------
    Resampled
        Coefficients, then the standard deviation of the groups and that of the rows, so
        that a function of spreads has its interval too.

    Raises
    ------
    OutOfRangeError
        If the fit has several groupings or a slope, or no refit is asked for.

    Notes
    -----
    Group effects and rows are drawn from normal distributions of the variances found. A
    variance found to be 0 stays 0 in every draw: the interval then says nothing of it. What
    a refit needs of a drawn response is drawn itself, row by row or not being one and the
    same in distribution.

    References
    ----------
    .. [1] Davison and Hinkley (1997), Bootstrap Methods and their Application, section 3.8.

    Examples
    --------
    >>> import pandas as pd
    >>> from yieldwright.models.mixed.model import fit_mixed
    >>> from yieldwright.models.mixed.groups import grouping
    >>> frame = pd.DataFrame({"day": list("aabbcc"), "y": [1.0, 2.0, 4.0, 5.0, 9.0, 8.0]})
    >>> fit = fit_mixed(np.ones((6, 1)), frame["y"], [grouping(frame, "day")])
    >>> drawn = bootstrap_mixed(fit, rng=np.random.default_rng(1), times=500)
    >>> drawn.names, drawn.draws.shape
    (('(intercept)', '(sd of day)', '(sd of rows)'), (500, 3))
    """
    if times < 1:
        raise OutOfRangeError(f"at least one refit must be asked for, not {times}")
    shape, name = _shape(fit), fit.groupings[0].name
    group_sd = float(np.sqrt(fit.covariances[name][0, 0]))
    middle = fit.problem.matrix @ fit.params
    width = len(shape.counts) + len(fit.params) + len(shape.sizes)
    parts = [
        np.column_stack(drawn_refits(shape, middle, (group_sd, fit.sigma), rng=rng, times=count))
        for count in in_portions(times, width)
    ]
    names = (*fit.names, f"(sd of {name})", "(sd of rows)")
    params = np.array([*fit.params, group_sd, fit.sigma])
    return Resampled(names, params, np.concatenate(parts), "parametric")


def _shape(fit: MixedFit) -> ShiftedDesign:
    groupings = fit.groupings
    if len(groupings) != 1 or groupings[0].slope is not None:
        raise OutOfRangeError(
            "refits side by side are for one grouping that shifts the response; this fit has "
            f"{len(groupings)}{', with a slope' if groupings[0].slope is not None else ''}"
        )
    return shifted_design(fit.problem.matrix, groupings[0].codes, reml=fit.method == "reml")
