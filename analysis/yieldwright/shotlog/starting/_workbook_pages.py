"""The sheets of an empty workbook that are for reading: guidance, dictionary, example."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from yieldwright.glossary import SHOT_QUANTITIES, TASTING_QUANTITIES
from yieldwright.safety import DEFERENCE, notices
from yieldwright.shotlog.starting.dictionary import DICTIONARY_HEAD, dictionary_rows
from yieldwright.shotlog.workbooks.markup import FormSheet

if TYPE_CHECKING:
    from yieldwright.bench import Bench
    from yieldwright.shotlog.starting.columns import StartingColumn

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


def guidance_sheet() -> FormSheet:
    """Return how to keep the log, and the usual cautions."""
    guidance = [" ".join(paragraph.split()) for paragraph in _GUIDANCE.split("\n\n")]
    safety = (*(notice.sentence for notice in notices()), DEFERENCE)
    texts = ["How to keep this log", *guidance, "", "Mind yourself", *safety]
    heads = frozenset({1, len(guidance) + 3})
    rows = [[text] for text in texts]
    return FormSheet("read me", rows, [96.0], heads=heads, is_wrapped=True)


def dictionary_sheet(bench: Bench) -> FormSheet:
    """Return what each column means, those of shots first."""
    head = ("Sheet", *DICTIONARY_HEAD, "Source of the ranges")
    told = [("shots", row) for row in dictionary_rows(SHOT_QUANTITIES, bench=bench)]
    told += [("tastings", row) for row in dictionary_rows(TASTING_QUANTITIES, bench=bench)]
    rows = [
        (
            *(sheet, row.name, row.unit, row.meaning, row.example),
            *(row.hard, row.soft, row.computed, row.source),
        )
        for sheet, row in told
    ]
    widths = (10, 20, 11, 60, 24, 17, 17, 10, 44)
    return FormSheet("dictionary", [head, *rows], widths, frozen="C2", is_wrapped=True)


def example_sheet(columns: Sequence[StartingColumn], widths: Sequence[float]) -> FormSheet:
    """Return two shots as they might be typed, on a sheet that is not read."""
    rows = [
        [column.header for column in columns],
        [_as_typed(column, column.example) for column in columns],
        [_as_typed(column, column.failed) for column in columns],
    ]
    return FormSheet("example", rows, widths, frozen="B2")


def _as_typed(column: StartingColumn, text: str) -> str:
    """Return a moment as a spreadsheet shows it; all else as it stands."""
    return text[:16].replace("T", " ") if column.entry.kind == "moment" else text
