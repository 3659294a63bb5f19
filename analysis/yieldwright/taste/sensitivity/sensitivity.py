"""What would have to be true for an answer to be wrong: the answer without this or that."""

from __future__ import annotations

from dataclasses import dataclass, field
from math import isnan
from typing import TYPE_CHECKING, ClassVar

import pandas as pd

from yieldwright.formatting import count, listing, sentence_case, signed
from yieldwright.results import Result
from yieldwright.taste.sensitivity.hanging import cautions_of_parts
from yieldwright.taste.sensitivity.leaving_out import (
    ADJUSTERS,
    BY_SESSION,
    LINES,
    SESSION,
    tried_again,
)
from yieldwright.taste.sensitivity.verdicts import SILENT, UNCLEAR, Verdicts
from yieldwright.taste.words.wording import column_label, signed_span

if TYPE_CHECKING:
    from collections.abc import Hashable, Iterable, Iterator, Mapping, Sequence
    from typing import Any

    from yieldwright.taste.findings import Findings
    from yieldwright.taste.sensitivity.leaving_out import Again

__all__ = ["SENSITIVITY_COLUMNS", "Sensitivity", "sensitivity"]

#: Columns of the table of what was tried.
SENSITIVITY_COLUMNS = (
    "term",
    "step",
    "stratum",
    "change",
    "name",
    "n_shots",
    "estimate",
    "std_error",
    "df",
    "ci_low",
    "ci_high",
    "share",
    "p_apart",
    "verdict",
    "verdict_changes",
)

#: Sessions or shots that are named one by one.
NAMED = 3

#: How another analysis begins a sentence.
_UNDER = {
    BY_SESSION: "with errors that may go together within a session",
    ADJUSTERS: "with {} not allowed for",
    LINES: "with straight lines instead of curves",
}


@dataclass(frozen=True, kw_only=True, eq=False, repr=False)
class Sensitivity(Result):
    """Every effect of a setting again without a session, a shot, or under another analysis.

    Attributes
    ----------
    response : str
        Column explained.
    table : DataFrame
        One row per practical step of a setting and per change: what was changed (`change`,
        with the `name` of the session or shot left out), shots left, the effect with its
        95 % interval, which `share` of what is known of it was left out, whether that says
        something else than the rest (`p_apart`), the `verdict` (a direction, unclear,
        cannot tell) and whether it is another than that of the fit (`verdict_changes`).
    shown : tuple of int
        Rows a reader is shown: the fit, the session and the shot that matter most, and
        every other analysis.
    """

    drawing: ClassVar[str] = "sensitivity_lanes"

    response: str
    table: pd.DataFrame = field(default_factory=lambda: pd.DataFrame(columns=SENSITIVITY_COLUMNS))
    shown: tuple[int, ...] = ()

    @property
    def title(self) -> str:
        """What was asked."""
        return f"What would have to be true for this to be wrong ({column_label(self.response)})?"

    def to_frame(self) -> pd.DataFrame:
        """Return everything that was tried at full precision."""
        return self.table

    def display_frame(self) -> pd.DataFrame:
        """Return what matters of it as text.

        Returns
        -------
        DataFrame
            One row per effect as fitted, without the session and the shot that matter
            most to it, and under each other analysis.
        """
        rows = self.table.iloc[list(self.shown)].to_dict("records")
        return pd.DataFrame([_shown(row) for row in rows])


def sensitivity(findings: Findings) -> Sensitivity | None:
    """Return what the verdicts on settings hang on.

    Parameters
    ----------
    findings : Findings
        One question and its verdicts.

    Returns
    -------
    Sensitivity or None
        None where no setting has an effect.

    Notes
    -----
    A verdict is a direction where the 95 % interval lies on one side of zero. Leaving shots
    out costs precision, too, so that a verdict that was close is expected to change: that
    is what hanging on few shots means. Errors by session are those of Bell and McCaffrey,
    with degrees of freedom of their own. An effect that cannot be told from another column
    is in the table but not spoken of.
    """
    tried = tried_again(findings)
    if not tried:
        return None
    verdicts = [Verdicts(each, findings.words, len(tried)) for each in tried]
    spoken = [each for each in verdicts if each.may_be_told]
    records = [record for each in verdicts for record in each.records()]
    return Sensitivity(
        response=findings.question.response,
        n_shots=len(findings.inside.layout.frame),
        table=pd.DataFrame(records, columns=[*SENSITIVITY_COLUMNS, "shown"])[
            list(SENSITIVITY_COLUMNS)
        ],
        shown=tuple(place for place, record in enumerate(records) if record["shown"]),
        sentences=tuple(_sentences(spoken)),
        cautions=tuple(cautions_of_parts(spoken)),
    )


def _sentences(verdicts: Sequence[Verdicts]) -> Iterator[str]:
    clear = [each for each in verdicts if each.is_clear]
    if verdicts and not clear:
        yield "No setting shows a clear effect, so there is no verdict to overturn."
    for each in clear:
        yield from _about_leaving(each)
    for each in verdicts:
        if not each.is_clear:
            yield from _about_chance(each)
    for each in clear:
        yield from (_without(each, again) for again in each.moved(each.tried.analyses))
    yield from _about_analyses(clear)


def _about_leaving(each: Verdicts) -> Iterator[str]:
    """Yield what a clear effect becomes without a session, and without a shot."""
    sessions, shots = each.moved(each.tried.sessions), each.moved(each.tried.shots)
    if sessions:
        yield _without(each, sessions[0]) + _same(each.tried.sessions, sessions[1:])
    if shots and not (sessions and each.verdict(sessions[0]) == SILENT):
        yield _without(each, shots[0]) + _same(each.tried.shots, shots[1:])
    if not sessions and each.tried.sessions:
        all_shots = len(each.tried.shots) > 1 and not shots
        also = ", and no single shot does" if all_shots else ""
        yield _no_single(each, "session", each.tried.sessions, also)
    elif not each.tried.sessions and len(each.tried.shots) > 1 and not shots:
        yield _no_single(each, "shot", each.tried.shots, "")


def _same(found: Sequence[Again], others: Sequence[Again]) -> str:
    """Return which others leave it unclear as well, in the order of the log."""
    names = [again.name for again in found if again in others]
    if not names:
        return ""
    change = others[0].change
    if len(names) > NAMED:
        noun = "sessions" if change == SESSION else "shots"
        return f" So it is without any of {len(names)} other {noun}."
    return f" So it is {change} {listing(names, last='or')}."


def _no_single(each: Verdicts, noun: str, found: Sequence[Again], also: str) -> str:
    estimates = [again.estimate for again in found]
    span = each.words.span(min(estimates), max(estimates))
    return (
        f"No single {noun} carries the effect of {each.clause}{also}: with any one of "
        f"{count(len(found), noun)} left out it is {span}, and stays clear."
    )


def _without(each: Verdicts, again: Again) -> str:
    """Return what becomes of an effect after one change."""
    head = _under([each], again.change) or f"{again.change} {again.name}"
    noun = each.words.noun
    if each.verdict(again) == SILENT:
        shots = count(again.n_shots, "shot")
        what = "say nothing of" if isnan(again.estimate) else "are too few for an interval of"
        return sentence_case(
            f"{head} the {shots} left {what} the effect of {each.clause} on the {noun}."
        )
    amount = each.words.amount(again.estimate, (again.high - again.low) / 2)
    span = each.words.span(again.low, again.high)
    fate = "is no longer clear" if each.verdict(again) == UNCLEAR else "turns round"
    return sentence_case(
        f"{head} the effect of {each.clause} on the {noun} {fate}: {amount} (95 % interval "
        f"{span}, {count(again.n_shots, 'shot')})."
    )


def _under(verdicts: Iterable[Verdicts], change: str) -> str:
    """Return how another analysis begins a sentence; nothing for what was left out."""
    fits = [each.tried.judged.fit for each in verdicts]
    adjusters = [p.column for fit in fits if fit for p in fit.predictors if p.kind == "adjuster"]
    names = listing([column_label(column) for column in dict.fromkeys(adjusters)], last="or")
    return _UNDER.get(change, "").format(names)


def _about_chance(each: Verdicts) -> Iterator[str]:
    """Yield that an unclear effect would look clear without a session."""
    names = [
        again.name
        for again in each.tried.sessions
        if each.changes(again) and each.verdict(again) != SILENT
    ]
    if names:
        yield (
            f"The effect of {each.clause} would look clear without session "
            f"{listing(names, last='or')}: chosen after looking, so no finding; look up what was "
            "different that day."
        )


def _about_analyses(clear: Sequence[Verdicts]) -> Iterator[str]:
    """Yield which other analyses change no verdict that is clear."""
    tried = [(each, again) for each in clear for again in each.tried.analyses]
    turned = {again.change for each, again in tried if each.changes(again)}
    kept = [
        change
        for change in _UNDER
        if change not in turned and any(again.change == change for _, again in tried)
    ]
    if kept:
        heads = listing([_under(clear, change) for change in kept], last="or")
        yield sentence_case(f"{heads}, every clear effect keeps its direction and stays clear.")


def _shown(row: Mapping[Hashable, Any]) -> dict[str, str]:
    """Return one row as text."""
    low, high = row["ci_low"], row["ci_high"]
    silent = row["verdict"] == SILENT
    arrow = "→ " if row["verdict_changes"] else ""
    return {
        "One step": row["step"],
        "Change": f"{row['change'].replace(SESSION, 'without')} {row['name']}".strip(),
        "Effect": "" if silent else signed(row["estimate"], (high - low) / 2),
        "95 % interval": "" if silent else signed_span(low, high),
        "Verdict": f"{arrow}{row['verdict']}",
    }
