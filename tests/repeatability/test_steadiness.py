"""How steady a bench is told to be equals what is published, and covers what is true."""

from __future__ import annotations

import json
import math
from pathlib import Path

import numpy as np
import pandas as pd
import pytest
import statsmodels.api as sm
import statsmodels.formula.api as smf
from hypothesis import given
from hypothesis import strategies as st
from statsmodels.stats.anova import anova_lm

from yieldwright.bench import Bench, Scale
from yieldwright.errors import RoleError, UnknownNameError
from yieldwright.models.agreement.intraclass import intraclass
from yieldwright.models.agreement.precision import variance_sum_interval
from yieldwright.models.intervals.power import shots_per_setting
from yieldwright.repeatability.spread.likeness import ENOUGH, like_shots
from yieldwright.repeatability.spread.quantity_spread import LIMIT_FACTOR, quantity_spread
from yieldwright.repeatability.spread.session_spread import session_spread
from yieldwright.repeatability.spread.steadiness import Steadiness, steadiness
from yieldwright.taste.columns.comparable import ComparableSet, set_of

BENCH = Bench()
TEN = [36.0, 38, 35, 37, 40, 36, 33, 37, 38, 35]
# Shrout and Fleiss (1979), table 2: six targets, four judges.
JUDGES = [[9, 2, 5, 8], [6, 1, 3, 2], [8, 4, 6, 8], [7, 1, 2, 6], [10, 5, 6, 9], [6, 2, 4, 7]]


def of(shots: pd.DataFrame, *names: str, bench: Bench = BENCH) -> Steadiness:
    return steadiness(ComparableSet("", "", shots), bench=bench, of=names)


def times(values: list[float], **columns: object) -> pd.DataFrame:
    return pd.DataFrame({"time_s": values, **columns})


def test_ten_like_shots_give_the_known_interval() -> None:
    # χ² tables, 9 degrees of freedom: 0.69 to 1.83 times the standard deviation.
    (found,) = of(times(TEN)).quantities
    assert found.sd == pytest.approx(np.std(TEN, ddof=1))
    assert found.low / found.sd == pytest.approx(0.69, abs=0.005)
    assert found.high / found.sd == pytest.approx(1.83, abs=0.005)


def test_the_repeatability_limit_is_that_of_the_standard() -> None:
    # ISO 5725-6:1994, 4.1.4: r = 2.8 s, which is 1.96 times the root of 2, rounded.
    found = of(times(TEN))
    (only,) = found.quantities
    assert round(1.96 * math.sqrt(2), 1) == LIMIT_FACTOR
    assert only.limit == pytest.approx(2.8 * only.sd)
    assert f"less than {2.8 * only.sd:.1f} s 19 times in 20 (repeatability limit, 2.8 × SD" in (
        " ".join(found.sentences)
    )


def test_few_repeats_widen_the_limit_by_student_s_t() -> None:
    # t tables, 9 degrees of freedom, two-sided 5 %: 2.262.
    (found,) = of(times(TEN)).quantities
    assert found.limit_few / found.sd == pytest.approx(2.262 * math.sqrt(2), abs=0.001)


def test_what_two_settings_can_show_agrees_with_known_numbers_of_shots() -> None:
    # Non-central t: 0.5 points at an SD of 0.5 take 17 shots each, 1 point takes 6.
    values = 20 + 0.5 * np.array([-1.0, 1, -1, 1, -1, 1, -1, 1]) * math.sqrt(7 / 8)
    (found,) = of(pd.DataFrame({"ey_pct": values})).quantities
    assert found.sd == pytest.approx(0.5)
    assert [(each.size, each.n_each) for each in found.needed] == [(0.5, 17), (1.0, 6)]


def test_the_smallest_difference_takes_as_many_shots_as_it_says() -> None:
    (found,) = of(times(TEN)).quantities
    for each in found.differences:
        assert shots_per_setting(each.size * 1.0001, found.sd) == each.n_each
        assert each.low / each.size == pytest.approx(found.low / found.sd)


def test_the_share_of_a_scale_is_that_of_its_variance() -> None:
    # JCGM 100:2008, 4.3.7: a step of 0.1 g is uniform, 0.0289 g; with 0.05 g, 0.0577 g.
    shots = pd.DataFrame({"beverage_g": [36.0, 36.4, 35.8, 36.1, 36.6, 35.7, 36.2]})
    bench = Bench(beverage_scale=Scale(resolution_g=0.1, repeatability_g=0.05))
    (found,) = of(shots, bench=bench).quantities
    assert found.instrument is not None
    assert found.instrument.u == pytest.approx(0.0577, abs=5e-5)
    assert found.instrument.share == pytest.approx((0.1**2 / 12 + 0.05**2) / found.sd**2)


def test_the_share_of_repeated_readings_is_what_the_intraclass_correlation_leaves() -> None:
    # Shrout and Fleiss (1979), table 4: ICC(1,4) is 0.44.
    readings = pd.DataFrame(JUDGES, columns=[f"tds_{n}_pct" for n in range(1, 5)], dtype=float)
    (found,) = of(readings.assign(tds_pct=readings.mean(axis=1)), "tds_pct").quantities
    row = intraclass(np.array(JUDGES, dtype=float)).set_index("kind").loc["ICC1k"]
    assert found.instrument is not None
    assert found.instrument.measured
    assert round(1 - found.instrument.share, 2) == 0.44
    assert found.instrument.low == pytest.approx(1 - row["ci_high"], rel=1e-9)


def test_the_share_of_tasters_leaves_their_levels_out() -> None:
    # Shrout and Fleiss (1979), table 4: ICC(3,4) is 0.91.
    scores = pd.DataFrame(JUDGES, index=list("abcdef"), columns=list("wxyz"), dtype=float)
    long = scores.rename_axis("shot").reset_index().melt("shot", var_name="taster")
    tastings = long.rename(columns={"value": "score"}).assign(attribute="overall")
    shots = pd.DataFrame({"shot": list("abcdef"), "score:overall": scores.mean(axis=1).tolist()})
    found = quantity_spread(
        ComparableSet("", "", shots, tastings=tastings), "score:overall", bench=BENCH
    )
    assert found.instrument is not None
    assert round(1 - found.instrument.share, 2) == 0.91


def test_sessions_and_shots_equal_the_reference(reference: Path) -> None:
    # Davies and Goldsmith's dyestuff, 6 batches of 5, in closed form.
    folder = reference / "stats" / "mixed_dyestuff"
    told = json.loads((folder / "expected.json").read_text())["expected"]["exact_optimum"]
    data = pd.read_csv(folder / "data.csv").rename(columns={"Batch": "session", "Yield": "time_s"})
    found = session_spread(data.astype({"time_s": float}), "time_s", bench=BENCH)
    assert found is not None
    assert found.shot_sd**2 == pytest.approx(told["closed_form_REML"]["residual"], rel=1e-8)
    # Davies and Goldsmith (1972), table 6.2: variance between batches 1764.
    assert found.sd**2 == pytest.approx(1764.05, abs=0.005)
    assert found.total_low < found.total < found.total_high


def test_sessions_of_a_balanced_log_have_the_limits_of_their_mean_squares() -> None:
    # Graybill and Wang (1980) by hand, χ² tables: 9.488 and 0.711 (4 df) are not used at 95 %;
    # 11.143 and 0.484 (4), 27.488 and 6.262 (15).
    rng = np.random.default_rng(4)
    shots = pd.DataFrame({"session": np.repeat(list("abcde"), 4)})
    shots["time_s"] = 30 + np.repeat(rng.normal(size=5) * 3, 4) + rng.normal(size=20)
    found = session_spread(shots, "time_s", bench=BENCH)
    means = shots.groupby("session")["time_s"]
    between, within = 4 * means.mean().var(), means.var().mean()
    parts = between / 4, within * 3 / 4
    total = sum(parts)
    down = math.hypot(parts[0] * (1 - 4 / 11.143), parts[1] * (1 - 15 / 27.488))
    up = math.hypot(parts[0] * (4 / 0.4844 - 1), parts[1] * (15 / 6.262 - 1))
    assert found is not None
    assert found.total**2 == pytest.approx(total, rel=1e-6)
    assert found.total_low**2 == pytest.approx(total - down, rel=1e-3)
    assert found.total_high**2 == pytest.approx(total + up, rel=1e-3)


def test_sessions_that_repeat_several_settings_unevenly_equal_another_engine() -> None:
    # statsmodels: sums of squares of sessions after settings; the size by plain projection.
    rng = np.random.default_rng(14)
    shots = pd.DataFrame({"session": rng.choice(list("abcde"), 40)})
    shots["grind_setting"] = rng.choice([9.0, 10.0, 11.0], 40)
    lifts = dict(zip("abcde", 3 * rng.normal(size=5), strict=True))
    shots["time_s"] = 30 + shots["session"].map(lifts) + rng.normal(size=40)
    found = session_spread(shots, "time_s", bench=BENCH)
    fit = smf.ols("time_s ~ C(grind_setting) + C(session)", shots).fit()
    table = anova_lm(fit, typ=1)
    x, z = (pd.get_dummies(shots[name], dtype=float).to_numpy() for name in shots.columns[1::-1])
    away = np.eye(40) - x @ np.linalg.pinv(x)
    size = np.trace(z.T @ away @ z) / 4
    squares = table["mean_sq"]
    low, high = variance_sum_interval(
        [squares["C(session)"], squares["Residual"]],
        [4, table["df"]["Residual"]],
        [1 / size, 1 - 1 / size],
    )
    assert found is not None
    assert found.total_low**2 == pytest.approx(low, rel=1e-8)
    assert found.total_high**2 == pytest.approx(high, rel=1e-8)


def test_two_sessions_are_too_few_to_tell_their_spread() -> None:
    shots = times(TEN, session=["a"] * 5 + ["b"] * 5)
    assert session_spread(shots, "time_s", bench=BENCH) is None


def test_sessions_of_one_shot_each_cannot_be_told_from_shots() -> None:
    assert session_spread(times(TEN, session=list("abcdefghij")), "time_s", bench=BENCH) is None


def test_one_hand_is_compared_with_itself_where_that_is_enough() -> None:
    shots = times([*TEN, *(t + 20 for t in TEN)], barista=["p1"] * 10 + ["p2"] * 10)
    (found,) = of(shots).quantities
    assert (found.alike.basis, found.alike.df) == ("hand", 18)
    assert found.sd == pytest.approx(np.std(TEN, ddof=1))


def test_several_hands_stand_in_where_one_is_too_few_and_that_is_said() -> None:
    shots = times(TEN, barista=list("abcdeabcde"))
    found = of(shots.iloc[:8])
    assert found.quantities[0].alike.basis == "setting"
    assert "several-hands" in [each.code for each in found.cautions]


def rich(n_tap: int = 4, n: int = 20) -> pd.DataFrame:
    """Return shots no two of which are alike, in four sessions."""
    rng = np.random.default_rng(8)
    return pd.DataFrame(
        {
            "session": np.repeat(list("abcd"), n // 4),
            "grind_setting": np.tile([9.0, 10, 11, 12, 13], n // 5),
            "taper_bar": 2.0 + rng.permutation(n),
            "distribution": ["tap"] * n_tap + ["stir"] * (n - n_tap),
            "barista": (list("pq") * n)[:n],
            "time_s": 30 + rng.normal(size=n),
        }
    )


def test_a_line_tells_how_many_shots_it_takes() -> None:
    found = of(rich(), "time_s")
    (only,) = found.quantities
    # Four sessions, grind, taper, distribution; 16 shots beyond the first of each session
    # afford three coefficients.
    assert only.alike.allowed_for == ("grind_setting", "taper_bar", "distribution", "session")
    assert only.alike.df == 20 - 4 - 3
    assert "of 20 shots the line takes 7 and 13 are left" in found.sentences[0]


def test_a_level_with_too_few_shots_is_left_in_the_spread_and_that_is_said() -> None:
    found = of(rich(n_tap=3), "time_s")
    (only,) = found.quantities
    assert only.alike.not_taken == ("distribution",)
    assert "distribution" not in only.alike.allowed_for
    (caution,) = [each for each in found.cautions if each.code == "settings-left-in"]
    assert "too few shots were pulled to take distribution out" in caution.sentence


def test_what_a_line_takes_out_does_not_hang_on_what_was_measured() -> None:
    shots = rich(n_tap=3)
    moved = shots.assign(time_s=shots["time_s"] + 50 * (shots["distribution"] == "tap"))
    first, second = (of(each, "time_s").quantities[0].alike for each in (shots, moved))
    assert (first.allowed_for, first.not_taken) == (second.allowed_for, second.not_taken)
    assert second.sd > 5 * first.sd


def test_hands_pooled_about_a_line_are_said_to_be() -> None:
    shots = rich()
    assert "several-hands" in [each.code for each in of(shots, "time_s").cautions]
    one = shots.assign(barista="p")
    assert "several-hands" not in [each.code for each in of(one, "time_s").cautions]
    taken = of(shots.drop(columns=["taper_bar", "distribution"]), "time_s")
    assert "barista" in taken.quantities[0].alike.allowed_for
    assert "several-hands" not in [each.code for each in taken.cautions]


def test_hands_that_change_with_the_session_go_out_with_it() -> None:
    shots = rich()
    by_day = shots.assign(barista=np.where(shots["session"].isin(["a", "b"]), "p", "q"))
    assert "several-hands" not in [each.code for each in of(by_day, "time_s").cautions]


def test_the_pooled_spread_equals_the_reference(reference: Path) -> None:
    # Davies and Goldsmith's dyestuff, 6 batches of 5: residual variance 2451.25 in closed form.
    folder = reference / "stats" / "mixed_dyestuff"
    values = json.loads((folder / "expected.json").read_text())["expected"]["exact_optimum"]
    data = pd.read_csv(folder / "data.csv").rename(columns={"Batch": "bag", "Yield": "ey_pct"})
    found = like_shots(data.astype({"ey_pct": float}), "ey_pct", bench=BENCH)
    assert found.sd**2 == pytest.approx(values["closed_form_REML"]["residual"], rel=1e-12)
    assert (found.df, found.n_sets) == (24, 6)


SIX = [30.0, 32, 33, 40, 42, 43, 50, 52, 53]


@pytest.mark.parametrize("column", ["bag", "grinder", "session", "temp_band", "distribution"])
def test_shots_that_differ_in_a_name_are_not_alike(column: str) -> None:
    found = like_shots(times(SIX, **{column: list("aaabbbccc")}), "time_s", bench=BENCH)
    assert (found.df, found.n_sets) == (6, 3)
    assert found.sd == pytest.approx(np.std(SIX[:3], ddof=1))


def test_tapers_within_the_same_bar_are_alike() -> None:
    tapers = [1.9, 2.1, 2.2, 3.0, 3.4, 2.8, 4.2, 4.4, 4.0]
    assert like_shots(times(SIX, taper_bar=tapers), "time_s", bench=BENCH).n_sets == 3


def test_a_shot_with_a_gap_is_like_no_other_and_an_empty_column_sets_none_apart() -> None:
    gaps = times(TEN, bag=["a"] * 8 + [None] * 2, paper=[None] * 10)
    found = like_shots(gaps, "time_s", bench=BENCH)
    assert (len(found.rows), found.n_sets) == (8, 1)


@given(st.lists(st.floats(10, 30), min_size=7, max_size=20), st.floats(-5, 5), st.floats(0.1, 10))
def test_a_shift_changes_nothing_and_a_scale_scales(
    values: list[float], shift: float, scale: float
) -> None:
    plain = like_shots(times(values), "time_s", bench=BENCH).sd
    moved = like_shots(times([scale * each + shift for each in values]), "time_s", bench=BENCH).sd
    assert moved == pytest.approx(scale * plain, rel=1e-6, abs=1e-8)


def two_starts() -> pd.DataFrame:
    """Return ten shots timed from the lever, and six from the first drip, 9 s shorter."""
    starts = ["lever"] * 10 + ["first_drip"] * 6
    return times([*TEN, *(each - 9 for each in TEN[:6])], time_from=starts, beverage_g=36.0)


def test_times_counted_from_another_start_are_not_pooled_and_that_is_said() -> None:
    found = of(two_starts(), "time_s")
    (only,) = found.quantities
    assert only.mean == pytest.approx(np.mean(TEN))
    assert (only.alike.df, only.sd) == (9, pytest.approx(np.std(TEN, ddof=1)))
    assert [str(each) for each in only.dropped] == ["6 shots timed from another start than lever"]
    (caution,) = [each for each in found.cautions if each.code == "mixed-timing"]
    assert caution.severity == "care"
    assert "6 shots timed from another start than lever are left out of shot time" in (
        caution.sentence
    )


def test_where_the_clock_started_sets_no_yield_apart() -> None:
    shots = two_starts().assign(ey_pct=np.linspace(19, 21, 16))
    (only,) = of(shots, "ey_pct").quantities
    assert (only.alike.df, only.alike.n_sets, only.dropped) == (15, 1, ())


def test_shares_beyond_99_percent_are_told_once_and_in_words() -> None:
    near = times([36.0, 36.1, 36.2, 36.0, 36.1, 36.2, 36.1, 36.0], grind_setting=11.0)
    said = next(each for each in of(near).sentences if "on target" in each)
    assert "more than 99 % of them would land within ± 5 s" in said
    assert ">" not in said


def test_a_limit_for_so_many_repeats_that_t_is_below_it_is_told_alone() -> None:
    # t tables: 1.972 on 200 degrees of freedom, times the root of 2 is 2.79, below 2.8.
    many = np.random.default_rng(2).normal(36, 2, 201)
    said = next(each for each in of(times(many.tolist())).sentences if "repeatability" in each)
    assert "allowing for" not in said


def test_a_small_miss_of_the_dose_is_no_other_setting_but_another_dose_is() -> None:
    near = times(TEN, dose_g=[18.0, 18.1, 17.9, 18.2, 18.0, 17.8, 18.1, 18.0, 17.9, 18.0])
    far = near.assign(dose_g=[16.0] * 5 + [18.0] * 5)
    assert of(near, "time_s").quantities[0].alike.df == 9
    assert of(far, "time_s").quantities[0].alike.n_sets == 2


def test_shots_that_aim_at_another_beverage_are_not_alike() -> None:
    shots = times(TEN, beverage_target_g=[36.0] * 5 + [45.0] * 5)
    assert of(shots, "time_s").quantities[0].alike.n_sets == 2


def test_shots_of_several_settings_are_judged_about_a_line_and_called_that() -> None:
    grind = np.arange(8.0, 20.0)
    rng = np.random.default_rng(2)
    shots = times((60 - 2 * grind + rng.normal(size=12)).tolist(), grind_setting=grind)
    found = of(shots)
    (only,) = found.quantities
    # statsmodels, the same line.
    told = sm.OLS(shots["time_s"], sm.add_constant(grind)).fit()
    assert only.alike.basis == "fit"
    assert only.sd == pytest.approx(math.sqrt(told.scale), rel=1e-10)
    assert only.alike.df == 10
    assert "about a line in grind setting" in found.sentences[0]
    assert "spread-about-a-line" in [each.code for each in found.cautions]


def test_a_line_takes_sessions_out_even_where_a_band_is_set_once_a_session() -> None:
    rng = np.random.default_rng(6)
    session = np.repeat(np.arange(4), 4)
    grind = np.tile([9.0, 10, 11, 12], 4)
    values = 60 - 2 * grind + 10 * session + 0.5 * rng.normal(size=16)
    shots = pd.DataFrame(
        {
            "session": [f"e{n}" for n in session],
            "temp_band": np.repeat(["low", "high", "low", "high"], 4),
            "grind_setting": grind,
            "time_s": values,
        }
    )
    (found,) = of(shots).quantities
    assert set(found.alike.allowed_for) == {"grind_setting", "session"}
    assert found.sd < 1


def test_one_setting_pulled_once_a_session_is_judged_over_sessions() -> None:
    found = of(times(TEN, session=list("abcdefghij")))
    assert found.quantities[0].sd == pytest.approx(np.std(TEN, ddof=1))
    assert "over sessions, at one setting" in found.sentences[0]


@pytest.mark.parametrize("n", range(2, ENOUGH + 1))
def test_fewer_than_five_repeats_give_an_interval_and_no_verdict(n: int) -> None:
    found = of(times(TEN[:n]))
    (only,) = found.quantities
    assert 0 < only.low < only.high < math.inf
    assert not only.firm
    figures = [only.limit, only.variation, only.within, only.limit_few, *only.limit_interval]
    assert all(math.isnan(each) for each in figures)
    assert (only.differences, only.needed) == ((), ())
    assert only.instrument_good_enough is None
    assert "cannot tell" in found.sentences[0]


def test_shots_that_do_not_differ_have_no_spread_of_zero() -> None:
    found = of(times([36.0] * 8))
    assert math.isnan(found.quantities[0].high)
    assert "the same to the last digit" in found.sentences[0]


def test_what_is_the_same_all_session_is_not_said_to_differ_by_rounding() -> None:
    grind = np.tile([9.0, 10, 11, 12, 13], 3)
    shots = pd.DataFrame({"session": np.repeat(list("abc"), 5), "grind_setting": grind})
    found = of(shots.assign(temp_c=np.repeat([87.1, 91.3, 94.7], 5)), "temp_c")
    assert found.quantities[0].sd == 0
    assert "the same to the last digit" in found.sentences[0]


def test_a_ratio_without_a_unit_reads_as_a_number() -> None:
    shots = pd.DataFrame({"brew_ratio": [2.0, 2.1, 1.9, 2.0, 2.2, 2.05, 1.95]})
    told = " ".join(of(shots, "brew_ratio").sentences)
    assert "  " not in told
    assert " ," not in told


def test_a_percentage_of_the_mean_is_told_only_where_zero_means_nothing_there() -> None:
    shots = times(TEN, **{"score:overall": TEN, "temp_c": TEN})
    found = {each.column: each for each in of(shots, "time_s", "overall", "temp_c").quantities}
    assert found["time_s"].variation == pytest.approx(np.std(TEN, ddof=1) / np.mean(TEN))
    assert math.isnan(found["score:overall"].variation)
    assert math.isnan(found["temp_c"].variation)


def test_times_written_in_coarse_steps_are_doubted() -> None:
    shots = times([30.0, 30, 30, 30, 30, 30, 30, 30, 35, 30, 30, 30])
    assert "coarse-reading" in [each.code for each in of(shots).cautions]


def test_failures_left_out_are_said_to_make_the_spread_look_smaller() -> None:
    shots = times(TEN, fate=["pulled"] * 8 + ["choked"] * 2)
    found = steadiness(set_of(shots), bench=BENCH)
    (caution,) = [each for each in found.cautions if each.code == "failures-left-out"]
    assert "2 shots that failed are left out" in caution.sentence


def test_a_quantity_that_no_shot_holds_is_told_as_missing() -> None:
    found = of(pd.DataFrame({"beverage_g": TEN}), "time_s")
    assert found.quantities == ()
    assert found.missing == {"time_s": "no shot that may be compared has a shot time."}


@pytest.mark.parametrize("name", ["grind_setting", "temp_band", "session", "position", "notes"])
def test_what_is_set_counted_or_written_cannot_be_steady(name: str) -> None:
    with pytest.raises(RoleError, match=f"'{name}' is set, counted or written and not measured"):
        of(times(TEN), name)


def test_an_unknown_name_gets_the_nearest() -> None:
    with pytest.raises(UnknownNameError, match="time_s"):
        of(times(TEN), "times_s")


def test_every_table_has_a_row_for_each_quantity() -> None:
    shots = times(TEN, beverage_g=[36.0 + each / 100 for each in TEN])
    found = of(shots)
    assert found.to_frame()["quantity"].tolist() == ["time_s", "beverage_g"]
    assert len(found.display_frame()) == 2
    assert len(found.differences) == 6
    assert len(found.shots_needed) == 4
    assert len(found.display_differences()) == 2
    assert len(found.display_shots_needed()) == 4
    assert found.sessions.empty


def test_intervals_of_spread_and_variation_cover_a_known_bench() -> None:
    # 150 logs of 3 sessions, 4 shots each, SD 2 s of 36 s, sessions apart by 3 s.
    rng = np.random.default_rng(20)
    n_logs = 150
    spread, variation = [], []
    for _ in range(n_logs):
        values = 36 + np.repeat(rng.normal(size=3) * 3, 4) + 2 * rng.normal(size=12)
        shots = pd.DataFrame({"session": np.repeat(list("abc"), 4), "time_s": values})
        alike = like_shots(shots, "time_s", bench=BENCH)
        assert alike.df == 9
        found = quantity_spread(ComparableSet("", "", shots.drop(columns="session").assign(
            service_stretch=shots["session"])), "time_s", bench=BENCH)  # fmt: skip
        spread.append(found.low <= 2 <= found.high)
        low, high = found.variation_limits
        variation.append(low <= 2 / found.mean <= high)
    reach = 4 * math.sqrt(0.95 * 0.05 / n_logs)
    assert np.mean(spread) == pytest.approx(0.95, abs=reach)
    assert np.mean(variation) == pytest.approx(0.95, abs=reach)


def test_the_spread_about_a_line_covers_a_known_bench() -> None:
    rng = np.random.default_rng(21)
    n_logs = 100
    grind = np.arange(8.0, 20.0)
    covered = []
    for _ in range(n_logs):
        values = 60 - 2 * grind + 2 * rng.normal(size=12)
        shots = pd.DataFrame({"grind_setting": grind, "time_s": values})
        found = quantity_spread(ComparableSet("", "", shots), "time_s", bench=BENCH)
        covered.append(found.low <= 2 <= found.high)
    assert np.mean(covered) == pytest.approx(0.95, abs=4 * math.sqrt(0.95 * 0.05 / n_logs))


def test_the_spread_over_sessions_covers_a_known_bench() -> None:
    rng = np.random.default_rng(22)
    n_logs = 60
    covered = []
    for _ in range(n_logs):
        values = 36 + np.repeat(2 * rng.normal(size=6), 3) + 2 * rng.normal(size=18)
        shots = pd.DataFrame({"session": np.repeat(list("abcdef"), 3), "time_s": values})
        found = session_spread(shots, "time_s", bench=BENCH)
        assert found is not None
        covered.append(found.total_low <= math.sqrt(8) <= found.total_high)
    assert np.mean(covered) >= 0.93 - 4 * math.sqrt(0.93 * 0.07 / n_logs)
