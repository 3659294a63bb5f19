"""What was found out about steadiness for people: the spreads first, the doubts last."""

from __future__ import annotations

from typing import TYPE_CHECKING

from yieldwright.cli.other_shots import choosing, day_again, say_other_shots
from yieldwright.cli.parts import say_cautions, say_figures, say_nothing_found, say_part, say_table
from yieldwright.cli.streams import say, say_command, say_pairs
from yieldwright.formatting import visible
from yieldwright.repeatability.charts.watch_texts import alarms_in_short
from yieldwright.repeatability.spread.steadiness_words import quantity_sentences

if TYPE_CHECKING:
    import argparse
    from collections.abc import Iterator

    import pandas as pd
    from rich.console import Console

    from yieldwright.cautions import Caution
    from yieldwright.cli.steadying import SteadyAnswer
    from yieldwright.repeatability.charts.watching import Watch
    from yieldwright.repeatability.panel.tasters import TasterAgreement
    from yieldwright.repeatability.spread.steadiness import Steadiness
    from yieldwright.repeatability.steady import Steady
    from yieldwright.results import Result

__all__ = ["print_steady"]

#: Quantities whose every sentence stands on the first screen; of the others, the table.
_IN_FULL = 1

#: Sentences of other parts on the first screen: enough for the finding and its size.
_LEADING = 3

#: Parts that may be missing, as a reader calls them.
_PARTS = {
    "watches": "Does it stay so",
    "people": "Who is steady",
    "progress": "Who is getting steadier",
    "tasters": "Do tasters agree",
    "failing": "Do failures gather in a session",
}


def print_steady(writer: Console, answer: SteadyAnswer, arguments: argparse.Namespace) -> None:
    """Print how steady a bench is, and how far to trust that.

    Parameters
    ----------
    writer : rich.console.Console
        From `console`.
    answer : SteadyAnswer
        What was found out.
    arguments : argparse.Namespace
        As the command takes them.
    """
    found = answer.found
    if found is None:
        say_nothing_found(writer, answer.missing, answer.path)
        return
    say(writer, visible(found.title), style="bold")
    say_pairs(writer, [(label, visible(text)) for label, text in found.headline])
    if arguments.full:
        _say_everything(writer, found)
    else:
        _say_findings(writer, found, arguments)
    say_cautions(writer, _cautions(found, full=arguments.full))
    _say_more(writer, answer, arguments)


def _say_findings(writer: Console, found: Steady, arguments: argparse.Namespace) -> None:
    """Print what a reader wants first of each part."""
    title = "What the shots say" if found.answered else "What the log cannot tell yet"
    say_part(writer, title, _leading(found.steadiness))
    say_table(writer, found.display_frame(), above=True)
    failing = found.failing.sentences[:-1] if found.failing is not None else ()
    say_part(writer, "Failures", [*found.failures.sentences, *failing])
    if found.watches:
        clear = (sentence for move in found.moves if move.clear for sentence in move.sentences)
        say_part(writer, _PARTS["watches"], (*map(_moved, found.watches), *clear))
    told: set[str] = set()
    if arguments.by == "barista":
        for each in (*found.people, *found.progress):
            _say_whole(writer, each, told)
    else:
        for each in found.people:
            # Who is left out comes on top of what is found of the others.
            leading = tuple(filter(None, (each.left_out, *each.differences[:_LEADING])))
            say_part(writer, each.title, (words for words in leading if words not in told))
            told |= set(leading)
    for agreement in found.tasters[:1]:
        say_part(writer, agreement.title, agreement.sentences[:_LEADING])
    say_part(writer, "Not told", _untold(found))


def _leading(found: Steadiness) -> Iterator[str]:
    """Yield the sentences of the first quantity, one of the second, and what is missing."""
    firm = [each for each in found.quantities if each.firm]
    if not firm:
        yield from found.sentences[:_LEADING]
        return
    for each in firm[:_IN_FULL]:
        yield from quantity_sentences(each)
    yield from found.missing.values()


def _moved(watched: Watch) -> str:
    """Return where a chart lies, and how many alarms there are beside what chance gives."""
    told = f"{watched.sentences[0]} {alarms_in_short(watched)}"
    return f"{told} --full tells each." if watched.alarms else told


def _untold(found: Steady) -> list[str]:
    return [f"{_PARTS[name]}? {why}" for name, why in found.missing.items()]


def _say_everything(writer: Console, found: Steady) -> None:
    told: set[str] = set()
    _say_whole(writer, found.steadiness, told)
    for title, table in _more_tables(found.steadiness):
        if not table.empty:
            say(writer, f"\n{title}", style="bold")
            say_table(writer, table)
    agreements = found.tasters
    for part in found.parts[1 : len(found.parts) - len(agreements)]:
        _say_whole(writer, part, told)
    for agreement in found.tasters:
        _say_tasters(writer, agreement, told)
    say_part(writer, "Not told", _untold(found))


def _more_tables(found: Steadiness) -> Iterator[tuple[str, pd.DataFrame]]:
    yield (
        "Smallest difference of two settings seen four times in five",
        found.display_differences(),
    )
    yield "Shots at each of two settings to see a difference", found.display_shots_needed()
    yield "From session to session, at one setting", found.display_sessions()


def _say_tasters(writer: Console, found: TasterAgreement, told: set[str]) -> None:
    _say_whole(writer, found, told)
    say_table(writer, found.display_levels(), above=True)
    say_table(writer, found.display_pairs(), above=True)


def _say_whole(writer: Console, part: Result, told: set[str]) -> None:
    """Print a part with its table and those of its sentences that no part before it had."""
    fresh = [sentence for sentence in part.sentences if sentence not in told]
    told |= set(fresh)
    say_part(writer, part.title, fresh)
    table = part.display_frame()
    if not table.empty:
        say_table(writer, table, above=bool(fresh))


def _cautions(found: Steady, *, full: bool) -> tuple[Caution, ...]:
    """Return the cautions of what is shown, each once."""
    if full:
        return found.cautions
    shown = [*found.steadiness.cautions, *(c for each in found.watches for c in each.cautions)]
    kept = tuple(dict.fromkeys(shown))
    return tuple(each for each in found.cautions if each in kept and each.severity != "note")


def _say_more(writer: Console, answer: SteadyAnswer, arguments: argparse.Namespace) -> None:
    """Print what else this log could be asked."""
    asked = ["yieldwright", "steady", answer.path, *day_again(arguments.as_of)]
    limits = [] if arguments.baseline is None else ["--baseline", str(arguments.baseline)]
    by = ["--by", arguments.by] if arguments.by else []
    of = ["--of", ",".join(arguments.of)] if arguments.of else []
    bag = choosing(arguments.bag, arguments.grinder)
    say_other_shots(
        writer,
        answer.others,
        named=lambda each: each.name,
        asking=lambda each: [*asked, *of, *choosing(each.bag, each.grinder), *by],
    )
    if not arguments.full:
        say(writer, "\nEvery part with its table; --json gives numbers at full precision:")
        say_command(writer, [*asked, *of, *bag, *limits, *by, "--full"])
    say_figures(writer, answer.figures, arguments.figures)
