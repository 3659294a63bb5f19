"""From the values of a Parquet column to the texts a person would type for them.

Days, times and instants are worked out from the whole numbers that are stored: the
library's own conversions fail, or round, on values outside its calendar.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable
from datetime import UTC, date, datetime, timedelta, timezone, tzinfo
from functools import cache
from typing import TYPE_CHECKING, Any, NamedTuple
from zoneinfo import ZoneInfo, available_timezones

import numpy as np

from yieldwright.shotlog.formats.texts import Figure

if TYPE_CHECKING:
    import pyarrow as pa

__all__ = ["MIDNIGHT", "Text", "Unreadable", "known_zone", "texts_of", "what_no_cell_holds"]

#: How an instant ends that is a day only.
MIDNIGHT = "T00:00"

_PER_SECOND = {"s": 1, "ms": 10**3, "us": 10**6, "ns": 10**9}
_DAY_SECONDS = 86_400
_DAY_ONE = date(1970, 1, 1)
_EPOCH = datetime(1970, 1, 1, tzinfo=UTC)
_OFFSET = re.compile(r"([+-])([01][0-9]|2[0-3]):([0-5][0-9])")
#: From here to there a number is written without exponent.
_LEAST, _MOST = 1e-6, 1e16
_LONGEST_TEXT = 1_000_000


class Unreadable(NamedTuple):
    """A value that no text stands for.

    Attributes
    ----------
    holds : str
        What its cell holds instead.
    """

    holds: str


Text = str | Unreadable


def what_no_cell_holds(kind: pa.DataType) -> str:
    """Return in words what a type holds that cannot be one cell; empty for all others.

    Parameters
    ----------
    kind : DataType
        Type of a column.

    Returns
    -------
    str
    """
    from pyarrow import types as is_a

    if is_a.is_nested(kind):
        return "lists or records"
    if any(test(kind) for test in (is_a.is_binary, is_a.is_large_binary, is_a.is_binary_view)):
        return "bytes"
    if is_a.is_fixed_size_binary(kind):
        return "bytes"
    return "" if _reader(kind) else f"values of type {kind}"


def known_zone(name: str) -> tzinfo | None:
    """Return a time zone by its name or offset; None where we do not know it.

    Parameters
    ----------
    name : str
        From a file: looked up in the list of zones, never on the disk.

    Returns
    -------
    tzinfo or None

    Examples
    --------
    >>> known_zone("-03:30"), known_zone("../UTC")
    (datetime.timezone(datetime.timedelta(days=-1, seconds=73800)), None)
    """
    if found := _OFFSET.fullmatch(name):
        ahead = timedelta(hours=int(found[2]), minutes=int(found[3]))
        return timezone(ahead if found[1] == "+" else -ahead)
    return ZoneInfo(name) if name in _zone_names() else None


def texts_of(values: pa.Array) -> list[Text]:
    """Return the texts that stand for values of one column.

    Parameters
    ----------
    values : Array
        Of a type that a cell can hold.

    Returns
    -------
    list of str or Unreadable
        A number is a `Figure`; a missing value is an empty text.

    Raises
    ------
    TypeError
        If no cell holds the type.
    """
    read = _reader(values.type)
    if read is None:
        raise TypeError(f"no cell holds values of type {values.type}")
    return read(values)


def _reader(kind: pa.DataType) -> Callable[[Any], list[Text]] | None:
    return next((read for test, read in _readers() if test(kind)), None)


@cache
def _readers() -> tuple[tuple[Callable[[Any], bool], Callable[[Any], list[Text]]], ...]:
    """Return what each family of types is read by."""
    from pyarrow import types as is_a

    return (
        (is_a.is_null, lambda values: [""] * len(values)),
        (is_a.is_boolean, _yes_or_no),
        (is_a.is_integer, _whole_numbers),
        (is_a.is_floating, _floats),
        (is_a.is_decimal, _decimals),
        (is_a.is_string, _strings),
        (is_a.is_large_string, _strings),
        (is_a.is_string_view, _strings),
        (is_a.is_date, _days),
        (is_a.is_timestamp, _moments),
        (is_a.is_time, _times),
        (is_a.is_duration, _durations),
    )


@cache
def _zone_names() -> frozenset[str]:
    return frozenset(available_timezones())


def _yes_or_no(values: pa.Array) -> list[Text]:
    words = {True: "yes", False: "no", None: ""}
    return [words[value] for value in values.to_pylist()]


def _whole_numbers(values: pa.Array) -> list[Text]:
    return ["" if value is None else Figure(value) for value in values.to_pylist()]


def _decimals(values: pa.Array) -> list[Text]:
    """Return decimals with all the places that their column keeps."""
    return ["" if value is None else Figure(f"{value:f}") for value in values.to_pylist()]


def _floats(values: pa.Array) -> list[Text]:
    return [_shortest(value) for value in values.to_numpy(zero_copy_only=False)]


def _shortest(value: np.floating[Any]) -> Text:
    """Return the fewest digits that give the number back at its own precision."""
    if np.isnan(value):
        return ""
    text = str(value)
    if "e" in text and _LEAST <= abs(value) < _MOST:
        text = np.format_float_positional(value, trim="-")
    return Figure(text.removesuffix(".0"))


def _strings(values: pa.Array) -> list[Text]:
    import pyarrow as pa

    try:
        texts = values.to_pylist()
    except UnicodeDecodeError:
        texts = list(map(_decoded, values.cast(pa.large_binary()).to_pylist()))
    return [_within_reason(text or "") for text in texts]


def _decoded(raw: bytes | None) -> Text:
    try:
        return (raw or b"").decode("utf-8")
    except UnicodeDecodeError:
        return Unreadable("a text that is not in UTF-8")


def _within_reason(text: Text) -> Text:
    if isinstance(text, Unreadable) or len(text) <= _LONGEST_TEXT:
        return text
    return Unreadable(f"a text of {len(text):,} characters")


def _stored(values: pa.Array) -> Iterable[int | None]:
    """Return the whole numbers by which days, times and instants are stored."""
    import pyarrow as pa

    width = pa.int32() if values.type.bit_width == 32 else pa.int64()
    whole: list[int | None] = values.cast(width).to_pylist()
    return whole


def _days(values: pa.Array) -> list[Text]:
    in_a_day = 1 if values.type.bit_width == 32 else 1000 * _DAY_SECONDS
    return ["" if n is None else _day(n // in_a_day) for n in _stored(values)]


def _day(days: int) -> Text:
    try:
        return (_DAY_ONE + timedelta(days=days)).isoformat()
    except OverflowError:
        return Unreadable("a day that no calendar has")


def _moments(values: pa.Array) -> list[Text]:
    name, per_second = values.type.tz, _PER_SECOND[values.type.unit]
    zone = None if name is None else known_zone(name) or UTC
    return ["" if n is None else _moment(n, per_second, zone) for n in _stored(values)]


def _moment(stored: int, per_second: int, zone: tzinfo | None) -> Text:
    """Return day and time, seconds only where there are some, and the offset of a zone."""
    seconds, rest = divmod(stored, per_second)
    try:
        at = (_EPOCH + timedelta(seconds=seconds)).astimezone(zone or UTC)
    except (OverflowError, ValueError):
        return Unreadable("a moment that no calendar has")
    clock = at.isoformat(timespec="seconds")[:19] + _fraction(rest, per_second)
    return clock.removesuffix(":00" if not rest and not at.second else "\0") + _offset(at, zone)


def _offset(at: datetime, zone: tzinfo | None) -> str:
    return at.isoformat(timespec="seconds")[19:] if zone else ""


def _times(values: pa.Array) -> list[Text]:
    per_second = _PER_SECOND[values.type.unit]
    return ["" if n is None else _time(n, per_second) for n in _stored(values)]


def _time(stored: int, per_second: int) -> Text:
    seconds, rest = divmod(stored, per_second)
    if not 0 <= seconds < _DAY_SECONDS:
        return Unreadable("a time that no day has")
    minutes, seconds = divmod(seconds, 60)
    return f"{minutes // 60:02}:{minutes % 60:02}:{seconds:02}{_fraction(rest, per_second)}"


def _durations(values: pa.Array) -> list[Text]:
    per_second = _PER_SECOND[values.type.unit]
    return ["" if n is None else _duration(n, per_second) for n in _stored(values)]


def _duration(stored: int, per_second: int) -> Text:
    """Return a duration in seconds, its unit with it: the column may be in minutes."""
    seconds, rest = divmod(abs(stored), per_second)
    return Figure(f"{'-' if stored < 0 else ''}{seconds}{_fraction(rest, per_second)} s")


def _fraction(rest: int, per_second: int) -> str:
    places = len(str(per_second)) - 1
    return f".{rest:0{places}}".rstrip("0") if rest else ""
