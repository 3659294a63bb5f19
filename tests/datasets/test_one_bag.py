"""Read as any log, the demo of one bag is as friendly as its README says, and no friendlier."""

from __future__ import annotations

import math

import numpy as np
import pandas as pd
import pytest

from tests.conftest import ROOT
from tests.datasets.followed import TRUTH, counted, fitted, spread_by_barista
from yieldwright.shotlog import ShotLog, read_log
from yieldwright.simulate import DemoTruth, read_demo_truth
from yieldwright.simulate.mess import SCRIBBLED_LINES
from yieldwright.simulate.one_bag import FIXED_SETTING, FOLLOWED

DEMO = ROOT / "datasets" / "one-bag"
EARLIER = ("bag-11", "bag-12", "bag-14")
ON_TIME = ("grind", "fresh", "old", "cleaned")


@pytest.fixture(scope="module")
def log() -> ShotLog:
    return read_log(DEMO)


@pytest.fixture(scope="module")
def known() -> DemoTruth:
    return read_demo_truth(DEMO / "truth.json")


@pytest.fixture(scope="module")
def followed(log: ShotLog) -> pd.DataFrame:
    return log.shots[log.shots["bag"] == FOLLOWED]


@pytest.fixture(scope="module")
def shots(log: ShotLog) -> pd.DataFrame:
    return counted(log)


def test_every_line_is_accounted_for_and_none_set_aside(log: ShotLog) -> None:
    file = log.reading.files[0]
    assert log.reading.adds_up
    assert file.lines_read == 1 + 94 + sum(SCRIBBLED_LINES.values())
    assert log.set_aside.empty


def test_nothing_is_flagged_but_the_reading_called_rough(log: ShotLog) -> None:
    assert log.flags["column"].tolist() == ["peak_bar"]


def test_the_bag_is_followed_in_thirteen_sessions(followed: pd.DataFrame) -> None:
    assert len(followed) == 58
    sizes = followed.groupby("session").size()
    assert len(sizes) == 13
    assert set(sizes) == {4, 5}


def test_ages_read_from_the_log_are_the_true_ones(log: ShotLog, known: DemoTruth) -> None:
    read = log.shots.groupby("session")["roast_age_d"].unique().map(list)
    true = known.days.set_index("session")["roast_age_d"]
    assert read.to_dict() == {session: [age] for session, age in true.items()}


def test_nine_days_in_the_freezer_add_nothing_to_the_age(followed: pd.DataFrame) -> None:
    on_shelf = (followed["pulled_on"] - followed["roasted_on"]).dt.days
    thawed = followed["thawed_on"].notna()
    assert (on_shelf - followed["roast_age_d"] == np.where(thawed, 9, 0)).all()
    assert followed["roast_age_d"].agg(["min", "max"]).tolist() == [4, 36]


def test_a_row_before_the_freeze_knows_nothing_of_it(followed: pd.DataFrame) -> None:
    before = followed["pulled_on"] <= pd.Timestamp("2026-02-19")
    assert before.any()
    assert followed.loc[before, ["frozen_on", "thawed_on"]].isna().all(axis=None)
    assert followed.loc[~before, ["frozen_on", "thawed_on"]].notna().all(axis=None)


def test_every_session_pulls_at_the_fixed_setting(followed: pd.DataFrame) -> None:
    later = followed[followed["position"] > 1]
    settings = later.groupby("session")["grind_setting"].unique().map(set)
    assert all(FIXED_SETTING in own and len(own) > 1 for own in settings)


def test_the_cleaning_is_said_once_with_a_third_of_the_sessions_to_come(
    log: ShotLog, followed: pd.DataFrame
) -> None:
    said = log.shots[log.shots["serviced"].fillna("") != ""]
    assert said["serviced"].tolist() == ["burrs cleaned"]
    since = followed["pulled_on"] >= said["pulled_on"].iloc[0]
    assert followed.loc[since, "session"].nunique() == 4


def test_two_earlier_bags_overlap_its_early_ages_and_one_nothing(log: ShotLog) -> None:
    ages = log.shots.groupby("bag")["roast_age_d"]
    first, last = ages.min().to_dict(), ages.max().to_dict()
    assert first["bag-14"] > max(last[bag] for bag in (FOLLOWED, "bag-11", "bag-12"))
    for bag in ("bag-11", "bag-12"):
        assert first[FOLLOWED] < first[bag] < last[bag] < last[FOLLOWED]


def test_earlier_bags_are_of_the_same_roast_level_and_short(log: ShotLog) -> None:
    assert set(log.shots["roast_level"]) == {"medium"}
    sizes = log.shots.groupby(["bag", "session"]).size()[list(EARLIER)]
    assert sizes.groupby("bag").size().to_dict() == dict.fromkeys(EARLIER, 3)
    assert set(sizes) == {4}


def test_it_fails_as_seldom_as_the_readme_says(log: ShotLog, followed: pd.DataFrame) -> None:
    assert set(log.shots["fate"]) == {"pulled", "channelled"}
    channelled = followed["fate"] == "channelled"
    since = followed["pulled_on"] >= pd.Timestamp(TRUTH.services[0].serviced_on)
    assert 2 <= channelled.sum() <= 4
    assert (channelled & since).sum() <= 1
    assert 1 <= (followed["stage"] == "transition").sum() <= 5


@pytest.mark.parametrize(
    ("name", "true"),
    [
        ("grind", -TRUTH.flow.per_setting),
        ("fresh", TRUTH.flow.per_setting * TRUTH.ageing.fresh_per_d),
        ("old", -TRUTH.flow.per_setting * TRUTH.ageing.old_per_d),
        ("cleaned", math.log(1 - TRUTH.services[0].faster)),
    ],
)
def test_the_interval_holds_the_true_effect_on_time(
    shots: pd.DataFrame, name: str, true: float
) -> None:
    _, low, high = fitted(shots, "log_time", *ON_TIME).interval(name)
    assert low <= true <= high


@pytest.mark.parametrize("name", ["old", "cleaned"])
def test_drift_and_cleaning_are_clear_of_zero(shots: pd.DataFrame, name: str) -> None:
    assert fitted(shots, "log_time", *ON_TIME).interval(name)[2] < 0


def test_the_score_bends_down_and_turns_near_its_true_best_day(
    shots: pd.DataFrame, known: DemoTruth
) -> None:
    score = fitted(shots, "overall", "age", "age_squared", "grind", "cleaned")
    slope, (bend, _, high) = score.interval("age")[0], score.interval("age_squared")
    assert high < 0
    assert known.following is not None
    turns_at = TRUTH.taste.best_age_d - slope / (2 * bend)
    assert turns_at == pytest.approx(known.following.best_at_fixed_setting_d, abs=3)


def test_the_student_spreads_visibly_more_than_the_educator(shots: pd.DataFrame) -> None:
    spread = spread_by_barista(shots)
    assert spread["p2"] >= 1.4 * spread["p1"]


def test_yields_are_the_true_ones_within_their_uncertainty(log: ShotLog, known: DemoTruth) -> None:
    off = log.shots["ey_pct"].to_numpy() - known.shots["ey_pct"].to_numpy()
    # Ninety-four standard normal errors stay below 4.3 with 99.8 % probability.
    assert np.nanmax(np.abs(off / log.shots["u_ey_pct"].to_numpy())) < 4.3
