"""Workbooks with one trap each, and what must become of them.

`CELLS` are single cells: what the file stores, and the text that a person sees or typed.
`SHEETS` are whole sheets: which rows are shots, set aside or listed.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from tests.shotlog.workbooks import (
    HEAD,
    MAIN,
    SHOTS,
    Cell,
    formula,
    number,
    packed,
    parts,
    relations_xml,
    rich,
    row_xml,
    several,
    sheet_xml,
    workbook,
)
from tests.traps.trap import Trap, expecting, written_as


@dataclass(frozen=True)
class Shown:
    """One cell as stored, and the text that a person sees or typed."""

    name: str
    stored: Any
    text: str


CELLS = (
    Shown("a whole number", number("18"), "18"),
    Shown("a whole number stored with a point", number("18.0"), "18"),
    Shown("a decimal in seventeen digits", number("18.100000000000001"), "18.1"),
    Shown("what arithmetic left", number("9.1000000000000014"), "9.100000000000001"),
    Shown("the sum of 0.1 and 0.2", number("0.30000000000000004"), "0.30000000000000004"),
    Shown("a very small number", number("1E-3"), "0.001"),
    Shown("an exponent", number("1.8e1"), "18"),
    Shown("a number of eighteen digits", number("900719925474099312"), "900719925474099312"),
    Shown("a negative number", number("-3.5"), "-3.5"),
    Shown("a number rounded for display", number("18.26", "red"), "18.26"),
    Shown("a number in scientific notation", number("18.5", "science"), "18.5"),
    Shown("a number that is none", number("abc"), "abc"),
    Shown("a number beyond all numbers", number("1e400"), "1e400"),
    Shown("no number by underscores", number("1_8"), "1_8"),
    Shown("a percentage", number("0.091", "percent"), "9.1%"),
    Shown("a percentage of arithmetic", number("9.0999999999999998E-2", "percent"), "9.1%"),
    Shown("a whole percentage", number("0.1", "percent"), "10%"),
    Shown("a percent sign that is only written", number("9.1", "percent sign"), "9.1 %"),
    Shown("ounces by format", number("0.63", "ounces"), "0.63 oz"),
    Shown("degrees Fahrenheit by format", number("199", "degrees"), "199 °F"),
    Shown("grams in a wide format", number("18.5", "accounting"), "18.5 g"),
    Shown("a word in the format that is no unit", number("18", "clicks"), "18"),
    Shown("leading zeros by format", number("7", "code"), "007"),
    Shown("a number kept as text by format", number("18.5", "text"), "18.5"),
    Shown("a day", number("46088", "day"), "2026-03-07"),
    Shown("a day with a hidden time", number("46088.434027777781", "day"), "2026-03-07T10:25"),
    Shown("a moment", number("46088.434027777781", "moment"), "2026-03-07T10:25"),
    Shown("a moment at midnight", number("46088", "moment"), "2026-03-07T00:00"),
    Shown("a moment with seconds", number("46088.434375", "moment"), "2026-03-07T10:25:30"),
    Shown(
        "a time of day that hides its day", number("46088.4340277777", "clock"), "2026-03-07T10:25"
    ),
    Shown("18.5 made the 18th of May", number("46160", "day and month"), "2026-05-18"),
    Shown("a day in a long format", number("46088", "long day"), "2026-03-07"),
    Shown("0:36 made 36 minutes", number("2.5000000000000001E-2", "clock"), "00:36:00"),
    Shown("an afternoon", number("0.60416666666666663", "afternoon"), "14:30:00"),
    Shown(
        "36 seconds as minutes and seconds", number("4.1666666666666669E-4", "minutes"), "00:36"
    ),
    Shown("half a second", number("4.2245370370370371E-4", "minutes"), "00:36.5"),
    Shown("over an hour as minutes", number("0.05", "minutes"), "01:12:00"),
    Shown("a duration", number("2.5000000000000001E-2", "elapsed"), "00:36:00"),
    Shown("a duration over a day", number("1.25", "elapsed"), "30:00:00"),
    Shown("a duration over a day as a time", number("1.25", "clock"), "30:00:00"),
    Shown("elapsed seconds", number("4.1666666666666669E-4", "elapsed seconds"), "36 s"),
    Shown("a day before the leap that never was", number("59", "day"), "1900-02-28"),
    Shown("the leap day that never was", number("60", "day"), "1900-02-29"),
    Shown("a day after the leap that never was", number("61", "day"), "1900-03-01"),
    Shown("a negative day", number("-1", "day"), "-1"),
    Shown("a day beyond the calendar", number("99999999", "day"), "99999999"),
    Shown("a day stored as text", Cell("<v>2026-03-07T00:00:00</v>", "d"), "2026-03-07"),
    Shown(
        "a moment stored as text", Cell("<v>2026-03-07T10:25:30Z</v>", "d"), "2026-03-07T10:25:30"
    ),
    Shown("yes", Cell("<v>1</v>", "b"), "yes"),
    Shown("no", Cell("<v>0</v>", "b"), "no"),
    Shown("an error", Cell("<v>#DIV/0!</v>", "e"), "#DIV/0!"),
    Shown("a text with a decimal comma", "18,5", "18,5"),
    Shown("a text that looks like a formula", "=1+1", "=1+1"),
    Shown("a text of figures", "007", "007"),
    Shown("blanks around a text", "  x ", "  x "),
    Shown("a text of two lines", "one\ntwo", "one\ntwo"),
    Shown("a text of several fonts", rich("sweet, ", "long"), "sweet, long"),
    Shown("a carriage return written as a code", "one_x000D_\ntwo", "one\r\ntwo"),
    Shown("a code that was meant as letters", "_x005F_x0041_", "_x0041_"),
    Shown("half a character written as a code", "_xD83D_", "_xD83D_"),
    Shown("a character beyond the first plane", "_xD83D__xDE00_", "\N{GRINNING FACE}"),
    Shown("markup in a text", "<b>&amp;</b>", "<b>&amp;</b>"),
    Shown("a shared text", Cell("<v>0</v>", "s"), "shared"),
    Shown("a shared text of several fonts", Cell("<v>1</v>", "s"), "sweet, long"),
    Shown("a formula with a value", formula("B2/C2", "2.5"), "2.5"),
    Shown("a formula with a text", formula("A2", "thin", "str"), "thin"),
    Shown("a formula with an empty text", formula('IF(A2="","","x")', "", "str"), ""),
    Shown("a formula with an error", formula("B2/0", "#DIV/0!", "e"), "#DIV/0!"),
    Shown("a formula with yes", formula("B2>1", "1", "b"), "yes"),
    Shown("a formula without a value", formula("B2/C2"), "=B2/C2"),
    Shown("a formula with an empty number", Cell("<f>B2/C2</f><v></v>"), "=B2/C2"),
    Shown("a formula that calls a program", formula("cmd|'/C calc'!A0"), "=cmd|'/C calc'!A0"),
    Shown("a formula that reads a file", formula("'[b.xlsx]S'!A1"), "='[b.xlsx]S'!A1"),
    Shown("an array formula", Cell('<f t="array" ref="A2">B2:B3</f><v>4</v>'), "4"),
    Shown("a shared formula", Cell('<f t="shared" si="0" ref="A2:A3">B2</f><v>4</v>'), "4"),
    Shown("a copy without a value", Cell('<f t="shared" si="9"/>'), "="),
    Shown("an empty cell with a style", Cell("", "", "day"), ""),
)
SHARED = (
    "<si><t>shared</t></si>"
    "<si><r><t xml:space='preserve'>sweet, </t></r><r><t>long</t></r><rPh><t>spoken</t></rPh></si>"
)


def one_cell(stored: Any) -> bytes:
    """Return a workbook with one cell below a header of no meaning."""
    return packed(parts(sheet_xml([["notes", "shot"], [stored, "a"]]), texts=SHARED))


def trap(name: str, content: bytes, shots: str = "", *cells: Any, **told: Any) -> Trap:
    """Return a workbook, and what must become of it."""
    source = written_as("shots.xlsx", content)
    return expecting(f"workbooks/{name}", source, shots, *cells, **told)


SHEETS = (
    trap(
        "plain",
        workbook(SHOTS),
        "a b",
        {("b", "dose_g"): 18.1, ("b", "notes"): "sweet", ("b", "line"): 3},
        remark="a workbook, sheet “Sheet1”",
    ),
    trap(
        "title rows, one merged",
        workbook(
            [["My log"], ["spring", None, None, None, None, None, "far right"], [], *SHOTS],
            merges=["A1:E1"],
        ),
        "a b",
        {("a", "line"): 5},
        listed={"title": 2, "blank": 1},
    ),
    trap(
        "rows missing in the file count as blank",
        workbook({1: HEAD, 2: ["a", 18, 36, 30], 6: ["b", 18, 37, 30]}),
        "a b",
        {("b", "line"): 6},
        listed={"blank": 3},
    ),
    trap(
        "a table that starts at C3",
        workbook({n: [None, None, *row] for n, row in enumerate(SHOTS, start=3)}),
        "a b",
        {("a", "line"): 4, ("a", "dose_g"): 18},
        listed={"blank": 2},
    ),
    trap(
        "formatted rows below the table are not of it",
        workbook({**dict(enumerate(SHOTS, start=1)), 90: [Cell("", "", "day")]}),
        "a b",
    ),
    trap(
        "a row of units",
        workbook([HEAD, [None, "g", "g", "s"], *SHOTS[1:]]),
        "a b",
        listed={"units": 1},
    ),
    trap(
        "a repeated header",
        workbook([*SHOTS, HEAD, ["c", 18, 38, 30]]),
        "a b c",
        listed={"repeated header": 1},
    ),
    trap(
        "a comment",
        workbook([*SHOTS, ["# new bag"]]),
        "a b",
        listed={"comment": 1},
    ),
    trap(
        "hidden rows are read",
        workbook(SHOTS, hidden=[2, 3]),
        "a b",
        remark="2 rows hidden by hand are read like all others, first row 2",
    ),
    trap(
        "filtered rows are read",
        workbook(
            SHOTS,
            hidden=[2],
            after='<autoFilter ref="A1:E3"><filterColumn colId="0"><filters><filter val="b"/>'
            "</filters></filterColumn></autoFilter>",
        ),
        "a b",
        remark="1 row hidden by a filter or by hand is read",
    ),
    trap(
        "hidden columns are read",
        workbook(SHOTS, before='<cols><col min="2" max="3" hidden="1"/></cols>'),
        "a b",
        {("a", "dose_g"): 18},
        remark="2 hidden columns are read like all others: B and C",
    ),
    trap(
        "an empty column inside the table",
        workbook([["shot", None, "dose_g"], ["a", None, 18]]),
        "a",
        {("a", "dose_g"): 18},
    ),
    trap(
        "a stray value right of the table shifts nothing",
        workbook([HEAD, ["a", 18, 36, 30, "x", "again?"], ["b", 18, 36.5, 31]]),
        "a b",
        {("a", "dose_g"): 18, ("b", "beverage_g"): 36.5},
        remark="column F has no header and holds 1 cell, first F2: kept as text in “column 6”",
    ),
    trap(
        "a bag merged over its shots",
        workbook([["shot", "bag"], ["a", "washed"], ["b"], [], ["c", "dry"]], merges=["B2:B4"]),
        "a b c",
        {("a", "bag"): "washed", ("b", "bag"): "washed", ("c", "bag"): "dry"},
        listed={"blank": 1},
        remark="the value of 1 merged range was given to each of its rows: B2:B4",
    ),
    trap(
        "a merged value that hides another one",
        workbook([["shot", "bag"], ["a", "washed"], ["b", "dry"]], merges=["B2:B3"]),
        "a",
        aside=((3, "“washed” is merged over B2:B3 and hides “dry”", "unmerge"),),
    ),
    trap(
        "cells merged across a row of data",
        workbook([HEAD, ["a", 18, None, 30], ["b", 18, 36.5, 31]], merges=["B2:C2"]),
        "b",
        aside=((2, "“18” is merged over the cells B2:C2", "unmerge the cells"),),
    ),
    trap(
        "a merged heading between shots",
        workbook([*SHOTS, ["Saturday"], ["c", 18, 38, 30]], merges=["A4:E4"]),
        "a b c",
        listed={"title": 1},
    ),
    trap(
        "a header of two rows",
        workbook(
            [["shot", "weights"], [None, "dose_g", "beverage_g"], ["a", 18, 36]],
            merges=["A1:A2", "B1:C1"],
        ),
        "a",
        {("a", "dose_g"): 18, ("a", "beverage_g"): 36},
        listed={"title": 1},
    ),
    trap(
        "a name merged into the row of units",
        workbook([["shot", "dose_g"], [None, "g"], ["a", 18]], merges=["A1:A2"]),
        "a",
        listed={"units": 1},
    ),
    trap(
        "merged empty cells mean nothing",
        workbook([HEAD, ["a", 18, 36, 30], ["b", 18, 37, 31]], merges=["E2:F2", "E3:E9"]),
        "a b",
    ),
    trap(
        "a percentage",
        workbook([["shot", "tds_pct"], ["a", number("0.091", "percent")]]),
        "a",
        {("a", "tds_pct"): 9.1},
    ),
    trap(
        "ounces by format",
        workbook([["shot", "dose_g"], ["a", number("0.63", "ounces")]]),
        "a",
        {("a", "dose_g"): 0.63 * 28.349523125},
    ),
    trap(
        "stored numbers beside written decimal commas",
        workbook([["shot", "dose_g", "beverage_g"], ["a", 18.5, "36,5"], ["b", 18.25, "36,25"]]),
        "a b",
        {("a", "dose_g"): 18.5, ("a", "beverage_g"): 36.5, ("b", "dose_g"): 18.25},
    ),
    trap(
        "0:36 stored as 36 minutes",
        workbook([["shot", "time_s"], ["a", number("0.025", "clock")]]),
        aside=((2, "may be hours or minutes", "00:36:00 → 36?"),),
    ),
    trap(
        "36 s stored as minutes and seconds",
        workbook([["shot", "time_s"], ["a", number("4.1666666666666669E-4", "minutes")]]),
        "a",
        {("a", "time_s"): 36},
    ),
    trap(
        "1:2 stored as a time",
        workbook([["shot", "brew_ratio"], ["a", number("4.3055555555555562E-2", "clock")]]),
        aside=((2, "time of day", "1:2?"),),
    ),
    trap(
        "18.5 stored as a day",
        workbook([["shot", "grind_setting"], ["a", number("46160", "day and month")]]),
        aside=((2, "", "18.5?"),),
    ),
    trap(
        "days and moments",
        workbook(
            [
                ["shot", "pulled_at", "roasted_on"],
                ["a", number("46088.434027777781", "moment"), number("46078", "day")],
            ]
        ),
        "a",
        {("a", "pulled_at"): "2026-03-07T10:25Z", ("a", "roasted_on"): "2026-02-25"},
    ),
    trap(
        "days counted from 1904",
        packed(
            parts(
                sheet_xml([["shot", "roasted_on"], ["a", number("44626", "day")]]),
                settings='<workbookPr date1904="1"/>',
            )
        ),
        "a",
        {("a", "roasted_on"): "2026-03-07"},
        remark="counted from 1904",
    ),
    trap(
        "formulas with values",
        workbook([["shot", "dose_g"], ["a", formula("18+0.5", 18.5)], ["b", formula("18", 18)]]),
        "a b",
        {("a", "dose_g"): 18.5},
        remark="2 formulas, first B2: the values stored in the file are used",
    ),
    trap(
        "a formula without a value",
        workbook([["shot", "dose_g"], ["a", formula("17+1")], ["b", 18]]),
        "a b",
        {("a", "dose_g"): None},
        flags=(("a", "dose_g", "a formula without a stored value; taken as missing"),),
        remark="1 formula without a stored value, first B2: open the workbook",
    ),
    trap(
        "an error in a number",
        workbook([["shot", "dose_g"], ["a", Cell("<v>#REF!</v>", "e")], ["b", 18]]),
        "a b",
        {("a", "dose_g"): None},
        flags=(("a", "dose_g", "taken as missing"),),
        remark="1 cell with an error such as #DIV/0!, first B2",
    ),
    trap(
        "text stays text",
        workbook([["shot", "bag"], ["007", "NA"], ["1E5", "None"], [number(7, "code"), "-"]]),
        "007 1E5",
        {("007", "bag"): "NA", ("1E5", "bag"): "None"},
        aside=((4, "007", ""),),
    ),
    trap(
        "yes and no",
        workbook([["shot", "filtered"], ["a", Cell("<v>1</v>", "b")], ["b", "no"]]),
        "a b",
        {("a", "filtered"): True, ("b", "filtered"): False},
    ),
    trap(
        "cells and rows that do not say where they are",
        packed(
            parts(
                f'<worksheet xmlns="{MAIN}"><sheetData>'
                "<row><c t='inlineStr'><is><t>shot</t></is></c>"
                "<c t='inlineStr'><is><t>dose_g</t></is></c></row>"
                "<row><c t='inlineStr'><is><t>a</t></is></c><c><v>18</v></c></row>"
                "</sheetData></worksheet>"
            )
        ),
        "a",
        {("a", "dose_g"): 18},
    ),
    trap(
        "cells out of their order",
        packed(
            parts(
                f'<worksheet xmlns="{MAIN}"><sheetData>{row_xml(1, ["shot", "dose_g"])}'
                '<row r="2"><c r="B2"><v>18</v></c><c r="A2"><v>7</v></c></row>'
                "</sheetData></worksheet>"
            )
        ),
        "7",
        {("7", "dose_g"): 18},
    ),
    trap(
        "every element with a prefix",
        packed(
            parts(
                f'<x:worksheet xmlns:x="{MAIN}"><x:sheetData><x:row r="1">'
                '<x:c r="A1" t="s"><x:v>0</x:v></x:c><x:c r="B1" t="s"><x:v>1</x:v></x:c></x:row>'
                '<x:row r="2"><x:c r="A2"><x:v>7</x:v></x:c><x:c r="B2"><x:v>18</x:v></x:c>'
                "</x:row></x:sheetData></x:worksheet>",
                texts="<si><t>shot</t></si><si><t>dose_g</t></si>",
            )
        ),
        "7",
        {("7", "dose_g"): 18},
    ),
    trap(
        "a size that is not true",
        workbook(SHOTS, before='<dimension ref="A1:XFD1048576"/>'),
        "a b",
    ),
    trap(
        "a size that is too small",
        workbook(SHOTS, before='<dimension ref="A1"/>'),
        "a b",
    ),
    trap(
        "a sheet named like the table among others",
        several({"Notes": [["x"]], "SHOTS": SHOTS, "old": SHOTS[:2]}),
        "a b",
        remark="2 other sheets not read here: “Notes” and “old”",
    ),
    trap(
        "the only filled sheet",
        several({"Sheet1": SHOTS, "Sheet2": [], "Sheet3": []}),
        "a b",
    ),
    trap(
        "hidden sheets are named",
        several({"log": SHOTS, "shots": [["x"]]}, shots="veryHidden"),
        "a b",
        remark="1 hidden sheet not read: “shots”",
    ),
    trap(
        "a link in a cell is only text",
        packed(
            parts(sheet_xml(SHOTS, after='<hyperlinks><hyperlink ref="E2"/></hyperlinks>'))
            | {
                "xl/worksheets/_rels/sheet1.xml.rels": relations_xml(
                    ("r1", "hyperlink", "https://example.org/"), outside=True
                )
            }
        ),
        "a b",
    ),
    trap(
        "notes pinned to cells",
        packed(
            parts(sheet_xml(SHOTS))
            | {
                "xl/worksheets/_rels/sheet1.xml.rels": relations_xml(
                    ("r1", "comments", "../comments1.xml")
                ),
                "xl/comments1.xml": "<comments/>",
            }
        ),
        "a b",
        remark="notes pinned to single cells are not read",
    ),
    trap(
        "a row of totals",
        packed(
            parts(sheet_xml([*SHOTS, ["Total", formula("SUBTOTAL(109,B2:B3)", 36.1)]]))
            | {
                "xl/worksheets/_rels/sheet1.xml.rels": relations_xml(
                    ("r1", "table", "../tables/table1.xml")
                ),
                "xl/tables/table1.xml": f'<table xmlns="{MAIN}" ref="A1:E4" totalsRowCount="1"/>',
            }
        ),
        "a b",
        listed={"title": 1},
        remark="row 4 sums up the table and is no row of it",
    ),
    trap(
        "settings of a printer do no harm",
        packed(parts(sheet_xml(SHOTS)) | {"xl/printerSettings/printerSettings1.bin": b"\0" * 99}),
        "a b",
    ),
    trap("stored without packing", packed(parts(sheet_xml(SHOTS)), 0), "a b"),
)
