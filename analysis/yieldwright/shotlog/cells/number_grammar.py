"""How a number may be written: signs, marks, thousands, clocks, ratios; no meaning yet."""

from __future__ import annotations

import math
import re
import unicodedata
from functools import cache
from typing import TYPE_CHECKING, NamedTuple

if TYPE_CHECKING:
    from yieldwright.shotlog.formats.source import Decimal

__all__ = [
    "Operand",
    "is_plain_number",
    "read_clock",
    "read_operand",
    "read_ratio",
    "swap_marks",
    "tidy",
]


class Operand(NamedTuple):
    """A number and the unit behind it.

    Attributes
    ----------
    value : float
        As typed; infinite where a float cannot hold it, NaN where it is too small for one.
    unit : str
        As typed; empty where there is none.
    """

    value: float
    unit: str = ""


class _Grammar(NamedTuple):
    """How numbers may be written with one decimal mark."""

    plain: re.Pattern[str]
    operand: re.Pattern[str]
    refraction: re.Pattern[str]
    clock: re.Pattern[str]
    parts: re.Pattern[str]
    ratio: re.Pattern[str]
    thousands: re.Pattern[str]


#: Blanks of print that may stand between thousands, or between a number and its unit.
_SIGNS = str.maketrans(
    {
        **dict.fromkeys("\u00a0\u2007\u2009\u202f", " "),
        **dict.fromkeys("\u200b\u200c\u200d\u200e\u200f\u2060\ufeff", ""),  # take no room
        **dict.fromkeys("\N{MINUS SIGN}\ufe63\uff0d", "-"),
        **dict(zip("\u2019\u066c\uff0e\uff0c\uff1a", "''.,:", strict=True)),
    }
)
_MARKS = str.maketrans(".,", ",.")
_ZERO = re.compile(r"[+-]?[0.,]*(?:[eE].*)?")


def is_plain_number(text: str, decimal: Decimal) -> bool:
    """Return whether a cell holds a sign, digits and a decimal mark at most.

    Parameters
    ----------
    text : str
        As typed.
    decimal : {"point", "comma"}
        What stands before decimals.

    Returns
    -------
    bool

    Examples
    --------
    >>> is_plain_number("18.2", "point"), is_plain_number("18.2", "comma")
    (True, False)
    """
    return _grammar(decimal).plain.fullmatch(text) is not None


def tidy(text: str, decimal: Decimal) -> str:
    r"""Return a cell with the digits of any script as 0–9, and thousands written together.

    Parameters
    ----------
    text : str
        As typed.
    decimal : {"point", "comma"}
        What stands before decimals.

    Returns
    -------
    str

    Examples
    --------
    >>> tidy(" 1\u202f036.2 g ", "point"), tidy("1.036,2", "comma"), tidy("1,036", "point")
    ('1036.2 g', '1036,2', '1,036')
    """
    if not text.isascii():
        text = "".join(map(_digit, text.translate(_SIGNS)))
        text = text.replace("\u066b", "." if decimal == "point" else ",")
    text = text.strip().removeprefix("'")  # by which spreadsheets keep a cell as typed
    return _grammar(decimal).thousands.sub(_joined, text)


def swap_marks(text: str) -> str:
    """Return a cell with commas for its points and points for its commas.

    Parameters
    ----------
    text : str
        As typed.

    Returns
    -------
    str

    Examples
    --------
    >>> swap_marks("1.036,2")
    '1,036.2'
    """
    return text.translate(_MARKS)


def read_operand(text: str, decimal: Decimal) -> Operand | None:
    """Return a number with whatever unit stands behind it, None where there is no number.

    Parameters
    ----------
    text : str
        Without outer blanks.
    decimal : {"point", "comma"}
        What stands before decimals.

    Returns
    -------
    Operand or None

    Examples
    --------
    >>> read_operand("18.2 g.", "point")
    Operand(value=18.2, unit='g.')
    """
    grammar = _grammar(decimal)
    if found := grammar.operand.fullmatch(text):
        unit = (found[2] or "").strip()
        return None if unit[:1].isnumeric() else Operand(_float(found[1]), unit)  # 7½
    if found := grammar.refraction.fullmatch(text):
        return Operand(_float(found[2]), found[1])
    return None


def read_clock(text: str, decimal: Decimal) -> Operand | None:
    """Return the seconds of minutes:seconds, or of minutes and seconds in words.

    Parameters
    ----------
    text : str
        Without outer blanks.
    decimal : {"point", "comma"}
        What stands before decimals.

    Returns
    -------
    Operand or None

    Examples
    --------
    >>> read_clock("1:02", "point"), read_clock("1 min 2 s", "point")
    (Operand(value=62.0, unit='s'), Operand(value=62.0, unit='s'))
    """
    grammar = _grammar(decimal)
    if found := grammar.clock.fullmatch(text):
        return Operand(60.0 * int(found[1]) + _float(found[2]), "s")
    found = grammar.parts.fullmatch(text)
    if found is None or not (found[1] or found[3]):
        return None
    whole_minutes = 60 * int(found[1] or 0) + int(found[2])
    return Operand(60.0 * whole_minutes + _float(found[3] or "0"), "s")


def read_ratio(text: str, decimal: Decimal) -> Operand | None:
    """Return r of a ratio written 1:r, 1/r or r×.

    Parameters
    ----------
    text : str
        Without outer blanks.
    decimal : {"point", "comma"}
        What stands before decimals.

    Returns
    -------
    Operand or None

    Examples
    --------
    >>> read_ratio("1:2.1", "point"), read_ratio("2:1", "point")
    (Operand(value=2.1, unit=''), None)
    """
    found = _grammar(decimal).ratio.fullmatch(text)
    return Operand(_float(next(part for part in found.groups() if part))) if found else None


def _digit(sign: str) -> str:
    value = unicodedata.decimal(sign, None)
    return sign if value is None else str(value)


def _joined(found: re.Match[str]) -> str:
    """Return digits in groups of three without what stands between the groups."""
    whole = re.sub("[^0-9]", "", found["whole"] or found["plain"])
    return whole + (found["rest"] or "")


def _float(digits: str) -> float:
    value = float(digits.replace(",", "."))
    return math.nan if value == 0 and not _ZERO.fullmatch(digits) else value


@cache
def _grammar(decimal: Decimal) -> _Grammar:
    mark, other = (r"\.", ",") if decimal == "point" else (",", r"\.")
    digits = rf"(?:[0-9]+(?:{mark}[0-9]*)?|{mark}[0-9]+)"
    number = rf"([+-]?{digits}(?:[eE][+-]?[0-9]{{1,4}})?)"
    free = rf"({digits})"
    seconds = rf"([0-5]?[0-9](?:{mark}[0-9]+)?)"
    first = r"(?<![0-9.,])[1-9][0-9]{0,2}"
    return _Grammar(
        plain=re.compile(rf"[+-]?[0-9]+(?:{mark}[0-9]+)?"),
        operand=re.compile(
            number + r"\s*((?:[^\W\d_]|[°º˚℃℉%‰\"'″′(\[])[^0-9+±~–—…-]*(?:[23³]|20|100\s?g)?)?"
        ),
        refraction=re.compile(rf"(n_?D(?:20)?)\s*[=:]?\s*{number}", re.IGNORECASE),
        clock=re.compile(rf"([0-9]{{1,3}}):([0-5][0-9](?:{mark}[0-9]+)?)"),
        parts=re.compile(
            r"(?:([0-9]{1,2})\s*h(?:ours?|rs?)?\.?\s*)?"
            r"([0-9]{1,3})\s*(?:m|mins?|minutes?|′|')\.?\s*"
            rf"(?:{seconds}\s*(?:s|secs?|seconds?|″|\"|'')\.?)?",
            re.IGNORECASE,
        ),
        ratio=re.compile(rf"1\s*[:/]\s*{free}|{free}\s*[x×]|[x×]\s*{free}", re.IGNORECASE),
        thousands=re.compile(
            rf"(?:(?P<plain>{first}(?:[ '][0-9]{{3}})+)"
            rf"|(?P<whole>{first}(?:(?:{other}[0-9]{{3}})+(?={mark})|(?:{other}[0-9]{{3}}){{2,}})))"
            rf"(?P<rest>{mark}[0-9]+)?(?![0-9.,' ]*[0-9])"
        ),
    )
