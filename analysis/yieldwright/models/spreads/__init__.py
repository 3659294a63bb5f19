"""Standard deviations compared: ratios, differences, tests of equality, groups in one fit."""

from __future__ import annotations

__all__: list[str] = []
