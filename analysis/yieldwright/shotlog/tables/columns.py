"""From a table of texts to a table of values, cell by cell and in the glossary's units."""

from __future__ import annotations

import dataclasses
from collections import Counter
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

import numpy as np
import pandas as pd

from yieldwright.formatting import count, listing
from yieldwright.shotlog.cells.cells import Cells, Dating, read_cells
from yieldwright.shotlog.cells.numerals import Writing
from yieldwright.shotlog.cells.units import conversion_basis
from yieldwright.shotlog.findings import Finding
from yieldwright.shotlog.headers.entries import entry_of, half_width_column, score_column

if TYPE_CHECKING:
    from yieldwright.bench import Bench
    from yieldwright.glossary import Quantity
    from yieldwright.shotlog.formats.texts import TextColumn
    from yieldwright.shotlog.tables.reading import Sheet

__all__ = ["Typed", "read_columns"]


@dataclass(frozen=True)
class Typed:
    """A table of values, and what its cells gave reason to say.

    Attributes
    ----------
    frame : DataFrame
        One row per data row; columns carry glossary names, scores `score:…`, and typed
        values of computed quantities `typed_…`.
    texts : dict of str to TextColumn
        The same columns as typed.
    refused : list of Finding
        Cells for which a row must be set aside.
    flagged : list of Finding
        Doubtful cells.
    remarks : list of str
        What was converted or left empty.
    """

    frame: pd.DataFrame
    texts: dict[str, TextColumn] = field(default_factory=dict)
    refused: list[Finding] = field(default_factory=list)
    flagged: list[Finding] = field(default_factory=list)
    remarks: list[str] = field(default_factory=list)


def read_columns(sheet: Sheet, bench: Bench) -> Typed:
    r"""Return the recognised columns of a sheet as values.

    Parameters
    ----------
    sheet : Sheet
        Rows as text.
    bench : Bench
        Gives scales of scores, and how numbers and days are written where it says so.

    Returns
    -------
    Typed

    Examples
    --------
    >>> from pathlib import Path
    >>> from tempfile import TemporaryDirectory
    >>> from yieldwright.bench import Bench
    >>> from yieldwright.shotlog.tables.reading import read_sheet
    >>> with TemporaryDirectory() as folder:
    ...     path = Path(folder, "shots.csv")
    ...     _ = path.write_text("shot,time_s\n007,0:36\nNA,about 40\n", encoding="utf-8")
    ...     typed = read_columns(read_sheet(path, "shots", Bench()), Bench())
    >>> typed.frame
      shot  time_s
    0  007    36.0
    1   NA    40.0
    >>> typed.flagged[0].reason
    'said to be approximate; taken as it stands'
    """
    columns = _named_columns(sheet, bench)
    typed = Typed(pd.DataFrame(index=pd.RangeIndex(len(sheet.rows))))
    dating = Dating(bench.time_zone_offset, bench.day_order, bench.knows_its_clock)
    made: dict[str, Any] = {}
    units = {header.name: header.unit for header in sheet.headers if header.role == "quantity"}
    for name, (entry, texts) in columns.items():
        writing = _writing(sheet, bench, units.get(name.removeprefix("typed_"), ""))
        cells = read_cells(texts, entry, writing, dating)
        typed.texts[name] = texts
        made |= _as_arrays(name, texts, cells)
        _tell(typed, name, entry, texts, cells)
        typed.remarks.extend(each for each in _bases(cells, writing) if each not in typed.remarks)
    _settle_days(made, sheet.exported)
    typed.remarks.extend(_gaps(columns))
    frame = pd.DataFrame(made, index=typed.frame.index, copy=False)
    return dataclasses.replace(typed, frame=frame)


def _settle_days(made: dict[str, Any], exported: np.ndarray) -> None:
    """Let the day of a moment be the one that an export says: Parquet knows no offsets."""
    if "pulled_on" in made and "pulled_at:day" in made and exported.any():
        days = made["pulled_on"]
        made["pulled_at:day"] = np.where(exported & ~np.isnat(days), days, made["pulled_at:day"])


def _writing(sheet: Sheet, bench: Bench, unit: str) -> Writing:
    return Writing(
        decimal=sheet.decimal,
        unit=unit,
        density_g_per_ml=bench.density_g_per_ml,
        refractometer=bench.refractometer,
    )


def _named_columns(sheet: Sheet, bench: Bench) -> dict[str, tuple[Quantity, TextColumn]]:
    """Return entry and texts of each recognised column under its name in the values."""
    columns: dict[str, tuple[Quantity, TextColumn]] = {}
    for name, texts in sheet.texts("quantity").items():
        entry = entry_of(name, bench)
        is_check = entry.computed and sheet.table == "shots"
        columns[f"typed_{name}" if is_check else name] = (entry, texts)
    for attribute, texts in sheet.texts("attribute").items():
        name = score_column(attribute)
        columns[name] = (entry_of(name, bench), texts)
    return columns


def _as_arrays(name: str, texts: TextColumn, cells: Cells) -> dict[str, Any]:
    """Return the values of a column, row by row; a moment also gives its day."""
    values = cells.held[texts.codes]
    if cells.days is not None:
        moments = pd.DatetimeIndex(values).tz_localize("UTC").array
        return {name: moments, f"{name}:day": cells.days[texts.codes]}
    half_width = {at: cell.half_width for at, cell in cells.odd.items() if cell.half_width}
    if not half_width:
        return {name: values}
    widths = np.full(len(texts.texts), np.nan)
    widths[list(half_width)] = list(half_width.values())
    return {name: values, half_width_column(name): widths[texts.codes]}


def _tell(typed: Typed, name: str, entry: Quantity, texts: TextColumn, cells: Cells) -> None:
    """Add what the cells of one column gave reason to say."""
    if cells.remark:
        typed.remarks.append(cells.remark)
    if not cells.odd:
        return
    column = name.removeprefix("typed_")
    is_odd = np.zeros(len(texts.texts), dtype=bool)
    is_odd[list(cells.odd)] = True
    rows = np.flatnonzero(is_odd[texts.codes])
    units: Counter[str] = Counter()
    for row, code in zip(rows.tolist(), texts.codes[rows].tolist(), strict=True):
        cell, text = cells.odd[code], texts.texts[code]
        finding = Finding(row, column, text, "", cell.suggestion)
        if cell.refusal:
            typed.refused.append(finding._replace(reason=f"{column}: {cell.refusal}"))
        elif cell.flag:
            typed.flagged.append(finding._replace(reason=cell.flag))
        if cell.unit:
            units[cell.unit] += 1
    for unit, times in units.items():
        sentence = f"{column}: {count(times, 'cell')} in {unit} converted to {entry.unit}."
        typed.remarks.append(sentence)


def _bases(cells: Cells, writing: Writing) -> list[str]:
    """Return what conversions of a column rest on besides definitions."""
    units = dict.fromkeys(cell.unit for cell in cells.odd.values() if cell.unit)
    bases = [
        conversion_basis(
            unit,
            density_g_per_ml=writing.density_g_per_ml,
            refractometer=writing.refractometer,
        )
        for unit in units
    ]
    return [basis for basis in dict.fromkeys(bases) if basis]


def _gaps(columns: Mapping[str, tuple[Quantity, TextColumn]]) -> Iterable[str]:
    """Yield one sentence on the number columns with empty cells."""
    empty = {
        name.removeprefix("typed_"): int(texts.is_blank().sum())
        for name, (entry, texts) in columns.items()
        if entry.is_numeric and not name.startswith("half_width_")
    }
    gaps = [f"{name} {times:,}" for name, times in empty.items() if times]
    if gaps:
        rows = max(len(texts) for _, texts in columns.values())
        yield f"Empty cells in {count(rows, 'row')}: {listing(gaps)}."
