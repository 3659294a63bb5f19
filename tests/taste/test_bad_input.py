"""Data that no fit can bear end in a caution or a refusal, never in a crash or a false number."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pandas as pd
import pytest

from tests.evidence.clean_logs import BENCH, Size, comparable, written
from tests.evidence.planted import counted, kept_with_care
from yieldwright.errors import RoleError, UnknownNameError
from yieldwright.taste import ComparableSet, TasteFit, comparable_sets, fit_set

TASTE = "score:overall"


def shots(sessions: int = 4) -> pd.DataFrame:
    return kept_with_care(counted(Size(sessions), np.random.default_rng(4)))


def tasted(
    frame: pd.DataFrame, scores: Callable[[pd.Series[float], int], pd.Series[float]], tasters: int
) -> ComparableSet:
    """Return shots with the single scores of several tasters."""
    usable = comparable(frame)
    means = usable.shots[TASTE]
    single = pd.concat(
        [
            pd.DataFrame(
                {
                    "shot": usable.shots["shot"],
                    "taster": f"t{number + 1}",
                    "attribute": "overall",
                    "score": scores(means, number),
                }
            )
            for number in range(tasters)
        ],
        ignore_index=True,
    )
    mean = single.groupby("shot")["score"].mean()
    return replace(
        usable,
        shots=usable.shots.assign(**{TASTE: usable.shots["shot"].map(mean)}),
        tastings=single,
    )


def answer(found: ComparableSet, response: str = TASTE) -> TasteFit:
    return fit_set(found, response, bench=BENCH, rng=np.random.default_rng(1))


def everything_said(found: TasteFit) -> str:
    return " ".join([found.summary(), *found.sentences, *(each.text for each in found.cautions)])


def assert_meaningful(found: TasteFit) -> None:
    """Hold that something is said, and that no number is missing or without end in words."""
    said = everything_said(found)
    assert said.strip()
    assert not re.search(r"(?<![\w])(nan|inf|NaN|Infinity)(?![\w])|Traceback", said)


def separated(means: pd.Series[float], number: int) -> pd.Series[float]:
    return pd.Series(np.where(means > means.median(), 9.0, 2.0), means.index)


def steady(means: pd.Series[float], number: int) -> pd.Series[float]:
    return (means + 0.5 * number).clip(0, 10)


@pytest.mark.parametrize("tasters", [1, 3])
def test_scores_that_settings_separate_perfectly(tasters: int) -> None:
    frame = shots()
    frame["overall"] = np.where(frame["temp_band"] == "low", 2.0, 9.0)
    assert_meaningful(answer(tasted(frame, separated, tasters)))


def test_one_taster() -> None:
    found = answer(tasted(shots(), steady, 1))
    assert_meaningful(found)


def test_one_level_of_every_setting() -> None:
    frame = shots().assign(grind_setting=11.0, temp_band="low", taper_bar=2.0)
    found = answer(tasted(frame, steady, 3))
    assert_meaningful(found)
    assert "not judged" in everything_said(found) or found.missing


def test_all_scores_equal() -> None:
    frame = shots().assign(overall=7.0)
    found = answer(tasted(frame, lambda means, number: means, 3))
    assert_meaningful(found)
    assert "there is no difference to explain" in everything_said(found)


def test_every_taster_keeps_to_one_score_of_their_own() -> None:
    frame = shots().assign(overall=5.0)
    assert_meaningful(answer(tasted(frame, lambda means, number: means + number, 3)))


@pytest.mark.parametrize("n_shots", [1, 2, 3, 5])
def test_fewer_shots_than_terms(n_shots: int) -> None:
    found = answer(tasted(shots(1).head(n_shots), steady, 2))
    assert_meaningful(found)
    assert found.effects.empty or found.effects["df"].min() >= 1


def test_missing_scores() -> None:
    frame = shots()
    frame["overall"] = frame["overall"].where(np.arange(len(frame)) % 3 > 0)
    assert_meaningful(answer(comparable(frame)))


def test_scores_outside_the_scale_stop_the_reader() -> None:
    frame = shots()
    frame.loc[2, "overall"] = 55.0
    found = answer(comparable(frame))
    assert_meaningful(found)
    assert "scores-outside-scale" in {each.code for each in found.cautions}


def test_a_setting_that_is_a_copy_of_another() -> None:
    frame = shots().assign(taper_bar=lambda each: each["grind_setting"] / 4)
    found = answer(comparable(frame), "ey_pct")
    assert_meaningful(found)
    assert {"grind_setting", "taper_bar"}.isdisjoint(found.effects["term"])
    assert "cannot be told apart" in everything_said(found)


def test_a_setting_asked_for_twice_is_no_second_effect() -> None:
    asked = ("grind_setting", "grind_setting", "temp_band")
    found = fit_set(comparable(shots()), "ey_pct", bench=BENCH, settings=asked)
    assert_meaningful(found)
    assert (found.effects["term"] == "grind_setting").sum() == 1


def test_an_outcome_among_the_settings_is_refused() -> None:
    with pytest.raises(RoleError, match="is an outcome of a shot"):
        fit_set(comparable(shots()), "ey_pct", bench=BENCH, settings=("grind_setting", "time_s"))


def test_a_column_that_nobody_knows_is_refused() -> None:
    with pytest.raises(UnknownNameError, match="grindy"):
        fit_set(comparable(shots()), "ey_pct", bench=BENCH, settings=("grindy",))


@pytest.mark.parametrize("value", ["inf", "-inf", "1e300", "1e400"])
def test_a_number_beyond_all_measure_never_reaches_a_fit(value: str) -> None:
    frame = shots()
    frame["end_bar"] = frame["end_bar"].astype(object)
    frame.loc[5, "end_bar"] = value
    log = written(frame)
    (read,) = comparable_sets(log)
    assert len(read.shots) <= 24
    found = answer(read, "ey_pct")
    assert np.isfinite(found.effects["estimate"].to_numpy(dtype=float)).all()
    assert abs(found.effects["estimate"]).max() < 100
