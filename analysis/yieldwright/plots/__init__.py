"""Figures: draws what lower rooms computed, and estimates nothing itself."""

from __future__ import annotations

from yieldwright.plots.bag_trend import bag_trend
from yieldwright.plots.bags_compared import bags_compared
from yieldwright.plots.before_after import before_after
from yieldwright.plots.control_chart import control_chart
from yieldwright.plots.effects_forest import effects
from yieldwright.plots.needed_settings import needed_settings
from yieldwright.plots.paired_bags import paired_bags
from yieldwright.plots.paper import off_screen
from yieldwright.plots.people_lanes import people_lanes, progress_line
from yieldwright.plots.saving import figure_markup, png_data_uri, save_figures, svg_text
from yieldwright.plots.sensitivity_lanes import sensitivity_lanes
from yieldwright.plots.setting_panels import setting_means
from yieldwright.plots.settings_rows import settings_table
from yieldwright.plots.shot_order import timeline
from yieldwright.plots.steadiness_lanes import steadiness_lanes
from yieldwright.plots.strength_chart import strength_extraction
from yieldwright.plots.surface_map import surface_map
from yieldwright.plots.taster_lanes import taster_lanes

__all__ = [
    "bag_trend",
    "bags_compared",
    "before_after",
    "control_chart",
    "effects",
    "figure_markup",
    "needed_settings",
    "off_screen",
    "paired_bags",
    "people_lanes",
    "png_data_uri",
    "progress_line",
    "save_figures",
    "sensitivity_lanes",
    "setting_means",
    "settings_table",
    "steadiness_lanes",
    "strength_extraction",
    "surface_map",
    "svg_text",
    "taster_lanes",
    "timeline",
]
