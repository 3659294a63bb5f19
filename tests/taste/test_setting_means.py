"""The mean at each setting, its pairs, and where the next shot falls, on logs of known truth."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest

from tests.taste.logs import BENCH, comparable, finer_each_day, log
from yieldwright.taste.choosing import Model, choose
from yieldwright.taste.columns.comparable import ComparableSet
from yieldwright.taste.columns.predictors import Question, prepare
from yieldwright.taste.findings import Findings
from yieldwright.taste.fitting import ADJUSTERS, SETTINGS, told
from yieldwright.taste.means.setting_means import SettingMeans, compare_settings
from yieldwright.taste.strata.grouped_fit import GroupedFit

BANDS = ["low", "medium", "high"]
NEIGHBOURS = [("low", "medium"), ("medium", "high")]


def found(
    shots: pd.DataFrame,
    response: str = "ey_pct",
    *,
    settings: tuple[str, ...] = SETTINGS,
    adjusters: tuple[str, ...] = ADJUSTERS,
    model: Model = "auto",
    tastings: pd.DataFrame | None = None,
) -> Findings:
    """Return what one question brings to light."""
    one = comparable(shots)
    if tastings is not None:
        one = ComparableSet("bag-1", "mill", shots, tastings=tastings)
    question = Question(response, BENCH, settings, adjusters)
    prepared = prepare(one, question)
    chosen = choose(prepared, one, question, model=model)
    return Findings(question, one, prepared, chosen.judged, chosen)


def compared(shots: pd.DataFrame, response: str = "ey_pct", **options: object) -> SettingMeans:
    answer = compare_settings(found(shots, response, **options))  # type: ignore[arg-type]
    assert answer is not None
    return answer


def of(answer: SettingMeans, setting: str) -> pd.DataFrame:
    return answer.means[answer.means["setting"] == setting].set_index("value")


def whole(shots: pd.DataFrame) -> str:
    return " ".join(compared(shots).sentences)


def test_without_noise_means_differ_by_the_truth() -> None:
    answer = compared(log(noise=1e-9))
    bands, grinds = of(answer, "temp_band")["estimate"], of(answer, "grind_setting")["estimate"]
    assert np.diff(bands.loc[BANDS]).tolist() == pytest.approx([0.4, 0.4], abs=1e-6)
    assert np.diff(grinds.loc[[10.0, 11.0, 12.0]]).tolist() == pytest.approx(
        [-0.5, -0.5], abs=1e-6
    )


def test_a_curve_is_followed() -> None:
    answer = compared(log(6, 6, noise=1e-9, bend=-0.3, grinds=(9.0, 10.0, 11.0, 12.0)))
    grinds = of(answer, "grind_setting")["estimate"]
    # From the log's law: −0.5 a setting and −0.3 a setting squared from the middle, 10.5.
    assert np.diff(grinds).tolist() == pytest.approx([0.1, -0.5, -1.1], abs=1e-6)


def test_differences_of_neighbours_are_the_effects_printed() -> None:
    findings = found(log())
    effects = findings.table[findings.table["term"] == "temp_band"]
    answer = compare_settings(findings)
    assert answer is not None
    pairs = answer.pairs.set_index(["first", "second"]).loc[
        [("low", "medium"), ("medium", "high")]
    ]
    for name in ("estimate", "std_error", "df", "ci_low", "ci_high", "p_value"):
        assert pairs[name].tolist() == pytest.approx(effects[name].tolist(), rel=1e-9)


def test_means_of_bands_are_the_adjusted_means_printed() -> None:
    findings = found(log())
    printed, answer = told(findings).band_means, compare_settings(findings)
    assert answer is not None
    ours = of(answer, "temp_band")
    for name in ("n_shots", "estimate", "ci_low", "ci_high"):
        assert ours[name].tolist() == pytest.approx(printed[name].tolist())


def test_a_band_set_once_a_session_is_compared_between_sessions() -> None:
    shots = log(9, 4)
    day = shots["roast_age_d"].rank(method="dense").astype(int)
    shots["temp_band"] = [BANDS[number % 3] for number in day]
    answer = compared(shots, adjusters=())
    assert set(of(answer, "temp_band")["stratum"]) == {"between sessions"}
    # 9 sessions less 3 bands, and what the adjustment of their means adds.
    assert of(answer, "temp_band")["df"].max() < 20
    assert len(answer.pairs) == 3


def test_joint_limits_are_wider_than_single_ones() -> None:
    pairs = compared(log()).pairs
    assert (pairs["joint_low"] < pairs["ci_low"]).all()
    assert (pairs["p_tukey"] >= pairs["p_value"]).all()


def test_shots_are_counted_at_each_value() -> None:
    shots = log()
    counts = of(compared(shots), "temp_band")["n_shots"]
    assert counts.to_dict() == shots["temp_band"].value_counts().to_dict()


def test_many_values_of_a_number_are_told_at_their_quartiles() -> None:
    shots = log(6, 6)
    values = of(compared(shots), "taper_bar").index.tolist()
    assert len(values) == 5
    assert (values[0], values[-1]) == (shots["taper_bar"].min(), shots["taper_bar"].max())
    assert set(values) <= set(shots["taper_bar"])


def test_clear_pairs_are_told_with_limits_and_p() -> None:
    text = whole(log(noise=0.1))
    assert "The high band gave 0.8" in text
    assert "by Tukey over 3 pairs" in text


def test_pairs_not_set_apart_keep_their_limits() -> None:
    text = whole(log(band=0.0))
    assert "Not set apart by this log: the low band and the medium band (−" in text
    assert "no effect" not in text


def test_the_next_shot_of_one_session_is_one_of_that_session() -> None:
    assert compared(log(1, 12)).next_shot == "the next shot of the same session"
    assert "another session" in compared(log()).next_shot


def test_the_next_shot_falls_farther_than_the_mean() -> None:
    means = compared(log()).means
    assert (means["shot_low"] < means["ci_low"]).all()
    assert (means["shot_high"] > means["ci_high"]).all()


def test_sessions_that_differ_widen_the_next_shot_and_not_the_mean() -> None:
    shots = log(6, 6, age=0.0)
    shift = np.random.default_rng(3).normal(0, 2.0, 6)
    apart = shots.assign(ey_pct=shots["ey_pct"] + np.repeat(shift, 6))
    calm, wild = compared(shots).means, compared(apart).means
    widths = [(each["shot_high"] - each["shot_low"]).mean() for each in (calm, wild)]
    assert widths[1] > 2 * widths[0]
    inside = wild["stratum"] == "within sessions"
    assert (wild["std_error"] - calm["std_error"])[inside].abs().max() < 1e-9


def test_a_score_stays_on_its_scale() -> None:
    shots = log(noise=0.3)
    rng = np.random.default_rng(2)
    shots["score:overall"] = np.clip(9.3 + rng.normal(0, 0.6, len(shots)), 0, 10).round(1)
    means = compared(shots, "score:overall").means
    assert means["shot_high"].max() == 10.0


def test_what_is_best_in_the_middle_is_told_as_a_distance() -> None:
    shots = log()
    shots["score:body"] = np.random.default_rng(4).uniform(3, 7, len(shots)).round(1)
    answer = compared(shots, "score:body")
    assert "The distance of the body score from the middle of its scale averages" in " ".join(
        answer.sentences
    )
    assert answer.measure.startswith("Minus the distance")
    assert answer.means["shot_high"].max() <= 0


def test_settings_that_cannot_be_told_from_another_column_are_not_told() -> None:
    answer = compare_settings(found(finer_each_day()))
    assert answer is not None
    assert "grind_setting" not in " ".join(answer.sentences)
    assert not any("at setting" in sentence for sentence in answer.sentences)


def test_a_level_of_one_shot_calls_for_care() -> None:
    shots = log()
    shots.loc[shots["temp_band"] == "high", "temp_band"] = "medium"
    shots.loc[3, "temp_band"] = "high"
    (caution,) = (c for c in compared(shots).cautions if c.code == "one-shot-levels")
    assert caution.sentence == "The mean at the high band rests on a single shot."


def test_nothing_judged_is_nothing_told() -> None:
    assert compare_settings(found(log(3, 2), settings=("temp_band",))) is None


@pytest.mark.parametrize("text", ["$x$", "<b>", "a\nb", "x" * 200])
def test_levels_from_a_log_are_shown_and_never_rendered(text: str) -> None:
    shots = log()
    shots["distribution"] = np.resize([text, "level"], len(shots))
    answer = compared(shots, settings=("distribution",))
    assert "<b>" not in answer._repr_html_()
    assert max(map(len, answer.summary().splitlines())) <= 80


def tasted(seed: int = 1, *, taster_sd: float = 0.8) -> tuple[pd.DataFrame, pd.DataFrame]:
    """Return shots and the scores that three tasters gave each of them."""
    shots, rng = log(5, 6, seed=seed), np.random.default_rng(seed)
    tasters = rng.normal(0, taster_sd, 3)
    liking = 6 + 0.4 * (shots["temp_band"] == "high") + rng.normal(0, 0.4, len(shots))
    rows = [
        {"shot": shot, "taster": f"t{number}", "attribute": "overall", "score": value + shift}
        for shot, value in zip(shots["shot"], liking, strict=True)
        for number, shift in enumerate(tasters + 0.0)
    ]
    scores = pd.DataFrame(rows)
    scores["score"] += rng.normal(0, 0.3, len(scores))
    means = scores.groupby("shot")["score"].mean()
    return shots.assign(**{"score:overall": shots["shot"].map(means)}), scores


def test_scores_of_several_tasters_are_compared_by_their_mixed_model() -> None:
    shots, scores = tasted()
    findings = found(shots, "score:overall", tastings=scores, adjusters=())
    assert findings.chosen is not None
    assert findings.chosen.kind == "mixed model"
    answer = compare_settings(findings)
    assert answer is not None
    effects = findings.table[findings.table["term"] == "temp_band"]
    pairs = answer.pairs.set_index(["first", "second"]).loc[
        [("low", "medium"), ("medium", "high")]
    ]
    assert pairs["estimate"].tolist() == pytest.approx(effects["estimate"].tolist())
    assert pairs["df"].tolist() == pytest.approx(effects["df"].tolist())


def test_the_next_shot_is_scored_by_as_many_tasters() -> None:
    # Of a mean of three scores, a third of the variances of taster and row.
    shots, scores = tasted()
    findings = found(shots, "score:overall", tastings=scores, adjusters=())
    answer = compare_settings(findings)
    assert answer is not None
    assert isinstance(findings.inside.fit, GroupedFit)
    mixed = findings.inside.fit.mixed
    assert mixed is not None
    shares = {"session": 1.0, "shot": 1.0, "taster": 1 / 3}
    own = sum(shares[name] * float(cov[0, 0]) for name, cov in mixed.covariances.items())
    least = np.sqrt(own + mixed.sigma**2 / 3)
    half = (answer.means["shot_high"] - answer.means["shot_low"]) / 2
    assert (half > 1.96 * least).all()
