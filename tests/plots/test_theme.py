"""Colours keep apart for every eye and in grey; shapes say the same again."""

from __future__ import annotations

from itertools import combinations

import matplotlib as mpl
import numpy as np
import pytest
from matplotlib.markers import MarkerStyle

from tests.plots.vision import SIMULATED, contrast, distance, lab
from yieldwright.chart import REGIONS
from yieldwright.glossary import quantity
from yieldwright.plots.paper import FigureSize, new_axes
from yieldwright.plots.theme import INK, LOOKS, PAPER, SOFT, TINTS, dart, dress

FILLS = sorted({LOOKS[name].fill for name in ("on_target", "under", "over", "strong")})
PAIRS = list(combinations(FILLS, 2))


@pytest.mark.parametrize("eyes", SIMULATED)
@pytest.mark.parametrize(("first", "second"), PAIRS)
def test_fills_keep_apart_for_every_eye(first: str, second: str, eyes: str) -> None:
    # A CIE 1976 difference of 2.3 is just noticeable (Mahy et al. 1994): ask for eight times.
    assert distance(first, second, eyes) > 8 * 2.3


@pytest.mark.parametrize(("first", "second"), PAIRS)
def test_fills_keep_apart_in_grey(first: str, second: str) -> None:
    assert abs(lab(first)[0] - lab(second)[0]) >= 14


@pytest.mark.parametrize("ground", [PAPER, *TINTS])
@pytest.mark.parametrize("lettering", [INK, SOFT])
def test_lettering_is_readable_on_every_ground(lettering: str, ground: str) -> None:
    # WCAG 2.2, success criterion 1.4.3: at least 4.5 for text.
    assert contrast(lettering, ground) >= 4.5


def test_outlines_stand_out_where_fills_do_not() -> None:
    # WCAG 2.2, success criterion 1.4.11: at least 3 for graphics; every mark has an ink outline.
    assert contrast(INK, PAPER) >= 3


def outline(name: str) -> bytes:
    style = MarkerStyle(LOOKS[name].marker)
    return style.get_path().transformed(style.get_transform()).vertices.round(6).tobytes()


def test_every_region_has_a_look_with_a_shape_of_its_own() -> None:
    assert len({outline(each.code) for each in REGIONS}) == 9


def test_every_fate_and_stage_has_a_look_with_a_shape_or_fill_of_its_own() -> None:
    names = [*quantity("fate").choices[1:], *quantity("stage").choices]
    assert len({(outline(name), LOOKS[name].fill) for name in names}) == len(names)


@pytest.mark.parametrize("each", [each for each in REGIONS if each.code != "on_target"])
def test_a_mark_points_the_way_the_shot_missed(each: object) -> None:
    tip = LOOKS[each.code].marker.vertices[0]
    assert np.sign(tip.round(6)).tolist() == [each.right, each.up]


def test_a_dart_points_up_unless_turned() -> None:
    assert dart(0).vertices[0].tolist() == [0, 1.15]


def test_dressing_axes_changes_no_setting() -> None:
    before = dict(mpl.rcParams)
    dress(new_axes(FigureSize(60, 40)))
    assert dict(mpl.rcParams) == before


def test_no_global_style_leaks_into_our_axes() -> None:
    with mpl.rc_context({"axes.grid": True, "axes.facecolor": "red", "axes.edgecolor": "red"}):
        ax = new_axes(FigureSize(60, 40))
        dress(ax)
    assert ax.get_facecolor()[3] == 0
    assert not any(line.get_visible() for line in ax.get_xgridlines())
