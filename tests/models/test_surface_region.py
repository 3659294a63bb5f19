"""Confidence regions of stationary points, what was tried, and the way up."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from tests.models.surfaces import quadratic_log
from yieldwright.errors import AliasedColumnsError
from yieldwright.models.contrasts.effects import vertex
from yieldwright.models.linear.model import fit_least_squares
from yieldwright.models.surface.fit import response_surface, surface_terms
from yieldwright.models.surface.model import Surface
from yieldwright.models.surface.path import STEP, steepest_path
from yieldwright.models.surface.region import StationaryRegion, stationary_region
from yieldwright.models.surface.shape import surface_shape
from yieldwright.models.surface.tried_region import tried_region
from yieldwright.models.terms.design import build_design
from yieldwright.models.terms.terms import Numeric

SQUARE = np.array([[-1.0, -1.0], [-1.0, 1.0], [1.0, -1.0], [1.0, 1.0]])


def fitted(frame: pd.DataFrame) -> Surface:
    numbers = [name for name in "xzw" if name in frame]
    terms = surface_terms(frame, [Numeric(name) for name in numbers])
    fit = fit_least_squares(build_design(frame, terms), frame["y"])
    return response_surface(fit, frame, numbers)


def region_of(surface: Surface) -> StationaryRegion:
    place = surface_shape(surface).stationary
    return stationary_region(surface, place, tried_region(surface.tried))


@pytest.mark.parametrize("numbers", [2, 3])
def test_on_the_edge_of_the_region_the_slopes_just_fail_to_show(numbers: int) -> None:
    # Box and Hunter 1954: the edge is where the F statistic of levelness equals its quantile.
    surface = fitted(quadratic_log(noise=0.1, numbers=numbers))
    region = region_of(surface)
    assert region.kind == "inside"
    limit = stats.f.ppf(0.95, numbers, surface.fit.df_resid)
    found = [surface.slope_test(place).statistic for place in region.outline]
    assert found == pytest.approx(np.full(len(found), limit), rel=1e-6)


def test_outside_the_outline_no_place_is_level() -> None:
    surface = fitted(quadratic_log(noise=0.3))
    region, place = region_of(surface), surface_shape(surface).stationary
    assert region.kind in ("inside", "beyond")
    for factor in (1.05, 1.5, 3.0, 10.0, 1000.0):
        beyond = place + factor * (region.outline - place)
        assert min(surface.slope_test(each).statistic for each in beyond) > region.limit


@given(st.integers(0, 200))
def test_a_region_is_bounded_only_where_no_far_place_is_level(seed: int) -> None:
    surface = fitted(quadratic_log(noise=0.8, seed=seed, squares=(-1.0, -0.6), cross=0.0))
    angles = np.linspace(0, np.pi, 181)
    far = 1e5 * np.column_stack([np.cos(angles), np.sin(angles)])
    ruled_out = all(surface.slope_test(each).p_value < 0.05 for each in far)
    assert (region_of(surface).kind != "unbounded") == ruled_out


def test_a_flat_surface_has_no_bound() -> None:
    surface = fitted(quadratic_log(noise=0.5, squares=(0.0, 0.0), cross=0.0))
    region = region_of(surface)
    assert region.kind == "unbounded"
    assert region.outline.shape == (0, 2)


def test_a_top_far_away_leaves_what_was_tried() -> None:
    assert region_of(fitted(quadratic_log(noise=0.05, top=(1.4, 0.0)))).kind == "beyond"


def test_a_surface_that_turns_nowhere_has_no_region() -> None:
    surface = fitted(quadratic_log(noise=0.0, squares=(-1.0, -1.0), cross=-2.0))
    assert region_of(surface).kind == "nowhere"


def test_without_noise_the_region_is_the_top() -> None:
    region = region_of(fitted(quadratic_log(noise=0.0)))
    assert region.kind == "inside"
    assert np.abs(region.outline - [0.3, -0.2]).max() < 1e-4


def test_less_noise_gives_a_smaller_region() -> None:
    wide, narrow = (region_of(fitted(quadratic_log(noise=noise))) for noise in (0.3, 0.03))
    sizes = [np.ptp(each.spans, axis=1) for each in (wide, narrow)]
    assert (sizes[1] < 0.2 * sizes[0]).all()


def test_along_one_number_the_region_is_the_set_of_fieller() -> None:
    # Limit: where z is known to bend at 0 whatever x, the edge in x nears the ratio's limits
    # with F on 1 degree of freedom in place of 2.
    frame = quadratic_log(noise=0.2, cross=0.0, repeats=40)
    surface = fitted(frame)
    line = surface.coefficients[0], surface.coefficients[2]
    exact = vertex(surface.fit, "x", level=stats.f.cdf(2 * 2.9957, 1, 1e9))
    assert exact.kind == "bounded"
    spans = region_of(surface).spans[0]
    assert -line[0] / (2 * line[1]) == pytest.approx(exact.estimate)
    assert spans == pytest.approx([exact.low, exact.high], abs=0.1 * (exact.high - exact.low))


def holds(region: StationaryRegion, centre: np.ndarray, place: np.ndarray) -> bool:
    """Return whether the outline drawn around its centre has a place inside."""
    rays, ray = region.outline - centre, place - centre
    reaches = np.linalg.norm(rays, axis=1)
    nearest = (rays @ ray / reaches).argmax()
    return bool(np.linalg.norm(ray) <= reaches[nearest])


@pytest.mark.parametrize(("squares", "noise"), [((-2.0, -1.0), 0.3), ((-1.0, -0.5), 0.6)])
def test_the_region_holds_the_true_top_as_often_as_it_says(
    squares: tuple[float, float], noise: float
) -> None:
    # 400 logs of 18 shots: 4 binomial standard errors about 95 % are 4.4 points. A region
    # without a bound is drawn nowhere, so it is asked by its own definition.
    top, held = np.array([0.3, -0.2]), 0
    for seed in range(400):
        surface = fitted(quadratic_log(seed=seed, squares=squares, noise=noise, cross=0.5))
        centre = np.linalg.solve(-2 * surface.bends, surface.linear)
        region = stationary_region(surface, centre, tried_region(surface.tried))
        if region.kind == "unbounded":
            held += surface.slope_test(top).p_value >= 0.05
        else:
            held += holds(region, centre, top)
    assert abs(held / 400 - 0.95) < 0.044


def test_flat_surfaces_are_hardly_ever_given_a_shape_or_a_place() -> None:
    # 200 flat logs of 18 shots; each claim at 5 %, with 4 binomial standard errors.
    shaped = placed = 0
    for seed in range(200):
        surface = fitted(quadratic_log(seed=seed, squares=(0.0, 0.0), cross=0.0))
        shaped += surface_shape(surface).kind != "unclear"
        placed += region_of(surface).kind == "inside"
    assert shaped / 200 <= 0.05 + 4 * np.sqrt(0.05 * 0.95 / 200)
    assert placed / 200 <= 0.05 + 4 * np.sqrt(0.05 * 0.95 / 200)


def test_a_hull_holds_its_corners_and_nothing_beyond() -> None:
    region = tried_region(SQUARE)
    assert region.holds(SQUARE).all()
    assert not region.holds(1.001 * SQUARE).any()
    assert region.middle.tolist() == [0.0, 0.0]


def test_where_the_middle_was_never_near_what_was_tried_the_mean_stands_for_it() -> None:
    corner = np.array([[-1.0, -0.8], [-1.0, 1.0], [-0.9, 1.0], [1.0, 1.0], [0.0, 0.2]])
    region = tried_region(corner)
    assert region.middle == pytest.approx(corner.mean(axis=0))
    assert region.holds(region.middle[np.newaxis]).all()


def test_repeats_are_counted_at_their_place() -> None:
    region = tried_region(np.vstack([SQUARE, SQUARE[:2], [[0.1 + 0.2, 0.0], [0.3, 0.0]]]))
    counts = {tuple(place): n for place, n in zip(region.places, region.counts, strict=True)}
    assert counts[-1.0, -1.0] == 2
    assert counts[0.3, 0.0] == 2


def test_places_on_a_line_are_no_region() -> None:
    with pytest.raises(AliasedColumnsError, match="one line or plane"):
        tried_region(np.array([[-1.0, -1.0], [0.0, 0.0], [1.0, 1.0]]))


@pytest.mark.parametrize("climb", [1, -1])
def test_a_place_of_the_path_is_the_best_of_its_sphere(climb: int) -> None:
    surface, start = fitted(quadratic_log(seed=4)), np.array([0.1, 0.2])
    path = steepest_path(surface, start, distance=0.5, climb=climb)
    angles = np.linspace(0, 2 * np.pi, 721)
    unit = np.column_stack([np.cos(angles), np.sin(angles)])
    for place in path.places[1:]:
        radius = np.linalg.norm(place - start)
        around = surface.rows(start + radius * unit) @ surface.fit.params
        own = surface.value(place).estimate
        assert climb * own >= (climb * around).max() - 1e-9


def test_the_path_sets_out_along_the_slope() -> None:
    surface = fitted(quadratic_log(seed=4))
    path = steepest_path(surface, np.zeros(2), distance=STEP)
    first, slope = path.places[1], surface.linear
    assert np.linalg.norm(first) == pytest.approx(STEP)
    assert first @ slope / STEP / np.linalg.norm(slope) > 0.99


def test_the_path_ends_on_the_top() -> None:
    path = steepest_path(fitted(quadratic_log(noise=1e-9)), np.zeros(2), distance=2.0)
    assert path.ended
    assert path.places[-1] == pytest.approx([0.3, -0.2], abs=1e-6)


def test_the_path_down_a_hill_leads_on() -> None:
    path = steepest_path(fitted(quadratic_log(noise=1e-9)), np.zeros(2), distance=2.0, climb=-1)
    assert not path.ended
    assert len(path.places) == round(2.0 / STEP) + 1


def test_a_path_that_would_fork_ends_there() -> None:
    # y = x² − z² + z/2 from the origin: up along z to 1/8, where ±x are equally good.
    frame = quadratic_log(noise=0.0, top=(0.0, 0.25), squares=(1.0, -1.0), cross=0.0)
    path = steepest_path(fitted(frame), np.zeros(2), distance=1.0)
    assert path.ended
    assert path.places[-1] == pytest.approx([0.0, 0.125], abs=STEP)


def test_from_the_top_there_is_no_way_up() -> None:
    path = steepest_path(fitted(quadratic_log(noise=0.0)), np.array([0.3, -0.2]), distance=1.0)
    assert path.ended
    assert path.places == pytest.approx(np.tile([0.3, -0.2], (len(path.places), 1)))


def test_a_lattice_fills_the_hull_from_edge_to_edge_and_no_further() -> None:
    region = tried_region(np.array([[-1.0, -1.0], [1.0, -1.0], [1.0, 0.0], [-1.0, 1.0]]))
    lattice = region.lattice(np.zeros(2), 21)
    assert region.holds(lattice.reshape(-1, 2)).all()
    assert lattice[:, 0, 1] == pytest.approx(-1.0)
    assert lattice[:, -1, 1] == pytest.approx(0.5 - 0.5 * lattice[:, -1, 0])
    assert (lattice[0, 0, 0], lattice[-1, 0, 0]) == pytest.approx((-1.0, 1.0))


def test_a_lattice_through_three_numbers_is_a_slice() -> None:
    # An octahedron cut at a height of 1/2 is a square with corners at ±1/2 on the axes.
    region = tried_region(np.vstack([np.eye(3), -np.eye(3)]))
    lattice = region.lattice(np.array([0.0, 0.0, 0.5]), 11)
    assert (lattice[:, :, 2] == 0.5).all()
    reach = np.abs(lattice[:, :, :2]).sum(axis=2)
    assert reach.max() == pytest.approx(0.5, abs=1e-6)
    assert lattice[:, -1, 1] == pytest.approx(0.5 - np.abs(lattice[:, -1, 0]), abs=1e-6)
