"""Roast age and days open from days: freezes add nothing, and what no bag can be is flagged."""

from __future__ import annotations

import math
from datetime import date, timedelta
from pathlib import Path
from random import Random

import numpy as np
import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.shotlog.conftest import Reader
from yieldwright.bench import BagFacts, Bench, Freeze
from yieldwright.shotlog import read_log
from yieldwright.shotlog.checks.bag_days import BagDays
from yieldwright.shotlog.exporting.exporting import export_log
from yieldwright.shotlog.headers.headers import Vocabulary
from yieldwright.shotlog.starting.dictionary import data_dictionary

DAYS = ("roasted_on", "opened_on", "frozen_on", "thawed_on")
BAG = BagFacts(
    "bag-17",
    "medium",
    date(2026, 10, 16),
    date(2026, 10, 19),
    (
        Freeze(date(2026, 10, 20), date(2026, 11, 2)),
        Freeze(date(2026, 11, 9), date(2026, 11, 12)),
    ),
)


def row(pulled: str, **cells: str) -> str:
    """Return a log of one shot of the bag."""
    return f"shot,pulled_on,bag,{','.join(cells)}\n1,{pulled},bag-17,{','.join(cells.values())}\n"


def shot(read: Reader, content: str, bench: Bench | None = None) -> pd.Series:
    """Return the one shot of a log."""
    return read(content, bench=bench or Bench()).shots.iloc[0]


def dated(typed: str) -> str:
    """Return a log of four shots of the bag, days frozen typed beside the third."""
    rows = [("10-20", ""), ("10-25", ""), ("11-05", typed), ("11-20", "")]
    return "shot,pulled_on,bag,frozen_d\n" + "".join(
        f"{n},2026-{day},bag-17,{frozen}\n" for n, (day, frozen) in enumerate(rows)
    )


def age_of(*, pulled: int, freezes: list[tuple[int, int]], opened: int, shift: int = 0) -> float:
    """Return the age of a shot of a bag roasted on day 0, by the bench's dates."""
    day = date(2026, 1, 1) + timedelta(days=shift)
    days = [
        Freeze(day + timedelta(days=first), day + timedelta(days=last)) for first, last in freezes
    ]
    bench = Bench(bags=(BagFacts("b", "", day, day + timedelta(days=opened), tuple(days)),))
    frame = pd.DataFrame({"bag": ["b"]})
    moments = pd.Series(pd.to_datetime([day + timedelta(days=pulled)]))
    return float(BagDays.of(frame, bench, moments).roast_age_d[0])


def stated(days: dict[str, tuple[str, str]]) -> str:
    """Return a log of one shot of the bag on each day, with what it says of the freezer."""
    lines = [
        f"{n},2026-{pulled},b,2026-03-01,{first and f'2026-{first}'},{last and f'2026-{last}'}\n"
        for n, (pulled, (first, last)) in enumerate(days.items())
    ]
    return "shot,pulled_on,bag,roasted_on,frozen_on,thawed_on\n" + "".join(lines)


def twice() -> str:
    """Return a log of a bag frozen twice, each freeze stated by the rows that follow it."""
    first, second = ("03-11", "03-21"), ("04-05", "04-16")
    return stated({"03-11": ("", ""), "04-05": first, "04-17": second, "04-20": second})


#: Days of pulls after the roast, and of freezes that are apart.
History = tuple[list[int], list[tuple[int, int]]]


@st.composite
def histories(draw: st.DrawFn) -> History:
    """Draw days of pulls and of two or three freezes."""
    gaps = draw(
        st.lists(st.integers(2, 15), min_size=4, max_size=6).filter(lambda g: not len(g) % 2)
    )
    edges = np.cumsum(gaps).tolist()
    pulled = draw(st.lists(st.integers(0, 90), min_size=2, max_size=8))
    return [*pulled, 95], list(zip(edges[::2], edges[1::2], strict=True))


def ages_by_rows(
    pulled: list[int], freezes: list[tuple[int, int]], *, shift: int = 0
) -> list[float]:
    """Return the ages where each freeze is stated at one shot after all of them, and no other."""
    day = pd.Timestamp("2026-01-01") + pd.Timedelta(days=shift)
    said = [*[(math.nan, math.nan)] * len(pulled), *freezes]
    moments = day + pd.to_timedelta(pd.Series([*pulled, *[200] * len(freezes)]), unit="D")
    frame = pd.DataFrame({"bag": "b", "roasted_on": day}, index=range(len(said)))
    for at, name in enumerate(("frozen_on", "thawed_on")):
        frame[name] = day + pd.to_timedelta(pd.Series([pair[at] for pair in said]), unit="D")
    return BagDays.of(frame, Bench(), moments).roast_age_d[: len(pulled)].tolist()


class TestFreezesOfARow:
    def test_days_between_freeze_and_thaw_add_nothing(self, read: Reader) -> None:
        content = row(
            "2026-11-20",
            roasted_on="2026-10-16",
            opened_on="2026-10-19",
            frozen_on="2026-10-20",
            thawed_on="2026-11-02",
        )
        # by hand: 35 days since the roast and 32 since the opening, 13 of them frozen
        found = shot(read, content)
        assert (found["frozen_d"], found["roast_age_d"], found["open_d"]) == (13.0, 22.0, 19.0)

    def test_a_freeze_before_the_opening_counts_for_the_roast_only(self, read: Reader) -> None:
        content = row(
            "2026-11-20",
            roasted_on="2026-10-16",
            opened_on="2026-11-10",
            frozen_on="2026-10-20",
            thawed_on="2026-11-02",
        )
        found = shot(read, content)
        assert (found["roast_age_d"], found["open_d"]) == (22.0, 10.0)

    def test_a_freeze_around_the_opening_counts_from_the_opening(self, read: Reader) -> None:
        content = row(
            "2026-11-20",
            roasted_on="2026-10-16",
            opened_on="2026-10-30",
            frozen_on="2026-10-20",
            thawed_on="2026-11-02",
        )
        assert shot(read, content)["open_d"] == 18.0

    def test_a_freeze_after_the_pull_changes_nothing(self, read: Reader) -> None:
        content = row("2026-10-22", roasted_on="2026-10-16", frozen_on="2026-10-25", thawed_on="")
        log = read(content)
        assert log.shots["roast_age_d"].tolist() == [6.0]
        assert log.shots["frozen_d"].tolist() == [0.0]
        assert log.flags.empty

    @pytest.mark.parametrize("thawed", ["", "2026-12-01"])
    def test_coffee_still_in_the_freezer_stops_ageing_and_is_told_once(
        self, read: Reader, thawed: str
    ) -> None:
        content = "shot,pulled_on,roasted_on,frozen_on,thawed_on\n" + "".join(
            f"{n},2026-11-{n + 10},2026-10-16,2026-10-20,{thawed}\n" for n in range(1, 4)
        )
        log = read(content)
        assert log.shots["roast_age_d"].tolist() == [4.0, 4.0, 4.0]
        (reason,) = log.flags["reason"]
        assert "3 rows" in reason
        assert "brewed straight from the freezer" in reason

    def test_a_typed_number_of_days_still_counts(self, read: Reader) -> None:
        found = shot(read, row("2026-11-20", roasted_on="2026-10-16", frozen_d="13"))
        assert (found["frozen_d"], found["roast_age_d"]) == (13.0, 22.0)

    def test_dates_win_over_a_typed_number_and_the_row_is_flagged(self, read: Reader) -> None:
        content = row(
            "2026-11-20",
            roasted_on="2026-10-16",
            frozen_on="2026-10-20",
            thawed_on="2026-11-02",
            frozen_d="5",
        )
        log = read(content)
        assert log.shots["frozen_d"].tolist() == [13.0]
        assert log.shots["roast_age_d"].tolist() == [22.0]
        assert log.shots["typed_frozen_d"].tolist() == [5.0]
        assert log.flags[["shot", "column", "value"]].to_numpy().tolist() == [
            ["1", "frozen_d", "5"]
        ]
        assert log.flags["reason"].item() == "typed 5, but the row itself gives 13 d"

    def test_one_more_day_by_counting_both_ends_is_no_disagreement(self, read: Reader) -> None:
        content = row(
            "2026-11-20",
            roasted_on="2026-10-16",
            frozen_on="2026-10-20",
            thawed_on="2026-11-02",
            frozen_d="14",
        )
        assert read(content).flags.empty

    def test_days_open_are_unknown_where_nothing_says_when_it_was_frozen(
        self, read: Reader
    ) -> None:
        content = row("2026-11-20", roasted_on="2026-10-16", opened_on="2026-10-19", frozen_d="13")
        log = read(content)
        assert "open_d" not in log.shots
        assert log.shots["roast_age_d"].tolist() == [22.0]
        assert "days open are not known for 1 row" in log.flags["reason"].item()
        assert log.flags["suggestion"].item() == "write frozen_on and thawed_on"


class TestOrdersNoBagCanHave:
    @pytest.mark.parametrize(
        ("cells", "column", "reason"),
        [
            (
                {"frozen_on": "2026-11-02", "thawed_on": "2026-10-20"},
                "thawed_on",
                "thawed before it was frozen",
            ),
            ({"thawed_on": "2026-11-02"}, "thawed_on", "no day says when it was frozen"),
            ({"frozen_on": "2026-10-10"}, "frozen_on", "frozen before the roast"),
            ({"opened_on": "2026-10-10"}, "roasted_on", "bag opened before the roast"),
        ],
    )
    def test_the_row_stays_without_an_age_and_says_why(
        self, read: Reader, cells: dict[str, str], column: str, reason: str
    ) -> None:
        log = read(row("2026-11-20", roasted_on="2026-10-16", **cells))
        assert log.shots["shot"].tolist() == ["1"]
        assert "roast_age_d" not in log.shots
        told = log.flags[log.flags["column"] == column]
        assert reason in told["reason"].iloc[0]
        assert "the roast age is not known" in told["reason"].iloc[0]
        assert told["suggestion"].iloc[0]

    def test_a_pull_before_the_roast_is_set_aside_with_a_remedy(self, read: Reader) -> None:
        log = read(row("2026-10-10", roasted_on="2026-10-16"))
        assert log.set_aside["reason"].item() == "roast_age_d comes to -6 d, outside 0–365 d"
        assert "correct roasted_on" in log.set_aside["suggestion"].item()

    def test_a_bag_opened_after_the_pull_has_no_days_open(self, read: Reader) -> None:
        log = read(row("2026-10-22", roasted_on="2026-10-16", opened_on="2026-10-24"))
        assert "open_d" not in log.shots
        assert log.shots["roast_age_d"].tolist() == [6.0]
        assert log.flags["reason"].tolist() == ["bag opened after the pull"]

    def test_a_thaw_alone_with_the_number_of_days_is_enough(self, read: Reader) -> None:
        content = row("2026-11-20", roasted_on="2026-10-16", thawed_on="2026-11-02", frozen_d="13")
        assert shot(read, content)["roast_age_d"] == 22.0


class TestBagsOfTheBench:
    @pytest.mark.parametrize(
        ("pulled", "frozen", "age", "opened"),
        [
            ("2026-10-19", 0.0, 3.0, 0.0),
            ("2026-10-25", 5.0, 4.0, 1.0),  # inside the first stay
            ("2026-11-05", 13.0, 7.0, 4.0),
            ("2026-11-20", 16.0, 19.0, 16.0),  # 35 and 32 days, less 13 and 3
        ],
    )
    def test_several_freezes_add_up(
        self, read: Reader, pulled: str, frozen: float, age: float, opened: float
    ) -> None:
        found = shot(read, row(pulled, dose_g="18"), Bench(bags=(BAG,)))
        assert (found["frozen_d"], found["roast_age_d"], found["open_d"]) == (frozen, age, opened)
        assert found["roasted_on"] == pd.Timestamp("2026-10-16")
        assert found["roast_level"] == "medium"

    def test_a_log_without_bags_takes_the_only_one(self, read: Reader) -> None:
        content = "shot,pulled_on\n1,2026-11-20\n"
        assert shot(read, content, Bench(bags=(BAG,)))["roast_age_d"] == 19.0
        log = read(content, bench=Bench(bags=(BAG, BagFacts("b", "", date(2026, 1, 1)))))
        assert "roast_age_d" not in log.shots

    def test_empty_cells_are_filled_and_typed_ones_win_and_are_flagged(self, read: Reader) -> None:
        content = (
            "shot,pulled_on,bag,roasted_on\n"
            "1,2026-10-19,bag-17,\n"
            "2,2026-10-19,BAG-17,2026-10-15\n"
            "3,2026-10-19,bag-3,\n"
        )
        log = read(content, bench=Bench(bags=(BAG,)))
        ages = log.shots["roast_age_d"].tolist()
        assert ages[:2] == [3.0, 4.0]
        assert math.isnan(ages[2])
        told = log.flags[log.flags["column"] == "roasted_on"]
        assert told["shot"].tolist() == ["2"]
        assert "bench.toml says 2026-10-16" in told["reason"].item()

    def test_a_row_that_repeats_one_stay_still_has_the_others(self, read: Reader) -> None:
        cells = {"frozen_on": "2026-10-20", "thawed_on": "2026-11-02"}
        log = read(row("2026-11-20", **cells), bench=Bench(bags=(BAG,)))
        assert log.shots["roast_age_d"].tolist() == [19.0]
        assert log.flags.empty

    @pytest.mark.parametrize(
        ("cells", "age", "column"),
        [
            # by hand: 35 days less 10 as the row says, and less the 3 of the stay it leaves alone
            ({"frozen_on": "2026-10-20", "thawed_on": "2026-10-30"}, 22.0, "frozen_on"),
            ({"frozen_d": "10"}, 25.0, "frozen_d"),
            ({"opened_on": "2026-10-18"}, 19.0, "opened_on"),
            ({"roast_level": "dark"}, 19.0, "roast_level"),
        ],
    )
    def test_what_a_row_says_otherwise_is_used_and_flagged(
        self, read: Reader, cells: dict[str, str], age: float, column: str
    ) -> None:
        log = read(row("2026-11-20", **cells), bench=Bench(bags=(BAG,)))
        assert log.shots["roast_age_d"].tolist() == [age]
        told = log.flags[log.flags["shot"].notna()]
        assert told["column"].tolist() == [column]
        assert "bench.toml" in told["reason"].item()

    def test_a_shot_before_the_roast_of_the_bench_is_kept_without_an_age(
        self, read: Reader
    ) -> None:
        log = read(row("2026-10-10", dose_g="18"), bench=Bench(bags=(BAG,)))
        assert log.shots["dose_g"].tolist() == [18.0]
        assert "roast_age_d" not in log.shots
        assert "pulled before 2026-10-16" in log.flags["reason"].item()
        assert "a code of its own" in log.flags["suggestion"].item()

    def test_a_bag_still_in_the_freezer_stops_ageing(self, read: Reader) -> None:
        bag = BagFacts("bag-17", "", date(2026, 10, 16), None, (Freeze(date(2026, 10, 20)),))
        assert shot(read, row("2026-11-20", dose_g="18"), Bench(bags=(bag,)))["roast_age_d"] == 4.0

    def test_a_mistyped_bag_is_asked_about(self, read: Reader) -> None:
        content = "shot,pulled_on,bag\n1,2026-11-20,bag-71\n"
        log = read(content, bench=Bench(bags=(BAG,)))
        assert "“bag-17”" in log.flags["reason"].item()
        assert "“bag-71”" in log.flags["reason"].item()

    @pytest.mark.parametrize("typed", ["", "13"])
    def test_an_export_comes_back_the_same_with_its_bench(
        self, read: Reader, tmp_path: Path, typed: str
    ) -> None:
        bench = Bench(bags=(BAG,))
        log = read(dated(typed), bench=bench)
        export_log(log, tmp_path / "out")
        again = read_log(tmp_path / "out", bench=bench)
        places = ["file", "line", "line_count"]
        pd.testing.assert_frame_equal(
            again.shots.drop(columns=places), log.shots.drop(columns=places)
        )

    def test_an_export_keeps_its_ages_without_the_bench(
        self, read: Reader, tmp_path: Path
    ) -> None:
        log = read(dated("").replace("frozen_d", "notes"), bench=Bench(bags=(BAG,)))
        export_log(log, tmp_path / "out")
        again = read_log(tmp_path / "out", bench=Bench())
        for name in ("roasted_on", "opened_on", "frozen_d", "roast_age_d"):
            pd.testing.assert_series_equal(again.shots[name], log.shots[name])

    def test_an_export_flags_ages_that_need_the_bench(self, read: Reader, tmp_path: Path) -> None:
        export_log(read(dated("13"), bench=Bench(bags=(BAG,))), tmp_path / "out")
        again = read_log(tmp_path / "out", bench=Bench())
        told = again.flags[again.flags["column"] == "roast_age_d"]
        assert {"1", "3"} <= set(told["shot"].dropna())


class TestFreezesOfOtherRows:
    def test_a_row_that_states_only_the_second_freeze_has_the_first_taken_off(
        self, read: Reader
    ) -> None:
        log = read(twice())
        # by hand: 10, 35, 47 and 50 days since the roast, of which 0, 10, 21 and 21 frozen
        assert log.shots["roast_age_d"].tolist() == [10.0, 25.0, 26.0, 29.0]
        assert log.shots["frozen_d"].tolist() == [0.0, 10.0, 21.0, 21.0]
        (told,) = log.flags["reason"]
        assert "the bag “b” was frozen twice, 21 days in all" in told
        assert "2 rows" in told

    def test_what_was_typed_stays(self, read: Reader) -> None:
        shots = read(twice()).shots
        assert shots["frozen_on"].dt.day.tolist()[1:] == [11, 5, 5]
        assert shots["thawed_on"].dt.day.tolist()[1:] == [21, 16, 16]

    def test_a_freeze_stated_once_counts_for_all_later_shots(self, read: Reader) -> None:
        log = read(stated({"04-05": ("03-11", "03-21"), "04-15": ("", ""), "03-10": ("", "")}))
        assert log.shots["roast_age_d"].tolist() == [25.0, 35.0, 9.0]
        assert "frozen for 10 days" in log.flags["reason"].item()

    def test_the_day_in_may_stand_at_one_shot_and_the_day_out_at_another(
        self, read: Reader
    ) -> None:
        log = read(stated({"03-11": ("03-11", ""), "03-22": ("", "03-21"), "04-15": ("", "")}))
        assert log.shots["roast_age_d"].tolist() == [10.0, 11.0, 35.0]

    def test_another_roast_under_the_same_code_was_not_in_the_freezer(self, read: Reader) -> None:
        content = stated({"04-05": ("03-11", "03-21"), "04-15": ("", "")})
        log = read(content.replace("1,2026-04-15,b,2026-03-01", "1,2026-04-15,b,2026-03-02"))
        assert log.shots["roast_age_d"].tolist() == [25.0, 44.0]

    def test_another_bag_was_not_in_the_freezer(self, read: Reader) -> None:
        content = stated({"04-05": ("03-11", "03-21"), "04-15": ("", "")})
        log = read(content.replace("1,2026-04-15,b,", "1,2026-04-15,c,"))
        assert log.shots["roast_age_d"].tolist() == [25.0, 45.0]
        assert log.flags.empty

    def test_a_shot_of_no_bag_keeps_to_what_its_row_says(self, read: Reader) -> None:
        content = stated({"04-05": ("03-11", "03-21"), "04-15": ("", "")})
        log = read(content.replace("1,2026-04-15,b,", "1,2026-04-15,,"))
        assert log.shots["roast_age_d"].tolist() == [25.0, 45.0]

    def test_a_mistyped_freeze_is_used_in_its_row_alone_and_flagged(self, read: Reader) -> None:
        days = {f"04-{day:02}": ("03-11", "03-21") for day in range(1, 6)}
        log = read(stated(days | {"04-10": ("03-11", "03-12")}))
        assert log.shots["roast_age_d"].tolist() == [21.0, 22.0, 23.0, 24.0, 25.0, 39.0]
        assert log.flags["shot"].tolist() == ["5"]
        assert (
            "other rows have this bag frozen on other days, 10 days" in log.flags["reason"].item()
        )

    def test_portions_thawed_one_after_another_are_no_contradiction(self, read: Reader) -> None:
        days = {f"04-{day:02}": ("03-11", f"04-{day:02}") for day in range(1, 9)}
        log = read(stated({"03-10": ("", "")} | days))
        assert log.shots["roast_age_d"].tolist() == [9.0, *[10.0] * 8]
        assert log.flags.empty

    def test_days_typed_as_the_sum_of_both_freezes_agree(self, read: Reader) -> None:
        content = twice().replace("thawed_on\n", "thawed_on,frozen_d\n")
        rows = content.splitlines()
        content = "\n".join(
            [rows[0], *(f"{row},{d}" for row, d in zip(rows[1:], ("", 10, 21, 21), strict=True))]
        )
        log = read(f"{content}\n")
        assert log.shots["roast_age_d"].tolist() == [10.0, 25.0, 26.0, 29.0]
        assert log.flags["shot"].dropna().empty

    def test_a_row_adds_a_freeze_that_the_bench_does_not_list(self, read: Reader) -> None:
        cells = {"frozen_on": "2026-11-14", "thawed_on": "2026-11-18"}
        log = read(row("2026-11-20", **cells), bench=Bench(bags=(BAG,)))
        # by hand: 35 days less 13, 3 and 4
        assert log.shots["roast_age_d"].tolist() == [15.0]
        assert log.flags.empty

    def test_days_open_leave_out_the_freezes_of_other_rows_too(self, read: Reader) -> None:
        content = twice().replace("thawed_on\n", "thawed_on,opened_on\n").splitlines()
        lines = [content[0], *(f"{each},2026-03-16" for each in content[1:])]
        shots = read("\n".join(lines) + "\n").shots
        # by hand: opened half-way through the first stay, 5 of whose days came after
        assert shots["open_d"].tolist()[1:] == [15.0, 16.0, 19.0]

    def test_an_export_comes_back_with_the_same_ages(self, read: Reader, tmp_path: Path) -> None:
        log = read(twice())
        export_log(log, tmp_path / "out")
        again = read_log(tmp_path / "out")
        pd.testing.assert_series_equal(again.shots["roast_age_d"], log.shots["roast_age_d"])


class TestAsLaws:
    @given(histories(), st.randoms())
    def test_neither_the_order_of_rows_nor_of_freezes_changes_an_age(
        self, history: History, random: Random
    ) -> None:
        pulled, freezes = history
        here = ages_by_rows(pulled, freezes)
        order = list(range(len(pulled)))
        random.shuffle(order)
        shuffled = list(freezes)
        random.shuffle(shuffled)
        there = ages_by_rows([pulled[at] for at in order], shuffled)
        assert there == [here[at] for at in order]

    @given(histories(), st.integers(1, 8))
    def test_a_freeze_split_in_two_that_adjoin_changes_no_age(
        self, history: History, share: int
    ) -> None:
        pulled, freezes = history
        first, last = freezes[0]
        middle = first + max(1, (last - first) * share // 9)
        assert ages_by_rows(pulled, [(first, middle), (middle, last), *freezes[1:]]) == (
            ages_by_rows(pulled, freezes)
        )

    @given(histories(), st.integers(-4000, 4000))
    def test_rows_and_bench_that_list_the_same_freezes_give_one_age(
        self, history: History, shift: int
    ) -> None:
        pulled, freezes = history
        by_bench = [age_of(pulled=day, freezes=freezes, opened=0) for day in pulled]
        assert ages_by_rows(pulled, freezes, shift=shift) == by_bench

    @given(st.integers(0, 200), st.integers(0, 60), st.integers(-4000, 4000))
    def test_shifting_all_days_changes_no_age(self, pulled: int, first: int, shift: int) -> None:
        freezes = [(first, first + 9), (first + 15, first + 20)]
        here = age_of(pulled=pulled, freezes=freezes, opened=first)
        assert age_of(pulled=pulled, freezes=freezes, opened=first, shift=shift) == here

    @given(st.data())
    def test_a_freeze_between_roast_and_pull_lowers_the_age_by_its_days(
        self, data: st.DataObject
    ) -> None:
        pulled = data.draw(st.integers(0, 200))
        first = data.draw(st.integers(0, pulled))
        last = data.draw(st.integers(first, pulled))
        age = age_of(pulled=pulled, freezes=[(first, last)], opened=0)
        assert age == pulled - (last - first)

    @given(st.lists(st.integers(1, 20), min_size=2, max_size=10), st.randoms())
    def test_the_order_of_freezes_makes_no_difference(
        self, gaps: list[int], random: np.random.Generator
    ) -> None:
        edges = np.cumsum(gaps).tolist()
        freezes = list(zip(edges[::2], edges[1::2], strict=False))
        shuffled = list(freezes)
        random.shuffle(shuffled)
        ages = [age_of(pulled=100, freezes=each, opened=0) for each in (freezes, shuffled)]
        assert ages[0] == ages[1]

    @given(st.integers(0, 100), st.integers(0, 60), st.integers(0, 30))
    def test_an_age_never_falls_from_one_day_to_the_next_nor_gains_more_than_one(
        self, pulled: int, first: int, length: int
    ) -> None:
        freezes = [(first, first + length)]
        today, tomorrow = (
            age_of(pulled=day, freezes=freezes, opened=0) for day in (pulled, pulled + 1)
        )
        assert tomorrow - today in (0.0, 1.0)


class TestTheDayAtTheBench:
    @staticmethod
    def day(read: Reader, moment: str, offset: str | None) -> str:
        bench = Bench() if offset is None else Bench(time_zone_offset=offset)
        log = read(f"shot,pulled_at\n1,{moment}\n", bench=bench)
        return str(log.shots["pulled_on"].iloc[0].date())

    @pytest.mark.parametrize(
        ("moment", "offset", "day"),
        [
            ("2026-03-07T23:30Z", None, "2026-03-07"),
            ("2026-03-07T23:30Z", "+01:00", "2026-03-08"),
            ("2026-03-07 23:30 UTC", "+01:00", "2026-03-08"),
            ("7 March 2026 23:30 UTC", "+01:00", "2026-03-08"),
            ("2026-03-07T03:30Z", "-05:00", "2026-03-06"),
            ("2026-03-07T23:30", "+01:00", "2026-03-07"),
            ("2026-03-07T23:30+01:00", "+01:00", "2026-03-07"),
            ("2026-07-07T00:30+02:00", "+01:00", "2026-07-07"),  # the bench's summer time
            ("2026-07-07 00:30 +02", "+01:00", "2026-07-07"),
            ("2026-03-07T23:30-05:00", "+01:00", "2026-03-08"),
            ("2026-03-07", "+01:00", "2026-03-07"),
        ],
    )
    def test_a_stated_clock_gives_the_day(
        self, read: Reader, moment: str, offset: str | None, day: str
    ) -> None:
        assert self.day(read, moment, offset) == day

    def test_a_clock_stated_as_utc_counts_too(self, read: Reader, tmp_path: Path) -> None:
        (tmp_path / "bench.toml").write_text('[reading]\ntime_zone_offset = "+00:00"\n')
        log = read("shot,pulled_at\n1,2026-03-07T23:30-05:00\n")
        assert log.shots["pulled_on"].iloc[0] == pd.Timestamp("2026-03-08")

    def test_moments_of_another_day_are_told(self, read: Reader) -> None:
        log = read(
            "shot,pulled_at\n1,2026-03-07T23:30Z\n2,2026-03-07T10:30Z\n",
            bench=Bench(time_zone_offset="+01:00"),
        )
        (told,) = [each for each in log.reading.remarks if "another clock" in each]
        assert "1 moment" in told
        assert "“2026-03-07T23:30Z”, a pull of 2026-03-08" in told

    def test_an_export_keeps_the_day_and_the_moment(self, read: Reader, tmp_path: Path) -> None:
        bench = Bench(time_zone_offset="+01:00")
        moments = ("2026-03-07T23:30Z", "2026-07-07T00:30+02:00", "2026-03-07T23:30-05:00")
        rows = "".join(f"{n},{moment}\n" for n, moment in enumerate(moments))
        log = read(f"shot,pulled_at\n{rows}", bench=bench)
        export_log(log, tmp_path / "out")
        again = read_log(tmp_path / "out", bench=bench)
        for name in ("pulled_at", "pulled_on"):
            pd.testing.assert_series_equal(again.shots[name], log.shots[name])

    def test_shifting_all_clocks_with_the_bench_changes_no_age(self, read: Reader) -> None:
        clocks = [(h, m) for h in (0, 1, 12, 22, 23) for m in (0, 30)]
        offsets = (-3, -1, 0, 1, 2)  # ahead of the bench

        def ages(shift: int) -> list[float]:
            rows = [
                f"2026-03-07T{h:02}:{m:02}{1 + ahead + shift:+03}:00,2026-03-01"
                for h, m in clocks
                for ahead in offsets
            ]
            text = "".join(f"{n},{each}\n" for n, each in enumerate(rows))
            bench = Bench(time_zone_offset=f"{1 + shift:+03}:00")
            return (
                read(f"shot,pulled_at,roasted_on\n{text}", bench=bench)
                .shots["roast_age_d"]
                .tolist()
            )

        first = ages(0)
        assert {5.0, 6.0, 7.0} >= set(first) != {6.0}
        assert [ages(shift) for shift in (-4, 3, 9)] == [first] * 3


class TestHeaders:
    @pytest.mark.parametrize(
        ("words", "name"),
        [
            ("frozen on|date frozen|freeze date|frozen since|Eingefroren am", "frozen_on"),
            ("thawed|thawed on|thaw date|date thawed|defrosted|aufgetaut am", "thawed_on"),
            ("days frozen|days in freezer|frozen (d)|Tage eingefroren", "frozen_d"),
            ("days open|days since opening|Tage offen", "open_d"),
            ("opened|date opened|opening date|Geöffnet am|Anbruch", "opened_on"),
        ],
    )
    def test_plain_words_name_the_days_of_a_bag(self, words: str, name: str) -> None:
        vocabulary = Vocabulary("shots", Bench())
        assert {vocabulary.header(word).name for word in words.split("|")} == {name}

    def test_frozen_alone_is_asked_about(self) -> None:
        assert "frozen_on or frozen_d" in Vocabulary("shots", Bench()).header("frozen").doubt

    def test_the_data_dictionary_explains_them(self) -> None:
        told = data_dictionary()
        assert all(f"| `{name}` |" in told for name in (*DAYS, "frozen_d", "open_d"))
