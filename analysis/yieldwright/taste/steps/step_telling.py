"""The sentences of scores taken as steps."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from yieldwright.formatting import count, p_words, sentence_case
from yieldwright.taste.steps.odds_words import higher_words, odds_amount, odds_span

if TYPE_CHECKING:
    from collections.abc import Iterator

    from yieldwright.bench import Bench
    from yieldwright.taste.steps.scored_steps import ScoredStep, ScoredSteps

__all__ = ["step_sentences"]

#: Corrected p-values above this are said to be within chance.
SIGNIFICANT = 0.05

_P_FROM = {
    "exchange": "by exchanging the scores of shots within sessions",
    "likelihood": "from the likelihood",
}


def step_sentences(steps: ScoredSteps, bench: Bench) -> Iterator[str]:
    """Yield one sentence per step of a setting: clear ones, then unclear ones.

    Parameters
    ----------
    steps : ScoredSteps
        The steps.
    bench : Bench
        Whose attributes say which way is good.

    Yields
    ------
    str
    """
    higher = higher_words(steps.response, bench)
    scope = _scope(steps)
    corrected = zip(steps.steps, steps.table["p_holm"].tolist(), strict=True)
    for step, p_holm in sorted(corrected, key=lambda pair: not pair[0].verdict):
        if step.verdict:
            yield _clear(step, higher, f"{scope}{_chance(p_holm, len(steps.steps))}")
        else:
            yield _unclear(step, higher, scope)
    if steps.chosen:
        yield steps.why


def _clear(step: ScoredStep, higher: str, scope: str) -> str:
    found = step.estimate
    amount = odds_amount(found.estimate, found.ci_low, found.ci_high)
    interval = ""
    if math.isfinite(found.estimate):
        interval = f"95 % {odds_span(found.ci_low, found.ci_high)}; "
    open_ended = (
        "; the scores part completely, so there is no limit on the other side"
        if math.isinf(found.estimate)
        else ""
    )
    return (
        f"{sentence_case(step.words.clause)} makes {higher} {amount} as likely against a lower "
        f"one (odds; {interval}{_p(step)}; {scope}){open_ended}."
    ).replace("lower one", _other(higher))


def _unclear(step: ScoredStep, higher: str, scope: str) -> str:
    found = step.estimate
    return (
        f"Taken as steps, the scores leave open whether {step.words.clause} makes {higher} more "
        f"or less likely: the odds may be {odds_span(found.ci_low, found.ci_high)} times "
        f"what they were (95 %; {_p(step)}; {scope})."
    )


def _chance(p_holm: float, n_tests: int) -> str:
    if not p_holm > SIGNIFICANT:
        return ""
    return (
        f"; with {n_tests} steps looked at, chance alone could do this, {p_words(p_holm)} by Holm"
    )


def _other(higher: str) -> str:
    return "one farther off" if "nearer" in higher else "lower one"


def _p(step: ScoredStep) -> str:
    if step.p_from == "refused":
        n = step.n_arrangements
        return f"no p-value: exchanging scores gives only {count(n, 'arrangement')}"
    return f"{p_words(step.estimate.p_value)} {_P_FROM[step.p_from]}"


def _scope(steps: ScoredSteps) -> str:
    shots = count(steps.n_shots, "shot")
    return f"{shots}, {count(steps.n_tasters, 'taster')}" if steps.n_tasters > 1 else shots
