"""Two or three settings together, and their best place."""

from __future__ import annotations

__all__: list[str] = []
