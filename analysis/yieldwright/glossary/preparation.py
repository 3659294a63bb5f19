"""Columns of the shot table that are known before the lever moves."""

from __future__ import annotations

from yieldwright.glossary.quantity import Quantity, Span

__all__ = [
    "COFFEE_QUANTITIES",
    "GRIND_QUANTITIES",
    "HEAT_QUANTITIES",
    "PUCK_QUANTITIES",
    "WHEN_QUANTITIES",
]

_FROM_ZERO = Span(0)
_ABOVE_ABSOLUTE_ZERO = Span(-273.15)

WHEN_QUANTITIES = (
    Quantity("shot", "text", "Shot", "Name of the shot, unique in the log.", example="1"),
    Quantity(
        "session",
        "text",
        "Session",
        "Name of the sitting the shot was pulled in; by default the day.",
        example="2026-03-07",
    ),
    Quantity(
        "position",
        "integer",
        "Position in session",
        "Running number of the shot in its session, warm-ups and failures counted.",
        "1",
        possible=Span(1),
        hard=Span(1, 500),
        soft=Span(1, 20),
        example="3",
    ),
    Quantity(
        "pulled_at",
        "moment",
        "Pulled at",
        "Day and time of the pull, as ISO 8601.",
        source="ISO 8601",
        example="2026-03-07T10:25+01:00",
    ),
    Quantity(
        "pulled_on",
        "date",
        "Pulled on",
        "Day of the pull at the bench, as ISO 8601.",
        source="ISO 8601",
        example="2026-03-07",
    ),
    Quantity(
        "fate",
        "choice",
        "Fate",
        "How the pull ended; absent means pulled.",
        choices=("pulled", "choked", "gushed", "channelled", "discarded"),
        example="pulled",
    ),
    Quantity(
        "stage",
        "choice",
        "Stage",
        "Whether the shot counts: warm-ups, and the first shots after a grind change, do not.",
        choices=("warm_up", "transition", "counted"),
        example="counted",
    ),
    Quantity("machine", "text", "Machine", "Code of the machine.", example="lever-1"),
    Quantity("basket", "text", "Basket", "Code of the filter basket.", example="18 g"),
    Quantity("water", "text", "Water", "Code of the brewing water.", example="recipe B"),
)

COFFEE_QUANTITIES = (
    Quantity("bag", "text", "Bag", "Code of the bag of coffee.", example="bag-7"),
    Quantity(
        "roast_level",
        "choice",
        "Roast level",
        "How dark the coffee is roasted.",
        choices=("dark", "medium", "light"),
        example="medium",
    ),
    Quantity("roasted_on", "date", "Roasted on", "Day of the roast.", example="2026-02-20"),
    Quantity("opened_on", "date", "Opened on", "Day the bag was opened.", example="2026-03-01"),
    Quantity(
        "frozen_on",
        "date",
        "Frozen on",
        "Day the coffee went into the freezer; of several times, state each in bench.toml.",
        example="2026-02-24",
    ),
    Quantity(
        "thawed_on",
        "date",
        "Thawed on",
        "Day the coffee came out of the freezer; empty while it is still inside.",
        example="2026-02-27",
    ),
    Quantity(
        "frozen_d",
        "number",
        "Days frozen",
        "Days the coffee had spent frozen by the pull; they add nothing to its roast age. Found "
        "from frozen_on and thawed_on; typed, it counts where those are not known.",
        "d",
        possible=_FROM_ZERO,
        hard=Span(0, 3650),
        soft=Span(0, 365),
        example="0",
        computed=True,
    ),
    Quantity(
        "open_d",
        "number",
        "Days open",
        "Days since the bag was opened, days frozen while open left out.",
        "d",
        possible=_FROM_ZERO,
        hard=Span(0, 365),
        soft=Span(0, 45),
        example="6",
        computed=True,
    ),
    Quantity(
        "roast_age_d",
        "number",
        "Roast age",
        "Days from the roast to the pull, frozen days left out.",
        "d",
        possible=_FROM_ZERO,
        hard=Span(0, 365),
        soft=Span(4, 45),
        example="15",
        computed=True,
    ),
)

GRIND_QUANTITIES = (
    Quantity("grinder", "text", "Grinder", "Code of the grinder.", example="grinder-1"),
    Quantity(
        "grind_setting",
        "number",
        "Grind setting",
        "Reading of the grinder's scale; settings of two grinders are not comparable.",
        "1",
        example="12",
    ),
    Quantity(
        "retained_g",
        "number",
        "Grounds retained",
        "Mass of old grounds the grinder keeps from the shot before.",
        "g",
        possible=_FROM_ZERO,
        hard=Span(0, 50),
        soft=Span(0, 10),
        example="0.3",
    ),
    Quantity(
        "purged_g",
        "number",
        "Purged",
        "Mass ground and thrown away before this dose.",
        "g",
        possible=_FROM_ZERO,
        hard=Span(0, 50),
        soft=Span(0, 20),
        example="2",
    ),
)

HEAT_QUANTITIES = (
    Quantity(
        "temp_band",
        "text",
        "Temperature band",
        "The preheat band chosen for the roast, by the bench's own names.",
        example="medium",
    ),
    Quantity(
        "temp_c",
        "number",
        "Temperature",
        "Temperature as set or read, at the place that temp_where names.",
        "°C",
        possible=_ABOVE_ABSOLUTE_ZERO,
        hard=Span(20, 110),
        soft=Span(75, 97),
        example="92",
    ),
    Quantity(
        "temp_where",
        "text",
        "Temperature read at",
        "Where the temperature was set or read.",
        example="group",
    ),
    Quantity(
        "preheat_min",
        "number",
        "Preheat",
        "Time from switching on to the pull.",
        "min",
        possible=_FROM_ZERO,
        hard=Span(0, 600),
        soft=Span(3, 120),
        example="15",
    ),
    Quantity(
        "soak_min",
        "number",
        "Heat soak",
        "Time at temperature before the pull: a group that reads hot in about 3 min needs about "
        "10 to soak through.",
        "min",
        possible=_FROM_ZERO,
        hard=Span(0, 600),
        soft=Span(0, 120),
        example="10",
    ),
    Quantity(
        "gap_min",
        "number",
        "Gap since last shot",
        "Time since the pull before, in the same session.",
        "min",
        possible=_FROM_ZERO,
        hard=Span(0, 600),
        soft=Span(2, 15),
        example="6",
    ),
)

PUCK_QUANTITIES = (
    Quantity(
        "distribution", "text", "Distribution", "How the grounds were spread.", example="stirred"
    ),
    Quantity("tamp", "text", "Tamp", "How the puck was tamped.", example="level"),
    Quantity("puck_screen", "flag", "Puck screen", "Screen on the puck.", example="yes"),
    Quantity("paper", "text", "Paper", "Filter paper and where it lies.", example="bottom"),
)
