"""Which columns a question is answered with, and which shots."""

from __future__ import annotations

__all__: list[str] = []
