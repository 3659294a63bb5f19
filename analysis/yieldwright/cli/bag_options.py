"""What may be typed after `yieldwright bag`, and help that teaches by example."""

from __future__ import annotations

import argparse
import math

from yieldwright.cli.help_words import JSON_OBJECT, LOG
from yieldwright.cli.output_options import add_output_options
from yieldwright.cli.typed_columns import NOTHING, columns_or_nothing

__all__ = ["BAG", "BAG_EXAMPLE", "add_bag_options"]

BAG = f"""\
Follow one bag across its roast age: how taste, yield or time drift with each
day, when the bag is best or why no day can be told, and how the grind must
follow to hold the shot time. What was serviced or changed meanwhile is taken
off, and told before and after. Bags can be compared at equal age, and earlier
bags say where to begin with the next one.

{LOG}
BAG is a code in its column bag; by default that of the bag that ends last."""

BAG_EXAMPLE = f"""\
example:
  yieldwright bag my-bench
  yieldwright bag my-bench bag-7 --of time_s
  yieldwright bag my-bench --against bag-5 bag-6
  yieldwright bag my-bench bag-7a --paired-with bag-7b
  yieldwright bag my-bench --at-least 6
  yieldwright bag my-bench --next
  yieldwright bag my-bench --every --of time_s
  yieldwright bag my-bench --full --figures figures
  yieldwright bag my-bench --json > bag.json

what roast age counts: days from the roast to the shot, less the days the
coffee was frozen: those add nothing.

what to log, once a bag or beside each shot:
  bag, roasted_on          the age follows; or roast_age_d, typed by hand
  opened_on                the day the bag was opened
  frozen_on, thawed_on     both, or the days after the freeze have no age
  serviced                 at the first shot after it, such as burrs cleaned
  grind_setting, time_s    for the grind that holds the time
a row such as:
  shot,pulled_at,bag,roasted_on,opened_on,dose_g,grind_setting,time_s,overall
  s41,2026-05-03T09:10,bag-7,2026-04-21,2026-04-25,18.0,11,36,7

how to follow a bag: six days or more from fresh to old, two or three shots a
day, and two settings within one day every now and then. A grind that only
ever goes finer as the bag ages cannot be told apart from the age.

did freezing or decanting help, and is a decline real: give each half of a bag
a code of its own, such as bag-7a and bag-7b, with its own frozen_on and
thawed_on, or opened_on. Pull two shots of each in the same session, on five
days or more, at one grind setting, and begin with the other half every time.
--paired-with compares them inside sessions, where palate, water and weather
cancel. A control coffee frozen in portions does the same for any bag.

{JSON_OBJECT}
  format (1), log, error, as_of
  verdict     drift, as brewed, cannot tell, or error
  missing     what a first drift would need
  response, unit, bag, grinder, allowed_for
  counts      shots, sessions, left_out (a list: count, reason)
  sentences   a list, as they stand in the parts
  cautions    a list, the gravest first: code, severity, sentence, remedy,
              about
  entwined    a list of what cannot be told apart from age: column,
              inflation, correlation, remedy
  dates       a list of what happened meanwhile: roast_age_d, what
  parts       drift, best, lasting, compensation, breaks, ages, against,
              paired, next, every; null where there is none, else an object
              with title, sentences, cautions, and every figure and table of
              it, a table as a list of rows

exit code: 0 told, also where the log cannot tell yet; 2 wrong usage,
3 unreadable log, 4 figures not written"""


def add_bag_options(parser: argparse.ArgumentParser) -> None:
    """Add what may be asked of a bag; the log itself stands there already.

    Parameters
    ----------
    parser : argparse.ArgumentParser
        The parser of the command; changed.

    Examples
    --------
    >>> parser = argparse.ArgumentParser()
    >>> add_bag_options(parser)
    >>> asked = parser.parse_args(["bag-7", "--against", "bag-5", "bag-6"])
    >>> asked.bag, asked.against
    ('bag-7', ['bag-5', 'bag-6'])
    """
    parser.add_argument(
        "bag",
        metavar="BAG",
        nargs="?",
        default="",
        help="which bag, right after LOG; by default the one that ends last",
    )
    _add_question(parser)
    _add_other_bags(parser)
    add_output_options(parser)


def _add_question(parser: argparse.ArgumentParser) -> None:
    parser.add_argument(
        "--of",
        metavar="NAME",
        default="",
        help="what to follow: a taste that was scored, such as overall, or ey_pct, tds_pct, "
        "time_s; by default the first taste that was scored, else the yield",
    )
    parser.add_argument(
        "--grinder",
        metavar="GRINDER",
        default="",
        help="which grinder; by default the one the bag ended on",
    )
    parser.add_argument(
        "--allow-for",
        metavar="A,B",
        type=columns_or_nothing,
        help="what else may have differed and is taken off; by default "
        f"grind_setting,temp_band,service_stretch,dose_g, as far as logged; '{NOTHING}' for none",
    )
    parser.add_argument(
        "--at-least",
        metavar="LEVEL",
        type=_level,
        help="also say from which day on what is followed lies below this level, in its own unit: "
        "--at-least 6 of a score, --of ey_pct --at-least 19 of the yield",
    )


def _add_other_bags(parser: argparse.ArgumentParser) -> None:
    parser.add_argument(
        "--against",
        metavar="BAG",
        nargs="*",
        help="also compare with these bags at equal roast age; with all of the grinder where "
        "none is named",
    )
    parser.add_argument(
        "--paired-with",
        metavar="OTHER",
        help="also compare with this bag inside the sessions that both were pulled in: the other "
        "half, kept otherwise, or a control coffee",
    )
    parser.add_argument(
        "--next",
        action="store_true",
        help="also say at which setting to begin the next bag of this roast level",
    )
    parser.add_argument(
        "--every",
        action="store_true",
        help="also tell the drift of every bag of the grinder in one table",
    )


def _level(text: str) -> float:
    try:
        level = float(text)
    except ValueError:
        level = math.nan
    if not math.isfinite(level):
        raise argparse.ArgumentTypeError(
            f"{text[:40]!r} is no level: write one number with a point, such as 6.5"
        )
    return level
