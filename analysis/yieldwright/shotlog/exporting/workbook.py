"""Tables as a workbook: numbers as numbers, days as days, text never as anything else.

Written by hand, for two reasons: the usual library rounds numbers to sixteen figures,
one too few for some, and stamps each file with the time of day.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Sequence
from datetime import date
from typing import TYPE_CHECKING, NamedTuple
from xml.sax.saxutils import escape as as_xml

import pandas as pd

from yieldwright.errors import NotWritableError
from yieldwright.formatting import clip, visible
from yieldwright.shotlog.exporting.text import (
    TEXT_KINDS,
    number_text,
    texts_of,
    texts_or_none,
)
from yieldwright.shotlog.formats.guarding import ESCAPED, GUARDED, looks_like_formula, protect
from yieldwright.shotlog.workbooks.binding import HEAD, MAIN, bind_sheets, column_letters

if TYPE_CHECKING:
    from yieldwright.shotlog.exporting.tables import ExportColumn, ExportTable

__all__ = ["Page", "page_of", "text_page", "workbook"]

#: Signs that XML or the readers of workbooks do not keep.
_UNFIT = re.compile(
    r"[\x00-\x08\x0b-\x1f\x7f\ufffe\uffff\ud800-\udfff]|_(?=x[0-9A-Fa-f]{4}_)|x(?=005F_)"
)
_LONGEST_TEXT = 32_767
_MOST_ROWS = 1_048_576
#: What our own reading of workbooks takes, with room for the parts that hold no rows.
_LARGEST_PACKED = 20_000_000
_LARGEST_UNPACKED = 99_000_000
_EPOCH = date(1899, 12, 30)

#: Places in the list of cell formats below.
_TITLE, _TEXT, _QUOTED, _DAY = 1, 2, 3, 4
_STYLES = f"""{HEAD}<styleSheet xmlns="{MAIN}">\
<numFmts count="1"><numFmt numFmtId="164" formatCode="yyyy\\-mm\\-dd"/></numFmts>\
<fonts count="2"><font><sz val="11"/><name val="Calibri"/></font>\
<font><b/><sz val="11"/><name val="Calibri"/></font></fonts>\
<fills count="2"><fill><patternFill patternType="none"/></fill>\
<fill><patternFill patternType="gray125"/></fill></fills>\
<borders count="1"><border><left/><right/><top/><bottom/><diagonal/></border></borders>\
<cellStyleXfs count="1"><xf numFmtId="0" fontId="0" fillId="0" borderId="0"/></cellStyleXfs>\
<cellXfs count="5"><xf numFmtId="0" fontId="0" fillId="0" borderId="0" xfId="0"/>\
<xf numFmtId="49" fontId="1" fillId="0" borderId="0" xfId="0" applyNumberFormat="1" \
applyFont="1"/>\
<xf numFmtId="49" fontId="0" fillId="0" borderId="0" xfId="0" applyNumberFormat="1"/>\
<xf numFmtId="49" fontId="0" fillId="0" borderId="0" xfId="0" applyNumberFormat="1" \
quotePrefix="1"/>\
<xf numFmtId="164" fontId="0" fillId="0" borderId="0" xfId="0" applyNumberFormat="1"/></cellXfs>\
<cellStyles count="1"><cellStyle name="Normal" xfId="0" builtinId="0"/></cellStyles>\
</styleSheet>"""


class Page(NamedTuple):
    """One sheet of a workbook: headers, and the cells under them as XML without a place.

    Attributes
    ----------
    name : str
        On the tab.
    headers : sequence of str
        The first row, which stays in view.
    columns : sequence of sequence of tuple of str
        For each column and row, the attributes and the content of the cell.
    """

    name: str
    headers: Sequence[str]
    columns: Sequence[Sequence[tuple[str, str]]]


def page_of(table: ExportTable) -> Page:
    """Return a table as a sheet, its last columns saying which cells hold escapes.

    Parameters
    ----------
    table : ExportTable
        What to write.

    Returns
    -------
    Page

    Raises
    ------
    NotWritableError
        If a text is longer than a cell may be.

    Examples
    --------
    >>> from yieldwright.shotlog.exporting.tables import ExportColumn, ExportTable
    >>> dose = ExportColumn("dose_g", "number", "g", "Dose.", pd.Series([18.1]))
    >>> page_of(ExportTable("shots", (dose,), 1)).columns
    [[('', '<v>18.1</v>')], [('', '')]]
    """
    texts = {each.header: texts_or_none(each.cells) for each in _of_text(table.columns)}
    safe = protect(texts, unfit=_UNFIT, guard=False, first="shot")
    columns = [
        _text_cells(each.header, safe.columns[each.header])
        if each.header in texts
        else _typed_cells(each)
        for each in table.columns
    ]
    marks = {GUARDED: safe.guarded or [""] * table.n_rows}
    marks |= {ESCAPED: safe.escaped} if any(safe.escaped) else {}
    headers = [*(each.header for each in table.columns), *marks]
    return Page(
        table.name, headers, [*columns, *(_text_cells(name, marks[name]) for name in marks)]
    )


def text_page(name: str, headers: Sequence[str], columns: Sequence[Sequence[str]]) -> Page:
    """Return texts as a sheet, its last columns saying which cells hold escapes.

    Parameters
    ----------
    name : str
        On the tab.
    headers : sequence of str
        The first row.
    columns : sequence of sequence of str
        The cells under them.

    Returns
    -------
    Page

    Raises
    ------
    NotWritableError
        If a text is longer than a cell may be.

    Examples
    --------
    >>> text_page("columns", ["unit"], [["g"]]).headers
    ['unit', 'guarded']
    """
    texts = dict(zip(headers, columns, strict=True))
    safe = protect(texts, unfit=_UNFIT, guard=False, first=headers[0])
    marks = {GUARDED: safe.guarded}
    marks |= {ESCAPED: safe.escaped} if any(safe.escaped) else {}
    written = {**safe.columns, **marks}
    return Page(name, list(written), [_text_cells(*column) for column in written.items()])


def workbook(pages: Sequence[Page]) -> bytes:
    """Return sheets as the bytes of a workbook; the same sheets give the same bytes.

    Parameters
    ----------
    pages : sequence of Page
        In the order of their tabs.

    Returns
    -------
    bytes

    Raises
    ------
    NotWritableError
        If a sheet has more rows than a workbook can hold, or the whole is too large to
        be read again.

    Examples
    --------
    >>> one, two = (workbook([text_page("columns", ["unit"], [["g"]])]) for _ in range(2))
    >>> one == two, one[:2]
    (True, b'PK')
    """
    sheets = {page.name: _sheet(page) for page in pages}
    packed = bind_sheets(sheets, _STYLES)
    _require_readable(len(packed), sum(len(sheet.encode()) for sheet in sheets.values()))
    return packed


def _require_readable(packed: int, unpacked: int) -> None:
    """Refuse a workbook that would be too large to be read again."""
    if packed > _LARGEST_PACKED or unpacked > _LARGEST_UNPACKED:
        raise NotWritableError(
            f"the workbook would be too large to be read again ({packed / 1e6:.0f} MB, "
            f"{unpacked / 1e6:.0f} MB unpacked): export to a folder, .csv or .parquet"
        )


def _of_text(columns: Iterable[ExportColumn]) -> Iterator[ExportColumn]:
    return (each for each in columns if each.kind in TEXT_KINDS)


def _text_cells(header: str, texts: Sequence[str]) -> list[tuple[str, str]]:
    known = {text: _text_cell(header, text) for text in dict.fromkeys(texts)}
    return [known[text] for text in texts]


def _text_cell(header: str, text: str) -> tuple[str, str]:
    if not text:
        return "", ""
    if len(text) > _LONGEST_TEXT:
        raise NotWritableError(
            f"a cell of a workbook holds {_LONGEST_TEXT:,} characters, and one under "
            f"“{clip(visible(header), 40)}” has {len(text):,}: export to .csv or .parquet"
        )
    style = _QUOTED if looks_like_formula(text) else _TEXT
    content = f'<is><t xml:space="preserve">{as_xml(text)}</t></is>'
    return f' s="{style}" t="inlineStr"', content


def _typed_cells(column: ExportColumn) -> list[tuple[str, str]]:
    """Return numbers as numbers, days as days, and all else as text."""
    values = column.cells.tolist()
    if column.kind in ("number", "integer"):
        texts = map(number_text, values)
        return [("", f"<v>{text}</v>" if text else "") for text in texts]
    if column.kind == "date":
        days = [None if pd.isna(value) else (value.date() - _EPOCH).days for value in values]
        return [(f' s="{_DAY}"', f"<v>{day}</v>") if day else ("", "") for day in days]
    return _text_cells(column.header, texts_of(column, "point"))


def _sheet(page: Page) -> str:
    rows = len(page.columns[0]) + 1 if page.columns else 1
    if rows > _MOST_ROWS:
        raise NotWritableError(
            f"a sheet holds {_MOST_ROWS:,} rows and the table of {page.name} has {rows:,}: "
            "export to .csv or .parquet"
        )
    letters = [column_letters(at) for at in range(len(page.headers))]
    widths = "".join(
        f'<col min="{at}" max="{at}" width="{_width(header)}" customWidth="1"/>'
        for at, header in enumerate(page.headers, start=1)
    )
    head = _row(1, letters, [_title(header) for header in page.headers])
    body = (
        _row(at, letters, cells)
        for at, cells in enumerate(zip(*page.columns, strict=True), start=2)
    )
    return (
        f'{HEAD}<worksheet xmlns="{MAIN}"><sheetViews><sheetView workbookViewId="0">'
        '<pane ySplit="1" topLeftCell="A2" activePane="bottomLeft" state="frozen"/>'
        f"</sheetView></sheetViews><cols>{widths}</cols>"
        f"<sheetData>{head}{''.join(body)}</sheetData></worksheet>"
    )


def _title(header: str) -> tuple[str, str]:
    _, content = _text_cell(header, header)
    return f' s="{_TITLE}" t="inlineStr"', content


def _row(at: int, letters: Sequence[str], cells: Iterable[tuple[str, str]]) -> str:
    filled = (
        f'<c r="{letter}{at}"{attributes}>{content}</c>'
        for letter, (attributes, content) in zip(letters, cells, strict=True)
        if content
    )
    return f'<row r="{at}">{"".join(filled)}</row>'


def _width(header: str) -> int:
    return min(max(len(header) + 2, 8), 40)
