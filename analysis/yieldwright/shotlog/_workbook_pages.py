"""The sheets of a workbook that are for reading, and how their cells are written."""

from __future__ import annotations

import textwrap
from collections.abc import Sequence
from typing import TYPE_CHECKING

from yieldwright.formatting import visible
from yieldwright.glossary import SHOT_QUANTITIES, TASTING_QUANTITIES
from yieldwright.safety import DEFERENCE, notices
from yieldwright.shotlog.cell_rules import AS_TEXT
from yieldwright.shotlog.dictionary import DICTIONARY_HEAD, dictionary_rows

if TYPE_CHECKING:
    from openpyxl.cell import Cell
    from openpyxl.worksheet.worksheet import Worksheet

    from yieldwright.bench import Bench

_LINE_PT = 15.0  # height of one line
_HEAD_SHADE = "FFE4E9EC"
_GUIDANCE = """\
One row for each shot on the sheet “shots”; warm-ups and failures too, for without them the
spread looks smaller than it is. Weigh the cup that the strength is read on.

Where several people taste, one row for each score on the sheet “tastings”; it may stay empty.
The other sheets are not read.

Select a cell to see what belongs there. What cannot be right is stopped; a shaded cell is
taken, but unusual. Leave a cell empty where nothing was measured.

Columns may be moved or deleted, and others added from the sheet “dictionary” by their name in
the first row. Codes, not names, for people.

Numbers take the decimal mark of this spreadsheet, 18.5 or 18,5. The other mark would make 18.5
a day in May: the range of the column stops that.

Shots, bags, codes, times and grinder settings are kept as text on purpose: else 007 would
become 7, 0:36 a time of day and 3.5 a day in May.

Days are shown year first, so that you see how they were taken. Times are those of the bench's
clock; its offset from UTC stands in bench.toml as time_zone_offset.

When pasting, paste values only: a plain paste brings its own formats and passes by lists and
ranges. Type no formulas where a measurement belongs.

Save as a workbook (.xlsx), and let the command “yieldwright check” tell what was read."""


def write_text(cell: Cell, text: str) -> None:
    """Write a text as text, whatever it begins with: none becomes a formula."""
    from openpyxl.cell.cell import ILLEGAL_CHARACTERS_RE

    cell.number_format = AS_TEXT
    if text:
        cell.value = ILLEGAL_CHARACTERS_RE.sub(lambda found: visible(found[0]), text)
        cell.data_type = "s"


def write_head(cell: Cell, text: str) -> None:
    from openpyxl.styles import Font, PatternFill

    write_text(cell, text)
    cell.font = Font(name="Calibri", size=11, bold=True)
    cell.fill = PatternFill("solid", start_color=_HEAD_SHADE, end_color=_HEAD_SHADE)


def _write_row(sheet: Worksheet, row: int, texts: Sequence[str]) -> None:
    """Write texts side by side, wrapped, in a row high enough for the longest."""
    from openpyxl.styles import Alignment

    lines = 1
    for at, text in enumerate(texts, start=1):
        cell = sheet.cell(row, at)
        write_text(cell, text)
        cell.alignment = Alignment(wrap_text=True, vertical="top")
        room = sheet.column_dimensions[cell.column_letter].width - 2
        lines = max(lines, len(textwrap.wrap(text, int(room))))
    sheet.row_dimensions[row].height = _LINE_PT * lines


def write_guidance(sheet: Worksheet) -> None:
    sheet.column_dimensions["A"].width = 96
    safety = (*(notice.sentence for notice in notices()), DEFERENCE)
    write_head(sheet["A1"], "How to keep this log")
    guidance = [" ".join(paragraph.split()) for paragraph in _GUIDANCE.split("\n\n")]
    for row, text in enumerate(guidance, start=2):
        _write_row(sheet, row, [text])
    head = len(guidance) + 3
    write_head(sheet.cell(head, 1), "Mind yourself")
    for row, text in enumerate(safety, start=head + 1):
        _write_row(sheet, row, [text])


def write_dictionary(sheet: Worksheet, bench: Bench) -> None:
    """Write what each column means, those of shots first."""
    head = ("Sheet", *DICTIONARY_HEAD, "Source of the ranges")
    widths = (10, 20, 11, 60, 24, 17, 17, 10, 44)
    for at, (text, width) in enumerate(zip(head, widths, strict=True), start=1):
        write_head(sheet.cell(1, at), text)
        sheet.column_dimensions[sheet.cell(1, at).column_letter].width = width
    rows = [("shots", row) for row in dictionary_rows(SHOT_QUANTITIES, bench=bench)]
    rows += [("tastings", row) for row in dictionary_rows(TASTING_QUANTITIES, bench=bench)]
    for at, (name, row) in enumerate(rows, start=2):
        cells = (
            *(name, row.name, row.unit, row.meaning, row.example),
            *(row.hard, row.soft, row.computed, row.source),
        )
        _write_row(sheet, at, cells)
    sheet.freeze_panes = "C2"
