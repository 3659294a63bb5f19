"""What each shot is called: its own column, several columns together, or its place."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from yieldwright.bench import Bench
from yieldwright.errors import UnreadableLogError
from yieldwright.formatting import listing
from yieldwright.shotlog.findings import Finding, quoted
from yieldwright.shotlog.formats.texts import TextColumn

if TYPE_CHECKING:
    from collections.abc import Sequence

    from yieldwright.shotlog.tables.reading import Sheet

__all__ = ["Names", "name_shots"]

_JOINED = "/"


class Names(NamedTuple):
    """The shot that each data row names.

    Attributes
    ----------
    ids : TextColumn
        One per data row; empty where the row names none.
    are_typed : bool
        Whether the log names its shots, or we number them.
    refused : list of Finding
        Rows that name no shot.
    """

    ids: TextColumn
    are_typed: bool
    refused: list[Finding]


def name_shots(sheet: Sheet, bench: Bench, *, after: int = 0) -> Names:
    r"""Return the name of the shot on each row.

    Parameters
    ----------
    sheet : Sheet
        Rows as text.
    bench : Bench
        May compose a name of several headers.
    after : int
        The number after which shots without a name are numbered.

    Returns
    -------
    Names

    Raises
    ------
    UnreadableLogError
        If the file lacks a header that the bench composes names of.

    Examples
    --------
    >>> from pathlib import Path
    >>> from tempfile import TemporaryDirectory
    >>> from yieldwright.bench import Bench
    >>> from yieldwright.shotlog.tables.reading import read_sheet
    >>> bench = Bench(shot_id=("session", "brew"))
    >>> with TemporaryDirectory() as folder:
    ...     path = Path(folder, "shots.csv")
    ...     _ = path.write_text("session,brew\n1,87-A\n1,87-B\n", encoding="utf-8")
    ...     names = name_shots(read_sheet(path, "shots", bench), bench)
    >>> list(names.ids)
    ['1/87-A', '1/87-B']
    """
    parts = _parts(sheet, Bench() if sheet.exported.any() else bench)
    if not parts:
        return Names(_numbers(sheet, after), are_typed=False, refused=[])
    ids = _joined(parts)
    remedy = "give it a name of its own"
    refused = [
        Finding(row, "shot", "", "the row does not name its shot", remedy)
        for row in np.flatnonzero(ids.is_blank()).tolist()
    ]
    return Names(ids, are_typed=True, refused=refused)


def _joined(parts: Sequence[TextColumn]) -> TextColumn:
    """Return names made of one column or several, empty where a part is."""
    if len(parts) == 1:
        return TextColumn(parts[0].codes, [text.strip() for text in parts[0].texts])
    stripped = [tuple(cell.strip() for cell in cells) for cells in zip(*parts, strict=True)]
    return TextColumn.of(_JOINED.join(cells) if all(cells) else "" for cells in stripped)


def _parts(sheet: Sheet, bench: Bench) -> list[TextColumn]:
    """Return the columns that make up the name; none where the log has no names."""
    by_header = {
        header.text.casefold(): column
        for header, column in zip(sheet.headers, sheet.rows.columns, strict=True)
    }
    wanted = [header for header in bench.shot_id if header.casefold() not in by_header]
    shot = sheet.texts("quantity").get("shot")
    if bench.shot_id and not wanted:
        return [by_header[header.casefold()] for header in bench.shot_id]
    if wanted and (sheet.table == "shots" or shot is None):
        missing = listing([quoted(header) for header in wanted])
        raise UnreadableLogError(
            f"{sheet.file} has no column {missing}, of which bench.toml composes the names of the "
            "shots; correct shot_id under [columns]"
        )
    return [shot] if shot is not None else []


def _numbers(sheet: Sheet, after: int) -> TextColumn:
    """Return running numbers; rows set aside count, so that mending one renumbers none."""
    aside = np.array([each.record.first_line for each in sheet.set_aside], dtype=np.int64)
    passed = np.searchsorted(np.sort(aside), sheet.rows.first_lines)
    numbers = np.arange(1, len(sheet.rows) + 1) + passed + after
    return TextColumn(np.arange(len(numbers), dtype=np.int32), list(map(str, numbers.tolist())))
