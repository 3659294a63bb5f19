"""Second-order surfaces: canonical analysis, tests and stationary points, against R rsm."""

from __future__ import annotations

from itertools import combinations
from pathlib import Path

import numpy as np
import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.models.published import data, expected
from tests.models.surfaces import PUBLISHED, Published, figures, published_surface, quadratic_log
from yieldwright.errors import (
    AliasedColumnsError,
    MisalignedError,
    OutOfRangeError,
    RoleError,
    TooFewShotsError,
)
from yieldwright.models.linear.model import fit_least_squares
from yieldwright.models.surface.anova import lack_of_fit, sequential_tests
from yieldwright.models.surface.fit import response_surface, surface_terms
from yieldwright.models.surface.model import Surface
from yieldwright.models.surface.shape import stationary_cov, surface_shape
from yieldwright.models.terms.design import build_design
from yieldwright.models.terms.terms import Blocks, Numeric, Product

each_published = pytest.mark.parametrize("case", PUBLISHED, ids=str)


def fitted(frame: pd.DataFrame, *columns: str) -> Surface:
    terms = surface_terms(frame, [Numeric(column) for column in columns])
    return response_surface(
        fit_least_squares(build_design(frame, terms), frame["y"]), frame, columns
    )


@each_published
def test_coefficients_and_their_errors(reference: Path, case: Published) -> None:
    # R rsm 2.10.6; the names follow its order: slopes, squares, products.
    surface, printed = published_surface(reference, case), figures(reference, case)
    names = [*case.names, *(f"{name}^2" for name in case.names)]
    names += [f"{first}:{second}" for first, second in combinations(case.names, 2)]
    target = [printed["estimate"][name] for name in names]
    assert surface.coefficients == pytest.approx(target, rel=1e-9, abs=1e-9)
    errors = np.sqrt(np.diag(surface.cov))
    assert errors == pytest.approx([printed["se"][name] for name in names], rel=1e-8)


@each_published
def test_stationary_points(reference: Path, case: Published) -> None:
    shape = surface_shape(published_surface(reference, case))
    printed = figures(reference, case)["xs"]
    assert shape.stationary == pytest.approx([printed[name] for name in case.names], rel=1e-8)


@each_published
def test_eigenvalues(reference: Path, case: Published) -> None:
    shape = surface_shape(published_surface(reference, case))
    found = [axis.eigenvalue for axis in shape.axes]
    assert found == pytest.approx(figures(reference, case)["eigenvalues"], rel=1e-8)


@each_published
def test_canonical_directions(reference: Path, case: Published) -> None:
    # One printed row per variable, one column per eigenvalue; up to sign.
    shape = surface_shape(published_surface(reference, case))
    printed = np.array(figures(reference, case)["eigenvectors"]).T
    found = np.array([axis.direction for axis in shape.axes])
    assert np.abs(np.sum(found * printed, axis=1)) == pytest.approx(1.0, abs=1e-12)


@pytest.mark.parametrize("case", [each for each in PUBLISHED if each.tested], ids=str)
def test_sequential_tests(reference: Path, case: Published) -> None:
    printed = figures(reference, case)["anova"]
    found = sequential_tests(published_surface(reference, case))
    last = slice(-4, -1)  # FO, TWI and PQ stand before the residuals
    assert [each.sum_squares for each in found] == pytest.approx(printed["SS"][last], rel=1e-8)
    assert [each.df_term for each in found] == printed["Df"][last]
    assert [each.statistic for each in found] == pytest.approx(printed["F"][last], rel=1e-8)
    assert [each.p_value for each in found] == pytest.approx(printed["p"][last], rel=1e-7)


@pytest.mark.parametrize("case", [each for each in PUBLISHED if each.tested], ids=str)
def test_lack_of_fit(reference: Path, case: Published) -> None:
    printed = figures(reference, case)["lof"]
    found = lack_of_fit(published_surface(reference, case))
    assert found is not None
    assert (found.df_term, found.df_error) == tuple(printed["Df"][-2:])
    assert found.sum_squares == pytest.approx(printed["SS"][-2], rel=1e-7)
    assert found.statistic == pytest.approx(printed["F"][-2], rel=1e-7)


def test_the_delta_method_gives_the_published_covariance(reference: Path) -> None:
    # NIST/SEMATECH e-Handbook 5.5.3.1; covariance by R numDeriv.
    case = next(each for each in PUBLISHED if each.example == "rsm_nist_5531")
    surface, printed = published_surface(reference, case), figures(reference, case)
    place = surface_shape(surface).stationary
    assert place is not None
    cov = stationary_cov(surface, place)
    target = np.array(printed["stationary_point_cov_delta"])
    assert cov == pytest.approx(target, rel=1e-6)
    assert np.sqrt(np.diag(cov)) == pytest.approx(printed["stationary_point_se_delta"], rel=1e-6)
    predicted = surface.value(place).estimate
    assert predicted == pytest.approx(printed["predicted_at_stationary_point"], rel=1e-9)


def test_natural_units_of_a_published_top(reference: Path) -> None:
    # The handbook prints a maximum near 161.64 °C and 367.32 min.
    frame = data(reference, "rsm_nist_5531")
    numbers = [Numeric("temp", 1, 2, 189.5, 30.0), Numeric("time", 1, 2, 350.0, 50.0)]
    frame = frame.assign(temp=189.5 + 30 * frame["x1"], time=350 + 50 * frame["x2"])
    fit = fit_least_squares(build_design(frame, surface_terms(frame, numbers)), frame["yield"])
    surface = response_surface(fit, frame, ["temp", "time"])
    place = surface_shape(surface).stationary
    assert place is not None
    printed = expected(reference, "rsm_nist_5531")["second_order"]["natural_units"]
    found = surface.natural(place)
    assert found == pytest.approx([printed["temp_C"], printed["time_min"]], rel=1e-8)
    assert surface.coded(found) == pytest.approx(place)


def test_a_known_surface_is_found() -> None:
    # Identity: y = 3 − 2(x − 0.3)² − (z + 0.2)² + (x − 0.3)(z + 0.2) has its top at (0.3, −0.2).
    frame = quadratic_log(noise=1e-9)
    surface = fitted(frame, "x", "z")
    shape = surface_shape(surface)
    assert shape.kind == "top"
    assert shape.stationary == pytest.approx([0.3, -0.2], abs=1e-6)
    assert surface.value(np.array([0.3, -0.2])).estimate == pytest.approx(3.0, abs=1e-6)
    assert surface.slope(np.array([0.3, -0.2])) == pytest.approx([0.0, 0.0], abs=1e-6)


def test_slopes_are_the_limit_of_changes() -> None:
    surface = fitted(quadratic_log(), "x", "z")
    here, step = np.array([0.4, -0.7]), 1e-6
    steps = [surface.change(here, here + step * unit).estimate / step for unit in np.eye(2)]
    assert steps == pytest.approx(surface.slope(here), abs=1e-4)
    assert surface.slope_weights(here) @ surface.coefficients == pytest.approx(surface.slope(here))


def test_levelness_at_a_place_is_the_f_test_of_both_slopes() -> None:
    # Identity: at the origin the slopes are the coefficients of the lines.
    surface = fitted(quadratic_log(), "x", "z")
    slopes, cov = surface.linear, surface.cov[:2, :2]
    found = surface.slope_test(np.zeros(2))
    assert found.statistic == pytest.approx(slopes @ np.linalg.solve(cov, slopes) / 2)
    assert (found.df_term, found.df_resid) == (2, surface.fit.df_resid)


@pytest.mark.parametrize(
    ("squares", "kind"),
    [((-2, -1), "top"), ((2, 1), "bottom"), ((2, -1), "saddle"), ((-2, 0), "ridge"),
     ((2, 0), "valley"), ((0, 0), "unclear")],
)  # fmt: skip
def test_the_kind_of_turn_is_the_kind_planted(squares: tuple[float, float], kind: str) -> None:
    frame = quadratic_log(noise=0.1, squares=squares, cross=0.0)
    assert surface_shape(fitted(frame, "x", "z")).kind == kind


def test_an_interval_of_an_eigenvalue_holds_it() -> None:
    for axis in surface_shape(fitted(quadratic_log(), "x", "z")).axes:
        assert axis.ci_low < axis.eigenvalue < axis.ci_high
        assert axis.std_error > 0


def test_three_numbers_have_three_axes_in_order() -> None:
    frame = quadratic_log(noise=0.2, numbers=3)
    axes = surface_shape(fitted(frame, "x", "z", "w")).axes
    values = [axis.eigenvalue for axis in axes]
    assert values == sorted(values, reverse=True)
    assert all(axis.ci_low < axis.eigenvalue < axis.ci_high for axis in axes)


def test_a_surface_without_a_bend_along_some_direction_turns_nowhere() -> None:
    # x² + 2xz + z² is level along x = −z.
    frame = quadratic_log(noise=0.0, squares=(-1, -1), cross=-2.0)
    assert surface_shape(fitted(frame, "x", "z")).stationary is None


def test_replicates_of_one_place_are_the_pure_error() -> None:
    # Identity: with no block and no adjuster, the sum of squares inside places.
    frame = pd.concat([quadratic_log(), quadratic_log(seed=3)], ignore_index=True)
    found = lack_of_fit(fitted(frame, "x", "z"))
    assert found is not None
    inside = frame["y"] - frame.groupby(["x", "z"])["y"].transform("mean")
    pure = float(inside @ inside) / found.df_error
    assert found.df_error == len(frame) - frame.groupby(["x", "z"]).ngroups
    assert found.statistic == pytest.approx(found.sum_squares / found.df_term / pure)


def test_a_cubic_shows_as_lack_of_fit() -> None:
    frame = quadratic_log(noise=0.02, levels=(-1.0, -0.5, 0.0, 0.5, 1.0), repeats=2)
    frame["y"] += 0.5 * (frame["x"] ** 3 - 0.7 * frame["x"])
    found = lack_of_fit(fitted(frame, "x", "z"))
    assert found is not None
    assert found.p_value < 1e-6


def test_without_replicates_lack_of_fit_is_not_tested() -> None:
    frame = quadratic_log(repeats=1, levels=(-1.0, -0.5, 0.0, 0.5, 1.0))
    assert lack_of_fit(fitted(frame, "x", "z")) is None


def test_blocks_swept_out_or_in_the_design_leave_one_lack_of_fit() -> None:
    frame = quadratic_log(repeats=3).assign(day=lambda rows: np.arange(len(rows)) % 4)
    frame["y"] += frame["day"]
    codes = frame["day"].to_numpy()
    terms = surface_terms(frame, [Numeric("x"), Numeric("z")], [Blocks("day")])
    within = fit_least_squares(build_design(frame, terms), frame["y"])
    design = build_design(frame, terms[1:])
    matrix = design.matrix - pd.DataFrame(design.matrix).groupby(codes).transform("mean") + 0.0
    matrix[0] = 1.0
    swept = type(design)(matrix.to_numpy(), design.columns, design.terms, design.index)
    centred = frame["y"] - frame.groupby("day")["y"].transform("mean")
    outside = fit_least_squares(swept, centred)
    held = lack_of_fit(response_surface(within, frame, ["x", "z"]))
    taken = lack_of_fit(response_surface(outside, frame, ["x", "z"], groups=codes))
    assert held is not None
    assert taken is not None
    assert taken.sum_squares == pytest.approx(held.sum_squares)
    assert taken.df_term == held.df_term


@given(st.floats(0.1, 50), st.floats(-500, 500), st.sampled_from([-1.0, 1.0]))
def test_another_unit_or_a_mirrored_scale_moves_the_top_with_it(
    unit: float, zero: float, sign: float
) -> None:
    frame = quadratic_log(seed=5)
    plain = fitted(frame, "x", "z")
    moved = fitted(frame.assign(x=zero + sign * unit * frame["x"]), "x", "z")
    place, elsewhere = surface_shape(plain).stationary, surface_shape(moved).stationary
    assert place is not None
    assert elsewhere is not None
    here, there = plain.natural(place), moved.natural(elsewhere)
    assert there[1] == pytest.approx(here[1], rel=1e-6, abs=1e-8)
    assert there[0] == pytest.approx(zero + sign * unit * here[0], rel=1e-6, abs=1e-7 * unit)


@given(st.randoms(use_true_random=False))
def test_the_order_of_rows_changes_nothing(random: object) -> None:
    frame = quadratic_log(seed=6)
    shuffled = frame.sample(frac=1, random_state=random.getrandbits(32))  # type: ignore[attr-defined]
    first, second = (surface_shape(fitted(each, "x", "z")) for each in (frame, shuffled))
    assert first.kind == second.kind
    assert second.stationary == pytest.approx(first.stationary, rel=1e-8)


def test_one_number_or_four_make_no_surface() -> None:
    frame = quadratic_log()
    with pytest.raises(RoleError, match="two or three numbers, not on 1"):
        surface_terms(frame, [Numeric("x")])
    with pytest.raises(RoleError, match="not on 4"):
        surface_terms(frame, [Numeric(name) for name in "xzab"])


def test_two_values_of_a_number_are_too_few() -> None:
    frame = quadratic_log()
    short = frame[frame["z"] != 0]
    with pytest.raises(TooFewShotsError, match="'z' has 2"):
        surface_terms(short, [Numeric("x"), Numeric("z")])


def test_places_on_one_line_cannot_be_told_apart() -> None:
    x = np.repeat([-1.0, 0.0, 1.0], 4)
    frame = pd.DataFrame({"x": x, "z": 2 * x, "y": np.arange(12.0) ** 1.5})
    with pytest.raises(AliasedColumnsError, match="cannot be told apart"):
        fitted(frame, "x", "z")


def test_a_ring_without_its_centre_cannot_tell_its_bends_apart() -> None:
    # The rotatable composite without centre points has rank 5 of 6.
    angles = np.tile(np.arange(8) * np.pi / 4, 2)
    y = np.arange(16.0) ** 1.5
    frame = pd.DataFrame({"x": np.cos(angles), "z": np.sin(angles), "y": y})
    with pytest.raises(AliasedColumnsError, match="'x' and 'z' cannot be told apart"):
        fitted(frame, "x", "z")


def test_a_surface_without_its_product_is_refused() -> None:
    frame = quadratic_log()
    design = build_design(frame, [Numeric("x", power=2), Numeric("z", power=2)])
    with pytest.raises(RoleError, match="holds no 'x × z'"):
        response_surface(fit_least_squares(design, frame["y"]), frame, ["x", "z"])


def test_a_line_is_no_surface() -> None:
    frame = quadratic_log()
    fit = fit_least_squares(build_design(frame, [Numeric("x"), Numeric("z")]), frame["y"])
    with pytest.raises(RoleError, match="does not enter as a curve"):
        response_surface(fit, frame, ["x", "z"])


def test_rows_of_another_table_are_refused() -> None:
    frame = quadratic_log()
    surface = fitted(frame, "x", "z")
    with pytest.raises(MisalignedError, match="pass the rows fitted"):
        response_surface(surface.fit, frame.head(3), ["x", "z"])


def test_a_number_times_itself_is_refused() -> None:
    with pytest.raises(OutOfRangeError, match="its square"):
        Product(Numeric("x"), Numeric("x"))


def test_a_product_without_its_numbers_is_refused() -> None:
    with pytest.raises(RoleError, match="enters without 'z' by itself"):
        build_design(quadratic_log(), [Numeric("x"), Product(Numeric("x"), Numeric("z"))])


def test_a_product_on_another_scale_than_its_numbers_is_refused() -> None:
    frame, own = quadratic_log(), Numeric("x", centre=5.0, half_range=2.0)
    with pytest.raises(RoleError, match="on the same scale"):
        build_design(frame, [Numeric("x"), Numeric("z"), Product(own, Numeric("z"))])


def test_a_row_of_a_design_keeps_its_products_true() -> None:
    frame = quadratic_log()
    numbers = [Numeric("x", power=2), Numeric("z", power=2)]
    design = build_design(frame, [*numbers, Product(*numbers)])
    row = design.row({"x": 0.5, "z": -1.0})
    assert row.tolist() == [1.0, 0.5, 0.25, -1.0, 1.0, -0.5]
    assert design.row({"x": 0.5})[-1] == pytest.approx(0.5 * frame["z"].mean())


def test_a_product_cannot_be_set_by_itself() -> None:
    frame = quadratic_log()
    numbers = [Numeric("x"), Numeric("z")]
    design = build_design(frame, [*numbers, Product(*numbers)])
    with pytest.raises(RoleError, match="state those"):
        design.row({"x × z": 1.0})
