"""Sheets to type on, as the markup that spreadsheets read; written by hand, needing no library.

The order of the parts of a sheet is that of ECMA-376, part 1, 18.3.1.99.
"""

from __future__ import annotations

import re
import textwrap
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from xml.sax.saxutils import escape, quoteattr

from yieldwright.formatting import visible
from yieldwright.shotlog.workbooks.binding import HEAD, MAIN, bind_sheets, column_letters

__all__ = ["LAST_ROW", "FormSheet", "TypingRule", "form_workbook"]

#: The last row of any sheet.
LAST_ROW = 1_048_576
_UNFIT = re.compile(r"[\x00-\x08\x0b\x0c\x0e-\x1f\ufffe\uffff\ud800-\udfff]")
_LIKE_ESCAPE = re.compile(r"_(?=x[0-9A-Fa-f]{4}_)")
_LINE_PT = 15.0  # height of one line

#: Places in the list of cell formats below, those of columns by what they keep.
_HEAD_LOOK, _TEXT_LOOK, _WRAPPED_LOOK = 1, 2, 3
_LOOKS = {"@": 2, "0.0##": 4, "0": 5, "yyyy-mm-dd": 6, "yyyy-mm-dd hh:mm": 7}
_NUMBERS = {"@": 49, "0": 1, "0.0##": 164, "yyyy-mm-dd": 165, "yyyy-mm-dd hh:mm": 166}
_HEAD_SHADE = "FFE4E9EC"
_DOUBT_SHADE = "FFFFE2B8"


@dataclass(frozen=True, slots=True)
class TypingRule:
    """What some cells tell, offer and refuse.

    Attributes
    ----------
    cells : str
        Such as "B2:B1048576".
    title, prompt : str
        What is told before something is typed.
    kind : str
        What is taken: "list", "decimal", "whole", "date" or "textLength"; empty for
        anything.
    formulas : tuple of str
        The place of the list, or the two ends of what is taken.
    error : str
        What is told when something is refused.
    may_insist : bool
        Whether a person may keep what is refused.
    """

    cells: str
    title: str
    prompt: str
    kind: str = ""
    formulas: tuple[str, ...] = ()
    error: str = ""
    may_insist: bool = False


@dataclass(frozen=True, slots=True)
class FormSheet:
    """One sheet of a workbook that people type on or read.

    Attributes
    ----------
    name : str
        On the tab.
    rows : sequence of sequence of str
        Texts; none of them is ever taken for a formula.
    widths : sequence of float
        Of the columns, in letters.
    formats : sequence of str
        Number format of each column below its head; text where there is none.
    heads : frozenset of int
        Numbers of the rows that are heads, counted from 1.
    frozen : str
        The first cell that moves when one scrolls; empty where all do.
    is_wrapped : bool
        Whether long texts take several lines.
    rules : sequence of TypingRule
        What the cells offer and refuse.
    doubts : sequence of tuple of str
        Cells, and the formula that is true where one of them is to be shaded.
    """

    name: str
    rows: Sequence[Sequence[str]]
    widths: Sequence[float]
    formats: Sequence[str] = ()
    heads: frozenset[int] = frozenset({1})
    frozen: str = ""
    is_wrapped: bool = False
    rules: Sequence[TypingRule] = ()
    doubts: Sequence[tuple[str, str]] = ()


def form_workbook(sheets: Sequence[FormSheet]) -> bytes:
    """Return sheets as the bytes of a workbook; the first one is seen first.

    Parameters
    ----------
    sheets : sequence of FormSheet
        In the order of their tabs.

    Returns
    -------
    bytes
        The same for the same sheets, on any day.

    Examples
    --------
    >>> form_workbook([FormSheet("shots", [["shot"]], [10])])[:2]
    b'PK'
    """
    markup = {sheet.name: _sheet(sheet, is_first=at == 0) for at, sheet in enumerate(sheets)}
    return bind_sheets(markup, _styles())


def _sheet(sheet: FormSheet, *, is_first: bool) -> str:
    parts = (
        '<sheetPr><pageSetUpPr fitToPage="1"/></sheetPr>',
        _view(sheet, is_first=is_first),
        _columns(sheet),
        f"<sheetData>{''.join(_rows(sheet))}</sheetData>",
        *_doubts(sheet),
        _rules(sheet.rules),
        '<pageMargins left="0.7" right="0.7" top="0.75" bottom="0.75" header="0.3" footer="0.3"/>',
        '<pageSetup orientation="landscape" fitToHeight="0"/>',
        _quiet(sheet),
    )
    return f'{HEAD}<worksheet xmlns="{MAIN}">{"".join(parts)}</worksheet>'


def _view(sheet: FormSheet, *, is_first: bool) -> str:
    selected = ' tabSelected="1"' if is_first else ""
    pane = ""
    if sheet.frozen:
        columns, row = ord(sheet.frozen[0]) - ord("A"), int(sheet.frozen[1:])
        pane = (
            f'<pane xSplit="{columns}" ySplit="{row - 1}" topLeftCell="{sheet.frozen}" '
            'activePane="bottomRight" state="frozen"/>'
        )
    return f'<sheetViews><sheetView{selected} workbookViewId="0">{pane}</sheetView></sheetViews>'


def _columns(sheet: FormSheet) -> str:
    formats = sheet.formats or ["@"] * len(sheet.widths)
    each = (
        f'<col min="{at}" max="{at}" width="{width:g}" style="{_LOOKS[kept]}" customWidth="1"/>'
        for at, (width, kept) in enumerate(zip(sheet.widths, formats, strict=True), start=1)
    )
    return f"<cols>{''.join(each)}</cols>"


def _rows(sheet: FormSheet) -> Iterable[str]:
    plain = _WRAPPED_LOOK if sheet.is_wrapped else _TEXT_LOOK
    for at, texts in enumerate(sheet.rows, start=1):
        look = _HEAD_LOOK if at in sheet.heads else plain
        cells = "".join(
            f'<c r="{column_letters(place)}{at}" s="{look}" t="inlineStr">'
            f'<is><t xml:space="preserve">{_text(text)}</t></is></c>'
            for place, text in enumerate(texts)
            if text
        )
        yield f'<row r="{at}"{_height(sheet, texts)}>{cells}</row>'


def _height(sheet: FormSheet, texts: Sequence[str]) -> str:
    """Return how high a row of wrapped texts is; spreadsheets do not work it out on opening."""
    if not sheet.is_wrapped:
        return ""
    lines = [
        len(textwrap.wrap(text, max(int(width) - 2, 1)))
        for text, width in zip(texts, sheet.widths, strict=False)
    ]
    return f' ht="{_LINE_PT * max([1, *lines]):g}" customHeight="1"'


def _doubts(sheet: FormSheet) -> Iterable[str]:
    for at, (cells, formula) in enumerate(sheet.doubts, start=1):
        yield (
            f'<conditionalFormatting sqref="{cells}"><cfRule type="expression" dxfId="0" '
            f'priority="{at}"><formula>{escape(formula)}</formula></cfRule>'
            "</conditionalFormatting>"
        )


def _rules(rules: Sequence[TypingRule]) -> str:
    if not rules:
        return ""
    each = "".join(map(_rule, rules))
    return f'<dataValidations count="{len(rules)}">{each}</dataValidations>'


def _rule(rule: TypingRule) -> str:
    refusal = ""
    if rule.kind:
        refusal = (
            f' type="{rule.kind}" errorStyle="{"warning" if rule.may_insist else "stop"}"'
            f' showErrorMessage="1" errorTitle={_attribute(rule.title)}'
            f" error={_attribute(rule.error)}"
        )
    formulas = "".join(
        f"<formula{at}>{escape(formula)}</formula{at}>"
        for at, formula in enumerate(rule.formulas, start=1)
    )
    return (
        f'<dataValidation sqref="{rule.cells}" allowBlank="1" showInputMessage="1"'
        f" promptTitle={_attribute(rule.title)} prompt={_attribute(rule.prompt)}{refusal}>"
        f"{formulas}</dataValidation>"
    )


def _quiet(sheet: FormSheet) -> str:
    """Return what takes the warnings off numbers that are kept as text on purpose."""
    cells = " ".join(
        f"{column_letters(at)}2:{column_letters(at)}{LAST_ROW}"
        for at, kept in enumerate(sheet.formats)
        if kept == "@"
    )
    if not cells:
        return ""
    return f'<ignoredErrors><ignoredError sqref="{cells}" numberStoredAsText="1"/></ignoredErrors>'


def _text(text: str) -> str:
    """Return a text as a sheet keeps it, signs that it cannot keep as their codes."""
    kept = _UNFIT.sub(lambda found: visible(found[0]), text)
    return escape(_LIKE_ESCAPE.sub("_x005F_", kept))


def _attribute(text: str) -> str:
    return quoteattr(_UNFIT.sub(lambda found: visible(found[0]), text))


def _styles() -> str:
    own = "".join(
        f'<numFmt numFmtId="{number}" formatCode={quoteattr(code)}/>'
        for code, number in _NUMBERS.items()
        if number >= 164
    )
    plain = "".join(
        f'<xf numFmtId="{_NUMBERS[code]}" fontId="0" fillId="0" borderId="0" xfId="0" '
        'applyNumberFormat="1"/>'
        for code, look in _LOOKS.items()
        if look > _WRAPPED_LOOK
    )
    text = f'numFmtId="{_NUMBERS["@"]}"'
    return (
        f'{HEAD}<styleSheet xmlns="{MAIN}"><numFmts count="3">{own}</numFmts>'
        '<fonts count="2"><font><sz val="11"/><name val="Calibri"/></font>'
        '<font><b/><sz val="11"/><name val="Calibri"/></font></fonts>'
        '<fills count="3"><fill><patternFill patternType="none"/></fill>'
        '<fill><patternFill patternType="gray125"/></fill><fill><patternFill '
        f'patternType="solid"><fgColor rgb="{_HEAD_SHADE}"/></patternFill></fill></fills>'
        '<borders count="1"><border><left/><right/><top/><bottom/><diagonal/></border></borders>'
        '<cellStyleXfs count="1"><xf numFmtId="0" fontId="0" fillId="0" borderId="0"/>'
        f'</cellStyleXfs><cellXfs count="{4 + len(_LOOKS) - 1}">'
        '<xf numFmtId="0" fontId="0" fillId="0" borderId="0" xfId="0"/>'
        f'<xf {text} fontId="1" fillId="2" borderId="0" xfId="0" applyNumberFormat="1" '
        'applyFont="1" applyFill="1"/>'
        f'<xf {text} fontId="0" fillId="0" borderId="0" xfId="0" applyNumberFormat="1"/>'
        f'<xf {text} fontId="0" fillId="0" borderId="0" xfId="0" applyNumberFormat="1" '
        'applyAlignment="1"><alignment vertical="top" wrapText="1"/></xf>'
        f'{plain}</cellXfs><cellStyles count="1"><cellStyle name="Normal" xfId="0" '
        'builtinId="0"/></cellStyles><dxfs count="1"><dxf><font><b/></font><fill>'
        f'<patternFill patternType="solid"><fgColor rgb="{_DOUBT_SHADE}"/>'
        f'<bgColor rgb="{_DOUBT_SHADE}"/></patternFill></fill></dxf></dxfs></styleSheet>'
    )
