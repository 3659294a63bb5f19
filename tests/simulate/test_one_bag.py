"""A bag that is followed: what is stated as true of it holds, and its files are made anew."""

from __future__ import annotations

import dataclasses
import subprocess
import sys
from pathlib import Path

import numpy as np
import pandas as pd
import pytest
from hypothesis import given

from tests.simulate.made import TRUTH, few, plan, seeds
from yieldwright.bench.reading import read_bench
from yieldwright.simulate import (
    DemoTruth,
    Truth,
    expected_time,
    one_bag_truth,
    pull_shots,
    read_demo_truth,
    write_one_bag,
)
from yieldwright.simulate.following import followed_days, what_is_true
from yieldwright.simulate.laws import Person
from yieldwright.simulate.one_bag import FIXED_SETTING, FOLLOWED

SEED = 7
KNOWN = one_bag_truth()


@pytest.fixture(scope="module")
def demo(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Path]:
    folder = tmp_path_factory.mktemp("bag")
    return {path.name: path for path in write_one_bag(folder, SEED)}


@pytest.fixture(scope="module")
def known(demo: dict[str, Path]) -> DemoTruth:
    return read_demo_truth(demo["truth.json"])


def test_the_command_writes_the_same_bytes(demo: dict[str, Path], tmp_path: Path) -> None:
    asked = ["--demo", "one-bag", "--seed", str(SEED)]
    subprocess.run([sys.executable, "-m", "yieldwright.simulate", tmp_path, *asked], check=True)
    assert {path.name: path.read_bytes() for path in tmp_path.iterdir()} == {
        name: path.read_bytes() for name, path in demo.items()
    }


def test_the_truth_comes_back_with_its_days(known: DemoTruth) -> None:
    assert (known.seed, known.truth) == (SEED, KNOWN)
    assert len(known.shots) == 94
    assert len(known.days) == 22
    assert known.following is not None
    assert known.following.times_sd == {"p1": 0.8, "p2": 1.7}


def test_the_bench_file_states_the_grinder_of_the_truth(demo: dict[str, Path]) -> None:
    assert read_bench(demo["bench.toml"]).grinders == (KNOWN.grinder,)


def test_the_holding_setting_gives_the_time_of_the_law(known: DemoTruth) -> None:
    days = known.days
    moments = {
        session: pd.Timestamp(bag.roasted_on) + pd.Timedelta(days=age + frozen)
        for session, code, age, frozen in zip(
            days["session"], days["bag"], days["roast_age_d"], days["frozen_d"], strict=True
        )
        for bag in KNOWN.bags
        if bag.bag == code
    }
    shots = plan(
        session=days["session"].tolist(),
        bag=days["bag"].tolist(),
        grind_setting=days["holding_setting"].tolist(),
        pulled_at=[moments[session].tz_localize("+01:00") for session in days["session"]],
    )
    # Settings are rounded to a millionth in the file.
    assert expected_time(KNOWN, shots).to_numpy() == pytest.approx(KNOWN.flow.time_s, abs=1e-4)


def test_the_need_falls_and_rises_with_the_law_of_age(known: DemoTruth) -> None:
    own = known.days[(known.days["bag"] == FOLLOWED) & (known.days["roast_age_d"] < 28)]
    law, age = KNOWN.ageing, own["roast_age_d"]
    per_day = np.diff(own["holding_setting"]) / np.diff(age)
    fresh = age.to_numpy()[1:] <= law.rest_d
    expected = np.where(fresh, law.fresh_per_d, -law.old_per_d)
    assert per_day == pytest.approx(expected, abs=1e-5)


def test_where_only_age_is_tasted_the_bag_is_best_at_its_best_age() -> None:
    taste = dataclasses.replace(
        KNOWN.taste, per_ey_squared=0.0, per_tds_squared=0.0, best_age_d=18.3
    )
    truth = dataclasses.replace(KNOWN, taste=taste)
    found = what_is_true(truth, FOLLOWED, fixed_setting=FIXED_SETTING)
    assert found.best_at_fixed_setting_d == pytest.approx(18.3)
    assert found.best_at_held_time_d == pytest.approx(18.3)


def test_on_a_grinder_numbered_the_other_way_the_bag_asks_for_higher_numbers() -> None:
    down = dataclasses.replace(KNOWN.grinder, coarser="down")
    mirrored = dataclasses.replace(KNOWN, grinder=down)
    up = what_is_true(KNOWN, FOLLOWED, fixed_setting=FIXED_SETTING)
    other = what_is_true(mirrored, FOLLOWED, fixed_setting=FIXED_SETTING)
    assert other.old_settings_per_d == -up.old_settings_per_d


def test_a_freeze_does_not_move_the_best_age() -> None:
    bags = tuple(dataclasses.replace(bag, freezes=()) for bag in KNOWN.bags)
    never = dataclasses.replace(KNOWN, bags=bags)
    assert what_is_true(never, FOLLOWED, fixed_setting=24) == what_is_true(
        KNOWN, FOLLOWED, fixed_setting=24
    )


@few
@given(seeds)
def test_days_do_not_depend_on_chance(seed: int) -> None:
    shots = [
        pull_shots(TRUTH, plan(grind_setting=[12.0, 13.0]), np.random.default_rng(each))
        for each in (seed, seed + 1)
    ]
    first, second = (followed_days(TRUTH, each, fixed_setting=12) for each in shots)
    pd.testing.assert_frame_equal(first, second)


def test_who_is_less_steady_spreads_as_many_times_as_stated() -> None:
    n = 4000
    flow = dataclasses.replace(TRUTH.flow, session_sd=0.0)
    truth = dataclasses.replace(TRUTH, flow=flow, people=(Person("p2", times_sd=2.0),))
    shots = pull_shots(truth, plan(barista=["p1", "p2"] * n), np.random.default_rng(3))
    pulled = shots[shots["fate"] == "pulled"]
    left = np.log(pulled["time_s"] / expected_time(truth, pulled))
    spread = left.groupby(pulled["barista"]).std()
    # Relative standard error of a ratio of two SDs of n shots each: 1 / sqrt(n).
    assert spread["p2"] / spread["p1"] == pytest.approx(2.0, rel=4 / np.sqrt(0.9 * n))


def test_a_truth_with_freezes_and_services_comes_back_from_its_text() -> None:
    assert Truth.from_json(KNOWN.to_json()) == KNOWN


def test_a_truth_that_says_nothing_of_them_does_not_mention_them() -> None:
    text = Truth().to_json()
    for name in ("freezes", "opened_on", "services", "people", "best_age_d", "per_age_squared"):
        assert f'"{name}"' not in text
