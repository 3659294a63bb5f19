"""The conditions around the settings: what varied with them, and what never varied."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any

import numpy as np
import pandas as pd

from yieldwright.cautions import Caution, Severity
from yieldwright.formatting import listing, sentence_case
from yieldwright.taste.columns.adjusting import UNASKED, harmless
from yieldwright.taste.columns.comparable import CONDITIONS
from yieldwright.taste.columns.predictors import Predictor
from yieldwright.taste.confounding.confounding import inflation_limits, sweep
from yieldwright.taste.effects_fit import DECLINED
from yieldwright.taste.strata.strata import BETWEEN
from yieldwright.taste.words.wording import column_label, level_words

if TYPE_CHECKING:
    from collections.abc import Iterator

    from yieldwright.taste.cautioning.fitted import FittedShots
    from yieldwright.taste.columns.covariates import Values
    from yieldwright.taste.strata.judging import Judged

__all__ = ["about_conditions"]

#: Conditions that a caller may pool, or that hands vary, beside those of a bench.
WITH_SETTINGS = (
    *CONDITIONS,
    "roast_level",
    "bag",
    "grinder",
    "temp_where",
    "distribution",
    "tamp",
)


def about_conditions(fitted: FittedShots) -> Iterator[Caution]:
    """Yield cautions on conditions that went with a setting, or that the fit leaves aside.

    Parameters
    ----------
    fitted : FittedShots
        Shots of a fit.

    Yields
    ------
    Caution
    """
    yield from _with_a_setting(fitted)
    yield from _band_of_a_roast(fitted)
    yield from _unasked(fitted)
    yield from _left_aside(fitted)
    yield from _serviced(fitted)


def _with_a_setting(fitted: FittedShots) -> Iterator[Caution]:
    question = fitted.findings.question
    asked = {*question.settings, *question.adjusters}
    varied = [
        name
        for name in WITH_SETTINGS
        if name in fitted.shots and name not in asked and _different(fitted.shots[name]) > 1
    ]
    for judged in fitted.findings.judged if varied else ():
        for setting in (each for each in judged.candidates if each.kind == "setting"):
            yield from _gone_along(setting, varied, judged, fitted)


def _gone_along(
    setting: Predictor, varied: list[str], judged: Judged, fitted: FittedShots
) -> Iterator[Caution]:
    """Yield where a setting can hardly be told from conditions, or not at all."""
    worst: dict[str, list[str]] = {}
    for name in varied:
        verdict = _verdict(setting, name, judged, fitted, n_terms=len(varied))
        if verdict:
            worst.setdefault(verdict, []).append(name)
    severities: tuple[Severity, Severity] = ("stop", "care")
    for severity in severities:
        names = worst.get(severity, [])
        if names:
            label, along = column_label(setting.column), [column_label(name) for name in names]
            how = "cannot" if severity == "stop" else "can hardly"
            yield Caution(
                "setting-with-condition",
                severity,
                f"{sentence_case(label)} went with {listing(along)}: which of them did what "
                f"{how} be told.",
                f"Pull each {label} with each {listing(along, last='or')}.",
                (setting.column, *names),
            )


def _verdict(
    setting: Predictor, name: str, judged: Judged, fitted: FittedShots, *, n_terms: int
) -> str:
    """Return how grave it is that a setting went with a condition; empty where it is not."""
    layout = judged.layout
    values, beside = _stated(fitted.shots[name]), layout.frame[setting.column].array
    codes = layout.codes if layout.blocked else np.zeros(len(values), dtype=np.intp)
    if judged.stratum == BETWEEN:
        first = np.unique(layout.codes, return_index=True)[1]
        values, beside = values[first], beside[first]
        codes = np.zeros(len(values), dtype=np.intp)
    condition = _varying(values, name, codes)
    if condition is None:
        return ""
    frame = pd.DataFrame({name: pd.Series(values, dtype=object), setting.column: beside})
    swept = sweep(frame, [setting, condition], codes)
    vif = swept.inflation(setting.column, [name])
    if swept.df <= condition.width + setting.width - 1:
        return ""  # with so few rows any two columns agree
    limits = inflation_limits(
        width=setting.width, others=condition.width, df=swept.df, n_terms=n_terms
    )
    if math.isinf(vif) or vif >= limits.red:
        return "stop"
    return "care" if vif >= limits.amber else ""


def _different(values: pd.Series[str]) -> int:
    """Return how many different values a column holds, gaps aside."""
    found: set[Any] = set(values.tolist())
    return sum(not pd.isna(value) for value in found)


def _stated(values: pd.Series) -> Values:
    """Return a condition as an array of words, with one of their own for gaps."""
    words = values.to_numpy(dtype=object)
    return np.where(pd.isna(words), "unstated", words)


def _varying(values: Values, name: str, codes: np.ndarray) -> Predictor | None:
    """Return a condition as a term, None where it does not vary inside blocks."""
    stated = values.tolist()
    levels = tuple(dict.fromkeys(stated))
    pairs = set(zip(codes.tolist(), stated, strict=True))
    if len(levels) < 2 or len(pairs) == len(np.unique(codes)):
        return None
    return Predictor(name, "adjuster", levels=levels)


def _band_of_a_roast(fitted: FittedShots) -> Iterator[Caution]:
    """Yield where a bag, and so one roast level, was pulled at one band only."""
    shots = fitted.shots
    column = "temp_band"
    same = dict(fitted.findings.prepared.left_out).get(column, "").startswith("the same")
    if not (same and "roast_level" in shots and _different(shots["roast_level"]) == 1):
        return
    roast = shots["roast_level"].dropna().iloc[0]
    band = level_words(column, shots[column].dropna().iloc[0])
    yield Caution(
        "band-with-roast",
        "note",
        f"This {roast} roast was pulled at {band} only: what the band does cannot be told from "
        "what the roast does.",
        "Pull another band within a session of this bag.",
        (column, "roast_level"),
    )


def _unasked(fitted: FittedShots) -> Iterator[Caution]:
    """Yield settings that differ, that nobody asked about and that the fit cannot bear."""
    found = fitted.findings
    declined = {
        name: why.removeprefix(DECLINED)
        for name, why in found.declined
        if name in UNASKED and not harmless(why)
    }
    candidates = (each for judged in found.judged for each in judged.candidates)
    if not declined or all(each.kind == "adjuster" for each in candidates):
        return
    told = [f"{column_label(name)} ({why})" for name, why in declined.items()]
    one = len(declined) == 1
    asked = listing([column_label(name) for name in found.question.settings])
    yield Caution(
        "unasked-setting",
        "care",
        f"{sentence_case(listing(told))} {'was' if one else 'were'} changed too and "
        f"{'is' if one else 'are'} not allowed for: what {'it' if one else 'they'} did may pass "
        f"for what {asked} did.",
        f"Ask about {'both' if one else 'all of them'} at once, or pull the next shots at one "
        f"{listing([column_label(name) for name in declined])}.",
        tuple(declined),
    )


def _left_aside(fitted: FittedShots) -> Iterator[Caution]:
    question = fitted.findings.question
    asked = {*question.settings, *question.adjusters}
    mixed = tuple(
        each for each in fitted.findings.comparable.mixed_conditions if each not in asked
    )
    if mixed:
        names = [column_label(column) for column in mixed]
        yield Caution(
            "mixed-conditions",
            "note",
            f"Shots differ in {listing(names)}, which the fit does not allow for.",
            "",
            mixed,
        )


def _serviced(fitted: FittedShots) -> Iterator[Caution]:
    shots = fitted.findings.comparable.shots
    if "serviced" in shots and shots["serviced"].iloc[1:].notna().any():
        yield Caution(
            "serviced-between",
            "care",
            "Something was cleaned or changed between these shots: grind settings before and "
            "after may not mean the same.",
            "Compare only shots from one side of the service.",
            ("serviced",),
        )
