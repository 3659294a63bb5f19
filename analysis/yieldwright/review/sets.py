"""What the shots of one bag and grinder say, and how steady the bench behind them is."""

from __future__ import annotations

import dataclasses
from dataclasses import dataclass
from typing import TYPE_CHECKING

import pandas as pd

from yieldwright.formatting import listing
from yieldwright.planning import Suggestion, next_shots
from yieldwright.repeatability import (
    FailureRates,
    InstrumentCheck,
    Spread,
    failure_rate,
    instrument_against_shots,
    replicate_spread,
)
from yieldwright.review.conclusion import Conclusion, conclude
from yieldwright.review.effect_rows import response_label
from yieldwright.review.looks import Look, looks_at
from yieldwright.review.settings_rows import tried_settings
from yieldwright.shotlog.sessions import NO_FATE
from yieldwright.taste.fitting import fit_effects
from yieldwright.taste.roles import SCORE_PREFIX

if TYPE_CHECKING:
    from collections.abc import Sequence

    from yieldwright.bench import Bench
    from yieldwright.cautions import Caution
    from yieldwright.shotlog import ShotLog
    from yieldwright.taste.comparable import ComparableSet
    from yieldwright.taste.effects_fit import EffectsFit

__all__ = ["Practice", "SetFindings", "find_in_set", "find_practice", "fit_cautions"]


@dataclass(frozen=True, eq=False)
class SetFindings:
    """What the shots of one bag and grinder say.

    Attributes
    ----------
    comparable : ComparableSet
        The shots behind the fits, of every day.
    fits : tuple of EffectsFit
        Taste, yield, time.
    looks : tuple of Look
        Their effects of settings, corrected for how many there are.
    conclusion : Conclusion
        What to take away.
    n_reviewed : int
        Reviewed shots of this bag and grinder.
    """

    comparable: ComparableSet
    fits: tuple[EffectsFit, ...]
    looks: tuple[Look, ...]
    conclusion: Conclusion
    n_reviewed: int


@dataclass(frozen=True, eq=False)
class Practice:
    """How steady the bench is, and what to pull next.

    Attributes
    ----------
    failures : FailureRates
        How many shots failed at each setting, on every day.
    spreads : tuple of Spread
        How much like shots differ in yield and in time.
    instruments : InstrumentCheck
        How much of that the instruments cause.
    suggestions : tuple of Suggestion
        Shots worth pulling next.
    """

    failures: FailureRates
    spreads: tuple[Spread, ...]
    instruments: InstrumentCheck
    suggestions: tuple[Suggestion, ...]


def find_in_set(comparable: ComparableSet, *, bench: Bench, n_reviewed: int) -> SetFindings:
    """Return what the shots of one bag and grinder say.

    Parameters
    ----------
    comparable : ComparableSet
        Shots of one bag and grinder.
    bench : Bench
        Whose scales and steps are meant.
    n_reviewed : int
        How many of its shots are under review. [count]

    Returns
    -------
    SetFindings
    """
    responses = (_taste_response(comparable, bench), "ey_pct", "time_s")
    fits = tuple(fit_effects(comparable, response, bench=bench) for response in responses)
    looks = looks_at(fits)
    return SetFindings(comparable, fits, looks, conclude(fits, looks, bench=bench), n_reviewed)


def find_practice(log: ShotLog, found: SetFindings) -> Practice:
    """Return how steady the bench is with one bag and grinder, and what to pull next.

    Parameters
    ----------
    log : ShotLog
        The log that was read.
    found : SetFindings
        What its shots of this bag and grinder say.

    Returns
    -------
    Practice
    """
    bench, comparable, usable = log.bench, found.comparable, found.comparable.shots
    every = _every_shot(log, comparable)
    measured = [name for name in ("ey_pct", "time_s") if name in usable]
    spreads = {name: replicate_spread(usable, name) for name in measured}
    of_yield, any_spread = spreads.get("ey_pct"), next(iter(spreads.values()), None)
    return Practice(
        failures=failure_rate(every, tried_settings(every)),
        spreads=tuple(spreads.values()),
        instruments=instrument_against_shots(usable, bench=bench, spread=of_yield),
        suggestions=next_shots(comparable, bench=bench, fits=found.fits, spread=any_spread),
    )


def fit_cautions(fits: Sequence[EffectsFit]) -> tuple[Caution, ...]:
    """Return the cautions of several fits, each once and with the responses it is about.

    Parameters
    ----------
    fits : sequence of EffectsFit
        Fits of one bag and grinder.

    Returns
    -------
    tuple of Caution
        One that holds for every fit names no response.
    """
    answered = [fit for fit in fits if fit.answered]
    about: dict[Caution, list[str]] = {}
    for fit in answered:
        for caution in fit.cautions:
            about.setdefault(caution, []).append(response_label(fit.response))
    return tuple(
        caution if len(responses) == len(answered) else _about(caution, responses)
        for caution, responses in about.items()
    )


def _about(caution: Caution, responses: Sequence[str]) -> Caution:
    what = listing(responses)
    sentence = f"{what[0].upper()}{what[1:]}: {caution.sentence}"
    return dataclasses.replace(caution, sentence=sentence)


def _taste_response(comparable: ComparableSet, bench: Bench) -> str:
    """Return the first attribute of the bench that was scored, else the first of all."""
    names = [f"{SCORE_PREFIX}{attribute.name}" for attribute in bench.attributes]
    names = names or [f"{SCORE_PREFIX}overall"]
    scored = [
        name
        for name in (*names, *comparable.shots.filter(like=SCORE_PREFIX))
        if name in comparable.shots and comparable.shots[name].notna().any()
    ]
    return str(scored[0]) if scored else names[0]


def _every_shot(log: ShotLog, comparable: ComparableSet) -> pd.DataFrame:
    """Return all shots of a bag and grinder, with their fate only where it was logged."""
    shots = log.shots
    own = pd.Series(data=True, index=shots.index)
    for name, code in (("bag", comparable.bag), ("grinder", comparable.grinder)):
        if name in shots:
            own &= shots[name].fillna("") == code
    every = log.shots[own]
    return every.drop(columns="fate") if NO_FATE in log.reading.remarks else every
