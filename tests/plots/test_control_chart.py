"""The control chart: what is drawn where it is, alarms by shape and name, words that fit."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pandas as pd
import pytest
from matplotlib.axes import Axes

from tests.plots.artists import outside, overlapping, words
from tests.plots.conftest import HOSTILE
from tests.plots.vision import lab
from tests.repeatability.test_watching import log, watched
from yieldwright.bench import Bench
from yieldwright.plots import control_chart
from yieldwright.plots.paper import FigureSize, new_axes
from yieldwright.repeatability import Watch, watch
from yieldwright.taste.columns.comparable import set_of


@pytest.fixture(scope="module")
def moved() -> Watch:
    """Return a chart with alarms of every kind."""
    frame = log(move=4.0, at=20)
    frame.loc[7, "time_s"] = 24.0
    found = watched(frame)
    assert {alarm.by for alarm in found.alarms} == {
        "one_beyond_3s", "nine_same_side", "ewma", "cusum",
    }  # fmt: skip
    return found


def panels(found: Watch) -> tuple[Axes, Axes]:
    values, sums = control_chart(found).child_axes
    return values, sums


def marks(panel: Axes, shape: str) -> list[int]:
    """Return the rows at which a shape is drawn."""
    found = [line for line in panel.lines if line.get_marker() == shape]
    return sorted(int(place) for line in found for place in line.get_xdata())


def alarming(found: Watch, name: str) -> list[int]:
    return np.flatnonzero(found.table["alarm"].str.contains(name)).tolist()


def test_every_shot_stands_at_its_value(moved: Watch) -> None:
    values, _ = panels(moved)
    (dots,) = [line for line in values.lines if line.get_marker() == "o"]
    assert list(dots.get_ydata()) == moved.table["adjusted"].tolist()


def test_centre_and_limits_stand_where_they_are(moved: Watch) -> None:
    values, sums = panels(moved)
    flat = [line for line in values.lines if len(set(line.get_ydata())) == 1]
    heights = [float(line.get_ydata()[0]) for line in flat if len(line.get_xdata()) == 2]
    assert heights == [moved.center, moved.lower, moved.upper]
    dashed = [line.get_ydata()[0] for line in sums.lines if line.get_linestyle() == "--"]
    assert dashed == [moved.watchers.decision, -moved.watchers.decision]


def test_the_running_average_lies_on_the_ground_of_its_limits(moved: Watch) -> None:
    values, _ = panels(moved)
    lines = [list(line.get_ydata()) for line in values.lines]
    assert moved.table["average"].tolist() in lines
    (band,) = values.collections
    heights = band.get_paths()[0].vertices[:, 1]
    assert heights.min() == pytest.approx(moved.table["average_low"].min())
    assert heights.max() == pytest.approx(moved.table["average_high"].max())


def test_every_alarm_has_the_shape_of_its_kind(moved: Watch) -> None:
    values, sums = panels(moved)
    assert marks(values, "D") == alarming(moved, "one_beyond_3s")
    assert marks(values, "s") == alarming(moved, "nine_same_side")
    assert marks(values, "^") == alarming(moved, "ewma")
    assert set(marks(sums, "P")) == set(alarming(moved, "cusum"))


def test_shapes_differ_in_lightness_too(moved: Watch) -> None:
    values, sums = panels(moved)
    lines = [*values.lines, *sums.lines]
    fills = {line.get_marker(): line.get_markerfacecolor() for line in lines}
    shades = sorted(float(lab(str(fills[shape]))[0]) for shape in ("D", "s", "^", "P"))
    assert min(np.diff(shades)) >= 10


def test_shapes_are_explained_and_only_those_that_are_there(moved: Watch) -> None:
    assert {"single shot", "pattern of shots", "running average", "sum"} <= set(
        words(control_chart(moved))
    )
    calm = words(control_chart(watched(log())))
    assert "No alarm" in calm
    assert "single shot" not in calm


def test_the_first_shot_of_an_alarm_is_named(moved: Watch) -> None:
    values, _ = panels(moved)
    assert "s08" in {text.get_text() for text in values.texts}


def test_the_chance_of_an_alarm_is_told(moved: Watch) -> None:
    said = " ".join(words(control_chart(moved)))
    assert "of steady benches with 36 shots" in said
    assert "Limits from all shots" in said
    assert "the first 20" in " ".join(words(control_chart(watched(log(), baseline=20))))


@pytest.mark.parametrize("n", [10, 36, 150])
@pytest.mark.parametrize("move", [0.0, 5.0])
def test_nothing_is_cut_off_or_written_over_something_else(n: int, move: float) -> None:
    drawn = control_chart(watched(log(n, move=move, at=n // 2)))
    assert outside(drawn) == []
    assert overlapping(drawn) == []


def test_sessions_are_parted_and_named() -> None:
    values, _ = panels(watched(log()))
    assert {"e1", "e6"} <= {text.get_text() for text in values.texts}
    parts = [line for line in values.lines if list(line.get_ydata()) == [0, 1]]
    assert [line.get_xdata()[0] for line in parts] == [5.5, 11.5, 17.5, 23.5, 29.5]


def test_lettering_is_six_points_and_more_at_the_width_of_a_telephone(moved: Watch) -> None:
    drawn = control_chart(moved)
    width_pt = 72 * drawn.get_figure(root=True).get_figwidth()  # type: ignore[union-attr]
    smallest = min(
        text.get_fontsize() for text in drawn.get_figure(root=True).findobj(match=_is_lettering)
    )  # type: ignore[union-attr]
    assert smallest * 390 / width_pt >= 7.0  # CSS pixels


def _is_lettering(artist: object) -> bool:
    from matplotlib.text import Text

    return isinstance(artist, Text) and bool(artist.get_text())


@pytest.mark.parametrize("code", HOSTILE)
def test_names_from_a_log_are_drawn_as_plain_text(code: str) -> None:
    frame = log(move=5.0)
    frame["shot"] = [f"{code}{number}" for number in range(len(frame))]
    frame["session"] = [f"{code}{number}" for number in np.arange(len(frame)) // 6]
    control_chart(watched(frame)).get_figure(root=True).canvas.draw()  # type: ignore[union-attr]


def test_without_a_chart_the_reason_is_drawn() -> None:
    found = watched(log(6))
    drawn = control_chart(found)
    assert [each.replace("\n", " ") for each in words(drawn)] == [found.missing]
    assert outside(drawn) == []


def test_shots_without_days_or_sessions_are_drawn() -> None:
    frame = pd.DataFrame({"time_s": log()["time_s"]})
    drawn = control_chart(watch(set_of(frame), "time_s", bench=Bench()))
    assert "No alarm" in words(drawn)


def test_axes_that_are_given_are_drawn_on(moved: Watch) -> None:
    given = new_axes(FigureSize(180, 120))
    assert control_chart(moved, ax=given) is given
    assert moved.plot(given) is given


def test_a_score_is_drawn_without_an_entry_in_the_glossary() -> None:
    frame = log().rename(columns={"time_s": "score:overall"})
    drawn = control_chart(watched(frame, "score:overall"))
    assert "score: overall" in words(drawn)


def test_nothing_is_estimated_while_drawing(moved: Watch) -> None:
    shifted = replace(moved, center=moved.center + 1)
    (values, _) = panels(shifted)
    assert any(set(line.get_ydata()) == {moved.center + 1} for line in values.lines)
