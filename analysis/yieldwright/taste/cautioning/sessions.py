"""How the shots fall into sessions, and how few of either there are."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from yieldwright.cautions import Caution, Severity
from yieldwright.formatting import count, listing, sentence_case
from yieldwright.taste.strata.strata import BETWEEN, POOLED
from yieldwright.taste.words.wording import column_label

if TYPE_CHECKING:
    from collections.abc import Iterator

    from yieldwright.taste.cautioning.fitted import FittedShots

__all__ = ["about_sessions"]

#: Below so many shots every interval is wide and rests on normal errors.
FEW_SHOTS = 12

#: Below so many sessions a setting kept for a whole session is judged on little.
FEW_SESSIONS = 8

#: Days from the first to the last shot that no session has; one may run past midnight.
TOO_LONG_D = 2


def about_sessions(fitted: FittedShots) -> Iterator[Caution]:
    """Yield cautions on the number of shots and sessions, and on what changed between them.

    Parameters
    ----------
    fitted : FittedShots
        Shots of a fit.

    Yields
    ------
    Caution
    """
    yield from _few_shots(fitted)
    yield from _several_days(fitted)
    yield from _set_once(fitted)
    yield from _number(fitted)


def _few_shots(fitted: FittedShots) -> Iterator[Caution]:
    n_shots = len(fitted.frame)
    if n_shots < FEW_SHOTS:
        yield Caution(
            "few-shots",
            "care",
            f"Only {count(n_shots, 'shot')}: intervals are wide and lean on normal errors.",
            "Pull more shots at settings already tried.",
        )


def _number(fitted: FittedShots) -> Iterator[Caution]:
    layout = fitted.findings.inside.layout
    n_shots, n_sessions = len(layout.frame), layout.n_sessions
    if layout.stratum == POOLED:
        yield Caution(
            "one-shot-sessions",
            "care",
            f"{count(n_shots, 'shot')} in {count(n_sessions, 'session')}: with about one "
            "shot a session, differences between days cannot be told from differences between "
            "shots.",
            "Pull at least two settings in each session.",
        )
    elif n_sessions == 1:
        yield Caution(
            "one-session",
            "note",
            "All shots are of one session: what holds on that day may not hold on another.",
            "Repeat one comparison on another day.",
        )


def _set_once(fitted: FittedShots) -> Iterator[Caution]:
    """Yield where settings were kept for whole sessions."""
    for judged in fitted.findings.judged:
        columns = tuple(
            each.column
            for each in judged.candidates
            if judged.stratum == BETWEEN and each.kind == "setting"
        )
        if not columns:
            continue
        sessions, n_shots = judged.layout.n_sessions, len(judged.layout.frame)
        decided = {each.column for each in judged.decided}
        severity: Severity = "note" if sessions >= FEW_SESSIONS else "care"
        severity = severity if decided.issuperset(columns) else "stop"
        counted = f"it counts as {count(sessions, 'session')}, not as {count(n_shots, 'shot')}"
        verdict = counted if severity != "stop" else "the log cannot tell it from the day"
        labels = [column_label(column) for column in columns]
        yield Caution(
            "set-once-a-session",
            severity,
            f"{sentence_case(listing(labels))} never changed inside a session: {verdict}.",
            f"Change {listing(labels)} inside sessions.",
            columns,
        )


def _several_days(fitted: FittedShots) -> Iterator[Caution]:
    """Yield where shots days apart bear the name of one session."""
    shots = fitted.shots
    if "pulled_on" in shots and shots["pulled_on"].notna().all():
        days = shots["pulled_on"].to_numpy(dtype="datetime64[D]").astype(float)
    elif "roast_age_d" in shots and shots["roast_age_d"].notna().all():
        days = shots["roast_age_d"].to_numpy(dtype=float)
    else:
        return
    codes = fitted.findings.inside.layout.codes
    first, last = np.full(codes.max() + 1, np.inf), np.full(codes.max() + 1, -np.inf)
    np.minimum.at(first, codes, days)
    np.maximum.at(last, codes, days)
    long = np.flatnonzero(last - first >= TOO_LONG_D)
    if len(long):
        n_days = len(np.unique(days[codes == long[0]]))
        yield Caution(
            "session-of-days",
            "care",
            f"{count(len(long), 'session')} {'holds' if len(long) == 1 else 'hold'} shots of "
            f"several days ({n_days} in the first): what differs from day to day looks like the "
            "settings.",
            "Give each day a session of its own.",
            ("session",),
        )
