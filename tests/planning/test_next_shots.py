"""At most three shots worth pulling next, each with its reason."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pandas as pd
import pytest

from tests.taste.logs import BENCH, comparable, finer_each_day, log
from yieldwright.bench import Bench, Grinder, Recipe
from yieldwright.planning import Suggestion, next_shots
from yieldwright.repeatability import quantity_spread
from yieldwright.taste import fit_effects

SCORE = "score:overall"


def tasted(**truth: float) -> pd.DataFrame:
    """Return a log whose overall score follows known effects, and whose time does nothing."""
    shots = log(sessions=6, **truth)
    shots[SCORE] = (shots["ey_pct"] - 13).clip(0.5, 9.5)
    return shots


def suggested(
    shots: pd.DataFrame, *responses: str, bench: Bench = BENCH, most: int = 6
) -> dict[str, str]:
    fits = [fit_effects(comparable(shots), each, bench=bench) for each in responses]
    yields = "ey_pct" in shots
    spread = quantity_spread(comparable(shots), "ey_pct", bench=bench) if yields else None
    found = next_shots(comparable(shots), bench=bench, fits=fits, spread=spread, most=most)
    return {each.kind: each.sentence for each in found}


def test_never_more_than_three() -> None:
    shots = comparable(finer_each_day().assign(temp_band="low", taper_bar=2.0))
    assert len(next_shots(shots, bench=BENCH, fits=[])) <= 3


def test_what_cannot_be_told_apart_comes_first() -> None:
    shots = finer_each_day()
    fits = [fit_effects(comparable(shots), "ey_pct", bench=BENCH)]
    first = next_shots(comparable(shots), bench=BENCH, fits=fits)[0]
    assert first.kind == "separate"
    assert first.sentence.startswith("Pull setting 15 three times at today's roast age (21 d)")
    assert first.sentence.endswith("So far the log cannot tell grind setting and roast age apart.")


def test_a_score_that_rises_toward_an_edge_names_the_next_setting() -> None:
    said = suggested(tasted(grind=1.5), SCORE)["beyond"]
    assert said.startswith("Pull setting 13 twice: setting 12 is the coarsest tried")
    assert said.endswith("What happens beyond is not known.")


def test_the_other_way_it_names_the_finer_one() -> None:
    said = suggested(tasted(grind=-1.5), SCORE)["beyond"]
    assert said.startswith("Pull setting 9 twice: setting 10 is the finest tried")


def test_a_grinder_that_counts_down_is_followed() -> None:
    bench = replace(BENCH, grinders=(Grinder("mill", step=0.5, coarser="down", stated=True),))
    said = suggested(tasted(grind=1.5), SCORE, bench=bench)["beyond"]
    assert said.startswith("Pull setting 12.5 twice: setting 12 is the finest tried")


def test_where_less_is_better_the_way_turns_round() -> None:
    shots = tasted(grind=1.5).rename(columns={SCORE: "score:bitter"})
    said = suggested(shots, "score:bitter")["beyond"]
    assert said.startswith("Pull setting 9 twice")


def test_an_unclear_slope_names_no_edge() -> None:
    assert "beyond" not in suggested(tasted(grind=0.0, noise=1.0), SCORE)


def test_a_peak_inside_the_tried_range_names_no_edge() -> None:
    shots = log(sessions=8, grinds=(9.0, 10, 11, 12, 13), grind=0.3, bend=-1.0)
    shots[SCORE] = shots["ey_pct"] - 12
    assert "beyond" not in suggested(shots, SCORE)


def test_without_scores_the_yield_is_walked_toward_its_window() -> None:
    low = log(sessions=6, grind=-0.8).assign(ey_pct=lambda frame: frame["ey_pct"] - 4)
    assert suggested(low, "ey_pct")["beyond"].startswith("Pull setting 9 twice")
    inside = log(sessions=6, grind=-0.8, band=0.1)
    assert "beyond" not in suggested(inside, "ey_pct")


def test_a_best_setting_of_one_shot_is_repeated_with_its_luck_told() -> None:
    shots = tasted(grind=0.0)
    shots.loc[4, ["temp_band", "grind_setting", SCORE]] = ["high", 10.0, 9.5]
    others = shots.index != 4
    alike = others & (shots["temp_band"] == "high") & (shots["grind_setting"] == 10)
    shots.loc[alike, "grind_setting"] = 11.0
    said = suggested(shots, SCORE)["confirm"]
    assert said.startswith(
        "Repeat setting 10 at the high band twice before changing anything: its overall score of "
        "9.50 rests on 1 shot"
    )
    assert "luck alone would give the best about" in said


def test_a_best_setting_pulled_often_needs_no_repeat() -> None:
    shots = log(sessions=4, shots=6, grind=2.0, grinds=(10.0, 12.0)).assign(temp_band="low")
    shots[SCORE] = (shots["ey_pct"] - 13).clip(0.5, 9.5)
    assert "confirm" not in suggested(shots, SCORE)


def test_an_unknown_spread_asks_for_six_alike() -> None:
    few = log().iloc[:6]
    said = suggested(few.assign(taper_bar=np.arange(6) * 2.0), "ey_pct")
    assert said["replicate"].startswith("Pull setting ")
    assert "six times in one session" in said["replicate"]


def test_a_known_spread_asks_for_nothing() -> None:
    shots = log().assign(taper_bar=2.0, temp_band="low")
    assert "replicate" not in suggested(shots, "ey_pct")


def timed(seconds: float) -> pd.DataFrame:
    shots = log(sessions=6, grind=-2.0, age=0.0, noise=0.5, band=0.0)
    shots["time_s"] = shots["ey_pct"] - 19 + seconds
    return shots


def test_a_session_that_ran_long_is_steered_back_inside_the_tried_range() -> None:
    shots = timed(40.0)
    last = shots.iloc[-1]
    said = suggested(
        shots, "time_s", bench=replace(BENCH, recipe=Recipe(time_s=36.0, time_tolerance_s=1.0))
    )
    assert said["steer"].startswith("To come back to 36 s pull setting ")
    assert f"at setting {last['grind_setting']:g}, and one setting coarser takes " in said["steer"]


def test_a_time_out_of_reach_goes_one_step_past_the_edge_and_promises_nothing() -> None:
    said = suggested(timed(70.0), "time_s")["steer"]
    assert said.startswith("To come back to 36 s pull setting 13, which was never tried")


def test_a_recipe_that_was_met_is_left_alone() -> None:
    assert "steer" not in suggested(timed(36.0), "time_s")


def test_a_bench_without_a_time_to_aim_at_is_left_alone() -> None:
    bench = replace(BENCH, recipe=Recipe(time_s=None))
    assert "steer" not in suggested(timed(70.0), "time_s", bench=bench)


def test_what_never_changed_is_proposed_in_balanced_order() -> None:
    said = suggested(log().assign(temp_band="low"), "ey_pct")["vary"]
    assert said.startswith(
        "Change the temperature band for half of a session, in the order A B B A"
    )


def test_a_log_without_shots_suggests_nothing() -> None:
    assert next_shots(comparable(log().iloc[:0]), bench=BENCH, fits=[]) == ()


@pytest.mark.parametrize("seed", range(4))
def test_nothing_outside_the_tried_range_is_ever_predicted(seed: int) -> None:
    shots = tasted(grind=1.0, seed=seed)
    for sentence in suggested(shots, SCORE, "ey_pct").values():
        assert not any(word in sentence for word in ("will be", "would score", "expected to"))


def test_a_suggestion_is_a_value() -> None:
    assert Suggestion("vary", "x") == Suggestion("vary", "x")
