"""What bags are called in a sentence."""

from __future__ import annotations

from typing import TYPE_CHECKING

from yieldwright.formatting import clip, listing, visible

if TYPE_CHECKING:
    from collections.abc import Sequence

__all__ = ["bag_name", "bags_called"]

_LONGEST = 40


def bag_name(code: str) -> str:
    """Return how a bag is called in a sentence.

    Parameters
    ----------
    code : str
        Its code in the log.

    Returns
    -------
    str

    Examples
    --------
    >>> bag_name("bag-22"), bag_name("22"), bag_name("")
    ('bag-22', 'bag 22', 'the bag without a code')
    """
    shown = clip(visible(code), _LONGEST)
    if not shown or shown == "unnamed":
        return "the bag without a code"
    return bags_called([shown])


def bags_called(codes: Sequence[str]) -> str:
    """Return the codes of bags as they are, and the noun only where they do not say it.

    Parameters
    ----------
    codes : sequence of str
        Codes in the log.

    Returns
    -------
    str
        Empty without a code.

    Examples
    --------
    >>> bags_called(["bag-22"]), bags_called(["21", "22"]), bags_called(["bag-1", "Bag 2"])
    ('bag-22', 'bags 21 and 22', 'bag-1 and Bag 2')
    """
    told = listing(list(codes))
    if not codes or all(code.casefold().startswith("bag") for code in codes):
        return told
    return f"{'bags' if len(codes) > 1 else 'bag'} {told}"
