"""Skipped numbers are told once; codes, days and times skip nothing."""

from __future__ import annotations

import numpy as np
import pytest

from tests.shotlog.conftest import Reader
from yieldwright.shotlog.checks.gaps import missing_shots


def reason(ids: list[str]) -> str:
    """Return what is said of some names, empty where nothing is."""
    found = missing_shots(ids)
    return found[0].reason if found else ""


@pytest.mark.parametrize(
    ("ids", "told"),
    [
        (["1", "2", "4"], "shot 3 is not in the log"),
        ([f"s-{at}" for at in range(10, 20) if at != 13], "shot s-13 is not in the log"),
        (
            [str(at) for at in range(1, 16) if at not in (3, 7, 8, 9)],
            "shots 3 and 7–9 are not in the log: failures left out?",
        ),
        ([f"2026-03-07/{at}" for at in (1, 2, 4, 5)], "shot 2026-03-07/3 is not in the log"),
        (["e1-1", "e1-2", "e1-3", "e2-1", "e2-2", "e2-4"], "shot e2-3 is not in the log"),
        (["s08", "s09", "s11", "s12"], "shot s10 is not in the log"),
    ],
)
def test_a_skipped_number_is_told(ids: list[str], told: str) -> None:
    assert reason(ids).startswith(told)


@pytest.mark.parametrize(
    "ids",
    [
        ["1", "2", "3", "4"],
        ["12", "13", "14"],
        ["10", "20", "30", "40"],
        ["417", "283", "905", "112"],
        ["2026-03-01", "2026-03-02", "2026-03-04", "2026-03-05"],
        ["20260301", "20260302", "20260304", "20260305"],
        ["01.03.2026", "02.03.2026"],
        ["10:01", "10:02", "10:04", "10:05"],
        ["anna", "berta", "carla", "dora"],
        ["87-1.5-16", "87-1.5-20", "87-1.5-24"],
        ["1", "3"],
        [],
        [""],
    ],
)
def test_whole_series_codes_days_and_times_skip_nothing(ids: list[str]) -> None:
    assert reason(ids) == ""


def test_random_three_digit_codes_skip_nothing() -> None:
    rng = np.random.default_rng(4)
    for _ in range(50):
        assert reason([str(code) for code in rng.choice(np.arange(100, 1000), 60, False)]) == ""


def test_the_order_of_the_rows_does_not_matter() -> None:
    ids = [str(at) for at in (1, 2, 3, 5, 6, 9, 10)]
    assert reason(ids) == reason(ids[::-1]) == reason([*ids[3:], *ids[:3]]) != ""


def test_many_gaps_are_counted_and_not_listed() -> None:
    ids = [str(at) for at in range(1, 40) if at % 4]
    assert reason(ids).endswith("24 and 3 further gaps are not in the log: failures left out?")


def test_names_too_long_to_be_numbered_are_left_alone() -> None:
    assert reason([f"{'x' * 60}{at}" for at in (1, 2, 4, 5)]) == ""


def test_a_row_set_aside_counts_as_present(read: Reader) -> None:
    flags = read("shot,dose_g\n1,18.1\n2,180\n3,18.0\n4,18,0\n5,17.9\n").flags
    assert flags.empty


def test_a_gap_is_a_flag_of_the_log_with_the_reason_why_it_matters(read: Reader) -> None:
    flags = read("shot,dose_g\n1,18.1\n2,18.2\n4,18.0\n").flags
    assert flags["shot"].isna().tolist() == [True]
    assert flags["column"].tolist() == ["shot"]
    assert "log failed pulls too" in flags["suggestion"].item()


def test_numbers_we_give_skip_nothing(read: Reader) -> None:
    assert read("dose_g\n18.1\n18.2\n18,0\n18.0\n").flags.empty


def test_positions_count_where_names_do_not(read: Reader) -> None:
    rows = "".join(
        f"{name},e1,{at},18.{at}\n" for name, at in zip("acxq", (1, 2, 4, 5), strict=True)
    )
    flags = read(f"shot,session,position,dose_g\n{rows}").flags
    assert flags["reason"].tolist() == [
        "position 3 of session “e1” is not in the log: a failure left out?"
    ]


def test_a_position_that_two_shots_share_is_flagged_at_the_later(read: Reader) -> None:
    rows = "".join(f"{name},e1,{at}\n" for name, at in zip("abcd", (1, 2, 2, 3), strict=True))
    flags = read(f"shot,session,position\n{rows}").flags
    assert flags[["shot", "column", "value"]].to_numpy().tolist() == [["c", "position", "2"]]


def test_two_sittings_under_one_name_share_positions_by_right(read: Reader) -> None:
    rows = "".join(f"{at},e1,{(at - 1) % 4 + 1}\n" for at in range(1, 9))
    assert read(f"shot,session,position\n{rows}").flags.empty


def test_a_damaged_line_may_hold_the_position_that_seems_to_lack(read: Reader) -> None:
    content = "shot,session,position,dose_g\na,e1,1,18.1\nb,e1,2,18,0\nc,e1,3,18.2\nd,e1,4,17.9\n"
    assert read(content).flags.empty
