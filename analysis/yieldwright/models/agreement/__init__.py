"""How well raters, readings and sessions agree, with chance taken off."""

from __future__ import annotations

__all__: list[str] = []
