"""What a trap is: a small log, and what must become of it, as `expected.toml` says beside it.

A trap is a file, or a folder where it takes several files or a bench. Each topic is a folder
with one `expected.toml`, and each trap a table in it::

    ["decimal-commas.csv"]
    why = "semicolons with decimal commas"
    shots = ["a"]
    cells."a" = { dose_g = 18.2, bag = "" }
    aside = [{ line = 3, reason = "is no number", suggestion = "18.3?" }]

The entries are the attributes of `Trap`. An empty text stands for a missing value, and so does
`nan`; days and moments are texts in ISO 8601. What is not mentioned must not be there: no
further row is accepted or set aside, no further doubt flagged, no further line listed.
"""

from __future__ import annotations

import tomllib
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import pandas as pd

from yieldwright.shotlog import ShotLog, read_log

__all__ = ["HERE", "Trap", "cell", "expecting", "is_same", "written_as", "written_traps"]

HERE = Path(__file__).parent


@dataclass(frozen=True)
class Trap:
    """One small log, and what must become of it.

    Attributes
    ----------
    name : str
        Topic and name of the file or folder.
    source : Path or callable
        Where it lies, or what writes it into a folder and returns where.
    why : str
        What the trap is.
    shots : tuple of str
        Accepted shots, in order.
    cells : dict
        By shot, the values of columns; scores are named `score:…`.
    tastings : tuple of tuple
        Shot, taster, attribute and score of all tastings; left out where none is said.
    aside : tuple of dict
        Line, part of the reason and part of the suggestion of each row set aside; its file,
        where there are several.
    flags : tuple of dict
        Shot (empty for a whole column), column and part of the reason of each flag.
    listed : dict
        Kinds of records that hold no row, and how many; headers left out.
    headers : int
        How many records are headers.
    remarks : tuple of str
        Parts of what is said about the reading.
    silent : tuple of str
        What must not be said.
    extras : dict
        By header, the texts of columns that are not recognised.
    encoding, delimiter, decimal : str
        How the first file is read; empty where that is not the point.
    refused : str
        Part of the sentence that refuses the log as a whole.
    """

    name: str
    source: Path | Callable[[Path], Path]
    why: str = ""
    shots: tuple[str, ...] = ()
    cells: dict[str, dict[str, Any]] = field(default_factory=dict)
    tastings: tuple[tuple[Any, ...], ...] = ()
    aside: tuple[dict[str, Any], ...] = ()
    flags: tuple[dict[str, Any], ...] = ()
    listed: dict[str, int] = field(default_factory=dict)
    headers: int = 1
    remarks: tuple[str, ...] = ()
    silent: tuple[str, ...] = ()
    extras: dict[str, tuple[str, ...]] = field(default_factory=dict)
    encoding: str = ""
    delimiter: str = ""
    decimal: str = ""
    refused: str = ""

    def read(self, folder: Path) -> ShotLog:
        """Return the log, from where it lies or from where it is built."""
        path = self.source if isinstance(self.source, Path) else self.source(folder)
        return read_log(path)


def written_traps() -> Iterator[Trap]:
    """Yield the traps that lie here as files, with what their topics expect of them."""
    for expected in sorted(HERE.glob("*/expected.toml")):
        topic = expected.parent
        for name, told in tomllib.loads(expected.read_text(encoding="utf-8")).items():
            yield _trap(topic, name, told)


def written_as(name: str, content: str | bytes) -> Callable[[Path], Path]:
    """Return what writes a file into a folder, and returns where it lies."""

    def write(folder: Path) -> Path:
        path = folder / name
        path.write_bytes(content.encode() if isinstance(content, str) else content)
        return path

    return write


def expecting(
    name: str,
    source: Callable[[Path], Path],
    shots: str = "",
    cells: Mapping[tuple[str, str], Any] | None = None,
    *,
    aside: Sequence[tuple[int, str, str]] = (),
    flags: Sequence[tuple[str, str, str]] = (),
    remark: str = "",
    **told: Any,
) -> Trap:
    """Return a trap that is built, what is expected of it given in short."""
    by_shot: dict[str, dict[str, Any]] = {}
    for (shot, column), value in (cells or {}).items():
        by_shot.setdefault(shot, {})[column] = value
    return Trap(
        name,
        source,
        shots=tuple(shots.split()),
        cells=by_shot,
        aside=tuple(
            dict(zip(("line", "reason", "suggestion"), row, strict=True)) for row in aside
        ),
        flags=tuple(dict(zip(("shot", "column", "reason"), flag, strict=True)) for flag in flags),
        remarks=(remark,) if remark else (),
        **told,
    )


def cell(log: ShotLog, shot: str, column: str) -> Any:
    """Return one value of the table of shots; None where it is missing."""
    value = log.shots.set_index("shot").loc[shot, column]
    return None if pd.isna(value) else value


def is_same(found: Any, expected: Any) -> bool:
    """Return whether a value is the expected one; days and moments are written in ISO 8601."""
    if expected == "" or pd.isna(expected):
        return found is None
    if isinstance(found, pd.Timestamp):
        return found == pd.Timestamp(expected)
    if isinstance(expected, float):
        return bool(abs(found - expected) <= 1e-12 * abs(expected))
    return bool(found == expected)


def _trap(topic: Path, name: str, told: dict[str, Any]) -> Trap:
    known = {key: _frozen(value) for key, value in told.items()}
    return Trap(f"{topic.name}/{name}", topic / name, **known)


def _frozen(value: Any) -> Any:
    if isinstance(value, dict):
        return {key: _frozen(each) for key, each in value.items()}
    return tuple(map(_frozen, value)) if isinstance(value, list) else value
