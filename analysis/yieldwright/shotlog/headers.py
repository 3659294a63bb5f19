"""What the columns of a file stand for: the user's own headers, or the glossary's names."""

from __future__ import annotations

import difflib
import re
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache
from typing import TYPE_CHECKING, Literal

from yieldwright.errors import UnreadableLogError
from yieldwright.formatting import clip, listing, visible
from yieldwright.glossary import (
    SHOT_QUANTITIES,
    TASTING_QUANTITIES,
    find_quantity,
)

if TYPE_CHECKING:
    from yieldwright.bench import Bench

__all__ = ["RESERVED_ATTRIBUTES", "Header", "Table", "Vocabulary", "nearest_name", "read_headers"]

Table = Literal["shots", "tastings"]

#: Names that a table of scores needs for itself.
RESERVED_ATTRIBUTES = frozenset({"shot", "n_tasters"})

_LONGEST_HEADER = 200
_SCORE = re.compile(r"score[:_ ](.+)", re.IGNORECASE | re.DOTALL)


@dataclass(frozen=True, slots=True)
class Header:
    """One column of a file.

    Attributes
    ----------
    text : str
        As it stands in the file, without outer blanks.
    role : {"quantity", "attribute", "extra", "ours"}
        A glossary entry, a score, something we do not know and keep as text, or what an
        export of ours says about its own cells.
    name : str
        Name in the glossary, of the attribute, or the header itself.
    """

    text: str
    role: Literal["quantity", "attribute", "extra", "ours"]
    name: str


class Vocabulary:
    """The headers that one bench knows for one kind of table.

    Parameters
    ----------
    table : {"shots", "tastings"}
        What the rows describe.
    bench : Bench
        Its own headers, attributes and composed shot id count.
    """

    def __init__(self, table: Table, bench: Bench) -> None:
        self.table = table
        self._own = {_folded(header): target for header, target in bench.columns.items()}
        self._attributes = {_folded(each.name): each.name for each in bench.attributes}
        self._id_parts = frozenset(bench.shot_id)

    def knows(self, text: str) -> bool:
        """Return whether a header names a quantity, an attribute or a part of the shot id.

        Parameters
        ----------
        text : str
            Header as typed.

        Returns
        -------
        bool
        """
        text = text.strip()
        if not text or len(text) > _LONGEST_HEADER:
            return False
        return text in self._id_parts or self.header(text).role != "extra"

    def header(self, text: str) -> Header:
        """Return what a header stands for.

        Parameters
        ----------
        text : str
            Header as typed, without outer blanks.

        Returns
        -------
        Header
        """
        target = self._own.get(_folded(text), text)
        score = _SCORE.fullmatch(target)
        folded = _folded(score[1] if score else target)
        if score and folded not in RESERVED_ATTRIBUTES:
            return Header(text, "attribute", self._attributes.get(folded, score[1].strip()))
        name = _names(self.table).get(folded) or _reading(folded, self.table)
        if name:
            return Header(text, "quantity", name)
        if folded in self._attributes:
            return Header(text, "attribute", self._attributes[folded])
        return Header(text, "extra", text)


def read_headers(cells: Sequence[str], vocabulary: Vocabulary, file: str) -> list[Header]:
    """Return what each column stands for.

    Parameters
    ----------
    cells : sequence of str
        The header record.
    vocabulary : Vocabulary
        What is known for this kind of table.
    file : str
        For the message.

    Returns
    -------
    list of Header

    Raises
    ------
    UnreadableLogError
        If two columns have one header, or stand for one quantity.

    Examples
    --------
    >>> from yieldwright.bench import Bench
    >>> shots = Vocabulary("shots", Bench())
    >>> [header.role for header in read_headers(["Shot", "overall", "mood"], shots, "a.csv")]
    ['quantity', 'attribute', 'extra']
    """
    texts = [cell.strip() or f"column {at}" for at, cell in enumerate(cells, start=1)]
    headers = [vocabulary.header(text) for text in texts]
    counted = Counter((header.role, header.name) for header in headers)
    for (role, name), times in counted.items():
        if times > 1:
            same = [
                header.text for header in headers if (header.role, header.name) == (role, name)
            ]
            raise UnreadableLogError(_double_sentence(file, name, same))
    return headers


def nearest_name(text: str, table: Table) -> str:
    """Return the name in the glossary nearest to a header, empty where none is near.

    Parameters
    ----------
    text : str
        Header as typed.
    table : {"shots", "tastings"}
        What the rows describe.

    Returns
    -------
    str

    Examples
    --------
    >>> nearest_name("TDS", "shots")
    'tds_pct'
    """
    names = _names(table)
    begun = [name for name in names if name.startswith(f"{_folded(text)}_")]
    if begun:
        return names[min(begun, key=len)]
    near = difflib.get_close_matches(_folded(text)[:60], list(names), n=1, cutoff=0.75)
    return names[near[0]] if near else ""


def _folded(text: str) -> str:
    """Return a header without case, blanks, brackets and signs; all signs kept if no more."""
    plain = re.sub(r"[\W_]+", "_", text.casefold().replace("%", "pct")).strip("_")
    return plain or text.strip()


@cache
def _names(table: Table) -> dict[str, str]:
    """Return the glossary's names by what may be typed for them."""
    entries = SHOT_QUANTITIES if table == "shots" else TASTING_QUANTITIES
    spoken = {_folded(entry.axis_label): entry.name for entry in entries}
    return spoken | {_folded(entry.name): entry.name for entry in entries}


def _reading(folded: str, table: Table) -> str:
    is_reading = table == "shots" and folded.startswith("tds_") and find_quantity(folded)
    return folded if is_reading else ""


def _double_sentence(file: str, name: str, headers: Sequence[str]) -> str:
    shown = listing([f"“{clip(visible(header), 40)}”" for header in headers])
    return (
        f"{file} has {len(headers)} columns for {clip(visible(name), 40)}: {shown}; which one "
        "counts cannot be guessed, so rename or delete all but one"
    )
