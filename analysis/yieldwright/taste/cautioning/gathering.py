"""All checks of a fit, the gravest finding first."""

from __future__ import annotations

from typing import TYPE_CHECKING

from yieldwright.cautions import Caution, Severity, gravest_first
from yieldwright.taste.cautioning.adjusters import about_adjusters
from yieldwright.taste.cautioning.combinations import about_combinations
from yieldwright.taste.cautioning.conditions import about_conditions
from yieldwright.taste.cautioning.copies import about_copies
from yieldwright.taste.cautioning.fitted import FittedShots
from yieldwright.taste.cautioning.order import about_order
from yieldwright.taste.cautioning.purging import about_purging
from yieldwright.taste.cautioning.records import about_records
from yieldwright.taste.cautioning.repeats import about_repeats
from yieldwright.taste.cautioning.scores import about_scores
from yieldwright.taste.cautioning.sessions import about_sessions
from yieldwright.taste.cautioning.support import about_support

if TYPE_CHECKING:
    from collections.abc import Iterable

    from yieldwright.taste.effects_fit import EntangledPair
    from yieldwright.taste.findings import Findings

__all__ = ["cautions_of"]

#: The checks, in the order that their findings are told where they are equally grave.
CHECKS = (
    about_copies,
    about_sessions,
    about_conditions,
    about_order,
    about_purging,
    about_adjusters,
    about_support,
    about_repeats,
    about_combinations,
    about_scores,
    about_records,
)


def cautions_of(findings: Findings, pairs: Iterable[EntangledPair]) -> tuple[Caution, ...]:
    """Return all cautions of a fit, the gravest first.

    Parameters
    ----------
    findings : Findings
        Verdicts of each stratum.
    pairs : iterable of EntangledPair
        What cannot be told apart.

    Returns
    -------
    tuple of Caution
    """
    pairs = tuple(pairs)
    fitted = FittedShots(findings, pairs)
    found = (caution for check in CHECKS for caution in check(fitted))
    return gravest_first((*(_entangled(pair) for pair in pairs), *found))


def _entangled(pair: EntangledPair) -> Caution:
    severity: Severity = "stop" if pair.forbids_verdict else "care"
    about = (pair.first, pair.second)
    return Caution("settings-entangled", severity, pair.sentence, pair.remedy, about)
