"""What a reader is told before trusting an effect."""

from __future__ import annotations

import numpy as np
import pandas as pd

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


def uneven(seed: int) -> pd.DataFrame:
    """Return shots that spread much more the coarser they were ground."""
    shots = log(sessions=6, seed=seed, noise=0.0, grind=-0.3)
    rng = np.random.default_rng(seed)
    spread = 0.05 + 0.8 * (shots["grind_setting"] - 10)
    return shots.assign(ey_pct=shots["ey_pct"] + spread * rng.normal(size=len(shots)))


def test_a_verdict_that_changes_with_an_uneven_spread_is_said() -> None:
    said = [cautions(uneven(seed)).get("spread-uneven") for seed in range(60)]
    told = [each for each in said if each is not None]
    assert len(told) >= 3
    assert "(HC3), and it seems to" in told[0].sentence


def test_an_even_spread_is_rarely_called_uneven() -> None:
    # 60 logs whose verdicts are close: four binomial standard errors about 5 %.
    logs = (log(seed=seed, noise=0.8, grind=-0.35) for seed in range(60))
    share = sum("spread-uneven" in cautions(each) for each in logs) / 60
    assert share <= 0.05 + 4 * np.sqrt(0.05 * 0.95 / 60)


def test_an_average_over_a_bending_taste_is_said_to_be_rough() -> None:
    shots = log(sessions=6).assign(**{"score:overall": lambda frame: frame["ey_pct"] - 12})
    assert "uneven-bend" in cautions(shots, "score:overall")
    assert "uneven-bend" not in cautions(shots, "ey_pct")
    two = shots[shots["grind_setting"] < 12]
    assert "uneven-bend" not in cautions(two, "score:overall")
