from __future__ import annotations

import pandas as pd

from tests.review.test_conclusion import coarser, effect, fitted, more_taper
from yieldwright.bench import Bench
from yieldwright.review.effect_rows import SETTLED_MARK, effects_table
from yieldwright.review.looks import looks_at
from yieldwright.review.open_questions import cannot_tell
from yieldwright.review.tables import SheetTable
from yieldwright.taste.effects_fit import EffectsFit, EntangledPair

BENCH = Bench()
TASTE = fitted("score:overall", coarser(-0.1, 0.6, 0.8), more_taper(0.2, 0.5, 0.4))
TIME = fitted("time_s", coarser(-3.1, 0.9, 1e-6))


def table(*fits: EffectsFit) -> SheetTable:
    made = effects_table(fits, looks_at(fits), bench=BENCH)
    assert made is not None
    return made


def test_each_step_is_a_row_and_each_response_a_column() -> None:
    made = table(TASTE, TIME)
    assert [row[0] for row in made.rows] == ["one setting coarser", "1 bar more taper"]
    heads = [column.head for column in made.columns[1:]]
    assert heads == ["Taste (overall) [points], 24 shots", "Time [s], 24 shots"]


def test_an_effect_stands_with_its_interval_and_settled_ones_are_marked() -> None:
    (first, _) = table(TASTE, TIME).rows
    assert first[1].replace("\N{NO-BREAK SPACE}", " ") == "−0.1 (−0.7 to 0.5)"
    assert first[2].replace("\N{NO-BREAK SPACE}", " ") == f"{SETTLED_MARK} −3.1 (−4.0 to −2.2)"


def test_a_step_one_response_knows_nothing_of_shows_as_a_dash() -> None:
    assert table(TASTE, TIME).rows[1][2] == "–"


def test_an_effect_that_cannot_be_told_apart_shows_no_number() -> None:
    pair = EntangledPair("grind_setting", "roast_age_d", 9.0, 5.0, "pooled", "Told.", "Pull it.")
    (row,) = table(fitted("ey_pct", coarser(-0.6, 0.1, 1e-6), confounded=(pair,))).rows
    assert row[1] == "not told apart"


def test_no_end_of_an_interval_that_leaves_zero_out_is_shown_as_zero() -> None:
    (row,) = table(fitted("ey_pct", coarser(0.4, 0.37, 0.03))).rows
    shown = fitted("ey_pct", coarser(0.4, 0.37, 0.03)).display_frame()["95 % interval"][0]
    assert row[1].endswith("(0.03 to 0.77)".replace(" ", "\N{NO-BREAK SPACE}"))
    assert shown == "0.03 to 0.77"


def test_adjusters_stand_below_settings_and_are_never_marked() -> None:
    age = effect("roast_age_d", "one day older", -0.4, 0.1, 1e-6) | {"kind": "adjuster"}
    made = table(fitted("ey_pct", age, coarser(-0.6, 0.1, 1e-6)))
    assert [row[0] for row in made.rows] == ["one setting coarser", "one day older"]
    assert SETTLED_MARK not in made.rows[1][1]


def test_a_verdict_that_hangs_on_even_spread_is_not_settled() -> None:
    row = coarser(-0.6, 0.1, 1e-6) | {"hc3_ci_low": -1.3, "hc3_ci_high": 0.1}
    assert SETTLED_MARK not in table(fitted("ey_pct", row)).rows[0][1]


def test_the_caption_counts_the_effects_looked_at() -> None:
    assert "correction for 3 effects of settings" in table(TASTE, TIME).caption


def test_what_was_allowed_for_fills_the_table_up_and_settings_are_never_cut_for_it() -> None:
    others = [
        effect(f"x{n}", f"adjuster {n}", 0.1, 1, 0.9) | {"kind": "adjuster"} for n in "abcde"
    ]
    few = table(fitted("ey_pct", coarser(-0.6, 0.1, 1e-6), *others))
    bands = [effect("temp_band", f"a{n} → b{n}", 0.1, 1.0, 0.8) for n in range(7)]
    many = table(fitted("ey_pct", *bands, *others))
    assert [row[0] for row in few.rows][1:] == [f"adjuster {n}" for n in "abcd"]
    assert few.remark == few.print_remark == "1 more step not shown; “yieldwright taste” has all."
    assert [row[0] for row in many.rows] == [f"a{n} → b{n}" for n in range(7)]


def test_a_hostile_band_name_makes_no_row_of_endless_length() -> None:
    made = table(fitted("ey_pct", effect("temp_band", f"{'B' * 500} → low", 0.1, 1.0, 0.8)))
    assert len(made.rows[0][0]) <= 36


def test_a_pair_is_told_once_though_every_response_names_it() -> None:
    pair = EntangledPair("temp_band", "roast_age_d", 9.0, 5.0, "pooled", "Told.", "Pull it.")
    fits = [fitted(name, coarser(-1, 2, 0.4), confounded=(pair,)) for name in ("ey_pct", "time_s")]
    assert cannot_tell(fits, looks_at(fits)).count("Told.") == 1


def test_open_effects_are_told_with_their_response() -> None:
    told = cannot_tell((TASTE, TIME), looks_at((TASTE, TIME)))
    assert told[0].startswith("Not settled, read the intervals: taste (overall) by one setting")
    assert "; time by" not in told[0]


def test_a_setting_that_was_not_judged_is_told_with_its_reason() -> None:
    fit = fitted("ey_pct", coarser(-1, 2, 0.4), left_out=(("temp_band", "not logged"),))
    assert "Temperature band was not judged: not logged." in cannot_tell([fit], looks_at([fit]))


def test_more_points_than_fit_are_counted() -> None:
    reasons = tuple(("temp_band", f"reason {place}") for place in range(9))
    fit = fitted("ey_pct", coarser(-1, 2, 0.4), left_out=reasons)
    told = cannot_tell([fit], looks_at([fit]))
    assert told[-1] == "4 further points, in the fits themselves."


def test_there_is_no_table_where_nothing_was_estimated() -> None:
    fit = EffectsFit(response="ey_pct", n_shots=0, effects=pd.DataFrame(), missing="None.")
    assert effects_table([fit], [], bench=BENCH) is None
