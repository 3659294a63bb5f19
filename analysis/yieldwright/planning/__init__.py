"""Which shots to pull next, and why: repeats that separate, confirm or measure the spread."""

from __future__ import annotations

from yieldwright.planning.next_shots import Suggestion, next_shots
from yieldwright.planning.separating import separating_shot
from yieldwright.planning.shrinkage import best_of, shrunk_lead
from yieldwright.taste.confounding.separating import SeparatingShot

__all__ = [
    "SeparatingShot",
    "Suggestion",
    "best_of",
    "next_shots",
    "separating_shot",
    "shrunk_lead",
]
