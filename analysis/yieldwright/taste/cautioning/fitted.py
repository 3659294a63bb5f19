"""The shots behind a fit as the checks look at them: with all that was logged, in order."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from itertools import pairwise
from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt

from yieldwright.formatting import number
from yieldwright.taste.words.wording import column_label, level_words

if TYPE_CHECKING:
    from collections.abc import Iterator

    import pandas as pd

    from yieldwright.taste.columns.predictors import Predictor
    from yieldwright.taste.effects_fit import EntangledPair
    from yieldwright.taste.findings import Findings

__all__ = ["FittedShots", "Parts"]

Codes = npt.NDArray[np.intp]

#: Values up to which a number is chosen among levels by hand; more are told in thirds.
MOST_LEVELS = 4

#: Where the range of a measured number is cut: for a few parts of it, and for its ends alone.
THIRDS, ENDS = (1 / 3, 2 / 3), (0.45, 0.55)


@dataclass(frozen=True, eq=False)
class Parts:
    """The parts that the values of one setting fall into.

    Attributes
    ----------
    column : str
        Canonical name.
    codes : ndarray
        Number of the part of each shot.
    names : tuple of str
        How each part is said.
    are_levels : bool
        Whether the parts are values set by hand, and not thirds of a range.
    """

    column: str
    codes: Codes
    names: tuple[str, ...]
    are_levels: bool


@dataclass(frozen=True, eq=False)
class FittedShots:
    """The shots of one fit, with every column of the log.

    Attributes
    ----------
    findings : Findings
        Verdicts of each stratum.
    pairs : tuple of EntangledPair
        What cannot be told apart.
    """

    findings: Findings
    pairs: tuple[EntangledPair, ...]

    @cached_property
    def frame(self) -> pd.DataFrame:
        """One row per shot fitted: response, session, name and predictors."""
        return self.findings.inside.layout.frame

    @cached_property
    def shots(self) -> pd.DataFrame:
        """The same rows with all columns of the log."""
        logged = self.findings.comparable.shots
        names = logged["shot"] if "shot" in logged else map(str, logged.index)
        rows: dict[object, int] = {}
        for row, name in enumerate(names):
            rows.setdefault(name, row)
        return logged.iloc[[rows[name] for name in self.frame["shot"]]].reset_index(drop=True)

    @cached_property
    def order(self) -> Codes:
        """Rows by session, and inside each in the order they were pulled."""
        codes = self.findings.inside.layout.codes
        filed = np.arange(len(codes))
        for column in ("position", "pulled_at"):
            if column in self.shots and self.shots[column].notna().all():
                return np.lexsort((filed, self.shots[column].rank().to_numpy(), codes))
        return np.lexsort((filed, codes))

    @cached_property
    def settings(self) -> tuple[Predictor, ...]:
        """Settings that vary among these shots."""
        candidates = (each for judged in self.findings.judged for each in judged.candidates)
        return tuple(each for each in candidates if each.kind == "setting")

    @cached_property
    def parts(self) -> tuple[Parts, ...]:
        """Each setting as levels set by hand, or as thirds of its range."""
        return tuple(self._parts())

    def ends(self, column: str) -> Parts:
        """Return a measured setting as the two ends of its range, and the little between.

        Parameters
        ----------
        column : str
            Canonical name.

        Returns
        -------
        Parts
        """
        return _split(column, self.frame[column].to_numpy(dtype=float), ENDS)

    def is_told(self, first: str, second: str) -> bool:
        """Return whether two columns are named as a pair that cannot be told apart.

        Parameters
        ----------
        first, second : str
            Canonical names.

        Returns
        -------
        bool
        """
        return any({pair.first, pair.second} == {first, second} for pair in self.pairs)

    def _parts(self) -> Iterator[Parts]:
        for setting in self.settings:
            column = setting.column
            values = self.frame[column].to_numpy()
            if setting.levels:
                codes = {level: place for place, level in enumerate(setting.levels)}
                placed = np.array([codes[value] for value in values], dtype=np.intp)
                names = tuple(level_words(column, level) for level in setting.levels)
                yield Parts(column, placed, names, are_levels=True)
                continue
            different, placed = np.unique(values.astype(float), return_inverse=True)
            if len(different) <= MOST_LEVELS:
                names = tuple(level_words(column, float(value)) for value in different)
                yield Parts(column, placed, names, are_levels=True)
            else:
                yield _split(column, values.astype(float), THIRDS)


def _split(column: str, values: npt.NDArray[np.float64], shares: tuple[float, ...]) -> Parts:
    """Return parts of the range of a measured setting, named by their limits."""
    low, high = float(values.min()), float(values.max())
    limits = low + (high - low) * np.array(shares)
    shown = [number(limit, (high - low) / 10) for limit in limits]
    label = column_label(column)
    between = (f"{label} {lower} to {upper}" for lower, upper in pairwise(shown))
    names = (f"{label} below {shown[0]}", *between, f"{label} above {shown[-1]}")
    codes = np.searchsorted(limits, values, side="right").astype(np.intp)
    return Parts(column, codes, names, are_levels=False)
