"""The columns of the shot table, in the order a person fills them in."""

from __future__ import annotations

from typing import TYPE_CHECKING

from yieldwright.glossary import preparation, pull

if TYPE_CHECKING:
    from yieldwright.glossary.quantity import Quantity

__all__ = ["SHOT_QUANTITIES"]

SHOT_QUANTITIES: tuple[Quantity, ...] = (
    *preparation.WHEN_QUANTITIES,
    *preparation.COFFEE_QUANTITIES,
    *pull.WEIGHTS_QUANTITIES,
    *pull.CLOCK_QUANTITIES,
    *preparation.GRIND_QUANTITIES,
    *preparation.HEAT_QUANTITIES,
    *pull.PRESSURE_QUANTITIES,
    *preparation.PUCK_QUANTITIES,
    *pull.READINGS_QUANTITIES,
    *pull.ROOM_QUANTITIES,
)
