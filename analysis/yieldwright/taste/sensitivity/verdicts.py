"""The verdict on one effect, as it was fitted and after every change."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np

from yieldwright.taste.sensitivity.leaving_out import AS_FITTED, SESSION, Again, Tried

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Sequence

    from yieldwright.taste.words.wording import ResponseWords

__all__ = ["SILENT", "UNCLEAR", "Verdicts"]

#: Verdicts that are no direction.
UNCLEAR, SILENT = "unclear", "cannot tell"


@dataclass(frozen=True, eq=False)
class Verdicts:
    """One effect with what was tried on it, and the words for it.

    Attributes
    ----------
    tried : Tried
        The effect and its changes.
    words : ResponseWords
        How the response is talked about.
    among : int
        Effects of settings looked at.
    """

    tried: Tried
    words: ResponseWords
    among: int

    @cached_property
    def fitted(self) -> Again:
        """The effect as it was fitted."""
        found = self.tried.effect.estimate
        figures = (found.estimate, found.std_error, found.df, found.ci_low, found.ci_high)
        return Again(AS_FITTED, "", len(self.tried.judged.layout.frame), *figures)

    @property
    def is_clear(self) -> bool:
        """Whether the effect has a direction as it was fitted."""
        return self.tried.effect.is_clear

    @property
    def may_be_told(self) -> bool:
        """Whether it can be told from every other column."""
        entangled = self.tried.judged.entangled[self.tried.effect.predictor.column]
        return entangled.colour != "red"

    @property
    def clause(self) -> str:
        """The step inside a sentence."""
        return self.tried.effect.words.clause

    def verdict(self, again: Again) -> str:
        """Return the direction an interval leaves, or that it leaves none.

        Parameters
        ----------
        again : Again
            The effect after one change.

        Returns
        -------
        str
        """
        if np.isnan(again.low) or np.isnan(again.high):
            return SILENT
        if again.low > 0:
            return self.words.more
        return self.words.less if again.high < 0 else UNCLEAR

    def changes(self, again: Again) -> bool:
        """Return whether the verdict is another than that of the fit.

        Parameters
        ----------
        again : Again
            The effect after one change.

        Returns
        -------
        bool
        """
        return self.verdict(again) != self.verdict(self.fitted)

    def worst(self, found: Sequence[Again]) -> Again | None:
        """Return what matters most: what leaves a direction least, or an unclear effect most.

        Parameters
        ----------
        found : sequence of Again
            The effect after several changes.

        Returns
        -------
        Again or None
            None where nothing was tried.
        """
        if not found:
            return None
        return min(found, key=self._support)

    def moved(self, found: Iterable[Again]) -> list[Again]:
        """Return the changes that change the verdict, what matters most first.

        Parameters
        ----------
        found : iterable of Again
            The effect after several changes.

        Returns
        -------
        list of Again
        """
        return sorted(filter(self.changes, found), key=self._support)

    def records(self) -> Iterator[dict[str, object]]:
        """Return one row per change, the fit first.

        Yields
        ------
        dict of str to object
            The columns of a table of sensitivity, and whether a reader is shown the row.
        """
        tried = self.tried
        matters = [self.worst(tried.sessions), self.worst(tried.shots)]
        shots = [each for each in matters[1:] if each is not None]
        for again in (self.fitted, *tried.sessions, *shots, *tried.analyses):
            yield {
                "term": tried.effect.predictor.column,
                "step": tried.effect.words.step,
                "stratum": tried.effect.stratum,
                "change": again.change,
                "name": again.name,
                "n_shots": again.n_shots,
                "estimate": again.estimate,
                "std_error": again.std_error,
                "df": again.df,
                "ci_low": again.low,
                "ci_high": again.high,
                "share": again.share,
                "p_apart": again.p_apart,
                "verdict": self.verdict(again),
                "verdict_changes": self.changes(again),
                "shown": again.change != SESSION or again is matters[0],
            }

    def _support(self, again: Again) -> float:
        if self.verdict(again) == SILENT:
            return -np.inf
        if not self.is_clear:
            return min(again.high, -again.low)
        return again.low if self.fitted.estimate > 0 else -again.high
