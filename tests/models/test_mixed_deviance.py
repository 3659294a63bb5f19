"""The deviance of a mixed model and its derivatives, against the covariance written out."""

from __future__ import annotations

import tracemalloc
from collections.abc import Callable

import numpy as np
import pytest
from scipy import optimize

from yieldwright.models.mixed._bend import Bend
from yieldwright.models.mixed._crossproducts import crossproducts
from yieldwright.models.mixed._deviance import Surface, absolute, profiled
from yieldwright.models.mixed._search import descended

N = 60
RNG = np.random.default_rng(20_261)
TASTER, SESSION, BAG = (RNG.integers(0, count, N) for count in (7, 5, 4))
SLOPE = RNG.normal(size=N)
MATRIX = np.column_stack([np.ones(N), RNG.normal(size=(N, 2))])
RESPONSE = RNG.normal(size=N) + 0.5 * SLOPE

ONE = (np.eye(1),)
TIED = tuple(
    np.array(corner, dtype=float)
    for corner in ([[1, 0], [0, 0]], [[0, 0], [1, 0]], [[0, 0], [0, 1]])
)

#: Groups, slopes and their number, with the basis of their factor.
STRUCTURES = {
    "one grouping": [((TASTER, None, 7), ONE)],
    "a slope": [((TASTER, SLOPE, 7), TIED)],
    "a slope without tie": [((TASTER, SLOPE, 7), (TIED[0], TIED[2]))],
    "crossed": [((TASTER, None, 7), ONE), ((SESSION, None, 5), ONE), ((BAG, None, 4), ONE)],
    "crossed, a slope absorbed": [((TASTER, SLOPE, 7), TIED), ((SESSION, None, 5), ONE)],
    "crossed, a slope beside": [
        ((TASTER, None, 7), ONE),
        ((SESSION, SLOPE, 5), TIED),
        ((BAG, None, 4), ONE),
    ],
}


def surface(name: str, *, reml: bool) -> Surface:
    groups, bases = zip(*STRUCTURES[name], strict=True)
    return Surface(crossproducts(list(groups), MATRIX, RESPONSE), tuple(bases), reml)


def spread(group: tuple[np.ndarray, np.ndarray | None, int]) -> np.ndarray:
    """Return the matrix of rows by effects, written out."""
    codes, slope, count = group
    shift = np.eye(count)[codes]
    if slope is None:
        return shift
    return np.stack([shift, shift * slope[:, np.newaxis]], axis=2).reshape(N, -1)


def written_out(of: Surface, name: str, point: np.ndarray) -> float:
    """Return the deviance at factors and log row variance, by the textbook."""
    total = np.eye(N)
    for (group, _), factor in zip(STRUCTURES[name], of.factors(point[:-1]), strict=True):
        full = spread(group) @ np.kron(np.eye(group[2]), factor)
        total = total + full @ full.T
    inverse = np.linalg.inv(total)
    information = MATRIX.T @ inverse @ MATRIX
    left = RESPONSE - MATRIX @ np.linalg.solve(information, MATRIX.T @ inverse @ RESPONSE)
    volume = np.linalg.slogdet(information).logabsdet if of.reml else 0.0
    spread_of_rows = of.df * (point[-1] + np.log(2 * np.pi))
    quadratic = left @ inverse @ left / np.exp(point[-1])
    return float(spread_of_rows + np.linalg.slogdet(total).logabsdet + volume + quadratic)


def slopes(act: Callable[[np.ndarray], np.ndarray | float], point: np.ndarray) -> np.ndarray:
    """Return derivatives by central differences, good to nine digits."""
    step = 1e-5
    return np.array(
        [(act(point + h) - act(point - h)) / (2 * step) for h in step * np.eye(len(point))]
    )


@pytest.fixture(params=STRUCTURES)
def name(request: pytest.FixtureRequest) -> str:
    return str(request.param)


@pytest.fixture(params=[True, False], ids=["reml", "ml"])
def tried(request: pytest.FixtureRequest, name: str) -> tuple[Surface, np.ndarray]:
    of = surface(name, reml=request.param)
    point = np.random.default_rng(3).uniform(0.3, 1.5, len(of.owners) + 1)
    return of, point


def test_value(tried: tuple[Surface, np.ndarray], name: str) -> None:
    of, point = tried
    value = of.value(of.solved(point[:-1]), point[-1])
    assert value == pytest.approx(written_out(of, name, point), rel=1e-12)


def test_gradient(tried: tuple[Surface, np.ndarray], name: str) -> None:
    of, point = tried
    bend = of.bend(point[:-1], of.solved(point[:-1]), point[-1])
    by_differences = slopes(lambda at: written_out(of, name, at), point)
    assert bend.gradient == pytest.approx(by_differences, rel=1e-6, abs=1e-6)


@pytest.mark.parametrize("kind", [profiled, absolute])
def test_hessian(tried: tuple[Surface, np.ndarray], kind: Callable) -> None:
    of, point = tried
    at = point[:-1] if kind is profiled else point
    by_differences = slopes(lambda other: kind(of, other).gradient, at)
    assert kind(of, at).hessian == pytest.approx(by_differences, rel=1e-6, abs=1e-6)


@pytest.mark.parametrize("kind", [profiled, absolute])
def test_gradient_of_other_parameters(tried: tuple[Surface, np.ndarray], kind: Callable) -> None:
    of, point = tried
    at = point[:-1] if kind is profiled else point
    by_differences = slopes(lambda other: kind(of, other).value, at)
    assert kind(of, at).gradient == pytest.approx(by_differences, rel=1e-6, abs=1e-6)


def test_one_matrix_of_all_says_what_working_group_by_group_says(
    tried: tuple[Surface, np.ndarray], name: str
) -> None:
    of, point = tried
    whole = of.written_out
    if whole is None:
        assert any(len(basis) == 3 for _, basis in STRUCTURES[name])
        return
    at_once = whole.bend(point[:-1], reml=of.reml, log_variance=point[-1])
    by_group = of.bend(point[:-1], of.solved(point[:-1]), point[-1])
    assert at_once.value == pytest.approx(by_group.value, rel=1e-12)
    assert at_once.gradient == pytest.approx(by_group.gradient, rel=1e-9, abs=1e-9)
    assert at_once.hessian == pytest.approx(by_group.hessian, rel=1e-9, abs=1e-9)


def test_the_lowest_point_is_that_of_another_search(tried: tuple[Surface, np.ndarray]) -> None:
    of, point = tried
    start = point[:-1]
    ours = descended(lambda at: profiled(of, at), start, np.ones(len(start), dtype=bool))
    theirs = optimize.minimize(lambda at: profiled(of, at).value, start, method="BFGS")
    assert ours[1] <= theirs.fun + 1e-8


def test_a_search_does_not_swing_between_mirror_images() -> None:
    def even(at: np.ndarray) -> Bend:
        square = at[0] ** 2
        curvature = 2 * (1 - square) / (1 + square) ** 2
        return Bend(np.log1p(square), 2 * at / (1 + square), np.array([[curvature]]))

    # At 1 it does not bend, so that a step is as long as allowed: towards −1.
    point, value = descended(even, np.array([1.0]), np.array([True]))
    assert abs(point[0]) < 1e-6
    assert value < 1e-9


def test_no_matrix_of_rows_by_groups_is_held() -> None:
    rows, groups = 20_000, 2_000
    codes = np.arange(rows) % groups
    matrix = np.ones((rows, 1))
    tracemalloc.start()
    try:
        sums = crossproducts([(codes, None, groups)], matrix, np.sin(np.arange(rows) * 1.0))
        Surface(sums, (ONE,), reml=True).solved(np.array([0.5]))
        peak = tracemalloc.get_traced_memory()[1]
    finally:
        tracemalloc.stop()
    assert peak < rows * groups * 8 / 100


@pytest.mark.parametrize("reml", [True, False])
@pytest.mark.parametrize("factor", [0.0, 0.3, 1.7, 40.0])
def test_sums_by_size_of_group_give_the_same_deviance(reml: bool, factor: float) -> None:
    of, theta = surface("one grouping", reml=reml), np.array([factor])
    assert of.one_way is not None
    short = of.one_way.bend(factor, of.df, reml=reml)
    at = of.solved(theta)
    full = of.bend(theta, at, of.log_variance(at))
    assert short.value == pytest.approx(full.value, rel=1e-12)
    assert short.gradient == pytest.approx(full.gradient, rel=1e-8, abs=1e-9)
    assert short.hessian == pytest.approx(full.hessian, rel=1e-8, abs=1e-9)
