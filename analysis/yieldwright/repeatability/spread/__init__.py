"""How much like shots differ, and what of that the instruments cause."""

from __future__ import annotations

__all__: list[str] = []
