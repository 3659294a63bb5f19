"""What one header stands for: an own word of the bench, a name of the glossary, general words."""

from __future__ import annotations

import dataclasses
import re
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

from yieldwright.formatting import listing
from yieldwright.glossary import find_quantity, quantity
from yieldwright.shotlog.findings import quoted
from yieldwright.shotlog.headers.synonyms import (
    CELL_WORDS,
    LIKING_WORDS,
    Table,
    fold_name,
    fold_words,
    glossary_names,
    meanings_of,
    stem_of,
)
from yieldwright.shotlog.headers.units import (
    WithUnit,
    is_refractometer_unit,
    split_unit,
    turned_unit,
)

if TYPE_CHECKING:
    from yieldwright.bench import Bench

__all__ = ["RESERVED_ATTRIBUTES", "Header", "Vocabulary"]

#: Names that a table of scores needs for itself.
RESERVED_ATTRIBUTES = frozenset({"shot", "n_tasters"})

_LONGEST_HEADER = 200
_SCORE = re.compile(r"score[:_ ](.+)", re.IGNORECASE | re.DOTALL)
_SAY = "say so under [columns] in bench.toml"
_SAY_WHICH = "say which under [columns] in bench.toml"
_DENSITY = "weigh it, or state density_g_per_ml under [reading] in bench.toml"


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
    unit : str
        Unit of the cells, as typed; empty where it is the glossary's.
    says_unit : bool
        Whether the header itself states a unit, be it the glossary's.
    is_spoken : bool
        Whether it was taken by general words rather than by its name.
    doubt : str
        Why it could not be taken though it looks known; a sentence with its remedy.
    """

    text: str
    role: Literal["quantity", "attribute", "extra", "ours"]
    name: str
    unit: str = ""
    says_unit: bool = False
    is_spoken: bool = False
    doubt: str = ""

    @property
    def is_numeric(self) -> bool:
        """Whether the cells should be numbers."""
        entry = find_quantity(self.name) if self.role == "quantity" else None
        return self.role == "attribute" or (entry is not None and entry.is_numeric)


class Vocabulary:
    """The headers that one bench knows for one kind of table.

    A header is looked for among the bench's own, then among the glossary's names and the
    attributes, then among general words.

    Parameters
    ----------
    table : {"shots", "tastings"}
        What the rows describe.
    bench : Bench
        Its own headers, attributes and composed shot id count.
    """

    def __init__(self, table: Table, bench: Bench) -> None:
        self.table = table
        self._bench = bench
        self._own = {fold_name(header): target for header, target in bench.columns.items()}
        self._attributes = {fold_name(each.name): each.name for each in bench.attributes}
        self._id_parts = frozenset(header.casefold() for header in bench.shot_id)

    def knows(self, text: str) -> bool:
        """Return whether a header names a quantity, an attribute or a part of the shot id.

        Parameters
        ----------
        text : str
            Header as typed.

        Returns
        -------
        bool
            True also where what it names is ambiguous; false for general words that
            cells hold as well, since they do not tell a header from a row.
        """
        text = text.strip()
        if not text or len(text) > _LONGEST_HEADER:
            return False
        header = self.header(text)
        if (header.is_spoken or header.doubt) and fold_words(text) in CELL_WORDS:
            return False
        return text.casefold() in self._id_parts or header.role != "extra" or bool(header.doubt)

    def header(self, text: str) -> Header:
        """Return what a header stands for by itself, other columns left aside.

        Parameters
        ----------
        text : str
            Header as typed, without outer blanks.

        Returns
        -------
        Header
        """
        target = self._own.get(fold_name(text))
        named = self._named(text, target or text)
        if target is not None and named.role == "quantity":
            return self._in_its_unit(named)
        is_part = text.casefold() in self._id_parts
        if named.role != "extra" or is_part or len(text) > _LONGEST_HEADER:
            return named
        return self._spoken(text)

    def with_unit(self, header: Header, unit: str) -> Header | str:
        """Return a header once a row of units gives its column a unit.

        Parameters
        ----------
        header : Header
            What the column stands for so far.
        unit : str
            As typed.

        Returns
        -------
        Header or str
            Why not, to follow what the row says, where the unit does not fit.
        """
        if header.role == "extra":
            again = self.header(f"{header.text} ({unit})") if header.doubt else header
            name = header.text if again.role == "extra" else again.name
            return dataclasses.replace(again, text=header.text, name=name)
        entry = find_quantity(header.name) if header.role == "quantity" else None
        if entry is None or not entry.is_numeric:
            return header
        turned = turned_unit(unit, entry, self._bench)
        if turned.refusal:
            return f"which {turned.refusal}"
        said = turned_unit(header.unit, entry, self._bench)
        if header.says_unit and said.value != turned.value:
            return f"and the header {quoted(header.text)} another unit"
        unit = unit if turned.is_changed else ""
        return dataclasses.replace(header, unit=unit, says_unit=True)

    def _named(self, text: str, target: str) -> Header:
        """Return what a name of the glossary, or of the bench, stands for."""
        score = _SCORE.fullmatch(target)
        folded = fold_name(score[1] if score else target)
        if score and folded not in RESERVED_ATTRIBUTES:
            return Header(text, "attribute", self._attributes.get(folded, score[1].strip()))
        name = glossary_names(self.table).get(folded) or _reading(folded, self.table)
        if name:
            says_unit = any(split.aside and split.unit for split in split_unit(text))
            return Header(text, "quantity", name, says_unit=says_unit)
        if folded in self._attributes:
            return Header(text, "attribute", self._attributes[folded])
        return Header(text, "extra", text)

    def _in_its_unit(self, header: Header) -> Header:
        """Return a header of the bench's own with the unit it states, where it states one."""
        entry = quantity(header.name)
        if not entry.is_numeric or entry.unit == "1":
            return header
        for split in split_unit(header.text):
            turned = turned_unit(split.unit, entry, self._bench)
            if split.unit and not turned.refusal:
                unit = split.unit if turned.is_changed else ""
                return dataclasses.replace(header, unit=unit, says_unit=True)
            if split.unit and split.aside:
                return self._doubtful(header.text, [header.name], split)
        return header

    def _spoken(self, text: str) -> Header:
        """Return what general words stand for, where that is but one thing."""
        folded = fold_words(text)
        if folded in LIKING_WORDS and self.table == "shots":
            return self._liking(text)
        if names := self._meanings(folded):
            return self._taken(text, names, WithUnit(text, ""))
        for split in split_unit(text):
            names = self._meanings_beside_unit(split)
            fitting = [name for name in names if self._takes(name, split)]
            if fitting:
                return self._taken(text, fitting, split)
            if names and split.aside:
                return self._doubtful(text, names, split)
        return Header(text, "extra", text)

    def _meanings(self, folded: str) -> list[str]:
        names = meanings_of(folded, self.table)
        return [name for name in names if name != "shot" or not self._bench.shot_id]

    def _meanings_beside_unit(self, split: WithUnit) -> list[str]:
        """Return what words may stand for once a unit stands beside them."""
        folded = fold_words(split.words)
        if not folded and self.table == "shots":  # a sugar scale reads nothing else
            return ["tds_pct"] if is_refractometer_unit(split.unit) else []
        named = glossary_names(self.table).get(folded, "")
        stem = stem_of(folded, self.table) if split.unit else ""
        return list(dict.fromkeys(filter(None, (named, *self._meanings(folded), stem))))

    def _takes(self, name: str, split: WithUnit) -> bool:
        """Return whether a quantity may have what stands beside the words of a header."""
        entry = quantity(name)
        if not entry.is_numeric or entry.unit == "1":
            return not split.unit
        if not split.unit:
            return not split.aside
        turned = turned_unit(split.unit, entry, self._bench)
        # A name of the glossary states its own unit, and another beside it contradicts.
        says_two = turned.is_changed and fold_words(split.words) == name
        return not turned.refusal and not says_two

    def _taken(self, text: str, names: Sequence[str], split: WithUnit) -> Header:
        if len(names) > 1:
            which = listing(list(names), last="or")
            doubt = f"{quoted(text)} may be {which}: {_SAY_WHICH}."
            return Header(text, "extra", text, doubt=doubt)
        turned = turned_unit(split.unit, quantity(names[0]), self._bench)
        unit = split.unit if turned.is_changed else ""
        is_spoken = fold_words(split.words) not in glossary_names(self.table)
        return Header(text, "quantity", names[0], unit, bool(split.unit), is_spoken)

    def _doubtful(self, text: str, names: Sequence[str], split: WithUnit) -> Header:
        """Return a header kept as text, since what stands beside its words does not fit."""
        which = listing(list(names), last="or")
        beside = quoted(split.unit or split.aside)
        reason, remedy = f"{beside} is no unit we know", f"correct it, or {_SAY}"
        if split.unit:
            refusal = turned_unit(split.unit, quantity(names[0]), self._bench).refusal
            reason = f"{beside} {refusal}" if refusal else f"{beside} is another unit than its own"
            is_volume = "volume" in refusal and names[0].startswith("beverage")
            remedy = _DENSITY if is_volume else "correct it"
        doubt = f"{quoted(text)} is not taken for {which}: {reason}; {remedy}."
        return Header(text, "extra", text, doubt=doubt)

    def _liking(self, text: str) -> Header:
        """Return a column that says how good a shot was, where the bench has one scale for it."""
        names = [each.name for each in self._bench.attributes]
        if len(names) == 1:
            return Header(text, "attribute", names[0], is_spoken=True)
        which = listing([quoted(name) for name in names], last="or")
        doubt = f"{quoted(text)} may be the score of {which}: {_SAY_WHICH}."
        return Header(text, "extra", text, doubt=doubt)


def _reading(folded: str, table: Table) -> str:
    is_reading = table == "shots" and folded.startswith("tds_") and find_quantity(folded)
    return folded if is_reading else ""
