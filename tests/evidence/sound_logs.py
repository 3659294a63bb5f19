"""One small log in every format and dialect, and what each of its rows must be read as."""

from __future__ import annotations

import csv
import io
import json
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

import pandas as pd

from tests.shotlog.workbooks import packed, parts, sheet_xml

__all__ = [
    "EXPECTED",
    "HEADER",
    "NARROW",
    "ROWS",
    "SoundLog",
    "json_log",
    "parquet_bytes",
    "parquet_log",
    "parquet_rows",
    "parquet_table",
    "text_logs",
    "workbook_log",
]

HEADER = (
    "shot",
    "pulled_at",
    "bag",
    "fate",
    "dose_g",
    "beverage_g",
    "time_s",
    "tds_pct",
    "notes",
)
#: Columns of a log that takes little time to read.
NARROW = ("shot", "bag", "dose_g", "time_s", "notes")
_NUMBERS = ("dose_g", "beverage_g", "time_s", "tds_pct")
#: As typed in a file with decimal points.
ROWS: tuple[tuple[str, ...], ...] = (
    ("s1", "2026-03-07T10:00", "b-7", "pulled", "18.0", "36.1", "30", "9.4", ""),
    ("s2", "2026-03-07T10:06", "b-7", "pulled", "18.1", "36.0", "0:31", "9.5", 'dry, "long"; ok'),
    ("s3", "2026-03-07T10:12", "007", "", "17.9", "35.8", "32 s", "9.1", "over\ntwo lines"),
    ("s4", "2026-03-07T10:18", "NA", "choked", "18.0", "12.1", "1:02", "", "süß – ok"),
    ("s5", "2026-03-07T10:24", "b-7", "pulled", "18.2 g", "36.4", "28", "9.0 %", '4" tray'),
    ("s6", "2026-03-07T10:30", "1E5", "pulled", "~18", "36.5", "31", "9.2", "#1"),
    ("s7", "2026-03-07T10:36", "b-7", "pulled", "18.1", "36.2", "29", "9.3", "thin"),
)
#: The same rows as values, worked out by hand: 0:31 is 31 s, 1:02 is 62 s.
_VALUES: tuple[tuple[Any, ...], ...] = (
    ("s1", "10:00", "b-7", "pulled", 18.0, 36.1, 30.0, 9.4, None),
    ("s2", "10:06", "b-7", "pulled", 18.1, 36.0, 31.0, 9.5, 'dry, "long"; ok'),
    ("s3", "10:12", "007", "pulled", 17.9, 35.8, 32.0, 9.1, "over\ntwo lines"),
    ("s4", "10:18", "NA", "choked", 18.0, 12.1, 62.0, None, "süß – ok"),
    ("s5", "10:24", "b-7", "pulled", 18.2, 36.4, 28.0, 9.0, '4" tray'),
    ("s6", "10:30", "1E5", "pulled", 18.0, 36.5, 31.0, 9.2, "#1"),
    ("s7", "10:36", "b-7", "pulled", 18.1, 36.2, 29.0, 9.3, "thin"),
)
#: By shot, the value of each column; None where it is missing.
EXPECTED: Mapping[str, Mapping[str, Any]] = {
    values[0]: dict(zip(HEADER, values, strict=True))
    | {"pulled_at": pd.Timestamp(f"2026-03-07T{values[1]}Z")}
    for values in _VALUES
}


@dataclass(frozen=True)
class SoundLog:
    """An undamaged file.

    Attributes
    ----------
    name : str
        Format and dialect.
    suffix : str
        Ending of its name.
    raw : bytes
        The file.
    header : sequence of str
        Its columns.
    shots : dict of str to str
        By the text of a record, without its line end, the shot it tells.
    """

    name: str
    suffix: str
    raw: bytes
    header: Sequence[str] = HEADER
    shots: Mapping[str, str] = field(default_factory=dict)

    @property
    def counts_lines(self) -> bool:
        """Whether its physical lines can be counted however it is damaged."""
        return self.suffix != ".xlsx"


@dataclass(frozen=True)
class _Dialect:
    name: str
    delimiter: str = ","
    decimal: str = "."
    encoding: str = "utf-8"
    end: str = "\n"
    is_all_quoted: bool = False
    above: str = ""

    def record(self, cells: Sequence[str]) -> str:
        """Return one record without its line end."""
        text = io.StringIO()
        quoting = csv.QUOTE_ALL if self.is_all_quoted else csv.QUOTE_MINIMAL
        csv.writer(text, delimiter=self.delimiter, quoting=quoting, lineterminator="\n").writerow(
            cells
        )
        return text.getvalue().removesuffix("\n")

    def row(self, cells: Mapping[str, str]) -> str:
        """Return one row with its numbers in this dialect."""
        return self.record(
            [
                cell.replace(".", self.decimal) if name in _NUMBERS else cell
                for name, cell in cells.items()
            ]
        )


_DIALECTS = (
    _Dialect("commas"),
    _Dialect("semicolons", ";", ",", "utf-8-sig", "\r\n"),
    _Dialect("tabs", "\t", encoding="cp1252"),
    _Dialect("carriage returns", end="\r"),
    _Dialect("UTF-16", "\t", ",", "utf-16"),
    _Dialect("all quoted", decimal=",", is_all_quoted=True),
    _Dialect("titles and units", ";", above="Our log;2026\n\n# spring\n"),
)
_UNITS = {"dose_g": "g", "beverage_g": "g", "time_s": "s", "tds_pct": "%"}


def text_logs(header: Sequence[str] = HEADER) -> list[SoundLog]:
    """Return the log as text, once in each dialect."""
    return [_text_log(dialect, header) for dialect in _DIALECTS]


def _text_log(dialect: _Dialect, header: Sequence[str]) -> SoundLog:
    records = [dialect.row(cells) for cells in _cells(header)]
    units = [dialect.record([_UNITS.get(name, "") for name in header])] if dialect.above else []
    text = "\n".join([dialect.above + dialect.record(header), *units, *records, ""])
    raw = text.replace("\n", dialect.end).encode(dialect.encoding)
    shots = dict(zip(records, EXPECTED, strict=True))
    return SoundLog(dialect.name, ".csv", raw, header, shots)


def json_log(header: Sequence[str] = HEADER) -> SoundLog:
    """Return the log as JSON lines, numbers as numbers."""
    lines = [json.dumps(_stored(cells), ensure_ascii=False) for cells in _cells(header)]
    raw = "\n".join([*lines, ""]).encode()
    return SoundLog("JSON lines", ".jsonl", raw, header, dict(zip(lines, EXPECTED, strict=True)))


def workbook_log(header: Sequence[str] = HEADER) -> SoundLog:
    """Return the log as a workbook, numbers as numbers; its records are rows of XML."""
    sheet = sheet_xml([header, *(list(_stored(cells).values()) for cells in _cells(header))])
    rows = re.findall(r"<row .*?</row>", sheet, re.DOTALL)[1:]
    shots = dict(zip(rows, EXPECTED, strict=True))
    return SoundLog("workbook", ".xlsx", packed(parts(sheet)), header, shots)


def parquet_log(header: Sequence[str] = HEADER) -> SoundLog:
    """Return the log as Parquet, every cell a text; its records are rows, written out."""
    raw = parquet_bytes(header, [list(cells.values()) for cells in _cells(header)])
    shots = dict(zip(parquet_rows(raw), EXPECTED, strict=True))
    return SoundLog("Parquet", ".parquet", raw, header, shots)


def parquet_bytes(header: Sequence[str], rows: Sequence[Sequence[str | None]]) -> bytes:
    """Return a table of texts as Parquet."""
    import pyarrow as pa
    from pyarrow import parquet

    columns = [pa.array(list(column), pa.string()) for column in zip(*rows, strict=True)]
    raw = io.BytesIO()
    parquet.write_table(pa.Table.from_arrays(columns, names=list(header)), raw)
    return raw.getvalue()


def parquet_table(raw: bytes) -> tuple[list[str], list[list[str]]]:
    """Return the names of a Parquet table of texts, and its rows."""
    from pyarrow import parquet

    table = parquet.read_table(io.BytesIO(raw))
    columns = [column.to_pylist() for column in table.columns]
    return table.column_names, [list(row) for row in zip(*columns, strict=True)]


def parquet_rows(raw: bytes) -> list[str]:
    """Return the rows of a Parquet file, written out; empty ones where not all can be read."""
    from pyarrow import parquet

    try:
        columns = [column.to_pylist() for column in parquet.read_table(io.BytesIO(raw)).columns]
    except (OSError, ValueError):
        return [""] * int(parquet.read_metadata(io.BytesIO(raw)).num_rows)
    return [repr(row) for row in zip(*columns, strict=True)]


def _cells(header: Sequence[str]) -> list[dict[str, str]]:
    """Return the cells of each row by the names of some columns."""
    rows = [dict(zip(HEADER, row, strict=True)) for row in ROWS]
    return [{name: row[name] for name in header} for row in rows]


def _stored(cells: Mapping[str, str]) -> dict[str, Any]:
    """Return cells as a program would store them."""
    return {
        name: _value(cell) if name in _NUMBERS else cell or None for name, cell in cells.items()
    }


def _value(cell: str) -> Any:
    if not re.fullmatch(r"[0-9]+(\.[0-9]+)?", cell):
        return cell or None
    return float(cell) if "." in cell else int(cell)
