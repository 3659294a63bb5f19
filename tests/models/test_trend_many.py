"""Many sets at once are single sets, one after another."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest

from yieldwright.errors import MisalignedError, OutOfRangeError
from yieldwright.models.contrasts.effects import curvature, step_effects, vertex
from yieldwright.models.mixed.groups import grouping
from yieldwright.models.mixed.model import fit_mixed
from yieldwright.models.terms.design import build_design
from yieldwright.models.terms.terms import Numeric
from yieldwright.models.trend.many import COLUMNS, trends_of


def season(bags: int = 8, *, sessions: int = 7, each: int = 4, seed: int = 1) -> pd.DataFrame:
    """Return rows of several bags, each with sessions of its own."""
    rng = np.random.default_rng(seed)
    bag = np.repeat(np.arange(bags), sessions * each)
    session = np.repeat(np.arange(bags * sessions), each)
    age = rng.uniform(3, 40, bags * sessions)[session]
    dose = rng.normal(18, 0.3, len(bag))
    lift = rng.normal(size=bags * sessions)[session]
    bend = np.linspace(-0.02, 0.02, bags)[bag]
    y = dose + bend * (age - 20) ** 2 + lift + rng.normal(size=len(bag))
    return pd.DataFrame({"bag": bag, "session": session, "age": age, "dose": dose, "y": y})


def table(frame: pd.DataFrame) -> pd.DataFrame:
    return trends_of(
        frame["age"],
        frame["y"],
        frame["bag"],
        beside=frame[["dose"]],
        groups=frame["session"],
    )


def test_each_row_is_the_fit_of_its_set() -> None:
    frame = season()
    found = table(frame)
    for bag, rows in frame.groupby("bag"):
        days = [grouping(rows, "session")]
        line = fit_mixed(build_design(rows, [Numeric("dose"), Numeric("age")]), rows["y"], days)
        design = build_design(rows, [Numeric("dose"), Numeric("age", power=2)])
        curve = fit_mixed(design, rows["y"], days)
        slope = step_effects(line, "age", df="kenward_roger")[0]
        bend = curvature(curve, "age", df="kenward_roger")
        ours = found.loc[bag]
        assert ours["slope"] == pytest.approx(slope.estimate, rel=1e-10)
        assert ours["std_error"] == pytest.approx(slope.std_error, rel=1e-7)
        assert ours["df"] == pytest.approx(slope.df, rel=1e-6)
        assert 2 * ours["curve"] == pytest.approx(bend.estimate, rel=1e-8)
        assert 2 * ours["curve_std_error"] == pytest.approx(bend.std_error, rel=1e-7)
        assert ours["curve_df"] == pytest.approx(bend.df, rel=1e-6)
        assert ours["vertex"] == pytest.approx(vertex(curve, "age").estimate, rel=1e-8)


def test_a_set_has_the_same_figures_alone() -> None:
    frame = season()
    together = table(frame)
    for bag, rows in frame.groupby("bag"):
        alone = table(rows)
        pd.testing.assert_frame_equal(alone, together.loc[[bag]], rtol=1e-10)


def test_without_groups_each_set_is_a_plain_line() -> None:
    frame = season()
    found = trends_of(frame["age"], frame["y"], frame["bag"])
    for bag, rows in frame.groupby("bag"):
        coefficients, cov = np.polyfit(rows["age"], rows["y"], 1, cov=True)
        assert found.loc[bag, "slope"] == pytest.approx(coefficients[0], rel=1e-9)
        assert found.loc[bag, "std_error"] == pytest.approx(np.sqrt(cov[0, 0]), rel=1e-9)
        square, slope, _ = np.polyfit(rows["age"], rows["y"], 2)
        assert found.loc[bag, "vertex"] == pytest.approx(-slope / (2 * square), rel=1e-7)
    assert (found["df"] == 26).all()


def test_sets_that_are_interleaved_keep_their_names_and_order() -> None:
    frame = season(3).assign(bag=lambda rows: rows["bag"].map({0: "late", 1: "a", 2: "m"}))
    shuffled = frame.sample(frac=1, random_state=4)
    found, straight = table(shuffled), table(frame)
    assert list(found.index) == list(dict.fromkeys(shuffled["bag"]))
    assert found.index.name == "set"
    assert list(found.columns) == list(COLUMNS)
    pd.testing.assert_frame_equal(found.loc[straight.index], straight, rtol=1e-7)


def test_a_set_that_cannot_bear_a_trend_says_why_and_does_not_stop_the_others() -> None:
    frame = season(4)
    frame.loc[frame["bag"] == 0, "age"] = 7.0
    frame.loc[frame["bag"] == 1, "age"] = frame["session"] % 3 * 1.0
    frame.loc[frame["bag"] == 2, "y"] = 5.0
    found = table(frame)
    assert "all 28 rows have 7" in found.loc[0, "why_not"]
    assert found.loc[1, "why_not"] == "3 different values of x; a curve takes 4 at least"
    assert "response must vary" in found.loc[2, "why_not"]
    assert found.loc[3, "why_not"] == ""
    assert found["slope"].notna().tolist() == [False, True, False, True]
    assert found["vertex"].notna().tolist() == [False, False, False, True]
    assert found["n"].tolist() == [28] * 4
    few = table(season(1, sessions=3))
    assert few.loc[0, "why_not"] == "3 groups; a curve takes 4 at least" or few.loc[
        0, "why_not"
    ].startswith("3 different values")


def test_unusable_rows_are_refused() -> None:
    frame = season(2)
    with pytest.raises(MisalignedError, match="55 responses"):
        trends_of(frame["age"], frame["y"][1:], frame["bag"])
    with pytest.raises(OutOfRangeError, match="first row 3"):
        trends_of(frame["age"], frame["y"], frame["bag"].where(frame.index != 3))
