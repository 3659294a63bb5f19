"""What the settings did to one response, on small logs of known truth."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pandas as pd
import pytest

from tests.taste.logs import BENCH, comparable, finer_each_day, log
from yieldwright.bench import Bench, Grinder
from yieldwright.errors import RoleError, UnknownNameError
from yieldwright.models.contrasts.contrasts import holm
from yieldwright.models.intervals.power import detection_power
from yieldwright.results import ESTIMATE_COLUMNS
from yieldwright.taste import ComparableSet, EffectsFit, fit_effects


def fit(shots: pd.DataFrame, response: str = "ey_pct", *, bench: Bench = BENCH) -> EffectsFit:
    return fit_effects(comparable(shots), response, bench=bench)


def row(found: EffectsFit, term: str) -> pd.Series:
    rows = found.effects[found.effects["term"] == term]
    assert len(rows) == 1
    return rows.iloc[0]


def test_without_noise_the_truth_is_found() -> None:
    found = fit(log(noise=1e-9, drift=0.1))
    assert row(found, "grind_setting")["estimate"] == pytest.approx(-0.5, abs=1e-6)
    bands = found.effects[found.effects["term"] == "temp_band"]
    assert bands["estimate"].tolist() == pytest.approx([0.4, 0.4], abs=1e-6)
    assert row(found, "roast_age_d")["estimate"] == pytest.approx(0.05, abs=1e-6)
    assert row(found, "position")["estimate"] == pytest.approx(0.1, abs=1e-6)


def test_the_table_holds_the_columns_of_all_estimates() -> None:
    assert tuple(fit(log()).effects.columns[: len(ESTIMATE_COLUMNS)]) == ESTIMATE_COLUMNS


def test_strata_are_named() -> None:
    strata = fit(log()).effects.set_index("term")["stratum"]
    assert strata["grind_setting"] == "within sessions"
    assert strata["roast_age_d"] == "between sessions"


def test_settings_come_before_adjusters() -> None:
    kinds = fit(log()).effects["kind"].tolist()
    assert kinds == sorted(kinds, reverse=True)


def test_a_whole_day_that_ran_high_moves_nothing_inside_sessions() -> None:
    shots = log()
    shifted = shots.assign(ey_pct=shots["ey_pct"] + 5.0 * (shots["session"] == "day 2"))
    for term in ("grind_setting", "taper_bar", "position"):
        assert row(fit(shifted), term)["estimate"] == pytest.approx(
            row(fit(shots), term)["estimate"]
        )


def test_one_setting_coarser_follows_the_grinder() -> None:
    shots = log()
    turned = replace(BENCH, grinders=(Grinder("mill", step=0.5, coarser="down", stated=True),))
    plain, half_and_back = (
        row(fit(shots), "grind_setting"),
        row(fit(shots, bench=turned), "grind_setting"),
    )
    assert half_and_back["estimate"] == pytest.approx(-plain["estimate"] / 2)
    assert half_and_back["step"] == "one setting coarser"
    assert half_and_back["ci_low"] == pytest.approx(-plain["ci_high"] / 2)


def test_only_effects_of_settings_are_corrected_for_how_many_there_are() -> None:
    found = fit(log())
    settings = found.effects["kind"] == "setting"
    assert found.n_tests == settings.sum() == 4
    corrected = holm(found.effects.loc[settings, "p_value"].to_numpy(dtype=float))
    assert found.effects.loc[settings, "p_holm"].to_numpy(dtype=float) == pytest.approx(corrected)
    assert found.effects.loc[~settings, "p_holm"].isna().all()


def test_what_could_be_found_has_80_per_cent_power() -> None:
    found = row(fit(log()), "grind_setting")
    power = detection_power(float(found["detectable"]), found["std_error"], found["df"])
    assert power == pytest.approx(0.8)


def test_a_band_of_whole_sessions_is_judged_on_session_means() -> None:
    # Identity: with equal sessions and nothing changed inside, the t test of two sets of means.
    day = np.repeat(np.arange(6), 4)
    rng = np.random.default_rng(5)
    mean = np.array([18.0, 19.5, 18.4, 19.0, 18.2, 19.9])
    shots = pd.DataFrame(
        {
            "session": day.astype(str),
            "temp_band": np.where(day % 2 == 0, "low", "high"),
            "ey_pct": mean[day] + np.tile([0.3, -0.3, 0.1, -0.1], 6),
            "dose_g": rng.permuted(np.tile([17.9, 18.1], 12)),
        }
    )
    found = fit_effects(comparable(shots), "ey_pct", bench=BENCH, adjusters=())
    band = row(found, "temp_band")
    low, high = mean[::2], mean[1::2]
    pooled = np.sqrt((low.var(ddof=1) + high.var(ddof=1)) / 2 * (2 / 3))
    assert band["estimate"] == pytest.approx(high.mean() - low.mean())
    assert band["std_error"] == pytest.approx(pooled)
    assert band["df"] == 4
    assert band["stratum"] == "between sessions"


def test_too_few_sessions_leave_a_band_of_whole_sessions_undecided() -> None:
    shots = log(sessions=3)
    shots["temp_band"] = shots["session"].map({"day 1": "low", "day 2": "high", "day 3": "low"})
    found = fit(shots)
    assert "temp_band" not in set(found.effects["term"])
    reason = dict(found.left_out)["temp_band"]
    assert (
        reason == "never changed within a session; 1 more session needed, or a change inside one"
    )


def test_a_level_that_never_met_the_others_is_named() -> None:
    shots = log(sessions=5)
    alone = shots["session"] == "day 5"
    shots.loc[alone, "temp_band"] = "high"
    shots.loc[~alone & (shots["temp_band"] == "high"), "temp_band"] = "low"
    found = fit(shots)
    assert found.effects.loc[found.effects["term"] == "temp_band", "step"].tolist() == [
        "low → medium"
    ]
    assert ("temp_band", "high never stood in one session with low or medium") in found.left_out
    assert any("Temperature band was judged in part" in sentence for sentence in found.sentences)


def test_one_shot_a_session_is_pooled_and_said_so() -> None:
    found = fit(
        log(sessions=18, shots=1, grinds=(10.0,)).assign(grind_setting=np.tile([10.0, 11, 12], 6))
    )
    assert set(found.effects["stratum"]) == {"pooled"}
    assert "one-shot-sessions" in {caution.code for caution in found.cautions}


def test_one_session_is_judged_inside_it_and_said_so() -> None:
    found = fit(log(sessions=1, shots=18))
    assert set(found.effects["stratum"]) == {"within sessions"}
    assert "one-session" in {caution.code for caution in found.cautions}


def test_adjusters_go_when_degrees_of_freedom_are_scarce() -> None:
    # 9 shots in one session: intercept, grind, two bands, taper leave 4; dose and position go.
    found = fit(log(sessions=1, shots=9))
    assert dict(found.left_out)["dose_g"] == "not allowed for: too few shots"
    assert dict(found.left_out)["position"] == "not allowed for: too few shots"
    assert found.df_resid == 4


def test_of_the_adjusters_the_dose_goes_first() -> None:
    found = fit(log(sessions=1, shots=10))
    assert "dose_g" in dict(found.left_out)
    assert "position" in set(found.effects["term"])


def test_an_adjuster_that_had_to_go_and_went_along_is_a_caution() -> None:
    shots = log(sessions=1, shots=9).drop(columns="dose_g")
    order = np.array([1, 4, 2, 3, 5, 6, 9, 7, 8.0])
    shots = shots.assign(grind_setting=10 + (order - 1) // 3, position=np.arange(1.0, 10))
    found = fit(shots)
    flagged = {c.code for c in found.cautions if "position" in c.about}
    assert flagged & {"adjuster-left-out", "settings-entangled"}


def test_too_few_shots_give_no_number_but_say_what_is_missing() -> None:
    found = fit(log(sessions=1, shots=5))
    assert not found.answered
    assert found.missing == (
        "5 shots are too few to tell what grind setting, temperature band and pressure taper did "
        "to the extraction yield: 3 more are needed, at settings already tried."
    )
    assert found.sentences[0] == found.missing


def test_shots_are_the_unit_so_repeated_rows_are_not_invented() -> None:
    found = fit(log())
    assert found.n_shots == 24
    assert found.df_resid == 24 - 4 - 7


@pytest.mark.parametrize("column", ["time_s", "ey_pct", "tds_pct", "first_drip_s"])
def test_an_outcome_is_refused_as_a_setting(column: str) -> None:
    with pytest.raises(RoleError, match="outcome"):
        fit_effects(comparable(log()), "ey_pct", bench=BENCH, settings=("grind_setting", column))


def test_an_outcome_is_refused_as_an_adjuster() -> None:
    with pytest.raises(RoleError, match="time_s is an outcome"):
        fit_effects(comparable(log()), "ey_pct", bench=BENCH, adjusters=("time_s",))


def test_a_setting_is_refused_as_a_response() -> None:
    with pytest.raises(RoleError, match="grind_setting is not an outcome"):
        fit_effects(comparable(log()), "grind_setting", bench=BENCH)


def test_an_unknown_column_is_refused() -> None:
    with pytest.raises(UnknownNameError, match="colour"):
        fit_effects(comparable(log()), "ey_pct", bench=BENCH, settings=("colour",))


def test_the_shots_themselves_stay_as_they_were() -> None:
    shots = log()
    before = shots.copy(deep=True)
    fit(shots)
    pd.testing.assert_frame_equal(shots, before)


def test_the_same_shots_give_the_same_answer() -> None:
    first, second = fit(log()), fit(log())
    pd.testing.assert_frame_equal(first.effects, second.effects)
    assert first.sentences == second.sentences


def test_a_set_keeps_what_was_left_out_before_it() -> None:
    shots = log().assign(ey_pct=lambda frame: frame["ey_pct"].mask(frame["shot"] == "3"))
    found = fit(shots)
    assert [str(entry) for entry in found.dropped] == ["1 shot without an extraction yield"]


def test_times_from_different_starts_are_never_pooled() -> None:
    shots = log().rename(columns={"ey_pct": "time_s"})
    shots["time_from"] = ["lever"] * 20 + ["first_drip"] * 4
    found = fit(shots, "time_s")
    assert found.n_shots == 20
    assert str(found.dropped[0]) == "4 shots timed from another start than lever"


def test_an_attribute_best_in_the_middle_is_explained_by_its_distance() -> None:
    shots = log().drop(columns="ey_pct")
    shots["score:body"] = 5.0 + (shots["grind_setting"] - 11)
    found = fit(shots, "score:body")
    nearness = -(shots["score:body"] - 5).abs()
    direct = fit(shots.assign(ey_pct=nearness), "ey_pct")
    assert row(found, "grind_setting")["estimate"] == pytest.approx(
        row(direct, "grind_setting")["estimate"]
    )
    assert any("Explained is how near the body score" in sentence for sentence in found.sentences)


def test_a_setting_logged_for_few_shots_is_left_out_and_keeps_the_shots() -> None:
    shots = log()
    shots.loc[shots.index[5:], "taper_bar"] = np.nan
    found = fit(shots)
    assert dict(found.left_out)["taper_bar"] == "logged for only 5 of 24 shots"
    assert found.n_shots == 24


def test_a_setting_missing_in_some_shots_costs_those_shots() -> None:
    shots = log()
    shots.loc[shots.index[:3], "taper_bar"] = np.nan
    found = fit(shots)
    assert found.n_shots == 21
    assert str(found.dropped[0]) == "3 shots without a pressure taper"


def test_no_session_column_means_one_session() -> None:
    found = fit(log(sessions=1, shots=18).drop(columns="session"))
    assert found.n_sessions == 1
    assert found.answered


def test_a_yes_or_no_setting_is_compared_as_two_levels() -> None:
    shots = log().assign(puck_screen=lambda frame: (frame["position"] % 2 == 0).astype("boolean"))
    found = fit_effects(comparable(shots), "ey_pct", bench=BENCH, settings=("puck_screen",))
    assert found.effects["step"].tolist()[0] == "puck screen: no → yes"


def test_each_setting_stands_with_and_without_its_closest_companion() -> None:
    found = fit(log())
    assert set(found.beside["term"]) == {"grind_setting", "temp_band", "taper_bar"}
    together = found.beside.set_index("step").loc["one setting coarser"]
    assert together["estimate"] == pytest.approx(row(found, "grind_setting")["estimate"])
    companion = together["companion"]
    kept = [name for name in ("temp_band", "taper_bar") if name != companion]
    adjusters = [name for name in ("roast_age_d", "dose_g", "position") if name != companion]
    alone = fit_effects(
        comparable(log()),
        "ey_pct",
        bench=BENCH,
        settings=("grind_setting", *kept),
        adjusters=adjusters,
    )
    assert together["estimate_without"] == pytest.approx(row(alone, "grind_setting")["estimate"])


def test_the_result_shows_itself_in_eighty_columns() -> None:
    text = fit(log()).summary()
    assert max(map(len, text.splitlines())) <= 80
    assert "one setting coarser" in text


def test_the_result_shows_itself_where_nothing_could_be_said() -> None:
    empty = fit_effects(ComparableSet("", "", pd.DataFrame()), "ey_pct", bench=BENCH)
    assert "No shot can be used" in empty.summary()
    assert "No shot can be used" in empty._repr_html_()


def test_nothing_of_the_trap_is_called_an_effect_of_grind() -> None:
    found = fit(finer_each_day())
    assert "grind_setting" not in set(found.effects["term"])


def test_a_response_that_differs_between_sessions_only_gives_no_effect_inside_them() -> None:
    shots = log().assign(
        ey_pct=lambda frame: frame["roast_age_d"].map({6.0: 18.7, 9.0: 19.3}).fillna(19.9)
    )
    found = fit(shots)
    assert not set(found.effects["stratum"]) & {"within sessions"}
    assert dict(found.left_out)["grind_setting"] == "the response does not differ within sessions"


def test_session_means_that_agree_give_no_effect_of_age() -> None:
    shots = log().assign(ey_pct=lambda frame: 19 + frame["grind_setting"] ** 2)
    found = fit(shots)
    assert "roast_age_d" not in set(found.effects["term"])
    assert dict(found.left_out)["roast_age_d"] == "the response does not differ between sessions"
