"""What a fit says about one number: effect of a step, bend, and where the curve turns."""

from __future__ import annotations

from typing import TYPE_CHECKING, Literal

import numpy as np
import numpy.typing as npt

from yieldwright.errors import RoleError
from yieldwright.models.contrasts.estimating import estimated
from yieldwright.models.intervals.fieller import FiellerSet, fieller_ratio
from yieldwright.models.intervals.intervals import LEVEL
from yieldwright.models.mixed.contrasts import satterthwaite_df
from yieldwright.models.mixed.model import MixedFit
from yieldwright.models.terms.design import design_of
from yieldwright.models.terms.terms import Numeric
from yieldwright.models.wording import quoted

if TYPE_CHECKING:
    from yieldwright.models.contrasts.contrasts import Estimate
    from yieldwright.models.contrasts.estimating import LineFit
    from yieldwright.models.mixed.contrasts import Approximation

__all__ = ["curvature", "step_effects", "vertex"]

Array = npt.NDArray[np.float64]


def step_effects(
    fit: LineFit, column: str, *, level: float = LEVEL, df: Approximation = "satterthwaite"
) -> tuple[Estimate, ...]:
    """Return the effect of one step of a number: one for a line, three for a curve.

    Parameters
    ----------
    fit : LinearFit or MixedFit
        Fit of a design made from columns.
    column : str
        Header of a numeric column.
    level : float
        Confidence level of the intervals. [1]
    df : {"satterthwaite", "kenward_roger"}
        How a mixed model finds degrees of freedom.

    Returns
    -------
    tuple of Estimate
        For a curve the slope per step at the low end, the middle and the high end of the
        values tried; the one in the middle is the average over them.

    Raises
    ------
    RoleError
        If the column does not enter as a number, or the fit has no columns.
    UnknownNameError
        If no term of the fit was made from the column.

    Examples
    --------
    >>> import pandas as pd
    >>> from yieldwright.models.terms.design import build_design
    >>> from yieldwright.models.linear.model import fit_least_squares
    >>> from yieldwright.models.terms.terms import Numeric
    >>> frame = pd.DataFrame({"grind": [8, 9, 10, 11, 12], "y": [8.75, 9.0, 8.75, 8.0, 6.75]})
    >>> fit = fit_least_squares(build_design(frame, [Numeric("grind", power=2)]), frame["y"])
    >>> [(each.term, round(each.estimate, 2)) for each in step_effects(fit, "grind")]
    [('grind at 8', 0.5), ('grind at 10', -0.5), ('grind at 12', -1.5)]
    """
    term, place = _numeric(fit, column)
    if term.power == 1:
        slope = _slope(fit, place, term, 0.0)
        return (estimated(fit, slope, term=column, level=level, df=df),)
    ends = ((-1.0, term.low), (0.0, term.middle), (1.0, term.high))
    slopes = {f"{column} at {value:g}": _slope(fit, place, term, unit) for unit, value in ends}
    return tuple(
        estimated(fit, slope, term=name, level=level, df=df) for name, slope in slopes.items()
    )


def curvature(
    fit: LineFit, column: str, *, level: float = LEVEL, df: Approximation = "satterthwaite"
) -> Estimate:
    """Return by how much the effect of a step changes from one step to the next.

    Parameters
    ----------
    fit : LinearFit or MixedFit
        Fit of a design made from columns.
    column : str
        Header of a numeric column that enters as a curve.
    level : float
        Confidence level of the interval. [1]
    df : {"satterthwaite", "kenward_roger"}
        How a mixed model finds degrees of freedom.

    Returns
    -------
    Estimate
        Below zero where the curve has a top, above where it has a bottom.

    Raises
    ------
    RoleError
        If the column does not enter as a curve.
    UnknownNameError
        If no term of the fit was made from the column.

    Examples
    --------
    >>> import pandas as pd
    >>> from yieldwright.models.terms.design import build_design
    >>> from yieldwright.models.linear.model import fit_least_squares
    >>> from yieldwright.models.terms.terms import Numeric
    >>> frame = pd.DataFrame({"grind": [8, 9, 10, 11, 12], "y": [8.75, 9.0, 8.75, 8.0, 6.75]})
    >>> fit = fit_least_squares(build_design(frame, [Numeric("grind", power=2)]), frame["y"])
    >>> round(curvature(fit, "grind").estimate, 2)
    -0.5
    """
    term, place = _curve(fit, column)
    weights = np.zeros(len(fit.params))
    weights[place.start + 1] = 2 * (term.step / term.reach) ** 2
    return estimated(fit, weights, term=f"{column}, bend", level=level, df=df)


def vertex(
    fit: LineFit,
    column: str,
    *,
    errors: Literal["equal", "hc3"] = "equal",
    level: float = LEVEL,
) -> FiellerSet:
    """Return where a curve turns, as the set of places the data do not rule out.

    Parameters
    ----------
    fit : LinearFit or MixedFit
        Fit of a design made from columns.
    column : str
        Header of a numeric column that enters as a curve.
    errors : {"equal", "hc3"}
        Covariance for one variance, or the robust one.
    level : float
        Confidence level. [1]

    Returns
    -------
    FiellerSet
        In the unit of the column; print it as an interval only where it is bounded.

    Raises
    ------
    RoleError
        If the column does not enter as a curve, or robust errors are asked of a mixed model.
    UnknownNameError
        If no term of the fit was made from the column.

    Notes
    -----
    A mixed model brings Satterthwaite's degrees of freedom of the slope where the curve
    is estimated to turn.

    References
    ----------
    .. [1] Fieller (1954), J. R. Stat. Soc. B 16, 175.
    .. [2] Lind and Mehlum (2010), Oxf. Bull. Econ. Stat. 72, 109.

    Examples
    --------
    >>> import pandas as pd
    >>> from yieldwright.models.terms.design import build_design
    >>> from yieldwright.models.linear.model import fit_least_squares
    >>> from yieldwright.models.terms.terms import Numeric
    >>> frame = pd.DataFrame({"grind": [8, 9, 10, 11, 12], "y": [8.75, 9.0, 8.75, 8.0, 6.75]})
    >>> fit = fit_least_squares(build_design(frame, [Numeric("grind", power=2)]), frame["y"])
    >>> found = vertex(fit, "grind")
    >>> found.kind, round(found.estimate, 1)
    ('bounded', 9.0)
    """
    term, place = _curve(fit, column)
    linear, square = fit.params[place]
    cov, degrees = _certainty(fit, place, errors)
    if np.isnan(cov).any():
        return FiellerSet("everything", -np.inf, np.inf, float(-linear / (2 * square)))
    turning = fieller_ratio(
        -float(linear),
        2 * float(square),
        variances=(float(cov[0, 0]), 4 * float(cov[1, 1])),
        covariance=-2 * float(cov[0, 1]),
        df=degrees,
        level=level,
    )
    return turning.shifted(origin=term.middle, unit=term.reach)


def _numeric(fit: LineFit, column: str) -> tuple[Numeric, slice]:
    design = design_of(fit)
    term = design.term(column)
    if not isinstance(term, Numeric):
        raise RoleError(f"{quoted(column)} enters as levels, which have no slope; compare levels")
    return term, design.place(column)


def _curve(fit: LineFit, column: str) -> tuple[Numeric, slice]:
    term, place = _numeric(fit, column)
    if term.power == 1:
        raise RoleError(
            f"{quoted(column)} enters as a line, which has no bend; fit it with power=2"
        )
    return term, place


def _certainty(fit: LineFit, place: slice, errors: Literal["equal", "hc3"]) -> tuple[Array, float]:
    """Return covariance of slope and square, and the degrees of freedom behind it."""
    if not isinstance(fit, MixedFit):
        return (fit.cov if errors == "equal" else fit.hc3_cov)[place, place], fit.df_resid
    if errors == "hc3":
        raise RoleError(
            "a mixed model has no robust (hc3) errors: variances by group are in the model; "
            "ask for errors='equal'"
        )
    linear, square = fit.params[place]
    weights = np.zeros(len(fit.params))
    weights[place] = (1.0, -linear / square) if square else (1.0, 0.0)
    return fit.cov[place, place], satterthwaite_df(fit, weights)


def _slope(fit: LineFit, place: slice, term: Numeric, unit: float) -> Array:
    """Return the weights of the slope per step where the scaled variable is `unit`."""
    weights = np.zeros(len(fit.params))
    derivatives = np.array([1.0, 2 * unit])[: term.power]
    weights[place] = derivatives * term.step / term.reach
    return weights
