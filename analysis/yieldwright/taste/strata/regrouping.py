"""A mixed model again, without some shots."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt

from yieldwright.errors import YieldwrightError
from yieldwright.models.mixed.groups import grouping
from yieldwright.taste.strata.grouped_fit import mixed_model

if TYPE_CHECKING:
    from yieldwright.models.mixed.model import MixedFit
    from yieldwright.taste.findings import Findings
    from yieldwright.taste.strata.grouped_fit import GroupedFit
    from yieldwright.taste.strata.strata import Layout
    from yieldwright.taste.strata.stratum_fits import StratumFit

__all__ = ["Regrouped"]

Mask = npt.NDArray[np.bool_]


class Regrouped:
    """The mixed model of a log fitted anew without some shots, each time only once.

    Parameters
    ----------
    findings : Findings
        One question and its verdicts.
    """

    def __init__(self, findings: Findings) -> None:
        """Remember what the model is made of."""
        self.fits = [each.fit for each in findings.judged if each.fit is not None]
        self.chosen = findings.chosen
        self.known: dict[frozenset[object], MixedFit | None] = {}

    def left(self, fit: GroupedFit, layout: Layout, keep: Mask) -> StratumFit | None:
        """Return a stratum with the model of the shots kept.

        Parameters
        ----------
        fit : GroupedFit
            The stratum.
        layout : Layout
            Its shots.
        keep : ndarray of bool
            Which of them.

        Returns
        -------
        StratumFit or None
            None where no such model can be fitted.
        """
        shots = frozenset(layout.frame["shot"][keep])
        if shots not in self.known:
            self.known[shots] = self._model(shots)
        found = self.known[shots]
        return None if found is None else replace(fit, mixed=found)

    def _model(self, shots: frozenset[object]) -> MixedFit | None:
        if self.chosen is None:
            return None
        rows = self.chosen.rows
        rows = rows[rows["shot"].isin(shots)].reset_index(drop=True)
        try:
            groups = [
                grouping(rows, each.name, slope=each.slope_name or None, correlated=False)
                for each in self.chosen.groupings
                if 1 < rows[each.name].nunique() < len(rows)
            ]
            return mixed_model(self.fits, rows, groups)
        except YieldwrightError:
            return None
