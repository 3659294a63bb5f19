"""When a bag is at its best."""

from __future__ import annotations

__all__: list[str] = []
