"""One bag across its roast age: how it drifts, when it is best, how the grind must follow."""

from __future__ import annotations

__all__: list[str] = []
