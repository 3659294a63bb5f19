"""Cumulative-link models of ordered scores."""

from __future__ import annotations

__all__: list[str] = []
