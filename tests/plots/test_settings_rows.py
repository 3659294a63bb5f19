"""The table of settings: failures with their interval, and every value."""

from __future__ import annotations

from types import SimpleNamespace

import numpy as np
import pandas as pd
import pytest
from matplotlib.axes import Axes

from tests.plots.artists import mark_places, outside, overlapping, words
from tests.plots.conftest import HOSTILE, invented_shots
from yieldwright.models.intervals.intervals import wilson_interval
from yieldwright.plots import settings_table
from yieldwright.plots.paper import FigureSize, new_axes


def counted(**failed_of: tuple[int, int]) -> SimpleNamespace:
    """Return counts of failures by band: band=(failed, shots)."""
    rows = [
        (band, shots, failed, failed / shots, *wilson_interval(failed, shots))
        for band, (failed, shots) in failed_of.items()
    ]
    names = ["temp_band", "n_shots", "n_failed", "rate", "ci_low", "ci_high"]
    return SimpleNamespace(by=("temp_band",), rates=pd.DataFrame(rows, columns=names))


def failures(table: SimpleNamespace) -> Axes:
    return settings_table(table).child_axes[0]


def test_each_setting_has_a_row_with_its_counts() -> None:
    shown = words(settings_table(counted(low=(1, 9), high=(0, 5))))
    assert {"low", "high", "1 of 9", "0 of 5"} <= set(shown)


def test_the_share_and_its_interval_stand_where_they_are() -> None:
    # Wilson 1927: 0 of 5 has an upper limit of z² / (n + z²) = 3.8415 / 8.8415.
    span, mark = failures(counted(high=(0, 5))).lines
    assert span.get_xdata()[1] == pytest.approx(100 * 3.8415 / 8.8415, abs=0.01)
    assert mark.get_xdata()[0] == 0


def test_failures_not_logged_are_said() -> None:
    table = counted(low=(1, 9))
    table.rates.loc[0, ["n_failed", "rate", "ci_low", "ci_high"]] = np.nan
    assert "not logged" in words(settings_table(table))


def test_every_value_is_shown_in_the_row_of_its_setting() -> None:
    shots = pd.DataFrame({"temp_band": ["low", "high", "low"], "ey_pct": [19.0, 20.0, 21.0]})
    values = settings_table(counted(low=(0, 2), high=(0, 1)), shots=shots).child_axes[1]
    found = sorted(map(tuple, mark_places(values).tolist()))
    assert found == [(19.0, 0.0), (20.0, 1.0), (21.0, 0.0)]


def test_means_carry_their_interval() -> None:
    shots = pd.DataFrame({"temp_band": ["low"], "ey_pct": [19.0]})
    means = pd.DataFrame({"temp_band": ["low"], "estimate": 19.2, "ci_low": 18.7, "ci_high": 19.7})
    values = settings_table(counted(low=(0, 1)), shots=shots, means=means).child_axes[1]
    assert (18.7, 19.7) in [tuple(line.get_xdata()) for line in values.lines]


def test_without_values_there_is_one_panel() -> None:
    shots = pd.DataFrame({"temp_band": ["low"], "time_s": [30.0]})
    assert len(settings_table(counted(low=(0, 1)), shots=shots).child_axes) == 1


def test_very_many_settings_are_cut_and_said() -> None:
    ax = settings_table(counted(**{f"b{number}": (0, number) for number in range(1, 21)}))
    assert "6 settings with fewer shots not shown." in words(ax)
    assert "b20" in words(ax)
    assert "b1" not in words(ax)


def test_one_rate_of_all_shots_is_drawn() -> None:
    table = counted(low=(1, 9))
    whole = SimpleNamespace(by=(), rates=table.rates.drop(columns="temp_band"))
    assert "all shots" in words(settings_table(whole))


def test_several_columns_name_a_setting_together() -> None:
    table = counted(low=(1, 9))
    table.rates.insert(0, "grind_setting", 11.0)
    both = SimpleNamespace(by=("grind_setting", "temp_band"), rates=table.rates)
    assert "11 · low" in words(settings_table(both, shots=invented_shots()))


@pytest.mark.parametrize("n", [1, 5, 14])
def test_no_words_overlap_or_are_cut(n: int) -> None:
    table = counted(**{f"band {number}": (number % 2, 5) for number in range(n)})
    ax = settings_table(table, shots=invented_shots().assign(temp_band="band 0"))
    assert overlapping(ax) == []
    assert outside(ax) == []


@pytest.mark.parametrize("word", HOSTILE)
def test_hostile_settings_are_drawn(word: str) -> None:
    ax = settings_table(counted(**{word: (0, 3)}), shots=invented_shots().assign(temp_band=word))
    assert overlapping(ax) == []


def test_given_axes_are_drawn_on_and_returned() -> None:
    ax = new_axes(FigureSize(160, 60))
    assert settings_table(counted(low=(1, 9)), ax=ax) is ax
