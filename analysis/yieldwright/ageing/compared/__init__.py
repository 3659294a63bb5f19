"""Bags of one grinder beside each other."""

from __future__ import annotations

__all__: list[str] = []
