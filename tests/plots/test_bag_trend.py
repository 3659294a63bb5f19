"""One bag over its age, and the setting that holds its time: marks where they are, words apart."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest
from matplotlib.axes import Axes
from matplotlib.patches import Rectangle

from tests.evidence.ageing import comparable_of
from tests.evidence.bags import BENCH, bag_logs
from tests.plots.artists import outside, overlapping, words
from tests.plots.conftest import HOSTILE
from yieldwright.ageing.bag_trend import BagTrend
from yieldwright.ageing.following import follow_set
from yieldwright.plots import bag_trend, needed_settings
from yieldwright.plots.theme import HATCH
from yieldwright.taste.columns.comparable import set_of

SCORE = "score:overall"


def followed(name: str, **columns: object) -> BagTrend:
    """Return a simulated bag, followed in taste."""
    shots = bag_logs(name, 1, np.random.default_rng(5))[0]
    return follow_set(set_of(shots.assign(**columns)), SCORE, bench=BENCH)


@pytest.fixture(scope="module")
def peaked() -> BagTrend:
    """Return a bag whose best day is told."""
    found = followed("curve with a peak inside")
    assert found.best is not None
    assert found.best.verdict == "told"
    return found


def shaded(ax: Axes) -> list[Rectangle]:
    """Return the columns that are shaded."""
    fill = tuple(int(HATCH[place : place + 2], 16) / 255 for place in (1, 3, 5))
    rectangles = [each for each in ax.patches if isinstance(each, Rectangle)]
    return [each for each in rectangles if each.get_facecolor()[:3] == pytest.approx(fill)]


def test_shots_stand_at_their_age_with_what_differs_taken_off(peaked: BagTrend) -> None:
    ax = bag_trend(peaked)
    assert peaked.drift is not None
    shots = peaked.drift.shots
    filled = next(line for line in ax.lines if line.get_marker() == "o")
    assert list(filled.get_xdata()) == shots["roast_age_d"].tolist()
    assert list(filled.get_ydata()) == shots["freed"].tolist()
    raw = next(line for line in ax.lines if line.get_marker() == "_")
    assert list(raw.get_ydata()) == shots["value"].tolist()


def test_the_best_day_is_shaded_between_its_limits(peaked: BagTrend) -> None:
    (column,) = shaded(bag_trend(peaked))
    assert peaked.best is not None
    assert column.get_x() == pytest.approx(peaked.best.low)
    assert column.get_x() + column.get_width() == pytest.approx(peaked.best.high)


def test_a_best_day_that_is_refused_is_not_drawn() -> None:
    assert shaded(bag_trend(followed("flat"))) == []


def test_what_happened_meanwhile_stands_at_its_age() -> None:
    found = followed("line with a service")
    assert "burrs cleaned" in words(bag_trend(found))


def test_a_serviced_bag_says_below_which_bench_its_line_is_for(peaked: BagTrend) -> None:
    since = "bench as it is since the last service"
    shots = bag_logs("line with a service", 1, np.random.default_rng(5))[0]
    serviced = follow_set(comparable_of(shots), SCORE, bench=BENCH, at_least=5.0)
    ax = bag_trend(serviced)
    assert since in " ".join(words(ax))
    assert overlapping(ax) == []
    assert outside(ax) == []
    assert since not in " ".join(words(bag_trend(peaked)))


def test_words_neither_overlap_nor_leave_the_figure(peaked: BagTrend) -> None:
    for ax in (bag_trend(peaked), needed_settings(peaked.compensation)):  # type: ignore[arg-type]
        assert overlapping(ax) == []
        assert outside(ax) == []


@pytest.mark.parametrize("text", HOSTILE)
def test_no_text_of_a_log_is_parsed(text: str) -> None:
    shots = bag_logs("line", 1, np.random.default_rng(5))[0]
    served = pd.Series(None, index=shots.index, dtype="object")
    served.iloc[18] = text
    found = followed("line", serviced=served)
    ax = bag_trend(found)
    ax.figure.canvas.draw()
    assert all(len(each) < 160 for each in words(ax))


def test_the_needed_setting_is_drawn_only_where_it_was_tried(peaked: BagTrend) -> None:
    grind = peaked.compensation
    assert grind is not None
    ax = needed_settings(grind)
    line = max(ax.lines, key=lambda each: len(each.get_xdata()))
    shown = np.asarray(line.get_ydata(), dtype=float)
    assert (np.isnan(shown) == ~grind.needed["tried"].to_numpy()).all()
    assert np.isnan(shown).any()


def test_long_and_short_shots_have_shapes_of_their_own(peaked: BagTrend) -> None:
    grind = peaked.compensation
    assert grind is not None
    labels = {line.get_label(): line for line in needed_settings(grind).lines}
    missed = grind.used["time_s"] - grind.target_s
    forgiven = BENCH.recipe.time_tolerance_s
    assert len(labels["ran short"].get_xdata()) == int((missed < -forgiven).sum())
    assert len(labels["near the time"].get_xdata()) == int((missed.abs() <= forgiven).sum())
    assert len({str(labels[each].get_marker()) for each in ("ran long", "near the time")}) == 2


def lasting(name: str, level: float) -> tuple[BagTrend, Axes]:
    """Return a simulated bag asked for a level, and its figure."""
    shots = bag_logs(name, 1, np.random.default_rng(5))[0]
    found = follow_set(set_of(shots), SCORE, bench=BENCH, at_least=level)
    return found, bag_trend(found)


def test_a_level_lies_across_and_thick_over_the_days_told() -> None:
    found, ax = lasting("curve with a peak inside", 6.4)
    assert found.lasting is not None
    thick = next(line for line in ax.lines if line.get_linewidth() > 2)
    assert list(thick.get_xdata()) == [found.lasting.low, found.lasting.high]
    assert list(thick.get_ydata()) == [6.4, 6.4]
    day = next(line for line in ax.lines if line.get_markerfacecolor() == "white")
    assert list(day.get_xdata()) == [found.lasting.day]
    assert "at least 6.4" in words(ax)
    assert outside(ax) == []


def test_a_level_far_from_the_shots_is_inside_the_figure_and_thick_nowhere() -> None:
    found, ax = lasting("flat", 1.0)
    assert found.lasting is not None
    assert found.lasting.verdict == "holds"
    assert ax.get_ylim()[0] < 1
    assert not any(line.get_linewidth() > 2 for line in ax.lines)


def test_a_side_left_open_ends_where_the_shots_do_and_has_no_mark() -> None:
    found, ax = lasting("line", 6.0)
    assert found.lasting is not None
    assert found.lasting.verdict == "not yet"
    thick = next(line for line in ax.lines if line.get_linewidth() > 2)
    assert thick.get_xdata()[-1] == found.lasting.last
    ends = next(line for line in ax.lines if line.get_marker() == "|")
    assert list(ends.get_xdata()) == [found.lasting.low]
