"""Single days and moments: read where one meaning is possible, proven or told, else asked."""

from __future__ import annotations

from datetime import UTC, date, datetime, time, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from yieldwright.shotlog.cells.clock import NoClock, read_clock
from yieldwright.shotlog.cells.counted_days import counted_day
from yieldwright.shotlog.cells.days import (
    Contradiction,
    DayOrder,
    find_day_order,
    order_sentence,
    read_day,
    read_moment,
)
from yieldwright.shotlog.cells.months import month_of

MARCH_7 = date(2026, 3, 7)
ORDERS: list[DayOrder | None] = ["day first", "month first", None]
days = st.dates(date(2000, 1, 1), date(2099, 12, 31))


def moment(text: str, offset: str = "+00:00") -> datetime:
    """Return the instant in a cell."""
    cell = read_moment(text, None, offset)
    assert cell.refusal == ""
    instant: datetime = cell.value.moment  # type: ignore[attr-defined]
    return instant


class TestDaysOfOneMeaning:
    @pytest.mark.parametrize(
        "text",
        [
            "2026-03-07",
            " 2026-03-07\u00a0",
            "20260307",
            "2026/3/7",
            "2026.03.07",
            "2026\u201303\u201307",  # a phone's long dashes
            "7 Mar 2026",
            "7 March 2026",
            "07-Mar-2026",
            "7/Mar/2026",
            "7Mar2026",
            "MAR 7 2026",
            "March 7, 2026",
            "March 7th, 2026",
            "7th of March 2026",
            "2026 Mar 7",
            "2026-Mar-07",
            "7. März 2026",
            "7.Mrz.2026",
            "7 mars 2026",
            "7 de marzo de 2026",
            "7 marzo 2026",
            "7 de março de 2026",
            "7 maart 2026",
        ],
    )
    def test_a_day_is_read(self, text: str) -> None:
        assert read_day(text, None) == (MARCH_7, "", "", "", "", *read_day("", None)[5:])

    @given(days, st.sampled_from(["%d %B %Y", "%B %d, %Y", "%d-%b-%Y", "%Y %b %d", "%Y/%m/%d"]))
    def test_what_a_calendar_prints_is_read_back(self, day: date, form: str) -> None:
        assert read_day(day.strftime(form), None).value == day

    @pytest.mark.parametrize("text", ["Mar 7, 26", "7 Mar '26", "March 7 '26"])
    def test_a_year_of_two_digits_in_its_certain_place_is_flagged(self, text: str) -> None:
        cell = read_day(text, None)
        assert (cell.value, cell.flag) == (MARCH_7, "its year is taken as 2026")

    @pytest.mark.parametrize(
        "text", ["2026-03-07 00:00:00", "2026-03-07T00:00", "7 Mar 2026 0:00"]
    )
    def test_the_midnight_a_spreadsheet_adds_needs_no_word(self, text: str) -> None:
        assert read_day(text, None).flag == ""

    def test_a_time_in_a_column_of_days_is_left_out_with_a_flag(self) -> None:
        cell = read_day("2026-03-07 10:25", None)
        assert (cell.value, cell.flag) == (MARCH_7, "the time of day is left out")
        assert "pulled_at" in cell.suggestion

    @pytest.mark.parametrize("text", ["n/a", "-", "?", "None"])
    def test_a_word_for_nothing_is_missing(self, text: str) -> None:
        cell = read_day(text, None)
        assert (cell.value, cell.flag, cell.refusal) == (None, "taken as missing", "")


class TestOrderOfDayAndMonth:
    @pytest.mark.parametrize(
        ("texts", "asked", "order"),
        [
            (["03/04/2026", "13/04/2026"], None, "day first"),
            (["03.04.2026", "04.13.2026"], None, "month first"),
            (["13-04-2026 10:25", "x"], None, "day first"),
            (["03/04/2026"], None, None),
            (["05/05/2026"], None, None),
            (["2026-04-13", "13 April 2026"], None, None),
            (["30/31/2026", "31/02/2026"], None, None),  # days no calendar has prove nothing
            (["13/04/26"], None, None),  # may be the year 2013
            (["03/04/2026"], "month first", "month first"),
            (["13/04/2026"], "day first", "day first"),
            ([], "day first", "day first"),
        ],
    )
    def test_it_is_proven_or_told(
        self, texts: list[str], asked: DayOrder | None, order: DayOrder | None
    ) -> None:
        assert find_day_order(texts, asked) == order

    def test_a_column_that_proves_another_than_told_is_a_contradiction(self) -> None:
        found = find_day_order(["03/04/2026", "04/13/2026"], "day first")
        assert isinstance(found, Contradiction)
        assert found.reason == (
            "bench.toml says day first, which “04/13/2026” in this column cannot be"
        )

    def test_a_column_that_proves_both_names_both_proofs(self) -> None:
        found = find_day_order(["13/04/2026", "04/14/2026"])
        assert isinstance(found, Contradiction)
        assert "“13/04/2026” and “04/14/2026”" in found.reason

    @given(st.lists(days, min_size=1, max_size=8), st.sampled_from(["%d/%m/%Y", "%m/%d/%Y"]))
    def test_a_column_of_one_order_is_read_as_it_was_meant_or_asked_about(
        self, column: list[date], form: str
    ) -> None:
        texts = [day.strftime(form) for day in column]
        cells = [read_day(text, find_day_order(texts)) for text in texts]
        assert all(
            cell.refusal or cell.value == day for cell, day in zip(cells, column, strict=True)
        )

    @given(st.lists(days, min_size=1, max_size=8))
    def test_a_column_whose_order_is_told_is_read_whole(self, column: list[date]) -> None:
        texts = [day.strftime("%d.%m.%Y") for day in column]
        order = find_day_order(texts, "day first")
        assert [read_day(text, order).value for text in texts] == column

    @given(st.permutations(["03/04/2026", "13/04/2026", "05/06/2026", "x", ""]))
    def test_the_order_of_the_rows_does_not_matter(self, texts: list[str]) -> None:
        assert find_day_order(texts) == "day first"

    def test_a_date_of_two_readings_is_asked_by_naming_the_option(self) -> None:
        cell = read_day("03/04/2026", None)
        assert cell.value is None
        assert "may be 2026-04-03 or 2026-03-04" in cell.refusal
        assert "write 2026-04-03 or 2026-03-04" in cell.suggestion
        assert 'day_order = "day first" or "month first" under [reading]' in cell.suggestion

    @pytest.mark.parametrize("order", [*ORDERS, Contradiction(None, "because")])
    def test_the_same_number_twice_has_one_reading(
        self, order: DayOrder | Contradiction | None
    ) -> None:
        assert read_day("5/5/2026", order).value == date(2026, 5, 5)

    def test_in_a_contradicted_column_only_dates_of_one_reading_are_read(self) -> None:
        order = find_day_order(["13/04/2026", "04/14/2026"])
        assert read_day("13/04/2026", order).value == date(2026, 4, 13)
        assert read_day("04/14/2026", order).value == date(2026, 4, 14)
        assert "have no one order" in read_day("03/04/2026", order).refusal

    def test_a_date_that_contradicts_the_bench_is_refused_and_so_are_the_doubtful(self) -> None:
        order = find_day_order(["03/04/2026", "04/13/2026"], "day first")
        clear = read_day("04/13/2026", order)
        assert "“04/13/2026” cannot be day first" in clear.refusal
        assert clear.suggestion.startswith("2026-04-13?")
        assert "bench.toml says day first" in read_day("03/04/2026", order).refusal

    def test_how_doubtful_dates_are_read_is_told_with_its_proof(self) -> None:
        said = order_sentence("pulled_on", ["03/04/2026", "04/13/2026"], None)
        assert said == (
            "pulled_on: dates such as “03/04/2026” are read month first, as “04/13/2026” shows."
        )

    def test_how_doubtful_dates_are_read_is_told_where_the_bench_says_so(self) -> None:
        said = order_sentence("pulled_on", ["03/04/2026"], "day first")
        assert said.endswith("are read day first, as day_order in bench.toml says.")

    @pytest.mark.parametrize(
        ("texts", "asked"),
        [
            (["2026-03-07", "7 March 2026"], "day first"),
            (["03/04/2026"], None),
            (["13/04/2026"], None),
            (["03/04/2026", "13/04/2026", "04/13/2026"], None),
        ],
    )
    def test_nothing_is_told_where_no_date_of_two_readings_is_read(
        self, texts: list[str], asked: DayOrder | None
    ) -> None:
        assert order_sentence("pulled_on", texts, asked) == ""


class TestYearsOfTwoDigits:
    @pytest.mark.parametrize(
        ("text", "meant"),
        [
            ("07/03/26", ["2026-03-07", "2026-07-03", "2007-03-26"]),
            ("26-03-07", ["2007-03-26", "2026-03-07"]),
            ("07-Mar-26", ["2026-03-07", "2007-03-26"]),
        ],
    )
    def test_all_it_may_mean_is_listed(self, text: str, meant: list[str]) -> None:
        cell = read_day(text, None)
        assert "its year has two digits" in cell.refusal
        assert [day for day in meant if day not in cell.suggestion] == []

    @pytest.mark.parametrize("text", ["07/03/26", "07-Mar-26", "7.3.'26"])
    def test_it_is_read_with_a_flag_where_the_day_is_known_to_come_first(self, text: str) -> None:
        cell = read_day(text, "day first")
        assert (cell.value, cell.flag) == (MARCH_7, "its year is taken as 2026")

    def test_a_month_in_words_needs_the_day_first(self) -> None:
        assert "two digits" in read_day("07-Mar-26", "month first").refusal


class TestMoments:
    @pytest.mark.parametrize(
        "text",
        [
            "2026-03-07T10:25",
            "2026-03-07 10:25",
            "2026-03-07  10:25:00",
            "2026-03-07t10:25",
            "2026-03-07T1025",
            "20260307T102500",
            "2026-03-07, 10:25",
            "2026-03-07 10.25",
            "2026-03-07 10h25",
            "2026-03-07 10:25 Uhr",
            "2026-03-07 10:25 AM",
            "2026-03-07 10:25am",
            "2026-03-07 10:25 a.m.",
            "March 7, 2026 at 10:25",
            "7. März 2026 um 10:25 Uhr",
            "2026-03-07T10:25Z",
            "2026-03-07T10:25 UTC",
            "2026-03-07T10:25+00",
            "2026-03-07T11:25+0100",
            "2026-03-07T11:25+01",
            "2026-03-07T11:25 +01:00",
            "2026-03-07T06:55\u221203:30",
            "2026-03-07T11:25 GMT+01:00",
            "2026-03-07T10:25:00.000",
            "2026-03-07T10:25:00,0Z",
        ],
    )
    def test_a_time_of_day_is_read(self, text: str) -> None:
        assert moment(text) == datetime(2026, 3, 7, 10, 25, tzinfo=UTC)

    @pytest.mark.parametrize(
        ("text", "hour"),
        [
            ("12:00 AM", 0),
            ("12:59 a. m.", 0),
            ("1:00 AM", 1),
            ("12:00 PM", 12),
            ("7 pm", 19),
            ("11:59 P.M.", 23),
        ],
    )
    def test_twelve_hours_are_told_apart(self, text: str, hour: int) -> None:
        assert moment(f"2026-03-07 {text}").hour == hour

    def test_a_time_without_offset_takes_the_benchs(self) -> None:
        assert moment("7 Mar 2026 10:25", "+01:00") == datetime(2026, 3, 7, 9, 25, tzinfo=UTC)

    def test_an_offset_of_its_own_wins(self) -> None:
        assert moment("2026-03-07T10:25Z", "+01:00").hour == 10

    def test_parts_of_a_second_are_kept_to_the_microsecond(self) -> None:
        assert moment("2026-03-07T10:25:30.1234567Z").microsecond == 123456

    def test_a_day_alone_has_no_moment(self) -> None:
        pull = read_moment("7 March 2026", None, "+01:00").value
        assert pull == (MARCH_7, None)

    @given(
        st.datetimes(datetime(2000, 1, 2), datetime(2099, 12, 30)),  # noqa: DTZ001
        st.integers(-14 * 60, 14 * 60),
    )
    def test_every_moment_of_iso_8601_is_read_back(self, naive: datetime, minutes: int) -> None:
        sign = "-" if minutes < 0 else "+"
        offset = f"{sign}{abs(minutes) // 60:02}:{abs(minutes) % 60:02}"
        meant = (naive - timedelta(minutes=minutes)).replace(tzinfo=UTC)
        assert moment(naive.isoformat() + offset, "+05:00") == meant
        assert moment(naive.isoformat(" "), offset) == meant

    @given(st.times())
    def test_twelve_hours_say_what_twenty_four_say(self, clock: time) -> None:
        clock = clock.replace(microsecond=0)
        assert read_clock(clock.strftime("%I:%M:%S %p")) == read_clock(clock.isoformat()) == clock


@pytest.mark.parametrize(
    ("text", "reason", "suggestion"),
    [
        ("2026-02-29", "a day no calendar has", "year-month-day"),
        ("31/04/2026", "a day no calendar has", ""),
        ("14/14/2026", "a day no calendar has", ""),
        ("0000-00-00", "a day no calendar has", ""),
        ("1999-12-31", "lies before 2000", ""),
        ("7 Smarch 2026", "“smarch” is no month we know", ""),
        ("18-May", "lacks the day, the month or the year", "year-month-day"),
        ("18/5", "lacks the day, the month or the year", ""),
        ("Mar 2026", "lacks the day, the month or the year", ""),
        ("2026-03", "lacks the day, the month or the year", ""),
        ("2026-W10-6", "is no date we read", ""),
        ("yesterday", "is no date we read", ""),
        ("10:25", "is no date we read", ""),
        ("=TODAY()", "is no date we read", ""),
        (
            "46103",
            "is no date we read",
            "46103 → 2026-03-22? (2030-03-23 where days count from 1904)",
        ),
        ("46103.4340277778", "is no date we read", "2026-03-22T10:25?"),
        ("1772879100", "is no date we read", "2026-03-07T10:25:00Z?"),
        ("17", "is no date we read", "year-month-day"),
        ("2026-03-07 later", "ends in no time of day", "such as 2026-03-07T10:25"),
        ("2026-03-07T25:00", "ends in no time of day", ""),
        ("2026-03-07T10:75", "ends in no time of day", ""),
        ("2026-03-07T10:5", "ends in no time of day", ""),
        ("2026-03-07T10:25+15:00", "ends in no time of day", ""),
        ("2026-03-07T24:00", "ends in 24:00", "is 00:00 of the next day meant?"),
        ("2016-12-31T23:59:60Z", "a second 60", "23:59:59?"),
        ("2026-03-07 13:25 PM", "no hour 13 in twelve", "13:25?"),
        ("2026-03-07 10:25 CET", "names the zone CET", "the offset, such as +01:00"),
    ],
)
def test_what_cannot_be_read_is_refused_with_a_remedy(
    text: str, reason: str, suggestion: str
) -> None:
    cell = read_moment(text, None, "+00:00")
    assert cell.value is None
    assert reason in cell.refusal
    assert suggestion in cell.suggestion
    assert cell.suggestion


@given(
    st.one_of(st.text(), st.text("0123456789-/.:T Zapm,+'ar\n", max_size=24)),
    st.sampled_from(ORDERS),
)
def test_any_text_is_a_day_or_missing_or_refused(text: str, order: DayOrder | None) -> None:
    for cell in (read_day(text, order), read_moment(text, order, "-03:30")):
        if cell.refusal:
            assert cell.value is None
            assert cell.suggestion
        elif cell.value is None:
            assert cell.flag or not text.strip()


@given(st.text("0123456789:.,apmhz+- utc", max_size=14))
def test_any_text_is_a_time_of_day_or_refused(text: str) -> None:
    found = read_clock(text)
    assert isinstance(found, time) or (found.reason and found.suggestion)


@given(st.integers(36526, 99_999))
def test_both_ways_of_counting_days_lie_four_years_and_a_day_apart(days_counted: int) -> None:
    # ECMA-376 part 1, 18.17.4.1: the 1904 base counts 1462 days less for one day
    said = counted_day(str(days_counted))
    usual = date.fromisoformat(said.split("→ ")[1][:10])
    rare = date.fromisoformat(said.split("(")[1][:10])
    assert (rare - usual).days == 1462


def test_the_day_numbers_are_those_of_the_open_workbook_standard() -> None:
    # ECMA-376 part 1, 18.17.4.1: with the 1900 base, 2000-01-01 is day 36526
    assert "→ 2000-01-01?" in counted_day("36526")


@pytest.mark.parametrize("text", ["10000", "36525", "999999999", "123456", "99999999999999", "x"])
def test_other_numbers_count_no_days(text: str) -> None:
    assert counted_day(text) == ""


def test_months_are_known_in_words_of_seven_languages() -> None:
    words = ["january", "januar", "janvier", "enero", "gennaio", "janeiro", "januari"]
    assert {month_of(word) for word in words} == {1}
    words = ["december", "dezember", "décembre", "diciembre", "dicembre", "dezembro", "dic"]
    assert {month_of(word) for word in words} == {12}


@pytest.mark.parametrize("word", ["", "ma", "moon", "mart", "mon", "sun", "lever", "de"])
def test_other_words_are_no_month(word: str) -> None:
    assert month_of(word) is None


def test_a_refused_clock_says_why() -> None:
    assert read_clock("25:00") == NoClock(
        "ends in no time of day", "write hours and minutes, such as 2026-03-07T10:25"
    )
