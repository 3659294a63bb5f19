"""How much a flag matters: what may change a conclusion is told first."""

from __future__ import annotations

from typing import Literal

__all__ = ["GRAVITIES", "Gravity", "gravity_of"]

Gravity = Literal["telling", "unusual", "small"]

#: In the order they are told, with what stands above them.
GRAVITIES: dict[Gravity, str] = {
    "telling": "Kept but flagged, may change what the log says",
    "unusual": "Kept but flagged as unusual",
    "small": "Kept but flagged, minor",
}
_SMALL = (
    "characters, over the",
    "between the steps",
    "time of day is left out",
    "said to be approximate",
    "half-width",
)
_UNUSUAL = (" outside the usual ", ", outside ")


def gravity_of(reason: str) -> Gravity:
    """Return how much a flag matters; one we do not know is told first.

    Parameters
    ----------
    reason : str
        Of the flag.

    Returns
    -------
    {"telling", "unusual", "small"}

    Examples
    --------
    >>> gravity_of("dose_g is 23 g, outside the usual 14–22 g")
    'unusual'
    >>> gravity_of("36.6 % extraction is above the 30 % that water can dissolve")
    'telling'
    """
    if any(part in reason for part in _SMALL):
        return "small"
    return "unusual" if any(part in reason for part in _UNUSUAL) else "telling"
