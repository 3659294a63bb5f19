"""A file as rows of texts, whatever its format."""

from __future__ import annotations

__all__: list[str] = []
