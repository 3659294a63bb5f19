"""A workbook as bytes: the same content gives the same bytes, on any day."""

from __future__ import annotations

import io
import zipfile
from collections.abc import Mapping
from datetime import datetime
from types import MappingProxyType
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from openpyxl import Workbook

__all__ = ["packed"]

_NO_DAY = (1980, 1, 1, 0, 0, 0)  # the first that an archive can hold
_MADE = datetime(2000, 1, 1)  # noqa: DTZ001  # the format knows no zone
_END = b"</worksheet>"


def packed(
    workbook: Workbook, *, numbers_as_text: Mapping[int, str] = MappingProxyType({})
) -> bytes:
    """Return a workbook as a file holds it, without the moment it was made.

    Parameters
    ----------
    workbook : openpyxl.Workbook
        As it shall be written; its properties are set.
    numbers_as_text : mapping of int to str
        By the sheet's place, counted from 1: cells in which text that looks like a number
        is meant, so that a spreadsheet puts no warning on each.

    Returns
    -------
    bytes

    Examples
    --------
    >>> from openpyxl import Workbook
    >>> packed(Workbook()) == packed(Workbook())
    True
    """
    from openpyxl.writer.excel import ExcelWriter

    properties = workbook.properties
    properties.creator, properties.created, properties.modified = "yieldwright", _MADE, _MADE
    written = io.BytesIO()
    ExcelWriter(workbook, zipfile.ZipFile(written, "w")).save()
    quiet = {
        f"xl/worksheets/sheet{place}.xml": _quietened(cells)
        for place, cells in numbers_as_text.items()
    }
    out = io.BytesIO()
    with zipfile.ZipFile(written) as parts, zipfile.ZipFile(out, "w") as archive:
        for part in parts.infolist():
            content = parts.read(part).replace(_END, quiet.get(part.filename, b"") + _END)
            entry = zipfile.ZipInfo(part.filename, _NO_DAY)
            archive.writestr(entry, content, zipfile.ZIP_DEFLATED)
    return out.getvalue()


def _quietened(cells: str) -> bytes:
    """Return the element that takes warnings off cells; it stands last on a plain sheet."""
    return (
        f'<ignoredErrors><ignoredError sqref="{cells}" numberStoredAsText="1"/></ignoredErrors>'
    ).encode()
