"""Where the next row falls: against R, closed forms, limits and refusals."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from tests.models.mixed_examples import carried
from tests.models.published import data
from yieldwright.errors import OutOfRangeError, RoleError, UnknownNameError
from yieldwright.models.contrasts.means import mean_at
from yieldwright.models.contrasts.predictions import Prediction, predicted
from yieldwright.models.linear.model import fit_least_squares
from yieldwright.models.mixed.groups import Grouping, grouping
from yieldwright.models.mixed.model import MixedFit, fit_mixed
from yieldwright.models.terms.design import build_design
from yieldwright.models.terms.terms import Blocks, Factor, Numeric


def test_a_line_predicts_as_r_does(reference: Path) -> None:
    # R 4.2.2: predict(lm(mpg ~ wt + hp, mtcars), data.frame(wt = c(2.5, 3.2),
    # hp = c(100, 150)), interval = "prediction"), and "confidence".
    frame = data(reference, "emmeans_mtcars")
    fit = fit_least_squares(build_design(frame, [Numeric("wt"), Numeric("hp")]), frame["mpg"])
    light, heavy = predicted(fit, {"wt": 2.5, "hp": 100}), predicted(fit, {"wt": 3.2, "hp": 150})
    rows = [(each.mean.estimate, each.row_low, each.row_high) for each in (light, heavy)]
    assert rows[0] == pytest.approx((24.3553985622194, 18.9181702551717, 29.7926268692671))
    assert rows[1] == pytest.approx((20.0522696934281, 14.6653470582178, 25.4391923286383))
    limits = (light.mean.ci_low, light.mean.ci_high)
    assert limits == pytest.approx((23.1596834323620, 25.5511136920768), rel=1e-9)


def one_way(frame: pd.DataFrame, response: str, groups: str) -> Prediction:
    """Return the prediction of a row of a new group, settings playing no part."""
    fit = fit_mixed(build_design(frame, []), frame[response], [grouping(frame, groups)])
    return predicted(fit, {})


def test_a_balanced_one_way_layout_is_predicted_by_its_mean_squares(reference: Path) -> None:
    # V = MSB (1 + 1/a) / b + MSE (1 − 1/b), each mean square with its own degrees of freedom.
    frame = carried("lme4", "Dyestuff", reference, "mixed_dyestuff")
    batches = frame.groupby("Batch")["Yield"]
    a, b = 6, 5
    between = b * batches.mean().var()
    within = batches.var().mean()
    parts = np.array([between * (1 + 1 / a) / b, within * (1 - 1 / b)])
    degrees = parts.sum() ** 2 / (parts**2 / [a - 1, a * (b - 1)]).sum()
    found = one_way(frame, "Yield", "Batch")
    assert found.mean.estimate == pytest.approx(frame["Yield"].mean(), rel=1e-12)
    assert found.row_sd == pytest.approx(np.sqrt(parts.sum()), rel=1e-8)
    assert found.row_df == pytest.approx(degrees, rel=1e-6)
    assert found.new_groups == ("Batch",)


def tilted(reference: Path, kind: str) -> tuple[pd.DataFrame, MixedFit, Grouping]:
    frame = carried("lme4", "sleepstudy", reference, "mixed_sleepstudy")
    groups = grouping(frame, "Subject", slope="Days", correlated=kind == "correlated")
    design = build_design(frame, [Numeric("Days")])
    return frame, fit_mixed(design, frame["Reaction"], [groups]), groups


@pytest.mark.parametrize("kind", ["correlated", "uncorrelated"])
def test_tilted_groups_are_met_where_they_stand(reference: Path, kind: str) -> None:
    _, fit, groups = tilted(reference, kind)
    tilt = np.array([1.0, 7.0])
    target = tilt @ fit.covariances[groups.name] @ tilt + fit.sigma**2
    found = predicted(fit, {"Days": 7.0})
    assert found.row_sd**2 - found.mean.std_error**2 == pytest.approx(target, rel=1e-10)


@pytest.mark.parametrize("kind", ["correlated", "uncorrelated"])
def test_degrees_of_freedom_are_those_of_derivatives_taken_in_steps(
    reference: Path, kind: str
) -> None:
    _, fit, groups = tilted(reference, kind)
    at, row = np.array([1.0, 7.0]), fit.design.row({"Days": 7.0})  # type: ignore[union-attr]
    surface, theta = fit.posing.surface, fit.lowest.theta

    def variance(parameters: np.ndarray) -> float:
        solved = surface.solved(parameters[:-1])
        sigma = fit.posing.size * np.exp(parameters[-1] / 2)
        half = sigma * fit.posing.root @ solved.coefficient_root.T
        factor = fit.posing.as_given(surface.factors(parameters[:-1]))[0]
        group = sigma * at @ groups.back @ factor
        return float(row @ half @ half.T @ row + group @ group + sigma**2)

    middle = np.append(theta, 2 * np.log(fit.sigma / fit.posing.size))
    steps = 1e-5 * np.eye(len(middle))
    slopes = [(variance(middle + s) - variance(middle - s)) / 2e-5 for s in steps]
    target = 2 * variance(middle) ** 2 / (slopes @ fit.parameter_cov @ slopes)
    assert predicted(fit, {"Days": 7.0}).row_df == pytest.approx(target, rel=1e-6)


def rows(seed: int = 2, *, session_sd: float = 0.8) -> pd.DataFrame:
    rng = np.random.default_rng(seed)
    session = np.repeat(np.arange(6), 4)
    frame = pd.DataFrame(
        {
            "session": session,
            "band": np.resize(["low", "high"], 24),
            "grind": rng.permuted(np.resize([8.0, 9, 10, 11, 12], 24)),
        }
    )
    shift = rng.normal(0, session_sd, 6)[session]
    return frame.assign(y=0.4 * frame["grind"] + shift + rng.normal(0, 0.5, 24))


TERMS = (Numeric("grind"), Factor("band"))
AT = {"grind": 9.5, "band": "low"}


def among_sessions(frame: pd.DataFrame) -> MixedFit:
    return fit_mixed(build_design(frame, TERMS), frame["y"], [grouping(frame, "session")])


def test_the_mean_is_that_at_the_same_place() -> None:
    fit = among_sessions(rows())
    assert repr(predicted(fit, AT, term="mean").mean) == repr(mean_at(fit, AT))


def test_a_new_row_falls_farther_than_its_mean() -> None:
    found = predicted(among_sessions(rows()), AT)
    assert found.row_low < found.mean.ci_low < found.mean.ci_high < found.row_high


def test_sessions_that_differ_add_to_what_a_row_of_a_new_one_may_be() -> None:
    alike = predicted(among_sessions(rows(session_sd=0.0)), AT)
    apart = predicted(among_sessions(rows(session_sd=3.0)), AT)
    assert apart.row_sd > 2 * alike.row_sd
    assert apart.row_df < alike.row_df


def test_without_spread_among_groups_the_interval_is_that_of_least_squares() -> None:
    frame = rows(7, session_sd=0.0)
    fit = among_sessions(frame)
    assert fit.at_edge["session"]
    straight = predicted(fit_least_squares(build_design(frame, TERMS), frame["y"]), AT)
    found = predicted(fit, AT)
    limits = (found.row_low, found.row_high)
    assert limits == pytest.approx((straight.row_low, straight.row_high), rel=1e-6)


def test_kenward_and_roger_widen_the_mean_and_so_the_row() -> None:
    fit = among_sessions(rows())
    plain, adjusted = predicted(fit, AT), predicted(fit, AT, df="kenward_roger")
    assert adjusted.mean.std_error >= plain.mean.std_error
    assert adjusted.row_sd >= plain.row_sd


def test_a_higher_level_reaches_farther() -> None:
    fit = among_sessions(rows())
    assert predicted(fit, AT, level=0.99).row_high > predicted(fit, AT).row_high


def test_a_row_needs_a_level_of_every_factor() -> None:
    with pytest.raises(RoleError, match="between the levels of 'band'"):
        predicted(among_sessions(rows()), {"grind": 9.5})


def test_blocks_need_not_be_stated() -> None:
    frame = rows()
    design = build_design(frame, [Numeric("grind"), Blocks("session")])
    found = predicted(fit_least_squares(design, frame["y"]), {"grind": 9.5})
    assert found.new_groups == ()
    assert found.row_low < found.mean.estimate < found.row_high


@pytest.mark.parametrize(
    ("at", "words"),
    [
        ({"grind": 13.0, "band": "low"}, "'grind' was tried from 8 to 12; 13 lies outside"),
        ({"grind": float("nan"), "band": "low"}, "must be a finite number"),
        ({"grind": "fine", "band": "low"}, "must be a finite number"),
    ],
)
def test_nothing_is_predicted_outside_what_was_tried(at: dict[str, object], words: str) -> None:
    with pytest.raises(OutOfRangeError, match=words):
        predicted(among_sessions(rows()), at)


def test_an_unknown_level_is_refused_with_the_nearest() -> None:
    with pytest.raises(UnknownNameError, match="no level 'hihg'"):
        predicted(among_sessions(rows()), {"grind": 9.5, "band": "hihg"})
