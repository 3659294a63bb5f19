"""The lines of a file as a strip of signs: where rows were accepted, flagged, set aside."""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING

import numpy as np

from yieldwright.formatting import count

if TYPE_CHECKING:
    import pandas as pd

    from yieldwright.shotlog import FileReading, ShotLog

__all__ = ["LEGEND", "line_strip"]

#: By gravity: where a sign stands for several lines, the gravest of them is shown.
_SIGNS = np.array(["_", ".", "?", "X"])
LEGEND = ". accepted   ? flagged   X set aside   _ no row"
_LISTED, _ACCEPTED, _FLAGGED, _SET_ASIDE = range(4)
_MOST_ROWS = 2
#: Where a sign stood for more lines, one bad line would paint all of them.
_MOST_LINES = 20


def line_strip(file: FileReading, log: ShotLog, width: int) -> list[str]:
    r"""Return the lines of a file as signs, two rows at most; none where all is well.

    Parameters
    ----------
    file : FileReading
        One file of the log.
    log : ShotLog
        Tells what became of its lines.
    width : int
        Signs to a row at most.

    Returns
    -------
    list of str
        Rows of signs; a last line says how many lines a sign stands for, where several.

    Examples
    --------
    >>> from pathlib import Path
    >>> from tempfile import TemporaryDirectory
    >>> from yieldwright.shotlog import read_log
    >>> with TemporaryDirectory() as folder:
    ...     path = Path(folder, "shots.csv")
    ...     _ = path.write_text("shot,dose_g\n1,18\n2,180\n3,23\n", encoding="utf-8")
    ...     log = read_log(path)
    >>> line_strip(log.reading.files[0], log, 60)
    ['_.X?']
    """
    kinds = _kinds(file, log)
    if not (kinds > _ACCEPTED).any():
        return []
    each = max(1, -(-len(kinds) // (_MOST_ROWS * width)))
    if each > _MOST_LINES:
        return []
    padded = np.pad(kinds, (0, -len(kinds) % each))
    signs = "".join(_SIGNS[padded.reshape(-1, each).max(axis=1)])
    rows = [signs[at : at + width] for at in range(0, len(signs), width)]
    return rows + ([f"a sign for {count(each, 'line')}, the gravest of them"] if each > 1 else [])


def _kinds(file: FileReading, log: ShotLog) -> np.ndarray:
    """Return what became of each line."""
    kinds = np.full(file.lines_read, _ACCEPTED)
    flagged = log.shots[log.shots["shot"].isin(log.flags["shot"])]
    _mark(kinds, _of(flagged, file), _FLAGGED)
    _mark(kinds, _of(log.set_aside, file), _SET_ASIDE)
    _mark(kinds, _of(log.listed, file), _LISTED)
    return kinds


def _of(table: pd.DataFrame, file: FileReading) -> Iterable[tuple[int, int]]:
    own = table.loc[table["file"] == file.file, ["line", "line_count"]]
    return own.itertuples(index=False, name=None)


def _mark(kinds: np.ndarray, records: Iterable[tuple[int, int]], kind: int) -> None:
    for line, lines in records:
        kinds[line - 1 : line - 1 + lines] = kind
