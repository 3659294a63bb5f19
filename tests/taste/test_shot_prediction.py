"""What a shot at stated settings will give, and the refusals, on logs of known truth."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest
from scipy import stats

from tests.taste.logs import finer_each_day, log
from tests.taste.test_setting_means import compared, found, tasted
from yieldwright.errors import UnknownNameError
from yieldwright.models.contrasts.predictions import predicted
from yieldwright.models.mixed.model import MixedFit
from yieldwright.taste.means.shot_prediction import ShotPrediction, predict_shot
from yieldwright.taste.strata.grouped_fit import GroupedFit

INSIDE = ("grind_setting", "temp_band")


def shot(shots: pd.DataFrame, **at: object) -> ShotPrediction:
    return predict_shot(found(shots, settings=INSIDE, adjusters=("roast_age_d",)), at)


def test_without_noise_the_truth_is_predicted() -> None:
    answer = shot(log(noise=1e-9), grind_setting=12.0, temp_band="high", roast_age_d=9.0)
    # The log's law: 19 − 0.5 a setting from 11, 0.4 a band, 0.05 a day.
    assert answer.mean == pytest.approx(19 - 0.5 + 0.8 + 0.45, abs=1e-6)
    assert answer.shot_high - answer.shot_low < 1e-6


def test_one_session_is_predicted_as_its_line_is() -> None:
    shots = log(1, 12, age=0.0)
    findings = found(shots, settings=INSIDE, adjusters=())
    at = {"grind_setting": 11.0, "temp_band": "low"}
    answer = predict_shot(findings, at)
    assert findings.inside.fit is not None
    target = predicted(findings.inside.fit.fit, at)
    limits = (answer.mean, answer.ci_low, answer.shot_low, answer.shot_high)
    assert limits == pytest.approx(
        (target.mean.estimate, target.mean.ci_low, target.row_low, target.row_high)
    )
    assert "The next shot of the same session is expected between" in answer.sentences[1]


def test_a_setting_alone_is_what_the_table_of_means_says_at_equal_bands() -> None:
    shots = log()
    means = compared(shots, settings=("grind_setting",), adjusters=()).means
    answer = predict_shot(
        found(shots, settings=("grind_setting",), adjusters=()), {"grind_setting": 12.0}
    )
    row = means.set_index("value").loc[12.0]
    told = (answer.mean, answer.ci_low, answer.ci_high, answer.shot_low, answer.shot_high)
    names = ["estimate", "ci_low", "ci_high", "shot_low", "shot_high"]
    assert told == pytest.approx(tuple(row[names].tolist()))


def test_balanced_sessions_are_predicted_by_their_mean_squares() -> None:
    # V = MSB (1 + 1/a) / b + MSE (1 − 1/b + 1/ab), by Satterthwaite: at its mean the grind
    # takes a degree of freedom within and adds nothing else; two settings bear no curve.
    shots = log(6, 6, age=0.0, band=0.0, grinds=(10.0, 12.0))
    findings = found(shots, settings=("grind_setting",), adjusters=())
    answer = predict_shot(findings, {"grind_setting": 11.0})
    groups = shots.groupby("session", sort=False)
    slope = findings.table.set_index("term").loc["grind_setting", "estimate"]
    left = shots["ey_pct"] - slope * (shots["grind_setting"] - 11)
    within = (left - left.groupby(shots["session"]).transform("mean")).pow(2).sum() / 29
    between = groups["ey_pct"].mean().var()
    parts = np.array([between * (1 + 1 / 6), within * (1 - 1 / 6 + 1 / 36)])
    df = parts.sum() ** 2 / (parts**2 / [5, 29]).sum()
    reach = stats.t.ppf(0.975, df) * np.sqrt(parts.sum())
    assert answer.mean == pytest.approx(shots["ey_pct"].mean())
    assert answer.shot_high - answer.mean == pytest.approx(reach, rel=1e-9)


def test_a_mixed_model_predicts_all_strata_together() -> None:
    shots, scores = tasted()
    findings = found(shots, "score:overall", tastings=scores, settings=INSIDE)
    assert isinstance(findings.inside.fit, GroupedFit)
    assert isinstance(findings.inside.fit.mixed, MixedFit)
    answer = predict_shot(findings, {"grind_setting": 11.0, "temp_band": "high"})
    assert answer.answered
    assert answer.shot_low < answer.ci_low < answer.mean < answer.ci_high < answer.shot_high


def test_age_moves_the_mean_by_its_effect() -> None:
    shots = log(6, 6)
    findings = found(shots, settings=INSIDE, adjusters=("roast_age_d",))
    effect = findings.table.set_index("term").loc["roast_age_d", "estimate"]
    young, old = (
        predict_shot(findings, {"roast_age_d": day, "temp_band": "low"}) for day in (9.0, 12.0)
    )
    assert old.mean - young.mean == pytest.approx(3 * effect)


def test_a_level_not_stated_is_named() -> None:
    shots = log()
    shots.loc[shots["temp_band"] == "high", "temp_band"] = "medium"
    answer = shot(shots, grind_setting=11.0)
    assert dict(answer.assumed) == {"temp_band": "medium"}
    assert any("taken to be as in most shots: the medium band" in s for s in answer.sentences)


def test_numbers_may_come_as_text() -> None:
    typed = shot(log(), grind_setting="11", temp_band="low")
    assert typed.mean == shot(log(), grind_setting=11.0, temp_band="low").mean


def test_yes_and_no_may_come_as_truth_values() -> None:
    shots = log()
    shots["puck_screen"] = np.resize([True, False], 24)
    findings = found(shots, settings=("puck_screen",), adjusters=())
    said, meant = (predict_shot(findings, {"puck_screen": value}) for value in ("yes", True))
    assert said.mean == meant.mean


@pytest.mark.parametrize("value", ["$x$", "<b>", "a\nb", "x" * 500, None, float("nan"), []])
def test_odd_values_are_refused_on_one_short_line(value: object) -> None:
    for column in ("grind_setting", "temp_band"):
        answer = shot(log().assign(temp_band="medium"), **{column: value})
        assert not answer.answered
        assert "\n" not in answer.refused
        assert len(answer.refused) < 200
        assert "<b>" not in answer._repr_html_()


@pytest.mark.parametrize(
    ("at", "words"),
    [
        ({"grind_setting": 14.0}, "Grind setting was tried from 10 to 12; 14 lies outside"),
        ({"roast_age_d": 40.0}, "Roast age was tried from 6 to 15; 40 lies outside"),
        ({"grind_setting": "fine"}, "Grind setting must be a finite number"),
        ({"grind_setting": float("inf")}, "Grind setting must be a finite number"),
    ],
)
def test_outside_what_was_tried_there_is_no_number(at: dict[str, object], words: str) -> None:
    answer = shot(log(), **at)
    assert not answer.answered
    assert answer.refused.startswith(words)
    assert np.isnan([answer.mean, answer.ci_low, answer.shot_low, answer.shot_high]).all()
    assert answer.to_frame().empty
    assert words.split(";", maxsplit=1)[0][:20] in answer.summary()


def test_the_next_step_beyond_an_edge_is_named_and_not_predicted() -> None:
    assert "the next to try is 13" in shot(log(), grind_setting=14.0).refused


def test_a_combination_never_tried_is_named() -> None:
    shots = log(4, 6)
    later = shots["roast_age_d"] > 10
    shots["grind_setting"] = np.resize([10.0, 10.5, 11.0], 24) + later * 1.0
    answer = shot(shots, grind_setting=12.0, roast_age_d=6.0)
    assert "lies outside what was tried together" in answer.refused
    assert "grind setting 12 with roast age 6" in answer.refused.lower()


def test_a_setting_without_a_verdict_is_refused_with_its_reason() -> None:
    shots = log()
    shots["temp_band"] = "medium"
    answer = shot(shots, temp_band="medium")
    assert "cannot predict by temperature band medium" in answer.refused
    assert "the same in all 24 shots" in answer.refused


def test_a_level_that_no_session_links_to_others_is_refused_with_its_reason() -> None:
    shots = log(5, 6)
    alone = shots["session"] == "day 1"
    others = np.resize(["medium", "high"], len(shots))
    shots["temp_band"] = np.where(alone, "low", others)
    answer = shot(shots, temp_band="low")
    assert "low never stood in one session with medium or high" in answer.refused
    assert shot(shots, temp_band="high").answered


def test_columns_that_follow_each_other_cannot_be_predicted_by() -> None:
    answer = shot(finer_each_day(), grind_setting=13.0)
    assert "cannot be told apart from roast age" in answer.refused


def test_a_column_nobody_asked_about_is_refused_with_the_nearest() -> None:
    with pytest.raises(UnknownNameError, match="did you mean 'grind_setting'"):
        shot(log(), grind_seting=11.0)


def test_a_level_that_was_not_tried_is_refused_with_the_nearest() -> None:
    with pytest.raises(UnknownNameError, match="no level 'hihg'"):
        shot(log(), temp_band="hihg")


def test_nothing_stated_is_the_average_shot() -> None:
    answer = shot(log())
    assert answer.title == "Extraction yield at the average shot"
    assert answer.answered
