"""The strength/extraction chart: regions, ratio lines, placement with probability."""

from __future__ import annotations

from yieldwright.chart.bivariate import nine_probabilities, normal_below
from yieldwright.chart.ellipse import ELLIPSE_LEVEL, ellipse_points, error_ellipses
from yieldwright.chart.frame import ChartFrame, chart_frame
from yieldwright.chart.placement import NEAR_BORDER, SETTLED, Placement, place_shots
from yieldwright.chart.ratio import pick_ratios, ratio_lines, strength_on_line
from yieldwright.chart.regions import REGIONS, Region, region, region_codes, require_window
from yieldwright.chart.text import TEXT_MARKS, text_chart

__all__ = [
    "ELLIPSE_LEVEL",
    "NEAR_BORDER",
    "REGIONS",
    "SETTLED",
    "TEXT_MARKS",
    "ChartFrame",
    "Placement",
    "Region",
    "chart_frame",
    "ellipse_points",
    "error_ellipses",
    "nine_probabilities",
    "normal_below",
    "pick_ratios",
    "place_shots",
    "ratio_lines",
    "region",
    "region_codes",
    "require_window",
    "strength_on_line",
    "text_chart",
]
