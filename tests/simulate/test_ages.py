"""Days: what a freezer takes from an age, and what a log states of dated events."""

from __future__ import annotations

import dataclasses
from datetime import date, timedelta

import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.simulate.made import RESTED, TRUTH, plan
from yieldwright.simulate import Truth, expected_score, expected_time, expected_yield
from yieldwright.simulate.ages import dated_events, days_frozen, is_after, roast_age
from yieldwright.simulate.events import Freeze, Service

CLEANED = Service("burrs cleaned", RESTED + timedelta(days=20), faster=0.1, more_ey_pct=0.4)


def day(number: int) -> date:
    return RESTED + timedelta(days=number)


def pulled(*days: int) -> pd.DataFrame:
    """Return shots on some days after the roast, in the evening."""
    moments = [pd.Timestamp(day(each)).tz_localize("+01:00") for each in days]
    return plan(pulled_at=[moment + pd.Timedelta(hours=18) for moment in moments])


def with_bag(**changes: object) -> Truth:
    bag, other = TRUTH.bags
    return dataclasses.replace(TRUTH, bags=(dataclasses.replace(bag, **changes), other))


FROZEN = with_bag(freezes=(Freeze(day(10), day(19)),))


@pytest.mark.parametrize(
    ("pulled_on", "frozen_d"), [(4, 0), (10, 0), (13, 3), (19, 9), (20, 9), (40, 9)]
)
def test_days_count_as_frozen_as_far_as_the_day_has_come(pulled_on: int, frozen_d: float) -> None:
    shots = pulled(pulled_on)
    assert days_frozen(FROZEN, shots).tolist() == [frozen_d]
    assert roast_age(FROZEN, shots).tolist() == [pulled_on - frozen_d]


def test_a_bag_still_in_the_freezer_grows_no_older() -> None:
    inside = with_bag(freezes=(Freeze(day(10)),))
    assert roast_age(inside, pulled(9, 10, 50)).tolist() == [9, 10, 10]


def test_two_freezes_add_up() -> None:
    twice = with_bag(freezes=(Freeze(day(10), day(12)), Freeze(day(20), day(25))))
    assert days_frozen(twice, pulled(11, 15, 30)).tolist() == [1, 2, 7]


@given(st.integers(1, 30))
def test_a_thawed_bag_behaves_as_one_pulled_that_much_earlier(frozen: int) -> None:
    frozen_bag = with_bag(freezes=(Freeze(day(10), day(10 + frozen)),))
    later = expected_time(frozen_bag, pulled(25 + frozen))
    assert later[0] == expected_time(TRUTH, pulled(25))[0]


def test_a_service_holds_from_its_day_on() -> None:
    assert is_after(CLEANED, pulled(19, 20, 21)).tolist() == [False, True, True]


def test_a_service_takes_its_share_off_the_time_and_adds_its_yield() -> None:
    served = dataclasses.replace(TRUTH, services=(CLEANED,))
    shots = pulled(19, 20)
    times = expected_time(served, shots) / expected_time(TRUTH, shots)
    yields = expected_yield(served, shots) - expected_yield(TRUTH, shots)
    assert times.tolist() == pytest.approx([1.0, 0.9])
    assert yields.tolist() == pytest.approx([0.0, 0.4])


def test_a_log_states_a_freeze_from_the_first_shot_after_it_began() -> None:
    stated = dated_events(FROZEN, pulled(9, 10, 20))
    assert list(stated) == ["frozen_on", "thawed_on"]
    assert stated["frozen_on"].tolist() == [None, None, day(10)]
    assert stated["thawed_on"].tolist() == [None, None, day(19)]


def test_a_log_states_a_service_once_and_the_opening_on_every_row() -> None:
    served = dataclasses.replace(with_bag(opened_on=day(3)), services=(CLEANED,))
    stated = dated_events(served, pulled(9, 25, 26))
    assert stated["serviced"].tolist() == [None, "burrs cleaned", None]
    assert stated["opened_on"].tolist() == [day(3)] * 3


def test_a_service_after_the_last_shot_is_not_in_the_log() -> None:
    served = dataclasses.replace(TRUTH, services=(CLEANED,))
    assert dated_events(served, pulled(9)).empty


@given(st.floats(0, 60))
def test_a_coffee_loses_with_the_square_of_the_days_from_its_best(age_d: float) -> None:
    taste = dataclasses.replace(TRUTH.taste, best_age_d=18.0, per_age_squared=0.01)
    truth = dataclasses.replace(TRUTH, taste=taste)
    cup = [pd.Series([each]) for each in (10.2, 20.4, 2.7)]
    score = expected_score(truth, *cup, age_d=age_d)
    assert score["overall"][0] == pytest.approx(7 - 0.01 * (age_d - 18) ** 2)
    assert score["bitter"][0] == expected_score(TRUTH, *cup)["bitter"][0]


@given(st.floats(0, 60))
def test_age_is_not_tasted_unless_a_truth_says_so(age_d: float) -> None:
    cup = [pd.Series([each]) for each in (9.0, 19.0, 2.0)]
    pd.testing.assert_frame_equal(
        expected_score(TRUTH, *cup, age_d=age_d), expected_score(TRUTH, *cup)
    )
