"""The instruments, grinders, bags, bands, recipe and scales of one bench, as values."""

from __future__ import annotations

from yieldwright.bench.bags import BagFacts, Freeze
from yieldwright.bench.bench import Bench, WidenedRange
from yieldwright.bench.instruments import Grinder, Refractometer, Scale
from yieldwright.bench.reading import read_bench
from yieldwright.bench.recipe import Attribute, Band, Recipe, Window
from yieldwright.bench.template import bench_template

__all__ = [
    "Attribute",
    "BagFacts",
    "Band",
    "Bench",
    "Freeze",
    "Grinder",
    "Recipe",
    "Refractometer",
    "Scale",
    "WidenedRange",
    "Window",
    "bench_template",
    "read_bench",
]
