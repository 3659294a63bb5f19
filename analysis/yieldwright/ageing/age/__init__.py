"""How old the coffee was, and why an age is not known."""

from __future__ import annotations

__all__: list[str] = []
