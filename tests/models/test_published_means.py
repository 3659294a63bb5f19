"""Adjusted means, differences, joint tests and Holm, against R emmeans 1.8.4."""

from __future__ import annotations

from collections.abc import Iterable
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd
import pytest

from tests.models.published import column, data, expected, products
from yieldwright.models.contrasts.contrasts import Estimate, contrast, estimate_table
from yieldwright.models.contrasts.effects import step_effects
from yieldwright.models.contrasts.means import (
    adjusted_means,
    joint_test,
    mean_at,
    pairwise_differences,
)
from yieldwright.models.linear.model import LinearFit, fit_least_squares
from yieldwright.models.terms.design import build_design
from yieldwright.models.terms.terms import Factor, Numeric

#: Name in the print, attribute of ours, relative tolerance stated with the figures.
FIGURES = [
    ("SE", "std_error", 1e-8),
    ("df", "df", 0),
    ("lower.CL", "ci_low", 1e-8),
    ("upper.CL", "ci_high", 1e-8),
    ("t.ratio", "statistic", 1e-8),
    ("p.value", "p_value", 1e-7),
]

MEANS = [("emmean", "estimate", 1e-9), *FIGURES]


def attributes(estimates: Iterable[Estimate], name: str) -> list[Any]:
    return [getattr(each, name) for each in estimates]


def fibre(reference: Path) -> LinearFit:
    """Strength of fibre on machine and diameter, 15 rows (Montgomery)."""
    frame = data(reference, "emmeans_fiber")
    terms = [Numeric("diameter"), Factor("machine", ("A", "B", "C"))]
    return fit_least_squares(build_design(frame, terms), frame["strength"])


def fibre_figures(reference: Path) -> dict[str, Any]:
    return expected(reference, "emmeans_fiber")["additive"]


@pytest.mark.parametrize(("printed", "ours", "tolerance"), MEANS)
def test_adjusted_means(reference: Path, printed: str, ours: str, tolerance: float) -> None:
    target = column(fibre_figures(reference)["emmeans"], printed)
    found = attributes(adjusted_means(fibre(reference), "machine"), ours)
    assert found == pytest.approx(target, rel=tolerance)


def test_adjusted_means_are_named_by_their_level(reference: Path) -> None:
    found = attributes(adjusted_means(fibre(reference), "machine"), "term")
    assert found == column(fibre_figures(reference)["emmeans"], "machine")


@pytest.mark.parametrize(("ours", "printed"), [("std_error", "SE"), ("p_value", "p.value")])
def test_pairwise_errors(reference: Path, ours: str, printed: str) -> None:
    target = column(fibre_figures(reference)["pairs_none"], printed)
    found = attributes(pairwise_differences(fibre(reference), "machine"), ours)
    assert found == pytest.approx(target, rel=1e-7)


def test_pairwise_differences_are_later_less_earlier(reference: Path) -> None:
    # emmeans prints A - B; ours reads "B − A", so the sign turns.
    target = column(fibre_figures(reference)["pairs_none"], "estimate")
    found = pairwise_differences(fibre(reference), "machine")
    assert attributes(found, "term") == ["B − A", "C − A", "C − B"]
    assert [-value for value in attributes(found, "estimate")] == pytest.approx(target, rel=1e-9)


def test_pairwise_limits(reference: Path) -> None:
    printed = fibre_figures(reference)["pairs_none"]
    found = pairwise_differences(fibre(reference), "machine")
    assert [-v for v in attributes(found, "ci_high")] == pytest.approx(column(printed, "lower.CL"))
    assert [-v for v in attributes(found, "ci_low")] == pytest.approx(column(printed, "upper.CL"))


def test_holm_of_the_pairs(reference: Path) -> None:
    target = column(fibre_figures(reference)["pairs_holm"], "p.value")
    table = estimate_table(pairwise_differences(fibre(reference), "machine"))
    assert table["p_holm"].tolist() == pytest.approx(target, rel=1e-7)


@pytest.mark.parametrize(("row", "term"), [(0, "diameter"), (1, "machine")])
def test_joint_tests_are_those_of_type_two(reference: Path, row: int, term: str) -> None:
    printed = fibre_figures(reference)["type2"]
    found = joint_test(fibre(reference), term)
    assert [found.df_term, found.df_resid] == [printed["Df"][row], printed["Df"][2]]
    assert found.statistic == pytest.approx(printed["F"][row], rel=1e-9)
    assert found.p_value == pytest.approx(printed["p"][row], rel=1e-7)


def test_the_slope_of_the_covariate(reference: Path) -> None:
    printed = fibre_figures(reference)["coef"]["diameter"]
    assert step_effects(fibre(reference), "diameter")[0].estimate == pytest.approx(printed)


@pytest.mark.parametrize(("reference_level", "step"), [("A", 1.0), ("B", -2.0), ("C", 0.5)])
def test_adjusted_means_do_not_depend_on_the_coding(
    reference: Path, reference_level: str, step: float
) -> None:
    frame = data(reference, "emmeans_fiber")
    terms = [Numeric("diameter", step=step), Factor("machine", reference=reference_level)]
    fit = fit_least_squares(build_design(frame, terms), frame["strength"])
    target = column(fibre_figures(reference)["emmeans"], "emmean")
    assert attributes(adjusted_means(fit, "machine"), "estimate") == pytest.approx(
        target, rel=1e-9
    )


def test_the_mean_at_the_average_covariate_is_the_adjusted_mean(reference: Path) -> None:
    figures = fibre_figures(reference)
    at = {"machine": "B", "diameter": figures["mean_diameter"]}
    assert mean_at(fibre(reference), at).estimate == pytest.approx(figures["emmeans"][1]["emmean"])


def cars(reference: Path) -> LinearFit:
    """Fuel use on cylinders × weight and gearbox, 32 cars; products supplied as columns."""
    frame = data(reference, "emmeans_mtcars")
    frame = frame.assign(cyl6=(frame["cyl"] == 6) * 1.0, cyl8=(frame["cyl"] == 8) * 1.0)
    frame = products(frame, ("cyl6", "wt"), ("cyl8", "wt"))
    names = ["cyl6", "cyl8", "wt", "am", "cyl6:wt", "cyl8:wt"]
    matrix = np.column_stack([np.ones(len(frame)), *(frame[name] for name in names)])
    return fit_least_squares(matrix, frame["mpg"], names=["(Intercept)", *names])


def cars_row(cylinders: int, weight: float) -> dict[str, float]:
    """Return the weights of a mean over both gearboxes."""
    six, eight = float(cylinders == 6), float(cylinders == 8)
    return {
        "(Intercept)": 1.0,
        "cyl6": six,
        "cyl8": eight,
        "wt": weight,
        "am": 0.5,
        "cyl6:wt": six * weight,
        "cyl8:wt": eight * weight,
    }


@pytest.mark.parametrize(("printed", "ours", "tolerance"), MEANS)
def test_means_of_an_unbalanced_interaction(
    reference: Path, printed: str, ours: str, tolerance: float
) -> None:
    figures, fit = expected(reference, "emmeans_mtcars"), cars(reference)
    rows = [cars_row(cylinders, figures["mean_wt"]) for cylinders in (4, 6, 8)]
    found = attributes([contrast(fit, row) for row in rows], ours)
    assert found == pytest.approx(column(figures["emm_cyl"], printed), rel=tolerance)


def test_holm_of_an_unbalanced_interaction(reference: Path) -> None:
    figures, fit = expected(reference, "emmeans_mtcars"), cars(reference)
    rows = {c: cars_row(c, figures["mean_wt"]) for c in (4, 6, 8)}
    pairs = [(4, 6), (4, 8), (6, 8)]
    weights = [{name: rows[a][name] - rows[b][name] for name in rows[a]} for a, b in pairs]
    table = estimate_table([contrast(fit, each) for each in weights])
    assert table["p_holm"].tolist() == pytest.approx(
        column(figures["pairs_holm"], "p.value"), rel=1e-7
    )


def test_slopes_of_an_unbalanced_interaction(reference: Path) -> None:
    fit, printed = cars(reference), expected(reference, "emmeans_mtcars")["trends"]
    weights = [{"wt": 1.0}, {"wt": 1.0, "cyl6:wt": 1.0}, {"wt": 1.0, "cyl8:wt": 1.0}]
    found = [contrast(fit, each) for each in weights]
    assert attributes(found, "estimate") == pytest.approx(column(printed, "wt.trend"), rel=1e-9)
    assert attributes(found, "std_error") == pytest.approx(column(printed, "SE"), rel=1e-8)


def looms(reference: Path) -> LinearFit:
    """Log breaks of yarn in the six cells of wool × tension (Tukey 1977)."""
    frame = data(reference, "emmeans_warpbreaks")
    cells = [f"{wool}{tension}" for wool in "AB" for tension in "LMH"]
    frame = frame.assign(cell=frame["wool"] + frame["tension"])
    return fit_least_squares(
        build_design(frame, [Factor("cell", tuple(cells))]), np.log(frame["breaks"])
    )


@pytest.mark.parametrize(("printed", "ours", "tolerance"), MEANS)
def test_cell_means(reference: Path, printed: str, ours: str, tolerance: float) -> None:
    target = column(expected(reference, "emmeans_warpbreaks")["emm_tension_by_wool"], printed)
    found = attributes(adjusted_means(looms(reference), "cell"), ours)
    assert found == pytest.approx(target, rel=tolerance)


def test_means_over_cells(reference: Path) -> None:
    fit, printed = looms(reference), expected(reference, "emmeans_warpbreaks")["emm_tension"]
    assert fit.design is not None
    rows = {level: fit.design.row({"cell": level}) for level in fit.design.terms[0].levels}
    found = [contrast(fit, (rows[f"A{t}"] + rows[f"B{t}"]) / 2) for t in "LMH"]
    assert attributes(found, "estimate") == pytest.approx(column(printed, "emmean"), rel=1e-9)
    assert attributes(found, "std_error") == pytest.approx(column(printed, "SE"), rel=1e-8)


def test_one_way_differences(reference: Path) -> None:
    # Chick weights on feed (R 4.2.2, TukeyHSD: differences; aov: F and p).
    frame, figures = data(reference, "multcomp_chickwts"), expected(reference, "multcomp_chickwts")
    fit = fit_least_squares(build_design(frame, [Factor("feed")]), frame["weight"])
    found = {each.term: each.estimate for each in pairwise_differences(fit, "feed")}
    printed = {name.replace("-", " − "): each["diff"] for name, each in figures["tukey"].items()}
    assert found == pytest.approx(printed, rel=1e-10)
    assert fit.f_statistic == pytest.approx(figures["anova"]["F"], rel=1e-9)
    assert fit.f_p_value == pytest.approx(figures["anova"]["p"], rel=1e-6)


def test_a_balanced_factor_has_its_plain_means() -> None:
    frame = pd.DataFrame({"band": list("aabb"), "y": [1.0, 2.0, 5.0, 9.0]})
    fit = fit_least_squares(build_design(frame, [Factor("band")]), frame["y"])
    assert attributes(adjusted_means(fit, "band"), "estimate") == pytest.approx([1.5, 7.0])
