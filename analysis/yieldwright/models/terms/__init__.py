"""From columns of a table to a design, and what was tried of them."""

from __future__ import annotations

__all__: list[str] = []
