"""Cluster-robust errors, against R clubSandwich and sandwich, and where they meet others."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd
import pytest

from tests.models.published import agreeing_digits, data, expected
from yieldwright.errors import MisalignedError, OutOfRangeError, RoleError, TooFewShotsError
from yieldwright.models.contrasts.contrasts import Estimate, contrast
from yieldwright.models.linear.clusters import cluster_contrast, cluster_cov
from yieldwright.models.linear.model import LinearFit, fit_least_squares
from yieldwright.models.terms.design import build_design
from yieldwright.models.terms.terms import Blocks, Factor, Numeric, Term

DIGITS = 10
Weights = dict[str, float]


def fitted(frame: pd.DataFrame, response: str, *terms: Term) -> LinearFit:
    return fit_least_squares(build_design(frame, list(terms)), frame[response])


def raw_line(fit: LinearFit, column: str) -> dict[str, Weights]:
    """Return the weights of intercept and slope in the unit of the column."""
    assert fit.design is not None
    term = fit.design.term(column)
    assert isinstance(term, Numeric)
    at_zero = {"(intercept)": 1.0, column: -term.middle / term.reach}
    return {"(Intercept)": at_zero, column: {column: 1 / term.reach}}


def errors(found: dict[str, Estimate]) -> list[float]:
    return [each.std_error for each in found.values()]


class Chicks:
    """Weights of 50 chicks weighed 2 to 12 times (Crowder and Hand 1990, example 5.3)."""

    def __init__(self, reference: Path) -> None:
        self.frame = data(reference, "ols_cluster_small_sample").astype({"Diet": str})
        self.printed = expected(reference, "ols_cluster_small_sample")["chickweight"]
        diets = Factor("Diet", ("1", "2", "3", "4"))
        self.fit = fitted(self.frame, "weight", Numeric("Time"), diets)
        self.weights = raw_line(self.fit, "Time")
        self.weights |= {f"Diet{diet}": {f"Diet = {diet}": 1.0} for diet in "234"}

    def found(self, kind: Any) -> dict[str, Estimate]:
        return {
            name: cluster_contrast(self.fit, weights, self.frame["Chick"], kind=kind)
            for name, weights in self.weights.items()
        }


@pytest.fixture
def chicks(reference: Path) -> Chicks:
    return Chicks(reference)


def test_adjusted_errors_are_those_of_clubsandwich(chicks: Chicks) -> None:
    printed = chicks.printed["CR2"]["se"]
    assert agreeing_digits(errors(chicks.found("cr2")), printed.values()) > DIGITS


def test_degrees_of_freedom_are_those_of_clubsandwich(chicks: Chicks) -> None:
    printed = chicks.printed["CR2"]["df_Satt"]
    found = [each.df for each in chicks.found("cr2").values()]
    assert agreeing_digits(found, printed.values()) > DIGITS


def test_p_values_are_those_of_clubsandwich(chicks: Chicks) -> None:
    printed = chicks.printed["CR2"]["p_Satt"]
    found = [each.p_value for each in chicks.found("cr2").values()]
    assert agreeing_digits(found, printed.values()) > DIGITS


def test_corrected_errors_are_those_of_sandwich(chicks: Chicks) -> None:
    printed = chicks.printed["CL_HC1"]
    assert agreeing_digits(errors(chicks.found("cr1")), printed.values()) > DIGITS


def test_corrected_errors_go_with_groups_less_one(chicks: Chicks) -> None:
    assert {each.df for each in chicks.found("cr1").values()} == {49.0}


def test_the_matrix_holds_the_errors_of_the_contrasts(chicks: Chicks) -> None:
    cov = cluster_cov(chicks.fit, chicks.frame["Chick"])
    for name, each in chicks.found("cr2").items():
        row = np.zeros(len(chicks.fit.names))
        for column, weight in chicks.weights[name].items():
            row[chicks.fit.names.index(column)] = weight
        assert np.sqrt(row @ cov @ row) == pytest.approx(each.std_error, rel=1e-11)


def test_a_balanced_layout_agrees_with_clubsandwich(reference: Path) -> None:
    # Belenky et al. (2003): 18 subjects, 10 days each.
    frame = data(reference, "ols_cluster_small_sample", "sleepstudy.csv")
    printed = expected(reference, "ols_cluster_small_sample")["sleepstudy"]
    fit = fitted(frame, "Reaction", Numeric("Days"))
    for kind, key in (("cr2", "CR2"), ("cr1", "CR1S")):
        found = {
            name: cluster_contrast(fit, weights, frame["Subject"], kind=kind)  # type: ignore[arg-type]
            for name, weights in raw_line(fit, "Days").items()
        }
        assert agreeing_digits(errors(found), printed[key]["se"].values()) > DIGITS
        assert [each.df for each in found.values()] == pytest.approx([17, 17], rel=1e-9)


@pytest.mark.parametrize(
    ("groups", "crossed", "key"),
    [
        ("firm", None, "se_CL_firm_HC1"),
        ("year", None, "se_CL_year_HC1"),
        ("firm", "year", "se_CL_two_way_HC1"),
    ],
)
def test_one_and_two_ways_of_grouping_agree_with_sandwich(
    reference: Path, groups: str, crossed: str | None, key: str
) -> None:
    # Petersen (2009), Rev. Financ. Stud. 22, 435: 500 firms over 10 years.
    frame = data(reference, "ols_cluster_se_petersen")
    printed = expected(reference, "ols_cluster_se_petersen")
    fit = fitted(frame, "y", Numeric("x"))
    second = None if crossed is None else frame[crossed]
    found = {
        name: cluster_contrast(fit, weights, frame[groups], kind="cr1", crossed=second)
        for name, weights in raw_line(fit, "x").items()
    }
    estimates = [each.estimate for each in found.values()]
    assert agreeing_digits(estimates, printed["coef"].values()) > DIGITS
    assert agreeing_digits(errors(found), printed[key].values()) > DIGITS


def schools(reference: Path) -> tuple[LinearFit, dict[str, Weights]]:
    """Return the fit of 50 states (Greene 1993) on income, and weights of raw powers."""
    frame = data(reference, "ols_robust_se_publicschools").dropna().reset_index(drop=True)
    fit = fitted(frame, "Expenditure", Numeric("Income", power=2))
    assert fit.design is not None
    term = fit.design.term("Income")
    assert isinstance(term, Numeric)
    middle, reach = term.middle, term.reach
    weights = {
        "slope": {"Income": 1 / reach, "Income²": -2 * middle / reach**2},
        "bend": {"Income²": 1 / reach**2},
    }
    return fit, weights


@pytest.mark.parametrize(("kind", "key"), [("cr1", "se_HC1"), ("cr2", "se_HC2")])
def test_groups_of_one_row_give_the_errors_of_rows(reference: Path, kind: Any, key: str) -> None:
    # R sandwich 3.0-2: vcovHC of types HC1 and HC2.
    fit, weights = schools(reference)
    printed = list(expected(reference, "ols_robust_se_publicschools")[key].values())[1:]
    found = [
        cluster_contrast(fit, each, np.arange(fit.n_rows), kind=kind).std_error
        for each in weights.values()
    ]
    assert agreeing_digits(found, printed) > DIGITS


def several_days(seed: int = 3) -> pd.DataFrame:
    rng = np.random.default_rng(seed)
    day = np.repeat(list("abcdef"), [3, 4, 5, 3, 6, 3])
    lift = rng.normal(size=6)[np.unique(day, return_inverse=True)[1]]
    grind = rng.integers(8, 12, len(day)).astype(float)
    return pd.DataFrame({"day": day, "grind": grind, "y": grind + lift + rng.normal(size=24)})


def test_taking_group_means_off_changes_nothing_for_slopes() -> None:
    # Pustejovsky and Tipton (2018), theorem 2.
    frame = several_days()
    with_blocks = fitted(frame, "y", Numeric("grind"), Blocks("day"))
    swept = frame[["grind", "y"]] - frame.groupby("day")[["grind", "y"]].transform("mean")
    alone = fitted(swept, "y", Numeric("grind"))
    assert with_blocks.design is not None
    assert alone.design is not None
    found = [
        cluster_contrast(each, raw_line(each, "grind")["grind"], frame["day"])
        for each in (with_blocks, alone)
    ]
    assert found[0].estimate == pytest.approx(found[1].estimate, rel=1e-10)
    assert found[0].std_error == pytest.approx(found[1].std_error, rel=1e-10)
    assert found[0].df == pytest.approx(found[1].df, rel=1e-10)


def test_a_quantity_that_hangs_on_one_group_has_no_error() -> None:
    frame = several_days()
    fit = fitted(frame, "y", Numeric("grind"), Blocks("day"))
    hanging = cluster_contrast(fit, [0, 0, 1, 0, 0, 0, 0], frame["day"])
    assert np.isnan(hanging.std_error)
    assert np.isnan(hanging.ci_low)
    assert np.isfinite(hanging.estimate)


def test_the_order_of_rows_does_not_matter() -> None:
    frame = several_days()
    mixed = frame.sample(frac=1, random_state=4)
    first, second = (
        cluster_contrast(fitted(each, "y", Numeric("grind")), {"grind": 1.0}, each["day"])
        for each in (frame, mixed)
    )
    assert second.std_error == pytest.approx(first.std_error, rel=1e-11)
    assert second.df == pytest.approx(first.df, rel=1e-11)


def test_estimate_and_row_robust_twin_are_those_of_the_fit() -> None:
    frame = several_days()
    fit = fitted(frame, "y", Numeric("grind"))
    plain = contrast(fit, {"grind": 1.0})
    found = cluster_contrast(fit, {"grind": 1.0}, frame["day"])
    assert found.estimate == plain.estimate
    assert found.hc3_std_error == plain.hc3_std_error


def test_intervals_cover_where_days_differ_and_a_column_holds_for_a_day() -> None:
    """Six days of four rows, one setting a day: 600 logs, four binomial standard errors."""
    rng = np.random.default_rng(11)
    day = np.repeat(np.arange(6), 4)
    setting = np.array([8.0, 9.0, 10.0, 8.0, 9.0, 10.0])[day]
    design = build_design(pd.DataFrame({"setting": setting}), [Numeric("setting")])
    covered = 0
    for _ in range(600):
        response = rng.normal(size=6)[day] + rng.normal(size=24)
        found = cluster_contrast(fit_least_squares(design, response), {"setting": 1.0}, day)
        covered += found.ci_low <= 0 <= found.ci_high
    assert covered / 600 == pytest.approx(0.95, abs=4 * np.sqrt(0.95 * 0.05 / 600))


def test_a_single_group_is_refused() -> None:
    frame = several_days()
    fit = fitted(frame, "y", Numeric("grind"))
    with pytest.raises(TooFewShotsError, match="1 of at least 2 groups"):
        cluster_contrast(fit, {"grind": 1.0}, ["a"] * 24)


def test_a_missing_label_is_refused_with_its_row() -> None:
    frame = several_days()
    fit = fitted(frame, "y", Numeric("grind"))
    labels = frame["day"].mask(frame.index == 5)
    with pytest.raises(OutOfRangeError, match="1 of 24 rows have none, first row 5"):
        cluster_contrast(fit, {"grind": 1.0}, labels)


def test_labels_of_other_rows_are_refused() -> None:
    frame = several_days()
    fit = fitted(frame, "y", Numeric("grind"))
    for labels in (frame["day"].head(20), frame["day"].set_axis(range(1, 25))):
        with pytest.raises(MisalignedError, match="do not go with 24 rows"):
            cluster_contrast(fit, {"grind": 1.0}, labels)


def test_two_ways_are_refused_where_they_are_not_defined() -> None:
    frame = several_days()
    fit = fitted(frame, "y", Numeric("grind"))
    with pytest.raises(OutOfRangeError, match="'cr1' only"):
        cluster_contrast(fit, {"grind": 1.0}, frame["day"], crossed=frame["grind"])
    with pytest.raises(OutOfRangeError, match="'cr1' or 'cr2'"):
        cluster_cov(fit, frame["day"], kind="cr9")  # type: ignore[arg-type]


def test_a_plain_matrix_is_refused() -> None:
    matrix = np.column_stack([np.ones(5), np.arange(5.0)])
    fit = fit_least_squares(matrix, np.array([1.0, 2.0, 4.0, 3.0, 6.0]))
    with pytest.raises(RoleError, match="plain matrix"):
        cluster_cov(fit, list("aabbc"))
