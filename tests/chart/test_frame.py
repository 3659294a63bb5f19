"""The frame shows window and shots, and leaves a far outlier out by name."""

from __future__ import annotations

import pandas as pd
from hypothesis import given
from hypothesis import strategies as st

from yieldwright.bench import Window
from yieldwright.chart import chart_frame

WINDOW = Window()


def shots(ey_pct: list[float], tds_pct: list[float]) -> pd.DataFrame:
    names = [f"s{number}" for number in range(len(ey_pct))]
    return pd.DataFrame({"shot": names, "ey_pct": ey_pct, "tds_pct": tds_pct}).astype(
        {"ey_pct": float, "tds_pct": float}
    )


@given(st.lists(st.tuples(st.floats(0, 100), st.floats(0, 100)), max_size=20))
def test_the_window_is_always_inside_with_room_around(pairs: list[tuple[float, float]]) -> None:
    frame = chart_frame(shots([x for x, _ in pairs], [y for _, y in pairs]), WINDOW)
    assert frame.ey_limits[0] < 18
    assert frame.ey_limits[1] > 22
    assert frame.tds_limits[0] < 8
    assert frame.tds_limits[1] > 12


@given(st.lists(st.tuples(st.floats(0, 100), st.floats(0, 100)), max_size=20))
def test_every_shot_is_inside_or_named(pairs: list[tuple[float, float]]) -> None:
    table = shots([x for x, _ in pairs], [y for _, y in pairs])
    frame = chart_frame(table, WINDOW)
    inside = table["ey_pct"].between(*frame.ey_limits) & table["tds_pct"].between(
        *frame.tds_limits
    )
    assert frame.outside == tuple(table.loc[~inside, "shot"])


def test_one_mistyped_shot_does_not_stretch_the_frame() -> None:
    usual = [19.0, 19.5, 20.0, 20.5, 21.0]
    without = chart_frame(shots(usual, [10.0] * 5), WINDOW)
    with_it = chart_frame(shots([*usual, 95.0], [10.0] * 6), WINDOW)
    assert with_it.ey_limits == without.ey_limits
    assert with_it.outside == ("s5",)


def test_a_whole_log_far_from_the_window_is_shown() -> None:
    frame = chart_frame(shots([19.0, 20.0, 21.0], [1.2, 1.25, 1.3]), WINDOW)
    assert frame.outside == ()
    assert frame.tds_limits[0] < 1.2


def test_no_shot_leaves_the_window_alone() -> None:
    frame = chart_frame(shots([], []), WINDOW)
    assert frame.outside == ()
    assert frame.ey_limits[0] < 18


def test_the_frame_never_starts_below_zero() -> None:
    frame = chart_frame(shots([0.0, 1.0], [0.0, 0.5]), Window(0.5, 1.5, 1.0, 3.0))
    assert frame.ey_limits[0] == frame.tds_limits[0] == 0
