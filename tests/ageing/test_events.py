"""Steps at dated events: found beside a trend, refused where something else changed with them."""

from __future__ import annotations

import math
from pathlib import Path

import numpy as np
import pandas as pd
import pytest
from scipy import stats

from tests.ageing.bag_logs import BENCH, PER_DAY_S, PER_SETTING_S, bag, serviced, together
from yieldwright.ageing.breaks.dated_events import dated_events
from yieldwright.ageing.breaks.events import Breaks, events
from yieldwright.ageing.trend.rows import bag_rows
from yieldwright.models.contrasts.contrasts import holm
from yieldwright.shotlog import read_log
from yieldwright.taste.columns.comparable import ComparableSet

DAYS = [5, 8, 11, 14, 17, 20, 23, 26, 29, 32]


def told(shots: pd.DataFrame | ComparableSet) -> Breaks:
    comparable = together(shots) if isinstance(shots, pd.DataFrame) else shots
    found = events(comparable, "time_s", bench=BENCH)
    assert found is not None
    return found


@pytest.fixture(scope="module")
def descaled() -> Breaks:
    """Return an aging bag that was descaled half-way, which took 3 s off."""
    return told(serviced(bag("bag-1", DAYS), "bag-1, day 5", "descaled", step=-3.0))


def test_the_step_is_the_one_that_was_put_in(descaled: Breaks) -> None:
    (step,) = descaled.told
    assert step.step is not None
    assert step.step.ci_low < -3.0 < step.step.ci_high < 0


def test_no_step_shows_where_only_the_bag_aged() -> None:
    found = told(serviced(bag("bag-1", DAYS), "bag-1, day 5", "descaled"))
    (step,) = found.told
    assert step.step is not None
    assert step.step.ci_low < 0 < step.step.ci_high
    # Two plain means call it clear: 15 days lie between the halves.
    assert step.plain[2] < 0
    assert step.older_d == pytest.approx(15.0)
    assert step.ageing == pytest.approx(15 * PER_DAY_S, abs=1.0)
    assert "misled: the coffee was 15 days older" in " ".join(found.sentences)


def test_what_else_parts_two_means_is_named_as_far_as_it_differs() -> None:
    shots = serviced(bag("bag-1", DAYS), "bag-1, day 5", "descaled")
    later = shots["roast_age_d"] >= DAYS[5]
    finer = shots.assign(
        grind_setting=shots["grind_setting"] - 2.0 * later,
        time_s=shots["time_s"] - 2.0 * PER_SETTING_S * later,
    )
    said = "The grind setting and the days those shots came from make up the rest."
    assert said in " ".join(told(finer).sentences)
    other = bag("bag-2", DAYS, level=3.0, after_d=40, grinds=(10.0, 11.0, 12.0))
    both = " ".join(told(together(finer, other)).sentences)
    assert "the bags" in both.partition("misled")[2].lower()


def test_plain_means_are_those_of_a_t_test() -> None:
    shots = serviced(bag("bag-1", DAYS), "bag-1, day 5", "descaled", step=-3.0)
    (step,) = told(shots).told
    before, after = shots["time_s"][:15], shots["time_s"][15:]
    theirs = stats.ttest_ind(after, before).confidence_interval()
    assert step.plain == pytest.approx((after.mean() - before.mean(), *theirs))


def test_the_sentence_names_the_event_its_day_interval_and_sides(descaled: Breaks) -> None:
    sentence = descaled.sentences[0]
    parts = (
        "After the service “descaled” on 2026-03-22, shots took",
        "less than before it",
        "95 % interval",
        "15 shots before and 15 after",
        "the grind setting",
    )
    for part in parts:
        assert part in sentence


def test_nothing_dated_gives_no_answer() -> None:
    assert events(together(bag("bag-1", DAYS)), "time_s", bench=BENCH) is None


def test_a_service_before_the_first_shot_parts_nothing() -> None:
    shots = serviced(bag("bag-1", DAYS), "bag-1, day 0", "descaled")
    assert events(together(shots), "time_s", bench=BENCH) is None


def test_a_change_of_water_is_an_event() -> None:
    shots = bag("bag-1", DAYS)
    shots["water"] = ["soft"] * 12 + [None] * 3 + ["hard"] * 15
    shots["time_s"] += 2.0 * (shots["water"] == "hard")
    (step,) = told(shots).told
    assert step.events[0].water
    assert step.events[0].name == "the change of water from “soft” to “hard” on 2026-03-22"
    assert step.step is not None
    assert step.step.ci_low < 2.0 < step.step.ci_high


def test_water_that_went_back_and_forth_is_a_setting_and_no_event() -> None:
    shots = bag("bag-1", DAYS)
    shots["water"] = (["soft"] * 3 + ["hard"] * 3) * 5
    assert events(together(shots), "time_s", bench=BENCH) is None


def test_an_event_with_too_few_shots_on_a_side_is_refused_and_counted() -> None:
    found = told(serviced(bag("bag-1", DAYS), "bag-1, day 9", "descaled"))
    assert found.told == ()
    sides = "27 shots in 9 sessions before it and 3 shots in 1 session after it"
    assert sides in found.sentences[0]


def test_of_many_events_that_cannot_be_told_only_a_few_are_spelled_out() -> None:
    shots = bag("bag-1", DAYS)
    shots["serviced"] = [f"wiped {row}" for row in range(len(shots))]
    found = told(shots)
    assert len(found.steps) == 29
    assert len(found.sentences) == 4
    assert found.sentences[-1] == "Of 26 more events nothing can be told either."


def test_values_that_never_differ_are_a_reason() -> None:
    found = told(serviced(bag("bag-1", DAYS).assign(time_s=36.0), "bag-1, day 5", "descaled"))
    assert found.sentences[0].endswith("every value is the same.")


def test_an_event_that_fell_together_with_a_new_bag_is_refused() -> None:
    first, second = bag("bag-1", DAYS), bag("bag-2", DAYS, after_d=40, seed=2)
    found = told(together(first, serviced(second, "bag-2, day 0", "descaled")))
    assert [step.why for step in found.steps] == ["new bag"]
    assert "it fell together with a new bag" in found.sentences[0]


def test_an_event_soon_after_a_new_bag_is_refused_for_want_of_shots_of_that_bag() -> None:
    first, second = bag("bag-1", DAYS), bag("bag-2", DAYS, after_d=40, seed=2)
    found = told(together(first, serviced(second, "bag-2, day 1", "descaled")))
    assert [step.why for step in found.steps] == ["few of one bag"]
    assert "Of bag-2" in found.sentences[0]


def test_an_event_inside_the_second_of_two_bags_is_told_within_that_bag() -> None:
    first = bag("bag-1", DAYS, level=6.0)  # a bag that is slower must not pass for a step
    second = serviced(
        bag("bag-2", DAYS, after_d=40, seed=2), "bag-2, day 5", "descaled", step=-3.0
    )
    (step,) = told(together(first, second)).told
    assert step.bags == ("bag-2",)
    assert step.sides == ((15, 5), (15, 5))
    assert step.step is not None
    assert step.step.ci_low < -3.0 < step.step.ci_high


def test_an_event_that_came_with_another_grind_is_refused_with_the_shot_that_splits_them() -> None:
    early = bag("bag-1", DAYS[:5], grinds=(11.0,) * 3)
    late = bag("bag-1", DAYS[5:], grinds=(12.0,) * 3, seed=2)
    late["session"] = [f"bag-1, day {5 + row // 3}" for row in range(len(late))]
    late["shot"] = [f"late-{row}" for row in range(len(late))]
    both = pd.concat([early, late], ignore_index=True)
    found = told(serviced(both, "bag-1, day 5", "descaled"))
    assert [step.why for step in found.steps] == ["entwined"]
    assert "the grind setting changed along with it" in found.sentences[0]
    assert "at the old and the new grind setting on the same day" in found.sentences[0]


def test_an_unknown_age_is_a_reason() -> None:
    shots = serviced(bag("bag-1", DAYS), "bag-1, day 5", "descaled").assign(roast_age_d=np.nan)
    found = told(shots)
    assert found.told == ()
    assert "cannot be told apart from ageing: the roast age is not known" in found.sentences[0]


def test_two_events_with_few_shots_between_are_told_together() -> None:
    shots = serviced(bag("bag-1", DAYS), "bag-1, day 5", "descaled", step=-1.0)
    found = told(serviced(shots, "bag-1, day 6", "gasket changed", step=-2.0))
    (step,) = found.told
    assert [event.short for event in step.events] == ["descaled", "gasket changed"]
    assert step.step is not None
    assert step.step.ci_low < -3.0 < step.step.ci_high
    assert "events-together" in {caution.code for caution in found.cautions}


def test_two_events_apart_are_told_apart_and_corrected_for_their_number() -> None:
    days = list(range(4, 64, 4))
    shots = serviced(bag("bag-1", days), "bag-1, day 5", "descaled", step=-2.0)
    found = told(serviced(shots, "bag-1, day 10", "gasket changed", step=3.0))
    first, second = (step.step for step in found.told)
    assert first is not None
    assert second is not None
    assert first.ci_low < -2.0 < first.ci_high
    assert second.ci_low < 3.0 < second.ci_high
    expected = holm([first.p_value, second.p_value])
    assert list(found.p_holm) == pytest.approx(expected.tolist())


@pytest.mark.parametrize("words", ["new burrs", "burrs replaced", "re-zeroed", "burrs aligned"])
def test_settings_on_both_sides_of_new_burrs_are_not_on_one_scale(words: str) -> None:
    found = told(serviced(bag("bag-1", DAYS), "bag-1, day 5", words))
    assert "other-grinder-scale" in {caution.code for caution in found.cautions}


@pytest.mark.parametrize("words", ["burrs brushed", "descaled", "group cleaned"])
def test_cleaning_leaves_the_scale_of_the_grinder_alone(words: str) -> None:
    found = told(serviced(bag("bag-1", DAYS), "bag-1, day 5", words))
    assert "other-grinder-scale" not in {caution.code for caution in found.cautions}


def test_another_origin_of_time_changes_no_step(descaled: Breaks) -> None:
    shots = serviced(bag("bag-1", DAYS), "bag-1, day 5", "descaled", step=-3.0)
    slower = told(shots.assign(time_s=100 + shots["time_s"]))
    first, second = descaled.told[0].step, slower.told[0].step
    assert first is not None
    assert second is not None
    assert second.estimate == pytest.approx(first.estimate, abs=1e-6)


def test_rows_of_a_bag_are_taken_as_they_are(descaled: Breaks) -> None:
    shots = serviced(bag("bag-1", DAYS), "bag-1, day 5", "descaled", step=-3.0)
    found = events(bag_rows(together(shots), "time_s", bench=BENCH), bench=BENCH)
    assert found is not None
    assert found.told[0].step == descaled.told[0].step


def test_points_lie_about_the_trend_that_is_drawn(descaled: Breaks) -> None:
    off = descaled.points["value"] - descaled.points["fitted"]
    assert abs(off.mean()) < 0.2
    assert off.std() < 1.0  # the grind alone spreads these shots by 3 s
    assert descaled.days == (pytest.approx(13.5),)


def test_events_of_a_log_are_found_at_warm_ups_too(tmp_path: Path) -> None:
    shots = serviced(bag("bag-1", DAYS), "bag-1, day 5", "descaled", step=-3.0)
    at = int(shots.index[shots["serviced"].notna()][0])
    shots["stage"] = "counted"
    shots.loc[at, "stage"] = "warm_up"
    lines = shots.assign(
        roasted_on="2026-03-02",
        pulled_at=shots["pulled_on"].dt.strftime("%Y-%m-%dT18:00"),
        time_s=shots["time_s"].round(1),
    ).drop(columns=["pulled_on", "roast_age_d"])
    path = tmp_path / "shots.csv"
    lines.to_csv(path, index=False)
    log = read_log(path)
    found = events(log, "time_s", bench=BENCH)
    assert found is not None
    (step,) = found.told
    assert step.sides == ((15, 5), (14, 5))
    assert step.step is not None
    assert step.step.ci_low < -3.0 < step.step.ci_high


def test_words_that_mean_harm_are_shown_as_they_are() -> None:
    found = told(serviced(bag("bag-1", DAYS), "bag-1, day 5", "\x1b[31m<b>x</b>" + "y" * 300))
    assert "\x1b" not in found.summary()
    assert "<b>" not in found._repr_html_()
    assert math.isfinite(found.p_holm[0])


def test_a_service_told_again_at_the_next_shot_is_one_event() -> None:
    shots = pd.DataFrame({"shot": ["1", "2", "3"], "session": ["m", "n", "n"]})
    shots["serviced"] = [None, "descaled", "Descaled "]
    stretch, happened = dated_events(shots)
    assert stretch.tolist() == [0, 1, 1]
    assert len(happened) == 1


def test_service_and_water_at_one_shot_are_one_event() -> None:
    shots = pd.DataFrame({"shot": ["1", "2"], "serviced": [None, "descaled"], "water": ["A", "B"]})
    _, (event,) = dated_events(shots)
    assert event.short == "descaled and water B"
