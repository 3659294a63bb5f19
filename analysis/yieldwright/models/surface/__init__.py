"""Second-order surfaces of two or three numbers."""

from __future__ import annotations

__all__: list[str] = []
