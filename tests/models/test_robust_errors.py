"""Robust errors, leverage and inflation, against R sandwich, stats and car."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from tests.models.published import data, expected
from yieldwright.models.contrasts.contrasts import contrast, estimate_table
from yieldwright.models.linear.model import LinearFit, fit_least_squares
from yieldwright.models.terms.design import build_design
from yieldwright.models.terms.terms import Blocks, Factor, Numeric


@pytest.fixture
def schools(reference: Path) -> LinearFit:
    """Expenditure on income and its square, 50 states (Greene 1993); Alaska has leverage 0.65."""
    frame = data(reference, "ols_robust_se_publicschools").dropna()
    income = frame["Income"].to_numpy()
    matrix = np.column_stack([np.ones(len(frame)), income, income**2])
    return fit_least_squares(matrix, frame["Expenditure"])


@pytest.fixture
def figures(reference: Path) -> dict[str, dict[str, float]]:
    """R sandwich 3.0-2: values of vcovHC and coeftest."""
    return expected(reference, "ols_robust_se_publicschools")


def test_coefficients(schools: LinearFit, figures: dict[str, dict[str, float]]) -> None:
    assert schools.params == pytest.approx(list(figures["coef"].values()), rel=1e-9)


def test_classical_standard_errors(
    schools: LinearFit, figures: dict[str, dict[str, float]]
) -> None:
    assert schools.std_error == pytest.approx(list(figures["se_const"].values()), rel=1e-8)


def test_hc3_standard_errors(schools: LinearFit, figures: dict[str, dict[str, float]]) -> None:
    assert schools.hc3_std_error == pytest.approx(list(figures["se_HC3"].values()), rel=1e-8)


def test_hc3_test_of_a_coefficient(
    schools: LinearFit, figures: dict[str, dict[str, dict[str, float]]]
) -> None:
    printed = figures["coeftest_HC3"]
    estimates = [contrast(schools, {name: 1.0}) for name in schools.names]
    table = estimate_table(estimates, errors="hc3")
    assert table["statistic"].tolist() == pytest.approx(list(printed["t"].values()), rel=1e-8)
    assert table["p_value"].tolist() == pytest.approx(list(printed["p"].values()), rel=1e-7)


def test_leverage(schools: LinearFit, figures: dict[str, list[float]]) -> None:
    assert schools.leverage == pytest.approx(figures["hat_diag"], abs=1e-10)


def test_shares_explained(schools: LinearFit, figures: dict[str, float]) -> None:
    assert schools.r_squared == pytest.approx(figures["r2"], rel=1e-9)
    assert schools.adj_r_squared == pytest.approx(figures["adj_r2"], rel=1e-9)


def test_variance_inflation(reference: Path) -> None:
    # Longley (1967); R car 3.1-1, vif of the model with all six regressors.
    frame = data(reference, "ols_vif_longley")
    names = [f"x{number}" for number in range(1, 7)]
    response = data(reference, "ols_strd_longley")["y"]
    fit = fit_least_squares(build_design(frame, [Numeric(name) for name in names]), response)
    assert fit.term_vif == pytest.approx(expected(reference, "ols_vif_longley")["vif"], rel=1e-9)
    assert fit.vif[1:] == pytest.approx(list(fit.term_vif.values()), rel=1e-9)


def two_factors() -> pd.DataFrame:
    """An unbalanced layout in which two factors lean on each other."""
    rng = np.random.default_rng(5)
    band = rng.choice(["low", "medium", "high"], size=40)
    machine = np.where(rng.random(40) < 0.7, band, rng.choice(["low", "high"], size=40))
    return pd.DataFrame({"band": band, "machine": machine, "y": rng.normal(size=40)})


def test_inflation_of_a_factor_is_the_determinant_ratio() -> None:
    # Fox and Monette (1992): det R11 det R22 / det R, on correlations of the columns.
    frame = two_factors()
    design = build_design(frame, [Factor("band"), Factor("machine")])
    place = design.place("band")
    correlations = np.corrcoef(design.matrix[:, 1:], rowvar=False)
    own = np.zeros(len(correlations), dtype=bool)
    own[place.start - 1 : place.stop - 1] = True
    ratio = np.linalg.det(correlations[np.ix_(own, own)]) * np.linalg.det(
        correlations[np.ix_(~own, ~own)]
    )
    inflation = np.sqrt(ratio / np.linalg.det(correlations))
    fit = fit_least_squares(design, frame["y"])
    assert fit.term_vif["band"] == pytest.approx(inflation, rel=1e-9)


def test_inflation_does_not_depend_on_the_reference_level() -> None:
    frame = two_factors()
    inflation = [
        fit_least_squares(
            build_design(frame, [Factor("band", reference=level), Factor("machine")]), frame["y"]
        ).term_vif["band"]
        for level in ("low", "medium", "high")
    ]
    assert inflation == pytest.approx([inflation[0]] * 3, rel=1e-9)


def one_row_block() -> LinearFit:
    """A log with one session of a single row, whose block that row alone decides."""
    rng = np.random.default_rng(2)
    frame = pd.DataFrame(
        {"x": rng.normal(size=9), "day": [*"aaaabbbb", "c"], "y": rng.normal(size=9)}
    )
    return fit_least_squares(build_design(frame, [Numeric("x"), Blocks("day")]), frame["y"])


def test_a_row_that_alone_decides_leaves_other_robust_errors_alone() -> None:
    fit = one_row_block()
    rest = one_row_block().design
    assert rest is not None
    keep = np.arange(8)
    without = fit_least_squares(rest.matrix[keep][:, :3], (fit.fitted + fit.residuals)[keep])
    assert fit.hc3_std_error[1] == pytest.approx(without.hc3_std_error[1], rel=1e-9)


def test_a_coefficient_that_hangs_on_one_row_has_no_robust_error() -> None:
    assert np.isnan(one_row_block().hc3_std_error[3])


def test_robust_errors_of_equal_leverage_are_the_jackknife() -> None:
    # With two equal groups, HC3 is the unpooled variance s² / (n − 1) of each mean, summed.
    rng = np.random.default_rng(8)
    first, second = rng.normal(size=6), rng.normal(size=6) * 3
    matrix = np.column_stack([np.ones(12), np.repeat([0.0, 1.0], 6)])
    fit = fit_least_squares(matrix, np.concatenate([first, second]))
    variance = (first.var() + second.var()) * 6 / (6 - 1) ** 2
    assert fit.hc3_std_error[1] == pytest.approx(np.sqrt(variance), rel=1e-12)
