"""What the settings did to taste, yield and time, and what a log cannot tell apart."""

from __future__ import annotations

from yieldwright.taste.asking import fit, fit_set
from yieldwright.taste.columns.comparable import ComparableSet, comparable_sets, pooled_bags
from yieldwright.taste.columns.roles import (
    SCORE_PREFIX,
    attribute_of,
    require_predictors,
    require_response,
    role_of,
)
from yieldwright.taste.confounding.confounding import InflationLimits, inflation_limits
from yieldwright.taste.confounding.separating import SeparatingShot
from yieldwright.taste.effects_fit import EffectsFit, EntangledPair
from yieldwright.taste.fitting import ADJUSTERS, SETTINGS, fit_effects
from yieldwright.taste.strata.curvature import Curvature
from yieldwright.taste.taste_fit import TasteFit

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
    "TasteFit",
    "attribute_of",
    "comparable_sets",
    "fit",
    "fit_effects",
    "fit_set",
    "inflation_limits",
    "pooled_bags",
    "require_predictors",
    "require_response",
    "role_of",
]
