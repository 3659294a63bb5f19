"""Session, position, gap and stage: typed where they are, else from the neighbours."""

from __future__ import annotations

from datetime import date

import pytest

from tests.shotlog.conftest import Reader
from yieldwright.bench import Bench, Grinder


def stages(read: Reader, content: str, bench: Bench | None = None) -> list[str]:
    """Return the stage of each shot."""
    return list(read(content, bench=bench).shots["stage"])


def test_each_day_is_a_session_where_none_is_named(read: Reader) -> None:
    log = read("shot,pulled_at\n1,2026-03-07T10:00\n2,2026-03-08T10:00\n")
    assert log.shots["session"].tolist() == ["2026-03-07", "2026-03-08"]
    assert "each day is taken as one session" in " ".join(log.reading.remarks)


def test_without_days_all_shots_are_one_session(read: Reader) -> None:
    log = read("shot\n1\n2\n")
    assert log.shots["session"].tolist() == ["all", "all"]
    assert "all shots are taken as one session" in " ".join(log.reading.remarks)


def test_positions_follow_the_time_of_the_pull(read: Reader) -> None:
    content = (
        "shot,session,pulled_at\n1,a,2026-03-07T10:20\n2,a,2026-03-07T10:00\n"
        "3,b,2026-03-07T11:00\n"
    )
    log = read(content)
    assert log.shots["position"].tolist() == [2.0, 1.0, 1.0]
    assert "by the time of the pull" in " ".join(log.reading.remarks)


def test_positions_follow_the_file_where_a_time_is_missing(read: Reader) -> None:
    content = "shot,session,pulled_at\n1,a,2026-03-07T10:20\n2,a,\n3,a,2026-03-07T10:00\n"
    assert read(content).shots["position"].tolist() == [1.0, 2.0, 3.0]


def test_a_row_set_aside_was_pulled_all_the_same(read: Reader) -> None:
    shots = read("shot,session,dose_g\n1,a,18\n2,a,180\n3,a,18\n").shots
    assert shots["position"].tolist() == [1.0, 3.0]


def test_a_copy_of_a_row_was_not(read: Reader) -> None:
    shots = read("shot,session,dose_g\n1,a,18\n1,a,18\n3,a,18\n").shots
    assert shots["position"].tolist() == [1.0, 2.0]


def test_gaps_are_minutes_since_the_pull_before_in_the_session(read: Reader) -> None:
    content = (
        "shot,session,pulled_at\n1,a,2026-03-07T10:00\n2,a,2026-03-07T10:06:30\n"
        "3,b,2026-03-07T12:00\n"
    )
    assert read(content).shots["gap_min"].fillna(-1).tolist() == [-1.0, 6.5, -1.0]


def test_a_typed_gap_wins(read: Reader) -> None:
    content = "shot,pulled_at,gap_min\n1,2026-03-07T10:00,\n2,2026-03-07T10:06,4\n"
    assert read(content).shots["gap_min"].fillna(-1).tolist() == [-1.0, 4.0]


def test_the_first_shot_after_a_change_of_grind_is_a_transition(read: Reader) -> None:
    log = read("shot,grind_setting\n1,12\n2,11\n3,11\n")
    assert log.shots["stage"].tolist() == ["counted", "transition", "counted"]
    assert log.shots["usable"].tolist() == [True, False, True]
    assert "1 shot taken as transition" in " ".join(log.reading.remarks)
    assert "1 g, assumed" in " ".join(log.reading.remarks)


@pytest.mark.parametrize(("purged", "stage"), [("1.9", "transition"), ("2.0", "counted")])
def test_a_purge_of_twice_what_is_retained_makes_the_setting_real(
    purged: str, stage: str, read: Reader
) -> None:
    content = f"shot,grind_setting,purged_g\n1,12,\n2,11,{purged}\n"
    assert stages(read, content)[1] == stage


def test_what_is_retained_comes_from_the_log_first(read: Reader) -> None:
    content = "shot,grind_setting,purged_g,retained_g\n1,12,,\n2,11,1,0.4\n3,10,1,0.6\n"
    assert stages(read, content) == ["counted", "counted", "transition"]


def test_then_from_the_grinder_of_the_bench(read: Reader) -> None:
    bench = Bench(grinders=(Grinder("big", retained_g=4.0), Grinder("small", retained_g=0.0)))
    content = (
        "shot,grinder,grind_setting,purged_g\n1,big,12,\n2,big,11,5\n3,small,3,\n4,small,4,\n"
    )
    assert stages(read, content, bench) == ["counted", "transition", "counted", "counted"]


def test_two_grinders_taking_turns_are_no_change_of_grind(read: Reader) -> None:
    content = "shot,grinder,grind_setting\n1,a,12\n2,b,3\n3,a,12\n4,b,3\n"
    assert set(stages(read, content)) == {"counted"}


def test_a_new_session_is_no_change_of_grind(read: Reader) -> None:
    assert set(stages(read, "shot,session,grind_setting\n1,a,12\n2,b,11\n")) == {"counted"}


def test_a_typed_stage_wins(read: Reader) -> None:
    content = "shot,grind_setting,stage\n1,12,warm-up\n2,11,counted\n3,10,\n"
    assert stages(read, content) == ["warm_up", "counted", "transition"]


def test_shots_are_numbered_where_the_log_has_no_names(read: Reader) -> None:
    log = read("dose_g,notes\n18,\n18,1,2\n18.1,\n")
    assert log.shots["shot"].tolist() == ["1", "3"]
    assert "shots are numbered in the order of the file" in " ".join(log.reading.remarks)


@pytest.mark.parametrize(("dose", "stage"), [("19.9", "transition"), ("20.1", "counted")])
def test_old_grounds_of_less_than_a_twentieth_of_the_dose_do_not_matter(
    read: Reader, dose: str, stage: str
) -> None:
    # One gram retained, assumed: 5.03 % of 19.9 g and 4.98 % of 20.1 g.
    content = f"shot,dose_g,grind_setting\na,{dose},12\nb,{dose},13\n"
    assert stages(read, content) == ["counted", stage]


def test_a_lone_day_far_beyond_the_others_is_flagged_and_does_not_judge_the_log(
    read: Reader,
) -> None:
    days = ["2026-03-05", "2026-03-06", "2026-03-07", "3026-03-08"]
    log = read("shot,pulled_on\n" + "".join(f"{at},{day}\n" for at, day in enumerate(days)))
    assert log.as_of == date(2026, 3, 7)
    assert log.flags[["shot", "column"]].to_numpy().tolist() == [["3", "pulled_on"]]
    assert "a slip in the year?" in log.flags["reason"].item()


def test_a_season_after_a_long_pause_is_none(read: Reader) -> None:
    days = ["2025-03-05", "2025-03-06", "2025-03-07", "2026-03-08", "2026-03-08"]
    log = read("shot,pulled_on\n" + "".join(f"{at},{day}\n" for at, day in enumerate(days)))
    assert log.as_of == date(2026, 3, 8)
    assert log.flags.empty
