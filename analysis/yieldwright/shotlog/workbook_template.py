"""An empty log as a workbook: lists, ranges and prompts where one types, and a dictionary."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING, NamedTuple

from yieldwright.errors import NotWritableError
from yieldwright.formatting import clip, visible
from yieldwright.glossary import Span
from yieldwright.shotlog._workbook_pages import (
    write_dictionary,
    write_guidance,
    write_head,
    write_text,
)
from yieldwright.shotlog.cell_rules import AS_TEXT, CellRule, cell_rule
from yieldwright.shotlog.packing import packed
from yieldwright.shotlog.starting_columns import (
    StartingColumn,
    starting_columns,
    tasting_columns,
)

if TYPE_CHECKING:
    from openpyxl import Workbook
    from openpyxl.formatting.rule import FormulaRule
    from openpyxl.worksheet.datavalidation import DataValidation
    from openpyxl.worksheet.worksheet import Worksheet

    from yieldwright.bench import Bench

__all__ = ["workbook_template"]

_LAST_ROW = 1_048_576  # of any sheet
_SHADE = "FFFFE2B8"
_LONGEST_TITLE = 32
_KINDS = {
    "anything": None,
    "choice": "list",
    "number": "decimal",
    "whole": "whole",
    "day": "date",
    "length": "textLength",
}


class _Placed(NamedTuple):
    """One column of a sheet: where it stands, what it holds, how it takes it."""

    letter: str
    column: StartingColumn
    rule: CellRule


def workbook_template(bench: Bench) -> bytes:
    """Return an empty log as a workbook whose cells take what the bench can mean.

    Sheets: `shots`, `tastings`, `read me`, `dictionary`, `example`, and `lists`, from which
    cells offer their choices. No sheet holds a shot to be read.

    Parameters
    ----------
    bench : Bench
        Its headers, bands, grinders, attributes and ranges are used.

    Returns
    -------
    bytes
        The same for the same bench, on any day.

    Raises
    ------
    NotWritableError
        If the library that writes workbooks is not there.

    Examples
    --------
    >>> from yieldwright.bench import Bench
    >>> workbook_template(Bench())[:2]
    b'PK'
    """
    workbook = _empty_workbook()
    shots = _placed(starting_columns(bench), bench)
    tastings = _placed(tasting_columns(bench), bench)
    lists = _Lists(workbook.create_sheet("lists"))
    for place, (name, columns) in enumerate((("shots", shots), ("tastings", tastings))):
        _fill_log_sheet(workbook.create_sheet(name, place), columns, lists)
    write_guidance(workbook.create_sheet("read me", 2))
    write_dictionary(workbook.create_sheet("dictionary", 3), bench)
    _write_example(workbook.create_sheet("example", 4), shots)
    workbook["shots"].sheet_view.tabSelected = True
    for sheet in workbook.worksheets:
        _fit_to_paper(sheet)
    return packed(workbook, numbers_as_text={1: _text_cells(shots), 2: _text_cells(tastings)})


def _empty_workbook() -> Workbook:
    try:
        from openpyxl import Workbook
    except ImportError:
        raise NotWritableError(
            "a workbook is written with openpyxl, which is not installed: "
            "pip install 'yieldwright[excel]', or begin with shots.csv instead"
        ) from None
    workbook = Workbook()
    workbook.remove(workbook.active)
    return workbook


def _placed(columns: Iterable[StartingColumn], bench: Bench) -> list[_Placed]:
    from openpyxl.utils import get_column_letter

    return [
        _Placed(get_column_letter(at), column, cell_rule(column, bench))
        for at, column in enumerate(columns, start=1)
    ]


class _Lists:
    """The sheet that holds the words to choose from, a column for each list."""

    def __init__(self, sheet: Worksheet) -> None:
        self._sheet = sheet
        self._ranges: dict[tuple[str, ...], str] = {}

    def range_of(self, title: str, words: tuple[str, ...]) -> str:
        """Return where a list stands, written once however many columns use it."""
        if words not in self._ranges:
            at = len(self._ranges) + 1
            for row, word in enumerate((title, *words), start=1):
                write_text(self._sheet.cell(row, at), word)
            letter = self._sheet.cell(1, at).column_letter
            self._sheet.column_dimensions[letter].width = 18
            self._ranges[words] = f"lists!${letter}$2:${letter}${len(words) + 1}"
        return self._ranges[words]


def _fill_log_sheet(sheet: Worksheet, columns: Sequence[_Placed], lists: _Lists) -> None:
    for letter, column, rule in columns:
        write_head(sheet[f"{letter}1"], column.header)
        dimension = sheet.column_dimensions[letter]
        dimension.number_format = rule.number_format
        dimension.width = _width(column, rule)
        formula = lists.range_of(column.header, rule.choices) if rule.choices else None
        below = f"{letter}2:{letter}{_LAST_ROW}"
        sheet.add_data_validation(_validation(column, rule, formula, below))
        sheet.add_data_validation(_prompt_only(column, rule, f"{letter}1"))
        doubt = _doubt(letter, rule)
        if doubt:
            sheet.conditional_formatting.add(below, _shading(doubt))
    sheet.freeze_panes = "B2"


def _fit_to_paper(sheet: Worksheet) -> None:
    """Print a sheet across, as wide as the paper and as long as it takes."""
    sheet.page_setup.orientation = "landscape"
    sheet.page_setup.fitToHeight = 0
    sheet.sheet_properties.pageSetUpPr.fitToPage = True


def _validation(
    column: StartingColumn, rule: CellRule, formula: str | None, cells: str
) -> DataValidation:
    """Return what a cell offers and refuses."""
    from openpyxl.worksheet.datavalidation import DataValidation

    has_span = rule.span != Span()
    return DataValidation(
        type=_KINDS[rule.takes],
        operator="between" if has_span else None,
        formula1=_figure(rule.span.low) if has_span else formula,
        formula2=_figure(rule.span.high) if has_span else None,
        allow_blank=True,
        showErrorMessage=rule.takes != "anything",
        errorStyle="warning" if rule.may_insist else "stop",
        errorTitle=_title(column),
        error=rule.error if rule.takes != "anything" else None,
        showInputMessage=True,
        promptTitle=_title(column),
        prompt=rule.prompt,
        sqref=cells,
    )


def _prompt_only(column: StartingColumn, rule: CellRule, cells: str) -> DataValidation:
    from openpyxl.worksheet.datavalidation import DataValidation

    return DataValidation(
        showInputMessage=True, promptTitle=_title(column), prompt=rule.prompt, sqref=cells
    )


def _doubt(letter: str, rule: CellRule) -> str:
    """Return the formula that is true where a cell is taken but unusual; empty without one."""
    if rule.usual != Span():
        low, high = _figure(rule.usual.low), _figure(rule.usual.high)
        outside = f"OR({letter}2<{low},{letter}2>{high})"
        return f"AND(ISNUMBER({letter}2),{outside})"
    if rule.asks_for_time:  # a day alone would pass for midnight
        return f"AND(ISNUMBER({letter}2),MOD({letter}2,1)=0)"
    return ""


def _figure(value: float) -> str:
    """Return a number as a formula writes it."""
    return f"{value:.15g}"


def _shading(formula: str) -> FormulaRule:
    from openpyxl.formatting.rule import FormulaRule
    from openpyxl.styles import Font, PatternFill

    fill = PatternFill("solid", start_color=_SHADE, end_color=_SHADE)
    return FormulaRule(formula=[formula], fill=fill, font=Font(bold=True))


def _title(column: StartingColumn) -> str:
    return clip(visible(column.entry.axis_label), _LONGEST_TITLE)


def _width(column: StartingColumn, rule: CellRule) -> float:
    """Return a width that shows headers, choices and whole days, for which ### would stand."""
    if column.name == "notes":
        return 40.0
    shown = (column.header, column.example[:16], rule.number_format, *rule.choices)
    return min(max(map(len, shown)) + 4, 26)


def _text_cells(columns: Iterable[_Placed]) -> str:
    """Return the ranges of the columns in which numbers are kept as text."""
    kept = [letter for letter, _, rule in columns if rule.number_format == AS_TEXT]
    return " ".join(f"{letter}2:{letter}{_LAST_ROW}" for letter in kept)


def _write_example(sheet: Worksheet, columns: Iterable[_Placed]) -> None:
    """Write two shots as they might be typed, on a sheet that is not read."""
    for letter, column, rule in columns:
        write_head(sheet[f"{letter}1"], column.header)
        for row, text in ((2, column.example), (3, column.failed)):
            shown = text[:16].replace("T", " ") if column.entry.kind == "moment" else text
            write_text(sheet[f"{letter}{row}"], shown)
        sheet.column_dimensions[letter].width = _width(column, rule)
    sheet.freeze_panes = "B2"
