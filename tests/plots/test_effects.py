"""Effects: one panel a response, one row a step, no verdict hidden."""

from __future__ import annotations

from typing import Any

import pandas as pd
import pytest
from matplotlib.axes import Axes
from matplotlib.colors import to_rgba
from matplotlib.patches import Rectangle

from tests.plots.artists import outside, overlapping, words
from tests.plots.conftest import HOSTILE
from yieldwright.plots import effects
from yieldwright.plots.effect_panel import effect_rows
from yieldwright.plots.paper import FigureSize, figure_of, new_axes
from yieldwright.plots.theme import PAPER
from yieldwright.taste.effects_fit import EffectsFit, EntangledPair

INFINITE = float("inf")
GRIND = ("grind_setting", "one setting coarser", "setting", -2.1, -3.0, -1.2, 1.3)
BAND = ("temp_band", "low → medium", "setting", 0.4, -1.5, 2.3, 2.7)
TAPER = ("taper_bar", "1 bar more taper", "setting", 0.7, -0.1, 1.5, 1.2)
AGE = ("roast_age_d", "one day older", "adjuster", -0.1, -0.4, 0.2, 0.4)
NAMES = ["term", "step", "kind", "estimate", "ci_low", "ci_high", "detectable"]


def fit(*rows: tuple[Any, ...], response: str = "time_s", **fields: Any) -> EffectsFit:
    table = pd.DataFrame(rows, columns=NAMES)
    return EffectsFit(response=response, n_shots=24, effects=table, **fields)


def panel_of(one: EffectsFit) -> Axes:
    return effects(one).child_axes[0]


def interval(panel: Axes, row: int) -> tuple[float, float]:
    """Return the ends of the line drawn in a row."""
    line = next(ln for ln in panel.lines if list(ln.get_ydata()) == [row, row])
    return tuple(line.get_xdata())


def mark(panel: Axes, row: int) -> Any:
    """Return the mark of the estimate in a row."""
    return next(
        line
        for line in panel.lines
        if list(line.get_ydata()) == [row] and line.get_marker() in ("o", "D")
    )


def test_there_is_one_panel_per_response() -> None:
    fits = [fit(GRIND, response=name) for name in ("time_s", "ey_pct", "score:overall")]
    assert len(effects(fits).child_axes) == 3


def test_each_panel_says_response_unit_and_shots() -> None:
    panel = panel_of(fit(GRIND))
    assert panel.get_title(loc="left") == "Shot time"
    assert "s, 24 shots" in [text.get_text() for text in panel.texts]


def test_each_step_has_its_row() -> None:
    shown = words(effects(fit(GRIND, BAND, TAPER)))
    assert {"one setting coarser", "low → medium", "1 bar more taper"} <= set(shown)


def test_estimates_and_intervals_stand_where_they_are() -> None:
    panel = panel_of(fit(GRIND, TAPER))
    assert mark(panel, 0).get_xdata()[0] == -2.1
    assert interval(panel, 0) == (-3.0, -1.2)
    assert interval(panel, 1) == (-0.1, 1.5)


def test_a_mark_is_filled_only_where_the_interval_keeps_clear_of_zero() -> None:
    panel = panel_of(fit(GRIND, TAPER))
    assert to_rgba(mark(panel, 0).get_markerfacecolor()) != to_rgba(PAPER)
    assert to_rgba(mark(panel, 1).get_markerfacecolor()) == to_rgba(PAPER)


def test_clear_and_unclear_differ_in_shape_too() -> None:
    panel = panel_of(fit(GRIND, TAPER))
    assert mark(panel, 0).get_marker() != mark(panel, 1).get_marker()


def test_there_is_a_line_at_zero() -> None:
    assert any(list(line.get_xdata()) == [0, 0] for line in panel_of(fit(GRIND)).lines)


def test_what_could_not_have_been_found_is_a_bar_around_zero() -> None:
    panel = panel_of(fit(GRIND))
    (bar,) = (patch for patch in panel.patches if isinstance(patch, Rectangle))
    assert (bar.get_x(), bar.get_width()) == (-1.3, 2.6)


def test_an_unknown_detectable_size_draws_no_bar() -> None:
    panel = panel_of(fit((*GRIND[:6], float("nan"))))
    assert len(panel.patches) == 0


@pytest.mark.parametrize(("low", "high", "arrow"), [(-INFINITE, -1.2, "<"), (-3.0, INFINITE, ">")])
def test_an_unbounded_interval_ends_in_an_arrow(low: float, high: float, arrow: str) -> None:
    panel = panel_of(fit((*GRIND[:4], low, high, 1.3), TAPER))
    assert arrow in [line.get_marker() for line in panel.lines]


def test_a_bounded_interval_has_no_arrow() -> None:
    markers = [line.get_marker() for line in panel_of(fit(GRIND, TAPER)).lines]
    assert not {"<", ">"} & set(markers)


def test_one_wide_interval_does_not_squash_the_others() -> None:
    wide = ("dose_g", "1 g more dose", "adjuster", 1.0, -90.0, 92.0, 120.0)
    panel = panel_of(fit(GRIND, TAPER, wide))
    assert panel.get_xlim()[1] < 10


def test_a_clear_effect_is_shown_whole_however_small_the_others() -> None:
    small = ("taper_bar", "1 bar more taper", "setting", 0.0, -0.1, 0.1, 0.2)
    tiny = ("temp_band", "low → medium", "setting", 0.0, -0.05, 0.05, 0.1)
    assert panel_of(fit(GRIND, small, tiny)).get_xlim()[0] < -3.0


def test_an_unclear_interval_out_of_all_proportion_runs_off_as_arrows() -> None:
    vast = ("temp_band", "low → medium", "setting", 0.0, -90.0, 90.0, 120.0)
    panel = panel_of(fit(GRIND, TAPER, vast))
    assert panel.get_xlim()[1] < 10
    assert {"<", ">"} <= {line.get_marker() for line in panel.lines}


def test_an_estimate_is_always_inside_its_panel() -> None:
    far = ("dose_g", "1 g more dose", "adjuster", 40.0, 10.0, 70.0, 30.0)
    panel = panel_of(fit(GRIND, TAPER, far))
    assert panel.get_xlim()[1] > 40


def test_a_setting_without_verdict_says_so() -> None:
    one = fit(GRIND, left_out=(("temp_band", "never changes within a session"),))
    assert "temperature band" in words(effects(one))
    assert " cannot tell" in [text.get_text() for text in panel_of(one).texts]


def test_a_verdict_missing_in_one_response_only_is_said_there() -> None:
    both = [fit(GRIND, BAND), fit(GRIND, response="ey_pct", left_out=(("temp_band", "constant"),))]
    first, second = effects(both).child_axes
    assert " cannot tell" not in [text.get_text() for text in first.texts]
    assert " cannot tell" in [text.get_text() for text in second.texts]


def test_a_fit_without_any_estimate_is_drawn() -> None:
    empty = EffectsFit(response="time_s", n_shots=2, left_out=(("grind_setting", "constant"),))
    assert " cannot tell" in [text.get_text() for text in panel_of(empty).texts]


def test_an_entangled_effect_is_dashed_and_hollow() -> None:
    clear = ("taper_bar", "1 bar more taper", "setting", 0.7, 0.2, 1.2, 1.0)
    pair = EntangledPair("taper_bar", "roast_age_d", 12.0, 5.0, "pooled", "")
    ax = effects(fit(GRIND, clear, confounded=(pair,)))
    panel = ax.child_axes[0]
    line = next(each for each in panel.lines if list(each.get_ydata()) == [1, 1])
    assert line.is_dashed()
    assert to_rgba(mark(panel, 1).get_markerfacecolor()) == to_rgba(PAPER)
    assert any("dashed: not to be told apart" in each for each in words(ax))


def test_an_entangled_effect_does_not_squash_the_others() -> None:
    pair = EntangledPair("temp_band", "roast_age_d", 30.0, 5.0, "pooled", "")
    wide = ("temp_band", "low → medium", "setting", 40.0, -90.0, 170.0, 200.0)
    panel = panel_of(fit(GRIND, TAPER, wide, confounded=(pair,)))
    assert panel.get_xlim()[1] < 10
    assert {"<", ">"} <= {line.get_marker() for line in panel.lines}


def test_settings_come_before_what_is_only_allowed_for() -> None:
    assert [row.is_setting for row in effect_rows([fit(AGE, GRIND, TAPER)])] == [True, True, False]


def test_rows_are_shared_by_all_panels() -> None:
    fits = [fit(GRIND, TAPER), fit(GRIND, AGE, response="ey_pct")]
    heights = {tuple(panel.get_ylim()) for panel in effects(fits).child_axes}
    assert len(heights) == 1


def test_bags_are_named_where_they_differ() -> None:
    fits = [fit(GRIND, bag="bag-1"), fit(GRIND, bag="bag-2")]
    shown = words(effects(fits))
    assert {"s, 24 shots, bag-1", "s, 24 shots, bag-2"} <= set(shown)


def test_a_single_bag_is_not_repeated_in_each_panel() -> None:
    assert "s, 24 shots" in words(effects(fit(GRIND, bag="bag-1")))


@pytest.mark.parametrize("n_fits", [1, 2, 3, 4, 6])
def test_no_words_overlap_or_are_cut(n_fits: int) -> None:
    names = ("time_s", "ey_pct", "score:overall")
    fits = [fit(GRIND, BAND, TAPER, AGE, response=names[n % 3]) for n in range(n_fits)]
    ax = effects(fits)
    assert overlapping(ax) == []
    assert outside(ax) == []


@pytest.mark.parametrize("word", HOSTILE)
def test_hostile_bands_and_attributes_are_drawn(word: str) -> None:
    row = ("temp_band", f"{word} → {word}", "setting", 0.4, -1.5, 2.3, 2.7)
    ax = effects(fit(row, response=f"score:{word}", bag=word))
    assert overlapping(ax) == []


def test_the_figure_grows_with_its_rows() -> None:
    few, many = effects(fit(GRIND)), effects(fit(GRIND, BAND, TAPER, AGE))
    assert figure_of(few).get_size_inches()[1] < figure_of(many).get_size_inches()[1]


def test_given_axes_are_drawn_on_and_returned() -> None:
    ax = new_axes(FigureSize(160, 60))
    assert effects([fit(GRIND)], ax=ax) is ax


def test_the_result_draws_itself() -> None:
    assert len(fit(GRIND).plot().child_axes) == 1
