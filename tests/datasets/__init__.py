"""The shipped demo is what its README says it is."""

from __future__ import annotations
