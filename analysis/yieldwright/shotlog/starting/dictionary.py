"""The data dictionary: what each column of a log holds, made from the glossary."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass
from typing import TYPE_CHECKING

from yieldwright.formatting import MINUS, listing
from yieldwright.glossary import (
    EXTRACTION_CEILING_PCT,
    SHOT_QUANTITIES,
    TASTING_QUANTITIES,
    Quantity,
    Span,
)
from yieldwright.shotlog.cells.number_examples import number_examples

if TYPE_CHECKING:
    from yieldwright.bench import Bench

__all__ = ["DICTIONARY_HEAD", "DictionaryRow", "data_dictionary", "dictionary_rows", "spoken"]

DICTIONARY_HEAD = (
    "Column",
    "Unit",
    "What to write",
    "Example",
    "Set aside outside",
    "Flagged outside",
    "Computed",
)
_HOW_TO_FILL_IN = (
    "One row for each shot in `shots.csv`, one row for each score in `tastings.csv`. Only the "
    "columns you keep need to be there; leave a cell empty where nothing was measured. Headers "
    "of your own are mapped to these names in `bench.toml`, which may also widen the ranges. "
    "Codes, not names, for people."
)
_HOW_TO_READ = (
    "**Set aside outside**: the row is not used, and is listed with the reason. **Flagged "
    "outside**: the row is kept, and marked as unusual. A computed column is worked out from "
    "the others; typed all the same, it serves as a cross-check. Repeated readings of the "
    "strength go to `tds_1_pct`, `tds_2_pct` and so on. An extraction yield above "
    f"{EXTRACTION_CEILING_PCT:g} % is more than water can dissolve: the row is flagged and left "
    "out of every fit, whatever the bench says."
)
_HOW_TO_WRITE = (
    "A number alone is in the unit of its column, or in the one its header names: `Dose (oz)`. "
    "A unit behind it is converted. What may mean two things is never guessed: the row is set "
    "aside, with what may be meant. With decimal commas, write `18,2` throughout."
)
_ABOUT_TASTE = (
    "A taste attribute has a column of its own name, such as `overall`, with the mean of those "
    "who tasted; with several tasters keep the tastings table instead."
)
_KINDS = {
    "number": "a number",
    "integer": "a whole number",
    "flag": "yes or no",
    "date": "a day, year first",
    "moment": "day and time, year first, with the offset of the clock",
}


@dataclass(frozen=True, slots=True)
class DictionaryRow:
    """What the dictionary says of one column.

    Attributes
    ----------
    name : str
        Its name in the glossary.
    unit : str
        Empty for text and pure numbers.
    meaning : str
        What it is, and what to write.
    example : str
        A cell as one might type it.
    hard, soft : str
        Outside these a row is set aside, or kept and flagged; empty where anything goes.
    computed : str
        "yes" where we work it out.
    source : str
        Where the ranges come from; empty where there are none.
    """

    name: str
    unit: str
    meaning: str
    example: str
    hard: str
    soft: str
    computed: str
    source: str


def dictionary_rows(
    entries: Iterable[Quantity], *, bench: Bench | None = None
) -> list[DictionaryRow]:
    """Return what the dictionary says of each column.

    Parameters
    ----------
    entries : iterable of Quantity
        From the glossary.
    bench : Bench or None
        May widen the ranges.

    Returns
    -------
    list of DictionaryRow

    Examples
    --------
    >>> from yieldwright.glossary import quantity
    >>> (row,) = dictionary_rows([quantity("dose_g")])
    >>> row.unit, row.hard, row.soft
    ('g', '5–30', '14–22')
    """
    return [_row(bench.quantity(entry.name) if bench else entry) for entry in entries]


def data_dictionary() -> str:
    """Return what each column of a log holds, as Markdown made from the glossary.

    Returns
    -------
    str

    Examples
    --------
    >>> print(data_dictionary().splitlines()[0])
    # Data dictionary of a shot log
    """
    parts = [
        "# Data dictionary of a shot log",
        _HOW_TO_FILL_IN,
        _HOW_TO_READ,
        "## Shots",
        _table(SHOT_QUANTITIES),
        _ABOUT_TASTE,
        "## Tastings",
        _table(TASTING_QUANTITIES),
        "## How a number may be written",
        _HOW_TO_WRITE,
        number_examples(),
        "## Where the ranges come from",
        _sources((*SHOT_QUANTITIES, *TASTING_QUANTITIES)),
    ]
    return "\n\n".join(parts) + "\n"


def spoken(span: Span) -> str:
    """Return a range as the dictionary writes it; a dash after a minus would read badly.

    Parameters
    ----------
    span : Span
        Range of a quantity.

    Returns
    -------
    str
        Empty where any number lies in it.

    Examples
    --------
    >>> spoken(Span(-16, 16)), spoken(Span(5, 30)), spoken(Span())
    ('−16 to 16', '5–30', '')
    """
    if span == Span():
        return ""
    if span.low < 0 and math.isfinite(span.high):
        return f"{span.low:g} to {span.high:g}".replace("-", MINUS)
    return str(span)


def _row(entry: Quantity) -> DictionaryRow:
    has_ranges = (entry.hard, entry.soft) != (Span(), Span())
    return DictionaryRow(
        entry.name,
        "" if entry.unit == "1" else entry.unit,
        f"{entry.meaning} {_wanted(entry)}".strip(),
        entry.example,
        spoken(entry.hard),
        spoken(entry.soft),
        "yes" if entry.computed else "",
        entry.source if has_ranges else "",
    )


def _wanted(entry: Quantity) -> str:
    if entry.choices:
        return f"Write {listing(entry.choices, last='or')}."
    return f"Write {_KINDS[entry.kind]}." if entry.kind in _KINDS else ""


def _table(entries: Iterable[Quantity]) -> str:
    lines = [DICTIONARY_HEAD, ("---",) * len(DICTIONARY_HEAD)]
    lines += [_cells(row) for row in dictionary_rows(entries)]
    return "\n".join(f"| {' | '.join(cells)} |" for cells in lines)


def _cells(row: DictionaryRow) -> tuple[str, ...]:
    return (
        f"`{row.name}`",
        row.unit,
        row.meaning,
        f"`{row.example}`" if row.example else "",
        row.hard,
        row.soft,
        row.computed,
    )


def _sources(entries: Iterable[Quantity]) -> str:
    """Return the published sources of ranges; whatever is not named has none."""
    practice = "common practice, no source"
    named: dict[str, list[str]] = {}
    for row in dictionary_rows(entries):
        if row.source not in ("", practice):
            named.setdefault(row.source, []).append(f"`{row.name}`")
    lines = [f"- {listing(names)}: {source}." for source, names in named.items()]
    return "\n".join([*lines, f"- All others: {practice}."])
