"""A service breaks a series of shots in two."""

from __future__ import annotations

import pandas as pd
import pytest

from yieldwright.taste.columns.servicing import service_stretches


def stretches(**columns: list[object]) -> list[str] | None:
    found = service_stretches(pd.DataFrame(columns))
    return None if found is None else found.tolist()


def days(*written: str) -> list[object]:
    return list(pd.to_datetime(list(written)))


def test_shots_before_and_since_a_service_are_named_by_its_day() -> None:
    found = stretches(
        serviced=[None, "burrs changed", None],
        pulled_on=days("2026-05-02", "2026-05-03", "2026-05-09"),
    )
    assert found == ["before 2026-05-03", "since 2026-05-03", "since 2026-05-03"]


def test_services_without_a_day_are_counted() -> None:
    found = stretches(serviced=["x", None, "y", None])
    assert found == ["since service 1"] * 2 + ["since service 2"] * 2


def test_two_services_of_one_day_are_told_apart() -> None:
    found = stretches(
        serviced=[None, "x", None, "y"],
        pulled_on=days("2026-05-01", "2026-05-03", "2026-05-03", "2026-05-03"),
    )
    assert found == [
        "before 2026-05-03",
        "since 2026-05-03",
        "since 2026-05-03",
        "since 2026-05-03 (2)",
    ]


def test_the_order_of_time_decides_and_not_the_order_of_the_file() -> None:
    found = stretches(
        serviced=[None, "x", None],
        pulled_on=days("2026-05-09", "2026-05-03", "2026-05-02"),
    )
    assert found == ["since 2026-05-03", "since 2026-05-03", "before 2026-05-03"]


def test_the_same_words_at_neighbouring_shots_are_one_service() -> None:
    found = stretches(serviced=[None, "Cleaned", "cleaned ", None], session=["a", "b", "b", "b"])
    assert found == ["before service 1", *["since service 1"] * 3]


def test_the_same_words_in_the_next_session_are_the_next_service() -> None:
    found = stretches(serviced=["cleaned", "cleaned"], session=["a", "b"])
    assert found == ["since service 1", "since service 2"]


@pytest.mark.parametrize("nothing", ["no", "None", " - ", "", "0"])
def test_saying_that_nothing_was_done_is_no_service(nothing: str) -> None:
    assert stretches(serviced=[None, nothing, None]) is None


@pytest.mark.parametrize("serviced", [[None, None], ["cleaned", None]])
def test_a_service_before_the_first_shot_or_none_breaks_nothing(serviced: list[object]) -> None:
    assert stretches(serviced=serviced) is None


def test_a_log_without_the_column_or_without_shots_has_no_stretches() -> None:
    assert stretches(shot=["1", "2"]) is None
    assert service_stretches(pd.DataFrame({"serviced": []})) is None


def test_what_was_done_never_enters_the_name() -> None:
    found = stretches(serviced=[None, "{0.__class__} <b>", None])
    assert found == ["before service 1", "since service 1", "since service 1"]


def test_levels_are_in_order_of_time() -> None:
    serviced = [None, *["x", "y"] * 6]
    found = service_stretches(pd.DataFrame({"serviced": serviced}))
    assert found is not None
    assert found.cat.categories.tolist() == [
        "before service 1",
        *(f"since service {number}" for number in range(1, 13)),
    ]
