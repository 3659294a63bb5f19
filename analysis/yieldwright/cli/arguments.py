"""What may be typed on the command line, and help that teaches by example."""

from __future__ import annotations

import argparse
import difflib
import itertools
import re
from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING, Any, NoReturn

from yieldwright import __version__
from yieldwright.cli.bag_options import BAG, BAG_EXAMPLE, add_bag_options
from yieldwright.cli.export_words import EXAMPLE, EXPORT
from yieldwright.cli.help_words import (
    CHECK,
    CHECK_EXAMPLE,
    OVERALL,
    OVERALL_EXAMPLE,
    START,
    START_EXAMPLE,
    WEEKEND,
    WEEKEND_EXAMPLE,
)
from yieldwright.cli.output_options import add_figures_option, add_json_option
from yieldwright.cli.steady_options import STEADY, STEADY_EXAMPLE, add_steady_options
from yieldwright.cli.streams import complain
from yieldwright.cli.taste_options import TASTE, TASTE_EXAMPLE, add_taste_options

if TYPE_CHECKING:
    from datetime import date

__all__ = ["WRONG_USAGE", "commands_with", "parse"]

WRONG_USAGE = 2

#: A word that is an option, and no number below zero.
_OPTION = re.compile(r"-(?![\d.]*$)")

#: What one command calls otherwise than another.
_SAME_ELSEWHERE = {"--response": "--of", "--of": "--response"}

_USAGE = "yieldwright COMMAND ...\n       yieldwright --version"


class _Parser(argparse.ArgumentParser):
    """A parser that knows its options, and complains in one paragraph with a remedy."""

    def __init__(self, **settings: Any) -> None:  # noqa: ANN401  # argparse's own
        self.options: list[str] = []
        self.repeatable: list[str] = ["-h", "--help"]
        self.places: list[str] = []
        super().__init__(
            allow_abbrev=False,
            formatter_class=argparse.RawDescriptionHelpFormatter,
            **settings,
        )

    def add_argument(self, *names: str, **settings: Any) -> argparse.Action:  # noqa: ANN401
        """Add an argument, and keep in mind how it is spelled."""
        self.options += [name for name in names if name.startswith("-")]
        self.places += [name for name in names if not name.startswith("-")]
        if settings.get("action") == "append":
            self.repeatable += names
        return super().add_argument(*names, **settings)

    def error(self, message: str) -> NoReturn:
        """Complain on stderr and leave with the code of wrong usage."""
        stop = "" if message.endswith("?") else "."
        complain(f"{self.prog}: {message}{stop} See '{self.prog} --help'.")
        raise SystemExit(WRONG_USAGE)


def parse(argv: Sequence[str]) -> argparse.Namespace:
    """Return what was asked for, or leave with a complaint, help or the version.

    Parameters
    ----------
    argv : sequence of str
        The words after the program's name.

    Returns
    -------
    argparse.Namespace
        With `command` and the command's own arguments.

    Raises
    ------
    SystemExit
        With 0 where help or the version was asked for, with 2 where words are wrong or
        missing.

    Examples
    --------
    >>> parse(["check", "my-bench"]).log
    'my-bench'
    """
    program, commands = _parsers()
    command = next((word for word in argv if not word.startswith("-")), None)
    if command is None and not argv:
        program.print_help()
        raise SystemExit(WRONG_USAGE)
    if command is not None and command not in commands:
        hint = _nearest(command, commands) or f"; there are {', '.join(commands)}"
        program.error(f"there is no command {command!r}{hint}")
    parser = program if command is None else commands[command]
    _require_options(parser, _options(argv))
    arguments, beyond = program.parse_known_args(argv)
    if beyond:
        parser.error(
            f"unrecognized arguments: {' '.join(beyond)}; put a path with blanks in it in quotes, "
            "and options last"
        )
    return arguments


def commands_with(option: str) -> tuple[str, ...]:
    """Return the commands that take an option, in the order of the help.

    Parameters
    ----------
    option : str
        As it is typed.

    Returns
    -------
    tuple of str

    Examples
    --------
    >>> commands_with("--set-aside")
    ('export',)
    """
    _, commands = _parsers()
    return tuple(name for name, parser in commands.items() if option in parser.options)


def _require_options(parser: _Parser, options: Sequence[str]) -> None:
    """Complain of an option that a command lacks, or that is said twice where once counts."""
    for option in options:
        if option not in parser.options:
            parser.error(f"there is no option {option!r}{_remedy(option, parser)}")
        if options.count(option) > 1 and option not in parser.repeatable:
            parser.error(f"{option} is said twice; say it once")


def _remedy(option: str, parser: _Parser) -> str:
    """Return what was meant by an option that a command lacks."""
    if option.lstrip("-") in parser.places:
        return f"; leave it away and write the {option.lstrip('-')} itself in its place"
    meant = _SAME_ELSEWHERE.get(option)
    return (
        f"; did you mean {meant}?" if meant in parser.options else _nearest(option, parser.options)
    )


def _parsers() -> tuple[_Parser, dict[str, _Parser]]:
    """Return the parser of the program, and those of its commands by name."""
    program = _Parser(
        prog="yieldwright", usage=_USAGE, description=OVERALL, epilog=OVERALL_EXAMPLE
    )
    program.add_argument("--version", action="version", version=f"yieldwright {__version__}")
    commands = program.add_subparsers(
        dest="command",
        required=True,
        prog="yieldwright",
        help=argparse.SUPPRESS,
        parser_class=_Parser,
    )
    known: dict[str, _Parser] = {}
    for name, description, example, add_options in (
        ("start", START, START_EXAMPLE, _add_start_options),
        ("check", CHECK, CHECK_EXAMPLE, _add_check_options),
        ("taste", TASTE, TASTE_EXAMPLE, _add_taste_options),
        ("bag", BAG, BAG_EXAMPLE, _add_bag_options),
        ("steady", STEADY, STEADY_EXAMPLE, _add_steady_options),
        ("weekend", WEEKEND, WEEKEND_EXAMPLE, _add_weekend_options),
        ("export", EXPORT, EXAMPLE, _add_export_options),
    ):
        known[name] = commands.add_parser(name, description=description, epilog=example)
        add_options(known[name])
        known[name].add_argument(
            "--traceback",
            action="store_true",
            help="show where in the program an unexpected error arose, for a report",
        )
    return program, known


def _add_start_options(parser: _Parser) -> None:
    parser.add_argument("folder", metavar="FOLDER", help="made where it is missing")
    parser.add_argument(
        "--workbook", action="store_true", help="begin the log as a workbook, shots.xlsx"
    )
    parser.add_argument(
        "--bench",
        metavar="BENCH",
        help="a bench.toml you keep already: copied, and its headers, bands, grinders and "
        "tastes stand in the log",
    )


def _add_check_options(parser: _Parser) -> None:
    _add_log(parser)
    add_json_option(parser)


def _add_taste_options(parser: _Parser) -> None:
    _add_log(parser)
    parser.options += add_taste_options(parser)


def _add_bag_options(parser: _Parser) -> None:
    _add_log(parser)
    add_bag_options(parser)


def _add_steady_options(parser: _Parser) -> None:
    _add_log(parser)
    add_steady_options(parser)


def _add_log(parser: _Parser) -> None:
    parser.add_argument("log", metavar="LOG", help="a folder, or one file")
    parser.add_argument(
        "--as-of",
        metavar="DAY",
        type=_day,
        help="judge the log as on this day, such as 2026-03-08; "
        "by default the day of its newest shot",
    )


def _add_weekend_options(parser: _Parser) -> None:
    _add_log(parser)
    parser.add_argument(
        "--out", metavar="PAGE", required=True, help="the HTML file to write; replaced if there"
    )
    add_figures_option(parser)
    parser.add_argument("--bag", metavar="BAG", help="review this bag only")
    span = parser.add_mutually_exclusive_group()
    for option in (
        span.add_argument("--since", metavar="DAY", type=_day, help="review from this day on"),
        span.add_argument(
            "--all", action="store_true", dest="everything", help="review every shot of the log"
        ),
    ):
        parser.options += option.option_strings


def _add_export_options(parser: _Parser) -> None:
    _add_log(parser)
    parser.add_argument("--out", metavar="FILE", required=True, help="the file or folder to write")
    kind = parser.add_mutually_exclusive_group()
    for option in (
        kind.add_argument(
            "--set-aside", action="store_true", help="write only the rows that were set aside"
        ),
        kind.add_argument(
            "--anonymous", action="store_true", help="codes in place of baristas and tasters"
        ),
    ):
        parser.options += option.option_strings
    parser.add_argument(
        "--without",
        metavar="COLUMN",
        action="append",
        default=[],
        help="leave a column out; may be said several times",
    )
    parser.add_argument(
        "--replace", action="store_true", help="replace files that are there already"
    )


def _day(text: str) -> date:
    from datetime import date

    try:
        return date.fromisoformat(text)
    except ValueError:
        raise argparse.ArgumentTypeError(
            f"{text!r} is no day: write it year first, as 2026-03-08"
        ) from None


def _options(argv: Sequence[str]) -> list[str]:
    """Return the words that are spelled as options, without their values."""
    named = [word.partition("=")[0] for word in itertools.takewhile(lambda w: w != "--", argv)]
    return [word for word in named if _OPTION.match(word)]


def _nearest(word: str, known: Iterable[str]) -> str:
    near = difflib.get_close_matches(word, list(known), n=1, cutoff=0.5)
    return f"; did you mean {near[0]}?" if near else ""
