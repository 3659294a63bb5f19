"""Settings chosen because of the shot before."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest

from tests.taste.logs import BENCH, comparable, log
from yieldwright.taste import fit_effects
from yieldwright.taste.confounding.reacting import reaction


def chased(seed: int) -> pd.DataFrame:
    """Return shots ground one coarser after a slow shot, and one finer after a fast one."""
    rng = np.random.default_rng(seed)
    shots = log(sessions=5, shots=8, seed=seed)
    grind, time_s = np.full(40, 11.0), np.empty(40)
    for row in range(40):
        if row % 8:
            grind[row] = 11.0 + np.clip(np.round((time_s[row - 1] - 36) / 2), -2, 2)
        time_s[row] = 36 + rng.normal(0, 2.5)
    return shots.assign(grind_setting=grind, time_s=time_s)


def is_said(shots: pd.DataFrame, response: str) -> bool:
    found = fit_effects(comparable(shots), response, bench=BENCH)
    return any(each.code == "reactive-settings" for each in found.cautions)


def test_a_setting_that_chases_the_last_shot_is_said() -> None:
    found = fit_effects(comparable(chased(1)), "time_s", bench=BENCH)
    (caution,) = [each for each in found.cautions if each.code == "reactive-settings"]
    assert caution.sentence.startswith("Grind setting followed the shot time of the shot before")
    assert caution.about == ("grind_setting",)


def test_most_chases_are_found() -> None:
    assert sum(is_said(chased(seed), "time_s") for seed in range(20)) >= 18


def test_an_order_shuffled_beforehand_is_rarely_called_a_reaction() -> None:
    # One per cent for each of two numbers; 4 binomial standard errors, simulated by us.
    logs = (log(sessions=4, shots=6, seed=seed, grind=-1.0) for seed in range(120))
    share = sum(is_said(shots, "ey_pct") for shots in logs) / 120
    assert share <= 0.02 + 4 * np.sqrt(0.02 * 0.98 / 120)


def test_an_order_in_which_one_setting_follows_another_is_no_reaction() -> None:
    # The taper repeats the grind of the shot before, which did change the yield.
    def patterned(seed: int) -> pd.DataFrame:
        shots = log(sessions=4, shots=6, seed=seed, grind=-2.0, noise=0.5)
        return shots.assign(taper_bar=shots["grind_setting"].shift(1, fill_value=11.0) - 9)

    share = sum(is_said(patterned(seed), "ey_pct") for seed in range(60)) / 60
    assert share <= 0.02 + 4 * np.sqrt(0.02 * 0.98 / 60)


def test_few_neighbours_give_no_verdict() -> None:
    rng = np.random.default_rng(3)
    chance = rng.normal(size=12)
    setting = np.concatenate([[0.0], chance[:-1]])
    assert reaction(setting, chance, np.zeros(12, dtype=int)) == 1.0


def test_the_last_shot_of_a_session_is_not_the_one_before_the_next() -> None:
    rng = np.random.default_rng(4)
    chance = rng.normal(size=30)
    setting = np.concatenate([[0.0], chance[:-1]])
    assert reaction(setting, chance, np.arange(30)) == 1.0


@pytest.mark.parametrize("constant", ["setting", "chance"])
def test_what_never_varies_never_reacts(constant: str) -> None:
    rng = np.random.default_rng(5)
    values = {"setting": rng.normal(size=20), "chance": rng.normal(size=20)}
    values[constant] = np.ones(20)
    assert reaction(values["setting"], values["chance"], np.zeros(20, dtype=int)) == 1.0
