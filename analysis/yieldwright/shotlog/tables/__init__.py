"""Rows of texts to checked tables of shots and tastings."""

from __future__ import annotations

__all__: list[str] = []
