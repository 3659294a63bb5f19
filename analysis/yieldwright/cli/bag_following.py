"""`yieldwright bag`: one bag followed across its roast age."""

from __future__ import annotations

import argparse
from dataclasses import dataclass, replace
from functools import partial
from typing import TYPE_CHECKING

from yieldwright.cli.answering import (
    Answer,
    Question,
    Telling,
    answer_from_log,
    others_of,
    tell,
)
from yieldwright.errors import OutOfRangeError, RoleError, TooFewShotsError
from yieldwright.formatting import listing

if TYPE_CHECKING:
    from collections.abc import Sequence

    from yieldwright.ageing.bag_trend import BagTrend
    from yieldwright.ageing.beginning.starting_point import StartingPoint
    from yieldwright.ageing.compared.bags import BagsCompared
    from yieldwright.ageing.compared.every_bag import EveryBag
    from yieldwright.ageing.compared.paired import PairedBags
    from yieldwright.results import Result
    from yieldwright.shotlog import ShotLog
    from yieldwright.taste.columns.comparable import ComparableSet

__all__ = ["BagAnswer", "bag"]


@dataclass(frozen=True, slots=True)
class BagAnswer(Answer):
    """What one bag brought to light, and what else could be asked.

    Attributes
    ----------
    log, path, missing, others, figures
        As of every answer.
    found : BagTrend or None
        Everything about the bag; None where no shot can be compared.
    why_no_grind : str
        Why nothing is said of the grind; empty where something is.
    against : BagsCompared or None
        Bags at equal age, where asked for.
    paired : PairedBags or None
        This bag and another in the same sessions, where asked for.
    next : StartingPoint or None
        Where to begin with the next bag, where asked for and where the log can say.
    every : EveryBag or None
        The drift of every bag of the grinder, where asked for.
    responses : tuple of str
        What else of the log could be followed.
    """

    found: BagTrend | None = None
    why_no_grind: str = ""
    against: BagsCompared | None = None
    paired: PairedBags | None = None
    next: StartingPoint | None = None
    every: EveryBag | None = None
    responses: tuple[str, ...] = ()

    @property
    def parts(self) -> tuple[Result, ...]:
        """Everything that may be drawn or told: the bag itself, its parts, other bags."""
        found = () if self.found is None else (self.found, *self.found.parts)
        others = (self.against, self.paired, self.next, self.every)
        return (*found, *(each for each in others if each is not None))


def bag(arguments: argparse.Namespace) -> int:
    r"""Print how one bag changed as it aged, for people or as JSON.

    Parameters
    ----------
    arguments : argparse.Namespace
        With `log`, `as_of` and everything `add_bag_options` adds.

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
        If a column cannot play the part it was asked to play, or is not logged; likewise.
    NotWritableError
        If a figure cannot be written; the folder is tried before the log is read.

    Examples
    --------
    >>> from pathlib import Path
    >>> from tempfile import TemporaryDirectory
    >>> from yieldwright.cli.arguments import parse
    >>> with TemporaryDirectory() as folder:
    ...     log = Path(folder, "shots.csv")
    ...     _ = log.write_text("shot,bag,time_s\n1,bag-7,36\n", encoding="utf-8")
    ...     bag(parse(["bag", str(log), "--of", "time_s"]))  # doctest: +ELLIPSIS
    Shot time of ...
    0
    """
    tell(arguments, partial(answer_from_log, arguments, _QUESTION), _telling)
    return 0


def _telling() -> Telling[BagAnswer]:
    from yieldwright.cli.bag_account import BAG_KEYS, account_of_bag
    from yieldwright.cli.bag_report import print_bag

    return Telling(account_of_bag, BAG_KEYS.refusal, print_bag)


def _load() -> None:
    import yieldwright.ageing.following
    import yieldwright.cli.taste_columns  # noqa: F401


def _find(log: ShotLog, arguments: argparse.Namespace) -> BagAnswer:
    answer = BagAnswer(log, arguments.log)
    try:
        return _with_others(_followed(answer, arguments), arguments)
    except TooFewShotsError as problem:
        return replace(answer, missing=str(problem), others=others_of(log))


def _followed(answer: BagAnswer, arguments: argparse.Namespace) -> BagAnswer:
    """Return an answer with the bag that was typed, followed."""
    from yieldwright.ageing.following import follow
    from yieldwright.ageing.trend.rows import BESIDE
    from yieldwright.cli.taste_columns import columns_named, require_in_log, response_named
    from yieldwright.taste.asking import named_set

    log = answer.log
    beside: tuple[str, ...] = BESIDE
    if arguments.allow_for is not None:
        beside = columns_named(arguments.allow_for, log)
        require_in_log(beside, log)
    of = response_named(arguments.of, log)
    asked_of = named_set(log, bag=arguments.bag, grinder=arguments.grinder)
    _require_shots(asked_of)
    _require_others(arguments, asked_of, log)
    _require_level(arguments.at_least, of, asked_of, log)
    found = follow(
        log, bag=arguments.bag, of=of, grinder=arguments.grinder, beside=beside,
        at_least=arguments.at_least,
    )  # fmt: skip
    why = _why_no_grind(log, found, beside)
    return replace(answer, found=found, missing=found.missing, why_no_grind=why)


def _require_shots(comparable: ComparableSet) -> None:
    """Refuse a bag of which no shot may be compared."""
    if comparable.shots.empty:
        why = listing([str(each) for each in comparable.excluded]) or "there is none"
        raise TooFewShotsError(f"no shot of {comparable.name} can be compared ({why})")


def _require_others(arguments: argparse.Namespace, asked_of: ComparableSet, log: ShotLog) -> None:
    """Refuse to compare a bag with nothing but itself."""
    from yieldwright.models.wording import quoted
    from yieldwright.taste.words.bag_words import bag_name

    paired, own = arguments.paired_with, asked_of.bag
    asked = {"--paired-with": [] if paired is None else [paired], "--against": arguments.against}
    option = next((name for name, codes in asked.items() if set(codes or ()) == {own}), None)
    if option is None:
        return
    others = others_of(log, own, asked_of.grinder)
    codes = [each.bag for each in others if each.grinder == asked_of.grinder and each.bag]
    there_is = listing([quoted(code) for code in codes[:3]], last="or")
    raise RoleError(
        f"{bag_name(own)} cannot be compared with itself, and "
        + (f"{option} takes another bag, such as {there_is}" if codes else "there is no other")
    )


def _require_level(at_least: float | None, of: str, asked_of: ComparableSet, log: ShotLog) -> None:
    """Refuse a level that the response cannot have, as wrong usage and not as a broken log."""
    from yieldwright.ageing.lasting.lasting import require_level
    from yieldwright.taste.asking import named_response

    if at_least is None:
        return
    try:
        require_level(at_least, named_response(of, asked_of, bench=log.bench), log.bench)
    except OutOfRangeError as problem:
        raise RoleError(str(problem)) from problem


def _why_no_grind(log: ShotLog, found: BagTrend, beside: Sequence[str]) -> str:
    """Return why nothing is said of the grind where something is said of the rest."""
    from yieldwright.ageing.following import TIME, follow

    told_already = found.response == TIME or any(
        e.column == "grind_setting" for e in found.entwined
    )
    if found.compensation is not None or told_already or not found.answered:
        return ""
    timed = follow(log, bag=found.bag, of=TIME, grinder=found.grinder, beside=beside)
    if timed.entwined:
        return timed.entwined[0].caution.text
    return f"The log cannot tell: {timed.missing}."


def _with_others(answer: BagAnswer, arguments: argparse.Namespace) -> BagAnswer:
    """Return an answer with other bags, as far as they were asked for."""
    from yieldwright.ageing.beginning.starting_point import next_bag
    from yieldwright.cli.taste_columns import other_responses
    from yieldwright.taste.asking import named_set

    log, found = answer.log, answer.found
    if found is None:
        return answer
    this = named_set(log, bag=found.bag, grinder=found.grinder)
    return replace(
        answer,
        against=None if arguments.against is None else _compared(log, found, arguments.against),
        paired=_paired(log, found, arguments) if arguments.paired_with is not None else None,
        next=next_bag(log, roast_level=_roast_level(this), grinder=found.grinder, bench=log.bench)
        if arguments.next
        else None,
        every=_every(log, found) if arguments.every else None,
        others=others_of(log, found.bag, found.grinder),
        responses=other_responses(found.response, log),
    )


def _compared(log: ShotLog, found: BagTrend, against: Sequence[str]) -> BagsCompared:
    """Return this bag and others at equal age; all of the grinder where none is named."""
    from yieldwright.ageing.compared.bags import compare_bags

    bags = tuple(dict.fromkeys((found.bag, *against))) if against else ()
    return compare_bags(
        log, _typed(found.response), bags=bags, grinder=found.grinder, bench=log.bench
    )


def _paired(log: ShotLog, found: BagTrend, arguments: argparse.Namespace) -> PairedBags:
    """Return this bag and another in the sessions that both were pulled in."""
    from yieldwright.ageing.compared.paired import pair_bags
    from yieldwright.ageing.trend.rows import BESIDE
    from yieldwright.cli.taste_columns import columns_named

    named = arguments.allow_for
    return pair_bags(
        log,
        _typed(found.response),
        bags=(found.bag, arguments.paired_with),
        grinder=found.grinder,
        beside=BESIDE if named is None else columns_named(named, log),
        bench=log.bench,
    )


def _every(log: ShotLog, found: BagTrend) -> EveryBag:
    from yieldwright.ageing.compared.every_bag import every_bag

    return every_bag(log, _typed(found.response), grinder=found.grinder, bench=log.bench)


def _typed(response: str) -> str:
    """Return a response by the name that one types."""
    from yieldwright.taste.columns.roles import attribute_of

    return attribute_of(response) or response


def _roast_level(comparable: ComparableSet) -> str:
    """Return the roast level of most of some shots, empty where none is logged."""
    shots = comparable.shots
    if "roast_level" not in shots or shots["roast_level"].isna().all():
        return ""
    return str(shots["roast_level"].dropna().mode().iloc[0])


_QUESTION = Question(
    load=_load, doing="following the bag", find=_find, share_read=0.4, share_found=0.8
)
