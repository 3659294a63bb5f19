"""How a response changes along one number: flat, a line, a curve, two lines, or in a step."""

from __future__ import annotations

__all__: list[str] = []
