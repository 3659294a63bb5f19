"""Few estimates of one quantity from units that differ, brought together."""

from __future__ import annotations

__all__: list[str] = []
