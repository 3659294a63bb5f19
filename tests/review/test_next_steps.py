from __future__ import annotations

import pandas as pd

from yieldwright.planning import Suggestion
from yieldwright.review.next_steps import next_steps

WHOLE = pd.DataFrame(
    {"grind_setting": [12.0], "ey_pct": [19.0], "time_s": [36.0], "score:overall": [7.0]}
)


def test_shots_worth_pulling_come_before_columns_worth_logging() -> None:
    steps = next_steps(WHOLE.drop(columns="time_s"), [Suggestion("vary", "Pull it.")])
    assert steps[0] == "Pull it."
    assert steps[1].startswith("Time the shots")


def test_a_column_without_a_single_value_is_as_good_as_absent() -> None:
    assert any("strength" in step for step in next_steps(WHOLE.assign(ey_pct=float("nan")), []))


def test_a_log_without_scores_is_asked_for_them() -> None:
    steps = next_steps(WHOLE.drop(columns="score:overall"), [])
    assert steps == next_steps(WHOLE.assign(**{"score:overall": float("nan")}), [])
    assert steps[0].startswith("Score every cup")


def test_there_are_never_more_than_three() -> None:
    assert len(next_steps(pd.DataFrame({"shot": ["a"]}), [Suggestion("vary", "Pull it.")])) == 3


def test_there_is_always_one() -> None:
    assert len(next_steps(WHOLE, [])) == 1
    assert len(next_steps(None, [])) == 1
