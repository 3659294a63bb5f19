"""One value holds all there is to say of a bench, and the reason for what is not there."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from tests.conftest import ROOT
from yieldwright.errors import OutOfRangeError, RoleError, TooFewShotsError, UnknownNameError
from yieldwright.repeatability import Steady, steady
from yieldwright.results import Result
from yieldwright.shotlog import ShotLog, read_log

Written = Callable[[str], ShotLog]
TIMES = [36, 38, 35, 37, 40, 36, 33, 37, 38, 35, 36, 34]


@pytest.fixture
def written(tmp_path: Path) -> Written:
    def read(text: str) -> ShotLog:
        path = tmp_path / "shots.csv"
        path.write_text(text, encoding="utf-8")
        return read_log(path)

    return read


@pytest.fixture(scope="module")
def demo() -> Steady:
    return steady(read_log(ROOT / "datasets" / "evening-class"), bag="bag-17")


def log_of(**columns: list[object]) -> str:
    names = ["shot", "stage", "time_s", *columns]
    cells = [[n, "counted", time] for n, time in enumerate(TIMES)]
    rows = [[*row, *(values[n] for values in columns.values())] for n, row in enumerate(cells)]
    return "\n".join(",".join(map(str, row)) for row in [names, *rows]) + "\n"


def test_the_demo_has_every_part(demo: Steady) -> None:
    assert demo.answered
    assert set(demo.missing) <= {"progress", "failing"}
    assert [each.response for each in demo.watches] == ["ey_pct", "time_s"]
    assert [each.of for each in demo.people] == ["ey_pct", "time_s"]
    assert [each.attribute for each in demo.tasters] == ["overall", "bitter"]
    assert demo.failures.logged
    assert demo.progress or "A trend needs" in demo.missing["progress"]
    assert demo.failing is not None or demo.missing["failing"]


def test_every_part_is_a_result_that_can_tell_itself(demo: Steady) -> None:
    for part in demo.parts:
        assert isinstance(part, Result)
        assert max(map(len, part.summary().splitlines())) <= 80


def test_a_bare_log_of_times_gets_a_spread_and_reasons(written: Written) -> None:
    found = steady(written(log_of()))
    assert [each.column for each in found.steadiness.quantities] == ["time_s"]
    assert len(found.watches) == 1
    assert "names no barista" in found.missing["people"]
    assert found.missing["tasters"] == "No taste was scored."
    assert not found.failures.logged


def test_one_barista_cannot_be_compared(written: Written) -> None:
    found = steady(written(log_of(barista=["p1"] * 12)))
    assert found.missing["people"] == "One barista, p1, pulled every shot."


def test_people_who_pulled_too_little_are_not_compared(written: Written) -> None:
    found = steady(written(log_of(barista=["p1"] * 11 + ["p2"])))
    assert "Fewer than two people pulled 3 shots" in found.missing["people"]


def test_only_what_was_asked_is_told(written: Written) -> None:
    log = written(log_of(beverage_g=[36 + n / 10 for n in range(12)]))
    found = steady(log, of=["beverage_g"])
    assert found.to_frame()["quantity"].tolist() == ["beverage_g"]
    assert [each.response for each in found.watches] == ["beverage_g"]


def test_a_log_of_failures_alone_has_their_share(written: Written) -> None:
    found = steady(written(log_of(fate=["choked"] * 12)))
    assert found.n_shots == 0
    assert "12 of 12 shots failed" in found.failures.sentences[0]
    assert not found.answered


def test_bags_are_never_pooled(written: Written) -> None:
    log = written(log_of(bag=["a"] * 5 + ["b"] * 7))
    assert (steady(log).bag, steady(log).n_shots) == ("b", 7)
    assert steady(log, bag="a").n_shots == 5


def test_what_does_not_exist_is_refused(written: Written) -> None:
    log = written(log_of(bag=["a"] * 12))
    with pytest.raises(UnknownNameError, match="no bag 'z'"):
        steady(log, bag="z")
    with pytest.raises(RoleError, match="not measured"):
        steady(log, of=["grind_setting"])
    with pytest.raises(TooFewShotsError, match="no shot"):
        steady(written("shot,time_s\n"))


def test_the_same_log_is_told_the_same_each_time(written: Written) -> None:
    log = written(log_of())
    assert steady(log).summary() == steady(log).summary()


def test_a_service_at_a_warm_up_is_quoted_beside_the_alarm(written: Written) -> None:
    times = [36.0, 37, 35, 36, 37, 35, 36, 37, 35, 36, 44, 45, 44, 45, 46, 44, 45, 44, 45, 46]
    stage, serviced = ["counted"] * 20, [""] * 20
    stage[9], serviced[9] = "warm_up", "burrs cleaned"
    frame = pd.DataFrame({"shot": [f"s{n}" for n in range(20)], "session": "m", "stage": stage})
    log = written(frame.assign(time_s=times, serviced=serviced).to_csv(index=False))
    told = " ".join(steady(log, of=["time_s"]).sentences)
    assert "“burrs cleaned” stands at shot s9, before shot s10" in told


def test_a_baseline_moves_the_limits_and_not_the_search_for_a_lasting_move(
    written: Written,
) -> None:
    log = written(log_of())
    whole, first = steady(log), steady(log, baseline=10)
    assert [each.baseline for each in first.watches] == [10]
    assert first.watches[0].center != whole.watches[0].center
    assert first.moves[0].shift.change == whole.moves[0].shift.change
    with pytest.raises(OutOfRangeError, match="10 shots at least, not 9"):
        steady(log, baseline=9)


def test_a_lasting_move_makes_age_a_thing_to_care_for_though_nothing_alarms(
    written: Written,
) -> None:
    rng = np.random.default_rng(5)
    times = rng.normal(36.0, 1.8, 36) + 2.4 * (np.arange(36) >= 18)
    days = [f"2026-05-{1 + 2 * (n // 6):02d}" for n in range(36)]
    lines = [f"{n},{days[n]},{n % 6 + 1},e{n // 6},{times[n]:.1f}" for n in range(36)]
    log = written("\n".join(["shot,pulled_on,position,session,time_s", *lines]))
    found = steady(log, of=["time_s"])
    assert found.watches[0].alarms == ()
    assert found.moves[0].clear
    (age,) = [each for each in found.cautions if each.code == "age-not-taken-out"]
    assert age.severity == "care"
    assert found.moves[0].sentences[0].endswith("or the coffee aged.")


def test_a_temperature_set_once_a_session_compares_no_people(written: Written) -> None:
    columns: dict[str, list[object]] = {
        "barista": ["p1", "p2"] * 6,
        "session": ["m"] * 6 + ["n"] * 6,
        "temp_c": [90] * 6 + [92] * 6,
    }
    found = steady(written(log_of(**columns)), of=["temp_c", "time_s"])
    assert [each.of for each in found.people] == ["time_s"]
    assert "temperature is the same in all shots of a session" in found.missing["people"]


def test_nothing_is_doubted_twice_in_the_same_words(demo: Steady) -> None:
    told = [each.sentence for each in demo.cautions]
    assert len(told) == len(set(told))
    assert sum(each.code == "little-to-agree-on" for each in demo.cautions) <= 1


def test_shots_judged_alike_have_the_same_chance_of_an_alarm() -> None:
    found = steady(read_log(ROOT / "datasets" / "one-bag"))
    one, two = found.watches
    assert one.allowed_for == two.allowed_for
    assert one.chances == two.chances
