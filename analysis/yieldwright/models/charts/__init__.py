"""Control charts: values in the order they came, with limits, rules and run lengths."""

from __future__ import annotations

__all__: list[str] = []
