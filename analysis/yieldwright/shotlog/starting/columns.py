"""The columns a log begins with, in a bench's own words, with an example cell for each."""

from __future__ import annotations

import dataclasses
from dataclasses import dataclass
from typing import TYPE_CHECKING

from yieldwright.glossary import Quantity, Span, quantity

if TYPE_CHECKING:
    from yieldwright.bench import Attribute, Bench

__all__ = ["StartingColumn", "score_header", "starting_columns", "tasting_columns"]

#: What a log begins with, in the order a bench fills it in; the dictionary has the rest.
_FIRST = (
    *("shot", "pulled_at", "fate", "stage", "bag", "roasted_on"),
    *("dose_g", "grinder", "grind_setting", "purged_g", "temp_band"),
    *("hold_bar", "end_bar", "time_s", "time_from", "beverage_g", "tds_pct"),
)
_LAST = ("barista", "notes")
_TASTING = (
    *("shot", "taster", "tasting_order", "blind_code"),
    *("attribute", "score", "swallowed"),
)
_CHOKED = {
    "shot": "2",
    "pulled_at": "2026-03-07T10:32+01:00",
    "fate": "choked",
    "notes": "choked, so the cup was not weighed",
}
_UNKNOWN_WHEN_CHOKED = frozenset({"hold_bar", "end_bar", "time_s", "beverage_g", "tds_pct"})


@dataclass(frozen=True, slots=True)
class StartingColumn:
    """One column of a log that holds no shot yet.

    Attributes
    ----------
    header : str
        As it stands above the column: the bench's own word, or the glossary's name.
    entry : Quantity
        What it holds, with the ranges of the bench; a score has those of its scale.
    example : str
        A cell of a shot that went well, decimals after a point.
    failed : str
        The same cell of a shot that choked.
    """

    header: str
    entry: Quantity
    example: str
    failed: str

    @property
    def name(self) -> str:
        """Name of the entry; of a score, `score`."""
        return self.entry.name


def starting_columns(bench: Bench) -> list[StartingColumn]:
    """Return the columns that a log of shots begins with.

    Parameters
    ----------
    bench : Bench
        Its headers, composed shot id, attributes, bands, grinders and ranges are used.

    Returns
    -------
    list of StartingColumn
        No two with one header.

    Examples
    --------
    >>> from yieldwright.bench import Bench
    >>> [column.header for column in starting_columns(Bench())][:4]
    ['shot', 'pulled_at', 'fate', 'stage']
    """
    columns = [column for name in _FIRST for column in _columns_of(name, bench)]
    columns += [_score_column(attribute, bench) for attribute in bench.attributes]
    columns += [column for name in _LAST for column in _columns_of(name, bench)]
    return list({column.header: column for column in reversed(columns)}.values())[::-1]


def tasting_columns(bench: Bench) -> list[StartingColumn]:
    """Return the columns that a table of tastings begins with.

    Parameters
    ----------
    bench : Bench
        Its headers, composed shot id and attributes are used.

    Returns
    -------
    list of StartingColumn

    Examples
    --------
    >>> from yieldwright.bench import Bench
    >>> [column.header for column in tasting_columns(Bench())][:3]
    ['shot', 'taster', 'tasting_order']
    """
    scales = Span(
        min(attribute.low for attribute in bench.attributes),
        max(attribute.high for attribute in bench.attributes),
    )
    score = dataclasses.replace(quantity("score"), hard=scales, soft=scales)
    columns = [column for name in _TASTING for column in _columns_of(name, bench)]
    return [
        dataclasses.replace(column, entry=score) if column.name == "score" else column
        for column in columns
    ]


def score_header(bench: Bench, attribute: Attribute) -> str:
    """Return the header under which a log keeps an attribute's score.

    Parameters
    ----------
    bench : Bench
        May have a word of its own for it.
    attribute : Attribute
        What is scored.

    Returns
    -------
    str

    Examples
    --------
    >>> from yieldwright.bench import Attribute, Bench
    >>> score_header(Bench(columns={"liking": "score:overall"}), Attribute("overall"))
    'liking'
    """
    target = f"score:{attribute.name}"
    return next((own for own, name in bench.columns.items() if name == target), attribute.name)


def _columns_of(name: str, bench: Bench) -> list[StartingColumn]:
    """Return the column of a quantity; of a shot whose name is composed, all its parts."""
    entry = bench.quantity(name)
    own = next((header for header, target in bench.columns.items() if target == name), name)
    headers = bench.shot_id if name == "shot" and bench.shot_id else (own,)
    example = _examples(bench).get(name, entry.example)
    failed = "" if name in _UNKNOWN_WHEN_CHOKED else _CHOKED.get(name, example)
    return [StartingColumn(header, entry, example, failed) for header in headers]


def _examples(bench: Bench) -> dict[str, str]:
    """Return the example cells in which a bench has words of its own."""
    words = {"temp_band": bench.bands[len(bench.bands) // 2].name}
    words["attribute"] = bench.attributes[0].name
    if bench.grinders:
        words["grinder"] = bench.grinders[0].name
    return words


def _score_column(attribute: Attribute, bench: Bench) -> StartingColumn:
    scale = Span(attribute.low, attribute.high)
    entry = dataclasses.replace(
        quantity("score"),
        label=attribute.name,
        meaning=f"Score of {attribute.name}, from {attribute.low:g} to {attribute.high:g}; "
        "the mean of those who tasted.",
        hard=scale,
        soft=scale,
    )
    header = score_header(bench, attribute)
    return StartingColumn(header, entry, f"{attribute.middle:g}", "")
