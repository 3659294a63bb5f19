"""How the starting point of the next bag is told, and why a bag has no part in it."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from yieldwright.ageing.age.age_words import span_words
from yieldwright.ageing.compared.grinder_shots import bag_name
from yieldwright.ageing.grind.compensation_words import setting_limits
from yieldwright.cautions import Caution
from yieldwright.formatting import count, listing, number, sentence_case, visible
from yieldwright.taste.words.wording import effect_interval

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from yieldwright.ageing.beginning.bag_settings import BagSetting
    from yieldwright.ageing.beginning.starting_point import StartingPoint
    from yieldwright.models.pooling.pooled import Pooled

__all__ = ["known_bags", "starting_cautions", "starting_sentences", "why_not"]

#: Reasons that leave a bag out, to be read after its name.
REASONS = {
    "no grind change": "the grind setting never changed",
    "few": "there are too few shots to tell grind from age",
    "no age": "the roast age is not known or never differed",
    "entwined": "the grind changed along with the age or a service",
    "weak": "the shots do not show what a setting does to the time",
    "backwards": "coarser took longer, against what a grinder does",
}

LEAST_BAGS = 3


def why_not(bag: BagSetting, *, coarser_sign: int = 1) -> str:
    """Return why a bag has no part in a starting point, empty where it has.

    Parameters
    ----------
    bag : BagSetting
        What it says.
    coarser_sign : int
        Plus one where larger numbers grind coarser, else minus one.

    Returns
    -------
    str

    Examples
    --------
    >>> from yieldwright.ageing.beginning.bag_settings import BagSetting
    >>> why_not(BagSetting("a", span_d=(4.0, 9.0), why="other ages"))
    'it was pulled at 4 to 9 days only'
    """
    if bag.why == "other ages":
        return f"it was pulled at {span_words(*bag.span_d)} only"
    if bag.why == "untried" and bag.setting is not None:
        above = bag.setting.estimate > bag.tried[1]
        way = "coarser" if above == (coarser_sign > 0) else "finer"
        tried = f"{bag.tried[0]:g} to {bag.tried[1]:g}"
        return f"it would have needed a {way} setting than the {tried} tried"
    return REASONS.get(bag.why, bag.why)


def starting_sentences(found: StartingPoint) -> list[str]:
    """Return where to begin with the next bag, how sure that is, and how to follow it.

    Parameters
    ----------
    found : StartingPoint
        What earlier bags say.

    Returns
    -------
    list of str
    """
    told = list(_where(found)) if found.pooled is not None else [f"{found.missing}."]
    return [*told, *_left_out(found)]


def _where(found: StartingPoint) -> Iterator[str]:
    """Yield where to begin, and how to follow the bag."""
    pooled, used = found.pooled, found.used
    if pooled is None:
        return
    aim = f"for {number(found.time_s, figures=2)} s at {span_words(found.age_d, found.age_d)}"
    what = f"{visible(found.roast_level)} bag" if found.roast_level else "bag"
    start = f"{found.start:g}"
    if pooled.n_units == 1 and used[0].setting is not None:
        own = used[0].setting
        up = found.coarser_sign > 0
        limits = setting_limits(own.low, own.high, used[0].tried, coarser_up=up)
        yield (
            f"One earlier {what}: begin at {start} {aim} ({bag_name(used[0].bag)} needed "
            f"{limits}, 95 %); how far bags differ is not known."
        )
    elif pooled.n_units < LEAST_BAGS:
        pairs = sorted(zip(pooled.estimates, pooled.std_errors, strict=True))
        needed = listing([number(value, error) for value, error in pairs])
        yield (
            f"Two earlier {what}s: begin at {start} {aim}, between the {needed} they needed; two "
            "bags hardly say where a third will lie."
        )
    else:
        half = (pooled.ci_high - pooled.ci_low) / 2
        yield (
            f"Begin the next {what} at {start} {aim}: {pooled.n_units} earlier bags needed "
            f"{number(pooled.mean, half)} on average (95 % interval "
            f"{effect_interval(pooled.ci_low, pooled.ci_high)}), and the next one is expected to "
            f"need between {_range(pooled.next_low, pooled.next_high)} (95 %)."
        )
        yield _spread(pooled)
    yield from _since(used)
    yield _follow(found)


def _since(used: Sequence[BagSetting]) -> Iterator[str]:
    """Yield since which services the settings are told, of bags in which there were some."""
    services = dict.fromkeys(bag.since for bag in used if bag.since)
    if len(services) == 1 and all(bag.since for bag in used):
        yield f"That is for the bench as it is {used[0].since}."
        return
    for since in services:
        names = listing([bag_name(bag.bag) for bag in used if bag.since == since])
        yield f"The setting of {names} is that for the bench as it was {since}."


def _range(low: float, high: float) -> str:
    half = (high - low) / 2
    return f"{number(low, half)} and {number(high, half)}"


def _spread(pooled: Pooled) -> str:
    """Return how far bags differ, with limits."""
    limits = f"95 % limits {number(pooled.between_low, figures=2)} to "
    limits += number(pooled.between_high, figures=2)
    if pooled.between_sd == 0:
        return f"Beyond what their own shots leave open, these bags do not differ ({limits})."
    return (
        f"From bag to bag the setting differs by {number(pooled.between_sd, figures=2)} "
        f"(standard deviation; {limits})."
    )


def _follow(found: StartingPoint) -> str:
    """Return how to follow the bag as it ages, in settings a day."""
    per_day = found.per_day
    if per_day is None:
        return ""
    low, high, who = per_day.ci_low, per_day.ci_high, "earlier bags asked"
    first = found.used[0].per_day
    if per_day.n_units == 1 and first is not None:
        low, high, who = first.low, first.high, "that bag asked"
    way = "coarser" if per_day.mean > 0 else "finer"
    half = (high - low) / 2
    ends = f"{number(low, half)} to {number(high, half)} coarser"
    if high < 0:
        ends = f"{number(-high, half)} to {number(-low, half)} finer"
    elif low < 0:
        ends = f"{number(-low, half)} finer to {number(high, half)} coarser"
    return (
        f"To hold the time from there, {who} for {number(abs(per_day.mean), half)} "
        f"settings {way} a day (95 % interval {ends})."
    )


def _left_out(found: StartingPoint) -> list[str]:
    """Return which bags have no part, and why."""
    reasons: dict[str, list[str]] = {}
    for bag in found.bags:
        why = why_not(bag, coarser_sign=found.coarser_sign)
        if why:
            reasons.setdefault(why, []).append(bag_name(bag.bag))
    return [f"Not used: {listing(names)}, as {why}." for why, names in reasons.items()]


def starting_cautions(found: StartingPoint) -> Iterator[Caution]:
    """Yield what a reader of a starting point must know.

    Parameters
    ----------
    found : StartingPoint
        What earlier bags say.

    Yields
    ------
    Caution
    """
    untried = [bag for bag in found.bags if bag.why == "untried"]
    if untried and found.pooled is not None:
        yield Caution(
            "bags-beyond-tried",
            "care",
            f"{count(len(untried), 'bag')} needed a setting beyond what was tried with it and "
            "could not be used: the starting point lies nearer the settings tried than it should.",
            "Try one setting beyond the edge early in the next bag.",
            ("grind_setting",),
        )
    yield from _about_services(found)
    if not found.time_stated:
        yield Caution(
            "time-assumed",
            "note",
            f"The bench states no shot time: {number(found.time_s, figures=3)} s is the median of "
            "these shots.",
            "State time_s in the recipe of the bench file.",
            ("time_s",),
        )
    if any(bag.why == "backwards" for bag in found.bags):
        yield Caution(
            "grinder-direction",
            "care",
            "With some bag coarser shots took longer.",
            "See whether the bench file says which way coarser is.",
            ("grinder", "grind_setting"),
        )


def _about_services(found: StartingPoint) -> Iterator[Caution]:
    """Yield what services between earlier bags and now leave unsure."""
    if found.rescaled:
        yield Caution(
            "grinder-rescaled",
            "note",
            f"Only shots since {found.rescaled} are used: a number on the grinder need not mean "
            "the same before it.",
            "",
            ("grinder", "serviced"),
        )
    if found.ended_before:
        yield Caution(
            "bags-before-service",
            "care",
            f"{sentence_case(listing([bag_name(code) for code in found.ended_before]))} ended "
            f"before {found.last_service}: what that did to the shot time is not taken off.",
            "See whether the first shot of the next bag runs as long as it should.",
            ("serviced", "grind_setting"),
        )


def known_bags(bags: Sequence[BagSetting]) -> tuple[BagSetting, ...]:
    """Return the bags that say where to begin.

    Parameters
    ----------
    bags : sequence of BagSetting
        All bags looked at.

    Returns
    -------
    tuple of BagSetting

    Examples
    --------
    >>> known_bags([])
    ()
    """
    return tuple(
        bag for bag in bags if not bag.why and bag.setting is not None
        and math.isfinite(bag.setting_error) and bag.setting_error > 0
    )  # fmt: skip
