"""Least squares, and what its rows do to it."""

from __future__ import annotations

__all__: list[str] = []
