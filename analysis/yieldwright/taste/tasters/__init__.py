"""Each taster's own effects."""

from __future__ import annotations

__all__: list[str] = []
