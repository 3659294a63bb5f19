"""How many shots fail, by setting and by session."""

from __future__ import annotations

__all__: list[str] = []
