"""A log written out so that it reads back the same."""

from __future__ import annotations

__all__: list[str] = []
