"""One way to ask any fit for a weighted sum of its coefficients."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import asdict
from typing import TYPE_CHECKING, Any

import numpy as np
import numpy.typing as npt

from yieldwright.errors import MisalignedError
from yieldwright.models.contrasts.contrasts import Estimate, contrast
from yieldwright.models.intervals.intervals import LEVEL
from yieldwright.models.linear.model import LinearFit
from yieldwright.models.mixed.contrasts import mixed_contrast
from yieldwright.models.mixed.model import MixedFit
from yieldwright.models.ordinal.effects import ordinal_contrast
from yieldwright.models.ordinal.mixed import OrdinalMixedFit
from yieldwright.models.ordinal.model import OrdinalFit

if TYPE_CHECKING:
    from yieldwright.models.mixed.contrasts import Approximation

__all__ = ["estimated", "parameter_weights"]

Array = npt.NDArray[np.float64]

#: Fits of a line to numbers, and those of ordered levels.
LineFit = LinearFit | MixedFit
LevelFit = OrdinalFit | OrdinalMixedFit
AnyFit = LineFit | LevelFit


def estimated(
    fit: AnyFit,
    weights: Mapping[str, float] | Sequence[float] | Array,
    *,
    term: str = "contrast",
    level: float = LEVEL,
    df: Approximation = "satterthwaite",
) -> Estimate:
    """Return a weighted sum of the parameters of a fit, of whichever kind it is.

    Parameters
    ----------
    fit : LinearFit, MixedFit, OrdinalFit or OrdinalMixedFit
        The fit.
    weights : mapping of str to float, or sequence of float
        Weights by name of parameter, or one for each.
    term : str
        What to call it.
    level : float
        Confidence level of the interval. [1]
    df : {"satterthwaite", "kenward_roger"}
        How a mixed model finds degrees of freedom; the others know theirs.

    Returns
    -------
    Estimate
        Of ordered levels on the line behind them. The robust twin is a number for least
        squares alone.

    Raises
    ------
    UnknownNameError, MisalignedError, OutOfRangeError
        As in `contrast`, `mixed_contrast` and `ordinal_contrast`.

    Notes
    -----
    Of ordered levels, standard error and normal quantiles; where the rows separate
    completely, the profile likelihood, whose limits are then one-sided.

    Examples
    --------
    >>> import pandas as pd
    >>> from yieldwright.models.mixed.model import fit_mixed
    >>> from yieldwright.models.mixed.groups import grouping
    >>> frame = pd.DataFrame({"day": list("aabbcc"), "y": [1.0, 2.0, 4.0, 5.0, 9.0, 8.0]})
    >>> fit = fit_mixed(np.ones((6, 1)), frame["y"], [grouping(frame, "day")])
    >>> mean = estimated(fit, [1.0], term="mean")
    >>> round(mean.estimate, 3), round(mean.df, 6)
    (4.833, 2.0)
    """
    if isinstance(fit, LinearFit):
        return contrast(fit, weights, term=term, level=level)
    if isinstance(fit, MixedFit):
        return mixed_contrast(fit, weights, term=term, level=level, df=df)
    found = ordinal_contrast(
        fit, weights, term=term, limits="profile" if fit.separated else "wald", level=level
    )
    robust = ("hc3_std_error", "hc3_ci_low", "hc3_ci_high", "hc3_p_value")
    values: dict[str, Any] = asdict(found) | dict.fromkeys(robust, np.nan)
    return Estimate(**values)


def parameter_weights(fit: AnyFit, row: Sequence[float] | Array) -> Array:
    """Return the weights of parameters that belong to a row of the design.

    Parameters
    ----------
    fit : LinearFit, MixedFit, OrdinalFit or OrdinalMixedFit
        The fit.
    row : sequence of float
        One value per column of the design, or the difference of two such rows.

    Returns
    -------
    ndarray
        The row itself for numbers. For ordered levels the intercept becomes what the
        mean of all thresholds is taken off: the place of the row on the line behind the
        levels, seen from the middle threshold.

    Raises
    ------
    MisalignedError
        If there is not one value for each column.

    Examples
    --------
    >>> import pandas as pd
    >>> from yieldwright.models.terms.design import build_design
    >>> from yieldwright.models.ordinal.model import fit_ordinal
    >>> from yieldwright.models.terms.terms import Factor
    >>> frame = pd.DataFrame({"band": list("aaaabbbb"), "score": [1, 1, 2, 3, 1, 2, 2, 3]})
    >>> fit = fit_ordinal(build_design(frame, [Factor("band")]), frame["score"])
    >>> parameter_weights(fit, fit.design.row({"band": "b"})).tolist()
    [-0.5, -0.5, 1.0]
    """
    values = np.asarray(row, dtype=float)
    n_cuts = fit.posing.n_cuts if isinstance(fit, LevelFit) else 1
    if len(values) != len(fit.params) - n_cuts + 1:
        raise MisalignedError(
            f"{values.size} values for {len(fit.params) - n_cuts + 1} columns; give one for each"
        )
    if isinstance(fit, LineFit):
        return values
    return np.concatenate([np.full(n_cuts, -values[0] / n_cuts), values[1:]])
