"""What the record leaves open: an undescribed grinder, failures, the start of the clock."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from yieldwright.cautions import Caution
from yieldwright.formatting import count

if TYPE_CHECKING:
    from collections.abc import Iterator

    from yieldwright.taste.cautioning.fitted import FittedShots

__all__ = ["about_records"]

#: Share of shots that fail on a careful bench, taken from the outlier shots, 15–25 % of the
#: time, that one careful series reported; the lower end.
FAIL = 0.15

#: Chance of no failure among so many shots below which it is worth a word.
UNLIKELY = 0.05


def about_records(fitted: FittedShots) -> Iterator[Caution]:
    """Yield cautions on what was not written down.

    Parameters
    ----------
    fitted : FittedShots
        Shots of a fit.

    Yields
    ------
    Caution
    """
    yield from _timing(fitted)
    yield from _failures(fitted)
    yield from _grinder(fitted)


def _timing(fitted: FittedShots) -> Iterator[Caution]:
    """Yield where times from several starts stand in one log; the fit keeps the usual one."""
    reason = "timed from another start"
    dropped = fitted.findings.prepared.dropped
    lost = sum(each.count for each in dropped if each.reason.startswith(reason))
    if lost:
        yield Caution(
            "mixed-timing",
            "care",
            f"{count(lost, 'shot')} timed from another start than the rest, or from one not "
            "stated, were left out: times from two starts are no difference in flow.",
            "Start the clock at the same moment always, and log which.",
            ("time_from",),
        )


def _failures(fitted: FittedShots) -> Iterator[Caution]:
    comparable = fitted.findings.comparable
    if "fate" not in comparable.shots:
        return
    failed = sum(each.count for each in comparable.excluded if each.reason == "not pulled")
    n_shots = len(comparable.shots)
    if not failed and n_shots > math.log(UNLIKELY) / math.log(1 - FAIL):
        yield Caution(
            "no-failures",
            "note",
            f"None of {n_shots} shots failed: if failed ones were not logged, settings that "
            "fail often look better, and shots steadier, than they are.",
            "Log every shot with its fate.",
            ("fate",),
        )


def _grinder(fitted: FittedShots) -> Iterator[Caution]:
    findings = fitted.findings
    columns = {each.column for each in findings.prepared.predictors}
    grinder = findings.question.bench.grinder(findings.comparable.grinder)
    if "grind_setting" in columns and not grinder.stated:
        yield Caution(
            "assumed-grinder",
            "note",
            "The bench does not describe this grinder: one setting is taken as 1, and larger "
            "numbers as coarser.",
            "State its step and direction in the bench file.",
            ("grind_setting",),
        )
