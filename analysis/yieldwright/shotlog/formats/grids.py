"""Records of a format that stores its cells column by column, made only when looked at."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING, overload

import numpy as np

from yieldwright.errors import UnreadableLogError
from yieldwright.formatting import listing
from yieldwright.shotlog.findings import quoted

if TYPE_CHECKING:
    from yieldwright.shotlog.formats.records import Record
    from yieldwright.shotlog.formats.rows import Rows

__all__ = ["MOST_CELLS", "ColumnRecords", "refuse_unknown_names"]

#: Far above a log of a million shots, far below what fills a memory.
MOST_CELLS = 50_000_000

_MOST_SHOWN = 5


class ColumnRecords(Sequence["Record"]):
    """The records of a file in order, of which only the others exist as such.

    Parameters
    ----------
    rows : Rows
        Records with a cell for every column, blank ones left out.
    others : sequence of Record
        All other records, in order.
    """

    def __init__(self, rows: Rows, others: Sequence[Record]) -> None:
        self.rows = rows
        self.others = others
        lines = np.r_[rows.first_lines, [each.first_line for each in others]].astype(np.int64)
        self._order = np.argsort(lines, kind="stable")

    def __len__(self) -> int:
        """Return the number of records."""
        return len(self._order)

    @overload
    def __getitem__(self, index: int) -> Record: ...
    @overload
    def __getitem__(self, index: slice) -> list[Record]: ...
    def __getitem__(self, index: int | slice) -> Record | list[Record]:
        """Return one record, or a list of some."""
        if isinstance(index, slice):
            return [self._record(at) for at in self._order[index].tolist()]
        return self._record(int(self._order[index]))

    def _record(self, at: int) -> Record:
        n = len(self.rows)
        return self.rows.record(at) if at < n else self.others[at - n]


def refuse_unknown_names(names: Sequence[str], known: Iterable[bool], file: str) -> None:
    """Raise where not one column of a file has a name we know.

    Parameters
    ----------
    names : sequence of str
        The header.
    known : iterable of bool
        For each name, whether we know it.
    file : str
        For the message.

    Raises
    ------
    UnreadableLogError
        If none is known.
    """
    if any(known):
        return
    more = [f"{len(names) - _MOST_SHOWN} more"] if len(names) > _MOST_SHOWN else []
    shown = listing([*map(quoted, names[:_MOST_SHOWN]), *more])
    raise UnreadableLogError(
        f"{file} names no column we know: {shown}; use the names of the data dictionary (shot, "
        "pulled_at, dose_g, beverage_g, time_s, tds_pct …), or say what your own mean under "
        "[columns] in bench.toml"
    )
