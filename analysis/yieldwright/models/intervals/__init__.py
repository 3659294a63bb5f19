"""Intervals, power and what chance alone does."""

from __future__ import annotations

__all__: list[str] = []
