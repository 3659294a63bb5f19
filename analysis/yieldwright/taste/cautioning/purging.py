"""Shots that something other than their settings made: old grounds, a cold group."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt
from scipy import special

from yieldwright.cautions import Caution
from yieldwright.formatting import count, number
from yieldwright.shotlog.tables.sessions import ASSUMED_RETAINED_G
from yieldwright.taste.strata.strata import POOLED, group_means

if TYPE_CHECKING:
    from collections.abc import Iterator

    from yieldwright.taste.cautioning.fitted import FittedShots

__all__ = ["about_purging"]

Array = npt.NDArray[np.float64]

#: A purge of so many times what a grinder keeps makes a setting real (common practice, no source).
PURGES = 2.0

#: Share of shots lost to changes of grind from which it is worth a word.
MANY_LOST = 0.25

#: Chance of calling the first shots of sessions different where they are not.
ALPHA = 0.01

#: First shots a verdict on them needs.
LEAST_FIRST = 3


def about_purging(fitted: FittedShots) -> Iterator[Caution]:
    """Yield cautions on first shots after a change of grind, and of a session.

    Parameters
    ----------
    fitted : FittedShots
        Shots of a fit.

    Yields
    ------
    Caution
    """
    yield from _still_in(fitted)
    yield from _left_out(fitted)
    yield from _first_shots(fitted)


def _still_in(fitted: FittedShots) -> Iterator[Caution]:
    """Yield where first shots after a change of grind count in spite of too small a purge."""
    shots = fitted.shots
    if "grind_setting" not in shots or not {"stage", "purged_g"} & set(shots):
        return
    changed = _follows_change(fitted)
    purged = _column(fitted, "purged_g")
    keeps = _kept_back(fitted)
    unknown = changed & np.isnan(purged)
    little = changed & (purged < PURGES * keeps)
    n_unknown, n_little = int(unknown.sum()), int(little.sum())
    if n_unknown + n_little:
        told = f", {n_unknown} of them with an unknown one" if n_unknown else ""
        told = told if n_little else ", none of them with one that was logged"
        yield Caution(
            "transition-shots",
            "care",
            f"{count(n_unknown + n_little, 'shot')} counted came first after a change of grind "
            f"setting without a purge of {number(PURGES * float(np.median(keeps)), figures=2)} g"
            f"{told}: old grounds blur what the setting does.",
            "Purge twice what the grinder keeps and log the grams, or log the stage transition.",
            ("grind_setting", "purged_g"),
        )


def _left_out(fitted: FittedShots) -> Iterator[Caution]:
    """Yield where many shots are lost because their purge was small or not logged."""
    lost = sum(
        each.count for each in fitted.findings.comparable.excluded if "grind change" in each.reason
    )
    if lost > MANY_LOST * (lost + len(fitted.frame)):
        purged = _column(fitted, "purged_g")
        unknown = " (an unknown purge counts as none)" if np.isnan(purged).any() else ""
        yield Caution(
            "transitions-left-out",
            "note",
            f"{count(lost, 'shot')} were left out as the first after a change of grind "
            f"setting{unknown}.",
            "Purge twice what the grinder keeps, log the grams, and they count.",
            ("grind_setting", "purged_g"),
        )


def _first_shots(fitted: FittedShots) -> Iterator[Caution]:
    """Yield where the first shots of sessions stand apart from what the fit allows for."""
    inside = fitted.findings.inside
    first = _column(fitted, "position") == 1
    if inside.fit is None or inside.layout.stratum == POOLED or first.sum() < LEAST_FIRST:
        return
    apart, p_value = _indicated(inside.fit.columns, first.astype(float), fitted)
    if p_value < ALPHA:
        words = fitted.findings.words
        sigma = inside.fit.fit.sigma
        yield Caution(
            "first-shots-differ",
            "care",
            f"The first shots of {count(int(first.sum()), 'session')} lie "
            f"{number(abs(apart), sigma)} {words.unit} {'above' if apart > 0 else 'below'} what "
            "the rest says: warm-up shots may be counted.",
            "Log warm-up shots with that stage; they are then left out.",
            ("stage",),
        )


def _indicated(design: Array, mark: Array, fitted: FittedShots) -> tuple[float, float]:
    """Return the effect of a mark beside the columns of the fit, and its p-value."""
    layout = fitted.findings.inside.layout
    response = layout.frame["response"].to_numpy(dtype=float)
    codes = layout.codes if layout.blocked else np.zeros(len(response), dtype=np.intp)
    columns = np.column_stack([design[:, 1:], mark, response])
    swept = columns - group_means(columns, codes)[codes]
    basis, _ = np.linalg.qr(swept[:, :-2]) if design.shape[1] > 1 else (swept[:, :0], None)
    own, left = (part - basis @ (basis.T @ part) for part in (swept[:, -2], swept[:, -1]))
    df = len(response) - int(codes.max()) - 1 - design.shape[1] + 1 - 1
    weight = float(own @ own)
    if df < 1 or weight < 1e-9:
        return 0.0, 1.0
    apart = float(own @ left) / weight
    rest = left - apart * own
    variance = float(rest @ rest) / df / weight
    if not variance > 0:
        return apart, 1.0
    return apart, float(2 * special.stdtr(df, -abs(apart) / variance**0.5))


def _follows_change(fitted: FittedShots) -> npt.NDArray[np.bool_]:
    """Return which shots come right after one of the same session at another setting."""
    order = fitted.order
    codes = fitted.findings.inside.layout.codes[order]
    grind = _column(fitted, "grind_setting")[order]
    place = _column(fitted, "position")[order]
    next_to = (codes[1:] == codes[:-1]) & ~(np.diff(place) > 1)
    changed = np.zeros(len(order), dtype=bool)
    changed[order[1:]] = next_to & (grind[1:] != grind[:-1]) & ~np.isnan(grind[1:] + grind[:-1])
    return changed


def _kept_back(fitted: FittedShots) -> Array:
    """Return what the grinder keeps, in grams, by the log or else by the bench."""
    grinder = fitted.findings.question.bench.grinder(fitted.findings.comparable.grinder)
    known = ASSUMED_RETAINED_G if grinder.retained_g is None else grinder.retained_g
    typed = _column(fitted, "retained_g")
    return np.where(np.isnan(typed), known, typed)


def _column(fitted: FittedShots, name: str) -> Array:
    if name not in fitted.shots:
        return np.full(len(fitted.frame), np.nan)
    return fitted.shots[name].to_numpy(dtype=float, na_value=np.nan)
