"""Two bags in the same sessions: marks stand where values are, reasons where there are none."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from matplotlib.colors import to_rgba

from tests.evidence.paired_logs import BENCH, FIRST, SCORE, SECOND, PairedCase, paired_log
from tests.plots.artists import outside, overlapping, words
from tests.plots.conftest import HOSTILE
from yieldwright.ageing.compared.paired import PairedBags, pair_bags_of
from yieldwright.plots import paired_bags
from yieldwright.plots.theme import PAPER

CASE = PairedCase("halves", sessions=9, difference=1.0, per_day=0.05)


def paired(case: PairedCase = CASE, second: str = SECOND, **without: str) -> PairedBags:
    log = paired_log(case, np.random.default_rng(3))
    shots = log.shots.drop(columns=list(without.values()))
    shots = shots.assign(bag=shots["bag"].replace(SECOND, second))
    return pair_bags_of(replace(log, shots=shots), SCORE, bags=(FIRST, second), bench=BENCH)


@pytest.fixture(scope="module")
def halves() -> PairedBags:
    """Return two halves that grow apart."""
    return paired()


def marks(panel: object, shape: str) -> list:
    return [line for line in panel.lines if line.get_marker() == shape]


def test_both_bags_stand_at_their_session_means_in_other_shapes(halves: PairedBags) -> None:
    panel = paired_bags(halves).child_axes[0]
    for shape, column in (("o", "first"), ("s", "second")):
        (line,) = marks(panel, shape)
        assert list(line.get_xdata()) == halves.sessions["day"].tolist()
        assert list(line.get_ydata()) == halves.sessions[column].tolist()


def test_an_upright_joins_both_bags_of_each_session(halves: PairedBags) -> None:
    (uprights,) = paired_bags(halves).child_axes[0].collections
    ends = [sorted(segment[:, 1]) for segment in uprights.get_segments()]
    pairs = halves.sessions[["first", "second"]].to_numpy()
    assert ends == [sorted(pair) for pair in pairs.tolist()]


def test_differences_stand_below_with_what_is_expected(halves: PairedBags) -> None:
    panel = paired_bags(halves).child_axes[1]
    (diamonds,) = marks(panel, "D")
    assert list(diamonds.get_ydata()) == halves.sessions["difference"].tolist()
    (line,) = [each for each in panel.lines if each.get_linewidth() == pytest.approx(1.7)]
    assert list(line.get_ydata()) == halves.expected["value"].tolist()
    (ground,) = panel.collections
    heights = ground.get_paths()[0].vertices[:, 1]
    assert heights.max() == pytest.approx(halves.expected["high"].max())
    assert heights.min() == pytest.approx(halves.expected["low"].min())


def test_marks_are_filled_only_where_the_difference_is_clear(halves: PairedBags) -> None:
    alike = paired(PairedCase("alike", difference=0.0))
    assert halves.difference is not None
    assert alike.difference is not None
    assert halves.difference.p_value < 0.05 < alike.difference.p_value
    for found, is_filled in ((halves, True), (alike, False)):
        (diamonds,) = marks(paired_bags(found).child_axes[1], "D")
        fill = to_rgba(diamonds.get_markerfacecolor())
        assert (fill != to_rgba(PAPER)) == is_filled


def test_one_difference_is_a_level_line_where_days_are_not_known() -> None:
    found = paired(on="pulled_on", at="pulled_at")
    panel = paired_bags(found).child_axes[1]
    assert panel.get_xlabel() == "session"
    (line,) = [each for each in panel.lines if each.get_linewidth() == pytest.approx(1.7)]
    assert np.ptp(line.get_ydata()) == 0
    assert list(marks(panel, "D")[0].get_xdata()) == [*range(1, 10)]


def test_the_axis_says_from_which_day_it_counts(halves: PairedBags) -> None:
    assert paired_bags(halves).child_axes[1].get_xlabel() == "days since 2026-05-04"


def test_nothing_is_cut_off_or_written_over_something_else(halves: PairedBags) -> None:
    drawn = paired_bags(halves)
    assert outside(drawn) == []
    assert overlapping(drawn) == []


def test_what_was_refused_is_told_in_words() -> None:
    drawn = paired_bags(paired(PairedCase("twice", sessions=2)))
    assert any("2 sessions only" in text for text in words(drawn))


@pytest.mark.parametrize("code", HOSTILE)
def test_codes_of_bags_are_drawn_as_plain_text(code: str) -> None:
    drawn = paired_bags(paired(second=code or "?"))
    drawn.figure.canvas.draw()
    assert outside(drawn) == []
