"""The mean at each setting, and the next shot."""

from __future__ import annotations

__all__: list[str] = []
