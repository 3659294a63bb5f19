"""`yieldwright check`: what of a log was read, set aside and flagged."""

from __future__ import annotations

import argparse
import json
import sys
from collections.abc import Callable, Iterator
from typing import TYPE_CHECKING, Any

from yieldwright.cli.streams import console, progress, say, say_command, say_pairs
from yieldwright.errors import YieldwrightError
from yieldwright.formatting import clip, count, listing, visible

if TYPE_CHECKING:
    import pandas as pd
    from rich.console import Console

    from yieldwright.shotlog import FileReading, ShotLog

__all__ = ["check"]

_ROWS_SHOWN = 40
_RAW_SHOWN = 120
_REASON_SHOWN = 240


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
        _print_account(log, arguments.log)
    return 1 if len(log.set_aside) else 0


def _print_json(account: dict[str, Any]) -> None:
    """Print one object in ASCII, so that no text of a log can steer a terminal."""
    sys.stdout.write(json.dumps(account, indent=2, allow_nan=False) + "\n")


def _print_account(log: ShotLog, path: str) -> None:
    writer = console(sys.stdout)
    say_pairs(writer, ((visible(file.file), _lines(file, log)) for file in log.reading.files))
    say(writer, f"\n{_shots_sentence(log)}")
    for file, rows in log.set_aside.groupby("file", sort=False):
        _print_part(writer, f"Set aside in {visible(str(file))}", rows, _set_aside_pairs)
    _print_part(writer, "Flagged, and kept", log.flags, _flag_pairs)
    if log.reading.remarks:
        say(writer, "\nHow it was read", style="bold")
        say_pairs(writer, (("-", visible(remark)) for remark in log.reading.remarks))
    say(writer, f"\n{_closing(log)}")
    if log.set_aside.empty and not log.shots.empty:
        say_command(writer, ["yieldwright", "weekend", path, "--out", "weekend.html"])


def _lines(file: FileReading, log: ShotLog) -> str:
    """Return where the lines of a file went, the listed ones by kind."""
    kinds = log.listed.loc[log.listed["file"] == file.file, "kind"].value_counts(sort=False)
    listed = listing([f"{number} {visible(str(kind))}" for kind, number in kinds.items()])
    return (
        f"{count(file.lines_read, 'line')} read = {file.lines_accepted:,} accepted + "
        f"{file.lines_set_aside:,} set aside + {file.lines_listed:,} listed"
        + (f" ({listed})" if listed else "")
    )


def _shots_sentence(log: ShotLog) -> str:
    if log.shots.empty:
        return "No shot was accepted."
    usable = int(log.shots["usable"].sum())
    judged = f", judged as on {log.as_of.isoformat()}" if log.as_of is not None else ""
    return f"{count(len(log.shots), 'shot')}, {usable:,} of them for slopes{judged}."


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
    rows = table[["line", "reason", "suggestion", "raw"]].itertuples(index=False)
    for line, reason, suggestion, raw in rows:
        yield f"line {line}", _sentences(reason, suggestion)
        yield "reads", clip(visible(raw), _RAW_SHOWN)


def _flag_pairs(table: pd.DataFrame) -> Iterator[tuple[str, str]]:
    rows = table[["shot", "column", "value", "reason", "suggestion"]].fillna("")
    for shot, column, value, reason, suggestion in rows.itertuples(index=False):
        place = f"shot {visible(shot)}" if shot else "all shots"
        what = f"{visible(column)} {clip(visible(value), 40)}".strip()
        named = reason.startswith(column)  # by the reason itself
        sentences = _sentences(reason, suggestion)
        yield clip(place, 20), sentences if named else f"{what}: {sentences}"


def _sentences(reason: str, suggestion: str) -> str:
    """Return what is wrong and the remedy; a row wrong in every cell is told in part."""
    parts = [clip(visible(part), _REASON_SHOWN) for part in (reason, suggestion) if part]
    return "; ".join(parts)


def _closing(log: ShotLog) -> str:
    if len(log.set_aside):
        return (
            "Correct the rows set aside, or widen a range in bench.toml where your bench "
            "rightly goes beyond it, and check again. The page counts these rows, and uses "
            "only what was accepted."
        )
    if log.shots.empty:
        return (
            "Nothing was set aside, and there is nothing to review yet: add a row for each shot."
        )
    return "Nothing was set aside. Next:"
