"""The map of a surface: where shots were pulled, what was found there, and nothing beyond."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise

import numpy as np
import pandas as pd
import pytest
from matplotlib.axes import Axes
from matplotlib.colors import to_rgb
from matplotlib.contour import QuadContourSet
from matplotlib.patches import FancyArrowPatch, Polygon

from tests.plots.artists import mark_places, outside, overlapping, texts, words
from tests.plots.conftest import HOSTILE
from tests.taste.test_surface import ASKED, findings, hill
from yieldwright.plots import surface_map
from yieldwright.plots.paper import FigureSize, figure_of, new_axes
from yieldwright.taste.surface.model import SurfaceFit, fit_surface


def fit(shots: pd.DataFrame, response: str = "score:overall") -> SurfaceFit:
    return fit_surface(findings(shots, response))


def three() -> SurfaceFit:
    rng, shots = np.random.default_rng(3), hill(6, 9)
    shots["peak_bar"] = rng.choice([7.0, 8.0, 9.0], len(shots))
    return fit_surface(findings(shots, asked=(*ASKED, "peak_bar")))


def grounds(ax: Axes) -> QuadContourSet:
    """Return the tinted areas."""
    return next(each for each in ax.findobj(QuadContourSet) if each.filled)


def polygons(ax: Axes) -> list[np.ndarray]:
    return [each.get_xy()[:-1] for each in ax.patches if isinstance(each, Polygon)]


def arrows(ax: Axes) -> list[FancyArrowPatch]:
    return [each for each in ax.patches if isinstance(each, FancyArrowPatch)]


def lightness(colour: object) -> float:
    return float(np.dot([0.2126, 0.7152, 0.0722], to_rgb(colour)))  # type: ignore[arg-type]


def cut_corner() -> pd.DataFrame:
    shots = hill()
    gone = (shots["grind_setting"] == 12) & (shots["taper_bar"] == 4)
    return shots[~gone].reset_index(drop=True)


def test_tints_end_where_what_was_tried_ends() -> None:
    ax = surface_map(fit(cut_corner()))
    for path in grounds(ax).get_paths():
        across, up = path.vertices.T
        assert (up - 4 + 1.5 * (across - 11) <= 1e-6).all()
        assert ((across >= 10 - 1e-6) & (across <= 12 + 1e-6)).all()


def test_higher_is_darker_in_grey_too() -> None:
    tints = grounds(surface_map(fit(hill())))
    shades = [lightness(colour) for colour in tints.get_facecolor()[:, :3]]
    assert all(first - second > 0.01 for first, second in pairwise(shades))


def test_every_line_between_tints_can_carry_its_number() -> None:
    ax = surface_map(fit(hill()))
    levels = {f"{level:g}".replace("-", "−") for level in grounds(ax).levels}
    shown = set(words(ax)) & levels
    assert len(shown) >= 3


def test_each_place_is_a_dot_whose_area_is_its_shots() -> None:
    shots = pd.concat([hill(), hill(seed=3).query("taper_bar == 1")], ignore_index=True)
    found = fit(shots)
    ax = surface_map(found)
    (dots,) = [each for each in ax.collections if len(each.get_offsets()) == 9]
    counts = shots.groupby(list(ASKED)).size()
    sizes = {tuple(place): size for place, size in zip(dots.get_offsets().data.tolist(),
                                                       dots.get_sizes(), strict=True)}  # fmt: skip
    ratios = [sizes[place] / number for place, number in counts.items()]
    assert ratios == pytest.approx([ratios[0]] * 9)
    assert len(mark_places(ax)) == 9


def test_the_place_it_turns_at_stands_inside_its_dashed_region() -> None:
    found = fit(hill())
    ax = surface_map(found)
    (cross,) = [line for line in ax.lines if line.get_marker() == "x"]
    assert (cross.get_xdata()[0], cross.get_ydata()[0]) == pytest.approx(
        tuple(found.stationary.values())
    )
    region = max(polygons(ax), key=len)
    assert region == pytest.approx(found.outline.to_numpy())


def test_a_place_that_is_not_told_is_not_drawn() -> None:
    ax = surface_map(fit(hill(noise=0.05, top=(12.6, 5.0))))
    assert not [line for line in ax.lines if line.get_marker() == "x"]
    assert len(polygons(ax)) == 1


def test_arrows_lead_from_step_to_step_as_far_as_was_tried() -> None:
    found = fit(hill(noise=0.05, top=(12.6, 5.0)))
    tried = found.path[found.path["tried"]]
    drawn = arrows(surface_map(found))
    assert len(drawn) == len(tried) - 1
    ends = [arrow._posA_posB for arrow in drawn]
    places = tried[list(ASKED)].to_numpy()
    assert [end for _, end in ends] == [tuple(place) for place in places[1:]]


def test_an_arrow_is_called_better_only_where_an_end_is_wanted() -> None:
    shots = hill(noise=0.05, top=(12.6, 5.0))
    timed = fit(shots.assign(time_s=30 + shots["score:overall"]), "time_s")
    assert "Arrow: the way up" in "\n".join(words(surface_map(timed)))
    assert "Arrow: the way to better" in "\n".join(words(surface_map(fit(shots))))


def test_axes_carry_the_labels_of_the_glossary() -> None:
    ax = surface_map(fit(hill()))
    assert (ax.get_xlabel(), ax.get_ylabel()) == ("Grind setting", "Pressure taper [bar]")


def test_the_heading_says_what_is_fitted_and_from_how_many_shots() -> None:
    assert "Overall score, fitted [points]; 36 shots" in words(surface_map(fit(hill())))
    nearness = words(surface_map(fit(hill(), "score:body")))
    assert any(text.startswith("Nearness of the body score to the middle") for text in nearness)


def test_a_third_setting_stands_still_and_the_heading_says_where() -> None:
    found = three()
    ax = surface_map(found)
    heading = next(text for text in words(ax) if "fitted" in text)
    assert heading.endswith("peak pressure 8 bar")
    assert (found.grid["peak_bar"] == 8.0).all()
    assert not [line for line in ax.lines if line.get_marker() == "x"]


def test_without_a_surface_the_reason_stands_in_its_place() -> None:
    found = fit(hill(grinds=(10.0, 12.0)))
    ax = surface_map(found)
    assert " ".join(words(ax)).replace("\n", " ") == found.missing


def test_how_well_a_fitted_value_is_known_stands_below() -> None:
    found = fit(hill(noise=1.5))
    below = "\n".join(words(surface_map(found)))
    halves = (found.grid["ci_high"] - found.grid["ci_low"]) / 2
    assert f"known to within {halves.min():.2g} to {halves.max():.2g} points (95 %)" in below
    assert "does not stand clear of chance" in below
    assert "stand clear" not in "\n".join(words(surface_map(fit(hill()))))


@pytest.mark.parametrize("kind", ["top", "far", "saddle", "cut", "three", "noise"])
def test_words_neither_overlap_nor_leave_the_figure(kind: str) -> None:
    made = {
        "top": lambda: fit(hill()),
        "far": lambda: fit(hill(noise=0.05, top=(12.6, 5.0))),
        "saddle": lambda: fit(hill(squares=(-0.5, 0.25))),
        "cut": lambda: fit(cut_corner()),
        "three": three,
        "noise": lambda: fit(hill(noise=1.5)),
    }
    ax = surface_map(made[kind]())
    numbers = {text.get_text() for text in texts(ax) if text in ax.texts and text.get_rotation()}
    pairs = [pair for pair in overlapping(ax) if not numbers & set(pair)]
    assert pairs == []
    assert outside(ax) == []


@pytest.mark.parametrize("noun", HOSTILE)
def test_a_name_out_to_break_the_figure_stays_a_word(noun: str) -> None:
    ax = surface_map(replace(fit(hill()), noun=noun))
    figure_of(ax).draw_without_rendering()
    heading = next(text for text in words(ax) if "fitted [points]" in text)
    assert "\n" not in heading
    assert len(heading) <= 140


def test_a_given_axes_is_used_and_returned() -> None:
    ax = new_axes(FigureSize(120, 100))
    assert surface_map(fit(hill()), ax=ax) is ax
    assert len(figure_of(ax).axes) == 1


def test_the_result_draws_itself() -> None:
    found = fit(hill())
    assert found.plot().get_xlabel() == surface_map(found).get_xlabel()
