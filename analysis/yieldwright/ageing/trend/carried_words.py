"""What is said where shots, or sessions, are like the ones before them."""

from __future__ import annotations

from typing import TYPE_CHECKING

from yieldwright.cautions import Caution
from yieldwright.formatting import number, p_words
from yieldwright.models.intervals.power import ALPHA

if TYPE_CHECKING:
    from collections.abc import Iterator

    from yieldwright.models.trend.serial import Carried, SerialCheck

__all__ = ["carried_cautions"]


def carried_cautions(found: SerialCheck | None) -> tuple[Caution, ...]:
    """Return that what a trend leaves carries over, where it clearly does.

    Parameters
    ----------
    found : SerialCheck or None
        Of the rows of a trend.

    Returns
    -------
    tuple of Caution
        Only likeness counts, at 2.5 % for each of the two checks: neighbours that differ
        more than others make intervals too wide and not too narrow.

    Examples
    --------
    >>> carried_cautions(None)
    ()
    """
    return () if found is None else tuple(_told(found))


def _told(found: SerialCheck) -> Iterator[Caution]:
    if _alike(found.across):
        yield Caution(
            "sessions-alike",
            "care",
            f"Sessions are like the ones before them ({_figures(found.across)}), so there is less "
            "in this log than its number of sessions says: intervals of the drift are too narrow.",
            "Follow the bag for longer; note what lasts over days, such as weather or a service.",
            ("session",),
        )
    if _alike(found.inside):
        yield Caution(
            "shots-alike",
            "care",
            f"Shots are like the ones just before them ({_figures(found.inside)}): something "
            "carried over, such as heat or old grounds.",
            "Purge after every change of grind and keep gaps alike.",
            ("position",),
        )


def _alike(found: Carried | None) -> bool:
    return found is not None and found.correlation > found.expected and found.p_value < ALPHA


def _figures(found: Carried | None) -> str:
    if found is None:
        return ""
    return (
        f"correlation {number(found.correlation, figures=2)} where "
        f"{number(found.expected, figures=2)} is expected, {p_words(found.p_value)}"
    )
