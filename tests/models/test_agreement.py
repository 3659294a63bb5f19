"""Agreement of raters equals published figures and what they must be at the limits."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd
import pytest
from statsmodels.stats.inter_rater import cohens_kappa

from tests.models.published import agreeing_digits, data, expected
from yieldwright.errors import MisalignedError, OutOfRangeError, TooFewShotsError
from yieldwright.models.agreement.alpha import LEAST_UNITS, krippendorff_alpha
from yieldwright.models.agreement.concordance import concordance
from yieldwright.models.agreement.intraclass import KINDS, intraclass, mean_squares, variance_share
from yieldwright.models.agreement.kappa import cohen_kappa
from yieldwright.models.agreement.precision import variance_sum_interval, variation_interval
from yieldwright.models.intervals.intervals import sd_interval

EXAMPLES = ["agree_icc_shrout_fleiss", "agree_icc_anxiety"]
# Shrout and Fleiss (1979), table 2: six targets, four judges.
JUDGES = np.array(
    [[9, 2, 5, 8], [6, 1, 3, 2], [8, 4, 6, 8], [7, 1, 2, 6], [10, 5, 6, 9], [6, 2, 4, 7]],
    dtype=float,
)


def ratings(reference: Path, name: str) -> pd.DataFrame:
    return data(reference, name).select_dtypes("number")


@pytest.mark.parametrize("name", EXAMPLES)
def test_every_intraclass_correlation_equals_the_reference(reference: Path, name: str) -> None:
    told = expected(reference, name)["icc"]
    found = intraclass(ratings(reference, name)).set_index("kind")
    pairs = {"estimate": "value", "statistic": "F", "df": "df1", "df_error": "df2"}
    for ours, theirs in {**pairs, "p_value": "p"}.items():
        assert agreeing_digits(found[ours], [told[kind][theirs] for kind in KINDS]) > 10
    for ours, theirs in {"ci_low": "lower", "ci_high": "upper"}.items():
        assert agreeing_digits(found[ours], [told[kind][theirs] for kind in KINDS]) > 8


def test_the_published_two_decimals_are_met() -> None:
    # Shrout and Fleiss (1979), table 4.
    assert intraclass(JUDGES)["estimate"].round(2).tolist() == [0.17, 0.29, 0.71, 0.44, 0.62, 0.91]


@pytest.mark.parametrize("name", EXAMPLES)
def test_mean_squares_equal_the_reference(reference: Path, name: str) -> None:
    told = expected(reference, name)["mean_squares"]
    found = mean_squares(ratings(reference, name))
    ours = [found.targets, found.within, found.raters, found.error]
    assert agreeing_digits(ours, [told[key] for key in ("MSB", "MSW", "MSJ", "MSE")]) > 12


def test_concordance_equals_the_reference_with_and_without_ties(reference: Path) -> None:
    told = expected(reference, "agree_icc_anxiety")
    for ties, key in ((True, "kendall_corrected"), (False, "kendall_uncorrected")):
        found = concordance(ratings(reference, "agree_icc_anxiety"), ties=ties)
        ours = [found.w, found.chi_square, found.p_value]
        assert agreeing_digits(ours, [told[key][each] for each in ("W", "chi2", "p")]) > 10


@pytest.mark.parametrize(("file", "key"), [("data.csv", "c"), ("wiki.csv", "wiki")])
@pytest.mark.parametrize("metric", ["nominal", "ordinal", "interval"])
def test_alpha_with_gaps_equals_the_reference(
    reference: Path, file: str, key: str, metric: Any
) -> None:
    table = data(reference, "agree_krippendorff", file).set_index("coder").T
    found = krippendorff_alpha(table, metric=metric)
    told = expected(reference, "agree_krippendorff")[key][metric]
    assert agreeing_digits([found.estimate], [told]) > 12


def test_plain_kappa_equals_the_reference(reference: Path) -> None:
    table = data(reference, "agree_kappa")
    found = cohen_kappa(table["rater1"].tolist(), table["rater2"].tolist())
    told = expected(reference, "agree_kappa")["cohen_12"]
    assert agreeing_digits([found.estimate, found.z], [told["kappa"], told["z"]]) > 10


@pytest.mark.parametrize("weights", ["linear", "quadratic"])
def test_weighted_kappa_equals_the_reference(reference: Path, weights: Any) -> None:
    table = data(reference, "agree_kappa", "anxiety.csv")
    found = cohen_kappa(table["rater1"].tolist(), table["rater2"].tolist(), weights=weights)
    told = expected(reference, "agree_kappa")[f"cohen_w_{weights}_anxiety12"]
    assert agreeing_digits([found.estimate, found.z], [told["kappa"], told["z"]]) > 8


@pytest.mark.parametrize(
    ("ours", "theirs"), [("none", None), ("linear", "linear"), ("quadratic", "quadratic")]
)
def test_the_error_of_kappa_equals_another_engine(ours: Any, theirs: str | None) -> None:
    # statsmodels, fed the same table; Fleiss, Cohen and Everitt (1969).
    table = np.array([[10, 3, 1], [2, 8, 4], [1, 2, 9]])
    cells = [(i, j) for i in range(3) for j in range(3) for _ in range(table[i, j])]
    found = cohen_kappa([i for i, _ in cells], [j for _, j in cells], weights=ours)
    told = cohens_kappa(table, wt=theirs)
    assert found.estimate == pytest.approx(told.kappa, rel=1e-12)
    assert found.std_error == pytest.approx(told.std_kappa, rel=1e-10)
    assert found.z == pytest.approx(told.z_value, rel=1e-10)


def test_the_share_of_readings_is_what_the_intraclass_correlation_leaves() -> None:
    ms = mean_squares(JUDGES)
    share, (low, high) = variance_share(ms.targets, 5, ms.within, 18)
    mean_of_all = intraclass(JUDGES).set_index("kind").loc["ICC1k"]
    assert share == pytest.approx(1 - mean_of_all["estimate"], rel=1e-12)
    assert low == pytest.approx(1 - mean_of_all["ci_high"], rel=1e-10)
    assert high == min(1.0, 1 - mean_of_all["ci_low"])


def test_full_agreement_is_one_in_every_measure() -> None:
    same = np.repeat(np.arange(6.0)[:, None], 3, axis=1)
    assert concordance(same).w == 1
    assert krippendorff_alpha(same).estimate == 1
    assert cohen_kappa([1, 2, 3, 1], [1, 2, 3, 1], weights="quadratic").estimate == 1


def test_alpha_does_not_mind_a_unit_that_one_rater_rated() -> None:
    table = np.array([[1, 2], [2, 2], [3, 3], [1, 1.0]])
    more = np.vstack([table, [9.0, np.nan]])
    assert krippendorff_alpha(more).estimate == krippendorff_alpha(table).estimate


def test_alpha_has_no_interval_on_few_units() -> None:
    table = np.arange(2.0 * (LEAST_UNITS - 1)).reshape(-1, 2) % 5
    assert np.isnan(krippendorff_alpha(table).limits).all()


@pytest.mark.parametrize(("n_raters", "noise"), [(2, 1.0), (3, 0.5), (5, 2.0)])
def test_the_interval_of_alpha_covers_what_many_units_give(n_raters: int, noise: float) -> None:
    # 200 tables of 24 units against 5,000 units of one law: 93 % less four binomial errors.
    def table(n: int, rng: np.random.Generator) -> np.ndarray:
        drawn = rng.normal(size=(n, 1)) + noise * rng.normal(size=(n, n_raters))
        return np.round(2 * drawn) / 2

    truth = krippendorff_alpha(table(5_000, np.random.default_rng(0))).estimate
    rng = np.random.default_rng(5)
    limits = [krippendorff_alpha(table(24, rng)).limits for _ in range(200)]
    covered = np.mean([low <= truth <= high for low, high in limits])
    assert covered >= 0.93 - 4 * np.sqrt(0.93 * 0.07 / 200)


def test_a_sum_of_one_variance_has_the_limits_of_a_variance() -> None:
    low, high = variance_sum_interval([2.0], [9], [3.0])
    assert (low**0.5, high**0.5) == pytest.approx(sd_interval(6.0**0.5, 9), rel=1e-12)


def test_the_limits_of_a_small_coefficient_of_variation_are_those_of_the_spread() -> None:
    assert variation_interval(1e-5, 9) == pytest.approx(sd_interval(1e-5, 9), rel=1e-8)


def test_the_limits_of_a_coefficient_of_variation_cover_it() -> None:
    # 4,000 samples of 6 with SD over mean of 0.2; bounds of four binomial standard errors.
    rng = np.random.default_rng(11)
    draws = rng.normal(1.0, 0.2, size=(4000, 6))
    found = draws.std(axis=1, ddof=1) / draws.mean(axis=1)
    limits = [variation_interval(min(each, 1 / 3), 5) for each in found]
    covered = np.mean([low <= 0.2 <= high for low, high in limits])
    assert abs(covered - 0.95) < 4 * np.sqrt(0.95 * 0.05 / 4000)


def test_the_limits_of_a_sum_of_variances_cover_it() -> None:
    # Five sessions of four shots, session SD 1 and shot SD 1: total variance 2.
    rng = np.random.default_rng(12)
    shots = rng.normal(size=(4000, 5, 1)) + rng.normal(size=(4000, 5, 4))
    between = 4 * shots.mean(axis=2).var(axis=1, ddof=1)
    within = shots.var(axis=2, ddof=1).mean(axis=1)
    limits = [
        variance_sum_interval([b, w], [4, 15], [1 / 4, 3 / 4])
        for b, w in zip(between, within, strict=True)
    ]
    covered = np.mean([low <= 2 <= high for low, high in limits])
    assert abs(covered - 0.95) < 0.02 + 4 * np.sqrt(0.95 * 0.05 / 4000)


def test_what_cannot_be_compared_is_refused() -> None:
    with pytest.raises(TooFewShotsError, match="two targets and two raters"):
        intraclass(np.ones((5, 1)))
    with pytest.raises(OutOfRangeError, match="1 of 3 targets lack a rating"):
        concordance(np.array([[1, 2], [np.nan, 2], [3, 4.0]]))
    with pytest.raises(OutOfRangeError, match="no disagreement"):
        intraclass(np.repeat(np.arange(4.0)[:, None], 2, axis=1))
    with pytest.raises(OutOfRangeError, match="no order"):
        concordance(np.ones((4, 2)))
    with pytest.raises(OutOfRangeError, match="all ratings are the same"):
        krippendorff_alpha(np.ones((4, 2)))
    with pytest.raises(TooFewShotsError, match="at least two ratings"):
        krippendorff_alpha(np.array([[1.0, np.nan], [np.nan, 2.0]]))
    with pytest.raises(OutOfRangeError, match="one category throughout"):
        cohen_kappa([1, 1], [1, 1])
    with pytest.raises(MisalignedError, match="different numbers"):
        cohen_kappa([1], [1, 2])
    with pytest.raises(OutOfRangeError, match="up to a third"):
        variation_interval(0.5, 9)
