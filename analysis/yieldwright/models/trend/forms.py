"""Which form a trend has – none, a line, a curve, two lines – and how sure that choice is."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from yieldwright.errors import AliasedColumnsError, OutOfRangeError, TooFewShotsError
from yieldwright.models.linear._orthonormal import Labels, orthonormal_columns
from yieldwright.models.linear.aliasing import require_separable
from yieldwright.models.linear.scaling import centred_and_scaled
from yieldwright.models.mixed.shifts import deviances, refits, shifted_design
from yieldwright.models.trend._breaks import breaks_of, likeliest_break
from yieldwright.models.trend.rows import Beside, TrendRows, Values, trend_rows
from yieldwright.models.wording import nearest, quoted

__all__ = ["FORMS", "Form", "Forms", "compare_forms", "lacking"]

Array = npt.NDArray[np.float64]

#: Parameters of x that each form has: the break of two lines counts as one.
FORMS = {"flat": 0, "line": 1, "curve": 2, "two lines": 3}

#: Each form as the subject of a sentence.
SPOKEN = {
    "flat": "no trend takes",
    "line": "a line takes",
    "curve": "a curve takes",
    "two lines": "two lines take",
}

#: Share of the spread of the response below which a form passes through every row.
NOTHING_LEFT = 1e-20

#: Variance of groups over that of rows from which rows of a group are all but alike.
ALIKE = 1e7


@dataclass(frozen=True, slots=True)
class Form:
    """One form of a trend, and what speaks for it.

    Attributes
    ----------
    name : str
        One of `FORMS`.
    turn : float
        Where two lines meet; not a number for other forms. [unit of x]
    n_params : int
        Parameters of the mean, the break among them, and variances. [count]
    log_likelihood : float
        At its largest, constants included; not a number where the form is not possible.
    aicc : float
        Information criterion corrected for few units; infinite where it is not possible.
    weight : float
        Akaike weight among the forms that are possible. [1]
    possible : bool
        Whether the rows can bear the form.
    why_not : str
        What is lacking; empty where it is possible.
    """

    name: str
    turn: float
    n_params: int
    log_likelihood: float
    aicc: float
    weight: float = 0.0
    possible: bool = True
    why_not: str = ""

    @property
    def aic(self) -> float:
        """Criterion without the correction for small samples."""
        return 2 * self.n_params - 2 * self.log_likelihood


@dataclass(frozen=True, slots=True, eq=False)
class Forms:
    """Forms of one trend beside each other.

    Attributes
    ----------
    forms : tuple of Form
        In the order asked for.
    n_units : int
        Groups where x differs between groups only, otherwise rows. [count]
    unit : {"groups", "rows"}
        Which of the two.
    n_rows, n_places : int
        Rows, and different values of x. [count]
    """

    forms: tuple[Form, ...]
    n_units: int
    unit: str
    n_rows: int
    n_places: int

    @property
    def possible(self) -> tuple[Form, ...]:
        """Forms that the rows can bear, the likeliest first."""
        return tuple(sorted((f for f in self.forms if f.possible), key=lambda f: f.aicc))

    @property
    def best(self) -> Form:
        """The form with the lowest criterion."""
        return self.possible[0]

    @property
    def sureness(self) -> float:
        """Akaike weight of the best form."""
        return self.best.weight

    @property
    def weights(self) -> dict[str, float]:
        """Akaike weight by name of the form; 0 where it is not possible."""
        return {form.name: form.weight for form in self.forms}

    def form(self, name: str) -> Form:
        """Return one form by its name.

        Parameters
        ----------
        name : str
            One of those asked for.

        Returns
        -------
        Form

        Raises
        ------
        OutOfRangeError
            If it was not compared.
        """
        for each in self.forms:
            if each.name == name:
                return each
        known = [each.name for each in self.forms]
        raise OutOfRangeError(f"{quoted(name)} was not compared; {nearest(name, known)}")


def compare_forms(
    x: Values,
    y: Values,
    *,
    beside: Beside | None = None,
    groups: Labels | None = None,
    forms: Sequence[str] = tuple(FORMS),
) -> Forms:
    """Return the forms that a trend may have, each with its likelihood and its weight.

    Parameters
    ----------
    x, y : array-like
        Along what, and the response; one finite number per row. [any unit]
    beside : array-like or DataFrame, optional
        Columns of numbers to be allowed for in every form, one row per row.
    groups : sequence of hashable, optional
        Label of the group of each row, whose shift of the response is random.
    forms : sequence of {"flat", "line", "curve", "two lines"}
        Which to compare.

    Returns
    -------
    Forms

    Raises
    ------
    MisalignedError
        If columns or labels describe other rows.
    OutOfRangeError
        If a number is missing or infinite, x or the response does not vary, a form is not
        known or named twice, or a form passes through every row.
    TooFewShotsError
        If there are not more rows than columns, or no form is possible.
    AliasedColumnsError
        If the columns beside cannot be told apart.

    Notes
    -----
    Likelihoods are plain, not restricted, since forms differ in their columns. A random
    shift by group is in the model, and its variance found for each form, where groups
    hold several rows. The break is the likeliest one from the second to the last but one
    different x, found exactly: inside a stretch between neighbouring x the best break has
    a closed form [1]_. A turn at one of those two ends says no more than that a single
    value of x stands apart.

    AICc = −2 log L + 2k + 2m(m + 1)/(n − m − 1) [2]_, with k all parameters. Where x is
    constant inside every group, rows of a group are no further evidence on the form: n is
    the number of groups, and m counts what is estimated between them, that is, the
    coefficients of x, columns beside that are constant inside groups, and the variance of
    groups. Otherwise n is the number of rows and m = k. A form is possible where x has more
    different values than it has coefficients of x, and n > m + 1.

    A break counts as one parameter although it is searched for, so two lines are taken a
    little too readily where there is no break.

    References
    ----------
    .. [1] Hudson (1966), J. Am. Stat. Assoc. 61, 1097, section 3.
    .. [2] Burnham and Anderson (2002), Model Selection and Multimodel Inference, section 2.4.

    Examples
    --------
    >>> x = np.arange(10.0)
    >>> y = np.abs(x - 4.5) + np.tile([0.1, -0.1], 5)
    >>> found = compare_forms(x, y)
    >>> found.best.name, round(found.best.turn, 2), round(found.sureness, 3)
    ('two lines', 4.5, 1.0)
    """
    _require_known(forms)
    rows = trend_rows(x, y, beside, groups)
    found = tuple(_weighed(rows, name) for name in forms)
    least = min(form.aicc for form in found)
    if not math.isfinite(least):
        reasons = "; ".join(f"{form.name}: {form.why_not}" for form in found)
        raise TooFewShotsError(f"no form of the trend can be judged ({reasons})")
    shares = [math.exp((least - form.aicc) / 2) if form.possible else 0.0 for form in found]
    weighted = (
        replace(form, weight=share / sum(shares))
        for form, share in zip(found, shares, strict=True)
    )
    return Forms(tuple(weighted), rows.n_units, rows.unit, rows.n_rows, len(rows.places))


def _columns(rows: TrendRows, name: str) -> Array:
    """Return the columns of a form other than two lines, x on a scale from −1 to +1."""
    powers = [rows.unit_x**power for power in range(1, FORMS[name] + 1)]
    return np.column_stack([rows.flat, *powers])


def _weighed(rows: TrendRows, name: str) -> Form:
    reason = lacking(rows, name)
    if reason:
        return Form(name, math.nan, _count(rows, name), math.nan, math.inf, 0.0, False, reason)
    turn, deviance = math.nan, math.nan
    if name == "two lines":
        meeting = likeliest_break(breaks_of(rows))
        turn, deviance = rows.middle + rows.reach * meeting.place, meeting.deviance
        _require_spread(rows, name, deviance, meeting.ratio)
    else:
        deviance, ratio = _deviance(rows, _columns(rows, name))
        _require_spread(rows, name, deviance, ratio)
    return Form(name, turn, _count(rows, name), -deviance / 2, _criterion(rows, name, deviance))


def _deviance(rows: TrendRows, matrix: Array) -> tuple[float, float]:
    """Return −2 × log-likelihood, and the variance of groups over that of rows."""
    centred = rows.y - rows.y.mean()
    if rows.codes is None:
        basis = orthonormal_columns(matrix).columns
        left = centred - basis @ (basis.T @ centred)
        variance = float(left @ left) / rows.n_rows
        return rows.n_rows * (math.log(2 * math.pi * max(variance, 1e-300)) + 1), 0.0
    shape = shifted_design(matrix, rows.codes, reml=False)
    found = refits(shape, centred[np.newaxis])
    if not found.row_sd[0] > 0:
        return -math.inf, math.inf
    return float(deviances(shape, found)[0]), float(found.group_sd[0] / found.row_sd[0]) ** 2


def _require_spread(rows: TrendRows, name: str, deviance: float, ratio: float) -> None:
    """Refuse a form whose likelihood has no bound."""
    plain = np.var(rows.y)
    least = rows.n_rows * (math.log(2 * math.pi * plain * NOTHING_LEFT) + 1)
    if deviance > least and ratio < ALIKE:
        return
    alike = "rows of one group are all alike" if ratio >= ALIKE else "it passes through every row"
    raise OutOfRangeError(
        f"the form {quoted(name)} leaves no spread to judge by: {alike}; "
        + ("give one row per group (their means)" if ratio >= ALIKE else "bring measured rows")
    )


def lacking(rows: TrendRows, name: str) -> str:
    """Return what the rows lack for a form, in words; nothing where they can bear it.

    Parameters
    ----------
    rows : TrendRows
        The rows.
    name : str
        One of `FORMS`.

    Returns
    -------
    str
    """
    places, needed = len(rows.places), FORMS[name] + 2
    if name != "flat" and places < needed:
        return f"{places} different values of x; {SPOKEN[name]} {needed} at least"
    counted = _counted(rows, name)
    if rows.n_units <= counted + 1:
        return (
            f"{rows.n_units} {rows.unit} for {counted} parameters; {SPOKEN[name]} "
            f"{counted + 2} at least"
        )
    return "" if name == "flat" else _aliased(rows, name)


def _aliased(rows: TrendRows, name: str) -> str:
    columns = _columns(rows, "line" if name == "two lines" else name)
    try:
        require_separable(centred_and_scaled(columns), [""] * columns.shape[1])
    except AliasedColumnsError:
        return "x cannot be told apart from the columns beside it"
    return ""


def _count(rows: TrendRows, name: str) -> int:
    """Return how many parameters a form has, variances included."""
    return 1 + FORMS[name] + len(rows.names) + (1 if rows.codes is None else 2)


def _counted(rows: TrendRows, name: str) -> int:
    """Return how many of them are estimated from the units that the correction counts."""
    if not rows.between:
        return _count(rows, name)
    return 2 + FORMS[name] + rows.n_beside_between


def _criterion(rows: TrendRows, name: str, deviance: float) -> float:
    counted = _counted(rows, name)
    corrected = 2 * counted * (counted + 1) / (rows.n_units - counted - 1)
    return deviance + 2 * _count(rows, name) + corrected


def _require_known(forms: Sequence[str]) -> None:
    for name in forms:
        if name not in FORMS:
            raise OutOfRangeError(f"{quoted(name)} is no form of a trend; {nearest(name, FORMS)}")
    if not forms or len(set(forms)) < len(forms):
        raise OutOfRangeError("name each form once, and at least one")
