"""A log as it stands after reading: checked tables, and an account of every line."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING, Literal

import pandas as pd

from yieldwright.formatting import count

if TYPE_CHECKING:
    from yieldwright.bench import Bench

__all__ = ["FileReading", "Reading", "ShotLog", "score_table"]


@dataclass(frozen=True, slots=True)
class FileReading:
    """How one file was read, and where each of its physical lines went.

    A record that spans several lines, such as a quoted note, counts them all.

    Attributes
    ----------
    file : str
        Name of the file, without its folder.
    table : {"shots", "tastings"}
        What its rows describe.
    sha256 : str
        Digest of its bytes.
    encoding : str
        How its bytes were taken as text.
    delimiter : {"comma", "semicolon", "tab"} or None
        What stands between cells; None where the format needs nothing.
    decimal : {"point", "comma"}
        What stands before the decimals of a number.
    lines_read : int
        Physical lines of the file.
    lines_accepted : int
        Lines of rows that were accepted, flagged or not.
    lines_set_aside : int
        Lines of rows that were set aside.
    lines_listed : int
        Lines that hold no row: headers, blanks, comments, titles, units.
    header : tuple of str
        What its columns are called, as they stand in the file.
    units : tuple of str
        The cells of its row of units; none where it has no such row.
    """

    file: str
    table: Literal["shots", "tastings"]
    sha256: str
    encoding: str
    delimiter: Literal["comma", "semicolon", "tab"] | None
    decimal: Literal["point", "comma"]
    lines_read: int
    lines_accepted: int
    lines_set_aside: int
    lines_listed: int
    header: tuple[str, ...] = ()
    units: tuple[str, ...] = ()

    @property
    def adds_up(self) -> bool:
        """Whether every line read is accepted, set aside or listed."""
        return self.lines_read == self.lines_accepted + self.lines_set_aside + self.lines_listed


@dataclass(frozen=True, slots=True)
class Reading:
    """How a log was read: its files line by line, and what was detected or assumed.

    Attributes
    ----------
    files : tuple of FileReading
        Shots first.
    remarks : tuple of str
        Sentences: what was detected, converted, assumed or not recognised.
    """

    files: tuple[FileReading, ...]
    remarks: tuple[str, ...] = ()

    @property
    def lines_read(self) -> int:
        """Physical lines of all files."""
        return sum(file.lines_read for file in self.files)

    @property
    def lines_accepted(self) -> int:
        """Lines of accepted rows."""
        return sum(file.lines_accepted for file in self.files)

    @property
    def lines_set_aside(self) -> int:
        """Lines of rows that were set aside."""
        return sum(file.lines_set_aside for file in self.files)

    @property
    def lines_listed(self) -> int:
        """Lines that hold no row."""
        return sum(file.lines_listed for file in self.files)

    @property
    def adds_up(self) -> bool:
        """Whether every line of every file is accepted, set aside or listed."""
        return all(file.adds_up for file in self.files)


@dataclass(frozen=True, eq=False, repr=False)
class ShotLog:
    """A log of shots after reading and checking.

    Attributes
    ----------
    shots : DataFrame
        One row per accepted shot, in the order of the file. Columns carry glossary
        names; a column that was neither in the file nor computable is absent. Always
        there: `shot`, `session`, `position`, `fate`, `stage`, `usable`, `file`, `line`
        and `line_count` (first physical line, and how many). `usable` says whether the
        shot may enter slopes: pulled, counted, and not above what water can dissolve.
        A typed value of a computed quantity stands beside it as `typed_…`.
    tastings : DataFrame
        One row per shot, taster and attribute: `shot`, `taster`, `tasting_order`,
        `blind_code`, `attribute`, `score`, `swallowed`.
    set_aside : DataFrame
        One row per row of a file that was not accepted: `file`, `line`, `line_count`,
        `raw`, `reason`, `suggestion`.
    flags : DataFrame
        One row per doubt about an accepted row: `shot` (missing where a whole column is
        meant), `column`, `value` as typed, `reason`, `suggestion`.
    listed : DataFrame
        One row per record that holds no shot: `file`, `line`, `line_count`, `kind`, `raw`.
    reading : Reading
        How the files were read.
    bench : Bench
        The bench the log was read for.
    as_of : date or None
        Day on which the log is judged; None where neither the caller nor any shot
        gives a day.
    extras : DataFrame
        One row per accepted shot: `shot`, and the columns that were not recognised, as
        text.
    tasting_extras : DataFrame
        One row per row of `tastings`: the columns of the tasting files that were not
        recognised, as text.
    set_aside_cells : tuple of (int, tuple of str)
        For each row set aside, its file's place in `reading.files` and its cells as
        typed; no cells where the record cannot be told apart into them.
    """

    shots: pd.DataFrame
    tastings: pd.DataFrame
    set_aside: pd.DataFrame
    flags: pd.DataFrame
    listed: pd.DataFrame
    reading: Reading
    bench: Bench
    as_of: date | None
    extras: pd.DataFrame
    tasting_extras: pd.DataFrame
    set_aside_cells: tuple[tuple[int, tuple[str, ...]], ...] = ()

    def __repr__(self) -> str:
        """Return the counts: the tables themselves are too long for one line."""
        parts = (
            count(len(self.shots), "shot"),
            f"{count(len(self.set_aside), 'row')} set aside",
            count(len(self.flags), "flag"),
        )
        return f"ShotLog({', '.join(parts)})"


def score_table(log: ShotLog) -> pd.DataFrame:
    r"""Return the scores of each shot, as the mean of its tasters.

    A taster who scored an attribute of one shot several times counts once, by the mean.

    Parameters
    ----------
    log : ShotLog
        A log that was read.

    Returns
    -------
    DataFrame
        One row per shot, in the order of the log: `shot`, one column per attribute
        (those of the bench first) and `n_tasters`.

    Examples
    --------
    >>> from pathlib import Path
    >>> from tempfile import TemporaryDirectory
    >>> from yieldwright.shotlog import read_log
    >>> with TemporaryDirectory() as folder:
    ...     path = Path(folder, "shots.csv")
    ...     _ = path.write_text("shot,dose_g,overall\n1,18.1,6\n2,17.9,7\n", encoding="utf-8")
    ...     log = read_log(path)
    >>> score_table(log)
      shot  overall  n_tasters
    0    1      6.0          1
    1    2      7.0          1
    """
    tastings = log.tastings.dropna(subset=["score"])
    by_taster = tastings.groupby(["shot", "attribute", "taster"], as_index=False)["score"].mean()
    scores = by_taster.pivot_table(index="shot", columns="attribute", values="score")
    named = [attribute.name for attribute in log.bench.attributes]
    others = sorted(str(name) for name in scores if name not in named)
    order = [name for name in named if name in scores] + others
    shots = pd.Index(log.shots["shot"], name="shot")
    table: pd.DataFrame = scores[order].reindex(shots).rename_axis(columns=None)
    tasters = tastings.groupby("shot")["taster"].nunique()
    table["n_tasters"] = tasters.reindex(shots).fillna(0).astype(int)
    return table.reset_index()
