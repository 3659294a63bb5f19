"""The same trend in many sets of rows, one row of figures each."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt
import pandas as pd

from yieldwright.errors import MisalignedError, YieldwrightError
from yieldwright.models.contrasts.estimating import estimated
from yieldwright.models.linear._orthonormal import Labels, group_codes
from yieldwright.models.trend.fitting import fit_rows
from yieldwright.models.trend.rows import Beside, TrendRows, Values, trend_rows

if TYPE_CHECKING:
    from yieldwright.models.contrasts.contrasts import Estimate
    from yieldwright.models.contrasts.estimating import LineFit

__all__ = ["COLUMNS", "trends_of"]

Array = npt.NDArray[np.float64]
Codes = npt.NDArray[np.intp]

#: Columns of the table, in order.
COLUMNS = (
    "n",
    "n_groups",
    "n_places",
    "slope",
    "std_error",
    "df",
    "curve",
    "curve_std_error",
    "curve_df",
    "vertex",
    "why_not",
)


def trends_of(
    x: Values,
    y: Values,
    set_codes: Labels,
    *,
    beside: Beside | None = None,
    groups: Labels | None = None,
) -> pd.DataFrame:
    """Return slope, curve and vertex of every set of rows, each set by itself.

    Parameters
    ----------
    x, y : array-like
        Along what, and the response; one finite number per row. [any unit]
    set_codes : sequence of hashable
        Which set each row belongs to.
    beside : array-like or DataFrame, optional
        Columns of numbers to be allowed for, one row per row.
    groups : sequence of hashable, optional
        Label of the group of each row, whose shift of the response is random.

    Returns
    -------
    DataFrame
        One row per set, in order of appearance: `n` rows, `n_groups` that shift the
        response, `n_places` different x; `slope` of the line with `std_error` and `df`;
        coefficient of x² in `curve`, with its own; `vertex` of the curve; in `why_not` what
        is lacking for figures that are not there.

    Raises
    ------
    MisalignedError
        If columns or labels describe other rows.
    OutOfRangeError
        If a row has no set or no group.

    Notes
    -----
    Every set has the fit that it would have alone: least squares, or REML with degrees of
    freedom and standard errors of Kenward and Roger where groups hold several rows. Time
    grows with the number of sets. A column beside that does not vary in a set stays out of it.

    Examples
    --------
    >>> x = np.tile(np.arange(6.0), 2)
    >>> y = np.repeat([1.0, -1.0], 6) * x + np.tile([0.1, -0.1, 0.0], 4)
    >>> trends_of(x, y, ["bag A"] * 6 + ["bag B"] * 6)["slope"].round(2).tolist()
    [0.99, -1.01]
    """
    along, response = np.asarray(x, dtype=float), np.asarray(y, dtype=float)
    columns = np.empty((len(response), 0)) if beside is None else np.asarray(beside, dtype=float)
    if along.shape != response.shape or len(columns) != len(response):
        raise MisalignedError(
            f"{along.size} values of x, {response.size} responses and {len(columns)} rows of "
            "columns beside do not go together; take all from the same rows"
        )
    codes = group_codes(set_codes, len(response), least=1)
    own = None if groups is None else group_codes(groups, len(response), least=1)
    places = np.split(np.argsort(codes, kind="stable"), np.cumsum(np.bincount(codes))[:-1])
    found = [
        _figures(along[at], response[at], columns[at], None if own is None else own[at])
        for at in places
    ]
    names = list(dict.fromkeys(set_codes))
    return pd.DataFrame(found, index=pd.Index(names, name="set"), columns=list(COLUMNS))


def _figures(x: Array, y: Array, beside: Array, groups: Codes | None) -> dict[str, float | str]:
    """Return the figures of one set by their columns; what it cannot bear is left out."""
    found: dict[str, float | str] = {"n": len(y), "n_groups": 0, "n_places": len(np.unique(x))}
    try:
        rows = trend_rows(x, y, beside[:, np.ptp(beside, axis=0) > 0], groups)
        found |= {"n_groups": rows.n_groups, "why_not": _lacking(rows, 1)}
        if not found["why_not"]:
            found |= _line(rows) | {"why_not": _lacking(rows, 2)}
        if not found["why_not"]:
            found |= _curve(rows)
    except YieldwrightError as error:
        found["why_not"] = str(error)
    return found


def _lacking(rows: TrendRows, power: int) -> str:
    """Return what a set lacks for a line or a curve, in words."""
    form = ("a line", "a curve")[power - 1]
    if len(rows.places) < power + 2:
        return f"{len(rows.places)} different values of x; {form} takes {power + 2} at least"
    least = 2 + power + rows.n_beside_units
    if rows.n_units < least:
        return f"{rows.n_units} {rows.unit}; {form} takes {least} at least"
    return ""


def _line(rows: TrendRows) -> dict[str, float | str]:
    slope = _told(_fitted(rows, rows.unit_x))
    error = slope.std_error / rows.reach
    return {"slope": slope.estimate / rows.reach, "std_error": error, "df": slope.df}


def _curve(rows: TrendRows) -> dict[str, float | str]:
    fit = _fitted(rows, rows.unit_x, rows.unit_x**2)
    bend = _told(fit)
    slope, square = fit.params[-2:].tolist()
    return {
        "curve": bend.estimate / rows.reach**2,
        "curve_std_error": bend.std_error / rows.reach**2,
        "curve_df": bend.df,
        "vertex": rows.middle - rows.reach * slope / (2 * square) if square else math.nan,
    }


def _told(fit: LineFit) -> Estimate:
    """Return the last coefficient of a fit."""
    return estimated(fit, [0.0] * (len(fit.params) - 1) + [1.0], df="kenward_roger")


def _fitted(rows: TrendRows, *columns: Array) -> LineFit:
    return fit_rows(rows, np.column_stack([rows.flat, *columns]))
