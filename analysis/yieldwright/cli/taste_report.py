"""What was found out about taste for people: the findings first, the doubts last."""

from __future__ import annotations

from typing import TYPE_CHECKING

from yieldwright.cli.other_shots import choosing, day_again, named_some, say_other_shots
from yieldwright.cli.parts import (
    say_cautions,
    say_figures,
    say_nothing_found,
    say_part,
    say_table,
    say_whole,
)
from yieldwright.cli.streams import say, say_command, say_pairs
from yieldwright.cli.taste_excerpt import (
    cautions_left,
    effects_shown,
    effects_title,
    has_camps,
    leading_sentences,
    means_shown,
    paragraphs_beside,
    reads_odds,
)
from yieldwright.cli.taste_options import AUTO
from yieldwright.cli.taste_tables import level_pairs
from yieldwright.cli.typed_columns import columns_again
from yieldwright.formatting import count, sentence_case, visible
from yieldwright.taste.effects_fit import DECLINED
from yieldwright.taste.words.wording import column_label

if TYPE_CHECKING:
    import argparse
    from collections.abc import Iterator

    from rich.console import Console

    from yieldwright.cautions import Caution
    from yieldwright.cli.tasting import TasteAnswer
    from yieldwright.taste.means.setting_means import SettingMeans
    from yieldwright.taste.taste_fit import TasteFit

__all__ = ["print_taste"]

#: Facts that stand at the head; the rest is told in sentences.
_HEAD = ("Left out", "Model")


def print_taste(writer: Console, answer: TasteAnswer, arguments: argparse.Namespace) -> None:
    """Print what the settings did to one response, and how far to trust it.

    Parameters
    ----------
    writer : rich.console.Console
        From `console`.
    answer : TasteAnswer
        What one question brought to light.
    arguments : argparse.Namespace
        As the command takes them.
    """
    fit = answer.fit
    if fit is None:
        say_nothing_found(writer, answer.missing, answer.path)
        return
    say(writer, visible(fit.title), style="bold")
    say_pairs(writer, _head(fit))
    if answer.prediction is not None:
        say_part(writer, answer.prediction.title, answer.prediction.sentences)
    if not fit.answered:
        say_part(writer, "What the log cannot tell yet", fit.line.sentences)
    elif arguments.full:
        _say_everything(writer, fit)
    else:
        _say_findings(writer, fit, arguments)
    say_cautions(writer, _all_cautions(answer, fit, arguments))
    _say_more(writer, answer, arguments)


def _head(fit: TasteFit) -> Iterator[tuple[str, str]]:
    line, facts = fit.line, dict(fit.headline)
    sessions = f" in {count(line.n_sessions, 'session')}" if line.n_sessions else ""
    yield "Shots", f"{line.n_shots:,}{sessions}"
    yield from ((label, visible(facts[label])) for label in _HEAD if label in facts)
    told = " ".join(line.sentences)
    left_out = [(name, why) for name, why in line.left_out if why not in told]
    for label, is_declined in (("Not judged", False), ("Not allowed for", True)):
        entries = [
            f"{column_label(name)}: {why.removeprefix(DECLINED)}"
            for name, why in left_out
            if why.startswith(DECLINED) == is_declined
        ]
        if entries:
            yield label, visible("; ".join(entries))


def _say_findings(writer: Console, fit: TasteFit, arguments: argparse.Namespace) -> None:
    """Print what a reader wants first: effects, means, and what else bears on them."""
    by_taster = arguments.by_taster or has_camps(fit)
    say_part(writer, "What the shots say", leading_sentences(fit))
    say(writer, f"\n{effects_title(fit)}", style="bold")
    say_table(writer, effects_shown(fit))
    if fit.means is not None and not reads_odds(fit):
        _say_means(writer, fit, fit.means)
    say_part(writer, "How firm that is", paragraphs_beside(fit, tasters=by_taster))
    for wanted, part in ((by_taster, fit.tasters), (arguments.surface, fit.surface)):
        if wanted and part is not None:
            say_whole(writer, part)
    if arguments.by_taster and fit.tasters is None:
        say(writer, f"\nNothing by taster: {_no_tasters(fit)}")
    if arguments.surface and fit.surface is None:
        say(writer, "\nNo surface: it takes two settings with numbers, judged in one fit.")


def _say_means(writer: Console, fit: TasteFit, means: SettingMeans) -> None:
    what = sentence_case(column_label(means.response))
    say(writer, f"\n{visible(what)} at each setting, everything else alike", style="bold")
    say_table(writer, means_shown(fit))
    whose = means.next_shot.rstrip(",")
    say_pairs(writer, [("Next shot:", f"where {whose}, falls 19 times in 20")])
    say_table(writer, level_pairs(means), above=True)


def _say_everything(writer: Console, fit: TasteFit) -> None:
    for part in fit.parts:
        say_whole(writer, part)
        if part is fit.means:
            say_table(writer, level_pairs(fit.means, every=True), above=True)


def _all_cautions(
    answer: TasteAnswer, fit: TasteFit, arguments: argparse.Namespace
) -> tuple[Caution, ...]:
    """Return the cautions of what is shown that no sentence has told."""
    kept = cautions_left(fit, full=arguments.full, surface=arguments.surface)
    of_prediction = answer.prediction.cautions if answer.prediction else ()
    return (*of_prediction, *kept)


def _no_tasters(fit: TasteFit) -> str:
    return f"the {column_label(fit.response)} is measured, not tasted."


def _say_more(writer: Console, answer: TasteAnswer, arguments: argparse.Namespace) -> None:
    """Print what else this log could be asked."""
    asked = ["yieldwright", "taste", answer.path, *day_again(arguments.as_of)]
    response = ["--response", arguments.response] if arguments.response else []
    fitted = _fitted(arguments)
    bag = ["--pool-bags"] if arguments.pool_bags else []
    bag += choosing(arguments.bag, arguments.grinder)
    if not arguments.pool_bags:
        grinders = {answer.fit.line.grinder if answer.fit else ""}
        one = grinders >= {each.grinder for each in answer.others}
        say_other_shots(
            writer,
            answer.others,
            named=lambda each: each.bag if one and each.bag else each.name,
            asking=lambda each: [
                *[*asked, *response, *fitted],
                *choosing(each.bag, "" if one and each.bag else each.grinder),
            ],
        )
    if answer.responses:
        say(writer, f"\nAlso to be explained: {named_some(answer.responses)}.")
        say_command(writer, [*asked, *bag, *fitted, "--response", answer.responses[0]])
    if answer.fit is not None and answer.fit.answered and not arguments.full:
        say(writer, "\nEvery part with its table; --json gives numbers at full precision:")
        say_command(writer, [*asked, *response, *bag, *fitted, "--full"])
    say_figures(writer, answer.figures, arguments.figures)


def _fitted(arguments: argparse.Namespace) -> list[str]:
    """Return the options that ask for the same fit of other shots."""
    return [
        *columns_again("--settings", arguments.settings),
        *columns_again("--allow-for", arguments.allow_for),
        *([] if arguments.model == AUTO else ["--model", arguments.model]),
    ]
