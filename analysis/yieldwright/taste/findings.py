"""All that one question brought to light, before it is told."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING

from yieldwright.taste.effects_fit import DECLINED
from yieldwright.taste.tables import Effect, beside_table, effect_table, effects_of
from yieldwright.taste.words.wording import ResponseWords, response_words

if TYPE_CHECKING:
    import pandas as pd

    from yieldwright.taste.choosing import Chosen
    from yieldwright.taste.columns.comparable import ComparableSet
    from yieldwright.taste.columns.predictors import Prepared, Question
    from yieldwright.taste.strata.judging import Judged

__all__ = ["Findings"]


@dataclass(frozen=True, eq=False)
class Findings:
    """One question, the shots it was asked of, and the verdicts of each stratum.

    Attributes
    ----------
    question : Question
        What was asked.
    comparable : ComparableSet
        Shots of one bag and grinder.
    prepared : Prepared
        Complete rows.
    judged : tuple of Judged
        Shots first, then session means.
    chosen : Chosen or None
        The model that judged them, and why; None where the caller judged by hand.
    declined : tuple of pairs of str
        Conditions that differ among the shots and are not allowed for, with reasons.
    missing : str
        What a first estimate would need, where nothing could be fitted at all.
    """

    question: Question
    comparable: ComparableSet
    prepared: Prepared
    judged: tuple[Judged, ...]
    chosen: Chosen | None = None
    declined: tuple[tuple[str, str], ...] = ()
    missing: str = ""

    @property
    def words(self) -> ResponseWords:
        """How the response is talked about."""
        return response_words(self.question.response, self.question.bench)

    @property
    def inside(self) -> Judged:
        """The verdicts on columns that vary from shot to shot."""
        return self.judged[0]

    @cached_property
    def effects(self) -> tuple[Effect, ...]:
        """Effects of all strata, those of settings first."""
        found = [effect for each in self.judged for effect in effects_of(each)]
        return tuple(sorted(found, key=lambda effect: effect.predictor.kind != "setting"))

    @cached_property
    def table(self) -> pd.DataFrame:
        """The same as a table, with corrected p-values."""
        return effect_table(self.effects)

    @cached_property
    def beside(self) -> pd.DataFrame:
        """Each setting's effect with and without its closest companion."""
        return beside_table(self.judged)

    @cached_property
    def left_out(self) -> tuple[tuple[str, str], ...]:
        """Columns and levels without a verdict, with reasons."""
        judged = (entry for each in self.judged for entry in each.left_out)
        own = (*self.prepared.left_out, *self.inside.layout.left_out, *judged)
        known = {name for name, _ in own}
        declined = ((name, why) for name, why in self.declined if name not in known)
        return (
            *own,
            *((name, f"{DECLINED}{why.removeprefix(DECLINED)}") for name, why in declined),
        )
