"""Turn a log of manual lever espresso shots into yields, honest regressions and one page."""

from __future__ import annotations

__all__ = ["__version__"]

__version__ = "0.1.0"
