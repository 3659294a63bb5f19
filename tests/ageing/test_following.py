"""One bag followed: what is told of it, what is refused, and what must not matter."""

from __future__ import annotations

import math
import re
from pathlib import Path

import numpy as np
import pandas as pd
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from tests.evidence.bags import BENCH, RESPONSES, bag_logs, case_of
from tests.models.published import data, expected
from yieldwright.ageing.bag_trend import BagTrend
from yieldwright.ageing.following import follow, follow_set
from yieldwright.bench import Attribute, Bench, Grinder
from yieldwright.errors import UnknownNameError
from yieldwright.shotlog import read_log
from yieldwright.taste.columns.comparable import set_of
from yieldwright.taste.columns.servicing import service_stretches

SCORE = "score:overall"
FEW = settings(max_examples=6, deadline=None, suppress_health_check=list(HealthCheck))


def bag(name: str, seed: int = 5) -> pd.DataFrame:
    """Return one simulated bag of a named case."""
    return bag_logs(name, 1, np.random.default_rng(seed))[0]


def followed(shots: pd.DataFrame, response: str = "time_s", bench: Bench = BENCH) -> BagTrend:
    """Return what is told of some shots."""
    return follow_set(set_of(shots), response, bench=bench)


def figures(found: BagTrend) -> dict[str, float]:
    """Return every figure told, by a name."""
    assert found.drift is not None
    assert found.compensation is not None
    told = {"average": found.drift.average.estimate, "error": found.drift.average.std_error}
    finer = found.compensation.finer_per_day
    if finer is not None:
        told |= {"finer": finer.estimate, "low": finer.low, "high": finer.high}
    if found.best is not None:
        told["turn"] = found.best.ages.estimate
    return told


# --- what is told


def test_a_bag_with_a_peak_is_told_its_best_day() -> None:
    found = followed(bag("curve with a peak inside"), SCORE).best
    assert found is not None
    assert found.verdict == "told"
    assert found.low < 20 < found.high
    assert "highest about day" in found.sentences[0]


def turning(ages: list[float], seed: int) -> BagTrend:
    """Return a bag that clearly turns, four shots a session."""
    rng = np.random.default_rng(seed)
    age = np.repeat(ages, 4)
    session = rng.normal(0, 0.3, len(ages)).repeat(4)
    score = 7 - 0.006 * (age - 22) ** 2 + session + rng.normal(0, 0.6, len(age))
    shots = pd.DataFrame({"session": age.astype(str), "roast_age_d": age, SCORE: score})
    return followed(shots, SCORE)


def test_on_few_sessions_forms_are_not_weighed() -> None:
    drift = turning([6, 11, 16, 22, 28, 34, 40], 0).drift
    assert drift is not None
    assert drift.forms.best.name == "flat"
    assert drift.ends[0].ci_low > 0 > drift.ends[1].ci_high
    told = " ".join(drift.sentences)
    assert "cannot be weighed on 7 sessions" in told
    assert "speaks clearly" not in told


def test_two_lines_count_on_few_sessions_too() -> None:
    found = followed(bag("two lines, few sessions", 9), SCORE)
    assert found.drift is not None
    lines, curve = (found.drift.forms.form(name) for name in ("two lines", "curve"))
    assert lines.aicc - curve.aicc > 6 > lines.aic - curve.aic
    assert found.best is not None
    assert found.best.lines is not None
    assert found.best.verdict == "open"
    assert found.best.low < 18 < found.best.high


def test_a_flat_bag_is_refused_a_best_day() -> None:
    found = followed(bag("flat"), SCORE).best
    assert found is not None
    assert found.verdict == "flat"
    assert math.isnan(found.low)
    assert "No best day can be told" in found.sentences[0]


def test_a_peak_at_the_edge_has_no_limit_beyond_it() -> None:
    found = followed(bag("peak at the edge"), SCORE).best
    assert found is not None
    assert found.verdict in ("open", "edge")
    assert math.isinf(found.high) or math.isnan(found.high)


def test_least_is_best_where_the_bench_says_so() -> None:
    kinder = Bench(grinders=BENCH.grinders, attributes=(Attribute("overall", better="less"),))
    shots = bag("curve with a peak inside")
    found = followed(shots.assign(**{SCORE: 10 - shots[SCORE]}), SCORE, kinder).best
    assert found is not None
    assert (found.verdict, found.top) == ("told", False)
    assert "lowest about day" in found.sentences[0]


def test_a_time_has_no_best_day() -> None:
    assert followed(bag("curve with a peak inside")).best is None


def test_a_grind_that_never_changed_gives_seconds_and_no_settings() -> None:
    found = followed(bag("line").assign(grind_setting=12.0)).compensation
    assert found is not None
    assert found.finer_per_day is None
    assert found.needed.empty
    assert any("never changed" in each for each in found.sentences)


def test_settings_are_never_told_beyond_those_tried() -> None:
    found = followed(bag("line")).compensation
    assert found is not None
    tried = found.used["setting"]
    outside = ~found.needed["setting"].between(tried.min(), tried.max())
    assert (found.needed["tried"] == ~outside).all()
    assert outside.any()


def test_the_target_is_the_recipe_of_the_bench() -> None:
    found = followed(bag("line")).compensation
    assert found is not None
    assert (found.target_s, found.target_stated) == (BENCH.recipe.time_s, True)


# --- what is refused


def test_a_grind_that_always_followed_the_age_is_not_split_from_it() -> None:
    found = followed(bag("always ground finer"), SCORE)
    assert [each.column for each in found.entwined] == ["grind_setting"]
    assert found.compensation is None
    assert found.best is None
    assert found.drift is not None
    assert found.drift.sentences[0].startswith("As it was brewed")
    caution = found.cautions[0]
    assert caution.severity == "stop"
    assert "today's roast age" in caution.remedy


def test_the_shots_it_names_do_split_them() -> None:
    shots = bag("always ground finer")
    (entry,) = followed(shots).entwined
    assert entry.separation is not None
    newest = shots.iloc[-1]
    added = pd.DataFrame(
        {**newest, "shot": f"new-{place}", "session": "new", **shot}
        for place, shot in enumerate(entry.separation.shots)
    )
    later = followed(
        pd.concat([shots, added.assign(time_s=[33.0, 35, 34, 36, 35, 33][: len(added)])])
    )
    assert later.entwined == ()
    assert later.compensation is not None


def test_an_unknown_age_is_a_reason() -> None:
    found = followed(bag("line").drop(columns=["roast_age_d"]))
    assert found.missing == "no shot has a roast age"
    assert not found.answered
    assert [text.get_text() for text in found.plot().texts] == ["no shot has a roast age"]


def test_one_day_is_no_drift() -> None:
    shots = bag("line").head(3)
    age = shots["roast_age_d"].iloc[0]
    assert followed(shots).missing == f"all 3 shots were pulled at one age, {age:g} days"


def test_what_is_not_taken_off_a_drift_that_is_not_told_is_no_matter() -> None:
    few = bag("line").head(4)
    assert len(set(few["grind_setting"])) > 1
    found = followed(few)
    assert found.missing
    assert "not-allowed-for" not in {each.code for each in found.cautions}
    assert not any(each.count(":") > 1 for each in found.sentences)


def test_forms_are_told_with_their_weights_in_one_bracket() -> None:
    found = followed(bag("curve with a peak inside"), SCORE).drift
    assert found is not None
    (said,) = [each for each in found.sentences if "form" in each.lower() and "weight" in each]
    assert re.search(r"\(weight \d+ %; (\w+[\w ]* (under )?\d+ %(, )?)+\)\.$", said), said


def test_a_setting_names_the_service_that_the_log_tells() -> None:
    shots = bag("line with a service")
    found = follow_set(
        set_of(shots.assign(service_stretch=service_stretches(shots))), "time_s",
        bench=BENCH, told_in=shots,
    ).compensation  # fmt: skip
    assert found is not None
    assert found.since.startswith("since the service “burrs cleaned”")


def test_two_days_are_no_drift() -> None:
    shots = bag("line").head(6)
    assert "3 days at least" in followed(shots).missing


def test_a_response_without_spread_is_refused() -> None:
    assert "the same in every shot" in followed(bag("line").assign(time_s=36.0)).missing


def test_sessions_like_the_ones_before_are_warned_of() -> None:
    alike = bag("serially correlated sessions", 3)
    day = alike["session"].factorize()[0]
    wave = alike.assign(time_s=36 + 8 * np.sin(day / 2) + np.tile([0.2, 0.0, -0.2], 12))
    codes = {each.code for each in followed(wave).cautions}
    assert "sessions-alike" in codes


def test_an_unknown_bag_names_what_there_is(tmp_path: Path) -> None:
    bag("line").to_csv(tmp_path / "shots.csv", index=False)
    with pytest.raises(UnknownNameError, match="bag-0001"):
        follow(read_log(tmp_path / "shots.csv"), bag="bag-1")


# --- against figures from outside


def test_a_turning_point_and_its_set_are_those_computed_in_r(reference: Path) -> None:
    # R 4.2.2, lm of Temp on day and day squared (airquality; Chambers 1983), Fieller's set.
    known = expected(reference, "vertex_ci_quadratic")["temp"]
    table = data(reference, "vertex_ci_quadratic")
    shots = pd.DataFrame(
        {"session": table["t"].astype(str), "roast_age_d": table["t"].astype(float)}
    ).assign(**{SCORE: table["Temp"].astype(float)})
    found = followed(shots, SCORE).best
    assert found is not None
    assert found.ages.estimate == pytest.approx(known["vertex"], rel=1e-9)
    assert (found.ages.low, found.ages.high) == pytest.approx(known["fieller"]["roots"], rel=1e-9)


def test_two_lines_of_a_bag_are_those_of_segmented_in_r(reference: Path) -> None:
    # R segmented 1.6-2 on the growth of a plant organ, genotype RKV (Muggeo 2008).
    known = expected(reference, "trend_segmented")["exact"]["plant_RKV"]
    table = data(reference, "trend_segmented", "plant.csv").query("group == 'RKV'")
    shots = pd.DataFrame(
        {"roast_age_d": table["time"].to_numpy(), "ey_pct": table["y"].to_numpy()}
    )
    shots["session"] = [str(place) for place in range(len(shots))]
    drift = followed(shots, "ey_pct").drift
    assert drift is not None
    assert drift.forms.form("two lines").turn == pytest.approx(known["psi"], rel=1e-6)


# --- what must not matter


@FEW
@given(days=st.integers(1, 200), seed=st.integers(0, 10_000))
def test_an_age_counted_from_another_day_moves_only_the_turn(days: int, seed: int) -> None:
    shots = bag("curve with a peak inside", seed)
    one = figures(followed(shots, SCORE))
    other = figures(followed(shots.assign(roast_age_d=shots["roast_age_d"] + days), SCORE))
    one["turn"] += days
    assert other == pytest.approx(one, rel=1e-6, abs=1e-8)


@FEW
@given(seed=st.integers(0, 10_000))
def test_a_mirrored_grinder_goes_finer_all_the_same(seed: int) -> None:
    shots = bag("line", seed)
    mirrored = Bench(
        grinders=(Grinder("mill", step=1.0, coarser="down", stated=True),),
        attributes=BENCH.attributes,
    )
    other = followed(shots.assign(grind_setting=30 - shots["grind_setting"]), "time_s", mirrored)
    assert figures(other) == pytest.approx(figures(followed(shots)), rel=1e-6, abs=1e-8)


@FEW
@given(seed=st.integers(0, 10_000))
def test_the_order_of_rows_does_not_matter(seed: int) -> None:
    shots = bag("line", seed)
    mixed = shots.sample(frac=1.0, random_state=seed)
    assert figures(followed(mixed)) == pytest.approx(figures(followed(shots)), rel=1e-6, abs=1e-8)


@FEW
@given(factor=st.floats(0.1, 10.0), seed=st.integers(0, 10_000))
def test_settings_per_day_do_not_depend_on_the_unit_of_time(factor: float, seed: int) -> None:
    shots = bag("line", seed)
    one = followed(shots).compensation
    other = followed(shots.assign(time_s=factor * shots["time_s"])).compensation
    assert one is not None
    assert other is not None
    sets = [each.finer_per_day for each in (one, other)]
    first, second = ((each.estimate, each.low, each.high) for each in sets if each is not None)
    assert second == pytest.approx(first, rel=1e-6, abs=1e-9)


def test_doubled_rows_change_no_estimate_and_are_set_aside_by_the_reader(tmp_path: Path) -> None:
    shots = bag("one shot a day")
    shots.to_csv(tmp_path / "one.csv", index=False)
    pd.concat([shots, shots]).to_csv(tmp_path / "two.csv", index=False)
    one, two = (follow(read_log(tmp_path / f"{name}.csv"), of="time_s") for name in ("one", "two"))
    assert figures(two) == pytest.approx(figures(one), rel=1e-9)
    assert two.n_shots == one.n_shots


def test_a_log_in_another_zone_has_the_same_ages(tmp_path: Path) -> None:
    shots = bag("line").drop(columns=["roast_age_d", "pulled_on"])
    moved = shots["pulled_at"].dt.tz_convert("Etc/GMT-9")
    bench = '[reading]\ntime_zone_offset = "+00:00"\n'
    for name, at in (("here", shots["pulled_at"]), ("there", moved)):
        (tmp_path / name).mkdir()
        text = at.map(lambda moment: moment.isoformat())
        shots.assign(pulled_at=text).to_csv(tmp_path / name / "shots.csv", index=False)
        (tmp_path / name / "bench.toml").write_text(bench, encoding="utf-8")
    here, there = (follow(read_log(tmp_path / name), of="time_s") for name in ("here", "there"))
    assert figures(there) == pytest.approx(figures(here), rel=1e-9)


def test_a_known_truth_is_recovered_without_noise() -> None:
    case = case_of("line")
    shots = bag("line")
    age = shots["roast_age_d"]
    law = RESPONSES["time_s"]
    exact = law.level + law.line * age + law.grind * (shots["grind_setting"] - 12)
    tiny = 1e-5 * np.random.default_rng(1).normal(size=len(shots))
    found = followed(shots.assign(time_s=exact + tiny)).compensation
    assert found is not None
    assert found.finer_per_day is not None
    assert found.finer_per_day.estimate == pytest.approx(-case.settings_per_day(), rel=1e-5)


def test_scores_alike_inside_every_session_are_followed_by_their_sessions() -> None:
    shots = bag("curve with a peak inside")
    coarse = shots.assign(
        **{SCORE: (2 * shots.groupby("session")[SCORE].transform("mean")).round() / 2}
    )
    found = followed(coarse, SCORE)
    assert found.drift is not None
    assert found.drift.n_shots == shots["session"].nunique()
    assert found.missing == ""
