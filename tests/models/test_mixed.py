"""What a mixed model must do whatever the data: identities, exact algebra, invariance."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from scipy import optimize, special

from yieldwright.models.linear.model import fit_least_squares
from yieldwright.models.mixed._kenward_roger import _matched
from yieldwright.models.mixed.contrasts import mixed_coefficients, mixed_test, satterthwaite_df
from yieldwright.models.mixed.groups import Grouping, grouping
from yieldwright.models.mixed.model import MixedFit, fit_mixed
from yieldwright.models.mixed.modes import conditional_modes
from yieldwright.models.mixed.variances import variance_table
from yieldwright.models.terms.design import build_design
from yieldwright.models.terms.terms import Factor, Numeric

#: Each example is one or two whole fits.
few = settings(max_examples=25)
seeds = st.integers(0, 2**32 - 1)
methods = st.sampled_from(["reml", "ml"])


def tasted(seed: int, n: int = 40) -> pd.DataFrame:
    """Return scores of crossed tasters and sessions, with a setting tried in most of them."""
    rng = np.random.default_rng(seed)
    taster, session = rng.integers(0, 5, n), np.arange(n) % 8
    grind = rng.uniform(8, 14, n)
    lifts = rng.normal(0, 1, 5)[taster] + rng.normal(0, 0.7, 8)[session]
    return pd.DataFrame(
        {
            "taster": [f"t{k}" for k in taster],
            "session": session,
            "grind": grind,
            "band": rng.choice(["low", "high"], n),
            "score": 6 + 0.2 * grind + lifts + rng.normal(0, 0.8, n),
        }
    )


def matrix_of(frame: pd.DataFrame) -> np.ndarray:
    return np.column_stack([np.ones(len(frame)), frame["grind"], frame["band"] == "low"])


def both(frame: pd.DataFrame) -> list[Grouping]:
    return [grouping(frame, "taster"), grouping(frame, "session")]


def fit(frame: pd.DataFrame, method: str = "reml") -> MixedFit:
    return fit_mixed(matrix_of(frame), frame["score"], both(frame), method=method)


def figures(fitted: MixedFit) -> list[float]:
    """Return all that should not change where nothing of substance does."""
    spreads = [float(cov[0, 0]) for _, cov in sorted(fitted.covariances.items())]
    return [*fitted.params, *fitted.std_error, *fitted.df, *spreads, fitted.sigma]


def covariance(fitted: MixedFit) -> np.ndarray:
    """Return the covariance of the rows, written out."""
    total = fitted.sigma**2 * np.eye(fitted.n_rows)
    for groups in fitted.groupings:
        shift = np.eye(len(groups.levels))[groups.codes]
        parts = [shift] if groups.slope is None else [shift, shift * groups.slope[:, np.newaxis]]
        cov = fitted.covariances[groups.name]
        for i, one in enumerate(parts):
            for j, two in enumerate(parts):
                total = total + cov[i, j] * one @ two.T
    return total


def dense_deviance(
    matrix: np.ndarray, response: np.ndarray, total: np.ndarray, method: str
) -> float:
    """Return −2 log-likelihood from the covariance of the rows, by the textbook."""
    inverse = np.linalg.inv(total)
    information = matrix.T @ inverse @ matrix
    left = response - matrix @ np.linalg.solve(information, matrix.T @ inverse @ response)
    n_free = len(response) - (matrix.shape[1] if method == "reml" else 0)
    volume = np.linalg.slogdet(information).logabsdet if method == "reml" else 0.0
    return float(
        np.linalg.slogdet(total).logabsdet
        + volume
        + left @ inverse @ left
        + n_free * np.log(2 * np.pi)
    )


@few
@given(seed=seeds, method=methods)
def test_deviance_is_that_of_the_covariance_written_out(seed: int, method: str) -> None:
    frame = tasted(seed)
    fitted = fit(frame, method)
    dense = dense_deviance(matrix_of(frame), frame["score"].to_numpy(), covariance(fitted), method)
    assert fitted.deviance == pytest.approx(dense, rel=1e-10)


@few
@given(seed=seeds, method=methods)
def test_coefficients_are_generalised_least_squares(seed: int, method: str) -> None:
    frame = tasted(seed)
    fitted, matrix = fit(frame, method), matrix_of(frame)
    weighted = np.linalg.solve(covariance(fitted), matrix).T
    cov = np.linalg.inv(weighted @ matrix)
    assert fitted.params == pytest.approx(cov @ weighted @ frame["score"].to_numpy(), rel=1e-8)
    assert fitted.cov.ravel() == pytest.approx(cov.ravel(), rel=1e-7, abs=1e-12)


@few
@given(seed=seeds, method=methods, factor=st.sampled_from([0.9, 0.99, 1.01, 1.1]))
def test_no_other_variances_are_likelier(seed: int, method: str, factor: float) -> None:
    frame = tasted(seed)
    fitted, matrix = fit(frame, method), matrix_of(frame)
    response, total = frame["score"].to_numpy(), covariance(fitted)
    for groups in fitted.groupings:
        same = groups.codes[:, np.newaxis] == groups.codes
        change = (factor - 1) * fitted.covariances[groups.name][0, 0] + (factor > 1) * 1e-3
        other = dense_deviance(matrix, response, total + change * same, method)
        assert other >= fitted.deviance - 1e-9


@few
@given(seed=seeds, method=methods)
def test_a_slope_that_differs_by_group_is_in_the_covariance(seed: int, method: str) -> None:
    frame = tasted(seed, 60)
    groups = [grouping(frame, "taster", slope="grind"), grouping(frame, "session")]
    fitted = fit_mixed(matrix_of(frame), frame["score"], groups, method=method)
    dense = dense_deviance(matrix_of(frame), frame["score"].to_numpy(), covariance(fitted), method)
    assert fitted.deviance == pytest.approx(dense, rel=1e-9)


@few
@given(seed=seeds, factor=st.floats(1e-3, 1e3), shift=st.floats(-1e3, 1e3))
def test_another_scale_of_the_response(seed: int, factor: float, shift: float) -> None:
    frame = tasted(seed)
    before = fit(frame)
    after = fit(frame.assign(score=frame["score"] * factor + shift))
    assert after.params[1:] == pytest.approx(before.params[1:] * factor, rel=1e-7)
    assert after.params[0] == pytest.approx(before.params[0] * factor + shift, rel=1e-7, abs=1e-6)
    assert after.sigma == pytest.approx(before.sigma * factor, rel=1e-7)
    assert after.df == pytest.approx(before.df, rel=1e-6)


@few
@given(seed=seeds, factor=st.floats(1e-3, 1e3), shift=st.floats(-1e3, 1e3))
def test_another_scale_of_a_column(seed: int, factor: float, shift: float) -> None:
    frame = tasted(seed)
    before = fit(frame)
    after = fit(frame.assign(grind=frame["grind"] * factor + shift))
    assert after.params[1] * factor == pytest.approx(before.params[1], rel=1e-6)
    assert after.std_error[1] * factor == pytest.approx(before.std_error[1], rel=1e-6)
    assert after.df[1] == pytest.approx(before.df[1], rel=1e-6)
    assert after.sigma == pytest.approx(before.sigma, rel=1e-8)


@few
@given(seed=seeds)
def test_rows_in_another_order(seed: int) -> None:
    frame = tasted(seed)
    mixed = frame.sample(frac=1, random_state=seed)
    assert figures(fit(mixed)) == pytest.approx(figures(fit(frame)), rel=1e-7, abs=1e-9)


@few
@given(seed=seeds)
def test_groups_with_other_names(seed: int) -> None:
    frame = tasted(seed)
    names = dict(zip(sorted(frame["taster"].unique()), ["Zoe", "é", "7", "", "t0"], strict=False))
    renamed = frame.assign(taster=frame["taster"].map(names))
    assert figures(fit(renamed)) == pytest.approx(figures(fit(frame)), rel=1e-7, abs=1e-9)


@few
@given(seed=seeds)
def test_groupings_in_another_order(seed: int) -> None:
    frame = tasted(seed)
    turned = fit_mixed(matrix_of(frame), frame["score"], both(frame)[::-1])
    assert figures(turned) == pytest.approx(figures(fit(frame)), rel=1e-7, abs=1e-9)


@few
@given(seed=seeds, shift=st.floats(-100, 100))
def test_where_the_slope_of_a_group_counts_from_does_not_matter(seed: int, shift: float) -> None:
    frame = tasted(seed, 60)
    moved = frame.assign(grind=frame["grind"] + shift)
    deviances = [
        fit_mixed(
            matrix_of(frame), frame["score"], [grouping(each, "taster", slope="grind")]
        ).deviance
        for each in (frame, moved)
    ]
    assert deviances[1] == pytest.approx(deviances[0], rel=1e-9)


def balanced(seed: int, groups: int = 6, each: int = 4) -> tuple[pd.DataFrame, float, float]:
    """Return a balanced one-way layout with its mean squares between and within."""
    rng = np.random.default_rng(seed)
    scores = rng.normal(0, 1.5, groups)[:, np.newaxis] + rng.normal(size=(groups, each))
    between = each * float(scores.mean(axis=1).var(ddof=1))
    within = float(scores.var(axis=1, ddof=1).mean())
    frame = pd.DataFrame({"day": np.repeat(np.arange(groups), each), "score": scores.ravel()})
    return frame, between, within


def one_way(frame: pd.DataFrame, method: str = "reml") -> MixedFit:
    ones = np.ones((len(frame), 1))
    return fit_mixed(ones, frame["score"], [grouping(frame, "day")], method=method)


@few
@given(seed=seeds)
def test_balanced_groups_give_the_estimates_of_the_analysis_of_variance(seed: int) -> None:
    # Searle, Casella and McCulloch (1992), section 4.8: REML equals ANOVA where both are ≥ 0.
    frame, between, within = balanced(seed)
    assume(between > 1.01 * within)
    fitted = one_way(frame)
    assert fitted.sigma**2 == pytest.approx(within, rel=1e-9)
    assert fitted.covariances["day"][0, 0] == pytest.approx((between - within) / 4, rel=1e-8)
    assert fitted.df[0] == pytest.approx(5, rel=1e-8)


@few
@given(seed=seeds)
def test_balanced_groups_by_plain_likelihood(seed: int) -> None:
    # Searle, Casella and McCulloch (1992), section 3.7: the sum of squares over groups.
    frame, between, within = balanced(seed)
    assume(between * 5 / 6 > 1.01 * within)
    fitted = one_way(frame, "ml")
    variance = (between * 5 / 6 - within) / 4
    assert fitted.covariances["day"][0, 0] == pytest.approx(variance, rel=1e-8)


@few
@given(seed=seeds)
def test_modes_of_balanced_groups_are_shrunken_means(seed: int) -> None:
    frame, between, within = balanced(seed)
    assume(between > 1.01 * within)
    modes = conditional_modes(one_way(frame))
    means = frame.groupby("day")["score"].mean()
    kept = 1 - within / between
    assert modes["mode"].tolist() == pytest.approx(
        (kept * (means - means.mean())).tolist(), rel=1e-7, abs=1e-9
    )
    spread = np.sqrt(kept * within / 4)
    assert modes["conditional_sd"].tolist() == pytest.approx([spread] * 6, rel=1e-7)


@few
@given(seed=seeds)
def test_groups_that_differ_less_than_their_rows_leave_plain_least_squares(seed: int) -> None:
    frame = tasted(seed)
    means = frame.groupby("session")["score"].transform("mean")
    alike = frame.assign(score=frame["score"] - means)
    matrix = np.column_stack([np.ones(len(frame)), np.tile([0.0, 1.0], len(frame) // 2)])
    fitted = fit_mixed(matrix, alike["score"], [grouping(alike, "session")])
    plain = fit_least_squares(matrix, alike["score"])
    assert fitted.covariances["session"].tolist() == [[0.0]]
    assert fitted.params == pytest.approx(plain.params, abs=1e-12)
    assert fitted.std_error == pytest.approx(plain.std_error, rel=1e-10)
    assert fitted.df == pytest.approx([plain.df_resid] * 2, rel=1e-8)


@few
@given(seed=seeds, tilted=st.booleans())
def test_a_variance_is_exactly_zero_or_well_above(seed: int, tilted: bool) -> None:
    frame = tasted(seed, 30).assign(score=np.random.default_rng(seed).normal(size=30))
    slope = "grind" if tilted else None
    groups = [
        grouping(frame, "taster", slope=slope, correlated=False),
        grouping(frame, "session"),
    ]
    fitted = fit_mixed(matrix_of(frame), frame["score"], groups)
    for name, cov in fitted.covariances.items():
        ratios = np.diag(cov) / fitted.sigma**2
        assert ((ratios == 0) | (ratios > 1e-9)).all()
        assert fitted.at_edge[name] == bool((ratios == 0).any())


def split_plot(seed: int) -> tuple[pd.DataFrame, dict[str, tuple[float, float]]]:
    """Return plots of three bands, each at four grinds, with F and df of both strata."""
    rng = np.random.default_rng(seed)
    plots, bands, grinds = 12, 3, 4
    band = np.arange(plots) % bands
    scores = rng.normal(0, 1, plots)[:, np.newaxis] + rng.normal(size=(plots, grinds))
    scores = scores + 0.5 * band[:, np.newaxis]
    rows = pd.DataFrame(
        {
            "plot": np.repeat(np.arange(plots), grinds),
            "band": np.repeat(band, grinds),
            "grind": np.tile(np.arange(grinds), plots),
            "score": scores.ravel(),
        }
    )
    of_plots, of_grinds = scores.mean(axis=1), scores.mean(axis=0)
    of_bands = np.array([of_plots[band == level].mean() for level in range(bands)])
    whole = grinds * np.sum((of_plots - of_bands[band]) ** 2) / (plots - bands)
    rest = scores - of_plots[:, np.newaxis] - of_grinds + scores.mean()
    split = np.sum(rest**2) / ((plots - 1) * (grinds - 1))
    between = plots * grinds / bands * of_bands.var() * bands / (bands - 1)
    inside = plots * of_grinds.var() * grinds / (grinds - 1)
    strata = {"band": (between / whole, 9.0), "grind": (inside / split, 33.0)}
    return rows, {**strata, "ratio": (whole / split, np.nan)}


@few
@given(seed=seeds, df=st.sampled_from(["satterthwaite", "kenward_roger"]))
def test_a_split_plot_gives_the_tests_of_its_strata(seed: int, df: str) -> None:
    # Cochran and Cox (1957), chapter 7: each stratum has a residual of its own.
    frame, strata = split_plot(seed)
    assume(strata["ratio"][0] > 1.05)
    design = build_design(frame, [Factor("band"), Factor("grind")])
    fitted = fit_mixed(design, frame["score"], [grouping(frame, "plot")])
    for column in ("band", "grind"):
        test = mixed_test(fitted, np.eye(len(fitted.names))[design.place(column)], df=df)
        assert (test.statistic, test.df_error) == pytest.approx(strata[column], rel=1e-7)


@few
@given(seed=seeds)
def test_a_joint_test_of_one_contrast_is_its_squared_t(seed: int) -> None:
    fitted = fit(tasted(seed))
    row = mixed_coefficients(fitted).iloc[1]
    test = mixed_test(fitted, [{"x1": 1.0}])
    assert test.statistic == pytest.approx(row["statistic"] ** 2, rel=1e-9)
    assert test.df_error == pytest.approx(row["df"], rel=1e-9)
    assert test.p_value == pytest.approx(row["p_value"], rel=1e-7, abs=1e-15)


@few
@given(seed=seeds)
def test_degrees_of_freedom_of_a_contrast_do_not_depend_on_its_size(seed: int) -> None:
    fitted = fit(tasted(seed))
    weights = np.array([1.0, -2.0, 0.5])
    assert satterthwaite_df(fitted, weights * 1e-3) == pytest.approx(
        satterthwaite_df(fitted, weights), rel=1e-9
    )


def test_degrees_of_freedom_of_no_contrast_at_all() -> None:
    assert np.isnan(satterthwaite_df(fit(tasted(1)), [0.0, 0.0, 0.0]))


def test_unlabelled_rows_and_a_design_give_one_fit() -> None:
    frame = tasted(3)
    design = build_design(frame, [Numeric("grind"), Factor("band")])
    by_design = fit_mixed(design, frame["score"], both(frame))
    by_matrix = fit_mixed(design.matrix, frame["score"].to_numpy(), both(frame))
    assert by_design.params.tolist() == by_matrix.params.tolist()
    assert by_design.names == ("(intercept)", "grind", "band = low")


def test_fitted_and_residuals_make_up_the_response() -> None:
    frame = tasted(4)
    groups = [grouping(frame, "taster", slope="grind"), grouping(frame, "session")]
    fitted = fit_mixed(matrix_of(frame), frame["score"], groups)
    modes = conditional_modes(fitted).set_index(["group", "level", "term"])["mode"]
    by_hand = [
        modes["taster", taster, "(intercept)"]
        + modes["taster", taster, "grind"] * grind
        + modes["session", session, "(intercept)"]
        for taster, session, grind in zip(
            frame["taster"], frame["session"], frame["grind"], strict=True
        )
    ]
    assert fitted.fitted - matrix_of(frame) @ fitted.params == pytest.approx(by_hand, abs=1e-10)
    assert fitted.fitted + fitted.residuals == pytest.approx(frame["score"].tolist(), rel=1e-12)


def test_a_design_that_holds_another_is_never_less_likely() -> None:
    frame = tasted(5)
    small = fit_mixed(matrix_of(frame)[:, :2], frame["score"], both(frame), method="ml")
    large = fit(frame, "ml")
    assert large.log_likelihood >= small.log_likelihood
    assert large.n_parameters == small.n_parameters + 1


def test_known_variances_are_found_again() -> None:
    # 400 groups of 10: the standard error of each variance is below 8 % of it.
    rng = np.random.default_rng(11)
    group = np.repeat(np.arange(400), 10)
    score = 3 + rng.normal(0, 1.2, 400)[group] + rng.normal(0, 0.8, 4000)
    fitted = one_way(pd.DataFrame({"day": group, "score": score}))
    assert fitted.covariances["day"][0, 0] == pytest.approx(1.44, rel=0.24)
    assert fitted.sigma**2 == pytest.approx(0.64, rel=0.07)


def one_way_deviance(between: float, within: float, mean_squares: tuple[float, float]) -> float:
    """Return −2 log-likelihood of 6 balanced groups of 4, less a constant, at the best mean."""
    whole = within + 4 * between
    return (
        18 * np.log(within)
        + 6 * np.log(whole)
        + 18 * mean_squares[1] / within
        + 5 * mean_squares[0] / whole
    )


def test_profile_limits_are_where_the_deviance_of_a_one_way_layout_has_risen() -> None:
    frame, *mean_squares = balanced(2)
    squares = (mean_squares[0], mean_squares[1])
    table = variance_table(one_way(frame, "ml")).set_index("term")

    def lowest(sd: float) -> float:
        found = optimize.minimize_scalar(
            lambda log: one_way_deviance(sd**2, np.exp(log), squares), bounds=(-8, 8)
        )
        return float(found.fun)

    least = lowest(table["estimate"]["(intercept)"])
    limit = float(special.chdtri(1, 0.05))
    for side in ("ci_low", "ci_high"):
        assert lowest(table[side]["(intercept)"]) - least == pytest.approx(limit, rel=1e-5)


def test_profile_limits_of_groups_that_do_not_differ_begin_at_zero() -> None:
    frame, *_ = balanced(2)
    alike = frame.assign(score=frame["score"] - frame.groupby("day")["score"].transform("mean"))
    row = variance_table(one_way(alike)).iloc[0]
    assert (row["estimate"], row["ci_low"], row["at_edge"]) == (0.0, 0.0, True)
    assert 0 < row["ci_high"] < np.inf


def test_profile_limits_widen_with_the_level() -> None:
    fitted = fit(tasted(6))
    narrow, wide = variance_table(fitted, level=0.5), variance_table(fitted, level=0.99)
    assert (wide["ci_low"] <= narrow["ci_low"]).all()
    assert (wide["ci_high"] > narrow["ci_high"]).all()


def test_shift_and_tilt_that_go_together_completely_are_at_the_edge() -> None:
    rng = np.random.default_rng(1)
    frame = pd.DataFrame({"day": np.repeat(np.arange(8), 6), "grind": np.tile(np.arange(6.0), 8)})
    lift = rng.normal(size=8)[frame["day"]] * (1 + frame["grind"])
    frame["score"] = lift + rng.normal(0, 0.5, 48)
    matrix = np.column_stack([np.ones(48), frame["grind"]])
    fitted = fit_mixed(matrix, frame["score"], [grouping(frame, "day", slope="grind")])
    cov = fitted.covariances["day"]
    assert fitted.at_edge == {"day": True}
    assert cov[0, 1] == pytest.approx(np.sqrt(cov[0, 0] * cov[1, 1]), rel=1e-9)
    correlation = variance_table(fitted).set_index("term").loc["(correlation)"]
    assert correlation["ci_high"] == 1.0
    assert correlation["ci_low"] < 1.0


def test_one_contrast_on_two_degrees_of_freedom_after_kenward_and_roger_is_finite() -> None:
    # At 2 degrees of freedom the general formula is 0/0; its limit for one contrast is 2/A.
    assert _matched(1, 1.0, 1.0) == (2.0, 1.0)
    assert _matched(1, 0.25, 0.25) == pytest.approx((8.0, 1.0))
