"""A workbook as rows of texts, every row accounted for and nothing run."""

from __future__ import annotations

__all__: list[str] = []
