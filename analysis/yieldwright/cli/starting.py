"""`yieldwright start`: the files a bench begins with."""

from __future__ import annotations

import argparse
import sys
from pathlib import Path

from yieldwright.bench import Bench, bench_template
from yieldwright.cli.streams import console, say, say_command, say_pairs
from yieldwright.errors import NotWritableError
from yieldwright.formatting import listing, visible
from yieldwright.shotlog.templates import data_dictionary, paper_sheet, shots_template
from yieldwright.shotlog.writing import write_atomically

__all__ = ["start"]

_PURPOSE = {
    "bench.toml": "your instruments, bands and recipe",
    "shots.csv": "an empty log with two examples",
    "data-dictionary.md": "what each column holds",
    "bench-sheet.html": "a sheet to print and write on",
}


def start(arguments: argparse.Namespace) -> int:
    """Write the files a bench begins with, and say what to do next.

    Parameters
    ----------
    arguments : argparse.Namespace
        With `folder`.

    Returns
    -------
    int
        0.

    Raises
    ------
    NotWritableError
        If one of the files is there already, or the folder cannot be made.

    Examples
    --------
    >>> from tempfile import TemporaryDirectory
    >>> with TemporaryDirectory() as folder:
    ...     start(argparse.Namespace(folder=f"{folder}/bench"))  # doctest: +ELLIPSIS
    Wrote to...
    0
    """
    folder = Path(arguments.folder)
    _require_free(folder)
    contents = {
        "bench.toml": bench_template(),
        "shots.csv": shots_template(Bench()),
        "data-dictionary.md": data_dictionary(),
        "bench-sheet.html": paper_sheet(Bench()),
    }
    _make(folder)
    for name, content in contents.items():
        write_atomically(folder / name, content)
    _report(arguments.folder)
    return 0


def _require_free(folder: Path) -> None:
    """Refuse a folder in which one of our files stands already."""
    there = [name for name in _PURPOSE if (folder / name).exists() or (folder / name).is_symlink()]
    if there:
        verb = "is" if len(there) == 1 else "are"
        raise NotWritableError(
            f"{listing(there)} {verb} in {folder} already and nothing was written; "
            "name another folder, or move what is there away first"
        )


def _make(folder: Path) -> None:
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except (OSError, ValueError) as problem:
        reason = getattr(problem, "strerror", None) or problem
        raise NotWritableError(
            f"the folder {folder} cannot be made ({reason}); name another"
        ) from None


def _report(folder: str) -> None:
    writer = console(sys.stdout)
    say(writer, f"Wrote to {visible(folder)}:")
    say_pairs(writer, _PURPOSE.items())
    say(
        writer,
        "\nNext: print the sheet, pull a few shots, type them into shots.csv, and state your "
        "scales and grinder in bench.toml. Then",
    )
    say_command(writer, ["yieldwright", "check", folder])
