"""The simulated bench keeps its own laws, and its noise is the noise it claims."""

from __future__ import annotations
