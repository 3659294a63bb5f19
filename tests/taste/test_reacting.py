"""Settings chosen because of the shot before."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest

from tests.taste.logs import BENCH, comparable, log
from yieldwright.taste import fit_effects
from yieldwright.taste.reacting import reaction


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


def p_value(shots: pd.DataFrame, response: str) -> float:
    columns = (shots["grind_setting"].to_numpy(), shots[response].to_numpy())
    return reaction(*columns, shots["session"].factorize()[0])


def test_a_setting_that_chases_the_last_shot_is_said() -> None:
    found = fit_effects(comparable(chased(1)), "time_s", bench=BENCH)
    (caution,) = [each for each in found.cautions if each.code == "reactive-settings"]
    assert caution.sentence.startswith("Grind setting followed the shot time of the shot before")


def test_an_order_fixed_beforehand_is_rarely_called_a_reaction() -> None:
    # One per cent by construction; 4 binomial standard errors over 400 logs, simulated by us.
    logs = (log(sessions=4, shots=6, seed=seed, grind=-1.0) for seed in range(400))
    flagged = sum(p_value(shots, "ey_pct") < 0.01 for shots in logs)
    assert flagged / 400 <= 0.01 + 4 * np.sqrt(0.01 * 0.99 / 400)


def test_most_chases_are_found() -> None:
    assert sum(p_value(chased(seed), "time_s") < 0.01 for seed in range(40)) >= 36


def test_few_neighbours_give_no_verdict() -> None:
    assert p_value(chased(1).head(8), "time_s") == 1.0


def test_the_last_shot_of_a_session_is_not_the_one_before_the_next() -> None:
    rng = np.random.default_rng(4)
    response = rng.normal(size=30)
    setting = np.concatenate([[0.0], response[:-1]])
    alone = np.arange(30)
    assert reaction(setting, response, alone) == 1.0


@pytest.mark.parametrize("constant", ["setting", "response"])
def test_what_never_varies_never_reacts(constant: str) -> None:
    rng = np.random.default_rng(5)
    values = {"setting": rng.normal(size=20), "response": rng.normal(size=20)}
    values[constant] = np.ones(20)
    assert reaction(values["setting"], values["response"], np.zeros(20, dtype=int)) == 1.0
