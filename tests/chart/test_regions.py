"""Nine regions, their names, and where their edges belong."""

from __future__ import annotations

import pandas as pd
import pytest

from yieldwright.bench import Window
from yieldwright.chart import REGIONS, region, region_codes, require_window
from yieldwright.errors import OutOfRangeError, UnknownNameError


def code_of(tds_pct: float, ey_pct: float) -> str:
    return region_codes(pd.Series([tds_pct]), pd.Series([ey_pct]), Window()).iloc[0]


def test_there_are_nine_with_names_of_their_own() -> None:
    assert len({each.code for each in REGIONS}) == len({each.label for each in REGIONS}) == 9


def test_they_are_every_pair_of_strength_and_extraction() -> None:
    assert len({(each.strength, each.extraction) for each in REGIONS}) == 9


@pytest.mark.parametrize(
    ("tds_pct", "ey_pct", "code"),
    [
        # 18 g, 36 g, 10 % gives 20 % by E = c B / D; the window is a convention of the trade.
        (10.0, 20.0, "on_target"),
        (7.9, 17.9, "weak_under"),
        (7.9, 20.0, "weak"),
        (7.9, 22.1, "weak_over"),
        (10.0, 17.9, "under"),
        (10.0, 22.1, "over"),
        (12.1, 17.9, "strong_under"),
        (12.1, 20.0, "strong"),
        (12.1, 22.1, "strong_over"),
    ],
)
def test_each_shot_lies_in_the_region_its_words_say(
    tds_pct: float, ey_pct: float, code: str
) -> None:
    assert code_of(tds_pct, ey_pct) == code


@pytest.mark.parametrize("tds_pct", [8.0, 12.0])
@pytest.mark.parametrize("ey_pct", [18.0, 22.0])
def test_the_edges_belong_to_the_window(tds_pct: float, ey_pct: float) -> None:
    assert code_of(tds_pct, ey_pct) == "on_target"


def test_a_missing_value_gives_a_missing_region() -> None:
    codes = region_codes(pd.Series([10.0, float("nan")]), pd.Series([20.0, 20.0]), Window())
    assert codes.isna().tolist() == [False, True]


def test_the_index_of_the_shots_is_kept() -> None:
    index = pd.Index(["a", "b"])
    values = pd.Series([10.0, 20.0], index=index)
    assert region_codes(values, values, Window()).index.equals(index)


@pytest.mark.parametrize(
    ("code", "right", "up"), [("weak_over", 1, -1), ("on_target", 0, 0), ("strong_under", -1, 1)]
)
def test_a_region_knows_which_way_it_lies(code: str, right: int, up: int) -> None:
    assert (region(code).right, region(code).up) == (right, up)


def test_an_unknown_region_is_refused_by_name() -> None:
    with pytest.raises(UnknownNameError, match="no region is named 'burnt'; there are weak_under"):
        region("burnt")


def test_a_window_turned_inside_out_is_refused() -> None:
    with pytest.raises(OutOfRangeError, match="strength_low_pct is 12 and strength_high_pct is 8"):
        require_window(Window(strength_low_pct=12, strength_high_pct=8))
