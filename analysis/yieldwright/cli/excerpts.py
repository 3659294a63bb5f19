"""A row of a file as it stands there, with the cells in question marked."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from typing import NamedTuple

from yieldwright.formatting import visible

__all__ = ["Excerpt", "cell_places", "excerpt", "places_in_question"]

_MARKS: Mapping[str | None, str] = {"comma": ",", "semicolon": ";", "tab": "\t"}
_NAMED = re.compile(r"(?:^|; )(?:score:)?([^\s:;“”]+)(?: is |: )")
_COUNTED = re.compile(r"[0-9]+ cells? where the header has ([0-9]+)")
_CITED = re.compile(r"“([^”…]+)”| is (-?[0-9][0-9.]*)(?= )")
_BEFORE = 18  # signs shown before a marked cell, where not all fit


class Excerpt(NamedTuple):
    """A row, and the marks to print below it.

    Attributes
    ----------
    text : str
        The row or a part of it, safe to show: a bar stands for a tab, an ellipsis for what
        is left out.
    marks : str
        Carets below the cells in question; empty where none is known.
    """

    text: str
    marks: str


def excerpt(raw: str, places: Iterable[tuple[int, int]], width: int) -> Excerpt:
    r"""Return a row cut to a width, so that its first marked cell is seen.

    Parameters
    ----------
    raw : str
        As it stands in the file.
    places : iterable of tuple of int
        Begin and end of each cell in question.
    width : int
        Room there is.

    Returns
    -------
    Excerpt

    Examples
    --------
    >>> print(*excerpt("1,180,36", [(2, 5)], 20), sep="\n")
    1,180,36
      ^^^
    """
    signs = ["|" if sign == "\t" else visible(sign) for sign in raw]
    marked = sorted(places)
    first = _first_shown(signs, marked[0][0] if marked else 0, width)
    text, marks = ("…", " ") if first else ("", "")
    for at in range(first, len(signs)):
        sign, room = signs[at], width - _width(text) - (at < len(signs) - 1)
        if _width(sign) > room:
            return Excerpt(f"{text}…", marks.rstrip())
        text += sign
        is_marked = any(begin <= at < end for begin, end in marked)
        marks += ("^" if is_marked else " ") * _width(sign)
    return Excerpt(text, marks.rstrip())


def places_in_question(
    raw: str, reason: str, names: Sequence[str], delimiter: str | None
) -> list[tuple[int, int]]:
    """Return where in a row the cells stand that a reason speaks of.

    Parameters
    ----------
    raw : str
        The row as it stands in the file.
    reason : str
        Why it was set aside.
    names : sequence of str
        What the columns of the file stand for, in order; empty where that is not known.
    delimiter : {"comma", "semicolon", "tab"} or None
        What stands between its cells; None where the format needs nothing.

    Returns
    -------
    list of tuple of int
        Begin and end of each; empty where that cannot be told.

    Examples
    --------
    >>> places_in_question("1,180", "dose_g is 180 g, outside 5–30 g", ["shot", "dose_g"], "comma")
    [(2, 5)]
    """
    cells = cell_places(raw, _MARKS.get(delimiter) or _mark_within(raw, len(names)))
    if counted := _COUNTED.search(reason):
        return [(end, len(raw)) for _, end in cells[int(counted[1]) - 1 : -1][:1]]
    if "quote" in reason:
        return [(begin, len(raw)) for begin, end in cells if _is_open(raw[begin:end])][:1]
    if len(cells) == len(names):
        named = set(_NAMED.findall(reason))
        found = [place for place, name in zip(cells, names, strict=True) if name in named]
        if found:
            return found
    cited = _CITED.search(reason)
    text = (cited[1] or cited[2]) if cited else ""
    at = raw.find(text)
    return [(at, at + len(text))] if text and raw.count(text) == 1 else []


def cell_places(raw: str, mark: str) -> list[tuple[int, int]]:
    """Return where each cell of a row begins and ends, its quotes included.

    Parameters
    ----------
    raw : str
        The row as it stands in the file.
    mark : str
        The sign between cells.

    Returns
    -------
    list of tuple of int

    Examples
    --------
    >>> cell_places('1,"a, b",', ",")
    [(0, 1), (2, 8), (9, 9)]
    """
    cell = re.compile(rf' *"(?:[^"]|"")*+" *(?={re.escape(mark)}|\Z)|[^{re.escape(mark)}]*+')
    places: list[tuple[int, int]] = []
    at = 0
    while at <= len(raw):
        found = cell.match(raw, at)
        end = found.end() if found else len(raw)
        places.append((at, end))
        at = end + 1
    return places


def _mark_within(raw: str, width: int) -> str:
    """Return what stands between the cells of a row that its format does not separate."""
    is_object = raw.lstrip().startswith("{")
    return "," if raw.count(",") == width - 1 and "\t" not in raw and not is_object else "\t"


def _is_open(cell: str) -> bool:
    """Return whether a cell begins with a quote that it does not end with."""
    bare = cell.strip(" ")
    return bare.startswith('"') and (len(bare) == 1 or not bare.endswith('"'))


def _first_shown(signs: Sequence[str], marked: int, width: int) -> int:
    """Return the first sign to show, so that a marked cell is seen and no room is left empty."""
    if sum(map(_width, signs)) <= width:
        return 0
    needed = sum(map(_width, signs[: marked + _BEFORE]))
    return 0 if needed < width else min(max(marked - _BEFORE, 0), _start_of_end(signs, width - 1))


def _start_of_end(signs: Sequence[str], room: int) -> int:
    """Return where the last signs that fit into some room begin."""
    at = len(signs)
    while at and (room := room - _width(signs[at - 1])) >= 0:
        at -= 1
    return at


def _width(text: str) -> int:
    """Return the columns of a terminal that a text takes."""
    if text.isascii():
        return len(text)
    from rich.cells import cell_len

    return cell_len(text)
