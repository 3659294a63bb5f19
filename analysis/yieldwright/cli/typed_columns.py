"""Names of columns typed with commas between."""

from __future__ import annotations

import argparse

__all__ = ["NOTHING", "columns_again", "columns_or_nothing", "columns_typed", "names_typed"]

#: Stands for no column at all where columns are listed.
NOTHING = "nothing"


def names_typed(
    text: str, *, what: str = "nothing", example: str = "time_s,overall"
) -> tuple[str, ...]:
    """Return the names in a text, each once.

    Parameters
    ----------
    text : str
        As typed.
    what : str
        What a text without a name is said to name.
    example : str
        Of what could be typed.

    Returns
    -------
    tuple of str

    Raises
    ------
    argparse.ArgumentTypeError
        If it holds no name.

    Examples
    --------
    >>> names_typed("time_s, overall,overall")
    ('time_s', 'overall')
    """
    names = tuple(dict.fromkeys(part.strip() for part in text.split(",") if part.strip()))
    if not names:
        raise argparse.ArgumentTypeError(
            f"{text!r} names {what}: write names with commas between, as {example}"
        )
    return names


def columns_typed(text: str) -> tuple[str, ...]:
    """Return the columns in a text, each once.

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
    return names_typed(text, what="no column", example="grind_setting,temp_band")


def columns_or_nothing(text: str) -> tuple[str, ...]:
    """Return the columns in a text, none where it says so.

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


def columns_again(option: str, names: tuple[str, ...] | None) -> list[str]:
    """Return the words that type columns again.

    Parameters
    ----------
    option : str
        What they were typed behind.
    names : tuple of str or None
        As `columns_or_nothing` returns them; None where the option was not typed.

    Returns
    -------
    list of str

    Examples
    --------
    >>> columns_again("--allow-for", ("dose_g", "position"))
    ['--allow-for', 'dose_g,position']
    >>> columns_again("--allow-for", ()), columns_again("--allow-for", None)
    (['--allow-for', 'nothing'], [])
    """
    return [] if names is None else [option, ",".join(names) or NOTHING]
