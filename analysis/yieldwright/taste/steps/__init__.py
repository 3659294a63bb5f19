"""Scores taken as steps and not as metres."""

from __future__ import annotations

__all__: list[str] = []
