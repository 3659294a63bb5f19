"""The mean at each value of each setting: one panel a setting, the next shot behind."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Protocol

import numpy as np
from matplotlib.ticker import FixedLocator, FuncFormatter, MaxNLocator

from yieldwright.formatting import MINUS, sentence_case
from yieldwright.glossary import quantity
from yieldwright.plots.lettering import drawable, letter
from yieldwright.plots.panel_rows import PanelRows
from yieldwright.plots.paper import new_axes, shifted
from yieldwright.plots.theme import EDGE, FAMILY, LOOKS, MEDIUM_PT, PAPER, SOFT, dress
from yieldwright.taste.words.wording import column_label

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    import pandas as pd
    from matplotlib.axes import Axes

__all__ = ["ComparedSettings", "setting_means"]

_PANEL_MM = 46.0

#: Letters that stand side by side under a panel.
_LETTERS = 34

#: Values closer than this share of those tried cannot both be named.
_CLOSE = 0.13

#: Corrected p-values up to this set two levels apart.
_SIGNIFICANT = 0.05


class ComparedSettings(Protocol):
    """What a comparison must tell to be drawn; the answer of `compare_settings` does."""

    @property
    def measure(self) -> str:
        """What the means are of, with its unit."""

    @property
    def next_shot(self) -> str:
        """Which next shot the wider limits are of."""

    @property
    def entangled(self) -> Mapping[str, str]:
        """Settings whose means may be the doing of another column."""

    @property
    def means(self) -> pd.DataFrame:
        """One row per value: setting, value, n_shots, estimate, limits of mean and shot."""

    @property
    def pairs(self) -> pd.DataFrame:
        """One row per pair of levels: setting, first, second, p_tukey."""


def setting_means(found: ComparedSettings, *, ax: Axes | None = None) -> Axes:
    """Draw the mean response at each value of each setting, one panel per setting.

    Parameters
    ----------
    found : comparison
        Means at the settings, with their differences.
    ax : Axes or None
        Where to draw; by default a new figure 180 mm wide, as high as its panels need.

    Returns
    -------
    Axes
        The axes that hold the panels; the panels are its `child_axes`.

    Notes
    -----
    All panels share one scale. A circle is a level, a diamond a value of a number, joined
    by the line or curve fitted. The thick bar is the 95 % interval of the mean, the thin
    one with caps where the next shot falls 19 times in 20. Levels that Tukey's test sets
    apart are named above.

    Examples
    --------
    >>> import pandas as pd
    >>> from yieldwright.taste.means.setting_means import SettingMeans
    >>> row = {
    ...     "setting": "temp_band",
    ...     "value": "low",
    ...     "n_shots": 8,
    ...     "estimate": 19.5,
    ...     "ci_low": 19.2,
    ...     "ci_high": 19.8,
    ...     "shot_low": 18.9,
    ...     "shot_high": 20.1,
    ... }
    >>> drawn = setting_means(
    ...     SettingMeans(response="ey_pct", n_shots=8, means=pd.DataFrame([row]))
    ... )
    >>> len(drawn.child_axes)
    1
    """
    settings = list(dict.fromkeys(found.means["setting"].tolist()))
    rows = _rows(len(settings))
    ax = new_axes(rows.size) if ax is None else ax
    ax.set(xlim=(0, 1), ylim=(0, 1))
    ax.set_axis_off()
    reach = _reach(found.means)
    for place, setting in enumerate(settings):
        panel = ax.inset_axes(rows.bounds(place))
        dress(panel, grid="y")
        panel.set_ylim(*reach)
        panel.yaxis.set_major_locator(MaxNLocator(6, steps=[1, 2, 2.5, 5, 10]))
        panel.yaxis.set_major_formatter(FuncFormatter(_plain))
        _draw_setting(panel, found, setting)
        if not rows.leads(place):
            panel.tick_params(labelleft=False)
        else:
            _name_scale(panel, found.measure)
    _explain(ax, found)
    return ax


def _draw_setting(panel: Axes, found: ComparedSettings, setting: str) -> None:
    rows = found.means[found.means["setting"] == setting].to_dict("records")
    values = [row["value"] for row in rows]
    is_number = all(isinstance(value, int | float) for value in values)
    places = [float(value) for value in values] if is_number else np.arange(len(rows)).tolist()
    look = LOOKS["counted"]
    for place, row in zip(places, rows, strict=True):
        _draw_bar(panel, place, (row["shot_low"], row["shot_high"]), color=EDGE, capped=True)
        _draw_bar(panel, place, (row["ci_low"], row["ci_high"]), color=look.fill)
    panel.plot(
        places, [row["estimate"] for row in rows],
        linestyle="-" if is_number else "none", linewidth=0.8, color=look.fill,
        marker="D" if is_number else "o", markersize=4.6 if is_number else 5.6,
        markerfacecolor=PAPER if is_number else look.fill, markeredgecolor=look.fill,
        markeredgewidth=1.1, zorder=4,
    )  # fmt: skip
    _name_values(panel, places, rows, is_number=is_number)
    _head(panel, found, setting, is_number=is_number)


def _draw_bar(
    panel: Axes, place: float, ends: tuple[float, float], *, color: str, capped: bool = False
) -> None:
    """Draw an interval upright, thin and capped, or thick."""
    if not np.isfinite(ends).all():
        return
    style: dict[str, Any] = {"marker": "_", "markersize": 6} if capped else {}
    width = 0.9 if capped else 2.6
    panel.plot(
        (place, place),
        ends,
        color=color,
        linewidth=width,
        solid_capstyle="butt",
        zorder=2,
        **style,
    )


def _name_values(
    panel: Axes, places: Sequence[float], rows: Sequence[dict[Any, Any]], *, is_number: bool
) -> None:
    """Write values under their marks, as far as there is room, with their number of shots."""
    span = max(places) - min(places) or 1.0
    panel.set_xlim(min(places) - 0.12 * span - 0.2 * (not is_number), max(places) + 0.12 * span
                   + 0.2 * (not is_number))  # fmt: skip
    longest = max(_LETTERS // len(rows) - 1, 3)
    named: list[tuple[float, str]] = []
    for place, row in zip(places, rows, strict=True):
        if is_number and named and place - named[-1][0] < _CLOSE * span:
            continue
        value = f"{row['value']:g}" if is_number else drawable(str(row["value"]), longest=longest)
        named.append((place, f"{value}\nn {row['n_shots']}"))
    panel.xaxis.set_major_locator(FixedLocator([place for place, _ in named]))
    panel.set_xticks([place for place, _ in named], [text for _, text in named], parse_math=False)


def _head(panel: Axes, found: ComparedSettings, setting: str, *, is_number: bool) -> None:
    """Write the setting above its panel, and which of its levels stand apart."""
    unit = quantity(setting).unit if is_number else ""
    name = sentence_case(column_label(setting)) + (f" [{unit}]" if unit not in ("", "1") else "")
    look: dict[str, Any] = {"fontsize": MEDIUM_PT, "fontfamily": FAMILY, "pad": 12}
    panel.set_title(drawable(name), loc="left", parse_math=False, fontweight="bold", **look)
    above = shifted(panel, panel.transAxes, up_pt=3)
    letter(
        panel, 0, 1, _apart(found, setting, is_number=is_number), color=SOFT, va="bottom",
        transform=above,
    )  # fmt: skip


def _apart(found: ComparedSettings, setting: str, *, is_number: bool) -> str:
    """Return which levels stand apart, or why none may be read so, in a few words."""
    if setting in found.entangled:
        return f"or is it {drawable(column_label(found.entangled[setting]), longest=24)}?"
    if is_number:
        return "on the line or curve fitted"
    own = found.pairs[found.pairs["setting"] == setting]
    clear = own[own["p_tukey"] <= _SIGNIFICANT]
    pairs = zip(clear["first"].tolist(), clear["second"].tolist(), strict=True)
    words = [
        f"{drawable(str(one), longest=9)}–{drawable(str(two), longest=9)}" for one, two in pairs
    ]
    if not words:
        return "no pair set apart"
    more = f" and {len(words) - 2} more" if len(words) > 2 else ""
    return f"apart: {', '.join(words[:2])}{more}"


def _name_scale(panel: Axes, measure: str) -> None:
    look: dict[str, Any] = {"fontsize": MEDIUM_PT, "fontfamily": FAMILY}
    panel.set_ylabel(drawable(measure, longest=48), labelpad=4, parse_math=False, **look)


def _explain(ax: Axes, found: ComparedSettings) -> None:
    """Write how to read the figure along its foot."""
    whose = found.next_shot or "the next shot"
    text = f"Thick: 95 % interval of the mean; thin: where {whose} is expected (95 %); n: shots."
    foot = shifted(ax, ax.transAxes, right_pt=2, up_pt=2)
    letter(ax, 0, 0, text, color=SOFT, va="bottom", transform=foot)


def _reach(means: pd.DataFrame) -> tuple[float, float]:
    """Return the ends of the shared scale, everything inside."""
    names = ["estimate", "ci_low", "ci_high", "shot_low", "shot_high"]
    values = means[names].to_numpy(dtype=float)
    finite = values[np.isfinite(values)]
    if not finite.size:
        return 0.0, 1.0
    low, high = float(finite.min()), float(finite.max())
    margin = 0.05 * (high - low) or 1.0
    return low - margin, high + margin


def _rows(n_panels: int) -> PanelRows:
    return PanelRows(
        n_panels, _PANEL_MM, above_mm=11.0, below_mm=9.0, left_mm=17.0, gap_mm=4.0, foot_mm=5.0
    )


def _plain(value: float, _: int | None = None) -> str:
    return f"{value:.5g}".replace("-", MINUS)
