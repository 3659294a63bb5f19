"""The setting to begin the next bag with: found backwards, pooled, softened where bags are few."""

from __future__ import annotations

import math
import re
from dataclasses import replace
from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from tests.ageing.bag_logs import (
    BENCH,
    LEVEL_S,
    PER_DAY_S,
    PER_SETTING_S,
    bag,
    serviced,
    together,
)
from yieldwright.ageing.beginning.starting_point import StartingPoint, next_bag, next_bag_of
from yieldwright.bench import Bench, Grinder, Recipe
from yieldwright.errors import OutOfRangeError, UnknownNameError
from yieldwright.models.pooling.pooled import pool_estimates
from yieldwright.shotlog import ShotLog, read_log
from yieldwright.taste.columns.comparable import ComparableSet

DAYS = [4, 7, 10, 13, 16, 19, 22, 25]
TARGET_S = 36.0

#: How much slower each bag is at one setting: each needs a setting of its own.
LEVELS = (0.0, 2.0, -2.0, 1.0)


def needed(level: float, age_d: float) -> float:
    """Return the number on the grinder at which the line that was put in gives the target."""
    return 12 + (TARGET_S - LEVEL_S - level - PER_DAY_S * age_d) / PER_SETTING_S


def bags(n_bags: int, **changes: object) -> ComparableSet:
    made = [
        bag(f"bag-{place}", DAYS, level=LEVELS[place], after_d=40 * place, seed=place, **changes)
        for place in range(n_bags)
    ]
    return together(*made)


def found_in(comparable: ComparableSet, **asked: object) -> StartingPoint:
    found = next_bag_of(comparable, bench=BENCH, **asked)
    assert found is not None
    return found


@pytest.fixture(scope="module")
def four() -> StartingPoint:
    """Return what four bags say at 10 days."""
    return found_in(bags(4), age_d=10.0)


def test_each_bag_is_found_at_the_setting_its_line_needs(four: StartingPoint) -> None:
    for place, each in enumerate(four.used):
        assert each.setting is not None
        assert each.setting.holds(needed(LEVELS[place], 10.0))
        assert each.setting.estimate == pytest.approx(needed(LEVELS[place], 10.0), abs=0.15)


def test_settings_per_day_hold_the_time(four: StartingPoint) -> None:
    # −0.25 s a day against −4 s a setting of 1, in clicks of 0.5: 0.125 clicks finer a day.
    true = -PER_DAY_S / PER_SETTING_S / 0.5
    for each in four.used:
        assert each.per_day is not None
        assert each.per_day.low < true < each.per_day.high
    assert four.per_day is not None
    assert four.per_day.mean == pytest.approx(true, abs=0.04)


def test_bags_are_pooled_as_units_that_differ(four: StartingPoint) -> None:
    settings = [each.setting.estimate for each in four.used if each.setting is not None]
    pooled = pool_estimates(settings, [each.setting_error for each in four.used])
    assert four.pooled is not None
    assert four.pooled.mean == pytest.approx(pooled.mean)
    assert four.pooled.next_low == pytest.approx(pooled.next_low)
    assert four.pooled.mean == pytest.approx(needed(float(np.mean(LEVELS)), 10.0), abs=0.15)


def test_the_start_is_a_number_the_grinder_can_be_set_to(four: StartingPoint) -> None:
    assert four.pooled is not None
    assert (four.start / 0.5).is_integer()
    assert abs(four.start - four.pooled.mean) <= 0.25


def test_the_sentence_names_time_age_bags_and_the_spread_of_the_next(four: StartingPoint) -> None:
    first, spread = four.sentences[:2]
    for part in ("Begin the next medium bag at", "for 36 s at 10 days", "4 earlier bags",
                 "the next one is expected to need between"):  # fmt: skip
        assert part in first
    assert "standard deviation; 95 % limits" in spread


def test_one_earlier_bag_is_softened() -> None:
    found = found_in(bags(1), age_d=10.0)
    assert "One earlier medium bag: begin at" in found.sentences[0]
    assert "how far bags differ is not known" in found.sentences[0]
    assert found.pooled is not None
    assert math.isinf(found.pooled.next_high)
    assert found.display_frame()["95 % limits"].tolist()[-1] == "not known"


def test_two_earlier_bags_are_softened() -> None:
    found = found_in(bags(2), age_d=10.0)
    assert "two bags hardly say where a third will lie" in found.sentences[0]
    assert found.pooled is not None
    assert math.isinf(found.pooled.next_high)


def test_the_age_is_the_youngest_that_all_bags_share() -> None:
    late = bag("bag-9", [day + 5 for day in DAYS], after_d=200, seed=9)
    assert found_in(together(bags(2).shots, late)).age_d == 9.0


def test_bags_never_pulled_at_that_age_are_named_and_not_predicted() -> None:
    late = bag("bag-9", [40, 43, 46, 49, 52, 55], after_d=200, seed=9)
    found = found_in(together(bags(3).shots, late))
    assert found.age_d == 4.0
    assert "Not used: bag-9, as it was pulled at 40 to 55 days only." in found.sentences


def test_a_setting_beyond_what_was_tried_is_named_and_not_predicted() -> None:
    slow = bag("bag-9", DAYS, level=14.0, after_d=200, seed=9)
    found = found_in(together(bags(3).shots, slow), age_d=10.0)
    (named,) = [each for each in found.sentences if "bag-9" in each]
    assert "needed a coarser setting than the 11 to 13 tried" in named
    assert math.isnan(found.to_frame().set_index("bag").loc["bag-9", "setting"])
    assert "bags-beyond-tried" in {caution.code for caution in found.cautions}


def test_a_mirrored_grinder_gives_the_mirrored_answer(four: StartingPoint) -> None:
    mirrored = bags(4).shots
    mirrored["grind_setting"] = 24 - mirrored["grind_setting"]
    bench = replace(BENCH, grinders=(Grinder("mill", step=0.5, coarser="down", stated=True),))
    found = next_bag_of(ComparableSet("", "mill", mirrored), age_d=10.0, bench=bench)
    assert found is not None
    assert found.pooled is not None
    assert four.pooled is not None
    assert found.pooled.mean == pytest.approx(24 - four.pooled.mean)
    assert found.per_day is not None
    assert four.per_day is not None
    assert found.per_day.mean == pytest.approx(four.per_day.mean)


def test_a_wrong_direction_in_the_bench_file_is_noticed() -> None:
    bench = replace(BENCH, grinders=(Grinder("mill", step=0.5, coarser="down", stated=True),))
    found = next_bag_of(bags(3), age_d=10.0, bench=bench)
    assert found is not None
    assert found.used == ()
    assert "grinder-direction" in {caution.code for caution in found.cautions}


def test_a_bag_whose_grind_never_changed_says_nothing() -> None:
    found = found_in(bags(2, grinds=(12.0, 12.0, 12.0)), age_d=10.0)
    assert found.missing
    assert "Not used: bag-0 and bag-1, as the grind setting never changed." in found.sentences


def test_without_a_time_in_the_recipe_the_median_stands_in_and_is_said() -> None:
    bench = replace(BENCH, recipe=Recipe(time_s=None))
    comparable = bags(3)
    found = next_bag_of(comparable, age_d=10.0, bench=bench)
    assert found is not None
    assert found.time_s == pytest.approx(comparable.shots["time_s"].median())
    assert "time-assumed" in {caution.code for caution in found.cautions}


def test_bags_of_another_roast_stay_out() -> None:
    dark = bag("bag-9", DAYS, level=20.0, after_d=-100, seed=9, roast_level="dark")
    found = found_in(together(dark, bags(3).shots), age_d=10.0)
    assert found.roast_level == "medium"
    assert {each.bag for each in found.bags} == {"bag-0", "bag-1", "bag-2"}
    assert "24 shots of another roast level" in [str(each) for each in found.dropped]


def test_a_roast_level_that_is_not_there_is_refused() -> None:
    with pytest.raises(UnknownNameError, match="roast level 'light'; there is 'medium'"):
        next_bag_of(bags(2), roast_level="light", bench=BENCH)


def test_an_age_that_is_none_is_refused() -> None:
    with pytest.raises(OutOfRangeError, match="age_d must be a number of days"):
        next_bag_of(bags(2), age_d=-1.0, bench=BENCH)


def test_shots_timed_from_another_start_stay_out() -> None:
    shots = bags(2).shots
    shots["time_from"] = np.where(shots["bag"] == "bag-0", "lever", "first_drip")
    shots.loc[shots["bag"] == "bag-0", "time_from"] = "lever"
    shots.loc[shots.index[-1], "time_from"] = "lever"
    found = found_in(ComparableSet("", "mill", shots), age_d=10.0)
    assert "23 shots timed from another start than lever" in [str(x) for x in found.dropped]


def test_a_log_without_bags_asks_no_such_question() -> None:
    shots = bags(1).shots.drop(columns="bag")
    assert next_bag_of(ComparableSet("", "", shots), bench=Bench()) is None


def test_only_shots_since_new_burrs_count(tmp_path: Path) -> None:
    shots = serviced(bags(3).shots, "bag-1, day 0", "new burrs")
    lines = shots.assign(
        roasted_on=(shots["pulled_on"] - pd.to_timedelta(shots["roast_age_d"], unit="D")).dt.date,
        pulled_at=shots["pulled_on"].dt.strftime("%Y-%m-%dT18:00"),
        stage="counted",
    ).drop(columns=["pulled_on", "roast_age_d"])
    path = tmp_path / "shots.csv"
    lines.to_csv(path, index=False)
    found = next_bag(read_log(path), age_d=10.0, bench=BENCH)
    assert found is not None
    assert {each.bag for each in found.bags} == {"bag-1", "bag-2"}
    (caution,) = [each for each in found.cautions if each.code == "grinder-rescaled"]
    assert "new burrs" in caution.sentence


def test_the_setting_is_told_for_the_bench_as_it_was_left() -> None:
    # Descaled in the middle of the bag, which took 2 s off: half a setting finer from then on.
    shots = serviced(bag("bag-1", DAYS, spread=0.2), "bag-1, day 4", "descaled", step=-2.0)
    stretch = np.where(np.arange(len(shots)) < 12, "before 2026-03-18", "since 2026-03-18")
    shots["service_stretch"] = pd.Categorical(stretch, ordered=True)
    (only,) = found_in(together(shots), age_d=10.0).used
    assert only.setting is not None
    assert only.setting.estimate == pytest.approx(needed(-2.0, 10.0), abs=0.3)


def logged(shots: pd.DataFrame, folder: Path) -> ShotLog:
    """Return shots as a log that was read."""
    roasted = shots["pulled_on"] - pd.to_timedelta(shots["roast_age_d"], unit="D")
    lines = shots.assign(
        roasted_on=roasted.dt.date,
        pulled_at=shots["pulled_on"].dt.strftime("%Y-%m-%dT18:00"),
        stage="counted",
    )
    path = folder / "shots.csv"
    lines.drop(columns=["pulled_on", "roast_age_d"]).to_csv(path, index=False)
    return read_log(path)


def test_the_service_since_which_a_setting_holds_is_named(tmp_path: Path) -> None:
    shots = serviced(bag("bag-1", DAYS, spread=0.2), "bag-1, day 4", "descaled", step=-2.0)
    found = next_bag(logged(shots, tmp_path), age_d=10.0, bench=BENCH)
    assert found is not None
    said = "That is for the bench as it is since the service “descaled” on 2026-03-18."
    assert said in found.sentences


def test_a_bag_that_ended_before_the_last_service_is_named(tmp_path: Path) -> None:
    shots = serviced(bags(2).shots, "bag-1, day 4", "descaled", step=-2.0)
    found = next_bag(logged(shots, tmp_path), age_d=10.0, bench=BENCH)
    assert found is not None
    assert found.ended_before == ("bag-0",)
    (caution,) = [each for each in found.cautions if each.code == "bags-before-service"]
    assert "Bag-0 ended before the service “descaled” on 2026-04-27" in caution.sentence
    (told,) = [each for each in found.sentences if "bench as it was" in each]
    assert told.startswith(
        "The setting of bag-1 is that for the bench as it was since the service"
    )


def test_two_bags_are_told_the_lower_setting_first() -> None:
    found = found_in(bags(2), age_d=10.0)
    low, high = sorted(needed(LEVELS[place], 10.0) for place in (0, 1))
    first, second = re.findall(
        r"between the ([\d.]+) and ([\d.]+) they needed", found.sentences[0]
    )[0]
    assert (float(first), float(second)) == pytest.approx((low, high), abs=0.15)
    swapped = together(
        bag("bag-0", DAYS, level=LEVELS[1], seed=1),
        bag("bag-1", DAYS, level=LEVELS[0], after_d=40, seed=0),
    )
    other = found_in(swapped, age_d=10.0).sentences[0]
    assert float(re.findall(r"between the ([\d.]+) and", other)[0]) == pytest.approx(low, abs=0.15)


def test_a_limit_beyond_what_was_tried_is_no_number() -> None:
    near = bag("bag-1", DAYS, level=-1.9, grinds=(11.0, 12.0), spread=0.6)
    (only,) = found_in(together(near), age_d=10.0).used
    assert only.setting is not None
    assert only.setting.high > 12.0
    assert "to coarser than tried, 95 %" in found_in(together(near), age_d=10.0).sentences[0]


def test_codes_that_mean_harm_are_shown_as_they_are() -> None:
    shots = bags(2).shots.assign(bag=lambda shots: shots["bag"].replace("bag-1", "\x1b[31m<b>"))
    found = found_in(ComparableSet("", "mill", shots), age_d=10.0)
    assert "\x1b" not in found.summary()
    assert "<b>" not in found._repr_html_()
    assert len(found.used) == 2
