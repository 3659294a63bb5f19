"""`yieldwright steady`: how steady the bench is, and what it could see."""

from __future__ import annotations

import argparse
import sys
from dataclasses import dataclass
from typing import TYPE_CHECKING

from yieldwright.cli.drawing import draw_parts
from yieldwright.cli.loading import libraries
from yieldwright.cli.places import place_for_figures
from yieldwright.cli.streams import console, progress, say_json, share_of
from yieldwright.errors import TooFewShotsError, YieldwrightError

if TYPE_CHECKING:
    from yieldwright.repeatability.steady import Steady
    from yieldwright.results import Result
    from yieldwright.shotlog import ShotLog
    from yieldwright.taste.columns.comparable import ComparableSet

__all__ = ["SteadyAnswer", "steady"]

#: Of all work, on a log of a season.
_SHARE_READ = 0.4
_SHARE_FOUND = 0.8


@dataclass(frozen=True, slots=True)
class SteadyAnswer:
    """What was found out about a bench, and what else could be asked.

    Attributes
    ----------
    log : ShotLog
        The log that was asked.
    path : str
        How it was named.
    found : Steady or None
        Everything about its steadiness; None where no shot can be compared.
    missing : str
        Why there is nothing; empty where there is something.
    others : tuple of ComparableSet
        Other bags and grinders in the log, the last pulled first.
    figures : tuple of str
        Files written.
    """

    log: ShotLog
    path: str
    found: Steady | None = None
    missing: str = ""
    others: tuple[ComparableSet, ...] = ()
    figures: tuple[str, ...] = ()


def steady(arguments: argparse.Namespace) -> int:
    r"""Print how steady the bench of a log is, for people or as JSON.

    Parameters
    ----------
    arguments : argparse.Namespace
        With `log`, `as_of` and everything `add_steady_options` adds.

    Returns
    -------
    int
        0, also where the log cannot tell.

    Raises
    ------
    UnreadableLogError
        If the log cannot be read at all; as JSON, an object says so first.
    BenchFileError
        If the bench file beside it is wrong; likewise.
    UnknownNameError
        If the log has no such bag, grinder, taste or column; likewise.
    RoleError
        If a column is set, counted or written, and not measured; likewise.
    NotWritableError
        If a figure cannot be written; the folder is tried before the log is read.

    Examples
    --------
    >>> from pathlib import Path
    >>> from tempfile import TemporaryDirectory
    >>> from yieldwright.cli.arguments import parse
    >>> with TemporaryDirectory() as folder:
    ...     log = Path(folder, "shots.csv")
    ...     _ = log.write_text("shot,grind_setting,time_s\n1,11,36\n", encoding="utf-8")
    ...     steady(parse(["steady", str(log)]))  # doctest: +ELLIPSIS
    How steady this bench is: all shots
    ...
    0
    """
    try:
        answer = _answer(arguments)
    except (YieldwrightError, OSError) as problem:
        if arguments.json:
            from yieldwright.cli.steady_account import account_of_steady_refusal

            say_json(account_of_steady_refusal(arguments.log, problem))
        raise
    if arguments.json:
        from yieldwright.cli.steady_account import account_of_steady

        say_json(account_of_steady(answer))
    else:
        from yieldwright.cli.steady_report import print_steady

        print_steady(console(sys.stdout), answer, arguments)
    return 0


def _answer(arguments: argparse.Namespace) -> SteadyAnswer:
    with progress("reading the log") as turn_to:
        with libraries():
            from yieldwright.cli.taste_columns import response_named
            from yieldwright.repeatability.steady import steady as ask
            from yieldwright.shotlog import read_log
            from yieldwright.taste.columns.comparable import comparable_sets

        folder = place_for_figures(arguments.figures)
        tell = share_of(turn_to, end=_SHARE_READ)
        log = read_log(arguments.log, as_of=arguments.as_of, progress=tell)
        turn_to("comparing", _SHARE_READ)
        of = tuple(dict.fromkeys(response_named(name, log) for name in arguments.of))
        try:
            found = ask(
                log,
                bag=arguments.bag,
                grinder=arguments.grinder,
                of=of,
                baseline=arguments.baseline,
            )
        except TooFewShotsError as problem:
            return SteadyAnswer(log, arguments.log, missing=str(problem))
        if folder is not None:
            turn_to("drawing", _SHARE_FOUND)
        figures = () if folder is None else draw_parts(found.parts, folder, called=_file_name)
    own = (found.bag, found.grinder)
    others = tuple(s for s in comparable_sets(log) if (s.bag, s.grinder) != own)
    return SteadyAnswer(log, arguments.log, found, others=others, figures=figures)


def _file_name(part: Result) -> str:
    """Return what a figure is called: by its kind, and by the quantity where there are several.

    The names of quantities are ours; a taste is called by the number of letters a path holds.
    """
    kind = part.drawing.replace("_", "-")
    column = str(getattr(part, "response", "") or getattr(part, "of", ""))
    kept = "".join(letter if letter.isascii() and letter.isalnum() else "-" for letter in column)
    return f"{kind}-{kept}".strip("-")[:80]
