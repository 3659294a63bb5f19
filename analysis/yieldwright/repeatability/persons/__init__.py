"""People on equal footing, and one person over the weeks."""

from __future__ import annotations

__all__: list[str] = []
