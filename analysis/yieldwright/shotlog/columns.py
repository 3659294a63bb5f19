"""From a table of texts to a table of values, cell by cell and in the glossary's units."""

from __future__ import annotations

import dataclasses
from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

import numpy as np
import pandas as pd

from yieldwright.formatting import count, listing
from yieldwright.glossary import Quantity, Span, quantity
from yieldwright.shotlog.cells import read_cells
from yieldwright.shotlog.findings import Finding

if TYPE_CHECKING:
    from yieldwright.bench import Bench
    from yieldwright.shotlog.numerals import Cell
    from yieldwright.shotlog.reading import Sheet

__all__ = ["Typed", "entry_of", "read_columns", "score_column"]


@dataclass(frozen=True)
class Typed:
    """A table of values, and what its cells gave reason to say.

    Attributes
    ----------
    frame : DataFrame
        One row per data row; columns carry glossary names, scores `score:…`, and typed
        values of computed quantities `typed_…`.
    texts : dict of str to sequence of str
        The same columns as typed.
    refused : list of Finding
        Cells for which a row must be set aside.
    flagged : list of Finding
        Doubtful cells.
    remarks : list of str
        What was converted or left empty.
    """

    frame: pd.DataFrame
    texts: dict[str, Sequence[str]] = field(default_factory=dict)
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
        Gives scales of scores and the offset of times without one.

    Returns
    -------
    Typed

    Examples
    --------
    >>> from pathlib import Path
    >>> from tempfile import TemporaryDirectory
    >>> from yieldwright.bench import Bench
    >>> from yieldwright.shotlog.reading import read_sheet
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
    made: dict[str, Any] = {}
    for name, (entry, texts) in columns.items():
        cells = read_cells(texts, entry, decimal=sheet.decimal, offset=bench.time_zone_offset)
        typed.texts[name] = texts
        made |= _as_arrays(name, entry, texts, cells)
        _tell(typed, name, entry, texts, cells)
    typed.remarks.extend(_gaps(columns))
    frame = pd.DataFrame(made, index=typed.frame.index)
    return dataclasses.replace(typed, frame=frame)


def entry_of(name: str, bench: Bench) -> Quantity:
    """Return the entry by which a column is checked: ranges of the bench, scales of scores.

    Parameters
    ----------
    name : str
        Name of a column of `Typed.frame`.
    bench : Bench
        May widen ranges; gives the scales of scores.

    Returns
    -------
    Quantity

    Examples
    --------
    >>> from yieldwright.bench import Bench
    >>> str(entry_of("score:overall", Bench()).hard)
    '0–10'
    """
    if name.startswith("score:"):
        attribute = bench.attribute(name.removeprefix("score:"))
        span = Span(attribute.low, attribute.high)
        return dataclasses.replace(quantity("score"), name=name, hard=span, soft=span)
    own = bench.quantity(name.removeprefix("typed_"))
    if own.name.startswith("tds_") and own.name not in bench.ranges:
        whole = bench.quantity("tds_pct")
        return dataclasses.replace(own, hard=whole.hard, soft=whole.soft)
    return own


def score_column(attribute: str) -> str:
    """Return the name of the column that holds the scores of an attribute.

    Parameters
    ----------
    attribute : str
        Its name.

    Returns
    -------
    str

    Examples
    --------
    >>> score_column("overall")
    'score:overall'
    """
    return f"score:{attribute}"


def _named_columns(sheet: Sheet, bench: Bench) -> dict[str, tuple[Quantity, Sequence[str]]]:
    """Return entry and texts of each recognised column under its name in the values."""
    columns: dict[str, tuple[Quantity, Sequence[str]]] = {}
    for name, texts in sheet.texts("quantity").items():
        entry = entry_of(name, bench)
        is_check = entry.computed and sheet.table == "shots"
        columns[f"typed_{name}" if is_check else name] = (entry, texts)
    for attribute, texts in sheet.texts("attribute").items():
        name = score_column(attribute)
        columns[name] = (entry_of(name, bench), texts)
    return columns


def _as_arrays(
    name: str, entry: Quantity, texts: Sequence[str], cells: Mapping[str, Cell]
) -> dict[str, Any]:
    """Return the values of a column by its kind; a moment also gives its day."""
    values = {text: cell.value for text, cell in cells.items()}
    if entry.kind == "moment":
        return _moment_arrays(name, texts, values)
    if entry.is_numeric:
        numbers = {text: np.nan if value is None else value for text, value in values.items()}
        return {name: np.array([numbers[text] for text in texts], dtype=float)}
    if entry.kind == "date":
        return {name: _days(values, texts)}
    known: list[Any] = [values[text] for text in texts]
    if entry.kind == "flag":
        return {name: pd.array(known, dtype="boolean")}
    return {name: pd.array(known, dtype="str")}


def _moment_arrays(name: str, texts: Sequence[str], pulls: Mapping[str, Any]) -> dict[str, Any]:
    moments = {text: pull.moment if pull else None for text, pull in pulls.items()}
    ticks = {
        text: np.datetime64(moment.replace(tzinfo=None), "us") if moment else np.datetime64("NaT")
        for text, moment in moments.items()
    }
    stamps = np.array([ticks[text] for text in texts], dtype="datetime64[us]")
    days = {text: pull.day if pull else None for text, pull in pulls.items()}
    return {
        name: pd.Series(stamps).dt.tz_localize("UTC"),
        f"{name}:day": _days(days, texts),
    }


def _days(values: Mapping[str, Any], texts: Sequence[str]) -> np.ndarray:
    days = {text: np.datetime64(day or "NaT", "s") for text, day in values.items()}
    return np.array([days[text] for text in texts], dtype="datetime64[s]")


def _tell(
    typed: Typed, name: str, entry: Quantity, texts: Sequence[str], cells: Mapping[str, Cell]
) -> None:
    """Add what the cells of one column gave reason to say."""
    odd = {text for text, cell in cells.items() if cell.refusal or cell.flag}
    column = name.removeprefix("typed_")
    for row, text in enumerate(texts) if odd else ():
        if text in odd:
            cell = cells[text]
            finding = Finding(row, column, text, "", cell.suggestion)
            if cell.refusal:
                typed.refused.append(finding._replace(reason=f"{column}: {cell.refusal}"))
            else:
                typed.flagged.append(finding._replace(reason=cell.flag))
    typed.remarks.extend(_conversions(column, entry, texts, cells))


def _conversions(
    column: str, entry: Quantity, texts: Sequence[str], cells: Mapping[str, Cell]
) -> Iterable[str]:
    units = {text: cell.unit for text, cell in cells.items() if cell.unit}
    counted = Counter(units[text] for text in texts if text in units) if units else Counter()
    for unit, times in counted.items():
        yield f"{column}: {count(times, 'cell')} in {unit} converted to {entry.unit}."


def _gaps(columns: Mapping[str, tuple[Quantity, Sequence[str]]]) -> Iterable[str]:
    """Yield one sentence on the number columns with empty cells."""
    empty = {
        name.removeprefix("typed_"): sum(not text.strip() for text in texts)
        for name, (entry, texts) in columns.items()
        if entry.is_numeric
    }
    gaps = [f"{name} {times}" for name, times in empty.items() if times]
    if gaps:
        rows = max(len(texts) for _, texts in columns.values())
        yield f"Empty cells in {count(rows, 'row')}: {listing(gaps)}."
