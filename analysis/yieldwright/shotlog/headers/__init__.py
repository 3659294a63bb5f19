"""What the columns of a file stand for, and in which units."""

from __future__ import annotations

__all__: list[str] = []
