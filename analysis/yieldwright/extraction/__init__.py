"""Extraction yield, strength, brew ratio, and what each asks of the others."""

from __future__ import annotations

from yieldwright.extraction.immersion import (
    immersion_extraction_yield,
    immersion_yield_from_water,
)
from yieldwright.extraction.inverses import (
    beverage_for_yield,
    strength_for_yield,
    strength_of_solution,
)
from yieldwright.extraction.percolation import (
    brew_ratio,
    dry_extraction_yield,
    extraction_yield,
)

__all__ = [
    "beverage_for_yield",
    "brew_ratio",
    "dry_extraction_yield",
    "extraction_yield",
    "immersion_extraction_yield",
    "immersion_yield_from_water",
    "strength_for_yield",
    "strength_of_solution",
]
