"""What the shots of one bag and grinder say, and how steady the bench behind them is."""

from __future__ import annotations

import dataclasses
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING

import pandas as pd

from yieldwright.formatting import listing, sentence_case
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
from yieldwright.shotlog.tables.sessions import NO_FATE
from yieldwright.taste.fitting import fit_effects
from yieldwright.taste.roles import SCORE_PREFIX

if TYPE_CHECKING:
    from collections.abc import Sequence

    from yieldwright.bench import Bench
    from yieldwright.cautions import Caution
    from yieldwright.shotlog import ShotLog
    from yieldwright.taste.comparable import ComparableSet
    from yieldwright.taste.effects_fit import EffectsFit

__all__ = ["SetFindings", "find_in_set", "fit_cautions"]


@dataclass(frozen=True, eq=False)
class SetFindings:
    """What the shots of one bag and grinder say.

    Attributes
    ----------
    log : ShotLog
        The log they are of.
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

    log: ShotLog
    comparable: ComparableSet
    fits: tuple[EffectsFit, ...]
    looks: tuple[Look, ...]
    conclusion: Conclusion
    n_reviewed: int

    @cached_property
    def failures(self) -> FailureRates:
        """How many shots failed at each setting, on every day."""
        every = _every_shot(self.log, self.comparable)
        return failure_rate(every, tried_settings(every))

    @cached_property
    def spreads(self) -> tuple[Spread, ...]:
        """How much like shots differ in yield and in time, where these were measured."""
        usable = self.comparable.shots
        measured = [name for name in ("ey_pct", "time_s") if name in usable]
        return tuple(replicate_spread(usable, name) for name in measured)

    @cached_property
    def instruments(self) -> InstrumentCheck:
        """How much of the spread of yields the instruments cause."""
        of_yield = next((each for each in self.spreads if each.column == "ey_pct"), None)
        usable = self.comparable.shots
        return instrument_against_shots(usable, bench=self.log.bench, spread=of_yield)

    @cached_property
    def suggestions(self) -> tuple[Suggestion, ...]:
        """Shots worth pulling next."""
        spread = self.spreads[0] if self.spreads else None
        return next_shots(self.comparable, bench=self.log.bench, fits=self.fits, spread=spread)


def find_in_set(comparable: ComparableSet, *, log: ShotLog, n_reviewed: int) -> SetFindings:
    """Return what the shots of one bag and grinder say.

    Parameters
    ----------
    comparable : ComparableSet
        Shots of one bag and grinder.
    log : ShotLog
        The log they are of.
    n_reviewed : int
        How many of its shots are under review. [count]

    Returns
    -------
    SetFindings
    """
    bench = log.bench
    responses = (_taste_response(comparable, bench), "ey_pct", "time_s")
    fits = tuple(fit_effects(comparable, response, bench=bench) for response in responses)
    looks = looks_at(fits)
    conclusion = conclude(fits, looks, bench=bench)
    return SetFindings(log, comparable, fits, looks, conclusion, n_reviewed)


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
    sentence = f"{sentence_case(what)}: {caution.sentence}"
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
