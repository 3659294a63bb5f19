"""The repeats that would tell a named pair apart."""

from __future__ import annotations

import math

import numpy as np
import pandas as pd
import pytest

from tests.taste.logs import BENCH, comparable, finer_each_day, log
from yieldwright.errors import RoleError
from yieldwright.planning import separating_shot
from yieldwright.taste import fit_effects

PAIR = ("grind_setting", "roast_age_d")


def inflation(frame: pd.DataFrame) -> float:
    """Return 1/(1 − r²) of grind and age: the identity for two columns."""
    correlation = np.corrcoef(frame["grind_setting"], frame["roast_age_d"])[0, 1]
    return 1 / (1 - correlation**2)


def test_a_pair_named_by_a_fit_gets_the_same_repeats() -> None:
    shots = comparable(finer_each_day())
    (pair,) = fit_effects(shots, "ey_pct", bench=BENCH).confounded
    assert separating_shot(pair, shots, BENCH) == pair.separation


def test_the_inflation_it_promises_is_the_one_that_follows() -> None:
    shots = finer_each_day()
    found = separating_shot(PAIR, comparable(shots), BENCH)
    added = pd.DataFrame([dict(shot) for shot in found.shots])
    together = pd.concat([shots[list(PAIR)], added[list(PAIR)]])
    assert found.vif_before == math.inf
    assert found.vif_after == pytest.approx(inflation(together), rel=1e-4)


def test_no_single_other_setting_would_do_better() -> None:
    shots = finer_each_day()
    found = separating_shot(PAIR, comparable(shots), BENCH)
    for setting in (11.0, 12.0, 13.0, 14.0, 15.0):
        other = pd.DataFrame(
            {"grind_setting": setting, "roast_age_d": 21.0}, index=range(found.repeats)
        )
        assert found.vif_after <= inflation(pd.concat([shots[list(PAIR)], other])) + 1e-9


def test_the_age_of_a_coming_session_cannot_be_chosen() -> None:
    found = separating_shot(PAIR, comparable(finer_each_day()), BENCH)
    assert {shot["roast_age_d"] for shot in found.shots} == {21.0}


def test_only_settings_tried_so_far_are_proposed() -> None:
    shots = finer_each_day()
    found = separating_shot(PAIR, comparable(shots), BENCH)
    assert {shot["grind_setting"] for shot in found.shots} <= set(shots["grind_setting"])


def test_a_pair_that_is_apart_already_needs_nothing() -> None:
    found = separating_shot(PAIR, comparable(log()), BENCH)
    assert found.repeats == 0


def test_inside_sessions_a_session_of_its_own_is_planned() -> None:
    shots = log()
    shots["taper_bar"] = shots["grind_setting"] - 9
    found = separating_shot(("grind_setting", "taper_bar"), comparable(shots), BENCH)
    pulled = {(shot["grind_setting"], shot["taper_bar"]) for shot in found.shots}
    assert {(10.0, 3.0), (12.0, 1.0)} <= pulled
    assert found.sentence.startswith("Pull setting 10 with pressure taper 3 bar ")


def test_what_never_varied_is_refused_with_the_remedy() -> None:
    shots = comparable(log().assign(temp_band="low"))
    with pytest.raises(RoleError, match=r"temp_band never varied .* change it first"):
        separating_shot(("temp_band", "grind_setting"), shots, BENCH)


def test_no_response_is_needed_to_plan() -> None:
    shots = comparable(finer_each_day().drop(columns="ey_pct"))
    assert separating_shot(PAIR, shots, BENCH).repeats >= 3
