"""Tables that came from an export: known by their columns, and read back as they were.

A table with a column `guarded` gets its cells back as they were before they were made
safe to open. One that also says which shots were usable, or numbers its tastings, is a
whole export: its columns carry the names of the log's own tables, whatever headers a
bench uses, and what was computed is not taken for typed.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING

import numpy as np

from yieldwright.bench import Bench
from yieldwright.glossary import SHOT_QUANTITIES, TASTING_QUANTITIES
from yieldwright.shotlog.guarding import (
    ESCAPED,
    GUARDED,
    UNFIT_FOR_HEADER,
    escape,
    looks_like_formula,
    restore,
    split_names,
    unescape,
)
from yieldwright.shotlog.headers import Header, Vocabulary
from yieldwright.shotlog.texts import TextColumn

if TYPE_CHECKING:
    from yieldwright.shotlog.findings import Finding
    from yieldwright.shotlog.headers import Table

__all__ = [
    "SET_ASIDE",
    "TASTING_NUMBER",
    "USABLE",
    "ExportVocabulary",
    "by_people",
    "computed_names",
    "echoed_names",
    "exported_rows",
    "is_export",
    "kept_header",
    "own_vocabulary",
    "restored_columns",
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
_AMONG_NEIGHBOURS = ("position", "gap_min")
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
    ['brew_ratio', 'ey_pct', 'roast_age_d', 'taper_bar', 'tds_pct']
    """
    return frozenset({"tds_pct", *(each.name for each in SHOT_QUANTITIES if each.computed)})


def by_people(findings: Iterable[Finding], exported: np.ndarray) -> list[Finding]:
    """Return findings without those on what an export had found among the neighbours of a shot.

    Parameters
    ----------
    findings : iterable of Finding
        On any columns.
    exported : ndarray of bool
        Which rows an export wrote: their place in the session may be ours, and lie
        beyond what a person would type.

    Returns
    -------
    list of Finding
    """
    return [
        each
        for each in findings
        if each.column not in _AMONG_NEIGHBOURS or not exported[each.row]
    ]


def echoed_names(headers: Iterable[Header]) -> frozenset[str]:
    """Return the columns of an export that were computed and that nobody had typed.

    Parameters
    ----------
    headers : iterable of Header
        Of one file.

    Returns
    -------
    frozenset of str
        Empty where the file is no export.
    """
    known = list(headers)
    if not _is_whole(known):
        return frozenset()
    return computed_names() & {each.text for each in known if each.role == "quantity"}


def exported_rows(
    headers: Sequence[Header], columns: Sequence[TextColumn], n_rows: int
) -> np.ndarray:
    """Return which rows of a file an export of ours wrote.

    Parameters
    ----------
    headers : sequence of Header
        Of the file.
    columns : sequence of TextColumn
        The cells under them.
    n_rows : int
        How many rows there are.

    Returns
    -------
    ndarray of bool, shape (n_rows,)
        A row that a person added to an export says nothing in our columns.
    """
    for header, column in zip(headers, columns, strict=True):
        if header.role == "ours" and header.name in (USABLE, TASTING_NUMBER):
            return ~column.is_blank()
    return np.zeros(n_rows, dtype=bool)


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


def restored_columns(
    headers: Sequence[str], columns: Sequence[TextColumn]
) -> Sequence[TextColumn]:
    """Return columns with the cells that were made safe to open put back.

    Parameters
    ----------
    headers : sequence of str
        As they stand in the file.
    columns : sequence of TextColumn
        The cells under them.

    Returns
    -------
    sequence of TextColumn
        The same where no column says which cells were treated.

    Examples
    --------
    >>> cells = [TextColumn.of(["'=1+1", "'mine"]), TextColumn.of(["bag", ""])]
    >>> list(restored_columns(["bag", "guarded"], cells)[0])
    ['=1+1', "'mine"]
    """
    place = {header.strip(): at for at, header in enumerate(headers)}
    if GUARDED not in place:
        return columns
    guarded = _rows_named(columns[place[GUARDED]])
    escaped = _rows_named(columns[place[ESCAPED]]) if ESCAPED in place else {}
    restored = list(columns)
    for name in guarded.keys() | escaped.keys():
        if name in place:
            at = place[name]
            restored[at] = _restored(columns[at], guarded.get(name, []), escaped.get(name, []))
    return restored


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


def _is_whole(headers: Iterable[Header]) -> bool:
    return any(each.role == "ours" and each.name in (USABLE, TASTING_NUMBER) for each in headers)


def _is_quantity(name: str, table: Table) -> bool:
    if table == "tastings":
        return name in _TASTING_NAMES
    return name in _SHOT_NAMES or _READING.fullmatch(name) is not None


def _rows_named(column: TextColumn) -> dict[str, list[int]]:
    """Return the rows in which a column of headers names each."""
    rows: dict[str, list[int]] = {}
    named = [split_names(text) for text in column.texts]
    telling = np.array([bool(names) for names in named], dtype=bool)
    for row in np.flatnonzero(telling[column.codes]).tolist() if telling.any() else ():
        for name in named[column.codes[row]]:
            rows.setdefault(name, []).append(row)
    return rows


def _restored(column: TextColumn, guarded: Sequence[int], escaped: Sequence[int]) -> TextColumn:
    codes, texts = column.codes.copy(), list(column.texts)
    is_guarded, is_escaped = set(guarded), set(escaped)
    number: dict[str, int] = {}
    for row in sorted(is_guarded | is_escaped):
        text = restore(column[row], guarded=row in is_guarded, escaped=row in is_escaped)
        if text not in number:
            number[text] = len(texts)
            texts.append(text)
        codes[row] = number[text]
    return TextColumn(codes, texts)
