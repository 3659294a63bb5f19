"""How old the coffee was at each shot of a bag, and a reason wherever that is not known."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import numpy as np
import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st

from yieldwright.ageing.age.age_words import MOST_BAGS
from yieldwright.ageing.age.ages import NO_AGE, roast_ages
from yieldwright.bench import BagFacts, Bench, Freeze
from yieldwright.errors import UnknownNameError
from yieldwright.shotlog import read_log

ROAST = pd.Timestamp("2026-10-16")


def table(days: list[int], **columns: object) -> pd.DataFrame:
    """Return shots of bag-21 pulled some days after its roast."""
    shots = pd.DataFrame({"bag": "bag-21", "roasted_on": ROAST}, index=range(len(days)))
    shots["pulled_on"] = ROAST + pd.to_timedelta(days, unit="D")
    return shots.assign(**columns)


def test_a_frozen_and_opened_bag_is_told_in_plain_words() -> None:
    days = list(range(4, 4 + 58))
    shots = table(
        days,
        frozen_on=ROAST + pd.Timedelta(days=10),
        thawed_on=ROAST + pd.Timedelta(days=22),
        opened_on=ROAST + pd.Timedelta(days=3),
    )
    found = roast_ages(shots)
    # by hand: days 4 to 61, of which the last has 12 frozen ones behind it
    assert found.sentences == (
        (
            "All 58 shots of bag-21 have a roast age, 4 to 49 days; it was frozen for 12 days, "
            "which add nothing to its age."
        ),
        "The bag was opened on 2026-10-19, 3 days old.",
    )
    assert (found.n_shots, found.dropped, found.cautions) == (58, (), ())


def test_the_age_at_opening_leaves_days_frozen_before_it_out() -> None:
    shots = table(
        [30],
        frozen_on=ROAST + pd.Timedelta(days=5),
        thawed_on=ROAST + pd.Timedelta(days=15),
        opened_on=ROAST + pd.Timedelta(days=20),
    )
    (bag,) = roast_ages(shots).bags
    assert (bag.first_age_d, bag.opened_on, bag.opened_at_age_d) == (20.0, date(2026, 11, 5), 10.0)


@pytest.mark.parametrize(
    ("columns", "reason"),
    [
        ({"roasted_on": pd.NaT}, "without a roast date"),
        ({"pulled_on": pd.NaT}, "without a day of the pull"),
        ({"roasted_on": pd.Timestamp("2026-12-01")}, "pulled before the roast"),
        ({"opened_on": pd.Timestamp("2026-10-01")}, "of a bag opened before its roast"),
        ({"frozen_on": pd.Timestamp("2026-10-01")}, "of coffee frozen before its roast"),
        (
            {"frozen_on": pd.Timestamp("2026-10-22"), "thawed_on": pd.Timestamp("2026-10-20")},
            "of coffee thawed before it was frozen",
        ),
        ({"thawed_on": pd.Timestamp("2026-10-20")}, "without the day the coffee was frozen"),
        ({"frozen_d": 30.0}, NO_AGE),
        ({"roasted_on": pd.Timestamp("2020-12-01")}, NO_AGE),
    ],
)
def test_an_unknown_age_is_a_reason_and_never_a_zero(
    columns: dict[str, object], reason: str
) -> None:
    found = roast_ages(table([5, 9], **columns))
    (bag,) = found.bags
    assert (found.n_shots, bag.n_with_age) == (0, 0)
    assert np.isnan(bag.first_age_d)
    assert np.isnan(bag.last_age_d)
    assert [(each.count, each.reason) for each in found.dropped] == [(2, reason)]
    assert found.sentences[0] == f"No roast age is known of bag-21 (2 shots {reason})."
    assert len(found.sentences) == 2  # what to do about it


def test_several_reasons_are_counted_each() -> None:
    shots = table([5, 9, 12, 14])
    shots.loc[0, "roasted_on"] = pd.NaT
    shots.loc[[1, 2], "pulled_on"] = pd.NaT
    found = roast_ages(shots)
    assert found.sentences[:2] == (
        "1 of 4 shots of bag-21 has a roast age, 14 days.",
        "Not known: 2 without a day of the pull and 1 without a roast date.",
    )
    assert sum(each.count for each in found.dropped) + found.n_shots == len(shots)


def test_a_typed_age_counts_and_is_said_to_be_typed(tmp_path: Path) -> None:
    (tmp_path / "shots.csv").write_text("shot,bag,roast_age_d\n1,b,9\n2,b,12\n3,b,\n")
    found = roast_ages(read_log(tmp_path).shots)
    (bag,) = found.bags
    assert (bag.n_with_age, bag.n_typed, bag.last_age_d) == (2, 2, 12.0)
    assert "The age of 2 shots was typed by hand; no days check it." in found.sentences


def test_a_typed_age_beside_its_days_is_not_called_typed(tmp_path: Path) -> None:
    text = "shot,bag,roast_age_d,pulled_on,roasted_on\n1,b,9,2026-10-25,2026-10-16\n"
    (tmp_path / "shots.csv").write_text(text)
    (bag,) = roast_ages(read_log(tmp_path).shots).bags
    assert (bag.n_with_age, bag.n_typed) == (1, 0)


def test_a_log_with_several_freezes_by_its_bench_is_followed(tmp_path: Path) -> None:
    stays = (
        Freeze(date(2026, 10, 20), date(2026, 11, 2)),
        Freeze(date(2026, 11, 9), date(2026, 11, 12)),
    )
    bag = BagFacts("bag-17", "medium", date(2026, 10, 16), date(2026, 10, 19), stays)
    (tmp_path / "shots.csv").write_text(
        "shot,pulled_on,bag\n1,2026-10-20,bag-17\n2,2026-11-20,bag-17\n"
    )
    bench = Bench(bags=(bag,))
    found = roast_ages(read_log(tmp_path, bench=bench).shots, bench=bench)
    assert found.sentences == (
        (
            "Both shots of bag-17 have a roast age, 4 to 19 days; it was frozen twice, 16 days in "
            "all, which add nothing to its age."
        ),
        "The bag was opened on 2026-10-19, 3 days old.",
    )


def test_freezes_stated_by_rows_that_follow_them_are_told_together() -> None:
    shots = table([4, 15, 30])
    shots["frozen_on"] = [pd.NaT, *(ROAST + pd.to_timedelta([5, 20], unit="D"))]
    shots["thawed_on"] = [pd.NaT, *(ROAST + pd.to_timedelta([15, 29], unit="D"))]
    found = roast_ages(shots)
    # by hand: day 30, of which 10 and 9 frozen
    assert found.sentences[0] == (
        "All 3 shots of bag-21 have a roast age, 4 to 11 days; it was frozen twice, 19 days in "
        "all, which add nothing to its age."
    )


def test_two_roast_dates_under_one_code_are_named_with_their_shots() -> None:
    shots = table([5, 9, 12])
    shots.loc[2, "roasted_on"] = pd.Timestamp("2026-10-20")
    (caution,) = roast_ages(shots).cautions
    assert caution.code == "two-roast-dates"
    assert "bag-21" in caution.sentence
    assert "2026-10-16 (2 shots) and 2026-10-20 (1 shot)" in caution.sentence
    assert "code of its own" in caution.remedy
    assert roast_ages(table([5, 9, 12])).cautions == ()


def test_bags_are_told_apart_and_one_can_be_asked_for() -> None:
    shots = pd.concat([table([5, 9]), table([4], bag="bag-3")], ignore_index=True)
    assert [bag.bag for bag in roast_ages(shots).bags] == ["bag-21", "bag-3"]
    only = roast_ages(shots, bag="bag-3")
    assert only.title == "Roast age of bag-3"
    assert only.n_shots == 1
    with pytest.raises(UnknownNameError, match="did you mean 'bag-3'"):
        roast_ages(shots, bag="bag-33")


def test_of_many_bags_few_are_told_and_all_are_in_the_table() -> None:
    shots = pd.concat([table([5], bag=f"bag-{n}") for n in range(MOST_BAGS + 3)])
    found = roast_ages(shots)
    assert found.sentences[-1] == "The table has 3 more bags."
    assert len(found.to_frame()) == len(found.display_frame()) == MOST_BAGS + 3


@pytest.mark.parametrize(
    "shots",
    [
        pd.DataFrame({"dose_g": [18.0, 18.0]}),
        pd.DataFrame({"bag": [None, "b"], "roasted_on": ["soon", 3], "pulled_on": ["x", None]}),
        pd.DataFrame({"bag": [1, 2], "roasted_on": [20261016, 5], "pulled_on": [1.5, 2.5]}),
        pd.DataFrame({"roast_age_d": ["old", None], "pulled_at": [True, False]}),
        pd.DataFrame({"roast_age_d": [-3.0, np.nan]}),
    ],
)
def test_odd_tables_give_reasons_and_no_age(shots: pd.DataFrame) -> None:
    before = shots.copy()
    found = roast_ages(shots)
    assert found.n_shots == 0
    assert sum(each.count for each in found.dropped) == 2
    assert "roast age" in found.summary()
    pd.testing.assert_frame_equal(shots, before)


def test_an_empty_table_has_no_ages() -> None:
    found = roast_ages(pd.DataFrame({"bag": []}))
    assert (found.n_shots, found.bags, len(found.to_frame())) == (0, (), 0)
    assert found.sentences == ("There are no shots, and so no roast ages.",)


def test_a_table_without_bags_is_one_bag() -> None:
    found = roast_ages(table([5, 9]).drop(columns="bag"))
    assert found.sentences == ("Both shots of the bag have a roast age, 5 to 9 days.",)


def test_days_may_be_texts_and_moments_carry_their_own_day() -> None:
    moments = pd.to_datetime(["2026-10-20T00:30", "2026-10-24T23:30"]).tz_localize("Europe/Berlin")
    shots = pd.DataFrame({"pulled_at": moments, "roasted_on": "2026-10-16"})
    (bag,) = roast_ages(shots).bags
    assert (bag.first_age_d, bag.last_age_d) == (4.0, 8.0)


def test_the_row_labels_of_a_table_make_no_difference() -> None:
    shots = table([5, 9])
    odd = shots.set_axis([7, 7])
    assert roast_ages(odd).to_frame().equals(roast_ages(shots).to_frame())


def test_text_from_a_log_is_shown_and_never_run() -> None:
    shots = table([5, 9], bag="<script>\x1b[31m" + "x" * 90)
    shots.loc[1, "roasted_on"] = pd.Timestamp("2026-10-17")
    found = roast_ages(shots)
    for shown in (found.summary(), *found.sentences, *(each.text for each in found.cautions)):
        assert "\x1b" not in shown
    assert "<script>" not in found._repr_html_()
    assert max(map(len, found.summary().splitlines())) <= 80


def test_the_table_has_one_row_a_bag_at_full_precision() -> None:
    shots = table([5, 9], opened_on=ROAST + pd.Timedelta(days=2))
    shots.loc[1, "pulled_on"] = pd.NaT
    (row,) = roast_ages(shots).to_frame().to_dict("records")
    assert row == {
        "bag": "bag-21",
        "roasted_on": ROAST,
        "n_shots": 2,
        "n_with_age": 1,
        "n_typed": 0,
        "first_age_d": 5.0,
        "last_age_d": 5.0,
        "frozen_d": pytest.approx(np.nan, nan_ok=True),
        "n_freezes": 0,
        "opened_on": ROAST + pd.Timedelta(days=2),
        "opened_at_age_d": 2.0,
        "unknown": "1 without a day of the pull",
    }


@given(
    st.lists(st.integers(0, 60), min_size=1, max_size=8),
    st.integers(0, 40),
    st.integers(0, 20),
    st.integers(-3000, 3000),
)
def test_shifting_every_day_changes_no_age(
    days: list[int], first: int, length: int, shift: int
) -> None:
    shots = table(
        days,
        frozen_on=ROAST + pd.Timedelta(days=first),
        thawed_on=ROAST + pd.Timedelta(days=first + length),
    )
    dates = ["roasted_on", "pulled_on", "frozen_on", "thawed_on"]
    moved = shots.assign(**{name: shots[name] + pd.Timedelta(days=shift) for name in dates})
    (here,), (there,) = roast_ages(shots).bags, roast_ages(moved).bags
    assert (here.first_age_d, here.last_age_d) == (there.first_age_d, there.last_age_d)
    oldest = max(days)
    frozen = max(0, min(first + length, oldest) - first)
    assert here.last_age_d == oldest - frozen


@given(st.lists(st.integers(0, 60), min_size=1, max_size=8))
def test_every_shot_is_counted_once(days: list[int]) -> None:
    shots = table(days)
    shots["roasted_on"] = shots["roasted_on"].where(np.arange(len(days)) % 3 > 0)
    found = roast_ages(pd.concat([shots, shots.assign(bag="other")], ignore_index=True))
    assert found.n_shots + sum(each.count for each in found.dropped) == 2 * len(days)
    assert [bag.n_shots for bag in found.bags] == [len(days)] * 2
