"""The strength/extraction chart holds every shot, or names it."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from matplotlib.axes import Axes
from matplotlib.collections import EllipseCollection
from matplotlib.colors import to_rgba
from matplotlib.patches import Rectangle

from tests.plots.artists import mark_places, outside, overlapping, words
from tests.plots.conftest import invented_shots
from yieldwright.bench import Window
from yieldwright.chart import REGIONS, Placement, chart_frame, pick_ratios, place_shots
from yieldwright.glossary import axis_label
from yieldwright.plots import strength_extraction
from yieldwright.plots.paper import FigureSize, new_axes
from yieldwright.plots.theme import INK, LOOKS


def placement(table: pd.DataFrame, window: Window | None = None) -> Placement:
    return place_shots(table, window or Window())


def ellipses(ax: Axes) -> list[EllipseCollection]:
    return [each for each in ax.collections if isinstance(each, EllipseCollection)]


def window_outline(ax: Axes) -> Rectangle:
    return next(p for p in ax.patches if isinstance(p, Rectangle) and not p.get_fill())


def test_there_is_one_mark_per_shot_at_its_place(shots: pd.DataFrame) -> None:
    ax = strength_extraction(placement(shots))
    expected = shots[["ey_pct", "tds_pct"]].to_numpy()
    found = mark_places(ax)
    assert np.allclose(found[np.lexsort(found.T)], expected[np.lexsort(expected.T)])


def test_the_colour_of_each_mark_is_that_of_its_region(shots: pd.DataFrame) -> None:
    placed = placement(shots)
    ax = strength_extraction(placed)
    regions = placed.placed.set_index("ey_pct")["region"]
    marks = ax.collections[0]
    for (ey_pct, _), colour in zip(marks.get_offsets(), marks.get_facecolors(), strict=True):
        assert tuple(colour) == pytest.approx(to_rgba(LOOKS[regions[ey_pct]].fill))


def test_each_shot_has_its_ellipse(shots: pd.DataFrame) -> None:
    (drawn,) = ellipses(strength_extraction(placement(shots)))
    assert len(drawn.get_offsets()) == len(shots)


def test_ellipses_have_the_size_of_the_95_percent_region(shots: pd.DataFrame) -> None:
    placed = placement(shots)
    (drawn,) = ellipses(strength_extraction(placed))
    assert drawn.get_widths() == pytest.approx(2 * placed.placed["half_length"].to_numpy())
    assert drawn.get_angles() == pytest.approx(placed.placed["tilt_deg"].to_numpy())


def test_shots_of_unknown_uncertainty_have_no_ellipse(shots: pd.DataFrame) -> None:
    ax = strength_extraction(
        placement(shots.drop(columns=["u_tds_pct", "u_ey_pct", "cov_tds_ey"]))
    )
    assert ellipses(ax) == []
    assert len(mark_places(ax)) == len(shots)


def test_very_many_ellipses_become_one_sentence() -> None:
    ax = strength_extraction(placement(invented_shots(300)))
    assert ellipses(ax) == []
    assert any("Instrument error of a usual shot" in each for each in words(ax))


def test_the_nine_regions_have_their_words(shots: pd.DataFrame) -> None:
    shown = {each.replace(",\n", ", ") for each in words(strength_extraction(placement(shots)))}
    assert {each.label for each in REGIONS} <= shown


def test_the_window_is_outlined_where_the_bench_puts_it(shots: pd.DataFrame) -> None:
    window = Window(7.5, 10.5, 17.0, 21.0, stated=True)
    outline = window_outline(strength_extraction(placement(shots, window)))
    assert outline.get_xy() == (17.0, 7.5)
    assert (outline.get_width(), outline.get_height()) == (4.0, 3.0)
    assert outline.get_edgecolor() == to_rgba(INK)


def test_the_ratio_lines_aim_at_the_origin(shots: pd.DataFrame) -> None:
    ax = strength_extraction(placement(shots))
    ratios = {(line.get_xdata() / line.get_ydata()).round(9).tolist()[0] for line in ax.lines}
    assert ratios == set(pick_ratios(ax.get_xlim(), ax.get_ylim()))


def test_the_ratio_lines_are_named(shots: pd.DataFrame) -> None:
    ax = strength_extraction(placement(shots))
    shown = " ".join(words(ax))
    assert "brew ratio" in shown
    assert all(f"1:{ratio:g}" in shown for ratio in pick_ratios(ax.get_xlim(), ax.get_ylim()))


def test_the_axes_are_labelled_by_the_glossary(shots: pd.DataFrame) -> None:
    ax = strength_extraction(placement(shots))
    assert (ax.get_xlabel(), ax.get_ylabel()) == (axis_label("ey_pct"), axis_label("tds_pct"))


def test_an_outlier_does_not_squash_the_rest_and_is_named(shots: pd.DataFrame) -> None:
    usual = strength_extraction(placement(shots)).get_xlim()
    shots.loc[3, "ey_pct"] = 61.0
    ax = strength_extraction(placement(shots))
    assert ax.get_xlim()[1] - ax.get_xlim()[0] < 1.5 * (usual[1] - usual[0])
    assert "1 shot lies beyond the frame: s04" in words(ax)


def test_many_outliers_are_counted_and_the_first_named(shots: pd.DataFrame) -> None:
    shots.loc[:5, "ey_pct"] = 61.0
    shown = words(strength_extraction(placement(shots)))
    assert "6 shots lie beyond the frame: s01, s02, s03, s04 and 2 more" in shown


def test_the_shots_furthest_off_carry_their_names(shots: pd.DataFrame) -> None:
    shots.loc[5, ["ey_pct", "tds_pct"]] = 24.4, 13.2
    assert "shot s06" in words(strength_extraction(placement(shots)))


def test_shots_on_target_carry_no_name(shots: pd.DataFrame) -> None:
    shots[["ey_pct", "tds_pct"]] = 20.0, 10.0
    assert not [each for each in words(strength_extraction(placement(shots))) if "shot s" in each]


def test_no_shot_is_said_and_the_window_still_shown(shots: pd.DataFrame) -> None:
    ax = strength_extraction(placement(shots[:0]))
    assert "No shot has both a strength and a yield." in words(ax)
    assert window_outline(ax).get_xy() == (18.0, 8.0)


def test_one_shot_is_enough(shots: pd.DataFrame) -> None:
    assert len(mark_places(strength_extraction(placement(shots[:1])))) == 1


def test_shots_all_alike_are_drawn(shots: pd.DataFrame) -> None:
    shots[["ey_pct", "tds_pct"]] = 20.0, 10.0
    assert len(mark_places(strength_extraction(placement(shots)))) == len(shots)


@settings(max_examples=12)
@given(st.integers(0, 10_000), st.integers(1, 80), st.floats(0.3, 4))
def test_no_words_overlap_or_are_cut(seed: int, n: int, spread: float) -> None:
    table = invented_shots(n, seed=seed)
    table["ey_pct"] = 20 + spread * (table["ey_pct"] - 20)
    table["tds_pct"] = (10 + spread * (table["tds_pct"] - 10)).clip(0.5)
    ax = strength_extraction(placement(table))
    assert overlapping(ax) == []
    assert outside(ax) == []


def test_brewed_coffee_is_drawn_on_its_own_window(reference: pd.DataFrame) -> None:
    brews = pd.read_csv(reference / "brews" / "cotter_162_brews.csv")
    table = brews.rename(columns={"printed_ey_pct": "ey_pct"}).assign(shot=brews["brew"])
    window = Window(1.15, 1.35, 18.0, 22.0, stated=True)
    placed = placement(table, window)
    ax = strength_extraction(placed)
    beyond = chart_frame(placed.placed, window).outside
    assert len(mark_places(ax)) + (placed.placed["shot"].isin(beyond)).sum() == 162
    assert overlapping(ax) == []


def test_hostile_words_are_drawn_as_they_stand(hostile_shots: pd.DataFrame) -> None:
    ax = strength_extraction(placement(hostile_shots))
    assert overlapping(ax) == []
    assert max(len(each) for each in words(ax)) < 130


def test_given_axes_are_drawn_on_and_returned(shots: pd.DataFrame) -> None:
    ax = new_axes(FigureSize(100, 80))
    assert strength_extraction(placement(shots), ax=ax) is ax


def test_the_result_draws_itself(shots: pd.DataFrame) -> None:
    assert len(mark_places(placement(shots).plot())) == len(shots)
