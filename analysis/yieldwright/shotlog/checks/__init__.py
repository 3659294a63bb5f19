"""What is wrong or doubtful about rows, and what may have been meant."""

from __future__ import annotations

__all__: list[str] = []
