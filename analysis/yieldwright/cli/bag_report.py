"""What was found out about a bag for people: age, the best day, the grind, then doubts."""

from __future__ import annotations

from typing import TYPE_CHECKING

from yieldwright.ageing.age.age_words import bag_words, span_words
from yieldwright.ageing.best.best_day import goes_for
from yieldwright.ageing.compared.paired_rows import LEAST_SESSIONS
from yieldwright.cautions import gravest_first
from yieldwright.cli.bag_tables import changes_shown, dates_shown, forms_shown, weeks_shown
from yieldwright.cli.other_shots import (
    can_be_typed,
    choosing,
    day_again,
    named_some,
    say_other_shots,
)
from yieldwright.cli.parts import (
    say_cautions,
    say_figures,
    say_nothing_found,
    say_part,
    say_table,
    say_whole,
)
from yieldwright.cli.streams import say, say_command, say_pairs
from yieldwright.cli.typed_columns import columns_again
from yieldwright.formatting import listing, sentence_case, visible
from yieldwright.taste.words.wording import column_label, response_words

if TYPE_CHECKING:
    import argparse
    from collections.abc import Iterator

    from rich.console import Console

    from yieldwright.ageing.age.age_words import BagAges
    from yieldwright.ageing.bag_trend import BagTrend
    from yieldwright.ageing.trend.drift import Drift
    from yieldwright.cautions import Caution
    from yieldwright.cli.bag_following import BagAnswer
    from yieldwright.taste.columns.comparable import ComparableSet

__all__ = ["print_bag"]

_AGE_DID = "What age did"
_BEST = "When it is best"
_LASTS = "How long it lasts"
_GRIND = "How the grind must follow"
_EVENTS = "Before and after"

#: What an option would tell.
_BESIDE = {
    "--against": "bags at equal age",
    "--next": "where to begin with the next bag",
    "--every": "every bag's drift",
    "--full": "every part with its tables",
}

_NO_BEND = (
    "No day can be told: so few days bear a line and no curve, and a line is best at one of its "
    "ends. Shots on more days would show whether it bends."
)


def print_bag(writer: Console, answer: BagAnswer, arguments: argparse.Namespace) -> None:
    """Print how a bag changed as it aged, and how far to trust that.

    Parameters
    ----------
    writer : rich.console.Console
        From `console`.
    answer : BagAnswer
        What one bag brought to light.
    arguments : argparse.Namespace
        As the command takes them.
    """
    found = answer.found
    if found is None:
        say_nothing_found(writer, answer.missing, answer.path)
        _say_other_bags(writer, answer, arguments)
        return
    say(writer, visible(found.title), style="bold")
    say_pairs(writer, _head(found))
    if arguments.full:
        _say_everything(writer, answer, found)
    else:
        _say_findings(writer, answer, found)
    _say_others(writer, answer, arguments)
    say_cautions(writer, _cautions(answer, found))
    _say_more(writer, answer, arguments)


def _head(found: BagTrend) -> Iterator[tuple[str, str]]:
    yield "Shots", f"{found.n_shots:,}"
    if found.drift is not None:
        yield "Sessions", f"{found.drift.model.rows.n_sessions:,}"
    for each in found.ages.bags:
        yield "Roast age", visible(_age_words(each))
    left_out = "; ".join(str(entry) for entry in found.dropped if entry.count)
    if left_out:
        yield "Left out", visible(left_out)


def _age_words(ages: BagAges) -> str:
    """Return how old the coffee was, and what the bag went through."""
    if not ages.n_with_age:
        return "not known"
    parts = [span_words(ages.first_age_d, ages.last_age_d)]
    if ages.opened_at_age_d >= 0:
        parts.append(f"opened on day {ages.opened_at_age_d:g}")
    if ages.frozen_words:
        parts.append(ages.frozen_words)
    if ages.n_with_age < ages.n_shots:
        parts.append(f"known of {ages.n_with_age:,} of {ages.n_shots:,} shots")
    return "; ".join(parts)


def _say_findings(writer: Console, answer: BagAnswer, found: BagTrend) -> None:
    """Print what a reader wants first of each part."""
    say_part(writer, _drift_title(found), _drift_sentences(found))
    say_part(writer, _BEST, _best_sentences(found, answer))
    if found.lasting is not None:
        say_part(writer, _LASTS, found.lasting.sentences)
    say_part(writer, _GRIND, _grind_sentences(found, answer))
    if found.breaks is not None:
        say_part(writer, _EVENTS, found.breaks.sentences)
    say_part(writer, found.ages.title, _age_sentences(found))


def _drift_title(found: BagTrend) -> str:
    return _AGE_DID if found.answered else "What the log cannot tell yet"


def _drift_sentences(found: BagTrend) -> Iterator[str]:
    """Yield what went along with age, then the drift; or why there is none."""
    yield from (each.caution.text for each in found.entwined)
    if found.drift is not None:
        yield from found.drift.sentences
    else:
        yield f"The log cannot tell how the bag drifts: {found.missing}."


def _best_sentences(found: BagTrend, answer: BagAnswer) -> tuple[str, ...]:
    """Return when the bag is best, or why no day is told; nothing where that is no question."""
    if found.best is not None:
        return found.best.sentences
    if found.drift is None or not goes_for(found.response, answer.log.bench):
        return ()
    if found.entwined:
        labels = listing([column_label(each.column) for each in found.entwined])
        return (f"No day can be told as long as the {labels} and age go together.",)
    return (_NO_BEND,)


def _grind_sentences(found: BagTrend, answer: BagAnswer) -> tuple[str, ...]:
    """Return what the grind must do, or why that cannot be told."""
    if found.compensation is not None:
        told = found.compensation.sentences
        # The drift of the time at one setting stands above already.
        repeated = found.response == "time_s" and found.drift is not None
        return (*(told[1:] if repeated else told), *_also_along(found))
    if answer.why_no_grind:
        return (answer.why_no_grind,)
    if found.answered and any(each.column == "grind_setting" for each in found.entwined):
        return ("That cannot be told as long as the grind setting and age go together.",)
    return ()


def _also_along(found: BagTrend) -> Iterator[str]:
    """Yield what else may have moved the time, where something went along with age."""
    if found.entwined:
        labels = listing([column_label(each.column) for each in found.entwined])
        yield f"Part of that may be the doing of the {labels}, which went along with age."


def _age_sentences(found: BagTrend) -> tuple[str, ...]:
    """Return what would make unknown ages known; nothing where all are."""
    known = all(each.n_with_age == each.n_shots and not each.n_typed for each in found.ages.bags)
    return () if known else found.ages.sentences


def _say_everything(writer: Console, answer: BagAnswer, found: BagTrend) -> None:
    """Print every part with its tables."""
    say_part(writer, _drift_title(found), _drift_sentences(found))
    if found.drift is not None:
        _say_drift_tables(writer, found.drift)
    say_part(writer, _BEST, _best_sentences(found, answer))
    if found.best is not None:
        say_table(writer, found.best.display_frame(), above=True)
    if found.lasting is not None:
        say_part(writer, _LASTS, found.lasting.sentences)
        say_table(writer, found.lasting.display_frame(), above=True)
    say_part(writer, _GRIND, _grind_sentences(found, answer))
    if found.compensation is not None:
        say_table(writer, found.compensation.display_frame(), above=True)
        say_table(writer, weeks_shown(found.compensation), above=True)
    for part in (found.breaks, found.ages):
        if part is not None:
            say_whole(writer, part)
    say_table(writer, dates_shown(found.dates), above=True)


def _say_drift_tables(writer: Console, drift: Drift) -> None:
    unit = response_words(drift.model.rows.response, drift.model.rows.bench).unit
    say(writer, f"\nChange per day [{visible(unit)}]", style="bold")
    say_table(writer, changes_shown(drift))
    say_table(writer, forms_shown(drift), above=True)


def _say_others(writer: Console, answer: BagAnswer, arguments: argparse.Namespace) -> None:
    """Print other bags at equal age, and the next one, as far as asked for."""
    asked = (
        (answer.against, arguments.against is not None),
        (answer.paired, True),
        (answer.next, arguments.next),
    )
    for part, wanted in asked:
        if part is not None and arguments.full:
            say_whole(writer, part)
        elif part is not None and wanted:
            say_part(writer, part.title, part.sentences)
    if answer.every is not None:
        say_whole(writer, answer.every)
    if arguments.next and answer.next is None:
        why = "The log names no bag, or has no shot times or grind settings to begin from."
        say_part(writer, "Where to begin with the next bag", [why])


def _cautions(answer: BagAnswer, found: BagTrend) -> tuple[Caution, ...]:
    """Return the cautions that no sentence has told, the gravest first."""
    told = {each.caution for each in found.entwined}
    parts = (answer.against, answer.paired, answer.next)
    beside = [each for part in parts if part for each in part.cautions]
    every = gravest_first([*found.cautions, *beside])
    return tuple(each for each in every if each not in told and each.text != answer.why_no_grind)


def _say_more(writer: Console, answer: BagAnswer, arguments: argparse.Namespace) -> None:
    """Print what else this log could be asked."""
    asked = ["yieldwright", "bag", answer.path]
    bag = [*([arguments.bag] if arguments.bag else []), *choosing("", arguments.grinder)]
    day, of = day_again(arguments.as_of), _of(arguments)
    _say_other_bags(writer, answer, arguments)
    _say_side_by_side(writer, answer, arguments)
    if answer.responses:
        say(writer, f"\nAlso to be followed: {named_some(answer.responses)}.")
        say_command(writer, [*asked, *bag, *day, "--of", answer.responses[0]])
    wanted = list(_not_asked_yet(answer, arguments))
    if wanted:
        told = listing([_BESIDE[option] for option in wanted])
        told = f"{sentence_case(told)}; --figures DIR draws it, --json has every digit:"
        say(writer, f"\n{told}")
        say_command(writer, [*asked, *bag, *of, *wanted])
    say_figures(writer, answer.figures, arguments.figures)


def _say_other_bags(writer: Console, answer: BagAnswer, arguments: argparse.Namespace) -> None:
    """Print which other bags could be followed, and how."""
    several = _grinders(answer)
    say_other_shots(
        writer,
        answer.others,
        named=_name_with_ages,
        asking=lambda each: [
            *["yieldwright", "bag", answer.path, *([each.bag] if each.bag else [])],
            *choosing("", each.grinder if several else ""),
            *_of(arguments),
        ],
    )


def _say_side_by_side(writer: Console, answer: BagAnswer, arguments: argparse.Namespace) -> None:
    """Print which bag was pulled in the same sessions, and how to compare the two there."""
    found = answer.found
    if found is None or answer.paired is not None:
        return
    for other in _side_by_side(answer, found.bag):
        if other.grinder == found.grinder and can_be_typed(other) and found.bag:
            say(writer, f"\nPulled in the same sessions: {bag_words(other.bag)}.")
            asked = ["yieldwright", "bag", answer.path, found.bag, "--paired-with", other.bag]
            say_command(writer, [*asked, *_of(arguments)])
            return


def _side_by_side(answer: BagAnswer, bag: str) -> Iterator[ComparableSet]:
    """Yield other bags that share sessions enough with one to be compared inside them."""
    shots = answer.log.shots
    if "bag" not in shots or "session" not in shots:
        return
    own = set(shots.loc[shots["bag"] == bag, "session"])
    for other in answer.others:
        shared = own & set(other.shots["session"])
        if other.bag != bag and len(shared) >= LEAST_SESSIONS:
            yield other


def _of(arguments: argparse.Namespace) -> list[str]:
    """Return the options that ask the same of another bag."""
    level = [] if arguments.at_least is None else ["--at-least", f"{arguments.at_least:g}"]
    return [
        *day_again(arguments.as_of),
        *(["--of", arguments.of] if arguments.of else []),
        *columns_again("--allow-for", arguments.allow_for),
        *level,
    ]


def _not_asked_yet(answer: BagAnswer, arguments: argparse.Namespace) -> Iterator[str]:
    """Yield the options that would tell more of this bag."""
    has_code = answer.found is not None and bool(answer.found.bag)
    if has_code and answer.others and arguments.against is None:
        yield "--against"
    if has_code and not arguments.next:
        yield "--next"
    if has_code and answer.others and not arguments.every:
        yield "--every"
    if not arguments.full:
        yield "--full"


def _name_with_ages(other: ComparableSet) -> str:
    shots = other.shots
    ages = shots["roast_age_d"].dropna() if "roast_age_d" in shots else shots.index[:0]
    days = span_words(float(ages.min()), float(ages.max())) if len(ages) else "age not known"
    ground = f" on {visible(other.grinder)}" if other.grinder else ""
    return f"{bag_words(other.bag)}{ground} ({days})"


def _grinders(answer: BagAnswer) -> bool:
    """Return whether the log has several grinders."""
    own = {answer.found.grinder} if answer.found else set()
    return len(own | {each.grinder for each in answer.others}) > 1
