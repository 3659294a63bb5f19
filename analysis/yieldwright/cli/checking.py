"""`yieldwright check`: what of a log was read, set aside and flagged."""

from __future__ import annotations

import argparse
from functools import partial
from typing import TYPE_CHECKING

from yieldwright.cli.answering import Telling, tell
from yieldwright.cli.streams import progress, share_of

if TYPE_CHECKING:
    from yieldwright.shotlog import ShotLog

__all__ = ["check"]


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
    log = tell(arguments, partial(_read, arguments), partial(_telling, arguments.log))
    return 1 if len(log.set_aside) else 0


def _read(arguments: argparse.Namespace) -> ShotLog:
    with progress("reading the log") as turn_to:
        from yieldwright.shotlog import read_log

        told = share_of(turn_to)
        return read_log(arguments.log, as_of=arguments.as_of, progress=told)


def _telling(path: str) -> Telling[ShotLog]:
    from yieldwright.cli.account import account_of, account_of_unreadable
    from yieldwright.cli.report import print_report

    return Telling(
        account=lambda log: account_of(log, path),
        refusal=account_of_unreadable,
        screen=lambda writer, log, _: print_report(writer, log, path),
    )
