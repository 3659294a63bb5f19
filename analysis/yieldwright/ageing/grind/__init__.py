"""How the grind must follow its bag."""

from __future__ import annotations

__all__: list[str] = []
