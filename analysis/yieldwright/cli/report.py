"""The account of a log for people: what to mend first, and what to type instead."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from yieldwright.cli.alike import Alike, Said, gather_alike, one_by_one, place_list
from yieldwright.cli.excerpts import Excerpt, excerpt, places_in_question
from yieldwright.cli.gravity import GRAVITIES, Gravity, gravity_of
from yieldwright.cli.line_strip import LEGEND, line_strip
from yieldwright.cli.streams import say, say_command, say_pairs
from yieldwright.formatting import clip, count, listing, visible

if TYPE_CHECKING:
    import pandas as pd
    from rich.console import Console
    from rich.text import Text

    from yieldwright.shotlog import FileReading, ShotLog

__all__ = ["print_report"]

_GROUPS_SHOWN = 12
_MANY_ROWS = 5
_SENTENCE_SHOWN = 240
_VALUE_SHOWN = 40
_PLACE_WIDTH = 14  # at least, blanks around it included
_NOTHING_YET = (
    "Nothing was set aside, and there is nothing to review yet: add a row for each shot."
)


def print_report(writer: Console, log: ShotLog, path: str) -> None:
    r"""Print what of a log was read, set aside and flagged, and what to do next.

    Parameters
    ----------
    writer : rich.console.Console
        From `console`.
    log : ShotLog
        A log that was read.
    path : str
        How it was named.

    Examples
    --------
    >>> import sys
    >>> from pathlib import Path
    >>> from tempfile import TemporaryDirectory
    >>> from yieldwright.cli.streams import console
    >>> from yieldwright.shotlog import read_log
    >>> with TemporaryDirectory() as folder:
    ...     file = Path(folder, "shots.csv")
    ...     _ = file.write_text("shot,dose_g\n1,18\n2,180\n", encoding="utf-8")
    ...     print_report(console(sys.stdout), read_log(file), "shots.csv")  # doctest: +ELLIPSIS
      shots.csv  3 lines read = 1 accepted + 1 set aside + 1 listed (1 header)
                 _.X
    ...
    """
    _say_files(writer, log)
    say(writer, f"\n{_shots_sentence(log)}")
    for file in log.reading.files:
        _say_set_aside(writer, file, log)
    for gravity in GRAVITIES:
        _say_flags(writer, gravity, log)
    if log.reading.remarks:
        say(writer, "\nHow it was read", style="bold")
        say_pairs(writer, (("-", visible(remark)) for remark in log.reading.remarks))
    _say_next(writer, log, path)


@dataclass(frozen=True, slots=True)
class _Block:
    """What stands beside one name: paragraphs, then perhaps a row of the file."""

    place: str
    paragraphs: Sequence[str]
    row: Excerpt | None = None


@dataclass(frozen=True, slots=True)
class _RawRows:
    """Rows of a file as they stand there, by line, and what is needed to show one."""

    by_line: Mapping[str, str]
    names: Sequence[str]
    delimiter: str | None
    room: int

    def excerpt(self, line: str, reason: str) -> Excerpt:
        """Return a row with the cells marked that a reason speaks of."""
        raw = self.by_line[line]
        places = places_in_question(raw, reason, self.names, self.delimiter)
        return excerpt(raw, places, self.room)


def _say_files(writer: Console, log: ShotLog) -> None:
    """Print where the lines of each file went, as counts and as a strip."""
    names = [clip(visible(file.file), 24) for file in log.reading.files]
    room = writer.width - max(map(len, names)) - 4
    strips = [line_strip(file, log, room) for file in log.reading.files]
    rows: list[tuple[str, str]] = []
    for name, file, strip in zip(names, log.reading.files, strips, strict=True):
        rows.append((name, _lines(file, log)))
        rows += [("", line) for line in strip]
    say_pairs(writer, [*rows, *([("", LEGEND)] if any(strips) else [])])


def _lines(file: FileReading, log: ShotLog) -> str:
    """Return where the lines of a file went, the listed ones by kind."""
    kinds = log.listed.loc[log.listed["file"] == file.file, "kind"].value_counts(sort=False)
    listed = listing([_kind_count(number, str(kind)) for kind, number in kinds.items()])
    return (
        f"{count(file.lines_read, 'line')} read = {file.lines_accepted:,} accepted + "
        f"{file.lines_set_aside:,} set aside + {file.lines_listed:,} listed"
        + (f" ({listed})" if listed else "")
    )


def _kind_count(number: int, kind: str) -> str:
    if kind == "units":
        return count(number, "row of units", "rows of units")
    return count(number, kind)


def _shots_sentence(log: ShotLog) -> str:
    if log.shots.empty:
        return "No shot was accepted."
    usable = int(log.shots["usable"].sum())
    judged = f", judged as on {log.as_of.isoformat()}" if log.as_of is not None else ""
    return f"{count(len(log.shots), 'shot')}, {usable:,} of them for slopes{judged}."


def _say_set_aside(writer: Console, file: FileReading, log: ShotLog) -> None:
    """Print the rows of a file that were set aside, those for one reason together."""
    rows = log.set_aside[log.set_aside["file"] == file.file]
    said = [
        Said(line, "", reason, suggestion)
        for line, reason, suggestion in _texts(rows, "line", "reason", "suggestion")
    ]
    groups = gather_alike(said)
    title = f"Set aside in {visible(file.file)}: {count(len(rows), 'row')}"
    if len(groups) > _GROUPS_SHOWN:
        said = [part for each in said for part in one_by_one(each)]
        groups = gather_alike(said, by_remedy=False)
        title += ", told under each of their reasons" if len(said) > len(rows) else ""
    raw = dict(zip(rows["line"].astype(str), rows["raw"], strict=True))
    sheet = _RawRows(raw, _column_names(file, log), file.delimiter, writer.width - _PLACE_WIDTH)
    blocks = (
        _set_aside_block(alike, said[alike.example].place, sheet)
        for alike in groups[:_GROUPS_SHOWN]
    )
    _say_part(writer, title, blocks, groups, "row")


def _set_aside_block(alike: Alike, line: str, sheet: _RawRows) -> _Block:
    is_one = len(alike.places) == 1
    where = "" if is_one else f" – {place_list(alike.places, 'line')}"
    paragraphs = [f"{_shown(alike.sentence)}{where}"]
    if alike.remedy:
        on_line = f", on line {line}" if alike.remedy_differs else ""
        paragraphs.append(f"Try{on_line}: {_shown(alike.remedy)}")
    place = f"line {line}" if is_one else f"{len(alike.places):,} rows"
    return _Block(place, paragraphs, sheet.excerpt(line, alike.sentence))


def _column_names(file: FileReading, log: ShotLog) -> list[str]:
    """Return what the columns of a file stand for."""
    from yieldwright.shotlog.headers.exported_headers import own_vocabulary
    from yieldwright.shotlog.headers.headers import read_headers

    vocabulary = own_vocabulary(file.table, log.bench, file.header)
    return [header.name for header in read_headers(file.header, vocabulary, file.file)]


def _say_flags(writer: Console, gravity: Gravity, log: ShotLog) -> None:
    """Print the flags of one gravity, those that say one thing together."""
    flags = [
        flag
        for flag in _texts(log.flags, "shot", "column", "value", "reason", "suggestion")
        if gravity_of(flag[3]) == gravity
    ]
    said = [
        Said(clip(visible(shot), 20), column, reason, suggestion)
        for shot, column, _, reason, suggestion in flags
    ]
    groups = gather_alike(said)
    blocks = (_flag_block(alike, flags) for alike in groups[:_GROUPS_SHOWN])
    title = f"{GRAVITIES[gravity]}: {count(len(flags), 'flag')}"
    _say_part(writer, title, blocks, groups, "flag")


def _flag_block(alike: Alike, flags: Sequence[Sequence[str]]) -> _Block:
    told = "; ".join(_shown(part) for part in (alike.sentence, alike.remedy) if part)
    if not alike.sentence.startswith(alike.about):  # else the sentence itself names it
        told = f"{_about(alike, flags[alike.example][2])}: {told}"
    shots = list(dict.fromkeys(alike.places))
    if len(shots) > 1:
        return _Block(f"{len(shots):,} shots", [f"{told} – {place_list(shots, 'shot')}"])
    return _Block(f"shot {shots[0]}" if shots[0] else "all shots", [told])


def _about(alike: Alike, value: str) -> str:
    """Return the column, with what was typed in it unless the sentence says so."""
    column = visible(alike.about)
    if not value.strip() or value.strip() in alike.sentence:
        return column
    such_as = ", such as" if len(alike.places) > 1 else ""
    return f"{column}{such_as} {clip(visible(value), _VALUE_SHOWN)}"


def _say_part(
    writer: Console,
    title: str,
    blocks: Iterable[_Block],
    groups: Sequence[Alike],
    noun: str,
) -> None:
    """Print a title and its blocks, and how many groups are left out."""
    if not groups:
        return
    say(writer, f"\n{title}", style="bold")
    told = list(blocks)
    width = max(_PLACE_WIDTH, *(len(block.place) + 4 for block in told))
    for block in told:
        _say_block(writer, block, width)
    left_out = groups[_GROUPS_SHOWN:]
    if left_out:
        beyond = count(sum(len(alike.places) for alike in left_out), noun)
        reasons = count(len(left_out), "other reason")
        say(writer, f"and {beyond} for {reasons}: --json lists every one")


def _say_block(writer: Console, block: _Block, place_width: int) -> None:
    """Print a name, and beside it what is said and a row of the file, unwrapped."""
    from rich.console import Group
    from rich.table import Table
    from rich.text import Text

    beside: list[Text] = [Text(paragraph) for paragraph in block.paragraphs]
    if block.row is not None:
        lines = [block.row.text, *filter(None, [block.row.marks])]
        beside += [Text(line, no_wrap=True, overflow="crop") for line in lines]
    table = Table.grid(padding=(0, 0))
    table.add_column(width=place_width, overflow="fold")
    table.add_column(overflow="fold")
    table.add_row(Text(f"  {block.place}", style="bold"), Group(*beside))
    say(writer, table)


def _say_next(writer: Console, log: ShotLog, path: str) -> None:
    weekend = ["yieldwright", "weekend", path, "--out", "weekend.html"]
    export = ["yieldwright", "export", path]
    if log.set_aside.empty and log.shots.empty:
        say(writer, f"\n{_NOTHING_YET}")
    elif log.set_aside.empty:
        say(writer, "\nNothing was set aside. Next:")
        say_command(writer, weekend)
    else:
        _say_how_to_mend(writer, log, path)
        if len(log.set_aside) >= _MANY_ROWS:
            say(writer, "Or correct them in a file of their own:")
            say_command(writer, [*export, "--set-aside", "--out", "set-aside-shots.csv"])
        if not log.shots.empty:
            say(writer, "Or go on without them; the page counts them, and uses what was accepted:")
            say_command(writer, weekend)


def _say_how_to_mend(writer: Console, log: ShotLog, path: str) -> None:
    files = listing([visible(str(file)) for file in log.set_aside["file"].unique()])
    say(writer, "\nNext", style="bold")
    say(
        writer,
        f"Correct the rows set aside in {files}, or widen a range in bench.toml where your bench "
        "rightly goes beyond it. Then",
    )
    say_command(writer, ["yieldwright", "check", path])


def _texts(table: pd.DataFrame, *columns: str) -> Iterator[tuple[str, ...]]:
    """Yield the rows of some columns as texts, missing ones empty."""
    rows = table[list(columns)].astype(object)
    filled = rows.where(rows.notna(), "")
    for row in filled.itertuples(index=False, name=None):
        yield tuple(map(str, row))


def _shown(sentence: str) -> str:
    """Return a sentence short and safe; a row wrong in every cell is told in part."""
    return clip(visible(sentence), _SENTENCE_SHOWN)
