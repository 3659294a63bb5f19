"""The instruments, grinders, bands, recipe and scales of one bench, as values."""

from __future__ import annotations

from yieldwright.bench.bench import Bench, WidenedRange
from yieldwright.bench.instruments import Grinder, Refractometer, Scale
from yieldwright.bench.reading import read_bench
from yieldwright.bench.recipe import Attribute, Band, Recipe, Window
from yieldwright.bench.template import bench_template

__all__ = [
    "Attribute",
    "Band",
    "Bench",
    "Grinder",
    "Recipe",
    "Refractometer",
    "Scale",
    "WidenedRange",
    "Window",
    "bench_template",
    "read_bench",
]
