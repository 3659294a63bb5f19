"""One stratum judged: what can be told apart and afforded, the fit, its curves."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from yieldwright.formatting import count, listing
from yieldwright.taste.columns.sufficiency import affordable
from yieldwright.taste.confounding.aliases import lone_aliases, separable
from yieldwright.taste.confounding.confounding import (
    Entanglement,
    SweptColumns,
    entanglements,
    sweep,
)
from yieldwright.taste.strata.curvature import Curvature, bend
from yieldwright.taste.strata.strata import BETWEEN, Layout, laid_out
from yieldwright.taste.strata.stratum_fits import (
    StratumFit,
    adjusted_means,
    fit_between,
    fit_inside,
    narrowed,
    stratum_design,
)
from yieldwright.taste.words.wording import column_label

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping, Sequence

    import pandas as pd

    from yieldwright.models.terms.design import Design
    from yieldwright.taste.columns.predictors import Predictor, Prepared

__all__ = ["Judged", "judge_between", "judge_inside", "judge_strata", "unadjusted_for"]

#: Session means that differ by less than this share of their size differ by rounding.
ALIKE = 1e-9


@dataclass(frozen=True, eq=False)
class Judged:
    """What one stratum says.

    Attributes
    ----------
    stratum : str
        Within sessions, between sessions, or pooled.
    layout : Layout
        Rows and sessions.
    candidates : tuple of Predictor
        All columns that vary in this stratum.
    design : Design
        All columns they could fill, curves included.
    swept : SweptColumns
        Those columns with blocks removed.
    fit : StratumFit or None
        The fit, with every curve the rows can bear; None where rows are too few.
    adjusting : StratumFit or None
        The fit inside sessions that adjusted the means, between sessions.
    curvature : tuple of Curvature
        What was tried.
    entangled : mapping of str to Entanglement
        Per term of the fit.
    aliased : mapping of str to tuple of str
        Columns that follow from others, and from which.
    unadjusted : tuple of str
        Adjusters there were no degrees of freedom for.
    lacking : int
        Rows short of what the settings need; 0 where they could be fitted.
    left_out : tuple of pairs of str
        Columns without a verdict, with reasons.
    regrouped : callable or None
        Puts another fit of this stratum into the mixed model that the estimates come
        from; None where they come from least squares.
    """

    stratum: str
    layout: Layout
    candidates: tuple[Predictor, ...]
    design: Design
    swept: SweptColumns
    fit: StratumFit | None
    adjusting: StratumFit | None
    curvature: tuple[Curvature, ...]
    entangled: Mapping[str, Entanglement]
    aliased: Mapping[str, tuple[str, ...]]
    unadjusted: tuple[str, ...]
    lacking: int
    left_out: tuple[tuple[str, str], ...]
    regrouped: Callable[[StratumFit], StratumFit] | None = None

    @property
    def undecidable(self) -> frozenset[str]:
        """Columns whose effect no data of this shape can give."""
        return frozenset(self.aliased).union(*self.aliased.values())

    @property
    def decided(self) -> tuple[Predictor, ...]:
        """Predictors with an effect of their own."""
        if self.fit is None:
            return ()
        return tuple(each for each in self.fit.predictors if each.column not in self.undecidable)

    def predictor(self, column: str) -> Predictor:
        """Return a candidate by its column.

        Parameters
        ----------
        column : str
            Canonical name.

        Returns
        -------
        Predictor
        """
        return next(each for each in self.candidates if each.column == column)

    def refitted(
        self, predictors: Sequence[Predictor], *, curved: frozenset[str] = frozenset()
    ) -> StratumFit:
        """Return the fit of the same rows with other predictors.

        Parameters
        ----------
        predictors : sequence of Predictor
            What explains.
        curved : frozenset of str
            Columns that enter with their square.

        Returns
        -------
        StratumFit
        """
        design = narrowed(self.design, predictors, curved)
        if self.stratum == BETWEEN:
            fit = fit_between(self.layout, design, predictors, self.adjusting)
        else:
            fit = fit_inside(self.layout, design, predictors)
        return fit if self.regrouped is None else self.regrouped(fit)


def judge_strata(prepared: Prepared) -> tuple[Judged, ...]:
    """Return the verdicts of every stratum that has something to judge.

    Parameters
    ----------
    prepared : Prepared
        Complete rows with at least one column that varies.

    Returns
    -------
    tuple of Judged
        Shots first, then session means where a column is constant in every session.
    """
    layout = laid_out(prepared)
    inside = judge_inside(layout)
    return (inside, judge_between(layout, inside)) if layout.between else (inside,)


def judge_inside(layout: Layout) -> Judged:
    """Return the verdicts on columns that vary from shot to shot.

    Parameters
    ----------
    layout : Layout
        Rows and sessions.

    Returns
    -------
    Judged
    """
    return _judged(layout, layout.frame, layout.inside, layout.stratum, None)


def judge_between(layout: Layout, inside: Judged) -> Judged:
    """Return the verdicts on columns that are constant in every session.

    Parameters
    ----------
    layout : Layout
        Rows and sessions.
    inside : Judged
        Whose fit adjusts the session means.

    Returns
    -------
    Judged
    """
    return _judged(layout, layout.sessions, layout.between, BETWEEN, inside.fit)


def _judged(
    layout: Layout,
    rows: pd.DataFrame,
    candidates: Sequence[Predictor],
    stratum: str,
    adjusting: StratumFit | None,
) -> Judged:
    blocked = layout.blocked and stratum != BETWEEN
    codes = layout.codes if blocked else np.zeros(len(rows), dtype=int)
    swept = sweep(rows, candidates, codes)
    afforded = affordable(candidates, df=swept.df, stratum=stratum)
    unadjusted = tuple(each.column for each in afforded.dropped)
    affordable_columns = [each.column for each in afforded.kept]
    kept, aliased = separable(swept, affordable_columns)
    if afforded.lacking:
        kept = ()
        aliased = (
            lone_aliases(swept, [each.column for each in candidates]) if stratum == BETWEEN else {}
        )
    scarce = _unaffordable(candidates, unadjusted, afforded.lacking, stratum)
    bare = Judged(
        stratum=stratum,
        layout=layout,
        candidates=tuple(candidates),
        design=stratum_design(rows, candidates),
        swept=swept,
        fit=None,
        adjusting=adjusting,
        curvature=(),
        entangled=entanglements(swept, kept),
        aliased=aliased,
        unadjusted=unadjusted,
        lacking=afforded.lacking,
        left_out=(*_aliases(aliased), *scarce),
    )
    fittable = not afforded.lacking and (bool(kept) or (blocked and swept.df > 0))
    used = [each for each in candidates if each.column in kept]
    return _with_fit(bare, used) if fittable else bare


def _with_fit(bare: Judged, predictors: Sequence[Predictor]) -> Judged:
    if not _differs(bare):
        why = f"the response does not differ {bare.stratum}"
        alike = tuple((each.column, why) for each in predictors)
        return replace(bare, left_out=(*bare.left_out, *alike))
    straight = bare.refitted(predictors)
    found, tried = bend(
        straight,
        lambda curved: bare.refitted(predictors, curved=curved),
        undecidable=bare.undecidable,
    )
    return replace(bare, fit=found, curvature=tried)


def _differs(judged: Judged) -> bool:
    """Return whether the response differs at all in a stratum, rounding aside."""
    layout = judged.layout
    if judged.stratum != BETWEEN:
        return not layout.blocked or bool(layout.deviation("response").any())
    means = adjusted_means(layout, judged.adjusting)
    return bool(np.ptp(means) > ALIKE * np.abs(means).max())


def _aliases(aliased: Mapping[str, tuple[str, ...]]) -> list[tuple[str, str]]:
    """Return every column of a dependence with the others of it as the reason."""
    entries: dict[str, str] = {}
    for column, partners in aliased.items():
        group = (column, *partners)
        for name in group:
            others = [column_label(other) for other in group if other != name]
            entries.setdefault(name, f"cannot be told apart from {listing(others)}")
    return list(entries.items())


def _unaffordable(
    candidates: Sequence[Predictor], unadjusted: Sequence[str], lacking: int, stratum: str
) -> list[tuple[str, str]]:
    noun = "session" if stratum == BETWEEN else "shot"
    entries = [(column, f"not allowed for: too few {noun}s") for column in unadjusted]
    if lacking:
        why = _lacking(lacking, stratum)
        entries += [(each.column, why) for each in candidates if each.column not in unadjusted]
    return entries


def _lacking(lacking: int, stratum: str) -> str:
    if stratum == BETWEEN:
        more = count(lacking, "more session")
        return f"never changed within a session; {more} needed, or a change inside one"
    return f"{count(lacking, 'more comparable shot')} needed, at settings already tried"


def unadjusted_for(judged: Judged, setting: str) -> tuple[tuple[str, float], ...]:
    """Return the adjusters that had to go, each with the inflation it would have caused.

    Parameters
    ----------
    judged : Judged
        One stratum.
    setting : str
        Column of a setting.

    Returns
    -------
    tuple of pairs of str and float
        Variance inflation of the setting beside the adjuster alone; infinite where one
        follows from the other.
    """
    return tuple(
        (column, judged.swept.inflation(setting, [column])) for column in judged.unadjusted
    )
