"""Intervals of cumulative-link fits, also where rows separate the levels."""

from __future__ import annotations

from typing import Any

import numpy as np
import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import optimize, special, stats

from tests.models.test_ordinal import fit, links, log, seeds
from yieldwright.errors import (
    AliasedColumnsError,
    MisalignedError,
    OutOfRangeError,
    RoleError,
    TooFewShotsError,
    UnknownNameError,
)
from yieldwright.models.ordinal._separation import cone_of
from yieldwright.models.ordinal.effects import (
    OrdinalEstimate,
    ordinal_contrast,
    ordinal_estimates,
    ordinal_steps,
    ordinal_table,
)
from yieldwright.models.ordinal.model import OrdinalFit, fit_ordinal
from yieldwright.models.terms.design import build_design
from yieldwright.models.terms.terms import Factor, Numeric
from yieldwright.results import ESTIMATE_COLUMNS

#: Each example is several whole fits.
few = settings(max_examples=10)

#: Half the 0.95 quantile of chi-square with 1 df: how far the likelihood falls to a limit.
FALL = stats.chi2.ppf(0.95, 1) / 2


def by(frame: pd.DataFrame, *columns: str, **options: Any) -> OrdinalFit:
    design = build_design(frame, [Numeric(column) for column in columns])
    return fit_ordinal(design, frame["y"], **options)


def separated() -> pd.DataFrame:
    """Scores that grind orders completely, and another column that says nothing of them."""
    return pd.DataFrame(
        {
            "grind": np.arange(1.0, 9.0),
            "age": [0, 1, 0, 1, 0, 0, 1, 1],
            "y": [1, 1, 2, 2, 2, 3, 3, 3],
        }
    )


def held_likelihood(found: OrdinalFit, position: int, place: float) -> float:
    """Return the highest likelihood with one slope held, by a search without derivatives."""
    likelihood, unit = found.posing.likelihood(), found.posing.back[position]

    def fall(rest: np.ndarray) -> float:
        params = np.insert(rest, position, place / unit[position])
        return -likelihood.value(params)

    start = np.delete(found.highest.params, position)
    options = {"xatol": 1e-9, "fatol": 1e-12, "maxiter": 20_000, "maxfev": 20_000}
    return -float(optimize.minimize(fall, start, method="Nelder-Mead", options=options).fun)


@pytest.mark.parametrize("link", ["logit", "probit"])
def test_the_likelihood_has_fallen_far_enough_at_a_limit(link: Any) -> None:
    found = by(log(4), "grind", link=link)
    slope = ordinal_estimates(found)[0]
    for limit in (slope.ci_low, slope.ci_high):
        held = held_likelihood(found, 3, limit)
        assert found.log_likelihood - held == pytest.approx(FALL, abs=1e-7)


@few
@given(seed=seeds, link=links)
def test_both_kinds_of_interval_agree_on_many_rows(seed: int, link: Any) -> None:
    found = by(log(seed, rows=2_000), "grind", link=link)
    profile = ordinal_estimates(found)[0]
    wald = ordinal_estimates(found, limits="wald")[0]
    assert profile.ci_low == pytest.approx(wald.ci_low, abs=0.03 * wald.std_error)
    assert profile.ci_high == pytest.approx(wald.ci_high, abs=0.03 * wald.std_error)


@few
@given(seed=seeds)
def test_a_contrast_is_a_slope_of_another_design(seed: int) -> None:
    # low − high with medium as reference is the coefficient of low with high as reference.
    frame = log(seed)
    fits = [
        fit_ordinal(build_design(frame, [Factor("band", reference=level)]), frame["y"])
        for level in ("medium", "high")
    ]
    one = ordinal_contrast(fits[0], {"band = low": 1.0, "band = high": -1.0})
    other = ordinal_contrast(fits[1], {"band = low": 1.0})
    found = [one.estimate, one.std_error, one.ci_low, one.ci_high, one.p_value]
    same = [other.estimate, other.std_error, other.ci_low, other.ci_high, other.p_value]
    assert found == pytest.approx(same, rel=1e-6, abs=1e-8)


def test_an_effect_is_told_per_step() -> None:
    frame = log(3)
    design = build_design(frame, [Numeric("grind", step=-0.5), Numeric("age")])
    found = ordinal_steps(fit_ordinal(design, frame["y"]), "grind")[0]
    one = ordinal_steps(fit(frame), "grind")[0]
    assert found.estimate == pytest.approx(-0.5 * one.estimate, rel=1e-9)
    assert found.ci_low == pytest.approx(-0.5 * one.ci_high, rel=1e-7)


def test_a_curve_has_three_slopes_and_the_middle_one_is_their_mean() -> None:
    frame = log(5)
    found = fit_ordinal(build_design(frame, [Numeric("grind", power=2)]), frame["y"])
    low, middle, high = ordinal_steps(found, "grind")
    assert [low.term, middle.term, high.term] == ["grind at 8", "grind at 9.5", "grind at 11"]
    assert middle.estimate == pytest.approx((low.estimate + high.estimate) / 2, abs=1e-10)


def test_fewer_degrees_of_freedom_widen_an_interval() -> None:
    wide = ordinal_contrast(fit(log(3)), {"grind": 1.0}, df=10)
    narrow = ordinal_contrast(fit(log(3)), {"grind": 1.0})
    assert wide.ci_low < narrow.ci_low < narrow.ci_high < wide.ci_high
    assert wide.p_value > narrow.p_value


def test_a_threshold_has_a_profile_too() -> None:
    # Without columns the first threshold is the logit of a proportion, whose likelihood
    # interval is that of the binomial: 12 of 40 rows.
    frame = pd.DataFrame({"y": np.repeat([1, 2, 3], [12, 20, 8])})
    found = fit_ordinal(build_design(frame, []), frame["y"])
    interval = ordinal_contrast(found, {"1|2": 1.0})

    def log_likelihood(place: float) -> float:
        return 12 * special.log_expit(place) + 28 * special.log_expit(-place)

    top = log_likelihood(special.logit(12 / 40))
    for limit in (interval.ci_low, interval.ci_high):
        assert top - log_likelihood(limit) == pytest.approx(FALL, rel=1e-8)


def test_complete_separation_gives_a_one_sided_limit() -> None:
    slope = ordinal_estimates(by(separated(), "grind"))[0]
    assert (slope.estimate, slope.ci_high) == (np.inf, np.inf)
    assert 0 < slope.ci_low < np.inf
    assert np.isnan(slope.std_error)


def test_the_limit_under_separation_is_where_the_likelihood_has_fallen() -> None:
    found = by(separated(), "grind")
    limit = ordinal_estimates(found)[0].ci_low
    likelihood = found.posing.likelihood()

    def fall(cuts: np.ndarray) -> float:
        return -likelihood.value(np.append(cuts, limit))

    options = {"xatol": 1e-9, "fatol": 1e-12, "maxiter": 20_000}
    lowest = optimize.minimize(fall, [-1.5, 1.5], method="Nelder-Mead", options=options).fun
    assert found.log_likelihood == 0.0
    assert lowest == pytest.approx(FALL, abs=1e-8)


def test_separation_the_other_way_mirrors_the_limit() -> None:
    up = ordinal_estimates(by(separated(), "grind"))[0]
    mirrored = separated().assign(grind=lambda table: -table["grind"])
    down = ordinal_estimates(by(mirrored, "grind"))[0]
    assert (down.estimate, down.ci_low) == (-np.inf, -np.inf)
    assert down.ci_high == pytest.approx(-up.ci_low, rel=1e-9)
    assert down.p_value == pytest.approx(up.p_value, rel=1e-6)


def test_what_nothing_determines_is_left_wholly_open() -> None:
    found = by(separated(), "grind", "age")
    age = ordinal_estimates(found)[1]
    assert np.isnan([age.estimate, age.std_error, age.statistic, age.p_value]).all()
    assert (age.ci_low, age.ci_high) == (-np.inf, np.inf)
    assert found.unbounded["age"] == "either"


def test_a_column_within_unseparated_rows_keeps_its_finite_estimate() -> None:
    # Group b holds only the top level, so its rows say nothing of x: what remains of x is
    # the fit to group a alone, where the top level does not occur.
    frame = pd.DataFrame(
        {
            "group": list("aaaaaaaabbbb"),
            "x": [0, 0, 0, 1, 1, 1, 0, 1, 0, 1, 0, 1],
            "y": [1, 1, 2, 2, 2, 1, 1, 2, 3, 3, 3, 3],
        }
    )
    whole = fit_ordinal(build_design(frame, [Numeric("x"), Factor("group")]), frame["y"])
    alone = by(frame.iloc[:8], "x")
    x, group = ordinal_estimates(whole)
    assert group.estimate == np.inf
    expected = ordinal_estimates(alone)[0]
    found = [x.estimate, x.std_error, x.ci_low, x.ci_high, x.p_value]
    assert found == pytest.approx(
        [
            expected.estimate,
            expected.std_error,
            expected.ci_low,
            expected.ci_high,
            expected.p_value,
        ],
        rel=1e-6,
    )
    assert whole.log_likelihood == pytest.approx(alone.log_likelihood, rel=1e-10)


@given(seed=seeds, gap=st.floats(0.01, 5))
@few
def test_a_gap_between_levels_is_always_found(seed: int, gap: float) -> None:
    rng = np.random.default_rng(seed)
    below, above = rng.uniform(0, 1, 6), rng.uniform(1 + gap, 2 + gap, 6)
    frame = pd.DataFrame({"x": np.concatenate([below, above]), "y": np.repeat([1, 2], 6)})
    assert by(frame, "x").separated


@given(seed=seeds)
@few
def test_overlapping_levels_are_never_called_separated(seed: int) -> None:
    assert not fit(log(seed)).separated


@given(seed=seeds, rows=st.integers(8, 20), levels=st.integers(2, 4))
@settings(max_examples=60)
def test_the_quick_proof_and_the_linear_program_agree(seed: int, rows: int, levels: int) -> None:
    # Few rows of three columns are separated about as often as not.
    rng = np.random.default_rng(seed)
    frame = pd.DataFrame(rng.integers(0, 4, (rows, 3)), columns=["a", "b", "c"])
    frame["y"] = np.append(np.arange(levels), rng.integers(0, levels, rows - levels))
    frame.loc[:1, ["a", "b", "c"]] = [[0, 0, 3], [3, 1, 0]]
    try:
        found = by(frame, "a", "b", "c")
    except (AliasedColumnsError, TooFewShotsError):
        return
    assert found.separated is not cone_of(found.posing.likelihood()).is_empty


def test_standard_errors_under_separation_have_nothing_to_say() -> None:
    slope = ordinal_estimates(by(separated(), "grind"), limits="wald")[0]
    assert np.isnan([slope.std_error, slope.ci_low, slope.ci_high, slope.p_value]).all()


def test_the_table_has_the_columns_all_estimates_share() -> None:
    table = ordinal_table(ordinal_estimates(fit(log(1))))
    assert table.columns.tolist() == list(ESTIMATE_COLUMNS[:-1])
    assert table["term"].tolist() == ["grind", "age"]


def test_an_unknown_name_is_refused() -> None:
    with pytest.raises(UnknownNameError, match="no parameter is called 'grnd'; did you mean"):
        ordinal_contrast(fit(log(1)), {"grnd": 1.0})


def test_weights_that_do_not_go_with_the_parameters_are_refused() -> None:
    with pytest.raises(MisalignedError, match="2 weights for 5 thresholds and slopes"):
        ordinal_contrast(fit(log(1)), [1.0, 0.0])


@pytest.mark.parametrize("weights", [{}, {"1|2": 1.0, "2|3": -1.0}])
def test_a_contrast_without_a_profile_is_refused(weights: dict[str, float]) -> None:
    with pytest.raises(OutOfRangeError, match="weights that are not all 0"):
        ordinal_contrast(fit(log(1)), weights)


def test_a_factor_has_no_step() -> None:
    frame = log(1)
    found = fit_ordinal(build_design(frame, [Factor("band")]), frame["y"])
    with pytest.raises(RoleError, match="enters as levels"):
        ordinal_steps(found, "band")


def test_estimates_are_values() -> None:
    one = ordinal_contrast(fit(log(1)), {"grind": 1.0})
    assert isinstance(one, OrdinalEstimate)
    assert one == ordinal_contrast(fit(log(1)), {"grind": 1.0})


def test_a_slope_held_far_away_still_has_a_likelihood() -> None:
    # 40 units out the rows' shares are below 1e-15, and their logs must not become gaps.
    found = fit(log(1))
    along = found.along(found.posing.back[3])
    falls = [along.value(place) for place in (5.0, 40.0, 320.0)]
    assert np.isfinite(falls).all()
    assert falls == sorted(falls, reverse=True)


def test_a_slope_held_beyond_all_shares_is_ruled_out() -> None:
    # The normal density leaves no bit 40 standard deviations out.
    found = fit(log(1), link="probit")
    assert found.along(found.posing.back[3]).value(500.0) == -np.inf
