"""`yieldwright check`: what of a log was read, set aside and flagged."""

from __future__ import annotations

import argparse
import json
import sys
from typing import Any

from yieldwright.cli.streams import console, progress, share_of
from yieldwright.errors import YieldwrightError

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
    try:
        with progress("reading the log") as turn_to:
            from yieldwright.shotlog import read_log

            tell = share_of(turn_to)
            log = read_log(arguments.log, as_of=arguments.as_of, progress=tell)
    except (YieldwrightError, OSError) as problem:
        if arguments.json:
            from yieldwright.cli.account import account_of_unreadable

            _print_json(account_of_unreadable(arguments.log, problem))
        raise
    if arguments.json:
        from yieldwright.cli.account import account_of

        _print_json(account_of(log, arguments.log))
    else:
        from yieldwright.cli.report import print_report

        print_report(console(sys.stdout), log, arguments.log)
    return 1 if len(log.set_aside) else 0


def _print_json(account: dict[str, Any]) -> None:
    """Print one object in ASCII, so that no text of a log can steer a terminal."""
    sys.stdout.write(json.dumps(account, indent=2, allow_nan=False) + "\n")
