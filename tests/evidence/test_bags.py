"""Simulated bags have the truth they state, so that a study of them means something."""

from __future__ import annotations

import dataclasses

import numpy as np
import pandas as pd
import pytest

from tests.evidence import bags
from tests.evidence.bags import CASES, RESPONSES, Case, bag_logs, case_of, many_bags

MANY = 400


def drawn(case: Case, n_bags: int = MANY) -> pd.DataFrame:
    return many_bags(case, n_bags, np.random.default_rng(8))


def left(case: Case, shots: pd.DataFrame, response: str) -> np.ndarray:
    """Return each value less all that acts on it but chance, bags by sessions by shots."""
    law = RESPONSES[response]
    expected = (
        law.level
        + law.grind * (shots["grind_setting"] - bags.USUAL_SETTING)
        + law.dose * (shots["dose_g"] - bags.USUAL_DOSE_G)
        + case.drift(response, shots["roast_age_d"])
    )
    chance = (shots[response] - expected).to_numpy(dtype=float)
    return chance.reshape(-1, case.sessions, case.shots)


@pytest.mark.parametrize("case", CASES, ids=lambda case: case.name)
def test_a_log_has_twelve_to_sixty_shots_of_one_bag(case: Case) -> None:
    first, second = bag_logs(case, 2, np.random.default_rng(1))
    assert 12 <= len(first) == len(second) == case.n_shots <= 60
    assert set(first["bag"]) == {"bag-0001"}
    assert not set(first["shot"]) & set(second["shot"])
    assert first["session"].nunique() == case.sessions


@pytest.mark.parametrize("response", RESPONSES)
@pytest.mark.parametrize("case", CASES, ids=lambda case: case.name)
def test_spreads_are_the_ones_stated(case: Case, response: str) -> None:
    law, unserviced = RESPONSES[response], dataclasses.replace(case, serviced=False)
    chance = left(unserviced, drawn(unserviced), response)
    total = np.hypot(law.session_sd, law.shot_sd)
    # Relative standard error of an SD of n values: 1 / sqrt(2 n); of a bag's values, those
    # of one session and of neighbouring sessions go together, so bags are counted.
    assert chance.std() == pytest.approx(total, rel=4 / np.sqrt(2 * MANY))
    if case.shots > 1:
        within = chance.var(axis=2, ddof=1).mean() ** 0.5
        assert within == pytest.approx(law.shot_sd, rel=4 / np.sqrt(2 * MANY * case.sessions))


def test_serial_correlation_is_the_one_stated() -> None:
    case = case_of("serially correlated sessions")
    means = left(case, drawn(case), "time_s").mean(axis=2)
    law = RESPONSES["time_s"]
    share = law.session_sd**2 / (law.session_sd**2 + law.shot_sd**2 / case.shots)
    r = np.corrcoef(means[:, :-1].ravel(), means[:, 1:].ravel())[0, 1]
    assert r == pytest.approx(0.5 * share, abs=4 / np.sqrt(MANY * 11))


def test_a_setting_that_follows_age_goes_with_it_as_stated() -> None:
    shots = drawn(case_of("grind follows age partly"))
    r = np.corrcoef(shots["grind_setting"], shots["roast_age_d"])[0, 1]
    assert r == pytest.approx(-0.7, abs=0.02)


def test_a_confounded_bag_has_one_setting_a_session_and_never_a_coarser_one() -> None:
    for shots in bag_logs("always ground finer", 20, np.random.default_rng(2)):
        settings = shots.groupby("session")["grind_setting"].unique().map(list)
        assert (settings.map(len) == 1).all()
        assert (np.diff([one for (one,) in settings]) <= 0).all()


def test_a_random_grind_does_not_go_with_age() -> None:
    shots = drawn(case_of("line"))
    assert np.corrcoef(shots["grind_setting"], shots["roast_age_d"])[0, 1] == pytest.approx(0)


def test_days_frozen_lie_between_day_and_age() -> None:
    shots = drawn(case_of("frozen in the middle"), 5)
    on_the_shelf = (shots["pulled_on"] - shots["roasted_on"]).dt.days
    frozen = (shots["thawed_on"] - shots["frozen_on"]).dt.days.fillna(0)
    assert (on_the_shelf - frozen == shots["roast_age_d"]).all()
    assert (shots["frozen_d"] == frozen).all()
    assert set(frozen) == {0, 9}
    assert (shots["pulled_on"] >= shots["thawed_on"].fillna(shots["pulled_on"])).all()


def test_one_service_a_bag_stands_at_the_shot_after_it_and_its_step_is_the_one_stated() -> None:
    case = case_of("line with a service")
    shots = drawn(case)
    said = shots["serviced"].to_numpy().reshape(-1, case.n_shots)
    assert pd.notna(said).sum() == MANY
    assert (said[:, 30] == "burrs cleaned").all()
    means = left(case, shots, "ey_pct").mean(axis=2)
    step = means[:, 10:].mean() - means[:, :10].mean()
    law = RESPONSES["ey_pct"]
    error = np.sqrt((law.session_sd**2 + law.shot_sd**2 / 3) * (1 / 5 + 1 / 10) / MANY)
    assert step == pytest.approx(law.step, abs=4 * error)


@pytest.mark.parametrize(
    ("name", "age_d", "per_day", "settings"),
    [
        # By hand: line; twice the bend times the distance; the slope after the break.
        ("flat", 20.0, 0.0, 0.0),
        ("line", 20.0, -0.25, -0.0625),
        ("curve with a peak inside", 30.0, -0.4, -0.1),
        ("two lines with a break", 12.0, 0.10, 0.025),
        ("two lines with a break", 30.0, -0.45, -0.1125),
    ],
)
def test_the_truth_is_the_one_reckoned_by_hand(
    name: str, age_d: float, per_day: float, settings: float
) -> None:
    case = case_of(name)
    assert case.per_day("time_s", age_d) == pytest.approx(per_day, abs=1e-9)
    assert case.settings_per_day(age_d) == pytest.approx(settings, abs=1e-9)


def test_only_a_curve_that_turns_among_the_shots_has_its_best_inside() -> None:
    inside = {case.name for case in CASES if case.best_is_inside}
    assert inside == {"curve with a peak inside", "faint curve", "curve, frozen"}


def test_two_lines_meet_at_their_break() -> None:
    case = case_of("two lines with a break")
    ends = case.drift("ey_pct", [18 - 1e-9, 18 + 1e-9])
    assert np.diff(ends)[0] == pytest.approx(0, abs=1e-8)


def test_a_shape_without_its_age_is_refused() -> None:
    with pytest.raises(ValueError, match="needs its best age"):
        Case("curve", "curve").drift("ey_pct", [1.0])
