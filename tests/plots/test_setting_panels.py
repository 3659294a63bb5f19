"""Means at settings: one panel a setting, one mark a value, the next shot behind."""

from __future__ import annotations

from typing import Any

import pandas as pd
import pytest
from matplotlib.axes import Axes
from matplotlib.lines import Line2D

from tests.plots.artists import outside, overlapping, words
from tests.plots.conftest import HOSTILE
from yieldwright.plots import setting_means
from yieldwright.plots.paper import FigureSize, new_axes
from yieldwright.taste.means.setting_means import PAIR_COLUMNS, SettingMeans

NAMES = [
    "setting", "value", "n_shots", "estimate", "ci_low", "ci_high", "shot_low", "shot_high",
]  # fmt: skip
BANDS = [
    ("temp_band", "low", 8, 19.5, 19.2, 19.8, 18.9, 20.1),
    ("temp_band", "medium", 8, 20.0, 19.8, 20.2, 19.4, 20.6),
    ("temp_band", "high", 7, 20.3, 20.0, 20.6, 19.7, 20.9),
]
GRINDS = [
    ("grind_setting", 10.0, 8, 20.4, 20.2, 20.6, 19.8, 21.0),
    ("grind_setting", 12.0, 8, 19.6, 19.4, 19.8, 19.0, 20.2),
]


def told(*rows: tuple[Any, ...], apart: float = 0.3, **fields: Any) -> SettingMeans:
    pair = {"setting": "temp_band", "first": "low", "second": "high", "p_tukey": apart}
    return SettingMeans(
        response="ey_pct",
        n_shots=23,
        means=pd.DataFrame(rows, columns=NAMES),
        pairs=pd.DataFrame([pair], columns=list(PAIR_COLUMNS)),
        measure="Extraction yield [% by mass]",
        **fields,
    )


def panels(answer: SettingMeans) -> list[Axes]:
    return list(setting_means(answer).child_axes)


def marks(panel: Axes) -> Line2D:
    return next(line for line in panel.lines if line.get_marker() in ("o", "D"))


def test_there_is_one_panel_per_setting() -> None:
    assert len(panels(told(*GRINDS, *BANDS))) == 2


def test_a_result_draws_itself() -> None:
    assert len(told(*BANDS).plot().child_axes) == 1


def test_means_stand_where_they_are() -> None:
    assert list(marks(panels(told(*BANDS))[0]).get_ydata()) == [19.5, 20.0, 20.3]


def test_numbers_stand_at_their_values() -> None:
    assert list(marks(panels(told(*GRINDS))[0]).get_xdata()) == [10.0, 12.0]


def test_levels_and_numbers_differ_in_shape() -> None:
    grinds, bands = (marks(panel).get_marker() for panel in panels(told(*GRINDS, *BANDS)))
    assert (grinds, bands) == ("D", "o")


def test_both_intervals_are_drawn_the_mean_s_thicker() -> None:
    panel = panels(told(BANDS[0], BANDS[1]))[0]
    drawn = {tuple(line.get_ydata()): line.get_linewidth() for line in panel.lines}
    assert drawn[19.2, 19.8] > drawn[18.9, 20.1]


def test_panels_share_one_scale_that_holds_everything() -> None:
    drawn = panels(told(*GRINDS, *BANDS))
    assert drawn[0].get_ylim() == drawn[1].get_ylim()
    low, high = drawn[0].get_ylim()
    assert low < 18.9
    assert high > 21.0


def test_the_scale_has_its_unit_and_values_their_shots() -> None:
    shown = words(setting_means(told(*GRINDS, *BANDS)))
    assert "Extraction yield [% by mass]" in shown
    assert {"high\nn 7", "10\nn 8"} <= set(shown)


@pytest.mark.parametrize(
    ("p_value", "said"), [(0.01, "apart: low–high"), (0.3, "no pair set apart")]
)
def test_levels_that_stand_apart_are_named(p_value: float, said: str) -> None:
    assert said in words(setting_means(told(*BANDS, apart=p_value)))


def test_a_setting_that_may_be_another_s_doing_asks() -> None:
    shown = words(setting_means(told(*GRINDS, entangled={"grind_setting": "roast_age_d"})))
    assert "or is it roast age?" in shown


def test_a_missing_next_shot_is_not_drawn() -> None:
    nothing = float("nan")
    panel = panels(told((*BANDS[0][:6], nothing, nothing), BANDS[1]))[0]
    assert len(panel.lines) == 4


@pytest.mark.parametrize("text", HOSTILE)
def test_levels_from_a_log_stay_words(text: str) -> None:
    rows = [("distribution", text, 8, *BANDS[0][3:]), ("distribution", "tap", 8, *BANDS[1][3:])]
    drawn = setting_means(told(*rows))
    assert outside(drawn) == []


def test_words_do_not_lie_on_one_another() -> None:
    many = [("dose_g", 17.5 + 0.1 * k, 3, *BANDS[1][3:]) for k in range(7)]
    puck = [("distribution", name, 5, *BANDS[0][3:]) for name in ("needle", "level", "tap", "no")]
    drawn = setting_means(told(*GRINDS, *BANDS, *many, *puck))
    assert overlapping(drawn) == []
    assert outside(drawn) == []


def test_it_draws_on_axes_of_a_reader() -> None:
    ax = new_axes(FigureSize(180, 90))
    assert setting_means(told(*BANDS), ax=ax) is ax


def test_nothing_told_is_an_empty_figure() -> None:
    assert setting_means(told()).child_axes == []
