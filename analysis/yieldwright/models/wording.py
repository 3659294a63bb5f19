"""How names taken from data appear in messages: quoted, one line, never long."""

from __future__ import annotations

from collections.abc import Hashable, Iterable
from difflib import get_close_matches

__all__ = ["nearest", "quoted", "quoted_list"]

LONGEST_SHOWN = 60


def quoted(name: Hashable) -> str:
    """Return a text in quotes, control characters escaped and overlong ones clipped.

    Parameters
    ----------
    name : hashable
        A column header or level, whatever it holds.

    Returns
    -------
    str

    Examples
    --------
    >>> quoted("grind")
    "'grind'"
    """
    shown = repr(name) if isinstance(name, str) else str(name)
    return shown if len(shown) <= LONGEST_SHOWN else f"{shown[: LONGEST_SHOWN - 1]}…"


def quoted_list(names: Iterable[Hashable]) -> str:
    """Return names in quotes, joined as a sentence joins them.

    Parameters
    ----------
    names : iterable of hashable
        Column headers or levels.

    Returns
    -------
    str

    Examples
    --------
    >>> quoted_list(["a", "b", "c"])
    "'a', 'b' and 'c'"
    """
    *most, last = [quoted(name) for name in names] or ["nothing"]
    return f"{', '.join(most)} and {last}" if most else last


def nearest(name: str, known: Iterable[Hashable]) -> str:
    """Return the remedy for a name that is not known: the nearest ones, or all of them.

    Parameters
    ----------
    name : str
        What was asked for.
    known : iterable of hashable
        What there is.

    Returns
    -------
    str

    Examples
    --------
    >>> nearest("grnd", ["grind", "band"])
    "did you mean 'grind'?"
    """
    texts = [str(each) for each in known]
    close = get_close_matches(name[:LONGEST_SHOWN], texts, n=2)
    if close:
        return f"did you mean {' or '.join(map(quoted, close))}?"
    return f"there is {quoted_list(texts[:12])}"
