"""What the settings did to taste, yield and time, and what a log cannot tell apart."""

from __future__ import annotations

from yieldwright.taste.comparable import ComparableSet, comparable_sets
from yieldwright.taste.confounding import InflationLimits, inflation_limits
from yieldwright.taste.curvature import Curvature
from yieldwright.taste.effects_fit import EffectsFit, EntangledPair
from yieldwright.taste.fitting import ADJUSTERS, SETTINGS, fit_effects
from yieldwright.taste.roles import (
    SCORE_PREFIX,
    attribute_of,
    require_predictors,
    require_response,
    role_of,
)
from yieldwright.taste.separating import SeparatingShot

__all__ = [
    "ADJUSTERS",
    "SCORE_PREFIX",
    "SETTINGS",
    "ComparableSet",
    "Curvature",
    "EffectsFit",
    "EntangledPair",
    "InflationLimits",
    "SeparatingShot",
    "attribute_of",
    "comparable_sets",
    "fit_effects",
    "inflation_limits",
    "require_predictors",
    "require_response",
    "role_of",
]
