"""NIST Statistical Reference Datasets, linear regression (doi 10.18434/T43G6C): certified."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from tests.models.published import agreeing_digits, data, expected
from yieldwright.errors import AliasedColumnsError
from yieldwright.models.linear.model import LinearFit, fit_least_squares, fit_polynomial

#: Dataset, degree of its polynomial, digits of the coefficients and of the standard errors.
POLYNOMIALS = [
    ("norris", 1, 9.0, 9.0),
    ("wampler3", 5, 9.0, 9.0),
    ("wampler4", 5, 7.0, 7.0),
    ("wampler5", 5, 5.5, 5.5),
    ("filip", 10, 7.0, 7.0),
]
EXACT_POLYNOMIALS = ["wampler1", "wampler2"]


def polynomial(reference: Path, name: str, degree: int) -> LinearFit:
    table = data(reference, f"ols_strd_{name}").astype(float)
    return fit_polynomial(table["x"].to_numpy(), table["y"].to_numpy(), degree)


def longley(reference: Path) -> LinearFit:
    table = data(reference, "ols_strd_longley").astype(float)
    predictors = table.drop(columns="y").to_numpy()
    matrix = np.column_stack([np.ones(len(table)), predictors])
    return fit_least_squares(matrix, table["y"])


@pytest.mark.parametrize(("name", "degree", "digits", "_"), POLYNOMIALS)
def test_coefficients_of_polynomials(
    reference: Path, name: str, degree: int, digits: float, _: float
) -> None:
    certified = expected(reference, f"ols_strd_{name}")["params"].values()
    assert agreeing_digits(polynomial(reference, name, degree).params, certified) >= digits


@pytest.mark.parametrize(("name", "degree", "_", "digits"), POLYNOMIALS)
def test_standard_errors_of_polynomials(
    reference: Path, name: str, degree: int, _: float, digits: float
) -> None:
    certified = expected(reference, f"ols_strd_{name}")["std_errors"].values()
    assert agreeing_digits(polynomial(reference, name, degree).std_error, certified) >= digits


@pytest.mark.parametrize(("name", "degree", "_", "digits"), POLYNOMIALS)
def test_residual_spread_of_polynomials(
    reference: Path, name: str, degree: int, _: float, digits: float
) -> None:
    certified = expected(reference, f"ols_strd_{name}")["residual_sd"]
    assert agreeing_digits([polynomial(reference, name, degree).sigma], [certified]) >= digits


@pytest.mark.parametrize(("name", "degree"), [each[:2] for each in POLYNOMIALS])
def test_analysis_of_variance_of_polynomials(reference: Path, name: str, degree: int) -> None:
    fit = polynomial(reference, name, degree)
    anova = expected(reference, f"ols_strd_{name}")["anova"]
    assert [fit.df_model, fit.df_resid] == [anova["regression"][0], anova["residual"][0]]
    assert fit.f_statistic == pytest.approx(anova["regression"][3], rel=1e-9)


@pytest.mark.parametrize("name", EXACT_POLYNOMIALS)
def test_coefficients_of_exact_polynomials(reference: Path, name: str) -> None:
    certified = expected(reference, f"ols_strd_{name}")["params"].values()
    assert agreeing_digits(polynomial(reference, name, 5).params, certified) >= 9


@pytest.mark.parametrize("name", EXACT_POLYNOMIALS)
def test_standard_errors_of_exact_polynomials_vanish(reference: Path, name: str) -> None:
    fit = polynomial(reference, name, 5)
    # Certified 0; what remains is rounding of responses of up to 3.4e6.
    assert np.abs(fit.std_error).max() < 1e-9
    assert fit.r_squared == pytest.approx(1.0, abs=1e-15)


def test_coefficients_of_longley(reference: Path) -> None:
    certified = expected(reference, "ols_strd_longley")["params"].values()
    assert agreeing_digits(longley(reference).params, certified) >= 9


def test_standard_errors_of_longley(reference: Path) -> None:
    certified = expected(reference, "ols_strd_longley")["std_errors"].values()
    assert agreeing_digits(longley(reference).std_error, certified) >= 9


def test_summary_of_longley(reference: Path) -> None:
    fit, certified = longley(reference), expected(reference, "ols_strd_longley")
    assert fit.r_squared == pytest.approx(certified["r_squared"], rel=1e-12)
    assert fit.sigma == pytest.approx(certified["residual_sd"], rel=1e-9)
    assert fit.f_statistic == pytest.approx(certified["anova"]["regression"][3], rel=1e-9)


def test_raw_powers_of_filip_are_refused_by_name(reference: Path) -> None:
    table = data(reference, "ols_strd_filip")
    matrix = np.column_stack([table["x"].to_numpy() ** power for power in range(11)])
    names = ["one", *(f"power {power}" for power in range(1, 11))]
    with pytest.raises(AliasedColumnsError, match="cannot be told apart") as refusal:
        fit_least_squares(matrix, table["y"], names=names)
    assert len(refusal.value.columns) >= 2
    assert set(refusal.value.columns) <= set(names[1:])


@pytest.mark.parametrize(("name", "digits"), [("wampler1", 7), ("wampler4", 7), ("wampler5", 5.5)])
def test_raw_powers_that_can_be_told_apart(reference: Path, name: str, digits: float) -> None:
    table = data(reference, f"ols_strd_{name}").astype(float)
    matrix = np.column_stack([table["x"].to_numpy() ** power for power in range(6)])
    fit = fit_least_squares(matrix, table["y"])
    certified = expected(reference, f"ols_strd_{name}")["params"].values()
    assert agreeing_digits(fit.params, certified) >= digits
