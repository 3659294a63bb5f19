"""What may be typed on the command line, and help that teaches by example."""

from __future__ import annotations

import argparse
import difflib
import itertools
from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING, Any, NoReturn

from yieldwright import __version__
from yieldwright.cli.bag_options import BAG, BAG_EXAMPLE, add_bag_options
from yieldwright.cli.export_words import EXAMPLE, EXPORT
from yieldwright.cli.steady_options import STEADY, STEADY_EXAMPLE, add_steady_options
from yieldwright.cli.streams import complain
from yieldwright.cli.taste_options import TASTE, TASTE_EXAMPLE, add_taste_options

if TYPE_CHECKING:
    from datetime import date

__all__ = ["WRONG_USAGE", "parse"]

WRONG_USAGE = 2

_LOG = """\
LOG is a folder that holds shots.csv (or .tsv, .xlsx, .jsonl, .parquet) and,
if you keep them, tastings and bench.toml; or one file, a row for each shot."""

_USAGE = "yieldwright COMMAND ...\n       yieldwright --version"

_OVERALL = f"""\
Turn a log of manual lever espresso shots into extraction yields with their
uncertainty, honest regressions, and one page for the weekend.

commands:
  start FOLDER            begin a bench: an empty log, and a sheet to print
  check LOG               say what was read, set aside and flagged
  taste LOG               say what the settings did to taste, yield or time
  bag LOG [BAG]           follow one bag across its roast age
  steady LOG              say how steady the bench is, and what it could see
  weekend LOG --out PAGE  write the page on what the last shots teach
  export LOG --out FILE   write the log for a spreadsheet or another program

{_LOG}"""

_OVERALL_EXAMPLE = """\
example, from nothing to a page:
  yieldwright start my-bench
  yieldwright check my-bench
  yieldwright taste my-bench
  yieldwright weekend my-bench --out weekend.html

'yieldwright COMMAND --help' says more, and what each exit code means.
NO_COLOR=1 keeps the output plain; it is plain in a pipe anyway."""

_START = """\
Begin a bench: make FOLDER and put four files into it.

  bench.toml          your scales, refractometer, grinder, bands and recipe,
                      each entry explained and switched off until you state it
  shots.csv           an empty log with two example rows as comments
  data-dictionary.md  what each column holds, and its ranges
  bench-sheet.html    a sheet to print and write on at the bench

With --workbook the log is shots.xlsx instead: its cells offer lists, refuse
what cannot be right and keep codes and times as you type them.

A file that is there already is never overwritten."""

_START_EXAMPLE = """\
example:
  yieldwright start my-bench
  yieldwright start next-class --workbook --bench my-bench/bench.toml

exit code: 0 files written, 2 wrong usage, 4 not written"""

_CHECK = f"""\
Say what of a log was read, which rows were set aside and why, and which
values were kept but look odd: what to mend first stands first, and what is
alike is told once. Every line of the file is accounted for.

{_LOG}"""

_CHECK_EXAMPLE = """\
example:
  yieldwright check my-bench
  yieldwright check shots.csv --json > report.json

--json prints one object, with a missing value as null and days year first:
  format (1), log, error, as_of
  verdict    clean, flagged, rows set aside, or unreadable
  counts     shots, usable, tastings, set_aside, flags, lines_read,
             lines_accepted, lines_set_aside, lines_listed, adds_up
  files      a list: file, table, sha256, encoding, delimiter, decimal,
             lines_read, lines_accepted, lines_set_aside, lines_listed,
             header, units, adds_up
  remarks    a list of sentences
  set_aside  a list: file, line, line_count, raw, reason, suggestion
  flags      a list: shot, column, value, reason, suggestion
  listed     a list: file, line, line_count, kind, raw

exit code: 0 nothing set aside, 1 rows set aside, 2 wrong usage, 3 unreadable"""

_WEEKEND = f"""\
Write the weekend page: what the last shots teach, how sure that is, and what
to pull next. One HTML file that needs nothing else, on two printed sides.

The page reviews the shots of the ten days before the newest one; the fits
behind it use every comparable shot of the same bag and grinder.

{_LOG}"""

_WEEKEND_EXAMPLE = """\
example:
  yieldwright weekend my-bench --out weekend.html
  yieldwright weekend my-bench --out march.html --since 2026-03-01 --bag bag-7

exit code: 0 page written (rows set aside are counted on it), 2 wrong usage,
3 unreadable log, 4 page not written"""


class _Parser(argparse.ArgumentParser):
    """A parser that knows its options, and complains in one paragraph with a remedy."""

    def __init__(self, **settings: Any) -> None:  # noqa: ANN401  # argparse's own
        self.options: list[str] = []
        super().__init__(
            allow_abbrev=False,
            formatter_class=argparse.RawDescriptionHelpFormatter,
            **settings,
        )

    def add_argument(self, *names: str, **settings: Any) -> argparse.Action:  # noqa: ANN401
        """Add an argument, and keep in mind how it is spelled."""
        self.options += [name for name in names if name.startswith("-")]
        return super().add_argument(*names, **settings)

    def error(self, message: str) -> NoReturn:
        """Complain on stderr and leave with the code of wrong usage."""
        if message.startswith("unrecognized arguments"):
            message += "; put a path with blanks in it in quotes, and options last"
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
    for option in _options(argv):
        if option not in parser.options:
            parser.error(f"there is no option {option!r}{_nearest(option, parser.options)}")
    return program.parse_args(argv)


def _parsers() -> tuple[_Parser, dict[str, _Parser]]:
    """Return the parser of the program, and those of its commands by name."""
    program = _Parser(
        prog="yieldwright", usage=_USAGE, description=_OVERALL, epilog=_OVERALL_EXAMPLE
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
        ("start", _START, _START_EXAMPLE, _add_start_options),
        ("check", _CHECK, _CHECK_EXAMPLE, _add_check_options),
        ("taste", TASTE, TASTE_EXAMPLE, _add_taste_options),
        ("bag", BAG, BAG_EXAMPLE, _add_bag_options),
        ("steady", STEADY, STEADY_EXAMPLE, _add_steady_options),
        ("weekend", _WEEKEND, _WEEKEND_EXAMPLE, _add_weekend_options),
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
    parser.add_argument("--json", action="store_true", help="print one JSON object instead")


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
    parser.add_argument(
        "--figures", metavar="DIR", help="also write each figure as an SVG file into this folder"
    )
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
    return [word for word in named if word.startswith("-") and word != "-"]


def _nearest(word: str, known: Iterable[str]) -> str:
    near = difflib.get_close_matches(word, list(known), n=1, cutoff=0.5)
    return f"; did you mean {near[0]}?" if near else ""
