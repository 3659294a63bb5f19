"""One bag across its roast age: how it drifts, when it is best, how the grind must follow."""

from __future__ import annotations

from yieldwright.ageing.age.ages import RoastAges, roast_ages
from yieldwright.ageing.bag_trend import BagTrend
from yieldwright.ageing.beginning.starting_point import StartingPoint, next_bag
from yieldwright.ageing.breaks.events import Breaks, events
from yieldwright.ageing.compared.bags import BagsCompared, compare_bags
from yieldwright.ageing.compared.paired import PairedBags, pair_bags
from yieldwright.ageing.following import follow, follow_set

__all__ = [
    "BagTrend",
    "BagsCompared",
    "Breaks",
    "PairedBags",
    "RoastAges",
    "StartingPoint",
    "compare_bags",
    "events",
    "follow",
    "follow_set",
    "next_bag",
    "pair_bags",
    "roast_ages",
]
