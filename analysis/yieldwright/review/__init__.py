"""The weekend page: findings once, rendered to a page and to notebook HTML."""

from __future__ import annotations

__all__: list[str] = []
