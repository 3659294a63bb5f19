"""Two lines that meet: digits of R segmented, mixed models, coverage, and refusals."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from tests.models.published import agreeing_digits, data, expected
from yieldwright.errors import OutOfRangeError, TooFewShotsError
from yieldwright.models.intervals.intervals import t_quantile
from yieldwright.models.mixed.groups import grouping
from yieldwright.models.mixed.model import fit_mixed
from yieldwright.models.trend.forms import compare_forms
from yieldwright.models.trend.two_lines import TwoLines, fit_two_lines

FOLDER = "trend_segmented"
CLOSE = 4


def published(reference: Path, name: str) -> tuple[pd.DataFrame, dict[str, float]]:
    """Return rows and expected values of one break."""
    frame = data(reference, FOLDER)
    if name.startswith("plant"):
        plant = data(reference, FOLDER, "plant.csv").rename(columns={"time": "x"})
        frame = plant[plant["group"] == name.removeprefix("plant_")]
    return frame, expected(reference, FOLDER)["exact"][name]


@pytest.mark.parametrize("name", ["stagnant", "plant_RKV", "plant_RKW"])
def test_everything_agrees_with_segmented(reference: Path, name: str) -> None:
    frame, printed = published(reference, name)
    found = fit_two_lines(frame["x"], frame["y"])
    ours = {
        "psi": found.place,
        "psi_se": found.std_error,
        "slope1": found.before.estimate,
        "slope2": found.after.estimate,
        "slope_change": found.change.estimate,
        "slope1_se": found.before.std_error,
        "slope2_se": found.after.std_error,
        "intercept": found.height - found.place * found.before.estimate,
        "sigma": found.sigma,
        "rss": found.sigma**2 * found.df,
        "df": found.df,
    }
    assert agreeing_digits(ours.values(), [printed[key] for key in ours]) > 10
    reach = t_quantile(found.df) * found.std_error
    assert [found.place - reach, found.place + reach] == pytest.approx(printed["psi_ci_delta_t"])


def test_a_break_at_a_value_of_x_has_an_interval_but_no_standard_error(reference: Path) -> None:
    frame, printed = published(reference, "plant_RWC")
    found = fit_two_lines(frame["x"], frame["y"])
    assert found.place == pytest.approx(printed["psi"], rel=1e-12)
    assert found.sigma**2 * found.df == pytest.approx(printed["rss"], rel=1e-9)
    assert np.isnan(found.std_error)
    assert found.ci_low < found.place < found.ci_high
    assert not found.at_end


@pytest.mark.parametrize("name", ["stagnant", "plant_RKV", "plant_RWC"])
def test_limits_are_where_the_f_test_of_nested_sums_of_squares_turns(
    reference: Path, name: str
) -> None:
    frame, _ = published(reference, name)
    x, y = frame["x"].to_numpy(), frame["y"].to_numpy()
    found = fit_two_lines(x, y, level=0.9)

    def squares(place: float) -> float:
        columns = np.column_stack([np.ones(len(x)), x, np.maximum(x - place, 0)])
        left = y - columns @ np.linalg.lstsq(columns, y)[0]
        return float(left @ left)

    least, allowed = squares(found.place), t_quantile(found.df, level=0.9) ** 2
    for limit in (found.ci_low, found.ci_high):
        statistic = (squares(limit) - least) / (least / found.df)
        assert statistic == pytest.approx(allowed, rel=1e-5)


def sessions(
    seed: int, *, count: int = 14, each: int = 4, shift: float = 0.5, fall: float = 0.5
) -> pd.DataFrame:
    """Return rows that fall until 20 and then stay, age the same all session."""
    rng = np.random.default_rng(seed)
    session = np.repeat(np.arange(count), each)
    age = np.sort(rng.uniform(2, 40, count))[session]
    lift = shift * rng.normal(size=count)[session]
    y = 30 - fall * np.minimum(age, 20) + lift + rng.normal(size=len(session))
    return pd.DataFrame({"age": age, "session": session, "y": y})


def fitted(frame: pd.DataFrame) -> TwoLines:
    return fit_two_lines(frame["age"], frame["y"], groups=frame["session"])


def test_with_equal_sessions_it_is_the_fit_of_their_means() -> None:
    # Where every session has as many rows and sessions differ, means carry all that there
    # is to know of x, and likelihood and least squares agree.
    frame = sessions(3, shift=1.5)
    means = frame.groupby("session").mean()
    ours, theirs = fitted(frame), fit_two_lines(means["age"], means["y"])
    assert ours.group_sd > 0
    assert (ours.df, ours.n_rows, ours.n_groups) == (10, 56, 14)
    pairs = [
        (ours.place, theirs.place),
        (ours.before.estimate, theirs.before.estimate),
        (ours.after.estimate, theirs.after.estimate),
        (ours.before.std_error, theirs.before.std_error),
        (ours.change.std_error, theirs.change.std_error),
        (ours.before.df, theirs.before.df),
        (ours.ci_low, theirs.ci_low),
        (ours.ci_high, theirs.ci_high),
        (ours.height, theirs.height),
    ]
    for one, other in pairs:
        assert one == pytest.approx(other, rel=1e-6)
    assert ours.std_error == pytest.approx(theirs.std_error, rel=1e-6, nan_ok=True)


def test_x_that_varies_inside_sessions_is_judged_by_rows() -> None:
    frame = sessions(4, count=6, each=12)
    rng = np.random.default_rng(1)
    frame = frame.assign(age=rng.uniform(2, 40, 72))
    frame["y"] = 30 - 0.5 * np.minimum(frame["age"], 20) + rng.normal(size=6)[frame["session"]]
    frame["y"] += rng.normal(size=72)
    found = fitted(frame)
    assert 40 < found.df < 70
    assert found.ci_low < 20 < found.ci_high
    age = frame["age"].to_numpy()
    broken = np.column_stack([np.ones(72), age, np.maximum(age - found.place, 0)])
    fit = fit_mixed(broken, frame["y"], [grouping(frame, "session")])
    # Both are restricted likelihoods at a place found by the plain one.
    assert found.before.estimate == pytest.approx(fit.params[1], rel=0.01)
    assert found.sigma == pytest.approx(fit.sigma, rel=0.02)


def test_the_likelihood_is_that_of_the_form() -> None:
    frame = sessions(5)
    form = compare_forms(frame["age"], frame["y"], groups=frame["session"]).form("two lines")
    found = fitted(frame)
    assert (found.place, found.log_likelihood) == (form.turn, form.log_likelihood)


@pytest.mark.parametrize(("offset", "factor"), [(50.0, 1.0), (0.0, -2.0)])
def test_origin_direction_and_units_carry_over(offset: float, factor: float) -> None:
    frame = sessions(6, shift=0.2)
    moved = frame.assign(age=offset + factor * frame["age"], y=3 * frame["y"] - 8)
    one, two = fitted(frame), fitted(moved)
    limits = [offset + factor * limit for limit in (one.ci_low, one.ci_high)]
    assert two.place == pytest.approx(offset + factor * one.place, rel=1e-7)
    assert [two.ci_low, two.ci_high] == pytest.approx(sorted(limits), rel=1e-6)
    first, last = (two.before, two.after) if factor > 0 else (two.after, two.before)
    assert first.estimate == pytest.approx(3 * one.before.estimate / factor, rel=1e-6)
    assert last.std_error == pytest.approx(3 * one.after.std_error / abs(factor), rel=1e-6)


def test_the_interval_of_a_clear_break_covers_it() -> None:
    hits, logs = 0, 120
    for seed in range(logs):
        found = fitted(sessions(1000 + seed))
        hits += found.ci_low <= 20 <= found.ci_high
    error = CLOSE * np.sqrt(0.95 * 0.05 / logs)
    assert 0.93 - error <= hits / logs <= 0.97 + error


def test_a_break_that_nobody_can_place_has_no_limits() -> None:
    unbounded = [not fitted(sessions(seed, fall=0.0)).bounded for seed in range(20)]
    assert sum(unbounded) >= 15


def test_one_value_that_stands_apart_is_a_break_at_the_end() -> None:
    x = np.arange(10.0)
    y = 0.5 * x + np.tile([0.05, -0.05], 5)
    y[0] += 9
    found = fit_two_lines(x, y)
    assert found.at_end
    assert found.place == found.low_end == 1
    assert found.ci_low == -np.inf


def test_adjusters_are_allowed_for() -> None:
    frame = sessions(7)
    rng = np.random.default_rng(4)
    dose = rng.normal(size=len(frame))
    plain = fitted(frame)
    found = fit_two_lines(
        frame["age"], frame["y"] + 40 * dose, beside=dose, groups=frame["session"]
    )
    assert found.place == pytest.approx(plain.place, abs=2)
    assert found.df == plain.df
    assert found.sigma == pytest.approx(plain.sigma, rel=0.1)


def test_rows_that_cannot_bear_it_are_refused() -> None:
    x = np.repeat([1.0, 2.0, 3.0, 4.0], 5)
    y = np.random.default_rng(1).normal(size=20)
    with pytest.raises(TooFewShotsError, match="4 different values of x; two lines take 5"):
        fit_two_lines(x, y)
    with pytest.raises(TooFewShotsError, match="6 groups for 5 parameters"):
        fitted(sessions(1, count=6))
    with pytest.raises(OutOfRangeError, match="between 0 and 1"):
        fit_two_lines(np.arange(20.0), y, level=95)
