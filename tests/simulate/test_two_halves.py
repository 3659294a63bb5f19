"""Two halves of one invented bag: pulled in turns at one setting, parted by the freezer alone."""

from __future__ import annotations

import dataclasses
import subprocess
import sys
from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from yieldwright.ageing import pair_bags
from yieldwright.errors import MisalignedError, UnknownNameError
from yieldwright.shotlog import ShotLog, read_log
from yieldwright.simulate import (
    EVENINGS,
    Truth,
    plan_shots,
    read_demo_truth,
    two_halves_truth,
    write_two_halves,
)
from yieldwright.simulate.two_halves import FROZEN, KEPT

SEED = 7


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    made = tmp_path_factory.mktemp("halves")
    write_two_halves(made, SEED)
    return made


@pytest.fixture(scope="module")
def log(folder: Path) -> ShotLog:
    return read_log(folder)


def test_the_command_writes_the_same_bytes(folder: Path, tmp_path: Path) -> None:
    asked = ["--demo", "two-halves", "--seed", str(SEED)]
    subprocess.run([sys.executable, "-m", "yieldwright.simulate", tmp_path, *asked], check=True)
    assert {path.name: path.read_bytes() for path in tmp_path.iterdir()} == {
        path.name: path.read_bytes() for path in folder.iterdir()
    }


def test_the_truth_comes_back(folder: Path) -> None:
    known = read_demo_truth(folder / "truth.json")
    assert (known.seed, known.truth) == (SEED, two_halves_truth())


def test_each_session_has_two_counted_shots_of_each_half_at_one_setting(log: ShotLog) -> None:
    counted = log.shots[log.shots["stage"] == "counted"]
    each = counted.groupby(["session", "bag"]).size()
    assert each.tolist() == [2] * 16
    assert set(counted["grind_setting"]) == {12.0}


def test_halves_take_turns_so_that_neither_comes_first(log: ShotLog) -> None:
    counted = log.shots[log.shots["stage"] == "counted"]
    places = counted.groupby(["session", "bag"])["position"].mean().unstack()
    assert (places[FROZEN] == places[KEPT]).all()
    firsts = counted.groupby("session")["bag"].first()
    assert firsts.tolist() == [FROZEN, KEPT] * 4


def test_the_freezer_is_all_that_the_ages_differ_by(log: ShotLog) -> None:
    ages = log.shots.groupby(["session", "bag"])["roast_age_d"].first().unstack()
    assert (ages[KEPT] - ages[FROZEN]).tolist() == [14.0] * 8
    assert (ages.to_numpy().min(), ages.to_numpy().max()) == (9, 44)


def test_the_log_is_told_as_halves_without_doubts(log: ShotLog) -> None:
    found = pair_bags(log, "overall", bags=(FROZEN, KEPT), bench=log.bench)
    assert (found.kind, found.n_sessions, found.cautions) == ("two halves", 8, ())
    assert any("differ in the freezing alone" in sentence for sentence in found.sentences)


def test_bags_of_an_evening_fit_its_shots_and_are_known() -> None:
    evening = EVENINGS[0]
    with pytest.raises(MisalignedError, match="1 bags"):
        dataclasses.replace(evening, bags=("bag-17",))
    several = dataclasses.replace(evening, bags=("bag-17", "bag-18", "bag-17") + ("bag-18",) * 4)
    plan = plan_shots((several,), np.random.default_rng(1), truth=Truth())
    assert plan["bag"].tolist() == list(several.bags)
    assert plan.groupby("bag")["roast_level"].nunique().eq(1).all()
    unknown = dataclasses.replace(evening, bags=("bag-99",) * 7)
    with pytest.raises(UnknownNameError, match="bag-99"):
        plan_shots((unknown,), np.random.default_rng(1), truth=Truth())


def test_an_evening_of_one_bag_is_planned_as_before() -> None:
    one = dataclasses.replace(EVENINGS[0], bags=("bag-17",) * 7)
    plans = [
        plan_shots((each,), np.random.default_rng(1), truth=Truth()) for each in (EVENINGS[0], one)
    ]
    pd.testing.assert_frame_equal(*plans)
