"""The parts of a bench file that say how to read the log: headers, ranges, the writing."""

from __future__ import annotations

import dataclasses
import re
from collections.abc import Mapping, Sequence
from types import MappingProxyType
from typing import TYPE_CHECKING, Any

from yieldwright.bench._entries import Entries, nearest, shown
from yieldwright.bench._parts import doubles
from yieldwright.bench.bench import WidenedRange
from yieldwright.glossary import (
    EXTRACTION_CEILING_PCT,
    SHOT_QUANTITIES,
    TASTING_QUANTITIES,
    Span,
    find_quantity,
)

if TYPE_CHECKING:
    from yieldwright.bench.bench import Bench
    from yieldwright.bench.recipe import Attribute

_OFFSET = re.compile(r"[+-](0\d|1[0-4]):[0-5]\d")
_WORDS = {
    "delimiter": ("comma", "semicolon", "tab"),
    "decimal": ("point", "comma"),
    "day_order": ("day first", "month first"),
}
_DENSITY = Span(0.3, 1.2)  # crema is mostly gas; the densest syrup of a cup is below 1.2
_LOG_COLUMNS = tuple(
    dict.fromkeys(entry.name for entry in (*SHOT_QUANTITIES, *TASTING_QUANTITIES))
)


def read_shot_id(columns: Entries) -> tuple[str, ...]:
    if isinstance(columns.table.get("shot_id"), str):  # a header of the log called shot_id
        return ()
    headers = columns.texts("shot_id")
    if "" in headers or doubles(headers):
        columns.complain("shot_id lists an empty or a repeated header; list each one once")
    if headers and "shot" in columns.table.values():
        columns.complain('shot_id and a header mapped to "shot" both name the shot; keep one')
    return headers


def read_columns(entries: Entries, attributes: Sequence[Attribute]) -> Mapping[str, str]:
    mapped = {header: entries.text(header, None) for header in entries.others()}
    scored = tuple(f"score:{attribute.name}" for attribute in attributes)
    for header, target in mapped.items():
        if target and not _is_column(target) and target not in scored:
            entries.complain(
                f"{shown(header)} is mapped to {shown(target)}, which is neither a name in the "
                f"glossary nor score: and an attribute of this bench"
                f"{nearest(target, (*_LOG_COLUMNS, *scored))}"
            )
    for target in doubles(target for target in mapped.values() if target):
        headers = " and ".join(shown(header) for header in mapped if mapped[header] == target)
        entries.complain(f"{headers} are both mapped to {target}; keep one")
    return MappingProxyType(mapped)


def _is_column(name: str) -> bool:
    return name in _LOG_COLUMNS or (name.startswith("tds_") and find_quantity(name) is not None)


def read_ranges(entries: Entries) -> Mapping[str, WidenedRange]:
    return MappingProxyType({name: _widened(name, entries) for name in entries.others()})


def _widened(name: str, ranges: Entries) -> WidenedRange:
    entries = ranges.inner(name)
    known = find_quantity(name)
    if known is None or not known.is_numeric:
        numeric = [entry.name for entry in SHOT_QUANTITIES if entry.is_numeric]
        ranges.complain(f"{shown(name)} is no quantity with a range{nearest(name, numeric)}")
        return WidenedRange()
    hard, soft = entries.span("hard"), entries.span("soft")
    if name == "ey_pct":
        _guard_ceiling(entries, hard, soft)
    _guard_width(entries, "hard", hard, least=known.hard, most=known.possible)
    _guard_width(entries, "soft", soft, least=known.soft, most=hard or known.hard)
    entries.refuse_others()
    return WidenedRange(hard=hard, soft=soft)


def _guard_width(
    entries: Entries, which: str, span: Span | None, *, least: Span, most: Span
) -> None:
    if span is None:
        return
    if not span.covers(least):
        entries.complain(
            f"{which} {span} is narrower than the glossary's {least}; a bench may only widen it"
        )
    if not most.covers(span) or (most.open_low and span.low <= most.low):
        entries.complain(f"{which} {span} reaches beyond {most}; stay inside")


def _guard_ceiling(entries: Entries, hard: Span | None, soft: Span | None) -> None:
    """Complain where a bench would let through more than water can dissolve."""
    if hard is not None or (soft is not None and soft.high > EXTRACTION_CEILING_PCT):
        entries.complain(
            f"the ceiling of {EXTRACTION_CEILING_PCT:g} % extraction cannot be widened: water "
            "dissolves no more of roasted coffee; leave hard out and end soft below it"
        )


def read_writing(reading: Entries, bench: Bench) -> Bench:
    """Return the bench with what its file says of how the log is written."""
    said: dict[str, Any] = {
        key: reading.word(key, "", choices=choices) or None for key, choices in _WORDS.items()
    }
    said["time_zone_offset"] = _offset(reading)
    said["sheet"] = reading.text("sheet", "")
    said["density_g_per_ml"] = _density(reading)
    reading.refuse_others()
    return dataclasses.replace(bench, **said)


def _density(reading: Entries) -> float | None:
    """Return what a millilitre weighs, None where the file does not say."""
    density = reading.number("density_g_per_ml", _DENSITY.high, span=_DENSITY)
    return density if "density_g_per_ml" in reading.table else None


def _offset(reading: Entries) -> str:
    offset = reading.text("time_zone_offset", "+00:00")
    if not _OFFSET.fullmatch(offset):
        reading.complain(f'time_zone_offset is {shown(offset)}; write hours and minutes, "+01:00"')
    return offset
