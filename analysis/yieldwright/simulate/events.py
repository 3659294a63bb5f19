"""What happens on a day: a bag goes into the freezer, something is serviced."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

__all__ = ["Freeze", "Service"]


@dataclass(frozen=True, slots=True)
class Freeze:
    """A stretch of days that a bag lies in the freezer and does not age.

    Attributes
    ----------
    frozen_on : date
        Day it goes in.
    thawed_on : date or None
        Day it comes out; None while it is still inside.
    """

    frozen_on: date
    thawed_on: date | None = None


@dataclass(frozen=True, slots=True)
class Service:
    """Something cleaned or changed, and what it does to every shot from that day on.

    Attributes
    ----------
    serviced : str
        What was done, in the words of the log.
    serviced_on : date
        Day of the first shot after it.
    faster : float
        Share of the time that shots lose by it.
    more_ey_pct : float
        Yield gained by it. [% by mass]
    """

    serviced: str
    serviced_on: date
    faster: float = 0.0
    more_ey_pct: float = 0.0
