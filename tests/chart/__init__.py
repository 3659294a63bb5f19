"""Regions, probabilities, ratio lines and the chart in text."""

from __future__ import annotations
