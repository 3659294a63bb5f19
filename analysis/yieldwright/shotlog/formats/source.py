"""One file as rows, whatever its format: what every format becomes.

A format that is no delimited text gives back a `Grid`: its records, cells as text. All
formats end as a `Source`: rows column by column, and the records that are none.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal, NamedTuple

from yieldwright.formatting import clip, visible

if TYPE_CHECKING:
    from yieldwright.shotlog.formats.encoding import Document
    from yieldwright.shotlog.formats.records import Record
    from yieldwright.shotlog.formats.rows import Rows

__all__ = ["HEADER_WITHIN", "Decimal", "Delimiter", "Grid", "Source", "no_header_sentence"]

Delimiter = Literal["comma", "semicolon", "tab"]
Decimal = Literal["point", "comma"]

#: Records above the header, such as titles and comments, that are looked through.
HEADER_WITHIN = 30


class Grid(NamedTuple):
    """One file as records of texts, in a format that is no delimited text.

    Attributes
    ----------
    document : Document
        The file's name, digest and format.
    records : sequence of Record
        Every physical row in order. A cell the file stores as a number is a `Figure`.
    header : Record or None
        The names of the columns where the format itself gives them; it takes no line.
        None where one of the records is the header.
    remarks : tuple of str
        What to tell about the reading.
    """

    document: Document
    records: Sequence[Record]
    header: Record | None = None
    remarks: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Source:
    """One file as rows, whatever its format.

    Attributes
    ----------
    document : Document
        The file's name, digest, encoding and number of lines.
    delimiter : {"comma", "semicolon", "tab"} or None
        What stands between cells; None where the format needs nothing.
    header : Record
        The record that names the columns.
    rows : Rows
        Records with a cell for every column, blank ones left out.
    others : sequence of Record
        All other records in order, the header among them where it takes a line.
    remarks : tuple of str
        What the format gives reason to say.
    """

    document: Document
    delimiter: Delimiter | None
    header: Record
    rows: Rows
    others: Sequence[Record]
    remarks: tuple[str, ...] = ()


def no_header_sentence(file: str, first: str, forced: str = "") -> str:
    """Return why a file without a known header cannot be read, and what to do.

    Parameters
    ----------
    file : str
        Its name.
    first : str
        Its first line that is not blank.
    forced : str
        What the bench asks for, where that may be the reason.

    Returns
    -------
    str

    Examples
    --------
    >>> no_header_sentence("a.csv", "when;how much")[:62]
    'a.csv names no column we know; its first line reads “when;how '
    """
    return (
        f"{file} names no column we know{forced}; its first line reads "
        f"“{clip(visible(first), 60)}”. Separate cells by commas, semicolons or tabs, and give "
        "the first line the names of the data dictionary (shot, pulled_at, dose_g, beverage_g, "
        "time_s, tds_pct …), or say what your own headers mean under [columns] in bench.toml"
    )
