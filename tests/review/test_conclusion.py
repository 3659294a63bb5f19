from __future__ import annotations

import dataclasses

import pandas as pd

from yieldwright.bench import Bench
from yieldwright.review.conclusion import Conclusion, conclude
from yieldwright.review.looks import looks_at
from yieldwright.taste.effects_fit import EFFECT_COLUMNS, EffectsFit, EntangledPair

BENCH = Bench()


def effect(
    term: str, step: str, estimate: float, half: float, p_value: float
) -> dict[str, object]:
    return dict.fromkeys(EFFECT_COLUMNS, float("nan")) | {
        "term": term,
        "step": step,
        "kind": "setting",
        "stratum": "within sessions",
        "estimate": estimate,
        "ci_low": estimate - half,
        "ci_high": estimate + half,
        "statistic": 2 * estimate / half,
        "p_value": p_value,
        "detectable": 1.4 * half,
    }


def fitted(response: str, *effects: dict[str, object], **more: object) -> EffectsFit:
    table = pd.DataFrame(list(effects), columns=list(EFFECT_COLUMNS))
    return EffectsFit(
        response=response, n_shots=24, n_sessions=4, effects=table, df_resid=17, **more
    )


def coarser(estimate: float, half: float, p_value: float) -> dict[str, object]:
    return effect("grind_setting", "one setting coarser", estimate, half, p_value)


def more_taper(estimate: float, half: float, p_value: float) -> dict[str, object]:
    return effect("taper_bar", "1 bar more taper", estimate, half, p_value)


def concluded(*fits: EffectsFit) -> Conclusion:
    return conclude(fits, looks_at(fits), bench=BENCH)


def test_a_settled_taste_wins_over_a_clearer_yield() -> None:
    taste = fitted("score:overall", coarser(-0.5, 0.2, 0.001))
    found = concluded(taste, fitted("ey_pct", coarser(-0.6, 0.1, 1e-6)))
    assert (found.verdict, found.response) == ("settled", "score:overall")


def test_a_settled_yield_is_told_and_the_taste_said_to_be_open() -> None:
    taste = fitted("score:overall", coarser(-0.1, 0.6, 0.8))
    found = concluded(taste, fitted("ey_pct", coarser(-0.44, 0.19, 1e-4)))
    assert found.sentence == (
        "One setting coarser gave 0.44 points of yield less "
        "(95 % interval 0.25 to 0.63 points of yield less, 24 shots in 4 sessions)."
    )
    assert (
        "The overall score is not settled; the clearest: one setting coarser, −0.7 to +0.5"
        in found.rests_on
    )


def test_of_several_settled_effects_the_largest_t_is_told() -> None:
    fit = fitted("ey_pct", coarser(-0.4, 0.2, 1e-4), more_taper(0.3, 0.05, 1e-6))
    assert concluded(fit).sentence.startswith("1 bar more taper")


def test_an_interval_clear_of_zero_is_not_settled_once_many_were_looked_at() -> None:
    others = [effect("temp_band", f"a{n} → b{n}", 0.1, 1.0, 0.8) for n in range(4)]
    fit = fitted("ey_pct", coarser(-0.4, 0.39, 0.04), *others)
    assert concluded(fit).verdict == "open"
    assert concluded(fitted("ey_pct", coarser(-0.4, 0.39, 0.04))).verdict == "settled"


def test_the_correction_runs_over_all_responses_of_the_page() -> None:
    fits = [
        fitted(name, coarser(1.0, 0.9, 0.02)) for name in ("score:overall", "ey_pct", "time_s")
    ]
    assert [round(look.p_page, 9) for look in looks_at(fits)] == [0.06, 0.06, 0.06]


def test_an_open_effect_is_told_with_interval_shots_and_what_could_have_been_found() -> None:
    found = concluded(fitted("time_s", coarser(-0.4, 2.0, 0.6)))
    assert found.sentence == (
        "No setting’s effect is settled yet. The clearest is on the shot time: one setting "
        "coarser, −2.4 to +1.6 s (95 % interval, 24 shots in 4 sessions)."
    )
    assert "1 effect looked at, p = 0.60" in found.rests_on
    assert "2.8 s would have been found four times in five" in found.rests_on


def test_of_open_effects_the_clearest_is_told_whatever_it_is_on() -> None:
    taste = fitted("score:overall", coarser(-0.1, 0.5, 0.7))
    time = fitted("time_s", coarser(-3.0, 2.9, 0.04))
    found = concluded(taste, time)
    assert found.response == "time_s"
    assert found.rests_on.endswith(
        "The overall score is not settled; the clearest: one setting coarser, −0.6 to +0.4 points "
        "(95 % interval)."
    )


def test_an_effect_read_by_its_odds_is_told_by_them() -> None:
    taste = fitted("score:overall", coarser(-0.5, 0.2, 0.001))
    (look,) = looks_at([taste])
    settled = dataclasses.replace(look, odds="One setting coarser makes it half as likely.")
    doubtful = dataclasses.replace(settled, p_page=0.4)
    told = [conclude([taste], [each], bench=BENCH) for each in (settled, doubtful)]
    assert told[0].sentence == settled.odds
    assert told[1].sentence.endswith(f"The clearest: {settled.odds}")
    assert "would have been found" not in told[1].rests_on


def test_an_entangled_effect_is_passed_over() -> None:
    pair = EntangledPair("grind_setting", "roast_age_d", 9.0, 5.0, "pooled", "Grind and age: x.")
    fit = fitted("ey_pct", coarser(-0.6, 0.1, 1e-6), more_taper(0.1, 0.3, 0.4), confounded=(pair,))
    found = concluded(fit)
    assert found.verdict == "open"
    assert "1 bar more taper" in found.sentence


def test_where_only_entangled_effects_are_left_the_pair_is_named() -> None:
    told = "Grind setting and roast age cannot be told apart in this log: variance inflation 9."
    pair = EntangledPair("grind_setting", "roast_age_d", 9.0, 5.0, "pooled", told)
    found = concluded(fitted("ey_pct", coarser(-0.6, 0.1, 1e-6), confounded=(pair,)))
    assert found.verdict == "entangled"
    assert found.sentence == "Grind setting and roast age cannot be told apart in this log."


def test_where_nothing_was_estimated_every_reason_is_told_once() -> None:
    fits = [fitted("ey_pct", missing="No strength."), fitted("time_s", missing="No strength.")]
    found = concluded(*fits)
    assert (found.verdict, found.rests_on) == ("missing", "No strength.")


def test_a_band_is_compared_with_the_one_before() -> None:
    fit = fitted("ey_pct", effect("temp_band", "low → medium", 0.8, 0.3, 1e-4))
    sentence = concluded(fit).sentence
    assert sentence.startswith("The medium band gave 0.8 points of yield more than the low band")


def test_a_tiny_p_is_not_printed_as_an_equation() -> None:
    found = concluded(fitted("ey_pct", coarser(-0.6, 0.1, 1e-9)))
    assert found.rests_on.startswith("p < 0.001 after Holm’s correction")
