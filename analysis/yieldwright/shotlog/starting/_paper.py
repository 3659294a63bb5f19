"""The texts of the sheet one writes on at the bench."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import TYPE_CHECKING

from yieldwright.formatting import clip, listing, number, visible
from yieldwright.glossary import quantity
from yieldwright.safety import DEFERENCE, notices
from yieldwright.shotlog.starting.columns import score_header

if TYPE_CHECKING:
    from yieldwright.bench import Attribute, Bench

_ROWS_ON_PAPER = 16
_TASTES_ON_PAPER = 5
_BLANKS = (
    *("session", "pulled_on", "barista", "bag", "roast_level"),
    *("roasted_on", "grinder", "machine", "basket", "water"),
)
_WIDTHS_MM = {
    "shot": 10,
    "pulled_at": 15,
    "dose_g": 15,
    "grind_setting": 14,
    "purged_g": 14,
    "temp_band": 16,
    "hold_bar": 14,
    "end_bar": 14,
    "time_s": 14,
    "beverage_g": 16,
    "tds_pct": 16,
    "fate": 16,
    "stage": 16,
}
_LABELS_ON_PAPER = {
    "pulled_at": "Time of day",
    "grind_setting": "Grind",
    "temp_band": "Band",
    "hold_bar": "Held",
    "end_bar": "End",
    "time_s": "Time",
    "beverage_g": "Cup",
}


def sheet_texts(bench: Bench) -> dict[str, object]:
    """Return what the sheet's template asks for, by name."""
    tastes = bench.attributes[:_TASTES_ON_PAPER]
    return {
        "name": _short(bench.name),
        "blanks": _blanks(bench),
        "aim": _aim(bench),
        "columns": _paper_columns(bench, tastes),
        "rows": _ROWS_ON_PAPER,
        "legend": _legend(bench, tastes),
        "safety": [notice.sentence for notice in notices()],
        "deference": DEFERENCE,
    }


@dataclass(frozen=True, slots=True)
class _PaperColumn:
    """One column of the sheet: what it is called, where it is typed, how wide it is."""

    label: str
    header: str
    width_mm: float


def _paper_columns(bench: Bench, tastes: Iterable[Attribute]) -> list[_PaperColumn]:
    own = {name: header for header, name in bench.columns.items()}
    if bench.shot_id:
        own["shot"] = " + ".join(bench.shot_id)
    columns = [
        _PaperColumn(_paper_label(name), _short(own.get(name, name)), width)
        for name, width in _WIDTHS_MM.items()
    ]
    columns += [
        _PaperColumn(_short(taste.name, 16), _short(score_header(bench, taste), 16), 13)
        for taste in tastes
    ]
    return columns


def _paper_label(name: str) -> str:
    entry = quantity(name)
    label = _LABELS_ON_PAPER.get(name, entry.label)
    unit = {"% by mass": "%"}.get(entry.unit, entry.unit)
    return label if unit in ("", "1") else f"{label}, {unit}"


def _short(text: str, limit: int = 24) -> str:
    return clip(visible(text), limit)


def _blanks(bench: Bench) -> list[tuple[str, str]]:
    """Return the labels of what holds for the whole sheet, with what the bench knows."""
    grinder = bench.grinders[0].name if len(bench.grinders) == 1 else ""
    known = {"machine": bench.machine, "basket": bench.basket, "grinder": grinder}
    return [(quantity(name).label, _short(known.get(name, ""))) for name in _BLANKS]


def _aim(bench: Bench) -> list[str]:
    """Return the recipe and the bands, one short phrase each."""
    recipe = bench.recipe
    targets = (
        (recipe.dose_g, recipe.dose_tolerance_g, "g of dose"),
        (recipe.beverage_g, recipe.beverage_tolerance_g, "g in the cup"),
        (recipe.time_s, recipe.time_tolerance_s, "s"),
    )
    phrases = [
        f"{number(aim)} ± {miss:g} {unit}" for aim, miss, unit in targets if aim is not None
    ]
    if recipe.hold_low_bar is not None and recipe.hold_high_bar is not None:
        phrases.append(f"hold {recipe.hold_low_bar:g}–{recipe.hold_high_bar:g} bar")
    if recipe.end_least_bar is not None:
        phrases.append(f"end above {recipe.end_least_bar:g} bar")
    bands = [
        f"{clip(visible(band.name), 16)} {band.low_c:g}–{band.high_c:g} °C"
        for band in bench.bands[:6]
    ]
    return [*phrases, *bands]


def _legend(bench: Bench, tastes: Iterable[Attribute]) -> list[str]:
    scales = [
        f"{_short(taste.name)} {taste.low:g} to {taste.high:g}"
        + (", best in the middle" if taste.better == "middle" else "")
        for taste in tastes
    ]
    left_out = len(bench.attributes) - _TASTES_ON_PAPER
    more = [f"{left_out} more under notes"] if left_out > 0 else []
    fates, stages = (listing(quantity(name).choices, last="or") for name in ("fate", "stage"))
    return [
        f"Fate: {fates}.",
        f"Stage: {stages}; the first shot after a change of grind is a transition.",
        "Weigh the cup the strength is read on.",
        "Log failures too: without them the spread looks smaller than it is.",
        f"Taste: {'; '.join([*scales, *more])}.",
    ]
