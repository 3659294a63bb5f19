"""A line or a curve in age: rows, model, what cannot be split from it, and the drift."""

from __future__ import annotations

__all__: list[str] = []
