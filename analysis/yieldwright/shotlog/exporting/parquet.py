"""A table as Parquet: typed columns, each with its unit and meaning beside it."""

from __future__ import annotations

import io
import re
from typing import TYPE_CHECKING, Any

import pandas as pd

from yieldwright.errors import NotWritableError
from yieldwright.shotlog.exporting.text import TEXT_KINDS, texts_or_none
from yieldwright.shotlog.formats.guarding import ESCAPED, GUARDED, protect

if TYPE_CHECKING:
    from yieldwright.shotlog.exporting.tables import ExportColumn, ExportTable

__all__ = ["parquet"]

#: Half characters have no place in UTF-8.
_UNFIT = re.compile(r"[\ud800-\udfff]")


def parquet(table: ExportTable) -> bytes:
    """Return a table as the bytes of a Parquet file.

    Parameters
    ----------
    table : ExportTable
        What to write.

    Returns
    -------
    bytes

    Raises
    ------
    NotWritableError
        If pyarrow is not installed.

    Examples
    --------
    >>> from yieldwright.shotlog.exporting.tables import ExportColumn, ExportTable
    >>> dose = ExportColumn("dose_g", "number", "g", "Dose.", pd.Series([18.1]))
    >>> parquet(ExportTable("shots", (dose,), 1))[:4]
    b'PAR1'
    """
    try:
        import pyarrow as pa
        from pyarrow import parquet as pq
    except ImportError:
        raise NotWritableError(
            "Parquet needs pyarrow: python -m pip install 'yieldwright[parquet]', or export to "
            ".csv or .xlsx"
        ) from None
    texts = {
        each.header: texts_or_none(each.cells) for each in table.columns if each.kind in TEXT_KINDS
    }
    safe = protect(texts, unfit=_UNFIT, guard=False)
    fields, arrays = [], []
    for each in table.columns:
        cells = _cells(each, texts.get(each.header), safe.columns.get(each.header))
        arrays.append(pa.array(cells, type=_type(pa, each)))
        about = {"unit": each.unit, "meaning": each.meaning}
        fields.append(pa.field(each.header, arrays[-1].type, metadata=_filled(about)))
    marks = {GUARDED: [""] * table.n_rows}
    marks |= {ESCAPED: safe.escaped} if any(safe.escaped) else {}
    for name, cells in marks.items():
        arrays.append(pa.array([cell or None for cell in cells], type=pa.string()))
        fields.append(pa.field(name, pa.string()))
    packed = io.BytesIO()
    pq.write_table(pa.Table.from_arrays(arrays, schema=pa.schema(fields)), packed)
    return packed.getvalue()


def _filled(about: dict[str, str]) -> dict[str, str]:
    return {name: text for name, text in about.items() if text}


def _type(pa: Any, column: ExportColumn) -> Any:  # noqa: ANN401 - pyarrow publishes no types
    kinds = {
        "number": pa.float64(),
        "integer": pa.int64(),
        "flag": pa.bool_(),
        "date": pa.date32(),
        "moment": pa.timestamp("us", tz="UTC"),
    }
    return kinds.get(column.kind, pa.string())


def _cells(
    column: ExportColumn, texts: list[str | None] | None, safe: list[str] | None
) -> list[Any]:
    """Return the cells of a column as plain values, None where one is missing."""
    if texts is not None and safe is not None:
        return [None if text is None else cell for text, cell in zip(texts, safe, strict=True)]
    values = [None if pd.isna(value) else value for value in column.cells.tolist()]
    if column.kind == "integer":
        return [None if value is None else int(value) for value in values]
    if column.kind == "date":
        return [None if value is None else value.date() for value in values]
    return values
