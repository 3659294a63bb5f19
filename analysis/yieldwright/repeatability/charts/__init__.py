"""Whether the bench stays as it is."""

from __future__ import annotations

__all__: list[str] = []
