"""One cell to a value: numbers with units and spreads, days and times."""

from __future__ import annotations

__all__: list[str] = []
