"""Other shots of a log, offered by name and as a command that any shell takes as meant."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

from yieldwright.cli.streams import say, say_command
from yieldwright.formatting import clip, listing, visible

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence
    from datetime import date

    from rich.console import Console

    from yieldwright.taste.columns.comparable import ComparableSet

__all__ = ["can_be_typed", "choosing", "day_again", "named_some", "say_other_shots"]

_NAMED = 5
_LONGEST_NAME = 60

#: A code that any shell takes as one word, in double quotes where it has a blank.
_PLAIN_CODE = re.compile(r"\w[\w .+:/-]*")


def can_be_typed(other: ComparableSet) -> bool:
    """Return whether any shell takes the codes of other shots as they stand.

    Parameters
    ----------
    other : ComparableSet
        Shots of a bag and a grinder.

    Returns
    -------
    bool
        False too where neither has a code.

    Examples
    --------
    >>> import pandas as pd
    >>> from yieldwright.taste.columns.comparable import ComparableSet
    >>> [can_be_typed(ComparableSet(bag, "g1", pd.DataFrame())) for bag in ("bag-7", "$HOME")]
    [True, False]
    """
    codes = [code for code in (other.bag, other.grinder) if code]
    return bool(codes) and all(_PLAIN_CODE.fullmatch(code) for code in codes)


def choosing(bag: str, grinder: str) -> list[str]:
    """Return the options that choose a bag and a grinder.

    Parameters
    ----------
    bag, grinder : str
        Codes; empty where none is chosen.

    Returns
    -------
    list of str

    Examples
    --------
    >>> choosing("bag-7", "")
    ['--bag', 'bag-7']
    """
    return [*(["--bag", bag] if bag else []), *(["--grinder", grinder] if grinder else [])]


def day_again(day: date | None) -> list[str]:
    """Return the options that judge a log as on the same day.

    Parameters
    ----------
    day : date or None
        As typed; None where none was.

    Returns
    -------
    list of str

    Examples
    --------
    >>> from datetime import date
    >>> day_again(date(2026, 3, 8)), day_again(None)
    (['--as-of', '2026-03-08'], [])
    """
    return [] if day is None else ["--as-of", day.isoformat()]


def named_some(names: Sequence[str], *, most: int = _NAMED) -> str:
    """Return names as a sentence lists them, those beyond a few as a count.

    Parameters
    ----------
    names : sequence of str
        From a log; a long one is cut.
    most : int
        How many are named.

    Returns
    -------
    str

    Examples
    --------
    >>> named_some(["bag-1", "bag-2", "bag-3", "bag-4"], most=2)
    'bag-1, bag-2 and 2 more'
    """
    shown = [clip(visible(name), _LONGEST_NAME) for name in names[:most]]
    beyond = len(names) - len(shown)
    return listing([*shown, *([f"{beyond:,} more"] if beyond else [])])


def say_other_shots(
    writer: Console,
    others: Sequence[ComparableSet],
    *,
    named: Callable[[ComparableSet], str],
    asking: Callable[[ComparableSet], Sequence[str]],
) -> None:
    """Print which other shots could be asked about, and how; nothing where there are none.

    Parameters
    ----------
    writer : rich.console.Console
        From `console`.
    others : sequence of ComparableSet
        The last pulled first.
    named : callable
        From shots to what a sentence calls them.
    asking : callable
        From shots to the words of the command; it is printed of the first whose codes any
        shell takes as they stand.
    """
    if not others:
        return
    say(writer, f"\nAlso in this log: {named_some([named(each) for each in others])}.")
    first = next((each for each in others if can_be_typed(each)), None)
    if first is not None:
        say_command(writer, asking(first))
