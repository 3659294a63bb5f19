"""The parts of a bench file that describe the bench itself, one function for each."""

from __future__ import annotations

import dataclasses
import itertools
from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING, Literal, TypeVar, cast

from yieldwright.bench.bench import Bench
from yieldwright.bench.instruments import Grinder, Refractometer, Scale
from yieldwright.bench.recipe import Attribute, Band, Recipe, Window
from yieldwright.glossary import Span, find_quantity

if TYPE_CHECKING:
    from yieldwright.bench._entries import Entries

_Part = TypeVar("_Part", Scale, Refractometer, Window, Recipe)
_Named = TypeVar("_Named", Grinder, Band, Attribute)

_ABOVE_ZERO = Span(0, open_low=True)
_FROM_ZERO = Span(0)
_PERCENT = Span(0, 100)
_BAR = Span(0, 16)
_TEMPERATURE = Span(20, 110)
_SPANS = {
    "resolution_g": _ABOVE_ZERO,
    "resolution_pct": Span(0, 100, open_low=True),
    "repeatability_pct": _PERCENT,
    "accuracy_pct": _PERCENT,
    "tds_per_brix": Span(0.5, 1.5),
    "tds_per_brix_spread": Span(0, 0.5),
    "strength_low_pct": _PERCENT,
    "strength_high_pct": _PERCENT,
    "yield_low_pct": _PERCENT,
    "yield_high_pct": _PERCENT,
    "dose_g": _ABOVE_ZERO,
    "beverage_g": _ABOVE_ZERO,
    "time_s": _ABOVE_ZERO,
    "hold_low_bar": _BAR,
    "hold_high_bar": _BAR,
    "end_least_bar": _BAR,
}


def read_numbers(entries: Entries, assumed: _Part) -> _Part:
    """Return a part with the numbers its table states; the others stay as assumed."""
    read: dict[str, float | None] = {}
    for field in dataclasses.fields(assumed):
        default = getattr(assumed, field.name)
        span = _SPANS.get(field.name, _FROM_ZERO)
        if "None" in str(field.type):
            read[field.name] = entries.number_or_any(field.name, default, span=span)
        elif field.name != "stated":
            read[field.name] = entries.number(field.name, default, span=span)
    entries.refuse_others()
    return dataclasses.replace(assumed, **read)  # type: ignore[arg-type]  # names are the fields'


def read_recipe(entries: Entries) -> Recipe:
    recipe = read_numbers(entries, Recipe())
    low, high = recipe.hold_low_bar, recipe.hold_high_bar
    if low is not None and high is not None and low > high:
        entries.complain(f"hold_low_bar {low:g} lies above hold_high_bar {high:g}; swap them")
    return recipe


def read_window(entries: Entries) -> Window:
    window = read_numbers(entries, Window())
    for axis in ("strength", "yield"):
        low, high = getattr(window, f"{axis}_low_pct"), getattr(window, f"{axis}_high_pct")
        if low >= high:
            entries.complain(
                f"{axis}_low_pct {low:g} is not below {axis}_high_pct {high:g}; "
                "state both ends, the lower one first"
            )
    return dataclasses.replace(window, stated=bool(entries.table))


def read_grinders(document: Entries) -> tuple[Grinder, ...]:
    grinders = [_grinder(entries) for entries in document.repeated("grinders")]
    return _unique(document, "grinders", grinders)


def _grinder(entries: Entries) -> Grinder:
    grinder = Grinder(
        name=entries.text("name", None),
        step=entries.number("step", 1.0, span=_ABOVE_ZERO),
        coarser=cast(
            'Literal["up", "down"]', entries.word("coarser", "up", choices=("up", "down"))
        ),
        retained_g=entries.number("retained_g", 0.0, span=Span(0, 50)),
        stated=entries.table.keys() >= {"step", "coarser"},
    )
    if "retained_g" not in entries.table:
        grinder = dataclasses.replace(grinder, retained_g=None)
    entries.refuse_others()
    return grinder


def read_bands(document: Entries) -> tuple[Band, ...]:
    bands = [_band(entries) for entries in document.repeated("bands")]
    bands.sort(key=lambda band: (band.low_c, band.high_c))
    for cooler, warmer in itertools.pairwise(bands):
        if warmer.low_c < cooler.high_c:
            document.complain(
                f"[[bands]] {cooler.name} and {warmer.name} overlap between "
                f"{warmer.low_c:g} and {min(cooler.high_c, warmer.high_c):g} °C; "
                "let one end where the next begins"
            )
    return _unique(document, "bands", bands) or Bench().bands


def _band(entries: Entries) -> Band:
    band = Band(
        name=entries.text("name", None),
        low_c=entries.number("low_c", _TEMPERATURE.low, span=_TEMPERATURE),
        high_c=entries.number("high_c", _TEMPERATURE.high, span=_TEMPERATURE),
    )
    missing = [key for key in ("low_c", "high_c") if key not in entries.table]
    if missing:
        entries.complain(f"{' and '.join(missing)} missing; a band needs both ends in °C")
    elif band.low_c >= band.high_c:
        entries.complain(f"low_c {band.low_c:g} is not below high_c {band.high_c:g}; swap them")
    entries.refuse_others()
    return band


def read_attributes(document: Entries) -> tuple[Attribute, ...]:
    attributes = [_attribute(entries) for entries in document.repeated("attributes")]
    return _unique(document, "attributes", attributes) or Bench().attributes


def _attribute(entries: Entries) -> Attribute:
    assumed = Attribute("")
    attribute = Attribute(
        name=entries.text("name", None),
        low=entries.number("low", assumed.low),
        high=entries.number("high", assumed.high),
        step=entries.number("step", assumed.step, span=_ABOVE_ZERO),
        better=cast(
            'Literal["more", "middle", "less"]',
            entries.word("better", assumed.better, choices=("more", "middle", "less")),
        ),
        stated=entries.table.keys() >= {"low", "high", "better"},
    )
    _guard_attribute(entries, attribute)
    entries.refuse_others()
    return attribute


def _guard_attribute(entries: Entries, attribute: Attribute) -> None:
    if attribute.low >= attribute.high:
        entries.complain(f"low {attribute.low:g} is not below high {attribute.high:g}; swap them")
    elif attribute.step > attribute.high - attribute.low:
        entries.complain(f"step {attribute.step:g} is wider than the whole scale")
    if find_quantity(attribute.name) is not None:
        entries.complain(f"name {attribute.name} is a column of the log already; choose another")


def _unique(document: Entries, key: str, parts: Sequence[_Named]) -> tuple[_Named, ...]:
    for name in doubles(part.name.casefold() for part in parts if part.name):
        document.complain(f"[[{key}]] has more than one named {name!r}; names must differ")
    return tuple(parts)


def doubles(words: Iterable[str]) -> list[str]:
    listed = list(words)
    return sorted({word for word in listed if listed.count(word) > 1})
