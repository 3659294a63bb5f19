"""Scores in units: the same slope as without, limits that count units, nothing without rows."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt
import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from yieldwright.errors import MisalignedError, OutOfRangeError, TooFewShotsError
from yieldwright.models.intervals.intervals import t_quantile
from yieldwright.models.ordinal.levels import joined_levels
from yieldwright.models.ordinal.model import fit_ordinal
from yieldwright.models.ordinal.permutation import permutation_test, unit_permutation
from yieldwright.models.ordinal.units import (
    pose_in_units,
    uneven_p,
    unit_contrast,
)
from yieldwright.models.terms.design import Design, build_design
from yieldwright.models.terms.terms import Factor, Numeric

few = settings(max_examples=15, deadline=None)
seeds = st.integers(0, 10_000)
Codes = npt.NDArray[np.intp]


def rows(seed: int, n: int = 30, slope: float = 0.8) -> pd.DataFrame:
    """Return rows of a latent logistic in x, in five levels."""
    rng = np.random.default_rng(seed)
    x = rng.uniform(-2, 2, n)
    line = slope * x + rng.logistic(size=n)
    return pd.DataFrame(
        {"x": x, "z": rng.normal(size=n), "y": np.digitize(line, [-2, -0.7, 0.7, 2])}
    )


def one_each(frame: pd.DataFrame) -> Codes:
    return np.arange(len(frame))


def line_in_x(frame: pd.DataFrame) -> Design:
    return build_design(frame, [Numeric("x")])


@few
@given(seed=seeds)
def test_the_slope_is_that_of_the_plain_model_where_nothing_else_is_in_it(seed: int) -> None:
    # Nothing is held: `fit_ordinal` is itself checked against published fits.
    frame = rows(seed)
    design = line_in_x(frame)
    plain = fit_ordinal(design, frame["y"])
    found = unit_contrast(pose_in_units(design, frame["y"], one_each(frame)), {"x": 1.0})
    assert found.estimate == pytest.approx(plain.params[-1], rel=1e-6)


@few
@given(seed=seeds)
def test_limits_stand_where_the_likelihood_has_fallen_by_what_t_and_ratio_say(seed: int) -> None:
    frame = rows(seed)
    design = line_in_x(frame)
    posed = pose_in_units(design, frame["y"], one_each(frame))
    found, ratio = unit_contrast(posed, {"x": 1.0}), posed.profile(np.array([0.0, 1.0])).ratio
    plain = fit_ordinal(design, frame["y"])
    weights = np.zeros(plain.n_parameters)
    weights[-1] = 1.0
    along = plain.along(plain.posing.back.T @ weights)
    reach = t_quantile(28) * np.sqrt(ratio)
    assert along.root(found.ci_low) == pytest.approx(reach, rel=1e-4)
    assert along.root(found.ci_high) == pytest.approx(reach, rel=1e-4)


@few
@given(seed=seeds)
def test_saying_everything_twice_makes_no_limit_narrower(seed: int) -> None:
    frame = rows(seed)
    design = line_in_x(frame)
    once = unit_contrast(pose_in_units(design, frame["y"], one_each(frame)), {"x": 1.0})
    twice = pd.concat([frame["y"], frame["y"]], ignore_index=True)
    units = np.tile(one_each(frame), 2)
    again = unit_contrast(pose_in_units(design, twice, units), {"x": 1.0})
    assert again.estimate == pytest.approx(once.estimate, rel=1e-6)
    assert again.ci_high - again.ci_low > 0.999 * (once.ci_high - once.ci_low) / np.sqrt(1.9)
    assert again.df == once.df


def test_raters_who_agree_add_nothing_to_what_their_unit_says() -> None:
    # 40 units of which three raters say the same: the ratio must find them out.
    frame = rows(5, n=40)
    design = line_in_x(frame)
    once = unit_contrast(pose_in_units(design, frame["y"], one_each(frame)), {"x": 1.0})
    units, raters = np.repeat(one_each(frame), 3), np.tile(np.arange(3), 40)
    agreed = frame["y"].repeat(3).reset_index(drop=True)
    thrice = unit_contrast(pose_in_units(design, agreed, units, raters=raters), {"x": 1.0})
    assert thrice.std_error == pytest.approx(once.std_error, rel=0.12)


def test_what_is_added_to_all_rows_of_a_block_moves_no_slope() -> None:
    frame = rows(8)
    blocks = np.repeat([0, 1, 2], 10)
    moved = frame.assign(x=frame["x"] + 5.0 * blocks)
    step = [
        unit_contrast(
            pose_in_units(line_in_x(each), frame["y"], one_each(frame), blocks=blocks),
            {"x": 2 / float(np.ptp(each["x"]))},
        )
        for each in (frame, moved)
    ]
    assert step[0].estimate == pytest.approx(step[1].estimate, rel=1e-6)
    assert step[0].ci_high == pytest.approx(step[1].ci_high, rel=1e-4)


def test_rows_that_separate_leave_one_limit() -> None:
    frame = pd.DataFrame({"x": np.arange(12.0), "y": np.repeat([1, 2, 3], 4)})
    posed = pose_in_units(line_in_x(frame), frame["y"], one_each(frame))
    up = unit_contrast(posed, {"x": 1.0})
    down = unit_contrast(posed, {"x": -1.0})
    assert (up.estimate, up.ci_high) == (np.inf, np.inf)
    assert 0 < up.ci_low < np.inf
    assert down.estimate == -np.inf
    assert down.ci_high == pytest.approx(-up.ci_low, rel=1e-4)
    assert up.p_value < 0.05


def test_a_column_that_never_changes_inside_blocks_says_nothing() -> None:
    frame = rows(3, n=12).assign(x=np.repeat([0.0, 1.0], 6))
    blocks = np.repeat([0, 1], 6)
    design = build_design(frame, [Numeric("x"), Numeric("z")])
    posed = pose_in_units(design, frame["y"], one_each(frame), blocks=blocks)
    found = unit_contrast(posed, {"x": 1.0})
    assert np.isnan(found.estimate)
    assert (found.ci_low, found.ci_high) == (-np.inf, np.inf)


def test_two_levels_have_one_slope_only() -> None:
    frame = rows(2).assign(y=lambda each: (each["y"] > 2).astype(int))
    posed = pose_in_units(line_in_x(frame), frame["y"], one_each(frame))
    assert np.isnan(uneven_p(posed, {"x": 1.0}))


def test_an_effect_on_low_levels_only_is_found() -> None:
    rng = np.random.default_rng(4)
    band = np.repeat(["a", "b"], 40)
    low = np.where(band == "a", rng.integers(1, 4, 80), 3)
    frame = pd.DataFrame({"band": band, "y": np.where(rng.random(80) < 0.5, low, 4)})
    posed = pose_in_units(build_design(frame, [Factor("band")]), frame["y"], one_each(frame))
    assert uneven_p(posed, {"band = b": 1.0}) < 0.01


@few
@given(seed=seeds, most=st.integers(2, 6))
def test_joined_levels_keep_their_order_and_every_row(seed: int, most: int) -> None:
    values = pd.Series(np.random.default_rng(seed).integers(0, 9, 30) / 2)
    joined = joined_levels(values, most=most)
    assert joined.nunique() <= most
    assert (joined <= values).all()
    order = np.argsort(values.to_numpy(), kind="stable")
    assert (np.diff(joined.to_numpy()[order]) >= 0).all()


def test_the_slope_means_the_same_whichever_levels_are_joined() -> None:
    # Ten thousand rows: joining ten levels to three moves the slope by less than its error.
    rng = np.random.default_rng(0)
    x = rng.uniform(-1, 1, 10_000)
    line = 1.0 * x + rng.logistic(size=10_000)
    frame = pd.DataFrame({"x": x, "y": np.clip(np.round(line), -4, 5)})
    design = line_in_x(frame)
    estimates = [
        unit_contrast(
            pose_in_units(design, joined_levels(frame["y"], most=most), one_each(frame)),
            {"x": 1.0},
        ).estimate
        for most in (10, 3)
    ]
    assert estimates == pytest.approx([1.0, 1.0], abs=0.12)


@few
@given(seed=seeds)
def test_one_row_a_unit_is_the_permutation_test_of_rows(seed: int) -> None:
    frame = rows(seed, n=14)
    design = build_design(frame, [Numeric("x"), Numeric("z")])
    posed = pose_in_units(design, frame["y"], one_each(frame))
    ours = unit_permutation(posed, {"x": 1.0}, rng=np.random.default_rng(1), draws=999)
    rng = np.random.default_rng(1)
    theirs = permutation_test(design, frame["y"], "x", rng=rng, draws=999)
    assert ours.statistic == pytest.approx(theirs.statistic, rel=1e-6)
    assert ours.p_value == theirs.p_value


def test_raters_who_agree_leave_the_permutation_test_as_it_is() -> None:
    frame = rows(6, n=14)
    design = line_in_x(frame)
    once = pose_in_units(design, frame["y"], one_each(frame))
    thrice = pose_in_units(
        design, frame["y"].repeat(3).reset_index(drop=True), np.repeat(one_each(frame), 3)
    )
    found = [
        unit_permutation(posed, {"x": 1.0}, rng=np.random.default_rng(2), draws=999)
        for posed in (once, thrice)
    ]
    assert found[0].p_value == found[1].p_value


def test_rows_units_and_raters_that_do_not_go_together_are_refused() -> None:
    frame = rows(1)
    with pytest.raises(MisalignedError, match="do not go together"):
        pose_in_units(line_in_x(frame), frame["y"], np.zeros(30, dtype=int))


def test_too_few_units_are_refused_with_how_many_are_missing() -> None:
    frame = rows(1, n=3)
    design = build_design(frame, [Numeric("x"), Numeric("z")])
    with pytest.raises(TooFewShotsError, match="bring at least 1 more"):
        pose_in_units(design, frame["y"], one_each(frame))


def test_weights_without_a_slope_are_refused() -> None:
    frame = rows(1)
    posed = pose_in_units(line_in_x(frame), frame["y"], one_each(frame))
    with pytest.raises(OutOfRangeError, match="not all 0"):
        unit_contrast(posed, {"x": 0.0})
