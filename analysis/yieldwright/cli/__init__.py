"""The command line: parse, call, print. What it says is made elsewhere."""

from __future__ import annotations

from yieldwright.cli.program import main

__all__ = ["main"]
