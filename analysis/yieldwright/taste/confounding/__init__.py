"""What a log cannot tell apart, and the shots that would."""

from __future__ import annotations

__all__: list[str] = []
