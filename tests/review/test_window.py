from __future__ import annotations

import datetime as dt

import pandas as pd
import pytest

from yieldwright.errors import UnknownNameError
from yieldwright.review.window import DAYS_BEFORE_NEWEST, choose_shots

NEWEST = dt.date(2026, 3, 20)


def log(*days: str | None, **columns: object) -> pd.DataFrame:
    names = [f"s{place}" for place in range(1, len(days) + 1)]
    return pd.DataFrame({"shot": names, "pulled_on": pd.to_datetime(list(days)), **columns})


def chosen(shots: pd.DataFrame, **options: object) -> list[str]:
    return choose_shots(shots, **options).shots["shot"].tolist()


def test_the_tenth_day_before_the_newest_is_in_and_the_eleventh_is_out() -> None:
    edge = NEWEST - dt.timedelta(days=DAYS_BEFORE_NEWEST)
    outside = edge - dt.timedelta(days=1)
    assert chosen(log(str(outside), str(edge), str(NEWEST))) == ["s2", "s3"]


def test_since_moves_the_start_either_way() -> None:
    shots = log("2026-01-01", "2026-03-01", "2026-03-20")
    assert chosen(shots, since=dt.date(2026, 1, 1)) == ["s1", "s2", "s3"]
    assert chosen(shots, since=dt.date(2026, 3, 20)) == ["s3"]


def test_everything_takes_shots_without_a_day_too() -> None:
    assert chosen(log("2026-01-01", None, "2026-03-20"), everything=True) == ["s1", "s3", "s2"]


def test_since_wins_over_everything() -> None:
    shots = log("2026-01-01", "2026-03-20")
    assert chosen(shots, since=dt.date(2026, 2, 1), everything=True) == ["s2"]


def test_the_newest_day_is_that_of_the_chosen_bag() -> None:
    shots = log("2026-01-01", "2026-03-20", bag=["old", "new"])
    assert chosen(shots, bag="old") == ["s1"]


def test_shots_after_the_day_of_judgement_stay_out_and_are_counted() -> None:
    picked = choose_shots(log("2026-03-01", "2062-03-20"), as_of=dt.date(2026, 3, 2))
    assert picked.shots["shot"].tolist() == ["s1"]
    assert [str(each) for each in picked.left_out] == ["1 shot after 2026-03-02"]


def test_what_is_left_out_and_what_is_reviewed_add_up() -> None:
    shots = log("2026-01-01", None, "2026-03-20", bag=["a", "a", "b"])
    picked = choose_shots(shots, bag="a")
    assert picked.n_shots + sum(each.count for each in picked.left_out) == 3


def test_an_unknown_bag_is_refused_with_the_nearest_name() -> None:
    with pytest.raises(UnknownNameError, match="bag 'bag-8'; the log has bag-7"):
        choose_shots(log("2026-03-20", bag=["bag-7"]), bag="bag-8")


def test_a_bag_is_refused_where_the_log_names_none() -> None:
    with pytest.raises(UnknownNameError, match="names no bag"):
        choose_shots(log("2026-03-20"), bag="bag-8")


def test_a_log_without_days_is_reviewed_whole_and_says_so() -> None:
    picked = choose_shots(pd.DataFrame({"shot": ["a", "b"]}))
    assert picked.n_shots == 2
    assert picked.rule == "The log states no day, so all its shots are reviewed."


def test_an_empty_log_is_no_error() -> None:
    assert choose_shots(log()).n_shots == 0


def test_shots_come_in_time_order_whatever_the_order_of_the_file() -> None:
    shots = log("2026-03-20", "2026-03-19", "2026-03-20", position=[2.0, 1.0, 1.0])
    assert chosen(shots) == ["s2", "s3", "s1"]


def test_sessions_of_one_day_keep_the_order_of_the_file() -> None:
    day = ["2026-03-20"] * 3
    shots = log(*day, session=["10", "9", "10"], position=[1.0, 1.0, 2.0])
    assert chosen(shots) == ["s1", "s3", "s2"]


def test_the_rule_names_what_was_asked_for() -> None:
    shots = log("2026-03-20", bag=["a"])
    assert choose_shots(shots, bag="a", since=NEWEST).rule == (
        "Reviewed are the shots of bag a since 2026-03-20."
    )
