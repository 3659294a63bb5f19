"""Every like shot is a dot, beside its spread, its instrument and the miss forgiven."""

from __future__ import annotations

import numpy as np
import pandas as pd
from matplotlib.axes import Axes

from yieldwright.bench import Bench
from yieldwright.plots import steadiness_lanes
from yieldwright.plots.paper import figure_of
from yieldwright.repeatability.spread.steadiness import Steadiness, steadiness
from yieldwright.taste.columns.comparable import ComparableSet

TEN = [36.0, 38, 35, 37, 40, 36, 33, 37, 38, 35]


def found(values: list[float], **columns: object) -> Steadiness:
    shots = pd.DataFrame({"time_s": values, **columns})
    return steadiness(ComparableSet("", "", shots), bench=Bench())


def panels(drawn: Axes) -> list[Axes]:
    return list(drawn.child_axes)


def dots(panel: Axes) -> np.ndarray:
    (line,) = [line for line in panel.lines if line.get_marker() == "o"]
    return np.asarray(line.get_xdata(), dtype=float)


def words(ax: Axes) -> str:
    return " ".join(text.get_text() for text in ax.texts)


def test_there_is_a_dot_for_each_like_shot_at_its_distance() -> None:
    (panel,) = panels(steadiness_lanes(found(TEN)))
    assert np.allclose(dots(panel), np.array(TEN) - np.mean(TEN))


def test_the_band_reaches_one_spread_to_either_side() -> None:
    told = found(TEN)
    (panel,) = panels(steadiness_lanes(told))
    (band,) = panel.patches
    left, right = band.get_extents().transformed(panel.transData.inverted()).intervalx
    assert np.allclose([left, right], [-told.quantities[0].sd, told.quantities[0].sd])


def test_few_repeats_have_no_band_and_say_so() -> None:
    (panel,) = panels(steadiness_lanes(found(TEN[:4])))
    assert list(panel.patches) == []
    assert "3 repeats cannot tell" in words(panel)


def test_dots_that_fall_together_stand_on_one_another() -> None:
    (panel,) = panels(steadiness_lanes(found([36.0] * 5 + [37.0] * 5)))
    (line,) = [line for line in panel.lines if line.get_marker() == "o"]
    places = list(zip(line.get_xdata(), line.get_ydata(), strict=True))
    assert len(set(places)) == 10


def test_a_tall_stack_stays_inside_its_panel() -> None:
    (panel,) = panels(steadiness_lanes(found([36.0] * 100 + [37.0] * 100)))
    (line,) = [line for line in panel.lines if line.get_marker() == "o"]
    assert max(line.get_ydata()) < panel.get_ylim()[1]


def test_no_like_shots_are_said_in_words() -> None:
    assert "No two shots were pulled alike" in words(steadiness_lanes(found([36.0])))


def test_shots_that_do_not_differ_can_be_drawn() -> None:
    (panel,) = panels(steadiness_lanes(found([36.0] * 8)))
    assert "no difference" in words(panel)


def test_a_name_from_a_log_is_drawn_as_it_stands() -> None:
    drawn = steadiness_lanes(found(TEN, **{"score:$^$\n<b>": [float(n) for n in range(10)]}))
    assert "$^$" in words(panels(drawn)[1])
    figure_of(drawn).canvas.draw()  # type: ignore[attr-defined]


def test_all_words_lie_on_the_paper() -> None:
    columns = {name: [v + n / 10 for n, v in enumerate(TEN)] for name in ("beverage_g", "tds_pct")}
    drawn = steadiness_lanes(found(TEN, **columns))
    figure = figure_of(drawn)
    figure.canvas.draw()  # type: ignore[attr-defined]
    box = figure.bbox
    for ax in (drawn, *panels(drawn)):
        for text in ax.texts:
            extent = text.get_window_extent()
            assert box.x0 <= extent.x0
            assert extent.x1 <= box.x1 + 1
