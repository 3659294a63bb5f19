"""From what a refractometer shows to strength: refractive index, sugar scale, warmth."""

from __future__ import annotations

from yieldwright.refractometry.air import index_in_air, index_in_vacuum
from yieldwright.refractometry.strength import strength_half_width, strength_of_brix
from yieldwright.refractometry.sucrose import brix_of_index, index_of_brix
from yieldwright.refractometry.warmth import strength_at_20, warm_shift

__all__ = [
    "brix_of_index",
    "index_in_air",
    "index_in_vacuum",
    "index_of_brix",
    "strength_at_20",
    "strength_half_width",
    "strength_of_brix",
    "warm_shift",
]
