"""What the shots of one bag and grinder say, and how steady the bench behind them is."""

from __future__ import annotations

import dataclasses
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np

from yieldwright.ageing.following import follow_set
from yieldwright.errors import RoleError
from yieldwright.formatting import listing, sentence_case
from yieldwright.planning import Suggestion, next_shots
from yieldwright.repeatability import (
    FailureRates,
    InstrumentCheck,
    People,
    QuantitySpread,
    Watch,
    compare_people,
    failure_rate,
    instrument_against_shots,
    quantity_spread,
    watch,
)
from yieldwright.repeatability.failing.failures import every_shot
from yieldwright.review.conclusion import Conclusion, conclude
from yieldwright.review.effect_rows import response_label
from yieldwright.review.looks import Look, looks_at
from yieldwright.review.settings_rows import tried_settings
from yieldwright.taste.asking import SEED
from yieldwright.taste.columns.roles import SCORE_PREFIX
from yieldwright.taste.fitting import find, told, unanswered
from yieldwright.taste.sensitivity.sensitivity import sensitivity
from yieldwright.taste.spreads import spreads
from yieldwright.taste.steps.scored_steps import disagreements, scored_steps
from yieldwright.taste.tasters.by_taster import taste_by_taster
from yieldwright.taste.words.luck import best_shot_sentence
from yieldwright.taste.words.telling import wanted_turn

if TYPE_CHECKING:
    from collections.abc import Sequence

    from yieldwright.ageing.bag_trend import BagTrend
    from yieldwright.bench import Bench
    from yieldwright.cautions import Caution
    from yieldwright.shotlog import ShotLog
    from yieldwright.taste.columns.comparable import ComparableSet
    from yieldwright.taste.effects_fit import EffectsFit
    from yieldwright.taste.findings import Findings
    from yieldwright.taste.spreads import Spreads
    from yieldwright.taste.steps.scored_steps import ScoredSteps

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
    found : tuple of Findings
        What was found out about taste, yield and time.
    fits : tuple of EffectsFit
        The same as answers.
    steps : ScoredSteps or None
        Scores of taste as steps; None where nothing could be fitted to them.
    looks : tuple of Look
        Their effects of settings, corrected for how many there are.
    conclusion : Conclusion
        What to take away.
    n_reviewed : int
        Reviewed shots of this bag and grinder.
    """

    log: ShotLog
    comparable: ComparableSet
    found: tuple[Findings, ...]
    fits: tuple[EffectsFit, ...]
    steps: ScoredSteps | None
    looks: tuple[Look, ...]
    conclusion: Conclusion
    n_reviewed: int

    @cached_property
    def failures(self) -> FailureRates:
        """How many shots failed at each setting, on every day."""
        every = every_shot(self.log, self.comparable)
        return failure_rate(every, tried_settings(every))

    @cached_property
    def spreads(self) -> tuple[QuantitySpread, ...]:
        """How much like shots differ in yield and in time, where these were measured."""
        usable, bench = self.comparable.shots, self.log.bench
        names = ("ey_pct", "time_s")
        measured = [name for name in names if name in usable and usable[name].notna().any()]
        return tuple(quantity_spread(self.comparable, name, bench=bench) for name in measured)

    @cached_property
    def instruments(self) -> InstrumentCheck:
        """How much of the spread of yields the instruments cause."""
        of_yield = next((each for each in self.spreads if each.column == "ey_pct"), None)
        usable = self.comparable.shots
        return instrument_against_shots(usable, bench=self.log.bench, spread=of_yield)

    @cached_property
    def watched(self) -> tuple[Watch, ...]:
        """Yield and time in the order pulled, as far as they bear a chart."""
        bench, shots = self.log.bench, self.comparable
        tried = (
            watch(shots, each.column, bench=bench, told_in=self.log.shots) for each in self.spreads
        )
        return tuple(each for each in tried if not each.missing)

    @property
    def people(self) -> People | None:
        """People compared in the first quantity measured; None where nobody can be."""
        return self._people[0]

    @property
    def why_no_people(self) -> str:
        """Why people who pulled cannot be compared in it; empty where one alone pulled."""
        return self._people[1]

    @cached_property
    def _people(self) -> tuple[People | None, str]:
        if not self.spreads:
            return None, ""
        of = self.spreads[0].column
        try:
            return compare_people(self.comparable, of, bench=self.log.bench), ""
        except RoleError as problem:
            return None, str(problem)

    @cached_property
    def bag(self) -> BagTrend:
        """How the bag changed as it aged, in the response of the first fit."""
        response = self.fits[0].response if self.fits[0].answered else "time_s"
        log = self.log
        return follow_set(self.comparable, response, bench=log.bench, told_in=log.shots)

    @cached_property
    def groups(self) -> tuple[Spreads, ...]:
        """How much sessions and tasters differ, in each response that has a fit."""
        found = (spreads(each) for each in self.found if each.judged)
        return tuple(each for each in found if each is not None)

    @cached_property
    def luck(self) -> str:
        """How much luck is in the best shot, of the first response that has one."""
        told = (
            best_shot_sentence(each, turn=wanted_turn(each.question))
            for each in self.found
            if each.judged
        )
        return next(filter(None, told), "")

    @cached_property
    def doubts(self) -> tuple[Caution, ...]:
        """Where tasters fall apart, and where scores as steps say something else."""
        taste = self.found[0]
        tasters = taste_by_taster(taste) if taste.judged else None
        apart = tasters.cautions if tasters is not None else ()
        return (*apart, *disagreements(taste.effects, self.steps))

    @cached_property
    def firmness(self) -> str:
        """What a settled conclusion becomes without a session or a shot, in a sentence."""
        if self.conclusion.verdict != "settled":
            return ""
        of = next(
            each for each in self.found if each.question.response == self.conclusion.response
        )
        found = sensitivity(of)
        said = found.sentences if found is not None else ()
        return next((each for each in said if self.conclusion.clause in each), "")

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
    found = tuple(find(comparable, response, bench=bench) for response in responses)
    fits = tuple(told(each) if each.judged else unanswered(each) for each in found)
    steps = _scored_as_steps(found[0])
    looks = looks_at(fits, steps)
    conclusion = conclude(fits, looks, bench=bench)
    return SetFindings(log, comparable, found, fits, steps, looks, conclusion, n_reviewed)


def _scored_as_steps(taste: Findings) -> ScoredSteps | None:
    """Return the scores as steps; chance begins alike each time, so that pages are alike."""
    return scored_steps(taste, rng=np.random.default_rng(SEED)) if taste.judged else None


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
