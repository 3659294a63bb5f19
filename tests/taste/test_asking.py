"""One call answers a question of a log, with everything that puts the effects in their place."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from tests.taste.logs import BENCH
from tests.taste.logs import log as log_of
from yieldwright.errors import RoleError, TooFewShotsError, UnknownNameError
from yieldwright.shotlog import ShotLog, read_log
from yieldwright.taste import ComparableSet, TasteFit, fit, fit_effects, fit_set
from yieldwright.taste.asking import named_response, named_set

DEMO = Path(__file__).parents[2] / "datasets" / "evening-class"


@pytest.fixture(scope="module")
def log() -> ShotLog:
    return read_log(DEMO)


@pytest.fixture(scope="module")
def found(log: ShotLog) -> TasteFit:
    return fit(log, "overall")


def test_the_bag_pulled_last_and_the_first_attribute_are_meant_by_default(log: ShotLog) -> None:
    asked, default = fit(log, "overall", bag="bag-18"), fit(log)
    assert default.line.bag == asked.line.bag == "bag-18"
    assert default.response == "score:overall"
    assert default.effects.equals(asked.effects)


def test_every_part_is_there_for_scores_of_several_tasters(found: TasteFit) -> None:
    kinds = {type(part).__name__ for part in found.parts}
    assert {
        "EffectsFit",
        "SettingMeans",
        "Spreads",
        "ScoredSteps",
        "TasterEffects",
        "Sensitivity",
        "SurfaceFit",
    } <= kinds


def test_measured_responses_have_no_scores(log: ShotLog) -> None:
    time = fit(log, "time_s")
    assert time.steps is None
    assert time.tasters is None
    assert time.spreads is not None


def test_effects_are_those_a_set_of_shots_gives(log: ShotLog, found: TasteFit) -> None:
    line = fit_effects(named_set(log, bag="bag-18"), "score:overall", bench=log.bench)
    assert found.effects.equals(line.effects)


def test_cautions_of_all_parts_stand_gravest_first(found: TasteFit) -> None:
    order = ["stop", "care", "note"]
    ranks = [order.index(caution.severity) for caution in found.cautions]
    assert ranks == sorted(ranks)
    gathered = {each for part in found.parts for each in part.cautions}
    assert {each for each in gathered if each.code != "surface-impossible"} <= set(found.cautions)


def test_the_summary_fits_a_terminal(found: TasteFit) -> None:
    lines = found.summary().splitlines()
    assert max(map(len, lines)) <= 80
    assert "Sessions" in found.summary()


def test_the_html_escapes_and_holds_every_part(found: TasteFit) -> None:
    html = found._repr_html_()
    assert html.count("<section") >= len(found.parts) - 1
    assert "<script" not in html


def test_the_same_question_has_the_same_answer(log: ShotLog, found: TasteFit) -> None:
    assert fit(log, "overall").summary() == found.summary()
    other = fit(log, "overall", rng=np.random.default_rng(7))
    assert other.effects.equals(found.effects)


def test_a_shot_is_predicted_only_where_shots_were_tried(found: TasteFit) -> None:
    inside = found.predict({"grind_setting": 9.0, "temp_band": "high"})
    assert inside.refused == ""
    beyond = found.predict({"grind_setting": 15.0})
    assert "15" in beyond.refused
    assert np.isnan(beyond.mean)


@pytest.mark.parametrize(
    ("options", "error", "words"),
    [
        ({"response": "overal"}, UnknownNameError, "did you mean 'overall'"),
        ({"response": "score:crema"}, UnknownNameError, "scored were: 'overall' and 'bitter'"),
        ({"response": "grind_setting"}, RoleError, "not an outcome"),
        ({"bag": "bag-81"}, UnknownNameError, "did you mean 'bag-18'"),
        ({"grinder": "other"}, UnknownNameError, "no grinder 'other'"),
        ({"settings": ("time_s",)}, RoleError, "is an outcome of a shot"),
        ({"settings": ("grnd",)}, UnknownNameError, "grnd"),
    ],
)
def test_what_cannot_be_asked_is_refused_with_a_remedy(
    log: ShotLog, options: dict[str, object], error: type[Exception], words: str
) -> None:
    with pytest.raises(error, match=words):
        fit(log, **options)


def test_a_log_without_shots_is_refused(tmp_path: Path) -> None:
    path = tmp_path / "shots.csv"
    path.write_text("shot,dose_g,time_s\n", encoding="utf-8")
    with pytest.raises(TooFewShotsError, match="holds no shot"):
        fit(read_log(path))


def test_too_few_shots_leave_a_sentence_and_no_number(tmp_path: Path) -> None:
    path = tmp_path / "shots.csv"
    path.write_text("shot,grind_setting,time_s\n1,10,30\n2,11,28\n", encoding="utf-8")
    answer = fit(read_log(path), "time_s")
    assert not answer.answered
    assert answer.sentences
    with pytest.raises(TooFewShotsError, match="Only 1 shot"):
        answer.predict({"grind_setting": 10.0})


def test_bags_can_be_compared_within(log: ShotLog) -> None:
    pooled = fit(log, "ey_pct", pool_bags=True)
    alone = fit(log, "ey_pct")
    assert pooled.n_shots > alone.n_shots
    assert any(caution.code == "bags-together" for caution in pooled.cautions)


def test_an_attribute_never_scored_falls_back_on_the_yield(tmp_path: Path) -> None:
    path = tmp_path / "shots.csv"
    path.write_text("shot,dose_g,beverage_g,tds_pct\n1,18,36,9\n2,18,36,9.5\n", encoding="utf-8")
    log = read_log(path)
    assert named_response("", named_set(log), bench=log.bench) == "ey_pct"


def test_scores_at_an_end_are_told_by_odds_and_the_line_without_an_interval() -> None:
    shots = log_of(6, 6, noise=0.8)
    chance = np.random.default_rng(1).normal(0, 0.8, len(shots))
    scores = np.clip(np.round(2 * (9.3 - 1.2 * (shots["grind_setting"] - 11) + chance)) / 2, 0, 10)
    tastings = pd.DataFrame(
        {"shot": shots["shot"], "taster": "a", "attribute": "overall", "score": scores}
    )
    scored = shots.assign(**{"score:overall": scores})
    crowded = ComparableSet("bag-1", "mill", scored, tastings=tastings)
    found = fit_set(crowded, "score:overall", bench=BENCH)
    assert found.steps is not None
    assert found.steps.chosen
    assert found.line.settings["estimate"].notna().all()
    assert found.line.settings[["ci_low", "ci_high", "p_value", "p_holm"]].isna().all(axis=None)
    assert found.sentences[0] == found.steps.why
    assert not any("95 %" in sentence for sentence in found.line.sentences)
    assert found.plot() is not None
