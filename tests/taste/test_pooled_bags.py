"""Several bags of one grinder, compared within bags."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from tests.taste.logs import BENCH, log
from yieldwright.errors import UnknownNameError
from yieldwright.shotlog import ShotLog, read_log
from yieldwright.taste import comparable_sets, fit_effects
from yieldwright.taste.columns.comparable import pooled_bags, pooling_caution, set_of
from yieldwright.taste.columns.predictors import Question, prepare
from yieldwright.taste.columns.sufficiency import affordable

LOG = """shot,session,position,bag,grinder,fate,stage,serviced,dose_g,overall
1,a,1,old,mill,pulled,counted,,18,5
2,a,2,new,mill,pulled,counted,,18,6
3,b,1,new,mill,choked,counted,burrs changed,18,7
4,b,2,new,mill,pulled,counted,,18,8
5,b,3,new,other,pulled,counted,,18,9
6,c,1,,mill,pulled,counted,,18,4
"""


@pytest.fixture
def read(tmp_path: Path) -> ShotLog:
    """Return a log of two named bags, one without a name, and two grinders."""
    path = tmp_path / "shots.csv"
    path.write_text(LOG, encoding="utf-8")
    return read_log(path)


def of_two_bags(*, apart: float, noise: float = 0.0) -> pd.DataFrame:
    """Return sessions of one band each, in two bags that differ by so much."""
    shots = log(sessions=12, shots=4, noise=noise, grind=-0.5, band=0.0, age=0.0)
    day = (shots["roast_age_d"] - 6) / 3
    high, second = day.isin([1, 6, 7, 8, 10, 11]), day >= 6
    return shots.assign(
        bag=np.where(second, "b", "a"),
        roast_age_d=6 + (day % 6) * 3,
        temp_band=np.where(high, "high", "low"),
        ey_pct=shots["ey_pct"] + 0.4 * high + apart * second,
    )


def test_bags_are_pooled_and_grinders_are_not(read: ShotLog) -> None:
    pooled = pooled_bags(read, grinder="mill")
    assert pooled.shots["shot"].tolist() == ["1", "2", "4", "6"]
    assert pooled.grinder == "mill"
    assert pooled.name == "bags old, new and unnamed on mill"


def test_a_shot_that_may_not_enter_is_counted_out(read: ShotLog) -> None:
    pooled = pooled_bags(read, grinder="mill")
    assert [str(each) for each in pooled.excluded] == ["1 shot not pulled"]


def test_scores_come_along(read: ShotLog) -> None:
    pooled = pooled_bags(read, grinder="mill")
    assert pooled.shots["score:overall"].tolist() == [5.0, 6.0, 8.0, 4.0]
    assert set(pooled.tastings["shot"]) <= set(pooled.shots["shot"])


def test_a_session_of_two_bags_is_one_session_for_each(read: ShotLog) -> None:
    pooled = pooled_bags(read, grinder="mill")
    assert pooled.shots["session"].tolist() == ["a, bag old", "a, bag new", "b", "c"]


def test_a_service_noted_at_a_failed_shot_counts(read: ShotLog) -> None:
    pooled = pooled_bags(read, grinder="mill")
    stretches = pooled.shots["service_stretch"].tolist()
    assert stretches == ["before service 1"] * 2 + ["since service 1"] * 2
    new = next(each for each in comparable_sets(read) if each.bag == "new")
    assert new.shots["service_stretch"].tolist()[-1] == "since service 1"


def test_a_grinder_nobody_used_is_refused_with_those_one_has(read: ShotLog) -> None:
    with pytest.raises(UnknownNameError, match="'mil'; it knows mill and other"):
        pooled_bags(read, grinder="mil")


def test_a_log_without_grinders_or_bags_is_one_set(tmp_path: Path) -> None:
    path = tmp_path / "shots.csv"
    path.write_text("shot,dose_g\n1,18\n2,18\n", encoding="utf-8")
    pooled = pooled_bags(read_log(path))
    assert len(pooled.shots) == 2
    assert pooled.bags == ()
    assert pooling_caution(pooled) is None


def test_what_a_setting_does_may_differ_from_bag_to_bag() -> None:
    caution = pooling_caution(set_of(of_two_bags(apart=0.0)))
    assert caution is not None
    assert caution.severity == "note"
    assert "48 shots of 2 bags" in caution.sentence


def test_bags_that_differ_no_longer_pass_for_the_band() -> None:
    settings = ("temp_band", "grind_setting")
    one_bag = replace(set_of(of_two_bags(apart=1.0).drop(columns="bag")), grinder="mill")
    several = replace(set_of(of_two_bags(apart=1.0)), grinder="mill")
    apart, within = (
        fit_effects(each, "ey_pct", bench=BENCH, settings=settings, adjusters=("roast_age_d",))
        for each in (one_bag, several)
    )
    effects = [
        float(each.effects.set_index("term").loc["temp_band", "estimate"])
        for each in (apart, within)
    ]
    assert effects[0] > 0.5
    assert effects[1] == pytest.approx(0.4, abs=1e-9)
    assert any(sentence.startswith("Allowed for: bag") for sentence in within.sentences)


def test_the_bag_is_never_the_one_to_go() -> None:
    question = Question("ey_pct", BENCH, ("temp_band",), ("roast_age_d",))
    predictors = prepare(set_of(of_two_bags(apart=0.0)), question).predictors
    found = affordable(predictors, df=3, stratum="between sessions")
    assert [each.column for each in found.dropped] == ["roast_age_d"]
    assert [each.column for each in found.kept] == ["temp_band", "bag"]
    assert found.lacking == 1


def test_a_bag_of_one_shot_is_counted_out() -> None:
    shots = of_two_bags(apart=0.0)
    shots.loc[0, "bag"] = "c"
    question = Question("ey_pct", BENCH, ("grind_setting",), ())
    assert [str(each) for each in prepare(set_of(shots), question).dropped] == [
        "1 shot that alone had the coffee of bag c"
    ]
