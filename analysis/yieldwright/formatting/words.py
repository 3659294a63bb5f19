"""Words for display: counts, lists, and text from a log made safe to show."""

from __future__ import annotations

import html
import unicodedata
from collections.abc import Sequence

__all__ = [
    "clip",
    "count",
    "html_text",
    "listing",
    "mathtext_safe",
    "sentence_case",
    "visible",
    "with_article",
]


def count(n: int, noun: str, plural: str = "") -> str:
    """Return a count with its noun in the right number.

    Parameters
    ----------
    n : int
        How many.
    noun : str
        For one.
    plural : str
        For any other count; by default the noun with an s.

    Returns
    -------
    str

    Examples
    --------
    >>> count(1, "shot"), count(3, "shot"), count(0, "entry", "entries")
    ('1 shot', '3 shots', '0 entries')
    """
    return f"{n:,} {noun}" if n == 1 else f"{n:,} {plural or noun + 's'}"


def listing(words: Sequence[str], *, last: str = "and") -> str:
    """Return words as a sentence lists them.

    Parameters
    ----------
    words : sequence of str
        What to list.
    last : str
        Word before the last one.

    Returns
    -------
    str

    Examples
    --------
    >>> listing(["grind", "band", "taper"])
    'grind, band and taper'
    """
    if len(words) < 2:
        return "".join(words)
    return f"{', '.join(words[:-1])} {last} {words[-1]}"


def sentence_case(text: str) -> str:
    """Return a text as it begins a sentence; for our own words, not for codes of a log.

    Parameters
    ----------
    text : str
        Words of ours, not empty.

    Returns
    -------
    str

    Examples
    --------
    >>> sentence_case("grind setting and roast age")
    'Grind setting and roast age'
    """
    return f"{text[0].upper()}{text[1:]}"


def with_article(noun: str) -> str:
    """Return a noun with its indefinite article, by its first letter.

    Parameters
    ----------
    noun : str
        Words of ours, not empty.

    Returns
    -------
    str

    Examples
    --------
    >>> with_article("shot time"), with_article("overall score")
    ('a shot time', 'an overall score')
    """
    return f"{'an' if noun[0] in 'aeiou' else 'a'} {noun}"


def clip(text: str, limit: int) -> str:
    """Return a text cut to a length, with an ellipsis where something was cut.

    Parameters
    ----------
    text : str
        From anywhere.
    limit : int
        Characters at most.

    Returns
    -------
    str

    Examples
    --------
    >>> clip("sweet and long", 6)
    'sweet…'
    """
    return text if len(text) <= limit else text[: max(limit - 1, 0)].rstrip() + "…"


def visible(text: str) -> str:
    r"""Return a text with line breaks as spaces and control characters shown as codes.

    Keeps a log from steering a terminal or turning the direction of a line.

    Parameters
    ----------
    text : str
        From a log.

    Returns
    -------
    str

    Examples
    --------
    >>> visible("two\nlines, \x1b[31mred")
    'two lines, \\x1b[31mred'
    """
    return "".join(_shown(character) for character in text)


def html_text(text: str) -> str:
    r"""Return a text safe to stand in HTML, in content and in quoted attributes.

    Parameters
    ----------
    text : str
        From a log.

    Returns
    -------
    str

    Examples
    --------
    >>> html_text("<b>")
    '&lt;b&gt;'
    """
    return html.escape(visible(text), quote=True)


def mathtext_safe(text: str) -> str:
    r"""Return a text that a figure draws as it stands, dollar signs included.

    Parameters
    ----------
    text : str
        From a log.

    Returns
    -------
    str

    Examples
    --------
    >>> mathtext_safe("$^$")
    '\\$^\\$'
    """
    return visible(text).replace("$", r"\$")


def _shown(character: str) -> str:
    """Return a character, or its code where it is control, format or unassigned."""
    if character in "\n\r\t\u2028\u2029":
        return " "
    if unicodedata.category(character)[0] != "C":
        return character
    code = ord(character)
    return f"\\x{code:02x}" if code < 0x100 else f"\\u{code:04x}"
