"""Mixed models against R lme4, lmerTest and pbkrtest on open data.

R's optimiser stops at 6 to 8 digits of a variance, so digits are counted against the exact
optimum of the same likelihood, where its score vanishes; and R's own values are met too.
"""

from __future__ import annotations

from collections.abc import Iterable
from pathlib import Path

import numpy as np
import pytest

from tests.models.mixed_examples import (
    EXAMPLES,
    Example,
    cake,
    carrots,
    dyestuff2,
    ham,
    machines,
    penicillin,
    sleepstudy,
)
from tests.models.published import agreeing_digits
from yieldwright.models.mixed.contrasts import mixed_coefficients, mixed_contrast, mixed_test
from yieldwright.models.mixed.model import MixedFit
from yieldwright.models.mixed.modes import conditional_modes
from yieldwright.models.mixed.variances import variance_table

METHODS = ["REML", "ML"]
INSIDE = [name for name in EXAMPLES if name != "dyestuff2"]
ADJUSTED = [name for name in INSIDE if name != "carrots"]


def variances(fit: MixedFit) -> list[float]:
    """Return variances, then covariances, grouping by grouping, that of the rows last."""
    figures: list[float] = []
    for groups in fit.groupings:
        cov = fit.covariances[groups.name]
        figures += np.diag(cov).tolist()
        figures += [float(cov[0, 1])] if len(groups.basis) == 3 else []
    return [*figures, fit.sigma**2]


def digits(found: Iterable[float], published: dict[str, float]) -> float:
    return agreeing_digits(found, published.values())


@pytest.mark.parametrize("method", METHODS)
@pytest.mark.parametrize("name", EXAMPLES)
def test_coefficients(reference: Path, name: str, method: str) -> None:
    example = EXAMPLES[name](reference)
    fit = example.fit(method)
    assert digits(fit.params, example.exact[method]["fixef"]) >= 10
    assert digits(fit.params, example.lme4[method]["fixef"]) >= 7


@pytest.mark.parametrize("method", METHODS)
@pytest.mark.parametrize("name", EXAMPLES)
def test_standard_errors(reference: Path, name: str, method: str) -> None:
    example = EXAMPLES[name](reference)
    fit = example.fit(method)
    assert digits(fit.std_error, example.exact[method]["se"]) >= 9
    assert digits(fit.std_error, example.lme4[method]["se"]) >= 6


@pytest.mark.parametrize("method", METHODS)
@pytest.mark.parametrize("name", INSIDE)
def test_variances(reference: Path, name: str, method: str) -> None:
    example = EXAMPLES[name](reference)
    fit = example.fit(method)
    assert digits(variances(fit), example.exact[method]["var"]) >= 9
    assert not any(fit.at_edge.values())


@pytest.mark.parametrize("method", METHODS)
@pytest.mark.parametrize("name", EXAMPLES)
def test_log_likelihoods(reference: Path, name: str, method: str) -> None:
    example = EXAMPLES[name](reference)
    fit, lme4 = example.fit(method), example.lme4[method]
    assert digits([fit.log_likelihood], {"": example.exact[method]["logLik"]}) >= 12
    assert fit.log_likelihood == pytest.approx(lme4["logLik"], rel=1e-10)
    assert fit.aic == pytest.approx(lme4["AIC"], rel=1e-10)


@pytest.mark.parametrize("name", EXAMPLES)
def test_bayesian_criterion(reference: Path, name: str) -> None:
    example = EXAMPLES[name](reference)
    assert example.fit("ML").bic == pytest.approx(example.lme4["ML"]["BIC"], rel=1e-10)


@pytest.mark.parametrize("name", INSIDE)
def test_satterthwaite_degrees_of_freedom(reference: Path, name: str) -> None:
    example = EXAMPLES[name](reference)
    fit = example.fit()
    assert digits(fit.df, example.exact["satterthwaite_df"]) >= 9
    assert digits(fit.df, example.lme4["satterthwaite"]["df"]) >= 6


@pytest.mark.parametrize("name", INSIDE)
def test_tests_of_coefficients(reference: Path, name: str) -> None:
    # R lmerTest prints t and p at its own optimum, good to 6 digits of a variance.
    example = EXAMPLES[name](reference)
    table, printed = mixed_coefficients(example.fit()), example.lme4["satterthwaite"]
    assert table["statistic"].tolist() == pytest.approx(list(printed["t"].values()), rel=1e-6)
    assert table["p_value"].tolist() == pytest.approx(list(printed["p"].values()), rel=1e-4)


@pytest.mark.parametrize("name", ADJUSTED)
def test_kenward_roger(reference: Path, name: str) -> None:
    example = EXAMPLES[name](reference)
    table = mixed_coefficients(example.fit(), df="kenward_roger")
    assert digits(table["std_error"], example.exact["kenward_roger_se"]) >= 9
    assert digits(table["df"], example.exact["kenward_roger_df"]) >= 9


def test_a_variance_at_the_edge_is_exactly_zero(reference: Path) -> None:
    # Dyestuff2, Box and Tiao (1973), section 5.1.2: R lme4 gives 0 as well.
    example = dyestuff2(reference)
    fit = example.fit()
    assert fit.covariances["Batch"].tolist() == [[0.0]]
    assert fit.at_edge == {"Batch": True}
    assert fit.sigma**2 == pytest.approx(example.lme4["REML"]["var"]["Residual "], rel=1e-12)


def test_degrees_of_freedom_at_the_edge_are_those_of_the_rows(reference: Path) -> None:
    example = dyestuff2(reference)
    printed = example.lme4["satterthwaite"]["df"]["(Intercept)"]
    assert example.fit().df[0] == pytest.approx(printed, rel=1e-9)


def rows(example: Example, *names: str) -> np.ndarray:
    return np.eye(len(example.names))[[example.names.index(name) for name in names]]


def test_joint_test_in_the_basis_of_lmertest(reference: Path) -> None:
    # Rows (0, 1, −0.6) and (0, 0, 1) are what lmerTest's anova of type III tests.
    example = machines(reference)
    test = mixed_test(example.fit(), [[0, 1, -0.6], [0, 0, 1]])
    printed = example.exact["anova"]["satterthwaite"]
    assert [test.statistic, test.df_error, test.p_value] == pytest.approx(
        [printed["F"], printed["DenDF"], printed["p"]], rel=1e-9
    )


def test_joint_test_in_the_plain_basis(reference: Path) -> None:
    # lmerTest contestMD, at R's own optimum: the denominator depends a little on how the
    # contrasts are written, F does not.
    example = machines(reference)
    test = mixed_test(example.fit(), rows(example, "MachineB", "MachineC"))
    assert test.df_error == pytest.approx(10.1119871384, rel=1e-7)
    assert test.statistic == pytest.approx(example.exact["anova"]["satterthwaite"]["F"], rel=1e-9)


def test_joint_test_by_kenward_and_roger(reference: Path) -> None:
    example = machines(reference)
    contrasts = rows(example, "MachineB", "MachineC")
    test = mixed_test(example.fit(), contrasts, df="kenward_roger")
    printed = example.exact["anova"]["kenward_roger"]
    assert [test.statistic, test.df_error] == pytest.approx(
        [printed["F"], printed["ddf"]], rel=1e-9
    )


@pytest.mark.parametrize("df", ["satterthwaite", "kenward_roger"])
def test_joint_test_of_a_split_plot(reference: Path, df: str) -> None:
    example = cake(reference, "main")
    test = mixed_test(example.fit(), rows(example, "recipeB", "recipeC"), df=df)
    printed = example.exact["anova_recipe"][df]
    assert [test.statistic, test.df_error] == pytest.approx(
        [printed["F"], printed["DenDF"]], rel=1e-9
    )


def test_joint_test_of_an_interaction(reference: Path) -> None:
    # R lmerTest anova, six digits of its optimum; its own df is off 560 by 3e-8.
    example = ham(reference, "ham")
    both = [name for name in example.names if ":" in name]
    test = mixed_test(example.fit(), rows(example, *both))
    printed = example.lme4["anova_satterthwaite"]["Product:Information"]
    assert [test.statistic, test.df_error, test.p_value] == pytest.approx(
        [printed["F"], printed["DenDF"], printed["p"]], rel=1e-7
    )


def test_single_contrast_of_crossed_groups(reference: Path) -> None:
    # R lmerTest anova of sens2: F is the square of t.
    example = carrots(reference)
    slope = mixed_contrast(example.fit(), {"sens2": 1.0})
    printed = example.lme4["anova_satterthwaite"]["sens2"]
    assert slope.statistic**2 == pytest.approx(printed["F"], rel=1e-6)
    assert slope.df == pytest.approx(printed["DenDF"], rel=1e-5)


def test_conditional_modes_of_crossed_groups(reference: Path) -> None:
    example = penicillin(reference)
    modes = conditional_modes(example.fit()).set_index(["group", "level"])["mode"]
    for group, printed in example.exact["blup_REML"].items():
        assert modes[group][list(printed)].tolist() == pytest.approx(
            list(printed.values()), rel=1e-9
        )


def test_conditional_modes_of_slopes(reference: Path) -> None:
    # R lme4 ranef, at its own optimum: 5 digits of the smallest mode.
    example = sleepstudy(reference, "correlated")
    modes = conditional_modes(example.fit())
    printed = example.lme4["ranef_REML"]["Subject"]
    found = modes.pivot_table(index="level", columns="term", values="mode")
    for level, figures in printed.items():
        assert found.loc[int(level), "Days"] == pytest.approx(figures["Days"], rel=1e-5)
        shift = found.loc[int(level), "(intercept)"]
        assert shift == pytest.approx(figures["(Intercept)"], rel=1e-5)


def test_profile_intervals_of_slopes(reference: Path) -> None:
    # Profile limits by ML as the authors of lme4 print them for this fit (Bates, Maechler,
    # Bolker and Walker 2015, J. Stat. Softw. 67(1)), cited from memory; theirs are read off
    # splines: four digits.
    table = variance_table(sleepstudy(reference, "correlated").fit("ML"))
    limits = table[["ci_low", "ci_high"]].to_numpy().ravel()
    printed = [14.381, 37.716, 3.801, 8.753, -0.4815, 0.6850, 22.898, 28.858]
    assert limits == pytest.approx(printed, rel=2e-4)
