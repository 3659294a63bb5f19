"""What a reader must know before trusting the effects: the checks behind every fit."""

from __future__ import annotations

from yieldwright.taste.cautioning.gathering import cautions_of

__all__ = ["cautions_of"]
