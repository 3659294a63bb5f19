"""At most three shots worth pulling next, each with its reason."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import chain, islice
from typing import TYPE_CHECKING, Literal

from yieldwright.planning.best_setting import confirm_best
from yieldwright.planning.steering import beyond_the_edge, steer_time
from yieldwright.taste.words.wording import column_label, level_words

if TYPE_CHECKING:
    from yieldwright.bench import Bench
    from yieldwright.repeatability import QuantitySpread
    from yieldwright.taste import ComparableSet, EffectsFit

__all__ = ["Suggestion", "next_shots"]

Kind = Literal["separate", "beyond", "confirm", "replicate", "steer", "vary"]

#: Suggestions one can act on in a session (common practice, no source).
MOST = 3

#: Settings whose change is worth proposing where it was never made.
WORTH_VARYING = ("grind_setting", "temp_band", "taper_bar")


@dataclass(frozen=True, slots=True)
class Suggestion:
    """One thing to pull next.

    Attributes
    ----------
    kind : {"separate", "beyond", "confirm", "replicate", "steer", "vary"}
        Tell a pair apart; step past an edge; repeat the best; learn the spread; come
        back to the recipe's time; change what never changed.
    sentence : str
        What to pull and why.
    """

    kind: Kind
    sentence: str


def next_shots(
    comparable: ComparableSet,
    *,
    bench: Bench,
    fits: Sequence[EffectsFit],
    spread: QuantitySpread | None = None,
    most: int = MOST,
) -> tuple[Suggestion, ...]:
    """Return the shots most worth pulling next, the most needed first.

    Parameters
    ----------
    comparable : ComparableSet
        Shots of one bag and grinder.
    bench : Bench
        Recipe, window and scales.
    fits : sequence of EffectsFit
        Of these shots: scores in the order of their weight, yield, time.
    spread : QuantitySpread or None
        How much like shots differ, where it was looked at.
    most : int
        Suggestions at most. [count]

    Returns
    -------
    tuple of Suggestion

    Notes
    -----
    First what a verdict waits for, then the step past an edge toward better taste (named,
    never predicted), the repeat of the best setting, the spread, the recipe's time, and
    last what was never changed.

    Examples
    --------
    >>> import pandas as pd
    >>> from yieldwright.bench import Bench
    >>> from yieldwright.taste import ComparableSet
    >>> shots = pd.DataFrame({"grind_setting": [10.0] * 4, "ey_pct": 19.0})
    >>> [each.kind for each in next_shots(ComparableSet("", "", shots), bench=Bench(), fits=[])]
    ['vary']
    """
    if comparable.shots.empty:
        return ()
    proposals = chain(
        (Suggestion("separate", text) for text in _separate(fits)),
        (Suggestion("beyond", text) for text in beyond_the_edge(comparable, bench, fits)),
        (Suggestion("confirm", text) for text in confirm_best(comparable, bench, fits)),
        (Suggestion("replicate", text) for text in _replicate(comparable, spread)),
        (Suggestion("steer", text) for text in steer_time(comparable, bench, fits)),
        (Suggestion("vary", text) for text in _vary(comparable)),
    )
    return tuple(islice(proposals, most))


def _separate(fits: Sequence[EffectsFit]) -> Iterator[str]:
    """Yield the repeats for the worst pair that a verdict waits for."""
    pairs = [pair for fit in fits for pair in fit.confounded]
    if not pairs:
        return
    worst = max(pairs, key=lambda pair: (pair.forbids_verdict, pair.vif))
    hardly = "cannot" if worst.forbids_verdict else "can hardly"
    names = f"{column_label(worst.first)} and {column_label(worst.second)}"
    yield f"{worst.remedy} So far the log {hardly} tell {names} apart."


def _replicate(comparable: ComparableSet, spread: QuantitySpread | None) -> Iterator[str]:
    if spread is None or spread.firm:
        return
    where = "one setting"
    if "grind_setting" in comparable.shots and comparable.shots["grind_setting"].notna().any():
        newest = comparable.shots["grind_setting"].dropna().iloc[-1]
        where = level_words("grind_setting", float(newest))
    yield (
        f"Pull {where} six times in one session, all else alike: until then it is hardly known "
        "how much like shots differ, and no difference can be weighed against that."
    )


def _vary(comparable: ComparableSet) -> Iterator[str]:
    """Yield settings that were logged and never changed, or never logged at all."""
    for column in WORTH_VARYING:
        label, shots = column_label(column), comparable.shots
        if column in shots and len(shots[column].dropna().unique()) == 1:
            yield (
                f"Change the {label} for half of a session, in the order A B B A: it has never "
                "changed, so the log says nothing about it."
            )
