"""What a bench begins with: an empty log, a dictionary of its columns, a sheet to write on."""

from __future__ import annotations

import csv
import io
import math
from collections.abc import Iterable, Mapping
from pathlib import Path
from typing import TYPE_CHECKING

from yieldwright.formatting import MINUS, listing
from yieldwright.glossary import (
    EXTRACTION_CEILING_PCT,
    SHOT_QUANTITIES,
    TASTING_QUANTITIES,
    Quantity,
    Span,
    quantity,
)
from yieldwright.shotlog._paper import score_header, sheet_texts

if TYPE_CHECKING:
    from yieldwright.bench import Bench

__all__ = ["data_dictionary", "paper_sheet", "shots_template"]

#: What a log begins with, in the order a bench fills it in; the dictionary has the rest.
_FIRST_COLUMNS = (
    *("shot", "pulled_at", "fate", "stage", "bag", "roasted_on"),
    *("dose_g", "grinder", "grind_setting", "purged_g", "temp_band"),
    *("hold_bar", "end_bar", "time_s", "time_from", "beverage_g", "tds_pct"),
)
_LAST_COLUMNS = ("barista", "notes")
_CHOKED = {
    "shot": "2",
    "pulled_at": "2026-03-07T10:32+01:00",
    "fate": "choked",
    "notes": "choked, so the cup was not weighed",
}
_UNKNOWN_WHEN_CHOKED = ("hold_bar", "end_bar", "time_s", "beverage_g", "tds_pct")

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
_ABOUT_TASTE = (
    "A taste attribute has a column of its own name, such as `overall`, with the mean of those "
    "who tasted; with several tasters keep the tastings table instead."
)
_DICTIONARY_HEAD = (
    "Column",
    "Unit",
    "What to write",
    "Example",
    "Set aside outside",
    "Flagged outside",
    "Computed",
)
_KINDS = {
    "number": "a number",
    "integer": "a whole number",
    "flag": "yes or no",
    "date": "a day, year first",
    "moment": "day and time, year first, with the offset of the clock",
}


def shots_template(bench: Bench) -> str:
    r"""Return a log with its header and two example rows, which are comments.

    Parameters
    ----------
    bench : Bench
        Its headers, delimiter, decimal sign and attributes are used.

    Returns
    -------
    str
        One line for the header, one to explain, one for each example.

    Examples
    --------
    >>> from yieldwright.bench import Bench
    >>> shots_template(Bench()).split(",")[:4]
    ['shot', 'pulled_at', 'fate', 'stage']
    """
    header = _headers(bench, _FIRST_COLUMNS)
    header += [score_header(bench, attribute) for attribute in bench.attributes]
    header += _headers(bench, _LAST_COLUMNS)
    lines = [
        _line(header, bench),
        "# Lines that start with # are passed over: delete these or write below them.\n",
        "# " + _line(_example(bench, {}, {}), bench),
        "# " + _line(_example(bench, _CHOKED, dict.fromkeys(_UNKNOWN_WHEN_CHOKED, "")), bench),
    ]
    return "".join(lines)


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
        _dictionary_table(SHOT_QUANTITIES),
        _ABOUT_TASTE,
        "## Tastings",
        _dictionary_table(TASTING_QUANTITIES),
        "## Where the ranges come from",
        _sources((*SHOT_QUANTITIES, *TASTING_QUANTITIES)),
    ]
    return "\n\n".join(parts) + "\n"


def paper_sheet(bench: Bench) -> str:
    """Return a blank sheet to print and fill in at the bench, as HTML.

    Parameters
    ----------
    bench : Bench
        Its recipe, bands, attributes and headers are printed on the sheet.

    Returns
    -------
    str
        One page of A4 across, which needs nothing else.

    Examples
    --------
    >>> from yieldwright.bench import Bench
    >>> paper_sheet(Bench()).splitlines()[0]
    '<!DOCTYPE html>'
    """
    from jinja2 import Environment, FileSystemLoader, StrictUndefined

    environment = Environment(
        loader=FileSystemLoader(Path(__file__).parent),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        keep_trailing_newline=True,
    )
    template = environment.get_template("bench_sheet.html.j2")
    return template.render(sheet_texts(bench))


def _headers(bench: Bench, names: Iterable[str]) -> list[str]:
    """Return the headers of some columns, in the bench's own words where it has any."""
    own = {name: header for header, name in bench.columns.items()}
    headers: list[str] = []
    for name in names:
        headers += bench.shot_id if name == "shot" and bench.shot_id else (own.get(name, name),)
    return headers


def _line(cells: Iterable[str], bench: Bench) -> str:
    default = "semicolon" if bench.decimal == "comma" else "comma"
    delimiter = {"comma": ",", "semicolon": ";", "tab": "\t"}[bench.delimiter or default]
    text = io.StringIO()
    csv.writer(text, delimiter=delimiter, lineterminator="\n").writerow(cells)
    return text.getvalue()


def _example(bench: Bench, told: Mapping[str, str], unknown: Mapping[str, str]) -> list[str]:
    """Return the cells of an example row: the glossary's, the bench's, then what is told."""
    cells: dict[str, str] = {
        name: _decimal(bench, quantity(name)) for name in (*_FIRST_COLUMNS, *_LAST_COLUMNS)
    }
    cells["temp_band"] = bench.bands[len(bench.bands) // 2].name
    if bench.grinders:
        cells["grinder"] = bench.grinders[0].name
    cells |= {**told, **unknown}
    scores = ["" if unknown else f"{attribute.middle:g}" for attribute in bench.attributes]
    first = [cells[name] for name in _FIRST_COLUMNS]
    shot = [cells["shot"]] * max(len(bench.shot_id), 1)
    return [*shot, *first[1:], *scores, *(cells[name] for name in _LAST_COLUMNS)]


def _decimal(bench: Bench, entry: Quantity) -> str:
    if entry.is_numeric and bench.decimal == "comma":
        return entry.example.replace(".", ",")
    return entry.example


def _dictionary_table(entries: Iterable[Quantity]) -> str:
    rows = [_DICTIONARY_HEAD, ("---",) * len(_DICTIONARY_HEAD)]
    rows += [_dictionary_cells(entry) for entry in entries]
    return "\n".join(f"| {' | '.join(cells)} |" for cells in rows)


def _dictionary_cells(entry: Quantity) -> tuple[str, ...]:
    return (
        f"`{entry.name}`",
        "" if entry.unit == "1" else entry.unit,
        f"{entry.meaning} {_wanted(entry)}".strip(),
        f"`{entry.example}`" if entry.example else "",
        _range(entry.hard),
        _range(entry.soft),
        "yes" if entry.computed else "",
    )


def _wanted(entry: Quantity) -> str:
    if entry.choices:
        return f"Write {listing(entry.choices, last='or')}."
    return f"Write {_KINDS[entry.kind]}." if entry.kind in _KINDS else ""


def _range(span: Span) -> str:
    if span == Span():
        return ""
    if span.low < 0 and math.isfinite(span.high):  # a dash after a minus reads badly
        return f"{span.low:g} to {span.high:g}".replace("-", MINUS)
    return str(span)


def _sources(entries: Iterable[Quantity]) -> str:
    """Return the published sources of ranges; whatever is not named has none."""
    practice = "common practice, no source"
    named: dict[str, list[str]] = {}
    for entry in entries:
        if entry.source != practice and (entry.hard, entry.soft) != (Span(), Span()):
            named.setdefault(entry.source, []).append(f"`{entry.name}`")
    lines = [f"- {listing(names)}: {source}." for source, names in named.items()]
    return "\n".join([*lines, f"- All others: {practice}."])
