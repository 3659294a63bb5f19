"""Columns of plain days read at once are what the same cells give one by one."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from yieldwright.shotlog.cells.days import read_day, read_moment
from yieldwright.shotlog.cells.plain_days import read_days, read_moments

OFFSETS = ["+00:00", "+01:00", "-03:30", "+14:00"]
TAILS = ["", "T10:25", " 10:25", "T10:25:30", "T23:59:59Z", "T00:00-09:30", "T00:00:00+14:00"]

plain_days = st.dates(date(2000, 1, 1), date(9998, 12, 31)).map(date.isoformat)
plain_moments = st.one_of(st.just(""), st.tuples(plain_days, st.sampled_from(TAILS)).map("".join))
letters = st.sampled_from("0123456789-:+TZ t\n.,/–\u0661")


@st.composite
def nearly_plain(draw: st.DrawFn) -> str:
    """Return a plain text with one place replaced, put in or taken out."""
    text = draw(plain_moments)
    at = draw(st.integers(0, len(text)))
    return text[:at] + draw(st.one_of(letters, st.just(""))) + text[at + draw(st.booleans()) :]


def one_by_one(texts: list[str], offset: str) -> list[tuple[date | None, datetime | None]]:
    """Return days and instants as the reader of single cells has them."""
    pulls = [read_moment(text, None, offset) for text in texts]
    assert all(not pull.refusal for pull in pulls)
    return [(pull.value.day, pull.value.moment) if pull.value else (None, None) for pull in pulls]


def at_once(texts: list[str], offset: str) -> list[tuple[date | None, datetime | None]] | None:
    found = read_moments(texts, offset)
    if found is None:
        return None
    days = [day and day.date() for day in found.days.tolist()]
    instants = [at and at.replace(tzinfo=UTC) for at in found.moments.tolist()]
    return list(zip(days, instants, strict=True))


@given(st.lists(plain_moments, max_size=12), st.sampled_from(OFFSETS))
def test_plain_moments_are_read_as_single_cells_are(texts: list[str], offset: str) -> None:
    assert at_once(texts, offset) == one_by_one(texts, offset)


@given(st.lists(nearly_plain(), max_size=4), st.sampled_from(OFFSETS))
def test_damaged_moments_are_read_as_single_cells_are_or_left_to_them(
    texts: list[str], offset: str
) -> None:
    found = at_once(texts, offset)
    assert found is None or found == one_by_one(texts, offset)


@given(st.lists(st.one_of(st.just(""), plain_days), max_size=12))
def test_plain_days_are_read_as_single_cells_are(texts: list[str]) -> None:
    found = read_days(texts)
    assert found is not None
    assert [day and day.date() for day in found.tolist()] == [
        read_day(text, None).value for text in texts
    ]


@given(st.lists(nearly_plain(), max_size=4))
def test_damaged_days_are_read_as_single_cells_are_or_left_to_them(texts: list[str]) -> None:
    found = read_days(texts)
    cells = [read_day(text, None) for text in texts]
    if found is not None:
        assert [day and day.date() for day in found.tolist()] == [cell.value for cell in cells]
        assert not any(cell.flag or cell.refusal for cell in cells)


@given(st.lists(st.text(), max_size=4))
def test_no_text_raises(texts: list[str]) -> None:
    read_days(texts)
    read_moments(texts, "+01:00")


def test_long_columns_are_read_beyond_the_first_block() -> None:
    days = np.datetime64("2001-01-01") + np.arange(70_000) % 9_000
    found = read_days(days.astype(str).tolist())
    assert found is not None
    assert (found == days).all()


def test_an_offset_leads_into_the_day_before() -> None:
    found = read_moments(["2024-03-01T00:30"], "+01:00")
    assert found is not None
    assert found.days[0] == np.datetime64("2024-03-01")
    assert found.moments[0] == np.datetime64("2024-02-29T23:30")


def test_the_arrays_count_in_seconds_and_microseconds() -> None:
    found = read_moments(["2026-03-07T10:25"], "+00:00")
    assert found is not None
    assert (found.days.dtype, found.moments.dtype) == ("datetime64[s]", "datetime64[us]")


@pytest.mark.parametrize(
    "text",
    [
        "2026-02-29",  # no leap year
        "2026-13-01",
        "2026-00-10",
        "1999-12-31",
        "9999-12-31",
        "20260307",
        " 2026-03-07",
        "2026-03-07T24:00",
        "2026-03-07T10:60",
        "2026-03-07T10:25:60",
        "2026-03-07T10:25+24:00",
        "2026-03-07T10:25+0100",
        "2026-03-07t10:25",
        "2026-03-07T10:25z",
        "2026-03-07T10.25",
        "07/03/2026",
        "2026-03-07T10:25:30.5",
        "２０２６-03-07",
        "2026-03\n07",
        "n/a",
    ],
)
def test_anything_else_is_left_to_the_reader_of_single_cells(text: str) -> None:
    assert read_moments(["2026-03-07", text], "+00:00") is None
    assert read_days(["2026-03-07", text]) is None


def test_time_runs_on_with_the_text() -> None:
    start = datetime(2026, 3, 7, tzinfo=UTC)
    texts = [
        (start + timedelta(seconds=17 * step)).strftime("%Y-%m-%dT%H:%M:%SZ") for step in range(99)
    ]
    found = read_moments(texts, "+05:00")
    assert found is not None
    assert (np.diff(found.moments) == np.timedelta64(17, "s")).all()
