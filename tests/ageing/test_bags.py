"""Bags compared at equal age: the difference that was put in, and refusals that name a remedy."""

from __future__ import annotations

import math
from dataclasses import replace
from datetime import date
from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from tests.ageing.bag_logs import BENCH, bag, together
from yieldwright.ageing.compared.bags import BagsCompared, compare_bags, compare_bags_of
from yieldwright.errors import UnknownNameError
from yieldwright.models.contrasts.contrasts import holm
from yieldwright.shotlog import read_log
from yieldwright.taste.columns.comparable import ComparableSet

DAYS = [5, 8, 11, 14, 17, 20, 23, 26]
LATER = [11, 14, 17, 20, 23, 26, 29, 32]


def compared(comparable: ComparableSet) -> BagsCompared:
    return compare_bags_of(comparable, "time_s", bench=BENCH)


@pytest.fixture(scope="module")
def two() -> BagsCompared:
    """Return two bags, the second 3 s slower and pulled six days older."""
    return compared(together(bag("bag-21", DAYS), bag("bag-22", LATER, level=3.0, seed=2)))


def test_the_difference_is_the_one_that_was_put_in(two: BagsCompared) -> None:
    (pair,) = two.compared
    found = pair.difference
    assert found is not None
    assert found.ci_low < 3.0 < found.ci_high
    assert found.ci_high - found.ci_low < 1.5


def test_plain_means_of_the_bags_would_have_been_wrong() -> None:
    # Six days older at −0.25 s a day: 1.5 s of the difference is age and not the bag.
    both = together(bag("bag-21", DAYS), bag("bag-22", LATER, level=3.0, seed=2)).shots
    means = both.groupby("bag")["time_s"].mean()
    assert means["bag-22"] - means["bag-21"] == pytest.approx(1.5, abs=0.5)


def test_bags_are_compared_inside_the_ages_both_share(two: BagsCompared) -> None:
    (pair,) = two.pairs
    assert pair.shared == (11, 26)
    assert 11 <= pair.age_d <= 26
    assert pair.n_shots == two.n_shots == 36


def test_what_lies_outside_the_shared_ages_has_no_say(two: BagsCompared) -> None:
    shots = together(bag("bag-21", DAYS), bag("bag-22", LATER, level=3.0, seed=2)).shots
    outside = ~shots["roast_age_d"].between(11, 26)
    wild = shots.assign(time_s=shots["time_s"].where(~outside, 99.0))
    (pair,) = compared(ComparableSet("", "mill", wild)).compared
    assert pair.difference == two.compared[0].difference


def test_turning_the_bags_around_turns_the_sign(two: BagsCompared) -> None:
    turned = compared(
        together(bag("bag-22", LATER, level=3.0, seed=2), bag("bag-21", DAYS, after_d=90))
    )
    first, second = two.compared[0].difference, turned.compared[0].difference
    assert first is not None
    assert second is not None
    assert second.estimate == pytest.approx(-first.estimate)
    assert second.ci_low == pytest.approx(-first.ci_high)


def test_another_origin_of_age_changes_no_difference(two: BagsCompared) -> None:
    moved = compared(
        together(
            bag("bag-21", [day + 4 for day in DAYS]),
            bag("bag-22", [day + 4 for day in LATER], level=3.0, seed=2),
        )
    )
    first, second = two.compared[0], moved.compared[0]
    assert first.difference is not None
    assert second.difference is not None
    assert second.age_d == first.age_d + 4
    assert second.difference.estimate == pytest.approx(first.difference.estimate)


def test_the_sentence_names_age_grind_interval_and_shots(two: BagsCompared) -> None:
    sentence = two.sentences[0]
    for part in ("and the same grind setting", "bag-22 took", "than bag-21", "95 % interval",
                 "36 shots in 12 sessions"):  # fmt: skip
        assert part in sentence


def test_bags_that_are_alike_are_told_so_with_their_interval() -> None:
    alike = compared(together(bag("bag-21", DAYS, seed=5), bag("bag-22", LATER, seed=6)))
    assert "no difference in shot time shows between bag-21 and bag-22" in alike.sentences[0]
    assert "95 % interval" in alike.sentences[0]


def test_bags_that_age_differently_are_told_at_both_ends() -> None:
    apart = compared(together(bag("bag-21", DAYS), bag("bag-22", LATER, per_day=0.25, seed=2)))
    (pair,) = apart.compared
    assert [round(end.estimate) for end in pair.at_ends] == [
        round(0.5 * 11), round(0.5 * 26)
    ]  # fmt: skip
    assert "do not age alike" in apart.sentences[0]


def test_bags_of_other_roasts_are_named() -> None:
    found = compared(together(bag("bag-21", DAYS), bag("bag-22", LATER, roast_level="dark")))
    (caution,) = found.cautions
    assert caution.code == "bags-of-other-roasts"
    assert "bag-21 is medium and bag-22 dark" in caution.sentence


def test_several_pairs_are_corrected_for_their_number() -> None:
    three = compared(
        together(bag("a", DAYS), bag("b", LATER, level=0.4, seed=2), bag("c", DAYS, seed=3))
    )
    plain = [pair.difference.p_value for pair in three.pairs if pair.difference is not None]
    assert list(three.p_holm) == pytest.approx(holm(plain).tolist())
    assert "3 pairs were looked at" in " ".join(three.sentences)


def test_bags_pulled_in_the_same_sessions_share_what_the_day_did(tmp_path: Path) -> None:
    first, second = bag("bag-21", DAYS, spread=0.0), bag("bag-22", DAYS, level=2.0, spread=0.0)
    rng = np.random.default_rng(3)
    days = np.repeat(rng.normal(0, 5.0, len(DAYS)), 3)  # days differ by far more than bags
    shots = pd.concat([first, second], ignore_index=True)
    noise = rng.normal(0, 0.2, len(shots))
    shots["time_s"] += np.concatenate([days, days]) + noise
    shots["session"] = shots["session"].str.replace(r"^bag-2\d", "both", regex=True)
    found = compared(ComparableSet("", "mill", shots))
    difference = found.compared[0].difference
    assert difference is not None
    assert difference.ci_low < 2.0 < difference.ci_high
    assert difference.ci_high - difference.ci_low < 0.6


def test_no_age_in_common_is_refused_with_both_spans_and_the_shot_that_mends_it() -> None:
    found = compared(
        together(bag("bag-21", [9, 11, 14]), bag("bag-22", [3, 4, 6], after_d=7, seed=2))
    )
    assert found.compared == ()
    (sentence,) = found.sentences
    assert "bag-21 was pulled at 9 to 14 days and bag-22 at 3 to 6 days" in sentence
    assert sentence.endswith("Pull bag-22 again at 9 to 14 days.")


def test_a_bag_that_is_too_old_by_now_is_not_asked_for() -> None:
    both = together(bag("bag-21", [9, 11, 14]), bag("bag-22", [3, 4, 6], seed=2))
    late = compared(replace(both, as_of=date(2027, 1, 1)))
    assert "pull the next bag at 9 to 14 days" in late.sentences[0]


def test_one_age_in_common_is_not_enough() -> None:
    found = compared(together(bag("bag-21", [5, 8, 11]), bag("bag-22", [11, 14, 17])))
    assert "a single age in common" in found.sentences[0]


def test_a_few_shots_in_common_are_refused_and_counted() -> None:
    found = compared(together(bag("bag-21", [5, 8, 11]), bag("bag-22", [8, 11, 14, 17])))
    assert "there are only 12 shots in 4 sessions" in found.sentences[0]
    assert "on at least two days" in found.sentences[0]


def test_an_unknown_age_is_a_reason_and_not_a_zero() -> None:
    ageless = bag("bag-22", LATER).assign(roast_age_d=np.nan)
    found = compared(together(bag("bag-21", DAYS), ageless))
    assert "the roast age of bag-22 is not known" in found.sentences[0]
    assert found.compared == ()


def test_a_bag_always_ground_otherwise_is_refused_with_the_setting_to_pull() -> None:
    found = compared(
        together(bag("bag-21", DAYS, grinds=(11.0,) * 3), bag("bag-22", LATER, grinds=(13.0,) * 3))
    )
    assert "the grind setting changed with the bag" in found.sentences[0]
    assert "Pull bag-22 at the grind setting of bag-21 too." in found.sentences[0]
    assert found.compared == ()


def test_one_bag_has_nothing_to_be_compared_with() -> None:
    found = compared(together(bag("bag-21", DAYS)))
    assert "nothing to compare it with" in found.missing
    assert found.to_frame().empty
    assert "nothing to compare it with" in found.summary()


def test_the_table_holds_every_pair_and_why_it_was_not_compared(two: BagsCompared) -> None:
    third = together(
        bag("bag-21", DAYS), bag("bag-22", LATER, level=3.0, seed=2), bag("bag-23", [60, 63])
    )
    table = compared(third).to_frame()
    assert len(table) == 3
    assert sorted(table["why"]) == ["", "no age in common", "no age in common"]
    assert table.loc[table["why"] != "", "estimate"].isna().all()


def test_inputs_are_left_as_they_are() -> None:
    both = together(bag("bag-21", DAYS), bag("bag-22", LATER))
    before = both.shots.copy()
    compared(both)
    pd.testing.assert_frame_equal(both.shots, before)


@pytest.fixture
def log_file(tmp_path: Path) -> Path:
    """Return a log of two bags as a file."""
    shots = together(bag("bag-21", DAYS), bag("bag-22", LATER, level=3.0, seed=2)).shots
    day = pd.Timestamp("2026-03-02")
    lines = shots.assign(
        roasted_on=(shots["pulled_on"] - pd.to_timedelta(shots["roast_age_d"], unit="D")).dt.date,
        pulled_at=shots["pulled_on"].dt.strftime("%Y-%m-%dT18:00"),
        time_s=shots["time_s"].round(1),
        stage="counted",
    ).drop(columns=["pulled_on", "roast_age_d"])
    assert (lines["roasted_on"] == day.date()).all()
    path = tmp_path / "shots.csv"
    lines.to_csv(path, index=False)
    return path


def test_a_log_is_compared_as_its_shots_are(log_file: Path, two: BagsCompared) -> None:
    log = read_log(log_file)
    found = compare_bags(log, "time_s", bench=BENCH)
    first, second = two.compared[0].difference, found.compared[0].difference
    assert first is not None
    assert second is not None
    assert second.estimate == pytest.approx(first.estimate, abs=0.05)  # rounded to 0.1 s


def test_a_bag_that_is_not_there_is_refused_with_those_that_are(log_file: Path) -> None:
    log = read_log(log_file)
    with pytest.raises(UnknownNameError, match=r"did you mean 'bag-2[12]'"):
        compare_bags(log, "time_s", bags=["bag-2"], bench=BENCH)


def test_codes_that_mean_harm_are_shown_as_they_are() -> None:
    odd = "\x1b[31m<b>"
    found = compared(together(bag("bag-21", DAYS), bag(odd, LATER, seed=2)))
    assert "\x1b" not in found.summary()
    assert "<b>" not in found._repr_html_()
    assert math.isfinite(found.p_holm[0])
