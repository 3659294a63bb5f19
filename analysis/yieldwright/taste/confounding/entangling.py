"""Pairs a log cannot tell apart, each with its sentence and the repeats that would help."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from yieldwright.formatting import number, sentence_case, signed
from yieldwright.taste.confounding.confounding import AMBER, RED, InflationLimits
from yieldwright.taste.confounding.separating import (
    SeparatingShot,
    age_next,
    repeats_that_separate,
)
from yieldwright.taste.effects_fit import EntangledPair
from yieldwright.taste.strata.judging import Judged, unadjusted_for
from yieldwright.taste.strata.strata import WITHIN
from yieldwright.taste.words.wording import ResponseWords, column_label

if TYPE_CHECKING:
    from collections.abc import Hashable, Iterator, Mapping

    from yieldwright.taste.columns.comparable import ComparableSet
    from yieldwright.taste.findings import Findings

__all__ = ["entangled_pairs"]

#: An adjuster that is not in the fit protects nothing: no allowance for a small log.
PLAIN = InflationLimits(AMBER, RED)


@dataclass(frozen=True, slots=True)
class _Found:
    """One pair in one stratum; no limits where one column follows from the other."""

    judged: Judged
    first: str
    second: str
    vif: float = math.inf
    limits: InflationLimits | None = None


def entangled_pairs(findings: Findings) -> tuple[EntangledPair, ...]:
    """Return the pairs that cannot, or can hardly, be told apart.

    Parameters
    ----------
    findings : Findings
        Verdicts of each stratum.

    Returns
    -------
    tuple of EntangledPair
        The worst first.
    """
    found = [pair for judged in findings.judged for pair in _found(judged)]
    pairs = [_pair(each, findings) for each in found]
    return tuple(sorted(pairs, key=lambda pair: pair.vif / pair.limit, reverse=True))


def _found(judged: Judged) -> Iterator[_Found]:
    """Yield each pair once, its setting first."""
    for column, partners in judged.aliased.items():
        for partner in partners:
            pair = (partner, column) if _is_setting(judged, partner) else (column, partner)
            if _is_setting(judged, pair[0]):
                yield _Found(judged, *pair)
    seen: set[frozenset[str]] = set()
    for column, found in judged.entangled.items():
        key = frozenset((column, found.partner))
        if found.colour != "green" and _is_setting(judged, column) and key not in seen:
            seen.add(key)
            yield _Found(judged, column, found.partner, found.vif, found.limits)
    for predictor in (each for each in judged.decided if each.kind == "setting"):
        for adjuster, vif in unadjusted_for(judged, predictor.column):
            if vif >= AMBER:
                yield _Found(judged, predictor.column, adjuster, vif, PLAIN)


def _is_setting(judged: Judged, column: str) -> bool:
    return judged.predictor(column).kind == "setting"


def _pair(found: _Found, findings: Findings) -> EntangledPair:
    separation = _separation(found, findings.comparable)
    beside = findings.beside
    rows = beside[(beside["term"] == found.first) & (beside["companion"] == found.second)]
    told = [
        _with_and_without(row, found.second, findings.words) for row in rows.to_dict("records")
    ]
    return EntangledPair(
        first=found.first,
        second=found.second,
        vif=found.vif,
        limit=found.limits.red if found.limits else RED,
        stratum=found.judged.stratum,
        sentence=" ".join([_verdict(found), *told]),
        remedy=separation.sentence,
        separation=separation,
    )


def _separation(found: _Found, comparable: ComparableSet) -> SeparatingShot:
    age, judged = age_next(comparable), found.judged
    dated = math.isfinite(age) and any(p.column == "roast_age_d" for p in judged.candidates)
    return repeats_that_separate(
        judged.layout.frame,
        judged.candidates,
        (found.first, found.second),
        blocked=judged.stratum == WITHIN,
        fixed={"roast_age_d": age} if dated else {},
    )


def _verdict(found: _Found) -> str:
    names = f"{column_label(found.first)} and {column_label(found.second)}"
    names = sentence_case(names)
    if math.isinf(found.vif) or found.limits is None:
        return f"{names} cannot be told apart in this log: one follows from the other."
    shown = number(found.vif, figures=2)
    amber, red = (number(each, figures=2) for each in (found.limits.amber, found.limits.red))
    if found.vif < found.limits.red:
        return f"{names} are hard to tell apart: variance inflation {shown}, care from {amber}."
    return (
        f"{names} cannot be told apart in this log: variance inflation {shown}, "
        f"no verdict from {red}."
    )


def _with_and_without(row: Mapping[Hashable, Any], second: str, words: ResponseWords) -> str:
    step, companion = str(row["step"]), column_label(second)
    step = sentence_case(step)
    alone = _told(row, "_without", words)
    if math.isnan(row["estimate"]):
        return f"{step}: {alone} without {companion} in the fit, and nothing certain with it."
    return f"{step}: {alone} without {companion} in the fit, {_told(row, '', words)} with it."


def _told(row: Mapping[Hashable, Any], suffix: str, words: ResponseWords) -> str:
    value, low, high = (row[f"{name}{suffix}"] for name in ("estimate", "ci_low", "ci_high"))
    u = (high - low) / 2
    if low * high <= 0:
        return f"{signed(value, u)} {words.unit} ({words.span(low, high)})"
    return f"{words.amount(value, u)} ({words.span(low, high)})"
