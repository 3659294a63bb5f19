"""Logs that cannot answer get a plain sentence, never a crash and never a number."""

from __future__ import annotations

import re

import numpy as np
import pandas as pd
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.taste.logs import BENCH, comparable, log
from yieldwright.taste import EffectsFit, fit_effects


def fit(shots: pd.DataFrame, response: str = "ey_pct") -> EffectsFit:
    return fit_effects(comparable(shots), response, bench=BENCH)


def test_no_shot_at_all() -> None:
    assert fit(log().iloc[:0]).missing.startswith("No shot can be used for the extraction yield")


def test_one_shot() -> None:
    found = fit(log().iloc[:1])
    assert found.missing.startswith("Only 1 shot can be used for the extraction yield")
    assert not found.answered


def test_no_taste() -> None:
    found = fit(log(), "score:overall")
    assert found.missing == (
        "No shot can be used for the overall score: 24 shots without an overall score. Log it for "
        "shots pulled at two settings at least."
    )


def test_no_yield() -> None:
    found = fit(log().drop(columns="ey_pct"))
    assert "24 shots without an extraction yield" in found.missing


def test_all_shots_score_alike() -> None:
    found = fit(log().assign(**{"score:overall": 7.0}), "score:overall")
    assert found.missing == (
        "The overall score is the same in all 24 shots (7): there is no difference to explain. "
        "Pull settings farther apart."
    )


def test_all_shots_pulled_alike() -> None:
    shots = log(sessions=1, shots=8).assign(
        grind_setting=11.0, temp_band="low", taper_bar=2.0, dose_g=18.0, position=1.0
    )
    found = fit(shots)
    assert found.missing.startswith("Nothing was changed among 8 shots: ")
    assert "grind setting the same in all 8 shots (11)" in found.missing


def test_no_grind_column() -> None:
    found = fit(log().drop(columns="grind_setting"))
    assert found.answered
    assert "Grind setting was not judged: not logged. Log it for every shot." in found.sentences


def test_no_setting_changed_and_the_bag_aged() -> None:
    shots = log().assign(grind_setting=11.0, temp_band="low", taper_bar=2.0)
    found = fit(shots)
    assert found.n_tests == 0
    assert "roast_age_d" in set(found.effects["term"])


def test_every_value_of_a_setting_missing() -> None:
    found = fit(log().assign(taper_bar=np.nan))
    assert dict(found.left_out)["taper_bar"] == "not logged"


def test_two_shots() -> None:
    assert not fit(log().iloc[:2]).answered


def test_two_sessions_of_two_shots() -> None:
    assert not fit(log(sessions=2, shots=2)).answered


def test_rounded_differences_of_pressures_are_no_change() -> None:
    shots = log()
    shots["taper_bar"] = np.where(shots["position"] % 2 == 0, 8.5 - 5.4, 8.4 - 5.3)
    assert dict(fit(shots).left_out)["taper_bar"].startswith("the same in all 24 shots")


def test_numbers_as_words_are_levels() -> None:
    shots = log().assign(
        temp_band=lambda frame: frame["temp_band"].map(
            dict(zip(("low", "medium", "high"), ("88", "92", "96"), strict=True))
        )
    )
    assert "88 → 92" in fit(shots).effects["step"].tolist()


@settings(max_examples=60)
@given(
    seed=st.integers(0, 10_000),
    sessions=st.integers(1, 6),
    shots=st.integers(1, 7),
    kept=st.floats(0.2, 1.0),
    holes=st.floats(0.0, 0.4),
)
def test_any_log_ends_in_sentences(
    seed: int, sessions: int, shots: int, kept: float, holes: float
) -> None:
    frame = log(sessions, shots, seed=seed)
    rng = np.random.default_rng(seed)
    frame = frame[rng.random(len(frame)) < kept].reset_index(drop=True)
    for column in ("grind_setting", "temp_band", "taper_bar", "dose_g", "ey_pct"):
        frame[column] = frame[column].mask(rng.random(len(frame)) < holes)
    found = fit(frame)
    assert found.sentences
    assert found.answered == (not found.missing)
    assert not any(re.search(r"\bnan\b|\binf\b", sentence) for sentence in found.sentences)
    assert len(found.effects) == 0 or found.effects["df"].min() >= 1
    assert max(map(len, found.summary().splitlines())) <= 80
