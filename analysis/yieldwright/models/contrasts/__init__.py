"""Means, effects and comparisons that a fit gives."""

from __future__ import annotations

__all__: list[str] = []
