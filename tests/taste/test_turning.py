"""A best grind setting is bounded in three ways, or not at all."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest

from tests.taste.logs import BENCH, comparable, log
from yieldwright.taste import fit_effects, fit_set
from yieldwright.taste.fitting import find
from yieldwright.taste.turning import TurningPoint, turning_point

WIDE = (8.0, 9.0, 10.0, 11.0, 12.0)


def bent(bend: float, *, noise: float = 0.2, seed: int = 3) -> TurningPoint | None:
    shots = log(5, 10, seed=seed, noise=noise, grind=0.0, bend=bend, grinds=WIDE)
    findings = find(comparable(shots), "ey_pct", bench=BENCH)
    return turning_point(findings, rng=np.random.default_rng(1))


def test_a_strong_bend_is_bounded_alike_in_three_ways() -> None:
    found = bent(-0.5)
    assert found is not None
    assert len(found.table) == 3
    assert (found.table["ci_low"] < 10.0).all()
    assert (found.table["ci_high"] > 10.0).all()
    assert "nearly the same" in found.sentences[-1]


def test_the_exact_set_is_the_one_that_is_told() -> None:
    found = bent(-0.5)
    assert found is not None
    shots = comparable(log(5, 10, seed=3, noise=0.2, grind=0.0, bend=-0.5, grinds=WIDE))
    assert found.peak == fit_effects(shots, "ey_pct", bench=BENCH).peak


def test_a_bend_the_wrong_way_or_none_has_no_best_setting() -> None:
    assert bent(0.5) is None
    assert bent(0.0) is None


def test_resamples_say_how_much_chance_in_drawing_leaves_open() -> None:
    found = bent(-0.5)
    assert found is not None
    error = found.table.set_index("way")["monte_carlo_error"]
    assert 0 < error["2,000 resamples"] < 0.1
    assert error.drop("2,000 resamples").isna().all()


def test_the_text_shows_every_way() -> None:
    found = bent(-0.5)
    assert found is not None
    assert found.display_frame()["By"].tolist() == ["Fieller", "delta method", "2,000 resamples"]
    assert max(map(len, found.summary().splitlines())) <= 80


def test_the_delta_method_and_fieller_agree_in_the_limit_of_no_noise() -> None:
    found = bent(-0.5, noise=0.002)
    assert found is not None
    limits = found.table[["ci_low", "ci_high"]].to_numpy()
    assert np.ptp(limits, axis=0) == pytest.approx([0, 0], abs=2e-4)


def test_influence_names_the_shot_that_was_spoilt() -> None:
    shots = log(4, 8, noise=0.2)
    shots.loc[13, "ey_pct"] += 4.0
    found = fit_set(comparable(shots), "ey_pct", bench=BENCH).influence()
    assert found["shot"].iloc[0] == shots.loc[13, "shot"]
    assert isinstance(found, pd.DataFrame)
    assert found["studentised"].abs().iloc[0] > 4
