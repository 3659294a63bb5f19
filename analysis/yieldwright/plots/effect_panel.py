"""One panel of effects: a row per practical step, in the unit of one response."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Protocol

import numpy as np
from matplotlib.patches import Rectangle
from matplotlib.ticker import MaxNLocator, NullLocator

from yieldwright.bench import Bench
from yieldwright.formatting import count, sentence_case
from yieldwright.plots.lettering import drawable, letter, sign_ticks
from yieldwright.plots.paper import shifted
from yieldwright.plots.theme import FAMILY, HATCH, INK, LOOKS, MEDIUM_PT, PAPER, SOFT, dress
from yieldwright.taste.columns.roles import role_of
from yieldwright.taste.words.wording import column_label, response_words

if TYPE_CHECKING:
    from collections.abc import Hashable, Iterable, Sequence

    import pandas as pd
    from matplotlib.axes import Axes

__all__ = [
    "EffectRow",
    "EntangledColumns",
    "FittedEffects",
    "draw_panel",
    "effect_rows",
    "entangled_columns",
]

#: An unclear interval this many times longer than usual runs off the panel as an arrow.
_USUAL_REACHES = 5.0
_BAR_HEIGHT = 0.62


class EntangledColumns(Protocol):
    """Two columns a log cannot tell apart, or hardly."""

    @property
    def first(self) -> str:
        """The setting."""

    @property
    def second(self) -> str:
        """Its companion."""

    @property
    def forbids_verdict(self) -> bool:
        """Whether the effect of the first must not be read as its own."""


class FittedEffects(Protocol):
    """What a fit must tell to be drawn; the answer of `fit_effects` does."""

    @property
    def response(self) -> str:
        """Column explained."""

    @property
    def n_shots(self) -> int:
        """Shots behind the fit."""

    @property
    def bag(self) -> str:
        """Code of the bag, empty where the log names none."""

    @property
    def effects(self) -> pd.DataFrame:
        """One row per step: term, step, kind, estimate, ci_low, ci_high, detectable."""

    @property
    def left_out(self) -> tuple[tuple[str, str], ...]:
        """Columns that were not judged, with reasons."""

    @property
    def confounded(self) -> Sequence[EntangledColumns]:
        """What the log cannot tell apart."""


@dataclass(frozen=True, slots=True)
class EffectRow:
    """One row of the figure.

    Attributes
    ----------
    term : str
        Column the step belongs to.
    step : str
        The step in words; empty for a setting that no fit could judge.
    is_setting : bool
        Whether one sets it, or only allows for it.
    """

    term: str
    step: str
    is_setting: bool

    @property
    def label(self) -> str:
        """The words beside the row."""
        return self.step or column_label(self.term)


def effect_rows(fits: Iterable[FittedEffects]) -> list[EffectRow]:
    """Return the rows that several fits need together: settings first, then adjusters.

    Parameters
    ----------
    fits : iterable of fits
        What the settings did to each response.

    Returns
    -------
    list of EffectRow
        Steps in the order met; a setting that no fit could judge has a row of its own.

    Examples
    --------
    >>> from yieldwright.taste.effects_fit import EffectsFit
    >>> unjudged = EffectsFit(response="time_s", n_shots=3, left_out=(("temp_band", "constant"),))
    >>> [row.label for row in effect_rows([unjudged])]
    ['temperature band']
    """
    every = list(fits)
    rows = [
        EffectRow(row["term"], row["step"], row["kind"] == "setting")
        for fit in every
        for row in fit.effects.to_dict("records")
    ]
    judged = {row.term for row in rows}
    rows += [
        EffectRow(column, "", True)
        for fit in every
        for column, _ in fit.left_out
        if column not in judged and role_of(column) == "setting"
    ]
    return sorted(dict.fromkeys(rows), key=lambda row: not row.is_setting)


def entangled_columns(fit: FittedEffects) -> set[str]:
    """Return the columns whose effects must not be read as their own.

    Parameters
    ----------
    fit : fit
        What the settings did to one response.

    Returns
    -------
    set of str

    Examples
    --------
    >>> from yieldwright.taste.effects_fit import EffectsFit
    >>> entangled_columns(EffectsFit(response="time_s", n_shots=3))
    set()
    """
    pairs = [pair for pair in fit.confounded if pair.forbids_verdict]
    return {column for pair in pairs for column in (pair.first, pair.second)}


def draw_panel(
    ax: Axes, fit: FittedEffects, rows: Sequence[EffectRow], *, name_bag: bool = False
) -> None:
    """Draw one response's effects on axes of their own.

    Parameters
    ----------
    ax : Axes
        Where to draw.
    fit : fit
        What the settings did to one response.
    rows : sequence of EffectRow
        The rows, top to bottom.
    name_bag : bool
        Whether to say which bag it is.

    Examples
    --------
    >>> from yieldwright.plots.paper import FigureSize, new_axes
    >>> from yieldwright.taste.effects_fit import EffectsFit
    >>> ax = new_axes(FigureSize(60, 40))
    >>> draw_panel(ax, EffectsFit(response="time_s", n_shots=3), [])
    >>> ax.get_title(loc="left")
    'Shot time'
    """
    unsure = entangled_columns(fit)
    reach = _reach(fit.effects[~fit.effects["term"].isin(unsure)])
    found = {(row["term"], row["step"]): row for row in fit.effects.to_dict("records")}
    dress(ax, grid="x", bare=("top", "left", "right"))
    ax.set(xlim=(-reach, reach), ylim=(max(len(rows), 1) - 0.4, -0.6), yticks=[])
    ax.axvline(0, color=INK, linewidth=0.8, zorder=2)
    for height, row in enumerate(rows):
        effect = found.get((row.term, row.step))
        if effect is None:
            _say_undecided(ax, height, fit, row)
        else:
            _draw_effect(ax, height, effect, reach, dashed=row.term in unsure)
    _head(ax, fit, name_bag=name_bag)


def _reach(table: pd.DataFrame) -> float:
    """Return how far from zero a panel reaches: clear effects whole, estimates inside."""
    settings = table[table["kind"] == "setting"]
    longest = _finite(settings[["estimate", "ci_low", "ci_high"]]).max(axis=1, initial=0.0)
    clear = (settings["ci_low"] * settings["ci_high"] > 0).to_numpy()
    usual = _USUAL_REACHES * float(np.median(longest)) if len(longest) else 0.0
    shown = longest[clear | (longest <= usual)].max(initial=0.0)
    return max(1.1 * shown, 1.25 * _finite(table[["estimate"]]).max(initial=0.0)) or 1.0


def _finite(table: pd.DataFrame) -> np.ndarray:
    """Return absolute values, zero where there is no finite one."""
    found = np.abs(table.to_numpy(dtype=float))
    return np.where(np.isfinite(found), found, 0.0)


def _draw_effect(
    ax: Axes, height: int, effect: dict[Hashable, Any], reach: float, *, dashed: bool
) -> None:
    """Draw what could not have been found, the interval over it, and the estimate."""
    hidden = min(effect["detectable"], reach)
    if hidden > 0:
        corner = -hidden, height - _BAR_HEIGHT / 2
        ax.add_patch(Rectangle(corner, 2 * hidden, _BAR_HEIGHT, facecolor=HATCH, zorder=1))
    low, high, middle = effect["ci_low"], effect["ci_high"], effect["estimate"]
    color = SOFT if dashed else LOOKS["counted"].fill
    _draw_interval(ax, height, (low, high), reach, color=color, dashed=dashed)
    if abs(middle) <= reach:
        clear = low * high > 0 and not dashed
        ax.plot(
            middle, height, marker="o" if clear else "D", markersize=5.0 if clear else 4.2,
            markerfacecolor=color if clear else PAPER, markeredgecolor=color,
            markeredgewidth=1.0, zorder=4,
        )  # fmt: skip


def _draw_interval(
    ax: Axes, height: int, ends: tuple[float, float], reach: float, *, color: str, dashed: bool
) -> None:
    """Draw an interval, with an arrow where it runs on beyond the panel."""
    line: dict[str, Any] = {"color": color, "linewidth": 1.3, "zorder": 3}
    style = (0, (2, 1.5)) if dashed else "-"
    ax.plot(np.clip(ends, -reach, reach), (height, height), linestyle=style, **line)
    if ends[0] < -reach:
        ax.plot(-0.985 * reach, height, marker="<", markersize=4.5, **line)
    if ends[1] > reach:
        ax.plot(0.985 * reach, height, marker=">", markersize=4.5, **line)


def _say_undecided(ax: Axes, height: int, fit: FittedEffects, row: EffectRow) -> None:
    """Write that a fit has no verdict on a setting it was asked about."""
    asked = {column for column, _ in fit.left_out}
    if row.is_setting and (row.term in asked or fit.effects.empty):
        letter(ax, 0, height, " cannot tell", color=SOFT, va="center", style="italic", zorder=5)


def _head(ax: Axes, fit: FittedEffects, *, name_bag: bool) -> None:
    """Write response, unit and number of shots above the panel, signs at its numbers."""
    words = response_words(fit.response, Bench())
    name = sentence_case(words.noun)
    look: dict[str, Any] = {"fontsize": MEDIUM_PT, "fontfamily": FAMILY, "color": INK, "pad": 12}
    ax.set_title(drawable(name), loc="left", parse_math=False, fontweight="bold", **look)
    parts = [
        words.unit,
        count(fit.n_shots, "shot"),
        drawable(fit.bag, longest=12) if name_bag else "",
    ]
    above = shifted(ax, ax.transAxes, up_pt=3)
    letter(ax, 0, 1, ", ".join(filter(None, parts)), color=SOFT, va="bottom", transform=above)
    ax.xaxis.set_major_locator(
        MaxNLocator(5, steps=[1, 2, 2.5, 5, 10]) if len(fit.effects) else NullLocator()
    )
    sign_ticks(ax.xaxis)
