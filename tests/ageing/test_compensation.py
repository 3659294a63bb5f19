"""The setting for a day: for the bench as it was on that day, and never a number not tried."""

from __future__ import annotations

import functools
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
from yieldwright.ageing.following import follow
from yieldwright.ageing.grind.compensation import Compensation, compensate
from yieldwright.ageing.grind.compensation_words import setting_limits
from yieldwright.ageing.grind.reacting_grind import grind_reacted
from yieldwright.ageing.trend.model import fit_trend
from yieldwright.ageing.trend.rows import bag_rows
from yieldwright.ageing.trend.state import service_at, state_at
from yieldwright.bench import Bench, Grinder
from yieldwright.shotlog import read_log
from yieldwright.simulate import read_demo_truth
from yieldwright.taste.columns.comparable import ComparableSet
from yieldwright.taste.columns.servicing import service_stretches

DAYS = [4.0, 7.0, 10.0, 13.0, 16.0, 19.0, 22.0, 25.0]

DEMO = Path(__file__).resolve().parents[2] / "datasets" / "one-bag"

TARGET_S = 36.0

#: What a service adds from day 16 on, a whole number of settings. [s]
STEP_S = -8.0


def in_stretches(shots: pd.DataFrame) -> ComparableSet:
    """Return shots of one bag with the services they lie between."""
    return together(shots.assign(service_stretch=service_stretches(shots)))


def told(shots: pd.DataFrame, bench: Bench = BENCH) -> Compensation:
    """Return how the grind must follow some shots of one bag."""
    rows = bag_rows(in_stretches(shots), "time_s", bench=bench)
    return compensate(fit_trend(rows), told_in=shots)


def cleaned(**changes: object) -> pd.DataFrame:
    """Return a bag whose shots run faster by two settings from day 16 on."""
    grinds = (9.0, 10.0, 11.0, 12.0, 13.0)
    shots = bag("bag-1", DAYS, grinds=grinds, **changes)
    return serviced(shots, "bag-1, day 4", "burrs cleaned", STEP_S)


def true_setting(age_d: float, target_s: float = TARGET_S) -> float:
    """Return the setting that gives the target by the law that was put in."""
    level = LEVEL_S + PER_DAY_S * age_d + (STEP_S if age_d >= 16 else 0.0)
    return 12 + (target_s - level) / PER_SETTING_S


@functools.cache
def demo() -> Compensation:
    """Return what the demo log says of its last bag."""
    found = follow(read_log(DEMO), of="time_s").compensation
    assert found is not None
    return found


# --- the state a setting is told for


def test_on_each_day_of_the_demo_log_the_setting_lies_within_a_click_of_the_true_one() -> None:
    found = demo()
    days = read_demo_truth(DEMO / "truth.json").days
    days = days[days["bag"] == found.model.rows.comparable.bag]
    needed = found.needed_at(days["roast_age_d"].to_numpy())
    true = days["holding_setting"].to_numpy()
    assert (np.abs(needed["setting"] - true) < 1.0).all()  # one click of that grinder
    assert ((needed["low"] <= true) & (true <= needed["high"])).all()


def test_before_and_since_a_service_a_day_has_the_setting_of_its_own_bench() -> None:
    needed = told(cleaned()).needed_at([7.0, 15.0, 16.0, 24.0])
    target = told(cleaned()).target_s
    for row in needed.to_dict("records"):
        assert row["setting"] == pytest.approx(true_setting(row["roast_age_d"], target), abs=0.3)
        assert row["low"] < true_setting(row["roast_age_d"], target) < row["high"]
    names = ["before 2026-03-18"] * 2 + ["since 2026-03-18"] * 2
    assert needed["service_stretch"].tolist() == names


def test_a_needed_setting_gives_the_target_by_the_model_itself() -> None:
    found = told(cleaned())
    model = found.model
    for row in found.needed_at(DAYS).to_dict("records"):
        at = {"grind_setting": row["setting"], "service_stretch": row["service_stretch"]}
        weights = model.level_at(row["roast_age_d"], at)
        assert weights @ model.fit.params == pytest.approx(found.target_s)


def test_the_sentence_names_the_service_since_which_a_setting_holds() -> None:
    said = told(cleaned()).sentences[-1]
    assert "as the bench is since the service “burrs cleaned” on 2026-03-18" in said
    assert "since" not in told(bag("bag-1", DAYS)).sentences[-1]


def test_a_service_is_in_force_from_the_first_shot_after_it() -> None:
    rows = told(cleaned()).model.rows
    at = [service_at(rows, age) for age in (0.0, 15.9, 16.0, 99.0)]
    assert at == ["before 2026-03-18"] * 2 + ["since 2026-03-18"] * 2
    assert service_at(rows) == "since 2026-03-18"
    assert service_at(told(bag("bag-1", DAYS)).model.rows) is None


def test_a_setting_is_told_for_the_band_of_most_shots() -> None:
    shots = bag("bag-1", DAYS, grinds=(11.0, 12.0, 13.0))
    high = shots.index % 4 == 0
    faster = shots["time_s"] - 6.0 * high
    shots = shots.assign(temp_band=np.where(high, "high", "medium"), time_s=faster)
    found = told(shots)
    assert state_at(found.model.rows) == {"temp_band": "medium"}
    (row,) = found.needed_at([10.0]).to_dict("records")
    true = 12 + (found.target_s - LEVEL_S - PER_DAY_S * 10.0) / PER_SETTING_S
    assert row["setting"] == pytest.approx(true, abs=0.2)
    assert found.sentences[-1].endswith("for a shot as most were pulled (the medium band).")


def test_a_dose_that_differs_is_told_with_the_setting() -> None:
    shots = bag("bag-1", DAYS, grinds=(11.0, 12.0, 13.0))
    found = told(shots.assign(dose_g=18 + 0.1 * np.resize([-1, 1, 0, 1, -1], len(shots))))
    assert found.sentences[-1].endswith("as the others were pulled (dose 18 g).")


# --- nothing that was not tried


@pytest.mark.parametrize(
    ("limits", "coarser_up", "words"),
    [
        ((17.2, 19.6), True, "17.2 to 19.6"),
        ((13.9, 19.6), True, "finer than tried to 19.6"),
        ((13.9, 19.6), False, "coarser than tried to 19.6"),
        ((20.2, 27.0), True, "20 to coarser than tried"),
        ((13.0, 27.0), False, "coarser than tried to finer than tried"),
    ],
)
def test_a_limit_beyond_the_settings_tried_is_no_number(
    limits: tuple[float, float], coarser_up: bool, words: str
) -> None:
    assert setting_limits(*limits, (16.0, 25.0), coarser_up=coarser_up) == words


def test_a_setting_beyond_those_tried_is_told_by_its_way_alone() -> None:
    fast = bag("bag-1", DAYS, level=-14.0)
    bench = Bench(grinders=BENCH.grinders, recipe=BENCH.recipe)
    assert "go on finer from 11 and look" in with_target(fast, bench).sentences[-1]
    mirrored = fast.assign(grind_setting=24 - fast["grind_setting"])
    down = Bench(grinders=(Grinder("mill", step=0.5, coarser="down", stated=True),))
    assert "go on finer from 13 and look" in with_target(mirrored, down).sentences[-1]


def with_target(shots: pd.DataFrame, bench: Bench) -> Compensation:
    """Return what holds 36 s, which the bench states."""
    recipe = bench.recipe.__class__(time_s=TARGET_S)
    return told(shots, Bench(grinders=bench.grinders, recipe=recipe))


# --- a grind that follows the shot before


def chased(seed: int, *, reacts: bool, sessions: int = 10, shots: int = 3) -> pd.DataFrame:
    """Return shots ground by how long the one before ran, or by lot."""
    rng = np.random.default_rng(seed)
    rows, grind, time_s = [], 12.0, TARGET_S
    for day in range(sessions):
        shift = rng.normal(0, 1.2)
        for _ in range(shots):
            if reacts:
                grind += np.round((time_s - TARGET_S) / 4 * 2) / 2
            else:
                grind = 12.0 + rng.choice([-1.0, 0.0, 1.0])
            time_s = TARGET_S - 0.25 * 3 * day - 4 * (grind - 12) + shift + rng.normal(0, 2.0)
            rows.append((f"s{len(rows)}", f"day {day}", 4.0 + 3 * day, grind, time_s))
    names = ["shot", "session", "roast_age_d", "grind_setting", "time_s"]
    return pd.DataFrame(rows, columns=names)


def reacted(shots: pd.DataFrame) -> bool:
    """Return whether a bag is told as ground by its shots."""
    return "reactive-grind" in {each.code for each in told(shots).cautions}


@pytest.mark.parametrize("layout", [(10, 3), (14, 2), (28, 1)])
def test_a_grind_that_answered_the_shot_before_is_said(layout: tuple[int, int]) -> None:
    sessions, shots = layout
    bags = [chased(n, reacts=True, sessions=sessions, shots=shots) for n in range(8)]
    assert sum(map(reacted, bags)) >= 6


@pytest.mark.parametrize("layout", [(10, 3), (14, 2), (28, 1)])
def test_a_grind_drawn_by_lot_is_rarely_called_an_answer(layout: tuple[int, int]) -> None:
    sessions, shots = layout
    bags = [chased(n, reacts=False, sessions=sessions, shots=shots) for n in range(20)]
    assert sum(map(reacted, bags)) <= 1


def test_rows_out_of_order_are_judged_in_the_order_they_were_pulled() -> None:
    shots = chased(3, reacts=True)
    times = pd.Timestamp("2026-03-02") + pd.to_timedelta(np.arange(len(shots)), unit="h")
    shots = shots.assign(pulled_at=times)
    rng = np.random.default_rng(1)
    shuffled = shots.iloc[rng.permutation(len(shots))].reset_index(drop=True)
    assert grind_reacted(told(shuffled).model)
    assert not grind_reacted(told(shuffled.drop(columns="pulled_at")).model)


def test_the_effect_of_such_a_grind_comes_out_too_large() -> None:
    # What the caution says, on average of bags; the truth is −2 s a click of 0.5.
    steps = [told(chased(seed, reacts=True)).seconds_per_setting for seed in range(25)]
    found = np.array([each.estimate for each in steps if each is not None])
    error = found.std(ddof=1) / np.sqrt(len(found))
    assert found.mean() < -2.0 - 2 * error
