"""Below the table of effects stands what puts them in their place, in few lines."""

from __future__ import annotations

import pandas as pd

from tests.review.test_conclusion import coarser, effect, fitted
from yieldwright.bench import Bench
from yieldwright.review.effect_notes import effect_notes
from yieldwright.taste.effects_fit import EffectsFit
from yieldwright.taste.spreads import SPREAD_COLUMNS, Spreads

BENCH = Bench()
WHY = (
    "A mixed model of 72 scores: each session, taster and each shot may shift them (4 sessions, "
    "3 tasters and 24 shots) (REML, degrees of freedom after Kenward and Roger)."
)
TASTE = fitted("score:overall", coarser(-0.1, 0.6, 0.8), model="mixed model", why=WHY)
YIELD = fitted("ey_pct", coarser(-0.6, 0.1, 1e-6), model="sessions as blocks", why="Blocks.")
TIME = fitted("time_s", coarser(-3.1, 0.9, 1e-6), model="sessions as blocks", why="Blocks.")


def spread(response: str, **groups: tuple[float, float, float]) -> Spreads:
    rows = [(name, name, 5, sd, low, high, sd == 0) for name, (sd, low, high) in groups.items()]
    return Spreads(
        response=response, n_shots=24, table=pd.DataFrame(rows, columns=list(SPREAD_COLUMNS))
    )


def test_responses_of_one_model_are_named_together() -> None:
    told = effect_notes((TASTE, YIELD, TIME), bench=BENCH)[1]
    assert told == (
        "Taste (overall) – a mixed model of 72 scores; yield and time – shots compared inside "
        "their session."
    )


def test_a_fit_that_was_made_by_hand_names_no_model() -> None:
    told = effect_notes((fitted("ey_pct", coarser(-0.6, 0.1, 1e-6)),), bench=BENCH)
    assert [each for each in told if "–" in each] == []


def test_days_and_tasters_are_told_with_their_intervals() -> None:
    groups = (
        spread("score:overall", session=(0.2, 0.0, 1.5), taster=(0.34, 0.2, 0.9)),
        spread("time_s", session=(0.0, 0.0, 3.4)),
    )
    told = effect_notes((TASTE, TIME), bench=BENCH, groups=groups)[-1]
    assert told == (
        "Sessions differ by 0.20 points on overall (0.0 to 1.5) and 0.0 s (0.0 to 3.4); tasters "
        "by 0.34 points on overall (0.2 to 0.9) (SD, 95 % interval)."
    )


def test_what_could_have_been_found_is_told_for_each_response() -> None:
    told = effect_notes((TASTE, TIME), bench=BENCH)[0]
    assert told == (
        "Four times in five these shots would have shown 0.84 points on overall and 1.3 s for one "
        "setting coarser."
    )


def test_luck_is_told_where_anything_was_fitted() -> None:
    nothing = EffectsFit(response="ey_pct", n_shots=0, effects=pd.DataFrame(columns=["kind"]))
    assert effect_notes((TIME,), bench=BENCH, luck="Luck.")[-1] == "Luck."
    assert effect_notes((nothing,), bench=BENCH, luck="Luck.") == ()


def test_no_note_is_endless() -> None:
    endless = fitted("ey_pct", effect("temp_band", f"{'B' * 900} → low", 0.1, 1.0, 0.8))
    assert max(map(len, effect_notes((endless,), bench=BENCH))) <= 260
