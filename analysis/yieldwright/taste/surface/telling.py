"""What a response surface says: its turn, where that lies, and the way to better."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt

from yieldwright.formatting import count, listing, number, p_words
from yieldwright.glossary import quantity
from yieldwright.taste.strata.strata import POOLED
from yieldwright.taste.words.telling import SIGNIFICANT, wanted_turn
from yieldwright.taste.words.wording import column_label, level_words, signed_span

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from yieldwright.taste.findings import Findings
    from yieldwright.taste.surface.tables import Turn

__all__ = ["place_words", "surface_sentences"]

Array = npt.NDArray[np.float64]

#: What each kind of turn is called, and what the response does around it.
_TURNS = {
    "top": "The {noun} has a top: it falls off on every side",
    "bottom": "The {noun} has a bottom: it rises on every side",
    "saddle": "The {noun} has a saddle: it bends up along {up} and down along {down}",
    "ridge": "The {noun} runs along a ridge: it bends down along {down}; whether it bends along "
    "{flat} this log cannot tell",
    "valley": "The {noun} runs along a valley: it bends up along {up}; whether it bends along "
    "{flat} this log cannot tell",
    "unclear": "This log cannot tell whether the {noun} bends over {settings} at all: over half "
    "of what was tried a bend may change it by {span}",
}

_EXTREMES = {"top": "highest", "bottom": "lowest"}

#: Why a turning point is not told, by the kind of its region.
_WHY_NOT = {
    "beyond": "the 95 % region of that place leaves what was tried",
    "unbounded": "the 95 % region of that place has no bound",
    "nowhere": "the fitted surface has no such place",
}

#: Share of a direction below which a setting has no part in it.
NO_PART = 0.35


def surface_sentences(findings: Findings, turn: Turn) -> tuple[str, ...]:
    """Return all that a surface has to say, in the order a reader wants it.

    Parameters
    ----------
    findings : Findings
        The verdicts of each stratum.
    turn : Turn
        The surface with what was found out about it.

    Returns
    -------
    tuple of str
        What it turns at, where, and the way to better from the middle.
    """
    return (
        f"{_kind(findings, turn)} (95 %, {_scope(findings)}).",
        *_place(turn),
        *_way(findings, turn),
    )


def place_words(columns: Sequence[str], values: Sequence[float]) -> str:
    """Return one place in words of the bench.

    Parameters
    ----------
    columns : sequence of str
        Settings.
    values : sequence of float
        Their values, in the units of the columns.

    Returns
    -------
    str

    Examples
    --------
    >>> place_words(["grind_setting", "taper_bar"], [11.0, 2.5])
    'setting 11 with pressure taper 2.5 bar'
    """
    words = [level_words(name, float(value)) for name, value in zip(columns, values, strict=True)]
    return " and ".join(filter(None, [" with ".join(words[:2]), *words[2:]]))


def _kind(findings: Findings, turn: Turn) -> str:
    axes = turn.shape.axes
    low, high = min(axis.ci_low for axis in axes), max(axis.ci_high for axis in axes)
    return _TURNS[turn.shape.kind].format(
        noun=findings.words.noun,
        up=_along([axis.direction for axis in axes if axis.ci_low > 0], turn),
        down=_along([axis.direction for axis in axes if axis.ci_high < 0], turn),
        flat=_along([axis.direction for axis in axes if not axis.clear], turn),
        settings=listing([column_label(each) for each in turn.surface.columns]),
        span=f"{signed_span(low, high)} {findings.words.unit}" if low * high < 0 else "",
    )


def _along(directions: Sequence[Array], turn: Turn) -> str:
    """Return directions by the settings that have a part in them."""
    return listing([_direction(each, turn) for each in directions]) if directions else ""


def _direction(direction: Array, turn: Turn) -> str:
    names = [column_label(each) for each in turn.surface.columns]
    parts = [
        f"{name} {'up' if share > 0 else 'down'}"
        for name, share in zip(names, direction.tolist(), strict=True)
        if abs(share) >= NO_PART
    ]
    if len(parts) == 1:
        return parts[0].removesuffix(" up").removesuffix(" down")
    return f"the line {' with '.join(parts)}"


def _place(turn: Turn) -> Iterator[str]:
    """Yield where the surface turns, or why that cannot be told."""
    if turn.place is not None:
        spans = turn.spans.tolist()
        widths = [(high - low) / 2 for low, high in spans]
        there = zip(turn.surface.columns, turn.place.tolist(), widths, strict=True)
        ends = zip(turn.surface.columns, spans, widths, strict=True)
        near = [_value_words(column, [value], u) for column, value, u in there]
        yield (
            f"It is {_EXTREMES.get(turn.shape.kind, 'level')} near {listing(near)}; the 95 % "
            "region of that place runs from "
            f"{listing([_value_words(column, span, u) for column, span, u in ends])}, all of it "
            "within what was tried."
        )
    elif turn.shape.kind != "unclear":
        yield f"Where it turns cannot be told: {_WHY_NOT[turn.region.kind]}."


def _value_words(column: str, values: Sequence[float], u: float) -> str:
    """Return a value or a span of a setting, to the places its region deserves."""
    unit = quantity(column).unit
    name = "setting" if column == "grind_setting" else column_label(column)
    shown = " to ".join(number(value, u) for value in values)
    return f"{name} {shown} {unit if unit != '1' else ''}".strip()


def _way(findings: Findings, turn: Turn) -> Iterator[str]:
    """Yield the way to better from the middle of what was tried."""
    noun, columns = findings.words.noun, turn.surface.columns
    base = f"the middle of what was tried ({place_words(columns, turn.base.tolist())})"
    if not turn.level.p_value < SIGNIFICANT:
        yield (
            f"No way from {base} stands clear of chance: the {noun} may be level there "
            f"({p_words(turn.level.p_value)})."
        )
    elif not turn.steps:
        yield f"No single step from {base} is better by the fitted surface."
    else:
        yield from _steps(findings, turn, base)


def _steps(findings: Findings, turn: Turn, base: str) -> Iterator[str]:
    """Yield the first step of the way, and where it leaves what was tried."""
    columns, noun = turn.surface.columns, findings.words.noun
    first, last = turn.steps[0], turn.steps[-1]
    place = place_words(columns, first.settings.tolist())
    rises = f"From {base} the {noun} {_verb(findings, turn)} fastest towards {place}"
    if first.change is None:
        yield f"{rises}, beyond what was tried: no number."
        return
    low, high = first.change.ci_low, first.change.ci_high
    span = findings.words.span(low, high)
    if low * high <= 0:
        yield (
            f"A step from {base} the fitted surface is best at {place}, inside what was tried; "
            f"whether that is better this log cannot tell (95 % interval {span})."
        )
        return
    amount = findings.words.amount(first.change.estimate, (high - low) / 2)
    yield (
        f"{rises}, inside what was tried: a shot there {findings.words.verb} {amount} than one "
        f"in the middle (95 % interval {span})."
    )
    if last.change is None:
        beyond = place_words(columns, last.settings.tolist())
        yield f"The way leaves what was tried at {beyond}: no number for it."


def _verb(findings: Findings, turn: Turn) -> str:
    """Return how the response moves to better."""
    plain = "rises" if turn.climb > 0 else "falls"
    return f"{plain}, which is better," if wanted_turn(findings.question) > 0 else plain


def _scope(findings: Findings) -> str:
    layout = findings.inside.layout
    shots = f"{count(len(layout.frame), 'shot')} in {count(layout.n_sessions, 'session')}"
    return f"{shots}, pooled" if layout.stratum == POOLED else shots
