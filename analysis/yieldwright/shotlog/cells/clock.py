"""Times of day from text: 24 or 12 hours, with or without seconds and an offset from UTC."""

from __future__ import annotations

import re
from datetime import UTC, time, timedelta, timezone
from typing import NamedTuple

__all__ = ["NoClock", "read_clock", "zone_of"]

_WRITE = "write hours and minutes, such as 2026-03-07T10:25"
_OFFSET = r"[+-](?:0[0-9]|1[0-4])(?::?[0-5][0-9])?"  # no place on earth is further from UTC
_ZONE = rf"(?:\s*(?P<zone>z|utc|gmt|(?:(?:utc|gmt)\s?)?{_OFFSET}))?"
_TWELVE = r"(?:\s*(?P<half>[ap])\.?\s?m\.?)?"
_CLOCK = re.compile(
    r"(?P<hours>[0-9]{1,2})"
    r"(?:\s?(?::|\.|h|uhr)\s?(?P<minutes>[0-9]{2})"
    r"(?:[:.](?P<seconds>[0-9]{2})(?:[.,](?P<fraction>[0-9]{1,12}))?)?)?"
    rf"(?:\s?(?:h|hrs|uhr))?{_TWELVE}{_ZONE}"
)
_BASIC = re.compile(
    r"(?P<hours>[0-9]{2})(?P<minutes>[0-9]{2})(?:(?P<seconds>[0-9]{2})"
    rf"(?:[.,](?P<fraction>[0-9]{{1,12}}))?)?{_TWELVE}{_ZONE}"
)
_NAMED_ZONE = re.compile(r"[0-9:.]+\s?(?:[ap]\.?m\.?)?\s?\(?([a-z]{3,5})\)?")


class NoClock(NamedTuple):
    """Why a text is no time of day.

    Attributes
    ----------
    reason : str
        To follow the text it speaks of.
    suggestion : str
        What may have been meant, or what to do.
    """

    reason: str
    suggestion: str


def read_clock(text: str) -> time | NoClock:
    """Return the time of day in a text, aware of its zone where one is written.

    Digits beyond microseconds are left out.

    Parameters
    ----------
    text : str
        As typed, without the day.

    Returns
    -------
    time or NoClock

    Examples
    --------
    >>> read_clock("7:05 PM"), read_clock("10h25")
    (datetime.time(19, 5), datetime.time(10, 25))
    >>> read_clock("10:25+01").utcoffset()
    datetime.timedelta(seconds=3600)
    >>> read_clock("24:00").suggestion
    'is 00:00 of the next day meant?'
    """
    plain = text.strip().casefold().replace("\N{MINUS SIGN}", "-")
    found = _CLOCK.fullmatch(plain) or _BASIC.fullmatch(plain)
    if found is None:
        return _no_clock(plain)
    hours, minutes, seconds = (int(found[part] or 0) for part in ("hours", "minutes", "seconds"))
    if found["half"]:
        if not 1 <= hours <= 12:
            return NoClock(f"has no hour {hours} in twelve", f"{hours % 24}:{minutes:02}?")
        hours = hours % 12 + (12 if found["half"] == "p" else 0)
    if hours > 23 or minutes > 59 or seconds > 59:
        return _beyond(hours, minutes, seconds)
    micros = int((found["fraction"] or "").ljust(6, "0")[:6])
    return time(hours, minutes, seconds, micros, _written_zone(found["zone"]))


def zone_of(offset: str) -> timezone:
    """Return the zone of an offset from UTC.

    Parameters
    ----------
    offset : str
        Such as "+01:00", "+0100" or "+01".

    Returns
    -------
    timezone

    Examples
    --------
    >>> zone_of("-03:30").utcoffset(None).total_seconds() / 3600
    -3.5
    """
    sign = -1 if offset.startswith("-") else 1
    digits = offset[1:].replace(":", "")
    return timezone(sign * timedelta(hours=int(digits[:2]), minutes=int(digits[2:] or 0)))


def _written_zone(text: str | None) -> timezone | None:
    """Return the zone behind a time, None where none is written."""
    if text is None:
        return None
    offset = text.removeprefix("utc").removeprefix("gmt").strip()
    return zone_of(offset) if offset[:1] in ("+", "-") else UTC


def _beyond(hours: int, minutes: int, seconds: int) -> NoClock:
    """Return why a clock does not show these figures."""
    if (hours, minutes, seconds) == (24, 0, 0):
        return NoClock("ends in 24:00", "is 00:00 of the next day meant?")
    if seconds == 60 and hours <= 23 and minutes <= 59:
        return NoClock("ends in a second 60", f"{hours:02}:{minutes:02}:59?")
    return NoClock("ends in no time of day", _WRITE)


def _no_clock(plain: str) -> NoClock:
    named = _NAMED_ZONE.fullmatch(plain)
    if named is None:
        return NoClock("ends in no time of day", _WRITE)
    return NoClock(
        f"names the zone {named[1].upper()}, which has no one offset",
        "write the offset, such as +01:00, in its place",
    )
