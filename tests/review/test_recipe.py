from __future__ import annotations

import math

import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st

from yieldwright.bench import Recipe
from yieldwright.review.recipe import recipe_misses, recipe_verdicts

RECIPE = Recipe(beverage_g=36.0, beverage_tolerance_g=1.0, time_s=36.0, time_tolerance_s=5.0)


def verdict(**shot: float) -> str:
    return recipe_verdicts(pd.DataFrame({name: [value] for name, value in shot.items()}), RECIPE)[
        0
    ]


def test_a_shot_inside_every_tolerance_is_a_hit() -> None:
    assert verdict(dose_g=18.1, beverage_g=36.5, time_s=33.0, hold_bar=8.5, end_bar=5.5) == "hit"


@pytest.mark.parametrize("beverage_g", [35.0, 37.0, 36.0 + 10 * 0.1])
def test_a_miss_of_exactly_the_tolerance_is_forgiven(beverage_g: float) -> None:
    assert verdict(beverage_g=beverage_g) == "hit"


def test_each_miss_is_named_with_its_sign_and_unit() -> None:
    assert verdict(dose_g=17.5, beverage_g=33.0, time_s=45.0) == (
        "missed: dose −0.5 g, beverage −3.0 g, time +9 s"
    )


def test_a_missed_pressure_is_told_as_it_was() -> None:
    assert verdict(hold_bar=9.4, end_bar=4.2) == "missed: hold 9.4 bar, end 4.2 bar"


def test_a_high_end_pressure_is_no_miss() -> None:
    assert verdict(end_bar=8.0) == "hit"


def test_a_shot_with_nothing_to_judge_is_not_called_a_hit() -> None:
    assert verdict(time_s=math.nan) == "not judged"
    assert verdict(tds_pct=9.0) == "not judged"


def test_a_part_the_bench_does_not_aim_at_is_not_judged() -> None:
    shots = pd.DataFrame({"time_s": [99.0]})
    assert recipe_verdicts(shots, Recipe(time_s=None))[0] == "not judged"


def test_a_target_logged_with_the_shot_wins_over_the_bench() -> None:
    assert verdict(beverage_g=45.0, beverage_target_g=45.5) == "hit"
    assert verdict(beverage_g=45.0, beverage_target_g=math.nan) == "missed: beverage +9.0 g"


@given(st.floats(5, 120))
def test_a_miss_is_zero_or_at_least_the_tolerance(beverage_g: float) -> None:
    miss = recipe_misses(pd.DataFrame({"beverage_g": [beverage_g]}), RECIPE)["beverage_g"][0]
    assert miss == 0 or abs(miss) >= RECIPE.beverage_tolerance_g
