"""The bivariate normal: against a reference engine, a quadrature, identities and limits."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import example, given
from hypothesis import strategies as st
from scipy.integrate import quad
from scipy.stats import multivariate_normal, norm

from yieldwright.chart import nine_probabilities, normal_below

LIMIT = st.floats(-6, 6)
CORRELATION = st.floats(-0.999999, 0.999999)
CUTS = np.array([[8.0, 12.0], [18.0, 22.0]])


def below(h: float, k: float, rho: float) -> float:
    return float(normal_below(np.array(h), np.array(k), np.array(rho)))


def nine(mean: tuple[float, float], spread: tuple[float, float], rho: float) -> np.ndarray:
    return nine_probabilities(np.array([mean]), np.array([spread]), np.array([rho]), CUTS)[0]


@given(LIMIT, LIMIT, CORRELATION)
@example(0.0, 5e-324, 0.5)
@example(5e-324, 5e-324, 0.999999)
def test_it_equals_the_reference_engine(h: float, k: float, rho: float) -> None:
    # scipy.stats.multivariate_normal.cdf, whose own error estimate is 1e-5 relative at worst.
    expected = multivariate_normal.cdf([h, k], cov=[[1, rho], [rho, 1]], allow_singular=True)
    assert below(h, k, rho) == pytest.approx(expected, abs=1e-9)


@pytest.mark.parametrize("rho", [-0.95, -0.3, 0.0, 0.6, 0.98])
@pytest.mark.parametrize(("h", "k"), [(-1.2, 0.7), (0.0, 1.0), (2.0, 2.0), (0.4, -0.0)])
def test_it_equals_the_conditional_quadrature(h: float, k: float, rho: float) -> None:
    # P(X<h, Y<k) = integral of the density of X times P(Y<k given X): the definition.
    def conditional(x: float) -> float:
        return float(norm.pdf(x) * norm.cdf((k - rho * x) / np.sqrt(1 - rho**2)))

    expected, _ = quad(conditional, -12, h, epsabs=1e-13, limit=200)
    assert below(h, k, rho) == pytest.approx(expected, abs=1e-11)


@pytest.mark.parametrize("rho", [-1.0, -0.999, -0.5, 0.0, 0.25, 0.9, 1.0])
def test_the_quadrant_follows_sheppard(rho: float) -> None:
    # Sheppard 1899: P(X<0, Y<0) = 1/4 + arcsin(rho) / (2 pi).
    assert below(0, 0, rho) == pytest.approx(0.25 + np.arcsin(rho) / (2 * np.pi), abs=1e-15)


@given(LIMIT, LIMIT)
def test_without_correlation_it_is_the_product(h: float, k: float) -> None:
    assert below(h, k, 0.0) == pytest.approx(norm.cdf(h) * norm.cdf(k), abs=1e-15)


@given(LIMIT, LIMIT)
def test_full_correlation_leaves_the_smaller_of_the_two(h: float, k: float) -> None:
    assert below(h, k, 1.0) == pytest.approx(norm.cdf(min(h, k)), abs=1e-15)


@given(LIMIT, LIMIT)
def test_full_opposition_leaves_their_overlap(h: float, k: float) -> None:
    assert below(h, k, -1.0) == pytest.approx(max(norm.cdf(h) - norm.cdf(-k), 0), abs=1e-15)


@pytest.mark.parametrize("side", [-1, 1])
@given(h=LIMIT, k=LIMIT)
def test_it_runs_into_its_limits_without_a_jump(side: int, h: float, k: float) -> None:
    # The step is at most the density of the difference: of the order sqrt(1 - rho**2).
    near = side * (1 - 1e-12)
    assert below(h, k, near) == pytest.approx(below(h, k, float(side)), abs=1e-6)


@given(LIMIT, LIMIT, CORRELATION)
def test_the_two_variables_may_be_swapped(h: float, k: float, rho: float) -> None:
    assert below(h, k, rho) == pytest.approx(below(k, h, rho), abs=1e-14)


@given(LIMIT, CORRELATION)
def test_an_infinite_limit_leaves_the_margin(h: float, rho: float) -> None:
    assert below(h, np.inf, rho) == pytest.approx(norm.cdf(h), abs=1e-15)
    assert below(h, -np.inf, rho) == 0


@given(
    st.tuples(st.floats(0, 25), st.floats(0, 40)),
    st.tuples(st.floats(0, 5), st.floats(0, 5)),
    st.floats(-1, 1),
)
def test_the_nine_are_probabilities_that_sum_to_one(
    mean: tuple[float, float], spread: tuple[float, float], rho: float
) -> None:
    cells = nine(mean, spread, rho)
    assert cells.sum() == pytest.approx(1, abs=1e-12)
    assert cells.min() >= 0


@pytest.mark.parametrize("rho", [-0.9, 0.0, 0.8, 0.9999])
def test_the_nine_agree_with_drawn_shots(rho: float) -> None:
    mean, spread, draws = np.array([8.3, 21.4]), np.array([0.8, 1.1]), 400_000
    covariance = np.outer(spread, spread) * np.array([[1, rho], [rho, 1]])
    shots = np.random.default_rng(11).multivariate_normal(mean, covariance, draws)
    rows = np.digitize(shots[:, 0], CUTS[0])
    columns = np.digitize(shots[:, 1], CUTS[1])
    shares = np.bincount(3 * rows + columns, minlength=9).reshape(3, 3) / draws
    expected = nine(tuple(mean), tuple(spread), rho)
    # Four binomial standard errors.
    assert np.abs(shares - expected).max() < 4 * np.sqrt(0.25 / draws)


def test_an_exactly_known_shot_lies_in_one_region() -> None:
    assert nine((10, 20), (0, 0), 0.0)[1, 1] == 1


@pytest.mark.parametrize("edge", [8.0, 12.0])
def test_an_exactly_known_shot_on_an_edge_lies_in_the_window(edge: float) -> None:
    assert nine((edge, 20), (0, 0), 0.0)[1, 1] == 1


def test_an_exactly_known_strength_leaves_the_yield_uncertain() -> None:
    assert nine((10, 22), (0, 1), 0.7)[1] == pytest.approx([norm.cdf(-4), 0.5 - norm.cdf(-4), 0.5])


def test_a_missing_uncertainty_gives_missing_probabilities() -> None:
    assert np.isnan(nine((10, 20), (np.nan, 1), 0.0)).all()


def test_ten_thousand_shots_equal_ten_thousand_single_ones() -> None:
    rng = np.random.default_rng(5)
    means = rng.normal([10, 20], [1.5, 2], (10_000, 2))
    spreads, rho = rng.uniform(0, 0.3, (10_000, 2)), rng.uniform(-1, 1, 10_000)
    together = nine_probabilities(means, spreads, rho, CUTS)
    for row in (0, 4_321, 9_999):
        alone = nine_probabilities(means[[row]], spreads[[row]], rho[[row]], CUTS)
        assert np.array_equal(together[[row]], alone)
