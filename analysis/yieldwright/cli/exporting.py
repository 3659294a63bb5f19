"""`yieldwright export`: a log for spreadsheets and other programs."""

from __future__ import annotations

import argparse
import sys
from pathlib import Path
from typing import TYPE_CHECKING

from yieldwright.cli.loading import libraries
from yieldwright.cli.streams import console, progress, say, say_command, say_pairs, share_of
from yieldwright.formatting import count, listing, visible

if TYPE_CHECKING:
    from rich.console import Console

    from yieldwright.shotlog import ShotLog
    from yieldwright.shotlog.exporting.exporting import Export
    from yieldwright.shotlog.formats.files import LogFiles

__all__ = ["export"]

#: Of all work; the writing of a long log takes longer than its reading.
_SHARE_READ = 0.4


def export(arguments: argparse.Namespace) -> int:
    r"""Write a log or the rows set aside, and say what was written and what to do next.

    Parameters
    ----------
    arguments : argparse.Namespace
        With `log`, `out`, `set_aside`, `anonymous`, `without`, `replace` and `as_of`.

    Returns
    -------
    int
        0.

    Raises
    ------
    UnreadableLogError
        If the log cannot be read at all, or the key for codes is damaged.
    BenchFileError
        If the bench file beside it is wrong.
    NotWritableError
        If something is there already, or the place cannot be written; found out before
        the log is read where it can be.
    UnknownNameError
        If a column to leave out is not there.

    Examples
    --------
    >>> from pathlib import Path
    >>> from tempfile import TemporaryDirectory
    >>> from yieldwright.cli.arguments import parse
    >>> with TemporaryDirectory() as folder:
    ...     log = Path(folder, "mine.csv")
    ...     _ = log.write_text("shot,dose_g\n1,18\n", encoding="utf-8")
    ...     export(
    ...         parse(["export", str(log), "--out", f"{folder}/copy.csv"])
    ...     )  # doctest: +ELLIPSIS
    Wrote...
    0
    """
    with progress("reading the log") as turn_to:
        with libraries():
            from yieldwright.shotlog import read_log
            from yieldwright.shotlog.formats.files import find_files

        files = find_files(Path(arguments.log))
        _refuse_early(arguments, files)
        tell = share_of(turn_to, end=_SHARE_READ)
        log = read_log(arguments.log, as_of=arguments.as_of, progress=tell)
        log, hidden = _coded(log, arguments, files) if arguments.anonymous else (log, [])
        turn_to("writing", _SHARE_READ)
        written = _write(log, arguments, files)
    _report(arguments, written, hidden)
    return 0


def _refuse_early(arguments: argparse.Namespace, files: LogFiles) -> None:
    """Refuse a place that cannot do, before any work is done for it."""
    from yieldwright.shotlog.exporting.places import (
        is_file_name,
        refuse_place,
        refuse_what_is_there,
    )
    from yieldwright.shotlog.writing import writable_place

    sources = [*files.shots, *files.tastings, *([files.bench] if files.bench else [])]
    path = Path(arguments.log)
    refuse_place(arguments.out, sources, path if path.is_dir() else None)
    if is_file_name(arguments.out):
        refuse_what_is_there([Path(arguments.out)], replace=arguments.replace)
        writable_place(arguments.out)


def _coded(
    log: ShotLog, arguments: argparse.Namespace, files: LogFiles
) -> tuple[ShotLog, list[str]]:
    """Return the log with codes for names, and what to say about it."""
    from yieldwright.shotlog.exporting.anonymous import (
        KEY_FILE,
        anonymous,
        names_in_texts,
        open_key,
    )

    folder = files.shots[0].parent
    named = {
        name: times for name, times in names_in_texts(log).items() if name not in arguments.without
    }
    key = folder / KEY_FILE
    kept = f"The key is {key}: keep it, so that codes stay the same, and hand it to nobody."
    said = [f"Baristas and tasters have codes. {kept}"]
    if named:
        cells = listing([f"{name} ({count(times, 'cell')})" for name, times in named.items()])
        said.append(f"A name still stands in {cells}: leave a column out with --without.")
    said.append(
        "Other text may tell people apart, too; read it before you hand it on. Rows set aside "
        "and bench.toml are not written: they may hold names."
    )
    return anonymous(log, open_key(folder)), said


def _write(log: ShotLog, arguments: argparse.Namespace, files: LogFiles) -> Export:
    from yieldwright.shotlog.exporting.exporting import export_log, export_set_aside

    if arguments.set_aside:
        return export_set_aside(log, arguments.out, replace=arguments.replace)
    return export_log(
        log,
        arguments.out,
        without=arguments.without,
        bench_file=None if arguments.anonymous else files.bench,
        replace=arguments.replace,
    )


def _report(arguments: argparse.Namespace, written: Export, hidden: list[str]) -> None:
    writer = console(sys.stdout)
    say(writer, "Wrote")
    say_pairs(writer, ((visible(str(path)), visible(holds)) for path, holds in written.files))
    for sentence in (*written.left_out, *hidden):
        say(writer, f"\n{visible(sentence)}")
    if arguments.set_aside:
        _say_how_to_mend(writer, arguments)
    else:
        say(writer, "\nTo see that it reads back the same:")
        say_command(writer, ["yieldwright", "check", arguments.out])


def _say_how_to_mend(writer: Console, arguments: argparse.Namespace) -> None:
    log = Path(arguments.log)
    folder = visible(str(log if log.is_dir() else log.parent))
    ending = Path(arguments.out).suffix or ".csv"
    say(
        writer,
        f"\nCorrect the cells; set_aside_reason says what is wrong. Then save it in {folder} as "
        f"shots-corrected{visible(ending)} (tastings-corrected for tastings): it is read as part "
        "of a log kept as a folder. Check the log, and delete the old rows from it.",
    )
    say_command(writer, ["yieldwright", "check", arguments.log])
