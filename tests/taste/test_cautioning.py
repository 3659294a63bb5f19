"""What a reader is told before trusting an effect."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest

from tests.taste.logs import BENCH, comparable, log
from yieldwright.bench import Bench
from yieldwright.cautions import Caution
from yieldwright.taste import fit_effects


def cautions(
    shots: pd.DataFrame, response: str = "ey_pct", *, bench: Bench = BENCH
) -> dict[str, Caution]:
    found = fit_effects(comparable(shots), response, bench=bench)
    return {each.code: each for each in found.cautions}


def test_a_clean_log_of_several_sessions_needs_none() -> None:
    assert cautions(log(sessions=6, seed=7)) == {}


def test_few_shots_are_said() -> None:
    assert cautions(log(sessions=1, shots=10))["few-shots"].sentence.startswith("Only 10 shots")


def test_scores_at_an_end_of_the_scale_are_said() -> None:
    shots = log().assign(**{"score:overall": lambda frame: np.clip(frame["ey_pct"] - 9.5, 0, 10)})
    caution = cautions(shots, "score:overall")["scores-at-an-end"]
    assert "lie at an end of the scale (0–10)" in caution.sentence


def test_scores_inside_the_scale_need_no_word() -> None:
    shots = log().assign(**{"score:overall": lambda frame: frame["ey_pct"] - 13})
    assert "scores-at-an-end" not in cautions(shots, "score:overall")


def test_an_assumed_grinder_is_said() -> None:
    assert "taken as 1" in cautions(log(), bench=Bench())["assumed-grinder"].sentence


def test_shots_of_two_people_are_said() -> None:
    shots = log().assign(barista=["b1", "b2"] * 12)
    assert cautions(shots)["mixed-conditions"].about == ("barista",)


def test_a_service_between_shots_is_said() -> None:
    shots = log().assign(serviced=[None] * 10 + ["burrs brushed"] + [None] * 13)
    assert "grind settings before and after" in cautions(shots)["serviced-between"].sentence


def test_a_service_before_the_first_shot_changes_nothing() -> None:
    shots = log().assign(serviced=["burrs brushed"] + [None] * 23)
    assert "serviced-between" not in cautions(shots)


def test_a_slope_that_rests_on_one_shot_names_it() -> None:
    shots = log(sessions=3, shots=6).assign(grind_setting=11.0)
    shots.loc[shots["shot"] == "9", "grind_setting"] = 12.0
    caution = cautions(shots)["rests-on-one-shot"]
    assert "rests on shot 9" in caution.sentence
    assert caution.about == ("grind_setting",)


def test_changes_in_few_sessions_are_said() -> None:
    shots = log(sessions=6)
    shots.loc[~shots["session"].isin(["day 1", "day 4"]), "grind_setting"] = 11.0
    caution = cautions(shots)["few-changes-inside"]
    assert "changed inside 2 sessions of 6, 12 shots" in caution.sentence


def test_a_band_of_a_single_session_names_the_session() -> None:
    shots = log(sessions=6)
    shots["temp_band"] = np.where(shots["session"] == "day 2", "high", "low")
    assert "rests on session day 2" in cautions(shots)["rests-on-one-shot"].sentence


def test_a_verdict_that_changes_with_an_uneven_spread_is_said() -> None:
    for seed in range(80):
        found = fit_effects(
            comparable(log(seed=seed, noise=0.8, grind=-0.35)), "ey_pct", bench=BENCH
        )
        row = found.effects.iloc[0]
        plain = row["ci_low"] * row["ci_high"] > 0
        robust = row["hc3_ci_low"] * row["hc3_ci_high"] > 0
        if plain != robust and row["hc3_std_error"] > 1.25 * row["std_error"]:
            assert any(each.code == "spread-uneven" for each in found.cautions)
            return
    pytest.fail("no log of the eighty showed the case")


def test_an_average_over_a_bending_taste_is_said_to_be_rough() -> None:
    shots = log(sessions=6).assign(**{"score:overall": lambda frame: frame["ey_pct"] - 12})
    assert "uneven-bend" in cautions(shots, "score:overall")
    assert "uneven-bend" not in cautions(shots, "ey_pct")
    two = shots[shots["grind_setting"] < 12]
    assert "uneven-bend" not in cautions(two, "score:overall")
