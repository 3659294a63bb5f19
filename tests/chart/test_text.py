"""The chart as text: readable at its width, every shot in it."""

from __future__ import annotations

import pandas as pd
import pytest

from yieldwright.bench import Window
from yieldwright.chart import REGIONS, TEXT_MARKS, place_shots, text_chart


def chart(tds_pct: list[float], ey_pct: list[float], **size: int) -> str:
    table = pd.DataFrame({"tds_pct": tds_pct, "ey_pct": ey_pct})
    return text_chart(place_shots(table, Window()), **size)


def body(text: str) -> list[str]:
    """Return what lies inside the frame, row by row."""
    rows = [line for line in text.splitlines() if line[5:6] in ("│", "┤")]
    return [row[6:] for row in rows]


@pytest.mark.parametrize("width", [48, 64, 80])
def test_no_line_is_wider_than_asked(width: int) -> None:
    text = chart([10.0, 7.0, 13.0, 9.0], [20.0, 17.0, 23.0, 23.0], width=width)
    assert max(map(len, text.splitlines())) <= width


def test_it_has_the_height_asked_for() -> None:
    assert len(body(chart([10.0], [20.0], height=14))) == 14


@pytest.mark.parametrize(
    ("tds_pct", "ey_pct", "mark"),
    [(10.0, 20.0, "●"), (10.0, 17.0, "<"), (10.0, 23.0, ">"), (13.0, 20.0, "^"), (7.0, 20.0, "v")],
)
def test_a_mark_points_the_way_the_shot_missed(tds_pct: float, ey_pct: float, mark: str) -> None:
    assert sum(row.count(mark) for row in body(chart([tds_pct], [ey_pct])) if mark in row) >= 1


def test_every_region_has_a_mark() -> None:
    assert set(TEXT_MARKS) == {each.code for each in REGIONS}


def test_shots_in_one_place_are_counted() -> None:
    text = chart([10.0] * 3, [20.0] * 3)
    assert any("3" in row for row in body(text))
    assert "a digit: that many shots in one place" in text


def test_ten_shots_in_one_place_become_a_sign() -> None:
    assert any("#" in row for row in body(chart([10.0] * 10, [20.0] * 10)))


def test_single_shots_need_no_explanation_of_digits() -> None:
    assert "a digit" not in chart([10.0], [20.0])


def test_the_key_counts_each_kind() -> None:
    key = chart([10.0, 10.1, 10.0], [20.0, 19.0, 17.0]).splitlines()[-1]
    assert key.split("   ")[-2:] == ["● on target 2", "< under-extracted 1"]


@pytest.mark.parametrize("ey_pct", [17.999, 22.001])
def test_a_mark_never_hides_on_a_border(ey_pct: float) -> None:
    text = chart([10.0], [ey_pct])
    row = next(row for row in body(text) if "<" in row or ">" in row)
    assert row.count("╎") == 2


def test_a_shot_on_the_edge_of_the_window_lies_inside() -> None:
    row = next(row for row in body(chart([10.0], [22.0])) if "●" in row)
    assert row.index("●") < row.rindex("╎")


def test_far_outliers_are_counted_not_drawn() -> None:
    assert "1 shot beyond the frame" in chart([10.0] * 6, [19, 19.5, 20, 20.5, 21, 95])


def test_ratio_lines_carry_their_labels() -> None:
    assert "1:2" in chart([10.0], [20.0])


def test_the_words_of_the_regions_are_there() -> None:
    text = chart([10.0], [20.0], width=80, height=24)
    for words in ("on target", "strong", "weak", "under-extracted", "over-extracted"):
        assert words in "\n".join(body(text))


def test_no_shot_still_shows_the_window() -> None:
    assert any("┼" in row for row in body(chart([], [])))


def test_no_line_ends_in_blanks() -> None:
    lines = chart([10.0], [20.0]).splitlines()
    assert [line for line in lines if line != line.rstrip()] == []
