"""How long a bag lasts: until when what is followed stays at a level that is asked for."""

from __future__ import annotations

__all__: list[str] = []
