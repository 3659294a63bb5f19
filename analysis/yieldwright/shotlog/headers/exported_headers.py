"""The headers of tables that came from an export, and how they are written.

A table with a column `guarded` is ours. One that also says which shots were usable, or
numbers its tastings, is a whole export: its columns carry the names of the log's own
tables, whatever headers a bench uses, and what was computed is not taken for typed.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING

from yieldwright.bench import Bench
from yieldwright.glossary import SHOT_QUANTITIES, TASTING_QUANTITIES
from yieldwright.shotlog.formats.guarding import (
    ESCAPED,
    GUARDED,
    UNFIT_FOR_HEADER,
    escape,
    looks_like_formula,
    unescape,
)
from yieldwright.shotlog.headers.headers import Header, Vocabulary

if TYPE_CHECKING:
    from yieldwright.shotlog.headers.headers import Table

__all__ = [
    "SET_ASIDE",
    "TASTING_NUMBER",
    "USABLE",
    "ExportVocabulary",
    "computed_names",
    "is_export",
    "kept_header",
    "own_vocabulary",
    "score_header",
]

#: In an export of shots: whether each may enter slopes.
USABLE = "usable"
#: In an export of tastings: their running number.
TASTING_NUMBER = "tasting"
#: Begins the names of the columns that say why a row was set aside.
SET_ASIDE = "set_aside_"

_KEPT = "kept:"
_KEPT_IN_CODES = "kept in codes:"
_TYPED = "typed_"
_SCORE = "score:"
_HALF_WIDTH = "half_width_"
_FOUND_ANEW = ("u_", "cov_")
_READING = re.compile(r"tds_[1-9][0-9]?_pct")
_SHOT_NAMES = frozenset(each.name for each in SHOT_QUANTITIES)
_TASTING_NAMES = frozenset(each.name for each in TASTING_QUANTITIES)


def is_export(headers: Iterable[str]) -> bool:
    """Return whether headers are those of a whole export.

    Parameters
    ----------
    headers : iterable of str
        As they stand in the file.

    Returns
    -------
    bool

    Examples
    --------
    >>> is_export(["shot", "usable", "guarded"]), is_export(["shot", "guarded"])
    (True, False)
    """
    found = {header.strip() for header in headers}
    return GUARDED in found and not found.isdisjoint({USABLE, TASTING_NUMBER})


def computed_names() -> frozenset[str]:
    """Return the columns of shots that may stand both typed and computed.

    Returns
    -------
    frozenset of str

    Examples
    --------
    >>> sorted(computed_names())
    ['brew_ratio', 'ey_pct', 'frozen_d', 'open_d', 'roast_age_d', 'taper_bar', 'tds_pct']
    """
    return frozenset({"tds_pct", *(each.name for each in SHOT_QUANTITIES if each.computed)})


class ExportVocabulary(Vocabulary):
    """The headers of a table that we wrote, beside those that the bench knows.

    Parameters
    ----------
    table : {"shots", "tastings"}
        What the rows describe.
    bench : Bench
        As for any other file.
    headers : iterable of str
        All headers of the file.
    """

    def __init__(self, table: Table, bench: Bench, headers: Iterable[str]) -> None:
        super().__init__(table, bench)
        self._headers = frozenset(header.strip() for header in headers)
        self._is_whole = is_export(self._headers)

    def header(self, text: str) -> Header:
        """Return what a header stands for.

        Parameters
        ----------
        text : str
            Header as written.

        Returns
        -------
        Header
        """
        if text in (GUARDED, ESCAPED) or text.startswith(SET_ASIDE):
            return Header(text, "ours", text)
        for prefix, put_back in ((_KEPT, str), (_KEPT_IN_CODES, unescape)):
            if text.startswith(prefix):
                name = put_back(text.removeprefix(prefix))
                return Header(name, "extra", name) if self._is_whole else super().header(name)
        return (self._of_export(text) if self._is_whole else None) or super().header(text)

    def _of_export(self, text: str) -> Header | None:
        """Return what a name of ours stands for, None where it is none."""
        if text in (USABLE, TASTING_NUMBER) or text.startswith(_FOUND_ANEW):
            return Header(text, "ours", text)
        if text.startswith(_HALF_WIDTH):
            return Header(text, "quantity", text)
        bare = text.removeprefix(_TYPED)
        if bare in computed_names() and self.table == "shots":
            stands_in = text == bare and f"{_TYPED}{text}" in self._headers
            return Header(text, "ours" if stands_in else "quantity", text if stands_in else bare)
        if text.startswith(_SCORE):
            name = text.removeprefix(_SCORE)
            return Header(text, "attribute", name)
        return Header(text, "quantity", text) if _is_quantity(text, self.table) else None


def own_vocabulary(table: Table, bench: Bench, headers: Sequence[str]) -> Vocabulary:
    """Return the vocabulary that reads a table, ours or anyone's.

    Parameters
    ----------
    table : {"shots", "tastings"}
        What the rows describe.
    bench : Bench
        Its own headers and attributes count.
    headers : sequence of str
        As they stand in the file.

    Returns
    -------
    Vocabulary

    Examples
    --------
    >>> from yieldwright.bench import Bench
    >>> own_vocabulary("shots", Bench(), ["shot", "guarded"]).header("guarded").role
    'ours'
    """
    if GUARDED in {header.strip() for header in headers}:
        return ExportVocabulary(table, bench, headers)
    return Vocabulary(table, bench)


def kept_header(name: str) -> str:
    """Return the header under which a column that was not recognised is written.

    Parameters
    ----------
    name : str
        Its own header.

    Returns
    -------
    str
        The same where it comes back as it is and is safe to open.

    Examples
    --------
    >>> [kept_header(name) for name in ("mood", "=1+1", "usable")]
    ['mood', 'kept:=1+1', 'kept:usable']
    """
    if UNFIT_FOR_HEADER.search(name):
        return f"{_KEPT_IN_CODES}{escape(name, UNFIT_FOR_HEADER)}"
    ours = ExportVocabulary("shots", Bench(), [GUARDED, USABLE]).header(name)
    is_plain = ours.role == "extra" and ours.name == name and not looks_like_formula(name)
    return name if is_plain else f"{_KEPT}{name}"


def score_header(attribute: str) -> str:
    """Return the header of a column of scores, empty where no header can name them.

    Parameters
    ----------
    attribute : str
        What is scored.

    Returns
    -------
    str

    Examples
    --------
    >>> score_header("overall")
    'score:overall'
    """
    fits = attribute == attribute.strip() and not UNFIT_FOR_HEADER.search(attribute)
    return f"{_SCORE}{attribute}" if fits else ""


def _is_quantity(name: str, table: Table) -> bool:
    if table == "tastings":
        return name in _TASTING_NAMES
    return name in _SHOT_NAMES or _READING.fullmatch(name) is not None
