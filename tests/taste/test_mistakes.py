"""Mistakes of the trade, simulated by us with bounds to match, and what the fit does."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt
import pandas as pd
import pytest

from tests.taste.logs import BENCH, comparable, log
from yieldwright.models.contrasts.contrasts import contrast
from yieldwright.models.linear.model import fit_least_squares
from yieldwright.taste import fit_effects

LOGS = 80

Array = npt.NDArray[np.float64]


def slope(response: Array, *columns: Array) -> tuple[float, bool]:
    """Return the slope on the first column by plain least squares, and whether it is clear."""
    matrix = np.column_stack([np.ones(len(response)), *columns])
    found = contrast(fit_least_squares(matrix, response), np.eye(len(columns) + 1)[1])
    return found.estimate, found.ci_low * found.ci_high > 0


def test_holding_the_time_still_turns_the_sign_of_grind() -> None:
    # Coarser runs faster, and faster costs taste: in all −0.60 a setting, +0.13 past the time.
    rng = np.random.default_rng(1)
    total, past_the_time = [], []
    for _ in range(LOGS):
        grind = rng.permutation(np.resize([-1.0, 0.0, 1.0], 36))
        time_s = 36 - 3.0 * grind + rng.normal(0, 1.5, 36)
        taste = 6 + 0.13 * grind + (0.73 / 3) * (time_s - 36) + rng.normal(0, 0.6, 36)
        total.append(slope(taste, grind)[0])
        past_the_time.append(slope(taste, grind, time_s)[0])
    assert np.mean(total) == pytest.approx(-0.60, abs=0.05)
    assert np.mean(past_the_time) == pytest.approx(0.13, abs=0.08)


def aged(rng: np.random.Generator) -> pd.DataFrame:
    """Return shots ground finer as the bag ages: the yield falls with age, grind does nothing."""
    shots = log(sessions=8, shots=4, seed=int(rng.integers(1_000_000)), grind=0.0, age=-0.08)
    age = shots["roast_age_d"]
    wander = rng.normal(0, 0.7, 8).round()[shots["session"].factorize()[0]]
    return shots.assign(grind_setting=15 - (age - 6) / 3 + wander)


def test_age_passes_for_grind_where_it_is_forgotten_and_not_where_it_is_known() -> None:
    rng = np.random.default_rng(2)
    alarms, ours, named = 0, 0, 0
    for _ in range(LOGS):
        shots = aged(rng)
        alarms += slope(shots["ey_pct"].to_numpy(), shots["grind_setting"].to_numpy())[1]
        found = fit_effects(comparable(shots), "ey_pct", bench=BENCH)
        pairs = [{p.first, p.second} for p in found.confounded]
        named += {"grind_setting", "roast_age_d"} in pairs
        ours += any(said.startswith("One setting coarser gave") for said in found.sentences)
    assert alarms / LOGS > 0.8
    assert ours / LOGS <= 0.05 + 4 * np.sqrt(0.05 * 0.95 / LOGS)
    assert named / LOGS > 0.5


def test_shots_of_a_session_do_not_count_as_so_many_sessions() -> None:
    rng = np.random.default_rng(3)
    naive, ours = 0, 0
    for _ in range(LOGS):
        shots = log(sessions=8, shots=5, seed=int(rng.integers(1_000_000)), age=0.0)
        day = shots["session"].factorize()[0]
        band = np.where(rng.permutation(np.resize([0, 1], 8))[day] == 0, "low", "high")
        shots = shots.assign(
            temp_band=band, ey_pct=rng.normal(19, 0.4, 8)[day] + rng.normal(0, 0.5, len(day))
        )
        naive += slope(shots["ey_pct"].to_numpy(), (band == "high").astype(float))[1]
        found = fit_effects(comparable(shots), "ey_pct", bench=BENCH, adjusters=("position",))
        (row,) = found.effects[found.effects["term"] == "temp_band"].to_dict("records")
        ours += row["ci_low"] * row["ci_high"] > 0
    assert naive / LOGS > 0.12
    assert ours / LOGS <= 0.05 + 4 * np.sqrt(0.05 * 0.95 / LOGS)
