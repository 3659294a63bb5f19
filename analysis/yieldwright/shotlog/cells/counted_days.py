"""Days that a program counted: what a bare number in a column of dates may stand for."""

from __future__ import annotations

import re
from datetime import UTC, date, datetime, timedelta

__all__ = ["counted_day"]

_SERIAL = re.compile(r"([0-9]{5})(?:[.,]([0-9]{1,15}))?")
_EPOCH = re.compile(r"([0-9]{10})(?:[0-9]{3})?")
_FROM_1900 = date(1899, 12, 30)  # day 0 of most spreadsheets
_FROM_1904 = date(1904, 1, 1)  # day 0 of a few old ones
_FIRST_YEAR = 2000


def counted_day(text: str) -> str:
    """Return the day or moment that a bare number may stand for, as a question.

    Parameters
    ----------
    text : str
        As typed.

    Returns
    -------
    str
        Empty where the number is no spreadsheet's day number and no computer's count of
        seconds since 2000.

    Examples
    --------
    >>> counted_day("46103")
    "a spreadsheet's day number? 46103 → 2026-03-22? (2030-03-23 where days count from 1904)"
    >>> counted_day("1772879100")
    'seconds since 1970? 1772879100 → 2026-03-07T10:25:00Z?'
    >>> counted_day("17")
    ''
    """
    if serial := _SERIAL.fullmatch(text):
        return _serial_sentence(text, int(serial[1]), float(f"0.{serial[2] or 0}"))
    if epoch := _EPOCH.fullmatch(text):
        return _epoch_sentence(text, datetime.fromtimestamp(int(epoch[1]), UTC))
    return ""


def _serial_sentence(text: str, days: int, fraction: float) -> str:
    """Return the day of a day number, by both ways of counting."""
    usual, rare = (origin + timedelta(days=days) for origin in (_FROM_1900, _FROM_1904))
    if usual.year < _FIRST_YEAR:
        return ""
    minutes = min(round(fraction * 1440), 1439)
    clock = f"T{minutes // 60:02}:{minutes % 60:02}" if fraction else ""
    return (
        f"a spreadsheet's day number? {text} → {usual.isoformat()}{clock}? "
        f"({rare.isoformat()} where days count from 1904)"
    )


def _epoch_sentence(text: str, moment: datetime) -> str:
    """Return the moment of a count of seconds or milliseconds."""
    if moment.year < _FIRST_YEAR:
        return ""
    unit = "seconds" if len(text) == 10 else "milliseconds"
    return f"{unit} since 1970? {text} → {moment:%Y-%m-%dT%H:%M:%SZ}?"
