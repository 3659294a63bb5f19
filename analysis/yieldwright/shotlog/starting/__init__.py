"""What a bench begins with: an empty log, its dictionary, a sheet to write on."""

from __future__ import annotations

__all__: list[str] = []
