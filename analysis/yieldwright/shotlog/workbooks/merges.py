"""Merged cells: one value for several rows is given to each; across columns it is none's."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from typing import TYPE_CHECKING, NamedTuple

from yieldwright.errors import UnreadableLogError
from yieldwright.formatting import clip, visible

if TYPE_CHECKING:
    from yieldwright.shotlog.formats.records import Kind
    from yieldwright.shotlog.workbooks.rows import Merge, SheetRows

__all__ = ["Oddity", "find_header", "settle_merges"]

#: Rows above the header, such as titles and comments, that are looked through.
_HEADER_WITHIN = 30
#: Rows that all merged ranges may span together; honest ranges do not overlap.
_MOST_ROWS_MERGED = 3_000_000


class Oddity(NamedTuple):
    """What a row is, where it is no plain row.

    Attributes
    ----------
    kind : str
        A title, or damaged.
    problem : str
        Why a damaged row cannot be read.
    suggestion : str
        What would mend it.
    """

    kind: Kind
    problem: str = ""
    suggestion: str = ""


def find_header(rows: SheetRows, is_known: Callable[[str], bool]) -> int:
    """Return the number of the row that names the columns, 0 where none of the first does.

    Parameters
    ----------
    rows : SheetRows
        A sheet.
    is_known : callable
        Whether a text names a column we know.

    Returns
    -------
    int
        The row with most known names, the first of several. A name merged down over the
        rows of a header counts in each.
    """
    names = {row: set(cells) for row, cells in rows.cells.items() if row <= _HEADER_WITHIN}
    for merge in filter(_is_down, rows.merges):
        for row in range(merge.top + 1, min(merge.bottom, _HEADER_WITHIN) + 1):
            if row in names:
                names[row].add(rows.cell(merge.top, merge.left))
    known = {row: sum(map(is_known, texts)) for row, texts in names.items()}
    best = max(known, key=lambda row: (known[row], -row), default=0)
    return best if known.get(best) else 0


def settle_merges(
    rows: SheetRows, header: int, file: str
) -> tuple[dict[int, Oddity], list[Merge]]:
    """Fill what is merged down a column, and judge the rows merged across columns.

    Parameters
    ----------
    rows : SheetRows
        A sheet; its cells are filled in place.
    header : int
        Number of the row that names the columns.
    file : str
        For messages.

    Returns
    -------
    odd : dict of int to Oddity
        Rows that are no plain rows.
    filled : list of Merge
        Ranges whose value was given to the rows below its first.

    Raises
    ------
    UnreadableLogError
        If one name in the header is merged over several filled columns, or the ranges
        overlap.
    """
    merges = [merge for merge in rows.merges if rows.cell(merge.top, merge.left).strip()]
    if sum(min(each.bottom, rows.last) - each.top for each in merges) > _MOST_ROWS_MERGED:
        raise UnreadableLogError(
            f"{file} has merged ranges that overlap; unmerge the cells and save it again"
        )
    odd: dict[int, Oddity] = {}
    filled = [merge for merge in merges if _is_down(merge) and _fill(rows, merge, header, odd)]
    for merge in merges:
        if not _is_down(merge):
            _refuse_shared_name(rows, merge, header, file)
            odd |= _judged(rows, merge, header)
    return odd, filled


def _is_down(merge: Merge) -> bool:
    return merge.left == merge.right


def _spanned(rows: SheetRows, first: int, last: int) -> Iterable[int]:
    """Return the filled rows of a span."""
    return (row for row in range(first, min(last, rows.last) + 1) if row in rows.cells)


def _fill(rows: SheetRows, merge: Merge, header: int, odd: dict[int, Oddity]) -> bool:
    """Give a value to the rows it is merged over; return whether any of them is data.

    A name of the header stays in the header, however far down its cell reaches.
    """
    value = rows.cell(merge.top, merge.left)
    is_name = merge.top <= header
    for row in _spanned(
        rows, merge.top + 1, min(merge.bottom, header) if is_name else merge.bottom
    ):
        hidden = rows.cell(row, merge.left)
        if not hidden:
            rows.fill(row, merge.left, value)
        elif hidden != value:
            odd[row] = _contradicted(merge, value, hidden)
    return not is_name


def _refuse_shared_name(rows: SheetRows, merge: Merge, header: int, file: str) -> None:
    """Raise where several filled columns have one merged cell for a name."""
    if not merge.top <= header <= merge.bottom:
        return
    below = [row for row in rows.cells if row > header]
    for column in range(merge.left + 1, min(merge.right, merge.left + 300) + 1):
        if any(rows.cell(row, column).strip() for row in below):
            name = rows.cell(merge.top, merge.left)
            raise UnreadableLogError(
                f"{file}: the header {_shown(name)} is merged over {merge}, several columns "
                "with one name; unmerge it and give each column its own"
            )


def _judged(rows: SheetRows, merge: Merge, header: int) -> dict[int, Oddity]:
    """Return what becomes of the rows below the header that a merge across columns touches."""
    value = rows.cell(merge.top, merge.left)
    return {
        row: Oddity("title") if _stands_alone(rows, row, merge) else _across(merge, value)
        for row in _spanned(rows, max(merge.top, header + 1), merge.bottom)
        if header
    }


def _stands_alone(rows: SheetRows, row: int, merge: Merge) -> bool:
    filled = [at for at, cell in enumerate(rows.cells[row], start=1) if cell.strip()]
    return row == merge.top and filled == [merge.left]


def _across(merge: Merge, value: str) -> Oddity:
    return Oddity(
        "damaged",
        f"{_shown(value)} is merged over the cells {merge}, so its column cannot be told",
        "unmerge the cells and give each column its own value",
    )


def _contradicted(merge: Merge, value: str, hidden: str) -> Oddity:
    return Oddity(
        "damaged",
        f"{_shown(value)} is merged over {merge} and hides {_shown(hidden)}",
        "unmerge the cells and keep the right value in each",
    )


def _shown(text: str) -> str:
    return f"“{clip(visible(text), 40)}”"
