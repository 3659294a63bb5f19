"""Standard uncertainty of strength and yield from the bench's instruments."""

from __future__ import annotations

from yieldwright.uncertainty.instruments import (
    pooled_repeatability,
    scale_uncertainty,
    tds_uncertainty,
)
from yieldwright.uncertainty.propagation import (
    combined_uncertainty,
    strength_yield_covariance,
    yield_budget,
    yield_uncertainty,
)

__all__ = [
    "combined_uncertainty",
    "pooled_repeatability",
    "scale_uncertainty",
    "strength_yield_covariance",
    "tds_uncertainty",
    "yield_budget",
    "yield_uncertainty",
]
