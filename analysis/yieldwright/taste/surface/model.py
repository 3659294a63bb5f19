"""A response surface of two or three settings: which a log can bear, and its fit."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING

import numpy as np

from yieldwright.errors import AliasedColumnsError
from yieldwright.formatting import count, listing
from yieldwright.models.surface.fit import (
    LEAST_VALUES,
    MOST_NUMBERS,
    response_surface,
    surface_terms,
)
from yieldwright.models.terms.design import build_design
from yieldwright.models.terms.terms import Numeric
from yieldwright.taste.columns.roles import require_predictors
from yieldwright.taste.columns.sufficiency import GOES_FIRST
from yieldwright.taste.strata.stratum_fits import fit_inside
from yieldwright.taste.surface.answer import answered, refused
from yieldwright.taste.surface.repeats import shots_to_pull
from yieldwright.taste.surface.result import SurfaceFit
from yieldwright.taste.words.wording import column_label

if TYPE_CHECKING:
    from collections.abc import Collection, Sequence

    from yieldwright.models.surface.model import Surface
    from yieldwright.taste.columns.predictors import Predictor
    from yieldwright.taste.findings import Findings

__all__ = ["LEAST_DF", "SurfaceFit", "fit_surface"]

#: Residual degrees of freedom below which a surface is refused: the region of its turning
#: point rests on F with as many, whose quantile grows without bound as they go.
LEAST_DF = 6


@dataclass(frozen=True)
class _Attempt:
    """Settings tried together, the surface where there is one, else what stands in the way."""

    settings: tuple[str, ...]
    surface: Surface | None = None
    unadjusted: tuple[str, ...] = ()
    reason: str = ""
    left_out: dict[str, str] = field(default_factory=dict)


def fit_surface(findings: Findings, settings: Sequence[str] = ()) -> SurfaceFit:
    """Fit a second-order surface in two or three settings, or say which shots it lacks.

    Parameters
    ----------
    findings : Findings
        The verdicts of each stratum.
    settings : sequence of str
        Two or three numeric settings; by default the first three of the question that
        were pulled at three values or more.

    Returns
    -------
    SurfaceFit
        With `missing` and the shots that would help where there is no surface.

    Raises
    ------
    RoleError
        If a column asked for cannot explain an outcome.
    UnknownNameError
        If the glossary has no such column.

    Notes
    -----
    What differs between sessions is removed; bag age, position and the other settings
    are allowed for as in the effects, adjusters as far as 6 degrees of freedom stay for
    the residuals. Each setting needs three different values, and enters with its square
    and its product with each other.

    The region of the turning point holds it in 95 of 100 logs, told or not. Among the
    logs that bound it inside what was tried it may hold it less often, for those are the
    lucky ones: simulated, in 94 of 100 where six logs in ten bound it, and in 87 of 100
    where one in seven does.

    Examples
    --------
    >>> import numpy as np, pandas as pd
    >>> from yieldwright.bench import Bench
    >>> from yieldwright.taste.columns.comparable import ComparableSet
    >>> from yieldwright.taste.findings import Findings
    >>> from yieldwright.taste.strata.judging import judge_strata
    >>> from yieldwright.taste.columns.predictors import Question, prepare
    >>> grind, taper = (each.ravel() for each in np.meshgrid([9.0, 10, 11], [1.0, 2, 3]))
    >>> shots = pd.DataFrame({"grind_setting": [*grind, *grind], "taper_bar": [*taper, *taper]})
    >>> noise = np.tile([0.1, -0.1, 0.0], 6)[::-1] * np.repeat([1, -1], 9)
    >>> off = (shots["grind_setting"] - 10.2) ** 2 + (shots["taper_bar"] - 1.8) ** 2
    >>> question = Question("ey_pct", Bench(), ("grind_setting", "taper_bar"), ())
    >>> log = ComparableSet("", "", shots.assign(ey_pct=20 - off + noise))
    >>> prepared = prepare(log, question)
    >>> found = fit_surface(Findings(question, log, prepared, judge_strata(prepared)))
    >>> found.kind, {name: round(value, 1) for name, value in found.stationary.items()}
    ('top', {'grind_setting': 10.2, 'taper_bar': 1.8})
    """
    require_predictors(settings)
    usable, left_out = _usable(findings, settings or _numbers_asked(findings))
    attempt = _attempted(findings, usable)
    left_out |= attempt.left_out
    if attempt.surface is not None:
        return answered(findings, attempt.surface, attempt.unadjusted, tuple(left_out.items()))
    wanted = tuple(dict.fromkeys((*attempt.settings, *settings, *_numbers_asked(findings))))
    needed = shots_to_pull(findings, wanted, left_out, spare=LEAST_DF)
    reason = attempt.reason or _too_few_settings(usable, left_out)
    return refused(findings, attempt.settings, reason, tuple(left_out.items()), needed)


def _numbers_asked(findings: Findings) -> tuple[str, ...]:
    """Return the settings of the question that are numbers wherever they were logged."""
    shots = findings.comparable.shots
    return tuple(
        column
        for column in findings.question.settings
        if column in shots and shots[column].dtype.kind in "fiu"
    )


def _usable(findings: Findings, asked: Sequence[str]) -> tuple[list[Predictor], dict[str, str]]:
    """Return the settings a surface can stand on, and why not the others."""
    inside, reasons = findings.inside, dict(findings.left_out)
    by_column = {each.column: each for each in inside.candidates}
    between = {each.column for each in inside.layout.between}
    usable: list[Predictor] = []
    left_out: dict[str, str] = {}
    for column in dict.fromkeys(asked):
        why = "never changed within a session" if column in between else ""
        if column not in by_column:
            left_out[column] = why or reasons.get(column, "not among the columns of this fit")
        elif unfit := _unfit(findings, by_column[column], reasons):
            left_out[column] = unfit
        else:
            usable.append(by_column[column])
    for surplus in usable[MOST_NUMBERS:]:
        left_out[surplus.column] = f"a surface holds at most {MOST_NUMBERS} settings"
    return usable[:MOST_NUMBERS], left_out


def _unfit(findings: Findings, predictor: Predictor, reasons: dict[str, str]) -> str:
    """Return why a column of the fit makes no axis of a surface, empty where it does."""
    inside, column = findings.inside, predictor.column
    if predictor.levels:
        return "has names for its levels, not numbers"
    values = inside.layout.frame[column].nunique()
    if values < LEAST_VALUES:
        return f"only {count(values, 'different value')} (a bend needs {LEAST_VALUES})"
    if column in inside.undecidable:
        return reasons.get(column, "cannot be told apart from other columns")
    found = inside.entangled.get(column)
    if found is not None and found.colour == "red":
        return f"can hardly be told apart from {column_label(found.partner)}"
    return ""


def _attempted(findings: Findings, usable: Sequence[Predictor]) -> _Attempt:
    """Return the surface of as many settings as the log can bear, three before two."""
    failed = _Attempt(tuple(each.column for each in usable))
    for width in range(len(usable), 1, -1):
        attempt = _try(findings, usable[:width])
        if attempt.surface is not None:
            dropped = {each.column: failed.reason for each in usable[width:]}
            return replace(attempt, left_out=dropped)
        failed = attempt
    return failed


def _try(findings: Findings, chosen: Sequence[Predictor]) -> _Attempt:
    columns = tuple(each.column for each in chosen)
    if not _differs(findings):
        return _Attempt(columns, reason="the response does not differ within sessions")
    kept, unadjusted, lacking = _afforded(findings, columns)
    if lacking:
        more = count(lacking, "more comparable shot")
        what = listing([column_label(each) for each in columns])
        return _Attempt(columns, reason=f"a surface in {what} needs {more}")
    try:
        surface = _fitted(findings, chosen, kept)
    except AliasedColumnsError as refusal:
        return _Attempt(columns, reason=_confused(refusal, columns))
    return _Attempt(columns, surface, unadjusted)


def _differs(findings: Findings) -> bool:
    layout = findings.inside.layout
    if layout.blocked:
        return bool(layout.deviation("response").any())
    return bool(np.ptp(layout.frame["response"].to_numpy(dtype=float)) > 0)


def _afforded(
    findings: Findings, columns: Collection[str]
) -> tuple[list[Predictor], tuple[str, ...], int]:
    """Return what is allowed for, what is not for want of shots, and how many still lack."""
    inside = findings.inside
    others = [each for each in _fitted_beside(findings) if each.column not in columns]
    curved = inside.fit.curved if inside.fit else frozenset()
    coefficients = len(columns) * (len(columns) + 3) // 2
    rows = len(inside.layout.frame) - (inside.layout.n_sessions if inside.layout.blocked else 1)
    dropped: list[str] = []

    def lacking() -> int:
        beside = sum(each.width + (each.column in curved) for each in others)
        return LEAST_DF - (rows - coefficients - beside)

    for column in GOES_FIRST:
        if lacking() > 0 and column in {each.column for each in others if each.kind != "setting"}:
            others = [each for each in others if each.column != column]
            dropped.append(column)
    return others, tuple(dropped), max(lacking(), 0)


def _fitted_beside(findings: Findings) -> tuple[Predictor, ...]:
    """Return the predictors of the effects' own fit, or the other settings where it failed."""
    inside = findings.inside
    if inside.fit is not None:
        return inside.fit.predictors
    return tuple(each for each in inside.candidates if each.kind == "setting")


def _fitted(
    findings: Findings, chosen: Sequence[Predictor], beside: Sequence[Predictor]
) -> Surface:
    inside, layout = findings.inside, findings.inside.layout
    curved = inside.fit.curved if inside.fit else frozenset()
    numbers = [Numeric(each.column, step=each.step) for each in chosen]
    others = [each.term(curved=each.column in curved) for each in beside]
    terms = surface_terms(layout.frame, numbers, others)
    fit = fit_inside(layout, build_design(layout.frame, terms), (*beside, *chosen)).fit
    columns = [each.column for each in chosen]
    codes = layout.codes if layout.blocked else None
    return response_surface(fit, layout.frame, columns, groups=codes)


def _confused(refusal: AliasedColumnsError, columns: Sequence[str]) -> str:
    """Return what the places pulled cannot tell apart; lines alone they can."""
    parts = [part for name in refusal.columns for part in name.split(" × ")]
    names = [column_label(each) for each in dict.fromkeys(parts or columns)]
    return f"the bends of {listing(names)} cannot be told apart by the places pulled"


def _too_few_settings(usable: Sequence[Predictor], left_out: dict[str, str]) -> str:
    found = [column_label(each.column) for each in usable]
    reasons = [f"{column_label(column)}: {why}" for column, why in left_out.items()]
    have = f"only {found[0]} has them" if found else "none has them"
    told = f" ({'; '.join(reasons)})" if reasons else ""
    return (
        f"it needs two numeric settings pulled at {LEAST_VALUES} values or more, and {have}{told}"
    )
