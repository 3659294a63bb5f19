"""Whether tasters agree equals published figures; one taster is refused with a reason."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pandas as pd
import pytest
import statsmodels.formula.api as smf

from tests.models.published import data, expected
from yieldwright.bench import Attribute, Bench
from yieldwright.formatting import number
from yieldwright.repeatability.panel.taster_levels import (
    blind_repeats,
    taster_levels,
    taster_pairs,
)
from yieldwright.repeatability.panel.tasters import LEAST_SHARED, TasterAgreement, taster_agreement
from yieldwright.taste.columns.comparable import ComparableSet

# Shrout and Fleiss (1979), table 2: six targets, four judges.
JUDGES = pd.DataFrame(
    [[9, 2, 5, 8], [6, 1, 3, 2], [8, 4, 6, 8], [7, 1, 2, 6], [10, 5, 6, 9], [6, 2, 4, 7]],
    index=list("abcdef"),
    columns=["t1", "t2", "t3", "t4"],
    dtype=float,
)


def long(table: pd.DataFrame) -> pd.DataFrame:
    """Return a table of shots × tasters as single scores."""
    melted = table.rename_axis("shot").reset_index().melt("shot", var_name="taster")
    return melted.rename(columns={"value": "score"}).dropna().assign(attribute="overall")


def agreement(scores: pd.DataFrame) -> TasterAgreement:
    shots = pd.DataFrame({"shot": scores["shot"].unique()})
    return taster_agreement(ComparableSet("", "", shots, tastings=scores), "overall")


def estimate(found: TasterAgreement, measure: str) -> float:
    return float(found.table.set_index("measure")["estimate"][measure])


def test_a_panel_equals_the_published_correlations() -> None:
    # Shrout and Fleiss (1979), table 4: ICC(2,1) .29, ICC(3,1) .71.
    found = agreement(long(JUDGES))
    assert found.complete == ("t1", "t2", "t3", "t4")
    assert round(estimate(found, "ICC(A,1)"), 2) == 0.29
    assert round(estimate(found, "ICC(C,1)"), 2) == 0.71


def test_scores_with_gaps_equal_the_published_alpha(reference: Path) -> None:
    table = data(reference, "agree_krippendorff").set_index("coder").T
    found = agreement(long(table))
    told = expected(reference, "agree_krippendorff")["c"]["ordinal"]
    assert estimate(found, "alpha") == pytest.approx(told, rel=1e-12)
    assert len(found.complete) < table.shape[1] or len(table.dropna()) >= LEAST_SHARED


def test_an_order_equals_the_published_concordance(reference: Path) -> None:
    table = data(reference, "agree_icc_anxiety").set_axis([f"s{n}" for n in range(20)])
    told = expected(reference, "agree_icc_anxiety")["kendall_corrected"]
    assert estimate(agreement(long(table)), "W") == pytest.approx(told["W"], rel=1e-10)


def test_levels_with_gaps_equal_another_engine() -> None:
    # statsmodels: shots and tasters as factors, tasters coded against their mean.
    table = JUDGES.copy()
    table.loc["a", "t2"] = table.loc["c", "t4"] = table.loc["f", "t1"] = np.nan
    fit = smf.ols("score ~ C(shot) + C(taster, Sum)", long(table)).fit()
    found = taster_levels(table)
    for each in found[:-1]:
        name = f"C(taster, Sum)[S.{each.taster}]"
        assert each.level == pytest.approx(fit.params[name], rel=1e-9)
        low, high = fit.conf_int().loc[name]
        assert (each.low, each.high) == pytest.approx((low, high), rel=1e-9)
    assert sum(each.level for each in found) == pytest.approx(0, abs=1e-12)


def test_levels_of_a_long_log_equal_another_engine() -> None:
    # statsmodels, 150 shots, each scored by three of six tasters.
    rng = np.random.default_rng(17)
    table = pd.DataFrame(6 + rng.normal(size=(150, 6)), columns=list("abcdef")).round(1)
    for row in table.index:
        table.loc[row, rng.choice(list("abcdef"), 3, replace=False)] = np.nan
    table.index = [f"s{n}" for n in table.index]
    fit = smf.ols("score ~ C(shot) + C(taster, Sum)", long(table)).fit()
    found = taster_levels(table)[0]
    assert found.level == pytest.approx(fit.params["C(taster, Sum)[S.a]"], rel=1e-8)
    ends = fit.conf_int().loc["C(taster, Sum)[S.a]"]
    assert (found.low, found.high) == pytest.approx(tuple(ends), rel=1e-8)


def test_a_pair_s_difference_is_that_of_the_shots_both_scored() -> None:
    pair = taster_pairs(JUDGES, least=5).iloc[0]
    apart = JUDGES["t1"] - JUDGES["t2"]
    # t tables, 5 degrees of freedom: 2.571.
    assert pair["difference"] == pytest.approx(apart.mean())
    reach = 2.571 * apart.std() / np.sqrt(6)
    assert pair["ci_high"] - pair["difference"] == pytest.approx(reach, rel=1e-3)


def test_a_taster_who_scores_a_cup_twice_tells_their_own_steadiness() -> None:
    again = pd.DataFrame({"t1": JUDGES["t1"] + [1, 0, 1, 0, 1, 0]})
    twice = pd.concat([long(JUDGES), long(again)])
    found = agreement(twice)
    (row,) = found.own.to_dict("records")
    # Three pairs one point apart of six: variance 3 × 0.5 / 6.
    assert (row["taster"], row["repeats"]) == ("t1", 6)
    assert row["sd"] == pytest.approx(np.sqrt(3 * 0.5 / 6))
    assert any("differs from themselves" in sentence for sentence in found.sentences)


@pytest.mark.parametrize(("cups", "alone"), [(2, True), (4, True), (5, False)])
def test_a_cup_scored_twice_less_than_five_times_tells_an_interval_alone(
    cups: int, alone: bool
) -> None:
    again = pd.DataFrame({"t1": (JUDGES["t1"] + [1, 0, 1, 0, 1, 0]).iloc[:cups]})
    found = agreement(pd.concat([long(JUDGES), long(again)]))
    (row,) = found.own.to_dict("records")
    low, high, sd = (number(row[name], figures=2) for name in ("ci_low", "ci_high", "sd"))
    told = (
        f"{low} to {high} points (95 % interval of the SD, {cups} repeats"
        if alone
        else f"{sd} points (SD, 95 % interval {low} to {high}, {cups} repeats"
    )
    assert any(f"Taster t1 differs from themselves by {told}" in each for each in found.sentences)


def test_without_blind_repeats_nobody_s_own_steadiness_is_told() -> None:
    assert blind_repeats(long(JUDGES)).empty
    assert any(
        "no cup was scored twice" in sentence for sentence in agreement(long(JUDGES)).sentences
    )


def test_one_taster_is_refused_with_a_reason() -> None:
    found = agreement(long(JUDGES[["t1"]]))
    assert found.missing == "one taster scored overall, and agreement takes two"
    assert found.table.empty


def test_too_few_shots_in_common_are_refused_with_a_reason() -> None:
    table = JUDGES[["t1", "t2"]].copy()
    table.loc["a", "t1"] = table.loc["b", "t2"] = np.nan
    assert "no two tasters scored 5 shots in common" in agreement(long(table)).missing


def test_scores_without_tasters_are_refused_with_a_reason() -> None:
    found = agreement(long(JUDGES).assign(taster=None))
    assert "no taster is named" in found.missing


def test_tasters_who_agree_to_the_last_digit_are_said_to() -> None:
    same = pd.DataFrame({"t1": JUDGES["t1"], "t2": JUDGES["t1"]})
    found = agreement(long(same))
    assert estimate(found, "W") == pytest.approx(1)
    assert any("agree to the last digit" in sentence for sentence in found.sentences)


def test_scores_that_are_all_the_same_get_no_measure() -> None:
    found = agreement(long(JUDGES * 0 + 5))
    assert found.table.empty
    assert found.levels == ()


def test_the_tasters_who_share_most_shots_are_compared() -> None:
    table = pd.DataFrame(np.arange(36.0).reshape(12, 3) % 7, columns=["a", "b", "c"])
    table.index = [f"s{n}" for n in range(12)]
    table.loc[table.index[5:], "c"] = np.nan
    assert agreement(long(table)).complete == ("a", "b")


def test_a_lenient_taster_is_found_with_an_interval_that_holds_the_truth() -> None:
    rng = np.random.default_rng(9)
    n_logs, covered = 300, 0
    for _ in range(n_logs):
        shots = rng.normal(size=(12, 1))
        lifts = np.array([0.6, -0.2, -0.4])
        table = pd.DataFrame(shots + lifts + 0.5 * rng.normal(size=(12, 3)), columns=list("abc"))
        (first, *_) = taster_levels(table)
        covered += first.low <= 0.6 <= first.high
    assert covered / n_logs == pytest.approx(0.95, abs=4 * np.sqrt(0.95 * 0.05 / n_logs))


def test_the_tables_of_a_panel_can_be_read() -> None:
    found = agreement(long(JUDGES))
    assert len(found.display_frame()) == 4
    assert len(found.display_levels()) == 4
    assert len(found.display_pairs()) == 6
    assert "[" not in found.summary()


def test_an_error_beyond_half_the_scale_is_no_upper_limit() -> None:
    # Popoviciu (1935): a standard deviation is at most half of the range.
    two = agreement(long(JUDGES[["t1", "t2"]]))
    assert two.largest_error == 5.0
    assert two.score_error[2] > two.largest_error
    (told,) = [each for each in two.sentences if "good to about" in each]
    low = f"{two.score_error[1]:.1f}"
    assert f"(one SD, {low} or more; 2 tasters cannot bound it from above on this scale)" in told


def test_the_scale_of_the_bench_bounds_an_error() -> None:
    scores = long(JUDGES[["t1", "t2"]])
    shots = ComparableSet("", "", pd.DataFrame({"shot": list("abcdef")}), tastings=scores)
    bench = Bench(attributes=(Attribute("overall", low=0.0, high=1000.0),))
    wide = taster_agreement(shots, "overall", bench=bench)
    (told,) = [each for each in wide.sentences if "good to about" in each]
    assert "cannot bound" not in told
    assert " to " in told.partition("one SD")[2]
