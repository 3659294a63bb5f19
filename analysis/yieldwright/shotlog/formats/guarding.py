"""Text cells made safe to open in a spreadsheet, and put back as they were.

A cell that a spreadsheet would take for a formula gets one leading apostrophe; what a
format cannot hold is written as escapes. Which cells were treated stands in the same
row, so that nothing is guessed when the table is read again.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import cache

__all__ = [
    "ESCAPED",
    "GUARDED",
    "UNFIT_FOR_HEADER",
    "UNFIT_FOR_TEXT",
    "Protected",
    "escape",
    "join_names",
    "looks_like_formula",
    "protect",
    "restore",
    "split_names",
    "unescape",
]

#: Column that names, row by row, the cells with an apostrophe of ours.
GUARDED = "guarded"
#: Column that names, row by row, the cells written with escapes.
ESCAPED = "escaped"
#: What text in UTF-8 cannot hold or a reader of lines would change.
UNFIT_FOR_TEXT = re.compile(r"[\x00-\x08\x0b-\x1f\x7f\ufeff\ud800-\udfff]")
#: What no format may find in a header: one that breaks a row of headers, or a workbook.
UNFIT_FOR_HEADER = re.compile(
    r"[\x00-\x1f\x7f\ufeff\ufffe\uffff\ud800-\udfff]|_(?=x[0-9A-Fa-f]{4}_)|x(?=005F_)"
)

_SIGNS = "=+\\-@＝＋－＠﹦﹢﹣﹫"
_FORMULA = re.compile(rf"[\t\r]|[\s'\u200b\ufeff\x00-\x1f]*[{_SIGNS}]")
_ESCAPE = re.compile(r"\\(?:([\\nrt])|u([0-9a-f]{4}))")
_SHORT = {"\\": "\\", "\n": "n", "\r": "r", "\t": "t"}
_LONG = {letter: sign for sign, letter in _SHORT.items()}
_NAME = re.compile(r"(?:[^\\;]|\\.)+", re.DOTALL)


@dataclass(frozen=True, slots=True)
class Protected:
    """Columns that are safe to open, and what was done to them.

    Attributes
    ----------
    columns : dict of str to list of str
        By header; a missing cell is empty.
    guarded : list of str
        Headers of the cells of each row that got an apostrophe, empty without any.
    escaped : list of str
        The same for cells written with escapes.
    """

    columns: dict[str, list[str]]
    guarded: list[str]
    escaped: list[str]


def looks_like_formula(text: str) -> bool:
    """Return whether a spreadsheet might take a text for a formula.

    Parameters
    ----------
    text : str
        A cell.

    Returns
    -------
    bool

    Examples
    --------
    >>> [looks_like_formula(text) for text in ("=1+1", " '@sum", "sweet", "-")]
    [True, True, False, True]
    """
    return _FORMULA.match(text) is not None


def protect(
    columns: Mapping[str, Sequence[str | None]],
    *,
    unfit: re.Pattern[str],
    guard: bool,
    first: str = "",
) -> Protected:
    r"""Return text columns as they can be written, and which cells were treated.

    Parameters
    ----------
    columns : mapping of str to sequence of str or None
        Text columns of equal length by header.
    unfit : re.Pattern
        What the format cannot hold; such signs are written as escapes.
    guard : bool
        Whether cells that look like formulas get an apostrophe.
    first : str
        Header of a first column in which a # would make its row a comment: such cells
        get one, too.

    Returns
    -------
    Protected

    Examples
    --------
    >>> safe = protect({"bag": ["=1+1", "b"]}, unfit=re.compile("\0"), guard=True)
    >>> safe.columns["bag"], safe.guarded
    (["'=1+1", 'b'], ['bag', ''])
    """
    n_rows = max((len(texts) for texts in columns.values()), default=0)
    guarded: dict[int, list[str]] = {}
    escaped: dict[int, list[str]] = {}
    written: dict[str, list[str]] = {}
    for header, texts in columns.items():
        different = {text: text or "" for text in dict.fromkeys(texts)}
        coded = {text: escape(shown, unfit) for text, shown in different.items()}
        treated = {text for text, shown in different.items() if coded[text] != shown}
        formulas = {
            text
            for text, shown in coded.items()
            if (guard and looks_like_formula(shown)) or (header == first and shown[:1] == "#")
        }
        for wanted, found in ((treated, escaped), (formulas, guarded)):
            for row, text in enumerate(texts) if wanted else ():
                if text in wanted:
                    found.setdefault(row, []).append(header)
        safe = {text: f"'{shown}" if text in formulas else shown for text, shown in coded.items()}
        written[header] = [safe[text] for text in texts]
    return Protected(written, _named(guarded, n_rows), _named(escaped, n_rows))


def escape(text: str, unfit: re.Pattern[str]) -> str:
    r"""Return a text with what is unfit as escapes; untouched where nothing is.

    Parameters
    ----------
    text : str
        A cell.
    unfit : re.Pattern
        Signs that cannot be written; a backslash is doubled where there are any.

    Returns
    -------
    str

    Examples
    --------
    >>> escape("one\rtwo \\", re.compile("\r"))
    'one\\rtwo \\\\'
    """
    if unfit.search(text) is None:
        return text
    return _with_backslash(unfit.pattern).sub(lambda found: _code(found[0]), text)


def restore(text: str, *, guarded: bool, escaped: bool) -> str:
    r"""Return a cell as it was before `protect`.

    Parameters
    ----------
    text : str
        As it stands in the file.
    guarded : bool
        Whether one leading apostrophe is ours.
    escaped : bool
        Whether it is written with escapes.

    Returns
    -------
    str

    Examples
    --------
    >>> restore("'=1+1", guarded=True, escaped=False)
    '=1+1'
    """
    bare = text[1:] if guarded and text.startswith("'") else text
    return unescape(bare) if escaped else bare


def unescape(text: str) -> str:
    r"""Return a text with its escapes resolved; what is no escape of ours stays.

    Parameters
    ----------
    text : str
        With escapes for a backslash, line ends, tabs and codes of four digits.

    Returns
    -------
    str

    Examples
    --------
    >>> unescape(r"one\ntwo \u003b \q")
    'one\ntwo ; \\q'
    """
    return _ESCAPE.sub(lambda found: _LONG[found[1]] if found[1] else chr(int(found[2], 16)), text)


def join_names(names: Iterable[str]) -> str:
    r"""Return headers as one cell.

    Parameters
    ----------
    names : iterable of str
        Headers.

    Returns
    -------
    str

    Examples
    --------
    >>> join_names(["bag", "odd; header"])
    'bag; odd\\; header'
    """
    return "; ".join(name.replace("\\", "\\\\").replace(";", "\\;") for name in names)


def split_names(cell: str) -> list[str]:
    r"""Return the headers that one cell names.

    Parameters
    ----------
    cell : str
        Written by `join_names`.

    Returns
    -------
    list of str

    Examples
    --------
    >>> split_names("bag; odd\\; header")
    ['bag', 'odd; header']
    """
    parts = (re.sub(r"\\(.)", r"\1", part, flags=re.DOTALL) for part in _NAME.findall(cell))
    return [name for part in parts if (name := part.strip())]


@cache
def _with_backslash(pattern: str) -> re.Pattern[str]:
    return re.compile(rf"\\|{pattern}")


def _code(sign: str) -> str:
    return f"\\{_SHORT[sign]}" if sign in _SHORT else f"\\u{ord(sign):04x}"


def _named(rows: Mapping[int, Sequence[str]], n_rows: int) -> list[str]:
    return [join_names(rows[row]) if row in rows else "" for row in range(n_rows)]
