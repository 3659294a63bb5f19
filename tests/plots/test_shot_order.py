"""Shots in the order they were pulled, with sessions, failures and changes."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest
from matplotlib.collections import LineCollection
from matplotlib.colors import to_rgba

from tests.plots.artists import mark_places, outside, overlapping, words
from tests.plots.conftest import invented_shots
from yieldwright.glossary import axis_label
from yieldwright.plots import timeline
from yieldwright.plots.paper import FigureSize, new_axes
from yieldwright.plots.setting_lanes import changing_settings, stretches
from yieldwright.plots.theme import LOOKS

# The half-width of a 95 % interval in standard uncertainties (JCGM 100:2008, table G.1).
COVERAGE = 1.96


def heights(table: pd.DataFrame, **options: str) -> list[float]:
    """Return the height of each shot's mark, in order of time."""
    places = mark_places(timeline(table, **options))
    return places[places[:, 0].argsort(), 1].tolist()


def test_each_shot_stands_at_its_place_and_value(shots: pd.DataFrame) -> None:
    assert heights(shots) == pytest.approx(shots["ey_pct"].tolist())


def test_another_response_may_be_shown(shots: pd.DataFrame) -> None:
    ax = timeline(shots, response="tds_pct")
    assert ax.get_ylabel() == axis_label("tds_pct")
    assert heights(shots, response="tds_pct") == pytest.approx(shots["tds_pct"].tolist())


def test_time_decides_the_order_where_it_is_known(shots: pd.DataFrame) -> None:
    moments = pd.date_range("2026-03-07T10:00Z", periods=len(shots), freq="5min")[::-1]
    assert heights(shots.assign(pulled_at=moments)) == pytest.approx(
        shots["ey_pct"].tolist()[::-1]
    )


def test_day_and_position_decide_where_no_time_is_known(shots: pd.DataFrame) -> None:
    table = shots.assign(pulled_on=pd.Timestamp("2026-03-07"), position=range(len(shots), 0, -1))
    assert heights(table) == pytest.approx(shots["ey_pct"].tolist()[::-1])


def test_the_file_decides_where_nothing_else_does(shots: pd.DataFrame) -> None:
    table = shots.assign(pulled_at=pd.NaT)
    assert heights(table) == pytest.approx(shots["ey_pct"].tolist())


def test_a_shot_without_a_value_stands_on_the_floor(shots: pd.DataFrame) -> None:
    shots.loc[4, "ey_pct"] = np.nan
    ax = timeline(shots)
    lowest = min(heights(shots))
    assert heights(shots).index(lowest) == 4
    assert "none" in words(ax)
    assert lowest < shots["ey_pct"].min()


def test_with_all_values_there_is_no_floor(shots: pd.DataFrame) -> None:
    assert "none" not in words(timeline(shots))


@pytest.mark.parametrize("fate", ["choked", "gushed", "channelled", "discarded"])
def test_failures_have_a_colour_of_their_own(shots: pd.DataFrame, fate: str) -> None:
    shots.loc[2, "fate"] = fate
    ax = timeline(shots)
    colours = {tuple(colour) for colour in ax.collections[0].get_facecolors()}
    assert to_rgba(LOOKS[fate].fill) in colours
    assert LOOKS[fate].label in words(ax)


def test_a_missing_fate_means_pulled_and_a_missing_stage_counted(shots: pd.DataFrame) -> None:
    table = shots.assign(fate=pd.Series(dtype="str"), stage=pd.Series(dtype="str"))
    colours = {tuple(colour) for colour in timeline(table).collections[0].get_facecolors()}
    assert colours == {to_rgba(LOOKS["counted"].fill)}


def test_warm_ups_are_hollow_and_explained(shots: pd.DataFrame) -> None:
    shots.loc[0, "stage"] = "warm_up"
    ax = timeline(shots)
    assert {"counted", "warm-up"} <= set(words(ax))


def test_one_kind_of_shot_needs_no_key(shots: pd.DataFrame) -> None:
    assert timeline(shots).get_legend() is None


def test_bars_hold_95_percent(shots: pd.DataFrame) -> None:
    bars = next(c for c in timeline(shots).collections if isinstance(c, LineCollection))
    lengths = [np.ptp(segment[:, 1]) for segment in bars.get_segments()]
    assert lengths == pytest.approx((2 * COVERAGE * shots["u_ey_pct"]).tolist(), rel=1e-3)


def test_without_uncertainty_there_is_no_bar(shots: pd.DataFrame) -> None:
    ax = timeline(shots.drop(columns="u_ey_pct"))
    bars = [c for c in ax.collections if isinstance(c, LineCollection)]
    assert sum(len(c.get_segments()) for c in bars) == 0


def test_every_session_is_named(shots: pd.DataFrame) -> None:
    assert {"e1", "e2", "e3", "e4"} <= set(words(timeline(shots)))


def test_every_other_session_has_a_ground(shots: pd.DataFrame) -> None:
    grounds = [patch.get_extents().width for patch in timeline(shots).patches]
    assert len(grounds) == 2


def test_changed_settings_have_a_lane_and_constant_ones_none(shots: pd.DataFrame) -> None:
    shown = words(timeline(shots.assign(taper_bar=3.0)))
    assert {"grind setting", "temperature band"} <= set(shown)
    assert "pressure taper" not in shown


def test_a_lane_has_a_block_per_stretch(shots: pd.DataFrame) -> None:
    shots["grind_setting"] = np.repeat([11.0, 12.0, 11.0], 8)
    ax = timeline(shots.drop(columns="temp_band"))
    assert [each for each in words(ax) if each in ("11", "12")].count("11") >= 2
    lane = ax.collections[-1]
    assert len(lane.get_paths()) == 3


def test_a_gap_in_a_setting_is_a_gap_in_its_lane(shots: pd.DataFrame) -> None:
    shots["grind_setting"] = np.repeat([11.0, np.nan, 12.0], 8)
    lane = timeline(shots.drop(columns="temp_band")).collections[-1]
    assert len(lane.get_paths()) == 2


def test_a_setting_of_many_values_shows_its_range(shots: pd.DataFrame) -> None:
    shots["taper_bar"] = np.linspace(1.5, 3.8, len(shots))
    assert "pressure taper 1.5–3.8" in words(timeline(shots))


def test_an_outlier_is_drawn_at_the_edge_and_counted(shots: pd.DataFrame) -> None:
    usual = timeline(shots).get_ylim()
    shots.loc[5, "ey_pct"] = 95.0
    ax = timeline(shots)
    assert ax.get_ylim()[1] < usual[1] + 5
    assert "1 shot beyond the edge" in words(ax)


def test_a_response_that_the_log_lacks_is_said(shots: pd.DataFrame) -> None:
    ax = timeline(shots.drop(columns="ey_pct"))
    assert "No shot has a value to show." in words(ax)
    assert len(mark_places(ax)) == len(shots)


def test_no_shot_is_said() -> None:
    assert "No shot has a value to show." in words(timeline(invented_shots()[:0]))


@pytest.mark.parametrize("n", [1, 2, 12, 60, 200])
def test_no_words_overlap_or_are_cut(n: int) -> None:
    table = invented_shots(n)
    table.loc[table.index % 7 == 3, "stage"] = "warm_up"
    table.loc[table.index % 11 == 5, "fate"] = "choked"
    table.loc[table.index % 11 == 5, "ey_pct"] = np.nan
    table["taper_bar"] = np.linspace(1.5, 3.8, n)
    ax = timeline(table)
    assert overlapping(ax) == []
    assert outside(ax) == []


def test_hostile_words_are_drawn(hostile_shots: pd.DataFrame) -> None:
    ax = timeline(hostile_shots)
    assert overlapping(ax) == []
    assert max(len(each) for each in words(ax)) < 60


def test_a_log_of_the_least_columns_is_drawn() -> None:
    assert heights(pd.DataFrame({"ey_pct": [19.0, 20.0]})) == [19.0, 20.0]


def test_given_axes_are_drawn_on_and_returned(shots: pd.DataFrame) -> None:
    ax = new_axes(FigureSize(160, 60))
    assert timeline(shots, ax=ax) is ax


def test_the_log_is_not_changed(shots: pd.DataFrame) -> None:
    before = shots.copy()
    timeline(shots)
    pd.testing.assert_frame_equal(shots, before)


def test_settings_that_change_are_those_of_more_than_one_value() -> None:
    table = pd.DataFrame(
        {"bag": ["a", "a"], "grind_setting": [1.0, 2.0], "temp_band": ["x", None]}
    )
    assert changing_settings(table) == ["grind_setting"]


def test_stretches_cover_all_shots_without_overlap() -> None:
    values = pd.Series([1.0, 1.0, np.nan, np.nan, 2.0, 1.0])
    assert stretches(values) == [(0, 2), (2, 4), (4, 5), (5, 6)]


def test_no_value_has_no_stretch() -> None:
    assert stretches(pd.Series([], dtype=float)) == []
