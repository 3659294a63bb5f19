"""Which shots may stand in one fit."""

from __future__ import annotations

from pathlib import Path

import pandas as pd
import pytest

from yieldwright.shotlog import read_log
from yieldwright.taste import ComparableSet, comparable_sets
from yieldwright.taste.columns.comparable import set_of

LOG = """shot,session,position,bag,grinder,fate,stage,dose_g,beverage_g,tds_pct,overall
1,a,1,old,mill,pulled,warm_up,18,36,9,5
2,a,2,old,mill,pulled,counted,18,36,9,6
3,a,3,old,mill,choked,counted,18,36,9,7
4,b,1,new,mill,pulled,counted,18,36,9,8
5,b,2,new,other,pulled,counted,18,36,9,9
6,b,3,new,mill,pulled,counted,18,36,16,4
"""


@pytest.fixture
def sets(tmp_path: Path) -> tuple[ComparableSet, ...]:
    """Return the sets of a log of two bags and two grinders."""
    path = tmp_path / "shots.csv"
    path.write_text(LOG, encoding="utf-8")
    return comparable_sets(read_log(path))


def test_bags_and_grinders_are_never_pooled(sets: tuple[ComparableSet, ...]) -> None:
    assert {(each.bag, each.grinder) for each in sets} == {
        ("old", "mill"),
        ("new", "mill"),
        ("new", "other"),
    }


def test_the_set_that_ends_last_in_the_log_comes_first(sets: tuple[ComparableSet, ...]) -> None:
    assert (sets[0].bag, sets[0].grinder) == ("new", "mill")
    assert sets[-1].bag == "old"


def test_failures_and_warm_ups_stay_out_and_are_counted(sets: tuple[ComparableSet, ...]) -> None:
    old = sets[-1]
    assert old.shots["shot"].tolist() == ["2"]
    assert sorted(map(str, old.excluded)) == ["1 shot not pulled", "1 shot pulled to warm up"]


def test_a_yield_above_what_water_dissolves_stays_out(sets: tuple[ComparableSet, ...]) -> None:
    assert sets[0].shots["shot"].tolist() == ["4"]
    assert str(sets[0].excluded[0]) == "1 shot with a yield above what water can dissolve"


def test_mean_scores_stand_beside_the_shots(sets: tuple[ComparableSet, ...]) -> None:
    assert sets[0].shots["score:overall"].tolist() == [8.0]
    assert "score:n_tasters" not in sets[0].shots


def test_a_set_is_named_by_bag_and_grinder(sets: tuple[ComparableSet, ...]) -> None:
    assert sets[-1].name == "bag old on mill"
    assert ComparableSet("", "", pd.DataFrame()).name == "all shots"


def test_a_log_without_bag_or_grinder_is_one_set(tmp_path: Path) -> None:
    path = tmp_path / "shots.csv"
    path.write_text("shot,dose_g,time_s\n1,18,30\n2,18,31\n", encoding="utf-8")
    (only,) = comparable_sets(read_log(path))
    assert len(only.shots) == 2
    assert (only.bag, only.grinder) == ("", "")


def test_shots_without_a_named_bag_are_a_set_of_their_own() -> None:
    shots = pd.DataFrame({"shot": ["1", "2"], "bag": ["a", None]})
    assert [set_of(shots.iloc[[row]]).bag for row in (0, 1)] == ["a", ""]


def test_a_shot_out_for_two_reasons_counts_once() -> None:
    shots = pd.DataFrame({"fate": ["choked"], "stage": ["warm_up"]})
    assert [each.count for each in set_of(shots).excluded] == [1]


def test_every_shot_is_in_a_set_or_counted_out(sets: tuple[ComparableSet, ...]) -> None:
    counted = sum(len(each.shots) + sum(out.count for out in each.excluded) for each in sets)
    assert counted == 6


def test_conditions_that_differ_are_listed() -> None:
    shots = pd.DataFrame({"barista": ["b1", "b2"], "basket": ["x", "x"], "water": [None, None]})
    assert ComparableSet("", "", shots).mixed_conditions == ("barista",)


def test_a_log_with_every_row_set_aside_gives_no_set(tmp_path: Path) -> None:
    path = tmp_path / "shots.csv"
    path.write_text("shot,dose_g\n1,900\n", encoding="utf-8")
    assert all(each.shots.empty for each in comparable_sets(read_log(path)))


def test_a_bag_whose_code_says_that_it_is_one_is_called_by_its_code() -> None:
    assert ComparableSet("bag-21", "mill-2", pd.DataFrame()).name == "bag-21 on mill-2"
    assert ComparableSet("21", "", pd.DataFrame()).name == "bag 21"
    both = pd.DataFrame({"bag": ["bag-1", "bag-2", None]})
    assert ComparableSet("bag-1 and bag-2", "g1", both).name == "bag-1 and bag-2 on g1"
    assert ComparableSet("", "g1", pd.DataFrame()).name == "on g1"
