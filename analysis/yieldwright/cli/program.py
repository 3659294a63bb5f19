"""From words on the command line to an exit code: every error ends in one paragraph."""

from __future__ import annotations

import argparse
import importlib
import os
import sys
from collections.abc import Callable, Sequence

from yieldwright.cli.arguments import WRONG_USAGE, parse
from yieldwright.cli.streams import complain, say_in_any_encoding
from yieldwright.errors import NotWritableError, RoleError, UnknownNameError, YieldwrightError

__all__ = ["main"]

#: Where each command stands, as a function of its own name.
_MODULES = {
    "start": "starting",
    "check": "checking",
    "taste": "tasting",
    "bag": "bag_following",
    "steady": "steadying",
    "weekend": "reviewing",
    "export": "exporting",
}

_UNREADABLE = 3
_NOT_WRITTEN = 4
_UNEXPECTED = 5
_INTERRUPTED = 130  # as a shell reports an interrupted command
_PIPE_CLOSED = 141  # as a shell reports a command whose reader went away


def main(argv: Sequence[str] | None = None) -> int:
    """Run one command and return its exit code.

    Parameters
    ----------
    argv : sequence of str or None
        The words after the program's name; by default those it was started with.

    Returns
    -------
    int
        0 done, 1 rows set aside (check only), 2 wrong usage, 3 unreadable, 4 not
        written, 5 an error of the program itself.

    Examples
    --------
    >>> main(["--version"])  # doctest: +ELLIPSIS
    yieldwright ...
    0
    """
    say_in_any_encoding()
    try:
        arguments = parse(sys.argv[1:] if argv is None else argv)
    except SystemExit as leave:  # argparse leaves after help and after a complaint
        return leave.code if isinstance(leave.code, int) else WRONG_USAGE
    try:
        code = _command(arguments.command)(arguments)
        sys.stdout.flush()
    except BrokenPipeError:
        _let_stdout_go()
        return _PIPE_CLOSED
    except KeyboardInterrupt:
        complain("yieldwright: interrupted; no file was left half written")
        return _INTERRUPTED
    except (YieldwrightError, OSError) as problem:
        complain(f"yieldwright {arguments.command}: {problem}")
        return _code_of(problem)
    except Exception as problem:
        if arguments.traceback:
            raise
        complain(_unexpected_sentence(arguments.command, problem))
        return _UNEXPECTED
    return code


def _command(name: str) -> Callable[[argparse.Namespace], int]:
    """Return a command, imported only now: each needs more than help does."""
    room = importlib.import_module(f"yieldwright.cli.{_MODULES[name]}")
    command: Callable[[argparse.Namespace], int] = getattr(room, name)
    return command


def _code_of(problem: Exception) -> int:
    if isinstance(problem, NotWritableError):
        return _NOT_WRITTEN
    if isinstance(problem, UnknownNameError | RoleError):
        return WRONG_USAGE
    return _UNREADABLE


def _unexpected_sentence(command: str, problem: Exception) -> str:
    return (
        f"yieldwright {command}: something went wrong that should not have "
        f"({type(problem).__name__}: {problem}); the log is unchanged. Please report it, with "
        "what the same command says when --traceback is added"
    )


def _let_stdout_go() -> None:
    """Point stdout nowhere, so that closing it raises no second complaint."""
    nowhere = os.open(os.devnull, os.O_WRONLY)
    os.dup2(nowhere, sys.stdout.fileno())
