"""What may be typed after `yieldwright taste`, and help that teaches by example."""

from __future__ import annotations

import argparse

from yieldwright.cli.help_words import JSON_OBJECT, LOG
from yieldwright.cli.output_options import add_output_options
from yieldwright.cli.typed_columns import NOTHING, columns_or_nothing, columns_typed

__all__ = ["AUTO", "TASTE", "TASTE_EXAMPLE", "add_taste_options"]

#: Lets the structure of the log choose the model.
AUTO = "auto"

TASTE = f"""\
Say what the settings did to taste, or to yield or time: the effect of each
step a hand can make with its 95 % interval, what this log cannot tell and
would need, and which shots to pull for it. Compared are shots of one bag and
one grinder; the model follows the structure of the log, and is named.

{LOG}"""

TASTE_EXAMPLE = f"""\
example:
  yieldwright taste my-bench
  yieldwright taste my-bench --response bitter --by-taster
  yieldwright taste my-bench --response time_s --settings grind_setting,dose_g
  yieldwright taste my-bench --shot-at grind_setting=11,temp_band=high
  yieldwright taste my-bench --surface --figures figures
  yieldwright taste my-bench --json > taste.json

how to read the table: "One step" is what a hand can do; "Effect" is what it
did to the response, everything else alike; "p (Holm)" allows for the number
of settings looked at; "Could find" is the effect these shots would have
shown four times in five: a smaller one may be there and not seen.

{JSON_OBJECT}
  format      2; in 1 an endless number was the text "inf" or "-inf"
  log, error, as_of
  verdict     effects, cannot tell, or error
  missing     what a first effect would need
  response, unit, bag, grinder, settings, allowed_for, model, why
  counts      shots, sessions, tests, left_out (a list: count, reason)
  sentences   a list, as they stand in the parts
  cautions    a list, the gravest first: code, severity, sentence, remedy,
              about
  parts       effects, means, turning, spreads, steps, random_tasters,
              tasters, shares, sensitivity, surface, prediction; null
              where there is none, else an object with title, sentences,
              cautions, and every figure and table of it, a table as a list
              of rows

exit code: 0 told, also where the log cannot tell yet; 2 wrong usage,
3 unreadable log, 4 figures not written"""


def add_taste_options(parser: argparse.ArgumentParser) -> list[str]:
    """Add what may be asked of taste; the log itself stands there already.

    Parameters
    ----------
    parser : argparse.ArgumentParser
        The parser of the command; changed.

    Returns
    -------
    list of str
        Options that exclude one another: a parser that keeps spellings does not hear of
        them.

    Examples
    --------
    >>> parser = argparse.ArgumentParser()
    >>> add_taste_options(parser)
    ['--bag', '--pool-bags']
    >>> parser.parse_args(["--settings", "grind_setting,dose_g"]).settings
    ('grind_setting', 'dose_g')
    """
    _add_question(parser)
    excluding = _add_shots(parser)
    _add_output(parser)
    return excluding


def _add_question(parser: argparse.ArgumentParser) -> None:
    parser.add_argument(
        "--response",
        metavar="NAME",
        default="",
        help="what to explain: a taste that was scored, such as overall or bitter, or ey_pct, "
        "tds_pct, time_s; by default the first taste that was scored",
    )
    parser.add_argument(
        "--settings",
        metavar="A,B",
        type=columns_typed,
        help="the settings asked about; by default grind_setting,temp_band,taper_bar; one of "
        "these that is not named and differs is taken out",
    )
    parser.add_argument(
        "--allow-for",
        metavar="A,B",
        type=columns_or_nothing,
        help="what else may have differed and is taken out, such as roast_age_d,position; by "
        f"default what the log can afford; '{NOTHING}' for none",
    )
    parser.add_argument(
        "--model",
        choices=(AUTO, "blocks", "mixed"),
        default=AUTO,
        help="by default what the structure of the log asks for; blocks compares inside "
        "sessions, mixed lets sessions, tasters and shots shift the response at random",
    )
    parser.add_argument(
        "--shot-at",
        metavar="A=X,B=Y",
        type=_pairs,
        help="also say what a shot at these settings would give; no number outside what was tried",
    )


def _add_shots(parser: argparse.ArgumentParser) -> list[str]:
    bags = parser.add_mutually_exclusive_group()
    options = (
        bags.add_argument(
            "--bag", metavar="BAG", default="", help="which bag; by default the one pulled last"
        ),
        bags.add_argument(
            "--pool-bags",
            action="store_true",
            help="put all bags of the grinder into one fit, compared within bags",
        ),
    )
    parser.add_argument("--grinder", metavar="GRINDER", default="", help="which grinder; likewise")
    return [spelling for option in options for spelling in option.option_strings]


def _add_output(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("--by-taster", action="store_true", help="show each taster's own effects")
    parser.add_argument(
        "--surface",
        action="store_true",
        help="show two or three settings together, and where they are best",
    )
    add_output_options(parser)


def _pairs(text: str) -> dict[str, str]:
    pairs: dict[str, str] = {}
    for part in (part.strip() for part in text.split(",")):
        name, equals, value = (piece.strip() for piece in part.partition("="))
        if not (name and equals and value):
            raise argparse.ArgumentTypeError(
                f"{part!r} is no pair: write settings and values with commas between and "
                "decimals after a point, as grind_setting=11.5,temp_band=high"
            )
        if name in pairs:
            raise argparse.ArgumentTypeError(f"{name!r} is stated twice: state it once")
        pairs[name] = value
    return pairs
