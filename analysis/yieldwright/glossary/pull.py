"""Columns of the shot table that the pull itself fills."""

from __future__ import annotations

from yieldwright.glossary.quantity import Quantity, Span

__all__ = [
    "CLOCK_QUANTITIES",
    "PRESSURE_QUANTITIES",
    "READINGS_QUANTITIES",
    "ROOM_QUANTITIES",
    "WEIGHTS_QUANTITIES",
]

_CAMERON = "Cameron et al. 2020, Matter 2:631, for cafés; widened by common practice"
_POSITIVE = Span(0, open_low=True)
_FROM_ZERO = Span(0)
_PERCENT = Span(0, 100)
_ABOVE_ABSOLUTE_ZERO = Span(-273.15)
_BAR = Span(0, 16)

WEIGHTS_QUANTITIES = (
    Quantity(
        "dose_g",
        "number",
        "Dose",
        "Mass of ground coffee in the basket, as weighed and not as aimed at.",
        "g",
        source=_CAMERON,
        possible=_POSITIVE,
        hard=Span(5, 30),
        soft=Span(14, 22),
        example="18.0",
    ),
    Quantity(
        "dose_target_g",
        "number",
        "Dose aimed at",
        "Mass of ground coffee the recipe asks for.",
        "g",
        possible=_POSITIVE,
        hard=Span(5, 30),
        soft=Span(14, 22),
        example="18.0",
    ),
    Quantity(
        "beverage_g",
        "number",
        "Beverage mass",
        "Mass of liquid in the cup; weigh what the strength was read on.",
        "g",
        source=_CAMERON,
        possible=_FROM_ZERO,
        hard=Span(5, 120),
        soft=Span(25, 60),
        example="36.2",
    ),
    Quantity(
        "beverage_target_g",
        "number",
        "Beverage mass aimed at",
        "Mass of liquid the recipe asks for.",
        "g",
        possible=_FROM_ZERO,
        hard=Span(5, 120),
        soft=Span(25, 60),
        example="36.0",
    ),
    Quantity(
        "brew_ratio",
        "number",
        "Brew ratio",
        "Beverage mass for one gram of dose, written 1:r.",
        "1",
        possible=_FROM_ZERO,
        hard=Span(0.5, 6),
        soft=Span(1, 3.5),
        example="1:2",
        computed=True,
    ),
)

CLOCK_QUANTITIES = (
    Quantity(
        "time_s",
        "number",
        "Shot time",
        "Time from the stated start to the end of the pull.",
        "s",
        possible=_FROM_ZERO,
        hard=Span(3, 180),
        soft=Span(15, 60),
        example="36",
    ),
    Quantity(
        "time_from",
        "choice",
        "Time counted from",
        "What starts the clock; times with different starts are never pooled.",
        choices=("lever", "first_pressure", "first_drip"),
        example="lever",
    ),
    Quantity(
        "prewet_s",
        "number",
        "Pre-wetting",
        "Time the puck is wetted before pressure is applied.",
        "s",
        possible=_FROM_ZERO,
        hard=Span(0, 60),
        soft=Span(0, 20),
        example="6",
    ),
    Quantity(
        "first_drip_s",
        "number",
        "First drip",
        "Time from the start of the clock to the first drop.",
        "s",
        possible=_FROM_ZERO,
        hard=Span(0, 60),
        soft=Span(0, 20),
        example="8",
    ),
)

PRESSURE_QUANTITIES = (
    Quantity(
        "peak_bar",
        "number",
        "Peak pressure",
        "Highest pressure of the pull, above the air's.",
        "bar",
        possible=_FROM_ZERO,
        hard=_BAR,
        soft=Span(6, 10),
        example="9.0",
    ),
    Quantity(
        "hold_bar",
        "number",
        "Held pressure",
        "Median pressure of the stretch held by hand.",
        "bar",
        possible=_FROM_ZERO,
        hard=_BAR,
        soft=Span(6, 10),
        example="8.5",
    ),
    Quantity(
        "end_bar",
        "number",
        "End pressure",
        "Pressure when the pull ends.",
        "bar",
        possible=_FROM_ZERO,
        hard=_BAR,
        soft=Span(4, 9),
        example="5.5",
    ),
    Quantity(
        "taper_bar",
        "number",
        "Pressure taper",
        "Held pressure less end pressure.",
        "bar",
        possible=Span(-16, 16),
        hard=Span(-16, 16),
        soft=Span(0, 6),
        example="3.0",
        computed=True,
    ),
    Quantity(
        "taper_start_s",
        "number",
        "Taper starts",
        "Time from the start of the clock to the start of the taper.",
        "s",
        possible=_FROM_ZERO,
        hard=Span(0, 180),
        soft=Span(5, 60),
        example="24",
    ),
)

READINGS_QUANTITIES = (
    Quantity(
        "tds_pct",
        "number",
        "Strength",
        "Total dissolved solids of the beverage; the mean where there are several readings.",
        "% by mass",
        possible=_PERCENT,
        hard=Span(0.5, 25),
        soft=Span(6, 14),
        example="9.4",
    ),
    Quantity(
        "sample_c",
        "number",
        "Sample temperature",
        "Temperature of the sample when its strength was read.",
        "°C",
        possible=_ABOVE_ABSOLUTE_ZERO,
        hard=Span(0, 95),
        soft=Span(15, 35),
        example="24",
    ),
    Quantity("filtered", "flag", "Filtered", "Sample filtered before reading.", example="no"),
    Quantity(
        "ey_pct",
        "number",
        "Extraction yield",
        "Share of the dose that ended up dissolved in the cup.",
        "% by mass",
        possible=_PERCENT,
        hard=_PERCENT,
        soft=Span(15, 25),
        example="18.9",
        computed=True,
    ),
)

ROOM_QUANTITIES = (
    Quantity("barista", "text", "Barista", "Code, not name, of who pulled.", example="b1"),
    Quantity(
        "room_c",
        "number",
        "Room temperature",
        "Temperature of the room.",
        "°C",
        possible=_ABOVE_ABSOLUTE_ZERO,
        hard=Span(-10, 50),
        soft=Span(10, 35),
        example="21",
    ),
    Quantity(
        "humidity_pct",
        "number",
        "Relative humidity",
        "Relative humidity of the room.",
        "%",
        possible=_PERCENT,
        hard=_PERCENT,
        soft=Span(20, 80),
        example="45",
    ),
    Quantity(
        "serviced",
        "text",
        "Serviced",
        "What was cleaned or changed before this shot.",
        example="burrs brushed",
    ),
    Quantity(
        "notes", "text", "Notes", "Free text, at most 2000 characters.", example="sweet, long"
    ),
)
