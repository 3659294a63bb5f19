"""`yieldwright start`: the files a bench begins with."""

from __future__ import annotations

import argparse
import sys
from pathlib import Path

from yieldwright.bench import Bench, bench_template, read_bench
from yieldwright.cli.streams import console, say, say_command, say_pairs
from yieldwright.errors import NotWritableError
from yieldwright.formatting import listing, visible
from yieldwright.shotlog.starting.dictionary import data_dictionary
from yieldwright.shotlog.starting.templates import paper_sheet, shots_template
from yieldwright.shotlog.starting.workbook_template import workbook_template
from yieldwright.shotlog.writing import write_atomically

__all__ = ["start"]

_PURPOSE = {
    "bench.toml": "your instruments, bands and recipe",
    "shots.csv": "an empty log with two examples",
    "shots.xlsx": "an empty log as a workbook",
    "data-dictionary.md": "what each column holds",
    "bench-sheet.html": "a sheet to print and write on",
}


def start(arguments: argparse.Namespace) -> int:
    """Write the files a bench begins with, and say what to do next.

    Parameters
    ----------
    arguments : argparse.Namespace
        With `folder`, `workbook` and `bench`.

    Returns
    -------
    int
        0.

    Raises
    ------
    NotWritableError
        If one of the files is there already, or the folder cannot be made.
    BenchFileError
        If the bench file to copy is wrong.

    Examples
    --------
    >>> from tempfile import TemporaryDirectory
    >>> from yieldwright.cli.arguments import parse
    >>> with TemporaryDirectory() as folder:
    ...     start(parse(["start", f"{folder}/bench"]))  # doctest: +ELLIPSIS
    Wrote to...
    0
    """
    folder = Path(arguments.folder)
    _require_free(folder)
    contents = _contents(arguments)
    _make(folder)
    for name, content in contents.items():
        write_atomically(folder / name, content)
    _report(arguments.folder, contents)
    return 0


def _contents(arguments: argparse.Namespace) -> dict[str, str | bytes]:
    """Return what each file shall hold; a bench of one's own is copied as it stands."""
    own = arguments.bench
    bench = Bench() if own is None else read_bench(own)
    contents: dict[str, str | bytes] = {
        "bench.toml": bench_template() if own is None else Path(own).read_bytes()
    }
    if arguments.workbook:
        contents["shots.xlsx"] = workbook_template(bench)
    else:
        contents["shots.csv"] = shots_template(bench)
    contents["data-dictionary.md"] = data_dictionary()
    contents["bench-sheet.html"] = paper_sheet(bench)
    return contents


def _require_free(folder: Path) -> None:
    """Refuse a folder in which one of our files, or another log, stands already."""
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


def _report(folder: str, contents: dict[str, str | bytes]) -> None:
    writer = console(sys.stdout)
    say(writer, f"Wrote to {visible(folder)}:")
    say_pairs(writer, ((name, _PURPOSE[name]) for name in contents))
    log = "shots.xlsx" if "shots.xlsx" in contents else "shots.csv"
    say(
        writer,
        f"\nNext: print the sheet, pull a few shots, type them into {log}, and state your "
        "scales and grinder in bench.toml. Then",
    )
    say_command(writer, ["yieldwright", "check", folder])
