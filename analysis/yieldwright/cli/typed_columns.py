"""Names of columns typed with commas between."""

from __future__ import annotations

import argparse

__all__ = ["NOTHING", "columns_or_nothing", "columns_typed"]

#: Stands for no column at all where columns are listed.
NOTHING = "nothing"


def columns_typed(text: str) -> tuple[str, ...]:
    """Return the names in a text, each once.

    Parameters
    ----------
    text : str
        As typed.

    Returns
    -------
    tuple of str

    Raises
    ------
    argparse.ArgumentTypeError
        If it holds no name.

    Examples
    --------
    >>> columns_typed("grind_setting, dose_g,dose_g")
    ('grind_setting', 'dose_g')
    """
    names = tuple(dict.fromkeys(part.strip() for part in text.split(",") if part.strip()))
    if not names:
        raise argparse.ArgumentTypeError(
            f"{text!r} names no column: write names with commas between, as "
            "grind_setting,temp_band"
        )
    return names


def columns_or_nothing(text: str) -> tuple[str, ...]:
    """Return the names in a text, none where it says so.

    Parameters
    ----------
    text : str
        As typed.

    Returns
    -------
    tuple of str

    Raises
    ------
    argparse.ArgumentTypeError
        If it holds no name.

    Examples
    --------
    >>> columns_or_nothing("nothing")
    ()
    """
    names = columns_typed(text)
    return () if names == (NOTHING,) else names
