"""Fits inside sessions and between them."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest

from tests.taste.logs import BENCH, comparable, log
from yieldwright.models.contrasts.contrasts import contrast
from yieldwright.models.linear.model import fit_least_squares
from yieldwright.models.terms.design import build_design
from yieldwright.models.terms.terms import Blocks
from yieldwright.taste.columns.predictors import Question, prepare
from yieldwright.taste.strata.judging import Judged, judge_strata
from yieldwright.taste.strata.stratum_fits import adjusted_means
from yieldwright.taste.strata.weights import step_weights

QUESTION = Question("ey_pct", BENCH, ("grind_setting", "temp_band"), ("roast_age_d", "dose_g"))


def judged(shots: pd.DataFrame) -> tuple[Judged, ...]:
    return judge_strata(prepare(comparable(shots), QUESTION))


@pytest.fixture
def uneven() -> pd.DataFrame:
    """Return sessions of 6, 6, 5, 3 and 1 shots."""
    shots = log(sessions=5)
    kept = (6, 6, 5, 3, 1)
    return pd.concat(
        [part.head(n) for n, (_, part) in zip(kept, shots.groupby("session"), strict=True)],
        ignore_index=True,
    )


def test_taking_session_means_off_equals_one_column_a_session(uneven: pd.DataFrame) -> None:
    # Theorem of Frisch and Waugh: slopes, both standard errors, residuals, leverage.
    (inside, _) = judged(uneven)
    terms = [each.term(curved=each.column in inside.fit.curved) for each in inside.fit.predictors]
    design = build_design(inside.layout.frame, [*terms, Blocks("session")])
    blocks = fit_least_squares(design, inside.layout.frame["response"])
    for predictor in inside.fit.predictors:
        ((_, weights), *_) = step_weights(inside.fit, predictor)
        ours = inside.fit.estimate(weights, "")
        padded = np.concatenate([weights, np.zeros(len(blocks.params) - len(weights))])
        theirs = contrast(blocks, padded)
        assert ours.estimate == pytest.approx(theirs.estimate)
        assert ours.std_error == pytest.approx(theirs.std_error)
        assert ours.hc3_std_error == pytest.approx(theirs.hc3_std_error)
        assert ours.df == theirs.df
    assert inside.fit.fit.residuals == pytest.approx(blocks.residuals, abs=1e-9)
    assert inside.fit.fit.leverage == pytest.approx(blocks.leverage)
    assert inside.fit.fit.sigma == pytest.approx(blocks.sigma)


def test_session_means_are_moved_to_common_settings() -> None:
    # Without noise the moved means follow age alone, whatever was ground on which day.
    shots = log(sessions=5, noise=0.0, grind=-0.5, age=0.1, band=0.0)
    coarser = shots["session"].factorize()[0] % 2
    shots["grind_setting"] += coarser
    shots["ey_pct"] -= 0.5 * coarser
    (inside, between) = judged(shots)
    means = adjusted_means(between.layout, inside.fit)
    ages = between.layout.sessions["roast_age_d"].to_numpy()
    assert np.diff(means) / np.diff(ages) == pytest.approx(0.1, abs=1e-6)


def test_moving_means_by_uncertain_slopes_widens_what_they_say() -> None:
    # The grind follows the age from day to day, so the age carries the slope's uncertainty.
    shots = log(sessions=6, noise=0.6)
    shots["grind_setting"] -= shots["session"].factorize()[0]
    (_, between) = judged(shots)
    ((_, weights),) = step_weights(between.fit, between.predictor("roast_age_d"))
    plain = contrast(between.fit.fit, weights)
    assert between.fit.estimate(weights, "").std_error > plain.std_error


def test_means_that_need_no_moving_keep_their_degrees_of_freedom() -> None:
    # Every session holds the same settings, so nothing is borrowed; sessions differ.
    shots = log(sessions=6).drop(columns=["dose_g", "temp_band"])
    shots["ey_pct"] += np.array([1.0, -1.0, 0.5, -0.5, 1.5, -1.5])[shots["session"].factorize()[0]]
    (_, between) = judged(shots)
    ((_, weights),) = step_weights(between.fit, between.predictor("roast_age_d"))
    assert between.fit.estimate(weights, "").df == pytest.approx(4)


def test_no_interval_of_session_means_is_narrower_than_if_sessions_did_not_differ() -> None:
    # Session means on a line by construction: taken alone they would claim to know the age.
    shots = log(sessions=4, noise=0.6)
    line = shots["ey_pct"] - shots.groupby("session")["ey_pct"].transform("mean")
    (inside, between) = judged(shots.assign(ey_pct=line + 19 + 0.1 * shots["roast_age_d"]))
    ((_, weights),) = step_weights(between.fit, between.predictor("roast_age_d"))
    found, plain = between.fit.estimate(weights, ""), contrast(between.fit.fit, weights)
    of_shots = inside.fit.fit.sigma / np.sqrt(6 * np.ptp(np.arange(4) * 3.0) ** 2 * 5 / 9)
    assert plain.std_error < 0.5 * of_shots
    assert found.std_error >= of_shots * (1 - 1e-9)
    assert found.df > plain.df


def test_a_log_of_a_thousand_sessions_is_fitted_without_a_column_for_each() -> None:
    (inside, _) = judged(log(sessions=1000, shots=4))
    assert inside.fit.design.matrix.shape == (4000, 6)  # the square of grind included
    assert inside.fit.fit.df_resid == 4000 - 1000 - 5
