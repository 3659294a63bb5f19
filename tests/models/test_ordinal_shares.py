"""Probabilities of levels, and the check of one slope for all thresholds."""

from __future__ import annotations

from typing import Any

import numpy as np
import pandas as pd
import pytest
from hypothesis import given, settings

from tests.models.test_ordinal import fit, links, log, seeds
from yieldwright.errors import OutOfRangeError, UnknownNameError
from yieldwright.models.ordinal.model import fit_ordinal
from yieldwright.models.ordinal.odds import check_slopes, slope_check_table
from yieldwright.models.ordinal.prediction import level_shares, level_table
from yieldwright.models.terms.design import build_design
from yieldwright.models.terms.terms import Blocks, Factor, Numeric

few = settings(max_examples=15)


@few
@given(seed=seeds, link=links)
def test_shares_sum_to_one(seed: int, link: Any) -> None:
    shares = level_shares(fit(log(seed), link=link), {"grind": 9})
    assert sum(each.estimate for each in shares) == pytest.approx(1, abs=1e-12)
    assert all(each.ci_low < each.estimate < each.ci_high for each in shares)


@few
@given(seed=seeds, link=links)
def test_a_coarser_grind_moves_shares_the_way_of_its_slope(seed: int, link: Any) -> None:
    found = fit(log(seed), link=link)
    top = [level_shares(found, {"grind": grind})[-1].estimate for grind in (8, 11)]
    assert np.sign(top[1] - top[0]) == np.sign(found.params[3])


def test_shares_of_a_saturated_fit_are_those_seen_with_binomial_errors() -> None:
    # Two levels and one factor: the estimate is the proportion, the delta method gives
    # sqrt(p (1 − p) / n), whatever the link.
    frame = pd.DataFrame(
        {"band": np.repeat(["a", "b"], [10, 20]), "y": [1] * 7 + [2] * 3 + [1] * 5 + [2] * 15}
    )
    for link in ("logit", "probit"):
        found = fit_ordinal(build_design(frame, [Factor("band")]), frame["y"], link=link)
        one, two = level_shares(found, {"band": "b"})
        assert (one.estimate, two.estimate) == pytest.approx((0.25, 0.75), rel=1e-10)
        assert one.std_error == pytest.approx((0.25 * 0.75 / 20) ** 0.5, rel=1e-8)
        assert two.std_error == pytest.approx(one.std_error, rel=1e-10)


def test_standard_errors_are_those_of_the_slopes_taken_numerically() -> None:
    found = fit(log(6))
    row = found.design.row({"grind": 10})

    def shares(params: np.ndarray) -> np.ndarray:
        places = params[:3] - row[1:] @ params[3:]
        return np.diff([0.0, *found.posing.link.below(places), 1.0])

    steps = 1e-6 * np.eye(5)
    slopes = np.array(
        [(shares(found.params + h) - shares(found.params - h)) / 2e-6 for h in steps]
    )
    errors = np.sqrt(np.einsum("ja,jk,ka->a", slopes, found.cov, slopes))
    printed = [each.std_error for each in level_shares(found, {"grind": 10})]
    assert printed == pytest.approx(errors, rel=1e-6)


def test_a_level_that_separation_makes_certain_has_no_interval() -> None:
    frame = pd.DataFrame({"band": list("aaaabbbb"), "y": [1, 2, 1, 2, 3, 3, 3, 3]})
    found = fit_ordinal(build_design(frame, [Factor("band")]), frame["y"])
    table = level_table(level_shares(found, {"band": "b"}))
    assert table["estimate"].tolist() == [0.0, 0.0, 1.0]
    assert table[["std_error", "ci_low", "ci_high"]].isna().all(axis=None)


def test_levels_separated_from_others_keep_their_shares() -> None:
    frame = pd.DataFrame({"band": list("aaaabbbb"), "y": [1, 2, 1, 2, 3, 3, 3, 3]})
    found = fit_ordinal(build_design(frame, [Factor("band")]), frame["y"])
    low, middle, high = level_shares(found, {"band": "a"})
    assert (low.estimate, middle.estimate, high.estimate) == pytest.approx((0.5, 0.5, 0.0))
    assert low.std_error == pytest.approx(0.25, rel=1e-9)


def test_nothing_is_said_outside_the_values_tried() -> None:
    with pytest.raises(OutOfRangeError, match="'grind' was tried from 8 to 11; 12 lies outside"):
        level_shares(fit(log(1)), {"grind": 12})


def test_an_unknown_column_is_refused() -> None:
    with pytest.raises(UnknownNameError, match="no term was made from 'grnd'"):
        level_shares(fit(log(1)), {"grnd": 9})


def test_one_slope_passes_where_the_truth_has_one() -> None:
    # 200 logs of proportional odds: a test at 5 % alarms within 4 binomial errors, and a
    # little above 5 % on 60 rows, as a likelihood ratio does.
    alarms = [check_slopes(fit(log(seed, 60)))[0].p_value < 0.05 for seed in range(200)]
    assert 0 < np.mean(alarms) < 0.05 + 4 * (0.05 * 0.95 / 200) ** 0.5


def test_a_column_that_only_spreads_the_scores_is_found() -> None:
    rng = np.random.default_rng(3)
    frame = pd.DataFrame({"x": np.resize([0.0, 1.0], 300)})
    behind = rng.logistic(size=300) * (1 + 4 * frame["x"])
    frame["y"] = np.searchsorted([-2.0, 0.0, 2.0], behind)
    found = fit_ordinal(build_design(frame, [Numeric("x")]), frame["y"])
    assert check_slopes(found)[0].p_value < 1e-6


def test_a_check_of_two_groups_compares_with_the_saturated_fit() -> None:
    # With one factor, a slope for each threshold is the multinomial fit to each group.
    frame = pd.DataFrame(
        {"band": np.repeat(["a", "b"], 12), "y": [1, 2, 3] * 4 + [1, 1, 2, 3, 3, 3] * 2}
    )
    checked = check_slopes(fit_ordinal(build_design(frame, [Factor("band")]), frame["y"]))[0]
    counts = pd.crosstab(frame["band"], frame["y"]).to_numpy()
    saturated = np.sum(counts * np.log(counts / counts.sum(axis=1, keepdims=True)))
    assert checked.log_likelihood == pytest.approx(saturated, rel=1e-10)


def test_blocks_are_not_checked() -> None:
    frame = log(2).assign(day=np.resize(["mon", "tue"], 40))
    found = fit_ordinal(build_design(frame, [Factor("band"), Blocks("day")]), frame["y"])
    assert slope_check_table(check_slopes(found))["term"].tolist() == ["band"]


def test_too_few_rows_for_so_many_slopes_leave_the_check_open() -> None:
    frame = log(2, rows=7, levels=3).assign(y=[1, 2, 3, 1, 3, 2, 1])
    design = build_design(frame, [Numeric("age"), Factor("band")])
    age, band = check_slopes(fit_ordinal(design, frame["y"]))
    assert np.isnan([age.statistic, band.p_value]).sum() >= 1
    assert band.df == 2


def test_two_levels_leave_nothing_to_check() -> None:
    with pytest.raises(OutOfRangeError, match="only two levels occur"):
        check_slopes(fit(log(1, levels=2)))
