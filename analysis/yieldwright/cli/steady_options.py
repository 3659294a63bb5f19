"""What may be typed after `yieldwright steady`, and help that teaches by example."""

from __future__ import annotations

import argparse

from yieldwright.cli.help_words import JSON_OBJECT, LOG
from yieldwright.cli.output_options import add_output_options
from yieldwright.cli.typed_columns import names_typed

__all__ = ["LEAST_BASELINE", "STEADY", "STEADY_EXAMPLE", "add_steady_options"]

#: Shots that limits rest on at the least; the room of charts, which loads slowly, has the same.
LEAST_BASELINE = 10

#: Of a number of shots: no log is longer.
_MOST_DIGITS = 9

STEADY = f"""\
Say how steady the bench is: how much shots pulled alike differ in yield, time,
mass and taste, how much of that the instruments cause, and which difference
between two settings the bench could see. Then whether it stays as it is, who
pulls steadily, and whether tasters agree. Compared are shots of one bag and
one grinder.

{LOG}"""

STEADY_EXAMPLE = f"""\
example:
  yieldwright steady my-bench
  yieldwright steady my-bench --of time_s
  yieldwright steady my-bench --of ey_pct,overall --by barista
  yieldwright steady my-bench --bag bag-7 --full --figures figures
  yieldwright steady my-bench --of time_s --baseline 20
  yieldwright steady my-bench --json > steady.json

how to know a bench: pull one setting six times in one session, weigh and
read each shot, and throw none of them out; then ask again.

how to read the table: "Repeats" is how many shots the spread rests on beyond
the first of each set, "line" where too few were alike and the spread is that
about a line through the settings. "SD" is the spread from shot to shot with
its 95 % interval; with fewer than 5 repeats there is the interval alone. "CV"
is the SD as a share of the mean. Two shots of one setting differ by less than
"Limit" 19 times in 20. "Reading" is the share of the variance that instrument
or tasters cause.

--baseline 20 draws the limits of the charts from the first 20 shots alone and
judges the rest by them, as after a repair. What settings and the age of the
bag do, which a chart takes out, then rests on these shots too: the more of
that, the more often a steady bench alarms.

{JSON_OBJECT}
  format      2; in 1 an endless number was the text "inf" or "-inf"
  log, error, as_of
  verdict     spreads, intervals only, cannot tell, or error
  missing     an object: why a part is not there, or a quantity
  bag, grinder
  counts      shots, left_out (a list: count, reason)
  sentences   a list, as they stand in the parts
  cautions    a list, the gravest first: code, severity, sentence, remedy,
              about
  parts       steadiness, failures, failing: an object or null; watches,
              moves, people, progress, tasters: a list of objects. An object
              holds title, sentences, cautions, and every figure and table of
              it, a table as a list of rows

exit code: 0 told, also where the log cannot tell yet; 2 wrong usage,
3 unreadable log, 4 figures not written"""


def add_steady_options(parser: argparse.ArgumentParser) -> None:
    """Add what may be asked of steadiness; the log itself stands there already.

    Parameters
    ----------
    parser : argparse.ArgumentParser
        The parser of the command; changed.

    Examples
    --------
    >>> parser = argparse.ArgumentParser()
    >>> add_steady_options(parser)
    >>> parser.parse_args(["--of", "time_s,overall"]).of
    ('time_s', 'overall')
    """
    parser.add_argument(
        "--of",
        metavar="A,B",
        type=names_typed,
        default=(),
        help="what to look at: ey_pct, time_s, beverage_g, tds_pct, another measured column, or "
        "a taste that was scored; by default all of these that are logged",
    )
    parser.add_argument(
        "--bag", metavar="BAG", default="", help="which bag; by default the one pulled last"
    )
    parser.add_argument("--grinder", metavar="GRINDER", default="", help="which grinder; likewise")
    parser.add_argument(
        "--by",
        choices=("barista",),
        help="show at which level and how steadily each barista pulls, by code",
    )
    parser.add_argument(
        "--baseline",
        metavar="N",
        type=_shots,
        help=f"draw the limits of the charts from the first N shots, {LEAST_BASELINE} or more; "
        "by default from all",
    )
    add_output_options(parser)


def _shots(text: str) -> int:
    whole = text.isascii() and text.isdigit() and len(text) <= _MOST_DIGITS
    if not whole or int(text) < LEAST_BASELINE:
        raise argparse.ArgumentTypeError(
            f"{text!r} is no number of shots that limits can rest on: write a whole number, "
            f"{LEAST_BASELINE} or more, and no more than the log has shots"
        )
    return int(text)
