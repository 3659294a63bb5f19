"""Where to begin with the next bag."""

from __future__ import annotations

__all__: list[str] = []
