"""Sheets bound into one workbook: the same sheets give the same bytes, on any day."""

from __future__ import annotations

import io
import zipfile
from collections.abc import Iterable, Mapping
from xml.sax.saxutils import quoteattr

__all__ = ["HEAD", "MAIN", "bind_sheets", "column_letters"]

HEAD = '<?xml version="1.0" encoding="UTF-8" standalone="yes"?>\n'
MAIN = "http://schemas.openxmlformats.org/spreadsheetml/2006/main"
_RELATIONS = "http://schemas.openxmlformats.org/package/2006/relationships"
_OFFICE = "http://schemas.openxmlformats.org/officeDocument/2006/relationships"
_TYPES = "http://schemas.openxmlformats.org/package/2006/content-types"
_FORMAT = "application/vnd.openxmlformats-officedocument.spreadsheetml"
_EARLIEST = (1980, 1, 1, 0, 0, 0)  # that an archive can hold
_LETTERS = "ABCDEFGHIJKLMNOPQRSTUVWXYZ"


def bind_sheets(sheets: Mapping[str, str], styles: str) -> bytes:
    """Return the markup of sheets as the bytes of a workbook.

    Parameters
    ----------
    sheets : mapping of str to str
        Name on the tab to markup, in the order of the tabs.
    styles : str
        Markup of the looks that the sheets refer to.

    Returns
    -------
    bytes
    """
    pages = {f"worksheets/sheet{at}.xml": text for at, text in enumerate(sheets.values(), 1)}
    targets = [*(("worksheet", page) for page in pages), ("styles", "styles.xml")]
    parts = {
        "[Content_Types].xml": _content_types(pages),
        "_rels/.rels": _relations([("officeDocument", "xl/workbook.xml")]),
        "xl/workbook.xml": _contents(sheets),
        "xl/_rels/workbook.xml.rels": _relations(targets),
        "xl/styles.xml": styles,
    }
    parts |= {f"xl/{page}": text for page, text in pages.items()}
    bound = io.BytesIO()
    with zipfile.ZipFile(bound, "w") as archive:
        for name, content in parts.items():
            entry = zipfile.ZipInfo(name, _EARLIEST)
            entry.compress_type = zipfile.ZIP_DEFLATED
            archive.writestr(entry, content.encode("utf-8"))
    return bound.getvalue()


def column_letters(at: int) -> str:
    """Return the letters of a column, counted from 0.

    Parameters
    ----------
    at : int
        Number of the column.

    Returns
    -------
    str

    Examples
    --------
    >>> column_letters(0), column_letters(27)
    ('A', 'AB')
    """
    letters = ""
    at += 1
    while at:
        at, rest = divmod(at - 1, 26)
        letters = _LETTERS[rest] + letters
    return letters


def _contents(names: Iterable[str]) -> str:
    sheets = "".join(
        f'<sheet name={quoteattr(name)} sheetId="{at}" r:id="rId{at}"/>'
        for at, name in enumerate(names, start=1)
    )
    return (
        f'{HEAD}<workbook xmlns="{MAIN}" xmlns:r="{_OFFICE}"><bookViews><workbookView/>'
        f"</bookViews><sheets>{sheets}</sheets></workbook>"
    )


def _relations(targets: Iterable[tuple[str, str]]) -> str:
    entries = "".join(
        f'<Relationship Id="rId{at}" Type="{_OFFICE}/{kind}" Target="{target}"/>'
        for at, (kind, target) in enumerate(targets, start=1)
    )
    return f'{HEAD}<Relationships xmlns="{_RELATIONS}">{entries}</Relationships>'


def _content_types(pages: Iterable[str]) -> str:
    sheets = "".join(
        f'<Override PartName="/xl/{page}" ContentType="{_FORMAT}.worksheet+xml"/>'
        for page in pages
    )
    return (
        f'{HEAD}<Types xmlns="{_TYPES}"><Default Extension="rels" '
        'ContentType="application/vnd.openxmlformats-package.relationships+xml"/>'
        '<Default Extension="xml" ContentType="application/xml"/>'
        f'<Override PartName="/xl/workbook.xml" ContentType="{_FORMAT}.sheet.main+xml"/>'
        f'<Override PartName="/xl/styles.xml" ContentType="{_FORMAT}.styles+xml"/>{sheets}</Types>'
    )
