"""How much fits on two printed sides: the chart's height, columns, rows of the shot table.

A browser breaks lines, we only guess where; the guesses are generous, for Letter, which is
the shorter paper, and tests print the fullest pages we could think of.
"""

from __future__ import annotations

import math
from itertools import chain, combinations
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from yieldwright.review.sheet import Sheet
    from yieldwright.review.tables import SheetTable

__all__ = ["chart_height_mm", "parted", "rows_on_paper", "section_heights", "spills_over"]

#: More than the 255 mm of Letter: the other guesses err to the safe side by as much.
_FIRST_SIDE_MM, _SECOND_SIDE_MM = 257.0, 262.0
_LINE_MM = 4.6
_LARGE_LINE_MM = 6.3
_SMALL_LINE_MM = 3.6
_NOTE_LINE_MM = 3.3
_ROW_MM = 3.8
_GAP_MM = 0.7
_HEAD_MM = 21.0
_SECTION_MM = 7.0
_TIMELINE_MM = 46.0
_LEAST_CHART_MM, _MOST_CHART_MM = 55, 112
_LEAST_ROWS, _MOST_ROWS = 3, 30

#: Characters on a line: of the label, the conclusion, the first side and half of it, the
#: second side, half of it, and half of it in the smaller letters of notes.
_LABEL, _LARGE, _WHOLE, _HALF, _SMALL_WHOLE, _SMALL_HALF = 85, 82, 115, 54, 150, 68
_NOTE_HALF = 74

#: Characters in the first column of a table, and lines a row of three effects breaks into.
_FIRST_CELL = 13
_EFFECT_LINES = 1.9


def chart_height_mm(sheet: Sheet) -> int:
    """Return how high the chart may be for the first side to end on paper.

    Parameters
    ----------
    sheet : Sheet
        The texts around it.

    Returns
    -------
    int
        Between 55 and 112. [mm]
    """
    said = _height([sheet.conclusion], _LARGE, _LARGE_LINE_MM)
    said += _height([sheet.rests_on, *sheet.others], _WHOLE, _LINE_MM + 1)
    steps = _height(sheet.next_steps, _HALF, _LINE_MM)
    read = 2 * _LINE_MM + _height(sheet.read_sentences, _HALF + 8, _LINE_MM - 0.3)
    caption = _height([sheet.chart_caption], _WHOLE + 12, _LINE_MM - 0.3)
    label = _height([" ".join(text for _, text in sheet.label)], _LABEL, _LINE_MM)
    used = _HEAD_MM + label + said + max(steps, read) + caption + 3.5 * _SECTION_MM
    return int(min(max(_FIRST_SIDE_MM - used, _LEAST_CHART_MM), _MOST_CHART_MM))


def section_heights(sheet: Sheet) -> dict[str, float]:
    """Return the height of each section that stands in a column of the second side.

    Parameters
    ----------
    sheet : Sheet
        The texts.

    Returns
    -------
    dict of str to float
        By the section's name. [mm]
    """
    notes = _height(sheet.effect_notes[: sheet.notes_printed], _NOTE_HALF, _NOTE_LINE_MM)
    heights = {
        "effects": _table_mm(sheet.effects, _EFFECT_LINES) + notes,
        "settings": _table_mm(sheet.settings, 1.0),
        "open": _height(sheet.cannot_tell, _SMALL_HALF, _SMALL_LINE_MM),
        "bag": _height(sheet.bag[: sheet.bag_printed], _SMALL_HALF, _SMALL_LINE_MM),
        "spread": _height(sheet.spread[: sheet.spread_printed], _SMALL_HALF, _SMALL_LINE_MM),
        "care": _height((text for _, text in sheet.cautions), _SMALL_HALF, _SMALL_LINE_MM),
    }
    return {name: height + _SECTION_MM for name, height in heights.items() if height}


def parted(heights: Mapping[str, float]) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """Return the sections of two columns, as even as they can be; the first stays left.

    Parameters
    ----------
    heights : mapping of str to float
        Height of each section.

    Returns
    -------
    left, right : tuple of str
        Names in the order given.

    Examples
    --------
    >>> parted({"a": 60.0, "b": 50.0, "c": 20.0, "d": 20.0})
    (('a', 'c'), ('b', 'd'))
    """
    first, *others = heights
    choices = chain.from_iterable(combinations(others, n) for n in range(len(others) + 1))
    total = sum(heights.values())
    left = min(
        ((first, *chosen) for chosen in choices),
        key=lambda names: abs(2 * sum(heights[name] for name in names) - total),
    )
    return left, tuple(name for name in others if name not in left)


def rows_on_paper(sheet: Sheet) -> int:
    """Return how many rows of the shot table fit above the rest of the second side.

    Parameters
    ----------
    sheet : Sheet
        The texts below it, with the sections of its columns.

    Returns
    -------
    int
        Between 3 and 30.
    """
    return int(min(max(_room_for_rows(sheet), _LEAST_ROWS), _MOST_ROWS))


def spills_over(sheet: Sheet) -> bool:
    """Return whether a third side is to be feared, with as few rows as are always printed.

    Parameters
    ----------
    sheet : Sheet
        The texts, with the sections of its columns.

    Returns
    -------
    bool
    """
    return _room_for_rows(sheet) < _LEAST_ROWS


def _room_for_rows(sheet: Sheet) -> float:
    """Return how many rows of the shot table have room, below 0 where even the rest has none."""
    heights = section_heights(sheet)
    columns = max(sum(heights[name] for name in column) for column in sheet.columns)
    below = (sheet.safety, *sheet.how_read, sheet.reproducibility)
    used = columns + 3 + _height(below, _SMALL_WHOLE, _SMALL_LINE_MM)
    used += _height([sheet.timeline_caption], _SMALL_WHOLE, _SMALL_LINE_MM + 1)
    used += _TIMELINE_MM + _SECTION_MM + 4 * _SMALL_LINE_MM
    return (_SECOND_SIDE_MM - used) / _ROW_MM


def _height(texts: Iterable[str], per_line: int, line_mm: float) -> float:
    """Return the height of paragraphs."""
    said = [text for text in texts if text]
    lines = sum(math.ceil(len(text) / per_line) for text in said)
    return lines * line_mm + len(said) * _GAP_MM


def _table_mm(table: SheetTable | None, lines_a_row: float) -> float:
    if table is None:
        return _SMALL_LINE_MM
    words = _height([table.caption, table.print_remark], _SMALL_HALF, _SMALL_LINE_MM)
    lines = sum(max(math.ceil(len(row[0]) / _FIRST_CELL), lines_a_row) for row in table.rows)
    return words + (lines + 2) * _SMALL_LINE_MM
