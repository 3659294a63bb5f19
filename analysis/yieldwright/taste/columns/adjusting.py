"""Which conditions of the bench a fit allows for when nobody says, and why not the others."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from yieldwright.formatting import count
from yieldwright.taste.columns.covariates import readable
from yieldwright.taste.columns.predictors import Predictor, Prepared, Question, prepare
from yieldwright.taste.columns.sufficiency import COMFORTABLE_DF, GOES_FIRST, LEAST_SESSION_DF
from yieldwright.taste.confounding.confounding import sweep
from yieldwright.taste.strata.strata import Layout, laid_out
from yieldwright.taste.words.wording import column_label

if TYPE_CHECKING:
    from collections.abc import Sequence

    from yieldwright.bench import Bench
    from yieldwright.taste.columns.comparable import ComparableSet

__all__ = [
    "ALWAYS",
    "CONDITIONS",
    "UNASKED",
    "Adjusting",
    "adjusters_for",
    "harmless",
]

#: Allowed for wherever they are logged, and named where they are not.
ALWAYS = ("roast_age_d", "dose_g", "position")

#: Settings that are allowed for before all else where they differ and nobody asked about
#: them, each with the columns that ask about the same thing in other words.
UNASKED = {
    "grind_setting": (),
    "temp_band": ("temp_c",),
    "taper_bar": ("hold_bar", "peak_bar", "end_bar", "taper_start_s"),
}

#: Allowed for where they were logged, differ, and can be afforded; the weightiest first.
CONDITIONS = tuple(
    column
    for column in reversed(GOES_FIRST)
    if column not in (*ALWAYS, *UNASKED, "frozen_d", "retained_g", "purged_g", "humidity_pct")
)

#: Rows beyond blocks and settings that each column of an adjuster needs: on fewer, what it
#: explains is worth less than the width it adds to every interval.
ROWS_EACH = 5

#: Degrees of freedom that session means keep before they are adjusted for one condition
#: more: with 2, intervals of a band of whole sessions covered 93 % in 2,500 simulated logs
#: of 6 sessions with conditions allowed for, and 94.5 % in 1,000 without.
LEAST_MEANS_DF = 4

#: Shots on either side of a service before it can be allowed for.
LEAST_SHOTS_A_SIDE = 4

#: Reason where whatever a condition did is taken off with the sessions.
HARMLESS = "the same within each session, and sessions are allowed for"

#: Reason where no condition more can be borne.
TOO_FEW = "not allowed for: too few shots"


@dataclass(frozen=True, slots=True)
class Adjusting:
    """What a fit allows for, and what it might have.

    Attributes
    ----------
    columns : tuple of str
        Adjusters, the weightiest first.
    declined : tuple of pairs of str
        Conditions that differ among the shots and are not allowed for, with reasons.
    prepared : Prepared or None
        The rows with these adjusters, where they were looked at.
    """

    columns: tuple[str, ...]
    declined: tuple[tuple[str, str], ...] = ()
    prepared: Prepared | None = field(default=None, compare=False, repr=False)


def adjusters_for(
    comparable: ComparableSet, response: str, *, bench: Bench, settings: Sequence[str]
) -> Adjusting:
    """Return the conditions of the bench that a fit should allow for.

    Parameters
    ----------
    comparable : ComparableSet
        Shots of one grinder.
    response : str
        Column explained.
    bench : Bench
        Whose grinder step, bands and scales to use.
    settings : sequence of str
        Columns asked about.

    Returns
    -------
    Adjusting
        Settings that differ and were not asked about; roast age, dose and position always;
        then gap since the last shot, service, barista and so on where they were logged and
        differ.

    Notes
    -----
    Which conditions enter depends on how the log is laid out and never on its outcomes,
    so intervals keep their coverage. A condition stays out, with its reason, where it
    would cost shots, where it is constant in every session and so is every setting of its
    own stratum, where it follows from what is allowed for already, where columns of
    adjusters would number more than a fifth of the rows left beside blocks and settings,
    and where settings of whole sessions leave session means fewer than 4 degrees of freedom.
    A setting that nobody asked about needs no more rows than one that was asked about,
    since what it did would pass for the effect of another.

    Examples
    --------
    >>> import pandas as pd
    >>> from yieldwright.bench import Bench
    >>> from yieldwright.taste.columns.comparable import ComparableSet
    >>> shots = pd.DataFrame({"ey_pct": [19.0, 20.0], "grind_setting": [8.0, 9.0]})
    >>> shots["barista"] = ["p1", "p2"]
    >>> found = adjusters_for(
    ...     ComparableSet("", "", shots), "ey_pct", bench=Bench(), settings=["grind_setting"]
    ... )
    >>> found.columns
    ('roast_age_d', 'dose_g', 'position')
    >>> found.declined
    (('barista', 'not allowed for: too few shots'),)
    """
    plain = Question(response, bench, tuple(settings), ())
    unasked = _unasked(comparable, settings)
    first = _joined(comparable, plain, unasked) if unasked else Adjusting(())
    always = tuple(column for column in ALWAYS if column not in settings)
    question = replace(plain, adjusters=(*first.columns, *always))
    others = (name for name in CONDITIONS if name not in settings and _differs(comparable, name))
    found = _joined(comparable, question, tuple(others))
    return replace(found, declined=(*first.declined, *found.declined))


def harmless(reason: str) -> bool:
    """Return whether a condition that is not allowed for cannot pass for an effect.

    Parameters
    ----------
    reason : str
        Why it is not.

    Returns
    -------
    bool

    Examples
    --------
    >>> harmless(HARMLESS), harmless(TOO_FEW)
    (True, False)
    """
    return reason == HARMLESS


def _unasked(comparable: ComparableSet, settings: Sequence[str]) -> tuple[str, ...]:
    """Return the settings that differ and were not asked about, in other words either."""
    return tuple(
        column
        for column, likewise in UNASKED.items()
        if not {column, *likewise} & set(settings) and _differs(comparable, column)
    )


def _joined(comparable: ComparableSet, question: Question, columns: Sequence[str]) -> Adjusting:
    """Return a question's adjusters and those of some columns that it can bear beside them."""
    prepared = prepare(comparable, question)
    declined: list[tuple[str, str]] = []
    for column in columns:
        if column not in UNASKED and _is_full(prepared):
            declined.append((column, TOO_FEW))  # preparing rows again is most of the work
            continue
        wider = replace(question, adjusters=(*question.adjusters, column))
        after = prepare(comparable, wider)
        why = _objection(prepared, after, column)
        if why:
            declined.append((column, why))
        else:
            question, prepared = wider, after
    return Adjusting(question.adjusters, tuple(declined), prepared)


def _differs(comparable: ComparableSet, column: str) -> bool:
    if column not in comparable.shots:
        return False
    read = set(readable(comparable.shots, column).tolist())
    return len([value for value in read if not pd.isna(value)]) > 1


def _objection(before: Prepared, after: Prepared, column: str) -> str:
    """Return why a condition should not be allowed for, empty where it should."""
    reason = dict(after.left_out).get(column, "")
    lost = len(before.frame) - len(after.frame)
    if lost and not reason:
        reason = f"it would cost {count(lost, 'shot')} without it or alone at a level"
    if column == "service_stretch" and not reason:
        reason = _thin_side(after)
    return reason or _objection_of_layout(before, after, column)


def _thin_side(prepared: Prepared) -> str:
    """Return that too few shots lie on one side of a service, empty where enough do."""
    sizes = prepared.frame["service_stretch"].value_counts()
    if sizes.min() >= LEAST_SHOTS_A_SIDE:
        return ""
    shots = count(int(sizes.min()), "shot")
    return f"only {shots} {sizes.idxmin()}; {LEAST_SHOTS_A_SIDE} on each side are needed"


def _objection_of_layout(before: Prepared, after: Prepared, column: str) -> str:
    layout = laid_out(after)
    if before.predictors and len(layout.frame) < len(laid_out(before).frame):
        return "its levels never stood in one session"
    inside = any(each.column == column for each in layout.inside)
    stratum = layout.inside if inside else layout.between
    if not inside and all(each.kind == "adjuster" for each in stratum):
        return HARMLESS
    if inside and column not in UNASKED and _few_means(layout):
        return "not allowed for: too few sessions to adjust their means for it"
    lacks_rows = _unbearable if column in UNASKED else _unaffordable
    return lacks_rows(layout, stratum, inside=inside) or _alias(
        layout, stratum, column, inside=inside
    )


def _few_means(layout: Layout) -> bool:
    """Return whether settings are judged on session means that hardly bear an adjustment."""
    if all(each.kind == "adjuster" for each in layout.between):
        return False
    taken = sum(each.width for each in layout.between)
    return layout.n_sessions - 1 - taken < LEAST_MEANS_DF


def _is_full(prepared: Prepared) -> bool:
    """Return whether no stratum could bear one adjuster more."""
    if not prepared.predictors:
        return True
    layout = laid_out(prepared)
    one_more = Predictor("position", "adjuster")
    return all(
        bool(_unaffordable(layout, (*stratum, one_more), inside=inside))
        for stratum, inside in ((layout.inside, True), (layout.between, False))
    )


def _unaffordable(layout: Layout, stratum: Sequence[Predictor], *, inside: bool) -> str:
    """Return that rows are too few for one adjuster more, empty where they suffice."""
    spare = _spare(layout, stratum, inside=inside)
    allowed = sum(each.width for each in stratum if not _is_set(each))
    return "" if ROWS_EACH * allowed <= spare else _too_few(inside=inside)


def _unbearable(layout: Layout, stratum: Sequence[Predictor], *, inside: bool) -> str:
    """Return that rows are too few for one setting more, empty where they suffice."""
    least = COMFORTABLE_DF if inside else LEAST_SESSION_DF
    return "" if _spare(layout, stratum, inside=inside) >= least else _too_few(inside=inside)


def _spare(layout: Layout, stratum: Sequence[Predictor], *, inside: bool) -> int:
    """Return the rows beyond blocks and settings, those included that nobody asked about."""
    rows = len(layout.frame) if inside else layout.n_sessions
    blocks = layout.n_sessions if inside and layout.blocked else 1
    return rows - blocks - sum(each.width for each in stratum if _is_set(each))


def _is_set(predictor: Predictor) -> bool:
    return predictor.kind == "setting" or predictor.column in UNASKED


def _too_few(*, inside: bool) -> str:
    return f"not allowed for: too few {'shots' if inside else 'sessions'}"


def _alias(layout: Layout, stratum: Sequence[Predictor], column: str, *, inside: bool) -> str:
    """Return that a condition follows from the other adjusters, empty where it does not."""
    rows = layout.frame if inside else layout.sessions
    codes = layout.codes if inside and layout.blocked else np.zeros(len(rows), dtype=int)
    others = [each for each in stratum if each.kind == "adjuster"]
    swept = sweep(rows, others, codes)
    beside = [each.column for each in others if each.column != column]
    if np.isfinite(swept.inflation(column, beside)):
        return ""
    named = [name for name in beside if not np.isfinite(swept.inflation(column, [name]))]
    labels = [column_label(name) for name in named or beside]
    return f"follows from {labels[0]}" if len(labels) == 1 else "follows from what is allowed for"
