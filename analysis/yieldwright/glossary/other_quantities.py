"""The tasting table's columns, and the quantities that are only ever computed."""

from __future__ import annotations

from yieldwright.glossary.quantity import Quantity, Span

__all__ = ["FORMULA_QUANTITIES", "TASTING_QUANTITIES"]

TASTING_QUANTITIES: tuple[Quantity, ...] = (
    Quantity("shot", "text", "Shot", "The shot that was tasted.", example="1"),
    Quantity("taster", "text", "Taster", "Code, not name, of who tasted.", example="t1"),
    Quantity(
        "tasting_order",
        "integer",
        "Order of tasting",
        "Running number of the cup for this taster.",
        "1",
        possible=Span(1),
        hard=Span(1, 500),
        soft=Span(1, 20),
        example="2",
    ),
    Quantity(
        "blind_code",
        "text",
        "Blind code",
        "Three random digits on the cup.",
        source="ISO 13299, three-digit codes",
        example="417",
    ),
    Quantity("attribute", "text", "Attribute", "What was scored.", example="overall"),
    Quantity("score", "number", "Score", "The score, on the bench's scale.", "1", example="6.5"),
    Quantity("swallowed", "flag", "Swallowed", "Drunk rather than spat.", example="no"),
)

FORMULA_QUANTITIES: tuple[Quantity, ...] = (
    Quantity(
        "moisture_pct",
        "number",
        "Moisture of the dose",
        "Water in the ground coffee before brewing.",
        "% by mass",
        source="ISO 11294: oven at 103 °C",
        possible=Span(0, 50),
        hard=Span(0, 15),
        soft=Span(0.5, 6),
    ),
    Quantity(
        "water_g",
        "number",
        "Brew water",
        "Mass of water poured on the grounds.",
        "g",
        possible=Span(0, open_low=True),
    ),
    Quantity(
        "solids_g",
        "number",
        "Dissolved solids",
        "Mass of coffee solids dissolved in the beverage.",
        "g",
        possible=Span(0),
    ),
    Quantity(
        "liquor_g_per_g",
        "number",
        "Liquor retained",
        "Mass of liquid held back by one gram of dose.",
        "g/g",
        possible=Span(0, 10),
    ),
    Quantity(
        "cov_tds_ey",
        "number",
        "Covariance of strength and yield",
        "A shared strength reading tilts the error ellipse along the ratio line.",
        "(% by mass)²",
    ),
    Quantity(
        "sugar_brix",
        "number",
        "Sugar scale reading",
        "Mass of sucrose in 100 g of the sugar solution that bends light as the sample does.",
        "°Bx",
        possible=Span(0, 100),
    ),
    Quantity(
        "index_air",
        "number",
        "Refractive index in air",
        "Refractive index at 589.3 nm relative to air, as tables for sugar print it.",
        "1",
        possible=Span(1, 2),
    ),
    Quantity(
        "service_stretch",
        "text",
        "Stretch between services",
        "The stretch between two services of the bench that a shot lies in.",
    ),
    Quantity(
        "index_vacuum",
        "number",
        "Refractive index in vacuum",
        "Refractive index at 589.3 nm relative to vacuum, as physics prints it.",
        "1",
        possible=Span(1, 2),
    ),
)
