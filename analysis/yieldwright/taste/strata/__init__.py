"""Shots inside sessions and means between them: designs, fits and verdicts."""

from __future__ import annotations

__all__: list[str] = []
