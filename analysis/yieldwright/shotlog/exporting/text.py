"""A table as delimited text: quoted where needed, exact, and safe to open."""

from __future__ import annotations

import math
import re
from collections.abc import Iterable, Mapping, Sequence
from typing import TYPE_CHECKING, Any

import numpy as np
import pandas as pd

from yieldwright.shotlog.exporting.tables import moment_text
from yieldwright.shotlog.formats.guarding import ESCAPED, GUARDED, UNFIT_FOR_TEXT, protect
from yieldwright.shotlog.formats.records import split_records

if TYPE_CHECKING:
    from yieldwright.bench import Bench
    from yieldwright.shotlog.exporting.tables import ExportColumn, ExportTable
    from yieldwright.shotlog.formats.source import Decimal, Delimiter

__all__ = [
    "TEXT_KINDS",
    "bench_dialect",
    "delimited",
    "delimited_table",
    "number_text",
    "safe_text",
    "texts_of",
    "texts_or_none",
]

_MARKS: dict[str, str] = {"comma": ",", "semicolon": ";", "tab": "\t"}
#: Lets a spreadsheet see that the file is UTF-8.
_BYTE_ORDER_MARK = "\ufeff"
#: Kinds of columns that hold free text.
TEXT_KINDS = ("text", "choice")
#: A separator inside a text behind which a formula would begin, where a spreadsheet
#: splits the file at another sign than we do.
_SMUGGLED = r"(?<=[\s\S])[;,\t\n](?=[\s\"']*(?:[=@＝＠]|[+\-＋－][^;,\t\n]*[|(!]))"
_UNFIT = re.compile(f"{UNFIT_FOR_TEXT.pattern}|{_SMUGGLED}")
_UNFIT_IN_LINES = re.compile(rf"{UNFIT_FOR_TEXT.pattern}|\n|{_SMUGGLED}")
_WHOLE_BELOW = 1e15


def bench_dialect(bench: Bench, *, tabs: bool = False) -> tuple[Delimiter, Decimal]:
    """Return how a bench's text files are written, so that it reads them back.

    Parameters
    ----------
    bench : Bench
        May state delimiter and decimal mark.
    tabs : bool
        Whether tabs were asked for.

    Returns
    -------
    delimiter : {"comma", "semicolon", "tab"}
        Commas where the bench states nothing.
    decimal : {"point", "comma"}
        A point where the bench states nothing.

    Examples
    --------
    >>> from yieldwright.bench import Bench
    >>> bench_dialect(Bench(delimiter="semicolon", decimal="comma"))
    ('semicolon', 'comma')
    """
    decimal: Decimal = bench.decimal or "point"
    usual: Delimiter = "semicolon" if decimal == "comma" else "comma"
    return bench.delimiter or ("tab" if tabs else usual), decimal


def delimited_table(table: ExportTable, delimiter: Delimiter, decimal: Decimal) -> str:
    r"""Return a table as text, its last columns saying which cells were made safe.

    Parameters
    ----------
    table : ExportTable
        What to write.
    delimiter : {"comma", "semicolon", "tab"}
        Stands between cells.
    decimal : {"point", "comma"}
        Stands before decimals.

    Returns
    -------
    str
        With a byte-order mark, line feeds, and one for the last line.

    Examples
    --------
    >>> from yieldwright.shotlog.exporting.tables import ExportColumn, ExportTable
    >>> dose = ExportColumn("dose_g", "number", "g", "Dose.", pd.Series([18.1]))
    >>> delimited_table(ExportTable("shots", (dose,), 1), "semicolon", "comma")
    '\ufeffdose_g;guarded\n18,1;\n'
    """
    plain = {
        each.header: texts_of(each, decimal)
        for each in table.columns
        if each.kind not in TEXT_KINDS
    }
    texts = {
        each.header: texts_or_none(each.cells) for each in table.columns if each.kind in TEXT_KINDS
    }
    order = [each.header for each in table.columns]
    return safe_text(order, plain, texts, delimiter)


def texts_or_none(cells: Sequence[Any] | pd.Series[Any]) -> list[str | None]:
    """Return texts, None where one is missing.

    Parameters
    ----------
    cells : sequence or Series
        Texts and missing values.

    Returns
    -------
    list of str or None

    Examples
    --------
    >>> texts_or_none(["sweet", None])
    ['sweet', None]
    """
    known = np.array(cells, dtype=object)
    known[pd.isna(known)] = None
    texts: list[str | None] = known.tolist()
    return texts


def safe_text(
    order: Sequence[str],
    plain: Mapping[str, Sequence[str]],
    texts: Mapping[str, Sequence[str | None]],
    delimiter: Delimiter,
) -> str:
    r"""Return columns as delimited text that is safe to open and says which cells were treated.

    Parameters
    ----------
    order : sequence of str
        Headers in the order they are written.
    plain : mapping of str to sequence of str
        Columns that hold no free text.
    texts : mapping of str to sequence of str or None
        Those that do.
    delimiter : {"comma", "semicolon", "tab"}
        Stands between cells.

    Returns
    -------
    str

    Examples
    --------
    >>> safe_text(["bag"], {}, {"bag": ["=1"]}, "comma").splitlines()
    ['\ufeffbag,guarded', "'=1,bag"]
    """
    written = ""
    for unfit in (_UNFIT, _UNFIT_IN_LINES):
        safe = protect(texts, unfit=unfit, guard=True)
        cells = {**plain, **safe.columns}
        columns = [cells[header] for header in order]
        marks = {GUARDED: safe.guarded or [""] * max(map(len, columns), default=0)}
        if any(safe.escaped):
            marks[ESCAPED] = safe.escaped
        written = delimited([*order, *marks], [*columns, *marks.values()], delimiter)
        if written:
            break
    return written


def delimited(
    headers: Sequence[str], columns: Sequence[Sequence[str]], delimiter: Delimiter
) -> str:
    r"""Return cells as delimited text, empty where a reader would not get them back.

    Parameters
    ----------
    headers : sequence of str
        One per column.
    columns : sequence of sequence of str
        Cells of equal length.
    delimiter : {"comma", "semicolon", "tab"}
        Stands between cells.

    Returns
    -------
    str

    Notes
    -----
    A note over several lines can hold a line that looks like a row of its own, which
    our reader takes for a quote left open.

    Examples
    --------
    >>> delimited(["shot", "notes"], [["1"], ["sweet, long"]], "comma").splitlines()
    ['\ufeffshot,notes', '1,"sweet, long"']
    """
    mark = _MARKS[delimiter]
    needs = re.compile(rf"[{mark}\"\n\t]|\A[\s#]|\s\Z")
    quoted = [_quoted(column, needs) for column in columns]
    head = mark.join(_quoted(headers, needs))
    rows = list(map(mark.join, zip(*quoted, strict=True)))
    if not all(_comes_back(row, mark, len(headers)) for row in rows if "\n" in row):
        return ""
    return f"{_BYTE_ORDER_MARK}" + "\n".join([head, *rows, ""])


def texts_of(column: ExportColumn, decimal: Decimal) -> list[str]:
    """Return the cells of a column as texts that read back to the same values.

    Parameters
    ----------
    column : ExportColumn
        Any kind.
    decimal : {"point", "comma"}
        Stands before decimals.

    Returns
    -------
    list of str
        Empty where a value is missing.

    Examples
    --------
    >>> from yieldwright.shotlog.exporting.tables import ExportColumn
    >>> texts_of(ExportColumn("filtered", "flag", "", "", pd.Series([True, None])), "point")
    ['yes', '']
    """
    if column.kind == "moment":
        return _moments(column)
    values: list[Any] = column.cells.tolist()
    if column.kind in ("number", "integer"):
        known = {value: number_text(value, decimal) for value in dict.fromkeys(values)}
        return [known[value] for value in values]
    if column.kind == "date":
        return ["" if pd.isna(value) else value.date().isoformat() for value in values]
    if column.kind == "flag":
        return ["" if pd.isna(value) else ("yes" if value else "no") for value in values]
    return ["" if pd.isna(value) else str(value) for value in values]


def number_text(value: float, decimal: Decimal = "point") -> str:
    """Return the shortest text that reads back to the same number, empty where missing.

    Parameters
    ----------
    value : float
        Any number.
    decimal : {"point", "comma"}
        Stands before decimals.

    Returns
    -------
    str

    Examples
    --------
    >>> number_text(18.0), number_text(0.1 + 0.2), number_text(9.4, "comma")
    ('18', '0.30000000000000004', '9,4')
    """
    if math.isnan(value):
        return ""
    if value.is_integer() and abs(value) < _WHOLE_BELOW:
        return str(int(value))
    text = repr(float(value))
    return text.replace(".", ",") if decimal == "comma" else text


def _moments(column: ExportColumn) -> list[str]:
    moments = column.cells.dt.tz_convert(None).to_numpy().astype("datetime64[us]").tolist()
    pairs = zip(moments, column.offsets, strict=True)
    return ["" if moment is None else moment_text(moment, offset) for moment, offset in pairs]


def _quoted(cells: Iterable[str], needs: re.Pattern[str]) -> list[str]:
    known: dict[str, str] = {}
    for cell in cells:
        if cell not in known:
            doubled = cell.replace('"', '""')
            known[cell] = f'"{doubled}"' if needs.search(cell) else cell
    return [known[cell] for cell in cells]


def _comes_back(row: str, mark: str, width: int) -> bool:
    """Return whether a row over several lines is read as one."""
    record = next(iter(split_records(row.split("\n"), mark, width=width)))
    return record.kind == "row" and record.raw == row and len(record.cells) == width
