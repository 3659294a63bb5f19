"""What was serviced or changed, before and after."""

from __future__ import annotations

__all__: list[str] = []
