"""The plan of the invented class: what can be told apart, and the one pair that cannot."""

from __future__ import annotations

import dataclasses

import numpy as np
import pandas as pd
import pytest
from hypothesis import given

from tests.simulate.made import few, seeds
from yieldwright.errors import MisalignedError, UnknownNameError
from yieldwright.simulate import EVENINGS, Truth, default_plan, plan_shots


@pytest.fixture(scope="module")
def plan() -> pd.DataFrame:
    return default_plan(np.random.default_rng(1))


def bag(plan: pd.DataFrame, code: str) -> pd.DataFrame:
    return plan[plan["bag"] == code]


def test_it_has_sixty_shots_on_eight_evenings(plan: pd.DataFrame) -> None:
    assert (len(plan), plan["session"].nunique()) == (60, 8)


def test_every_evening_begins_with_one_warm_up(plan: pd.DataFrame) -> None:
    assert ((plan["stage"] == "warm_up") == (plan["position"] == 1)).all()


@few
@given(seeds)
def test_a_shot_after_too_small_a_purge_is_a_transition(seed: int) -> None:
    plan = default_plan(np.random.default_rng(seed))
    hasty = plan["purged_g"].between(0, 2 * 1.2, inclusive="neither")
    assert ((plan["stage"] == "transition") == hasty).all()


def test_a_purge_follows_a_change_of_grind_and_nothing_else(plan: pd.DataFrame) -> None:
    changed = plan.groupby("session")["grind_setting"].diff().fillna(0) != 0
    assert ((plan["purged_g"] > 0) == changed).all()


def test_the_class_ends_before_the_as_of_day(plan: pd.DataFrame) -> None:
    assert plan["pulled_at"].max() < pd.Timestamp("2026-11-22T00:00+01:00")


def test_band_and_age_of_the_first_coffee_go_together(plan: pd.DataFrame) -> None:
    evenings = bag(plan, "bag-17").groupby("session").first()
    age_d = (evenings["pulled_at"].dt.tz_localize(None) - pd.Timestamp("2026-10-16")).dt.days
    correlation = np.corrcoef(age_d, evenings["temp_band"] == "medium")[0, 1]
    assert 1 / (1 - correlation**2) > 10


def test_the_band_of_the_first_coffee_never_changes_within_an_evening(plan: pd.DataFrame) -> None:
    assert (bag(plan, "bag-17").groupby("session")["temp_band"].nunique() < 2).all()


def test_the_band_of_the_second_coffee_changes_within_every_evening(plan: pd.DataFrame) -> None:
    assert (bag(plan, "bag-18").groupby("session")["temp_band"].nunique() == 2).all()


@few
@given(seeds)
def test_every_evening_has_every_taper(seed: int) -> None:
    plan = default_plan(np.random.default_rng(seed))
    assert (plan.groupby("session")["aimed_taper_bar"].nunique() == 3).all()


def test_people_wait_after_a_change_of_band(plan: pd.DataFrame) -> None:
    evenings = plan.groupby("session")
    gap = evenings["pulled_at"].diff().dt.total_seconds() / 60
    waited = (plan["temp_band"] != evenings["temp_band"].shift()) & gap.notna()
    assert gap[waited].min() > gap[~waited].max()


def test_one_evening_can_be_planned_alone() -> None:
    alone = plan_shots(EVENINGS[:1], np.random.default_rng(2), truth=Truth())
    assert alone["shot"].tolist()[:2] == ["s01", "s02"]


@few
@given(seeds)
def test_every_evening_repeats_one_shot(seed: int) -> None:
    plan = default_plan(np.random.default_rng(seed))
    like = plan.groupby("session")[["grind_setting", "aimed_taper_bar"]].diff().eq(0).all(axis=1)
    assert like.groupby(plan["session"]).any().all()


@pytest.mark.parametrize("n", range(1, 6))
def test_a_short_evening_can_be_planned(n: int) -> None:
    short = dataclasses.replace(EVENINGS[0], grinds=(12.0,) * n)
    assert len(plan_shots((short,), np.random.default_rng(3), truth=Truth())) == n


def test_a_coffee_the_truth_does_not_know_is_refused() -> None:
    other = dataclasses.replace(EVENINGS[0], bag="bag-99")
    with pytest.raises(UnknownNameError, match="no bag 'bag-99'; known are bag-17 and bag-18"):
        plan_shots((other,), np.random.default_rng(4), truth=Truth())


def test_a_band_the_bench_does_not_have_is_refused() -> None:
    with pytest.raises(UnknownNameError, match="no band 'tepid'"):
        dataclasses.replace(EVENINGS[0], bands=("tepid",))


def test_bands_for_some_of_the_shots_only_are_refused() -> None:
    with pytest.raises(MisalignedError, match="7 grind settings and 2 bands"):
        dataclasses.replace(EVENINGS[0], bands=("low", "medium"))
