"""What a workbook says of itself: its sheets, its number formats, its shared texts."""

from __future__ import annotations

import posixpath
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import NamedTuple

from yieldwright.errors import UnreadableLogError
from yieldwright.shotlog.workbooks.cells import BUILT_IN, Show, plain_number, show_as, unescape
from yieldwright.shotlog.workbooks.package import SAVE_AGAIN, Package, read_small, walk
from yieldwright.shotlog.workbooks.rows import read_range

__all__ = [
    "Book",
    "SheetPart",
    "read_book",
    "read_shared_texts",
    "related_parts",
    "rows_of_totals",
]


class SheetPart(NamedTuple):
    """One sheet of cells.

    Attributes
    ----------
    name : str
        On its tab.
    part : str
        Where in the package its cells stand.
    is_hidden : bool
        Whether the program shows no tab for it.
    """

    name: str
    part: str
    is_hidden: bool


@dataclass(frozen=True, slots=True)
class Book:
    """One workbook, before its cells are read.

    Attributes
    ----------
    package : Package
        Its parts.
    part : str
        The part that lists its sheets.
    sheets : sequence of SheetPart
        In their order; charts that fill a sheet are left out.
    shows : mapping of str to callable
        By the number of a cell's style, what shows its number; others show it as it is.
    from_1904 : bool
        Whether its days are counted from 1904.
    """

    package: Package
    part: str
    sheets: Sequence[SheetPart]
    shows: Mapping[str, Show]
    from_1904: bool


def read_book(package: Package) -> Book:
    """Return what a workbook says of itself.

    Parameters
    ----------
    package : Package
        Its parts.

    Returns
    -------
    Book

    Raises
    ------
    UnreadableLogError
        If it lists no sheets.
    """
    part = next(iter(related_parts(package, "", "officeDocument").values()), "xl/workbook.xml")
    elements = read_small(package, part, "sheet", "workbookPr")
    cells_of = related_parts(package, part, "worksheet")
    sheets = [
        SheetPart(
            each.attributes.get("name", ""),
            cells_of[key],
            each.attributes.get("state", "visible") != "visible",
        )
        for each in elements
        if each.name == "sheet" and (key := _link(each.attributes)) in cells_of
    ]
    if not sheets:
        raise UnreadableLogError(f"{package.file} is a workbook without sheets; {SAVE_AGAIN}")
    asked = [each.attributes.get("date1904") for each in elements if each.name == "workbookPr"]
    from_1904 = any(value in ("1", "true") for value in asked)
    return Book(package, part, sheets, _shows(package, part, from_1904=from_1904), from_1904)


def related_parts(package: Package, part: str, kind: str) -> dict[str, str]:
    """Return the parts that one part refers to in one way, by their keys there.

    Parameters
    ----------
    package : Package
        The workbook.
    part : str
        The part that refers; empty for the package itself.
    kind : str
        Last word of the kind of relationship, such as "worksheet".

    Returns
    -------
    dict of str to str
    """
    folder, name = posixpath.split(part)
    links = posixpath.join(folder, "_rels", f"{name}.rels")
    if links not in package:
        return {}
    return {
        link.attributes.get("Id", ""): _inside(folder, link.attributes.get("Target", ""))
        for link in read_small(package, links, "Relationship")
        if link.attributes.get("Type", "").endswith(f"/{kind}")
    }


def read_shared_texts(book: Book) -> list[str]:
    """Return the texts that cells refer to by number.

    Parameters
    ----------
    book : Book
        The workbook.

    Returns
    -------
    list of str
        Runs of differently written letters joined, pronunciation left out.
    """
    texts: list[str] = []
    for part in related_parts(book.package, book.part, "sharedStrings").values():
        collector = _Texts(texts)
        walk(book.package, part, start=collector.start, end=collector.end, text=collector.take)
    return texts


def rows_of_totals(book: Book, sheet: SheetPart) -> list[int]:
    """Return the rows that sum up a table of the sheet, as the file itself declares.

    Parameters
    ----------
    book : Book
        The workbook.
    sheet : SheetPart
        One of its sheets.

    Returns
    -------
    list of int
        Counted from 1.
    """
    rows: list[int] = []
    for part in related_parts(book.package, sheet.part, "table").values():
        for table in read_small(book.package, part, "table"):
            spanned = read_range(table.attributes.get("ref", ""))
            if spanned is not None and table.attributes.get("totalsRowCount", "0") != "0":
                rows.append(spanned.bottom)
    return rows


class _Texts:
    """Collects the texts of a part of shared texts."""

    def __init__(self, texts: list[str]) -> None:
        self._texts = texts
        self._pieces: list[str] = []
        self._is_text = False
        self._is_spoken = False

    def start(self, name: str, _: dict[str, str]) -> None:
        """Begin a text, a piece of one, or how it is pronounced."""
        local = name.rpartition(":")[2]
        if local == "si":
            self._pieces = []
        elif local == "rPh":
            self._is_spoken = True
        elif local == "t":
            self._is_text = not self._is_spoken

    def take(self, text: str) -> None:
        """Add letters to the piece."""
        if self._is_text:
            self._pieces.append(text)

    def end(self, name: str) -> None:
        """End what began."""
        local = name.rpartition(":")[2]
        if local == "t":
            self._is_text = False
        elif local == "rPh":
            self._is_spoken = False
        elif local == "si":
            self._texts.append(unescape("".join(self._pieces)))


def _inside(folder: str, target: str) -> str:
    """Return the part a target names, which is relative to the folder unless it starts at /."""
    return posixpath.normpath(posixpath.join("/", folder, target)).lstrip("/")


def _link(attributes: Mapping[str, str]) -> str:
    """Return the key of the relationship that an element refers to."""
    return next((value for name, value in attributes.items() if name.endswith(":id")), "")


def _shows(package: Package, part: str, *, from_1904: bool) -> dict[str, Show]:
    """Return what shows the number of a cell, by its style; plain ones left out."""
    shows: dict[str, Show] = {}
    for styles in related_parts(package, part, "styles").values():
        elements = read_small(package, styles, "numFmt", "xf")
        codes = {str(key): code for key, code in BUILT_IN.items()}
        codes |= {
            each.attributes.get("numFmtId", ""): each.attributes.get("formatCode", "")
            for each in elements
            if each.parent == "numFmts"
        }
        used = [each.attributes for each in elements if each.parent == "cellXfs"]
        for at, style in enumerate(used):
            show = show_as(codes.get(style.get("numFmtId", ""), ""), from_1904=from_1904)
            if show is not plain_number:
                shows[str(at)] = show
    return shows
