"""What would have to be true for an answer to be wrong."""

from __future__ import annotations

__all__: list[str] = []
