"""The strength/extraction chart as plain text, for a terminal or a README."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import numpy as np

from yieldwright.chart.frame import ChartFrame, chart_frame
from yieldwright.chart.ratio import pick_ratios, ratio_lines, strength_on_line
from yieldwright.chart.regions import REGIONS, region
from yieldwright.formatting import count

if TYPE_CHECKING:
    import pandas as pd

    from yieldwright.bench import Window
    from yieldwright.chart.placement import Placement

__all__ = ["TEXT_MARKS", "text_chart"]

#: Each mark points the way the shot missed; strength is told only where extraction is right.
TEXT_MARKS = {
    each.code: {-1: "<", 1: ">"}.get(each.right) or {-1: "v", 0: "●", 1: "^"}[each.up]
    for each in REGIONS
}
_MEANING = {
    "●": "on target",
    "<": "under-extracted",
    ">": "over-extracted",
    "^": "strong",
    "v": "weak",
}
_GUTTER = 6
_MARGIN = 6


@dataclass(slots=True)
class _Sheet:
    """Rows of characters in a frame, the first row on top, and labels beside and above it."""

    frame: ChartFrame
    width: int
    height: int
    rows: list[list[str]] = field(init=False)
    beside: dict[int, str] = field(default_factory=dict)
    above: dict[int, str] = field(default_factory=dict)

    def __post_init__(self) -> None:
        self.rows = [[" "] * self.width for _ in range(self.height)]

    def column(self, ey_pct: float) -> int:
        """Return the column a yield falls in."""
        left, right = self.frame.ey_limits
        return min(int((ey_pct - left) / (right - left) * self.width), self.width - 1)

    def middle(self, column: int) -> float:
        """Return the yield in the middle of a column."""
        left, right = self.frame.ey_limits
        return left + (column + 0.5) * (right - left) / self.width

    def row(self, tds_pct: float) -> int:
        """Return the row a strength falls in."""
        bottom, top = self.frame.tds_limits
        return min(int((top - tds_pct) / (top - bottom) * self.height), self.height - 1)

    def write(self, row: int, column: int, words: str) -> None:
        """Put words in a row, cut where the row ends."""
        for offset, character in enumerate(words):
            if 0 <= column + offset < self.width and 0 <= row < self.height:
                self.rows[row][column + offset] = character


def text_chart(placement: Placement, width: int = 64, height: int = 20) -> str:
    """Return the chart as text: regions, ratio lines and a mark per shot.

    Parameters
    ----------
    placement : Placement
        Shots placed on the chart.
    width : int
        Characters per line, at least 48.
    height : int
        Lines of the chart itself, at least 10; axis and key follow.

    Returns
    -------
    str
        Lines without trailing blanks. A digit stands for that many shots in one place,
        # for ten or more.

    Examples
    --------
    >>> import pandas as pd
    >>> from yieldwright.bench import Window
    >>> from yieldwright.chart.placement import place_shots
    >>> shots = pd.DataFrame({"tds_pct": [9.0, 9.1], "ey_pct": [19.0, 24.0]})
    >>> print(text_chart(place_shots(shots, Window())).splitlines()[-1].strip())
    ● on target 1   > over-extracted 1
    """
    frame = chart_frame(placement.placed, placement.window)
    sheet = _Sheet(frame, max(width, 48) - _GUTTER - _MARGIN, max(height, 10))
    _draw_ratios(sheet)
    _draw_window(sheet, placement.window)
    _draw_words(sheet, placement.window)
    _draw_shots(sheet, placement)
    lines = [*_framed(sheet), *_key(sheet, placement.placed)]
    return "\n".join(line.rstrip() for line in lines) + "\n"


def _draw_ratios(sheet: _Sheet) -> None:
    """Draw each ratio line as dots; its label stands where it leaves the frame."""
    frame = sheet.frame
    lines = ratio_lines(
        frame.ey_limits, frame.tds_limits, pick_ratios(frame.ey_limits, frame.tds_limits, most=4)
    )
    for line in lines.to_dict("records"):
        for column in range(sheet.column(line["ey_from"]), sheet.column(line["ey_to"]) + 1):
            ey_pct = min(max(sheet.middle(column), line["ey_from"]), line["ey_to"])
            row = sheet.row(strength_on_line(ey_pct, brew_ratio=line["brew_ratio"]))
            sheet.write(row, column, "·")
        if line["edge"] == "top":
            sheet.above[sheet.column(line["ey_to"])] = line["label"]
        else:
            sheet.beside[sheet.row(line["tds_to"])] = line["label"]


def _draw_window(sheet: _Sheet, window: Window) -> None:
    rows = [sheet.row(edge) for edge in (window.strength_low_pct, window.strength_high_pct)]
    columns = [sheet.column(edge) for edge in (window.yield_low_pct, window.yield_high_pct)]
    for row in rows:
        sheet.write(row, 0, "╌" * sheet.width)
    for row in range(sheet.height):
        for column in columns:
            sheet.write(row, column, "┼" if row in rows else "╎")


def _draw_words(sheet: _Sheet, window: Window) -> None:
    """Write each region's words in its outer left corner, as many as fit."""
    edges = [sheet.column(x) for x in (window.yield_low_pct, window.yield_high_pct)]
    starts, ends = [0, edges[0] + 1, edges[1] + 1], [*edges, sheet.width]
    upper_edge = sheet.row(window.strength_high_pct) + 1
    for each in REGIONS:
        start = starts[each.right + 1]
        lines = _fitting(each.label, ends[each.right + 1] - start)
        first = {1: 0, 0: upper_edge, -1: sheet.height - len(lines)}[each.up]
        for offset, words in enumerate(lines):
            sheet.write(first + offset, start, words)


def _fitting(label: str, width: int) -> list[str]:
    """Return a label in the widest of its forms that fits a width."""
    short = label.replace("-extracted", "")
    for lines in ([label], label.split(", "), [short], short.split(", ")):
        if all(len(words) + 2 <= width for words in lines):
            return [f" {words} " for words in lines]
    return []


def _draw_shots(sheet: _Sheet, placement: Placement) -> None:
    placed, window = placement.placed, placement.window
    shown = placed[~placed["shot"].isin(sheet.frame.outside)]
    edges = [sheet.column(x) for x in (window.yield_low_pct, window.yield_high_pct)]
    levels = [sheet.row(y) for y in (window.strength_low_pct, window.strength_high_pct)]
    marks: dict[tuple[int, int], list[str]] = {}
    for shot in shown.to_dict("records"):
        where = region(shot["region"])
        row = _off_border(sheet.row(shot["tds_pct"]), levels, -where.up)
        column = _off_border(sheet.column(shot["ey_pct"]), edges, where.right)
        marks.setdefault((row, column), []).append(TEXT_MARKS[where.code])
    for (row, column), together in marks.items():
        several = str(len(together)) if len(together) < 10 else "#"
        sheet.write(row, column, together[0] if len(together) == 1 else several)


def _off_border(place: int, borders: list[int], side: int) -> int:
    """Return a row or column moved off a border, to the side the shot lies on."""
    if place not in borders:
        return place
    inward = 1 if place == min(borders) else -1
    return place + (side or inward)


def _framed(sheet: _Sheet) -> list[str]:
    """Return the sheet with its two axes and the ratios at the ends of their lines."""
    up = {sheet.row(y): f"{y:g}" for y in _ticks(sheet.frame.tds_limits, sheet.height // 4)}
    across = {sheet.column(x): f"{x:g}" for x in _ticks(sheet.frame.ey_limits, sheet.width // 9)}
    lines = [
        f"{up.get(row, ''):>{_GUTTER - 2}} {'┤' if row in up else '│'}"
        f"{''.join(cells)} {sheet.beside.get(row, '')}"
        for row, cells in enumerate(sheet.rows)
    ]
    axis = "".join("┬" if column in across else "─" for column in range(sheet.width))
    name = "extraction yield, % by mass"
    return [
        _spread(sheet, {-len("strength, %") // 2: "strength, %", **sheet.above}),
        *lines,
        f"{'└':>{_GUTTER}}{axis}",
        _spread(sheet, across),
        f"{name:>{sheet.width + _GUTTER}}",
    ]


def _spread(sheet: _Sheet, labels: dict[int, str]) -> str:
    """Return a line of labels, each centred over its column."""
    line = [" "] * (sheet.width + _GUTTER + _MARGIN)
    for column, label in labels.items():
        start = max(column + _GUTTER - len(label) // 2, 0)
        line[start : start + len(label)] = label
    return "".join(line)


def _ticks(limits: tuple[float, float], most: int) -> list[float]:
    """Return round numbers inside limits, at most so many."""
    span = limits[1] - limits[0]
    steps = (factor * 10.0**power for power in range(-3, 4) for factor in (1, 2, 5))
    step = next(each for each in steps if span / each <= most)
    first, last = int(np.ceil(limits[0] / step)), int(np.floor(limits[1] / step))
    return [round(step * n, 6) for n in range(first, last + 1)]


def _key(sheet: _Sheet, placed: pd.DataFrame) -> list[str]:
    """Return what the marks mean and how many shots each stands for."""
    counts = Counter(TEXT_MARKS[region(code).code] for code in placed["region"])
    parts = [f"{mark} {words} {counts[mark]}" for mark, words in _MEANING.items() if counts[mark]]
    notes = ["a digit: that many shots in one place"] if _has_digit(sheet) else []
    if sheet.frame.outside:
        notes.append(f"{count(len(sheet.frame.outside), 'shot')} beyond the frame")
    return [*(" " * _GUTTER + note for note in notes), *_wrapped(parts, sheet.width + _MARGIN)]


def _wrapped(parts: list[str], width: int) -> list[str]:
    """Return parts side by side on as few lines of a width as hold them."""
    lines = [""]
    for part in parts:
        joined = f"{lines[-1]}   {part}" if lines[-1] else part
        if len(joined) > width:
            lines.append(part)
        else:
            lines[-1] = joined
    return [" " * _GUTTER + line for line in lines]


def _has_digit(sheet: _Sheet) -> bool:
    """Return whether somewhere in the frame a digit stands for several shots."""
    return any(cell.isdigit() or cell == "#" for row in sheet.rows for cell in row)
