"""One value holds all there is to say of a bench, and the reason for what is not there."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from tests.conftest import ROOT
from yieldwright.errors import RoleError, TooFewShotsError, UnknownNameError
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
    assert found.missing["tasters"] == "no taste was scored."
    assert not found.failures.logged


def test_one_barista_cannot_be_compared(written: Written) -> None:
    found = steady(written(log_of(barista=["p1"] * 12)))
    assert found.missing["people"] == "one barista, p1, pulled every shot."


def test_people_who_pulled_too_little_are_not_compared(written: Written) -> None:
    found = steady(written(log_of(barista=["p1"] * 11 + ["p2"])))
    assert "fewer than two people pulled 3 shots" in found.missing["people"]


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
