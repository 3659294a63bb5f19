"""Figures, judged by their artists and their bytes, never by pictures."""

from __future__ import annotations
