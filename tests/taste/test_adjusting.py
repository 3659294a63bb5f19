"""Which conditions of the bench a fit allows for, as a log of its size can afford."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest

from tests.taste.logs import BENCH, comparable, log
from yieldwright.taste import SETTINGS, fit_effects
from yieldwright.taste.columns.adjusting import (
    ALWAYS,
    CONDITIONS,
    UNASKED,
    Adjusting,
    adjusters_for,
)
from yieldwright.taste.columns.predictors import Question, prepare
from yieldwright.taste.columns.roles import role_of
from yieldwright.taste.strata.judging import judge_strata
from yieldwright.taste.tables import effects_of


def chosen(shots: pd.DataFrame, *settings: str) -> Adjusting:
    return adjusters_for(comparable(shots), "ey_pct", bench=BENCH, settings=settings or SETTINGS)


def effect(shots: pd.DataFrame, settings: tuple[str, ...], adjusters: tuple[str, ...]) -> float:
    found = fit_effects(
        comparable(shots), "ey_pct", bench=BENCH, settings=settings, adjusters=adjusters
    )
    of_first = found.effects[found.effects["term"] == settings[0]]
    return float(of_first["estimate"].iloc[0])


def conditions(shots: pd.DataFrame, *, seed: int = 1) -> pd.DataFrame:
    """Return shots with conditions drawn at random: whatever varies can be told apart."""
    rng, n = np.random.default_rng(seed), len(shots)
    gaps = np.where(shots["position"] == 1, np.nan, rng.uniform(3, 12, n))
    return shots.assign(
        gap_min=gaps,
        barista=rng.permutation(np.resize(["p1", "p2"], n)),
        puck_screen=rng.permutation(np.resize([True, False], n)),
        paper=rng.permutation(np.resize(["top", "bottom"], n)),
    )


def with_heat(*, each: float) -> pd.DataFrame:
    """Return shots without noise whose coarse settings were pulled in haste."""
    shots = log(sessions=4, shots=6, noise=0.0, grind=-0.5, band=0.0, age=0.0)
    haste = shots["grind_setting"] - 10
    gaps = (10 - 2 * haste - shots["position"] % 2).where(shots["position"] > 1)
    ey_pct = shots["ey_pct"] + each * gaps.fillna(15)
    return shots.assign(gap_min=gaps, ey_pct=ey_pct)


def test_a_log_of_none_of_them_is_allowed_for_as_ever() -> None:
    assert chosen(log()) == Adjusting(ALWAYS)


def test_every_condition_may_be_an_adjuster_or_a_setting() -> None:
    assert {role_of(column) for column in CONDITIONS} == {"adjuster", "setting"}


def test_the_weightiest_conditions_come_first_as_far_as_shots_reach() -> None:
    # 30 shots in 5 sessions leave 25 rows, and 21 beside 4 columns of settings: 4 adjusters,
    # of which dose and position are two.
    few = chosen(conditions(log(sessions=5, shots=6)))
    assert few.columns == (*ALWAYS, "gap_min", "barista")
    assert few.declined == tuple(
        (column, "not allowed for: too few shots") for column in ("puck_screen", "paper")
    )
    assert chosen(conditions(log(sessions=8, shots=8))).columns[-4:] == (
        "gap_min",
        "barista",
        "puck_screen",
        "paper",
    )


@pytest.mark.parametrize("sessions", [1, 2, 3, 5, 8])
@pytest.mark.parametrize("shots", [3, 4, 6])
def test_adjusters_never_take_more_than_a_fifth_of_the_rows(sessions: int, shots: int) -> None:
    made = conditions(log(sessions=sessions, shots=shots))
    found = chosen(made)
    extra = len(set(found.columns) - set(ALWAYS))
    inside = extra + 2  # dose and position; the roast age is constant in a session
    assert extra == 0 or 5 * inside <= sessions * shots - sessions - 4


@pytest.mark.parametrize(("sessions", "allowed"), [(6, False), (7, False), (8, True)])
def test_few_session_means_are_not_adjusted_for_more(sessions: int, allowed: bool) -> None:
    # Sessions less 1, less 2 for three bands of whole sessions, less 1 for the roast age.
    made = conditions(log(sessions=sessions, shots=6))
    day = ((made["roast_age_d"] - 6) / 3).astype(int)
    found = chosen(made.assign(temp_band=np.take(["low", "high", "medium"], day % 3)))
    assert ("gap_min" in found.columns) == allowed
    reason = "not allowed for: too few sessions to adjust their means for it"
    assert (("gap_min", reason) in found.declined) == (not allowed)


def test_what_is_asked_about_is_not_also_allowed_for() -> None:
    made = conditions(log(sessions=6, shots=6))
    assert "puck_screen" not in chosen(made, "puck_screen", "grind_setting").columns
    assert "dose_g" not in chosen(made, "dose_g").columns


def test_the_choice_does_not_look_at_outcomes() -> None:
    made = conditions(log(sessions=6, shots=6))
    rng = np.random.default_rng(5)
    other = made.assign(ey_pct=rng.permutation(made["ey_pct"]))
    assert chosen(made) == chosen(other)


def test_a_condition_that_would_cost_shots_stays_out() -> None:
    made = conditions(log(sessions=8, shots=8))
    made["barista"] = made["barista"].mask(made.index < 5)
    found = chosen(made)
    assert "barista" not in found.columns
    assert (
        dict(found.declined)["barista"] == "it would cost 5 shots without it or alone at a level"
    )


def test_a_condition_constant_in_sessions_is_no_matter_inside_them() -> None:
    made = log(sessions=6, shots=6)
    made["room_c"] = 20.0 + (made["roast_age_d"] - 6) % 4
    assert dict(chosen(made).declined)["room_c"] == (
        "the same within each session, and sessions are allowed for"
    )


def test_a_condition_that_follows_from_the_position_stays_out() -> None:
    made = log(sessions=6, shots=6)
    made["preheat_min"] = 15 + 6 * made["position"]
    assert dict(chosen(made).declined)["preheat_min"] == "follows from position in session"


def test_a_gap_that_went_along_with_the_grind_no_longer_passes_for_it() -> None:
    shots = with_heat(each=0.2)
    alone = effect(shots, ("grind_setting",), ("position",))
    beside = effect(shots, ("grind_setting",), chosen(shots, "grind_setting").columns)
    assert alone < -0.7
    assert beside == pytest.approx(-0.5, abs=1e-9)


def serviced(after: int, *, shift: float) -> pd.DataFrame:
    """Return shots without noise, one band a session, that a service moved by a shift."""
    shots = log(sessions=12, shots=4, noise=0.0, grind=-0.5, band=0.0, age=0.0)
    day = (shots["roast_age_d"] - 6) / 3
    high = day.isin([2, 5, 7, 8, 10, 11])
    since = day >= after
    return shots.assign(
        temp_band=np.where(high, "high", "low"),
        ey_pct=shots["ey_pct"] + 0.4 * high + shift * since,
        service_stretch=np.where(since, "since service 1", "before service 1"),
    )


def test_a_service_between_sessions_no_longer_passes_for_the_band() -> None:
    shots = serviced(6, shift=1.0)
    asked = ("temp_band", "grind_setting")
    columns = chosen(shots, *asked).columns
    assert "service_stretch" in columns
    assert effect(shots, asked, ()) > 0.5
    assert effect(shots, asked, columns) == pytest.approx(0.4, abs=1e-9)


def test_too_few_shots_on_one_side_of_a_service_are_told() -> None:
    shots = serviced(11, shift=1.0)
    thin = shots.drop(index=shots.index[-1])
    assert dict(chosen(thin, "temp_band").declined)["service_stretch"] == (
        "only 3 shots since service 1; 4 on each side are needed"
    )


def test_what_was_declined_is_told_with_the_fit() -> None:
    shots = comparable(conditions(log(sessions=5, shots=6)))
    found = fit_effects(shots, "ey_pct", bench=BENCH, adjusters=None)
    assert ("paper", "not allowed for: too few shots") in found.left_out
    assert "gap_min" in found.effects["term"].tolist()


def followed(*, sessions: int = 8, shots: int = 6, noise: float = 0.2) -> pd.DataFrame:
    """Return shots in which the coarser settings were pulled late, mostly, and tapped."""
    made = log(sessions=sessions, shots=shots, noise=noise, grind=-0.5, band=0.0, age=0.0)
    late = made["grind_setting"].rank(method="first")
    turn = late.groupby(made["session"]).rank()
    coarse = made["grind_setting"] > made.groupby("session")["grind_setting"].transform("median")
    odd = np.arange(len(made)) % 5 == 0
    return made.assign(position=turn, distribution=np.where(coarse ^ odd, "tap", "stir"))


def test_a_setting_nobody_asked_about_no_longer_passes_for_what_was_asked() -> None:
    # tapping does nothing here; one setting coarser gives 0.5 points less
    shots = followed(noise=0.0)
    alone = effect(shots, ("distribution",), ("dose_g",))
    beside = effect(shots, ("distribution",), chosen(shots, "distribution").columns)
    assert abs(alone) > 0.3
    assert beside == pytest.approx(0.0, abs=1e-9)


def test_it_is_estimated_as_if_it_had_been_asked_about() -> None:
    shots = comparable(followed())
    alone, both = (
        fit_effects(shots, "ey_pct", bench=BENCH, settings=settings).effects.set_index("term")
        for settings in (("distribution",), ("distribution", "grind_setting"))
    )
    columns = ["estimate", "ci_low", "ci_high"]
    pd.testing.assert_series_equal(
        alone.loc["distribution", columns], both.loc["distribution", columns]
    )
    assert alone.loc["grind_setting", "kind"] == "adjuster"


def test_settings_come_before_conditions_and_take_no_place_from_them() -> None:
    made = conditions(log(sessions=5, shots=6)).assign(distribution=["tap", "stir"] * 15)
    found = chosen(made, "distribution")
    # 30 shots less 5 sessions and 5 columns of settings are 20 rows: 4 adjusters, dose and
    # position among them.
    unasked = ("grind_setting", "temp_band", "taper_bar")
    assert found.columns == (*unasked, *ALWAYS, "gap_min", "barista")


@pytest.mark.parametrize(
    ("asked", "others"),
    [("temp_c", {"grind_setting", "taper_bar"}), ("end_bar", {"grind_setting", "temp_band"})],
)
def test_a_setting_asked_about_in_other_words_is_not_held(asked: str, others: set[str]) -> None:
    made = log(sessions=6, shots=6)
    temperature = made["temp_band"].map({"low": 85.0, "medium": 89.0, "high": 93.0})
    made = made.assign(temp_c=temperature, end_bar=8.5 - made["taper_bar"])
    assert set(chosen(made, asked).columns) & set(UNASKED) == others


def test_a_setting_that_cannot_be_borne_is_named_with_care() -> None:
    made = log(sessions=2, shots=4).assign(distribution=["tap", "stir"] * 4)
    grind = made["grind_setting"].where(np.arange(len(made)) % 3 > 0)
    found = fit_effects(
        comparable(made.assign(grind_setting=grind)), "ey_pct", bench=BENCH,
        settings=("distribution",),
    )  # fmt: skip
    (told,) = [each for each in found.cautions if each.code == "unasked-setting"]
    assert told.severity == "care"
    assert "Grind setting (" in told.sentence
    assert "may pass for what distribution did" in told.sentence


@pytest.mark.parametrize("code", ["unasked-setting"])
def test_settings_that_were_all_asked_about_are_not_named(code: str) -> None:
    found = fit_effects(comparable(log(sessions=2, shots=4)), "ey_pct", bench=BENCH)
    assert code not in {each.code for each in found.cautions}


def test_a_refusal_comes_before_what_was_taken_off() -> None:
    shots = followed().assign(puck_screen=True)
    found = fit_effects(comparable(shots), "ey_pct", bench=BENCH, settings=("puck_screen",))
    assert found.sentences[0].startswith("Puck screen was not judged: used in all 48 shots")
    (taken,) = [each for each in found.sentences if each.startswith("One setting coarser")]
    assert taken.endswith("; taken off and not tested.")
    assert "unasked-setting" not in {each.code for each in found.cautions}


def test_intervals_cover_with_conditions_chosen_by_the_log() -> None:
    # 80 logs, bounds of four binomial standard errors about 95 %.
    held = 0
    for seed in range(80):
        shots = conditions(log(sessions=5, shots=6, seed=seed, drift=0.1), seed=seed + 1000)
        found = chosen(shots)
        question = Question("ey_pct", BENCH, SETTINGS, found.columns)
        inside = judge_strata(prepare(comparable(shots), question))[0]
        assert inside.fit is not None
        (slope,) = (
            each.estimate
            for each in effects_of(inside)
            if each.predictor.column == "grind_setting"
        )
        held += slope.ci_low <= -0.5 <= slope.ci_high
    assert abs(held / 80 - 0.95) < 4 * np.sqrt(0.95 * 0.05 / 80)
