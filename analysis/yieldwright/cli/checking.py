"""`yieldwright check`: what of a log was read, set aside and flagged."""

from __future__ import annotations

import argparse
import json
import sys
from collections.abc import Callable, Iterator
from typing import TYPE_CHECKING, Any

from yieldwright.cli.streams import console, progress, say, say_pairs
from yieldwright.errors import YieldwrightError
from yieldwright.formatting import clip, count, visible

if TYPE_CHECKING:
    import pandas as pd
    from rich.console import Console

    from yieldwright.shotlog import ShotLog

__all__ = ["check"]

_ROWS_SHOWN = 40
_RAW_SHOWN = 160


def check(arguments: argparse.Namespace) -> int:
    r"""Print the account of a log, for people or as JSON.

    Parameters
    ----------
    arguments : argparse.Namespace
        With `log`, `as_of` and `json`.

    Returns
    -------
    int
        1 where rows were set aside, else 0.

    Raises
    ------
    UnreadableLogError
        If the log cannot be read at all; as JSON, an object says so first.
    BenchFileError
        If the bench file beside it is wrong; as JSON, an object says so first.

    Examples
    --------
    >>> from pathlib import Path
    >>> from tempfile import TemporaryDirectory
    >>> with TemporaryDirectory() as folder:
    ...     log = Path(folder, "shots.csv")
    ...     _ = log.write_text("shot,dose_g\n1,18\n", encoding="utf-8")
    ...     check(argparse.Namespace(log=str(log), as_of=None, json=False))  # doctest: +ELLIPSIS
    shots.csv...
    0
    """
    try:
        with progress("reading the log"):
            from yieldwright.shotlog import read_log

            log = read_log(arguments.log, as_of=arguments.as_of)
    except (YieldwrightError, OSError) as problem:
        if arguments.json:
            from yieldwright.cli.account import account_of_unreadable

            _print_json(account_of_unreadable(arguments.log, problem))
        raise
    if arguments.json:
        from yieldwright.cli.account import account_of

        _print_json(account_of(log, arguments.log))
    else:
        _print_account(log, console(sys.stdout))
    return 1 if len(log.set_aside) else 0


def _print_json(account: dict[str, Any]) -> None:
    """Print one object in ASCII, so that no text of a log can steer a terminal."""
    sys.stdout.write(json.dumps(account, indent=2, allow_nan=False) + "\n")


def _print_account(log: ShotLog, writer: Console) -> None:
    for file in log.reading.files:
        say(
            writer,
            f"{visible(file.file)}: {count(file.lines_read, 'line')} read = "
            f"{file.lines_accepted} accepted + {file.lines_set_aside} set aside + "
            f"{file.lines_listed} listed",
        )
    say(writer, _shots_sentence(log))
    _print_part(writer, "Set aside", log.set_aside, _set_aside_pairs)
    _print_part(writer, "Flagged, and kept", log.flags, _flag_pairs)
    if log.reading.remarks:
        say(writer, "\nHow it was read", style="bold")
        say_pairs(writer, (("-", visible(remark)) for remark in log.reading.remarks))
    say(writer, f"\n{_closing(log)}")


def _shots_sentence(log: ShotLog) -> str:
    usable = int(log.shots["usable"].sum())
    judged = f", judged as on {log.as_of.isoformat()}" if log.as_of is not None else ""
    return f"{count(len(log.shots), 'shot')}, {usable} of them for slopes{judged}."


def _print_part(
    writer: Console,
    title: str,
    table: pd.DataFrame,
    pairs: Callable[[pd.DataFrame], Iterator[tuple[str, str]]],
) -> None:
    """Print a table as pairs, a title before and the number of rows not shown after."""
    if table.empty:
        return
    say(writer, f"\n{title} ({len(table)})", style="bold")
    say_pairs(writer, pairs(table.head(_ROWS_SHOWN)))
    if len(table) > _ROWS_SHOWN:
        say(writer, f"and {len(table) - _ROWS_SHOWN:,} more: --json lists every one")


def _set_aside_pairs(table: pd.DataFrame) -> Iterator[tuple[str, str]]:
    rows = table[["file", "line", "reason", "suggestion", "raw"]].itertuples(index=False)
    for file, line, reason, suggestion, raw in rows:
        yield f"{visible(file)} {line}", _sentences(reason, suggestion)
        yield "", clip(visible(raw), _RAW_SHOWN)


def _flag_pairs(table: pd.DataFrame) -> Iterator[tuple[str, str]]:
    rows = table[["shot", "column", "value", "reason", "suggestion"]].fillna("")
    for shot, column, value, reason, suggestion in rows.itertuples(index=False):
        place = f"shot {visible(shot)}" if shot else "all shots"
        what = f"{visible(column)} {clip(visible(value), 40)}".strip()
        yield clip(place, 20), f"{what}: {_sentences(reason, suggestion)}"


def _sentences(reason: str, suggestion: str) -> str:
    return visible(f"{reason}; {suggestion}" if suggestion else reason)


def _closing(log: ShotLog) -> str:
    if len(log.set_aside):
        return (
            "Correct the rows set aside where they can be, and check again; the page counts "
            "them, and uses only what was accepted."
        )
    return "Nothing was set aside. 'yieldwright weekend LOG --out PAGE' writes the page."
