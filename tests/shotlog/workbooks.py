"""Workbooks built by script: honest ones, odd ones, and ones that mean harm.

The parts are written by hand, because a library would not write most of what is tried here.
"""

from __future__ import annotations

import io
import zipfile
from collections.abc import Mapping, Sequence
from typing import Any, NamedTuple
from xml.sax.saxutils import escape, quoteattr

MAIN = "http://schemas.openxmlformats.org/spreadsheetml/2006/main"
RELATIONS = "http://schemas.openxmlformats.org/officeDocument/2006/relationships"
PACKAGE = "http://schemas.openxmlformats.org/package/2006"
BOOK_TYPE = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet.main+xml"
HEAD = ("shot", "dose_g", "beverage_g", "time_s", "notes")
SHOTS = [HEAD, ["a", 18, 36, 30, "thin"], ["b", 18.1, 36.5, 31, "sweet"]]

#: Number formats by the names the cases use; their places in this order are the styles.
FORMATS = {
    "general": "General",
    "percent": "0.0%",
    "day": "yyyy\\-mm\\-dd",
    "clock": "h:mm",
    "moment": "yyyy-mm-dd h:mm",
    "minutes": "mm:ss",
    "elapsed": "[h]:mm:ss",
    "elapsed seconds": "[s]",
    "day and month": "d-mmm",
    "long day": "[$-407]dddd, d. mmmm yyyy",
    "afternoon": "[$-F400]h:mm:ss\\ AM/PM",
    "code": "000",
    "ounces": '0.00" oz"',
    "degrees": "0\\°\\F",
    "clicks": '0" clicks"',
    "percent sign": '0.0"%"',
    "red": "[Red]0.00;[Blue]-0.00",
    "text": "@",
    "science": "0.00E+00",
    "accounting": '_-* #,##0.00\\ "g"_-',
    "days in words": '0" days"',
}


class Cell(NamedTuple):
    """One cell as it is stored.

    Attributes
    ----------
    inside : str
        XML between the tags of the cell.
    kind : str
        Its type; empty for a number.
    style : str
        One of `FORMATS`.
    """

    inside: str
    kind: str = ""
    style: str = "general"


def number(stored: object, style: str = "general") -> Cell:
    """Return a number, as it is stored and as it is shown."""
    return Cell(f"<v>{stored}</v>", "", style)


def formula(text: str, stored: object = None, kind: str = "") -> Cell:
    """Return a formula, with or without a stored value."""
    value = "" if stored is None else f"<v>{stored}</v>"
    return Cell(f"<f>{escape(text)}</f>{value}", kind)


def rich(*pieces: str) -> Cell:
    """Return a text of several fonts, with how it is spoken."""
    runs = "".join(f'<r><rPr><b/></rPr><t xml:space="preserve">{p}</t></r>' for p in pieces)
    return Cell(f'<is>{runs}<rPh sb="0" eb="1"><t>spoken</t></rPh></is>', "inlineStr")


def letters(column: int) -> str:
    """Return the letters of a column up to ZZ."""
    first, second = divmod(column - 1, 26)
    return (chr(64 + first) if first else "") + chr(65 + second)


def cell_xml(reference: str, value: Any) -> str:
    """Return one cell; texts stand in it, numbers as Python writes them."""
    if value is None:
        return ""
    if isinstance(value, str):
        inside = f'<is><t xml:space="preserve">{escape(value)}</t></is>'
        value = Cell(inside, "inlineStr")
    if not isinstance(value, Cell):
        value = number(value)
    kind = f' t="{value.kind}"' if value.kind else ""
    style = list(FORMATS).index(value.style)
    return f'<c r="{reference}" s="{style}"{kind}>{value.inside}</c>'


def row_xml(at: int, values: Sequence[Any], attributes: str = "") -> str:
    """Return one row."""
    cells = "".join(cell_xml(f"{letters(c)}{at}", v) for c, v in enumerate(values, start=1))
    return f'<row r="{at}"{attributes}>{cells}</row>'


def sheet_xml(
    rows: Sequence[Sequence[Any]] | Mapping[int, Sequence[Any]],
    *,
    merges: Sequence[str] = (),
    hidden: Sequence[int] = (),
    before: str = "",
    after: str = "",
) -> str:
    """Return a sheet of rows, numbered from 1 unless numbers are given."""
    numbered = rows if isinstance(rows, Mapping) else dict(enumerate(rows, start=1))
    lines = "".join(
        row_xml(at, values, ' hidden="1"' if at in hidden else "")
        for at, values in numbered.items()
    )
    merged = "".join(f'<mergeCell ref="{each}"/>' for each in merges)
    merged = f"<mergeCells>{merged}</mergeCells>" if merged else ""
    return (
        f'<?xml version="1.0" encoding="UTF-8"?><worksheet xmlns="{MAIN}">{before}'
        f"<sheetData>{lines}</sheetData>{merged}{after}</worksheet>"
    )


def styles_xml() -> str:
    """Return the number formats, one style for each."""
    codes = "".join(
        f"<numFmt numFmtId={quoteattr(str(164 + at))} formatCode={quoteattr(code)}/>"
        for at, code in enumerate(FORMATS.values())
    )
    used = "".join(f'<xf numFmtId="{164 + at}"/>' for at in range(len(FORMATS)))
    return (
        f'<styleSheet xmlns="{MAIN}"><numFmts>{codes}</numFmts>'
        f'<cellStyleXfs><xf numFmtId="9"/></cellStyleXfs><cellXfs>{used}</cellXfs></styleSheet>'
    )


def relations_xml(*links: tuple[str, str, str], outside: bool = False) -> str:
    """Return relationships: key, last word of the kind, target."""
    mode = ' TargetMode="External"' if outside else ""
    lines = "".join(
        f'<Relationship Id="{key}" Type="{RELATIONS}/{kind}" Target="{target}"{mode}/>'
        for key, kind, target in links
    )
    return f'<Relationships xmlns="{PACKAGE}/relationships">{lines}</Relationships>'


def parts(
    sheets: Mapping[str, str] | str,
    *,
    states: Mapping[str, str] | None = None,
    texts: str = "",
    settings: str = "",
) -> dict[str, str | bytes]:
    """Return the parts of a workbook of some sheets, by name; one sheet is named Sheet1."""
    named = {"Sheet1": sheets} if isinstance(sheets, str) else sheets
    states = states or {}
    listed = "".join(
        f'<sheet name={quoteattr(name)} sheetId="{at}" state="{states.get(name, "visible")}" '
        f'r:id="r{at}"/>'
        for at, name in enumerate(named, start=1)
    )
    links = [
        (f"r{at}", "worksheet", f"worksheets/sheet{at}.xml") for at in range(1, len(named) + 1)
    ]
    links += [("s1", "styles", "styles.xml"), ("t1", "sharedStrings", "/xl/sharedStrings.xml")]
    return {
        "[Content_Types].xml": types_xml(),
        "_rels/.rels": relations_xml(("r1", "officeDocument", "xl/workbook.xml")),
        "xl/workbook.xml": (
            f'<workbook xmlns="{MAIN}" xmlns:r="{RELATIONS}">{settings}'
            f"<sheets>{listed}</sheets></workbook>"
        ),
        "xl/_rels/workbook.xml.rels": relations_xml(*links),
        "xl/styles.xml": styles_xml(),
        "xl/sharedStrings.xml": f'<sst xmlns="{MAIN}">{texts}</sst>',
        **{f"xl/worksheets/sheet{at}.xml": xml for at, xml in enumerate(named.values(), start=1)},
    }


def types_xml(book: str = BOOK_TYPE, extra: str = "") -> str:
    """Return the content types of a workbook."""
    return (
        f'<Types xmlns="{PACKAGE}/content-types"><Default Extension="xml" '
        f'ContentType="application/xml"/><Override PartName="/xl/workbook.xml" '
        f'ContentType="{book}"/>{extra}</Types>'
    )


def packed(content: Mapping[str, str | bytes], method: int = zipfile.ZIP_DEFLATED) -> bytes:
    """Return parts as a zipped file, always the same bytes for the same parts."""
    raw = io.BytesIO()
    with zipfile.ZipFile(raw, "w", method) as archive:
        for name, data in content.items():
            entry = zipfile.ZipInfo(name)
            entry.compress_type = method
            archive.writestr(entry, data)
    return raw.getvalue()


def workbook(rows: Any, **looks: Any) -> bytes:
    """Return a workbook of one sheet."""
    return packed(parts(sheet_xml(rows, **looks)))


def several(sheets: Mapping[str, Any], **states: str) -> bytes:
    """Return a workbook of several sheets, some of them hidden."""
    return packed(parts({name: sheet_xml(rows) for name, rows in sheets.items()}, states=states))
