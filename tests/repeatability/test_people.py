"""People compared on equal footing: exact where theory is, refused where nothing can tell."""

from __future__ import annotations

import math

import numpy as np
import pandas as pd
import pytest
from scipy import stats

from tests.repeatability.class_logs import BENCH, class_shots, in_set
from yieldwright.bench import Bench, Recipe
from yieldwright.errors import OutOfRangeError, RoleError, UnknownNameError
from yieldwright.formatting import number
from yieldwright.repeatability import People, compare_people, smallest_ratio
from yieldwright.repeatability.persons.people_footing import footing_of
from yieldwright.repeatability.persons.people_misses import misses_of_people


def compared(shots: pd.DataFrame, of: str = "time_s", **options: object) -> People:
    found = compare_people(in_set(shots), of, bench=BENCH, **options)  # type: ignore[arg-type]
    assert found is not None
    return found


def codes(found: People) -> set[str]:
    return {caution.code for caution in found.cautions}


@pytest.fixture(scope="module")
def single() -> pd.DataFrame:
    """Return two people in one session at one setting, unequal in number."""
    return class_shots((1.0, 2.0), sessions=1, each=9).drop(index=[9, 10, 11])


def test_with_nothing_to_allow_for_levels_are_compared_as_welch_does(single: pd.DataFrame) -> None:
    one, two = (single.loc[single["barista"] == code, "time_s"] for code in ("p1", "p2"))
    welch = stats.ttest_ind(one, two, equal_var=False)
    pair = compared(single).pairs.iloc[0]
    limits = welch.confidence_interval()
    assert pair["difference"] == pytest.approx(one.mean() - two.mean())
    assert pair["p_value"] == pytest.approx(welch.pvalue)
    assert (pair["difference_low"], pair["difference_high"]) == pytest.approx(tuple(limits))


def test_with_nothing_to_allow_for_spreads_are_plain_standard_deviations(
    single: pd.DataFrame,
) -> None:
    people = compared(single).people.set_index("person")
    for code, n in (("p1", 9), ("p2", 6)):
        own = single.loc[single["barista"] == code, "time_s"]
        low, high = np.sqrt((n - 1) * own.var() / stats.chi2.ppf([0.975, 0.025], n - 1))
        assert people.loc[code, "sd"] == pytest.approx(own.std())
        assert people.loc[code, "df"] == n - 1
        assert people.loc[code, ["sd_low", "sd_high"]].tolist() == pytest.approx([low, high])


def test_the_ratio_of_spreads_has_the_limits_of_f(single: pd.DataFrame) -> None:
    one, two = (single.loc[single["barista"] == code, "time_s"] for code in ("p1", "p2"))
    pair = compared(single).pairs.iloc[0]
    limits = np.sqrt(one.var() / two.var() / stats.f.ppf([0.975, 0.025], 8, 5))
    assert [pair["ratio_low"], pair["ratio_high"]] == pytest.approx(limits)
    tail = stats.f.cdf(one.var() / two.var(), 8, 5)
    assert pair["p_ratio"] == pytest.approx(2 * min(tail, 1 - tail))


def test_one_shot_each_a_session_is_a_paired_t_test() -> None:
    shots = class_shots((1.0, 1.0), sessions=8, each=1)
    one, two = (shots.loc[shots["barista"] == code, "time_s"].to_numpy() for code in ("p1", "p2"))
    paired = stats.ttest_rel(one, two)
    pair = compared(shots).pairs.iloc[0]
    assert pair["p_value"] == pytest.approx(paired.pvalue)
    assert (pair["difference_low"], pair["difference_high"]) == pytest.approx(
        tuple(paired.confidence_interval())
    )


def test_sessions_and_settings_are_held_equal() -> None:
    shots = class_shots((1.0, 1.0), sessions=4, each=6, grinds=(10.0, 11.0, 12.0))
    found = compared(shots)
    assert found.allowed_for == ("session", "grind_setting")
    assert found.people["df"].tolist() == [24 - 4 - 2] * 2
    assert "session and grind setting held equal" in found.sentences[0]


def test_another_day_or_setting_moves_neither_spreads_nor_differences() -> None:
    shots = class_shots((1.0, 2.0), sessions=3, each=6, grinds=(10.0, 11.0, 12.0))
    days = shots["session"].map({"day 1": 5.0, "day 2": -3.0, "day 3": 0.0})
    bend = shots["grind_setting"].map({10.0: 9.0, 11.0: 0.0, 12.0: 2.0})
    plain, moved = compared(shots), compared(shots.assign(time_s=shots["time_s"] + days + bend))
    assert moved.people["sd"].tolist() == pytest.approx(plain.people["sd"].tolist())
    columns = ["difference", "difference_low", "difference_high", "ratio_low", "ratio_high"]
    assert moved.pairs[columns].to_numpy() == pytest.approx(plain.pairs[columns].to_numpy())


def test_one_person_s_noise_does_not_enter_another_s_spread() -> None:
    shots = class_shots((1.0, 1.0), sessions=4, each=4)
    loud = shots["time_s"].mask(shots["barista"] == "p2", 36 + 50 * (shots["time_s"] - 36))
    quiet, other = compared(shots).people, compared(shots.assign(time_s=loud)).people
    assert other["sd"].iloc[0] == pytest.approx(quiet["sd"].iloc[0])


def test_four_settings_enter_as_a_line() -> None:
    shots = class_shots((1.0, 1.0), sessions=2, each=8, grinds=(9.0, 10.0, 11.0, 12.0))
    assert compared(shots).people["df"].tolist() == [16 - 2 - 1] * 2


def test_equal_people_are_not_ranked_and_told_what_would_have_shown() -> None:
    found = compared(class_shots((1.0, 1.0), sessions=1, each=10, seed=6))
    text = " ".join(found.sentences)
    assert "cannot rank them by steadiness" in text
    assert "9 repeats each, two SDs must differ by a factor of 2.0" in text
    assert "is steadier" not in text


def test_a_clear_difference_of_spread_names_the_steadier_one() -> None:
    found = compared(class_shots((0.4, 4.0), sessions=2, each=8))
    assert any(
        sentence.startswith("p1 is steadier: the SD of p2 is") for sentence in found.sentences
    )


def test_one_far_shot_alone_makes_nobody_the_unsteady_one() -> None:
    shots = class_shots((1.0, 1.0), sessions=1, each=12, seed=6)
    shots.loc[20, "time_s"] += 9.0
    found = compared(shots)
    assert found.pairs["p_ratio_holm"].iloc[0] < 0.05
    text = " ".join(found.sentences)
    assert "allows for long tails does not tell p2 from p1, so neither is ranked" in text
    assert "is steadier" not in text
    assert "by a factor of" not in text


def test_the_factor_told_is_that_of_the_direction_seen() -> None:
    # F tables, 0.975: 3.33 with 5 and 19 degrees of freedom, 6.34 with 19 and 5.
    for seed in range(6):
        rng = np.random.default_rng(seed)
        hands = {"p1": 6, "p2": 20}
        times = pd.concat([pd.Series(rng.normal(36, 1, n)) for n in hands.values()])
        shots = pd.DataFrame({"barista": np.repeat(list(hands), list(hands.values()))})
        found = compared(shots.assign(time_s=times.to_numpy()))
        wider = found.people.set_index("person")["sd"].idxmax()
        assert found.smallest**2 == pytest.approx(3.33 if wider == "p1" else 6.34, abs=0.01)
        told = [each for each in found.sentences if "cannot rank them" in each]
        assert all("two SDs must differ the way they do here by a factor" in each for each in told)


def test_a_clear_difference_of_level_is_told_from_the_higher_one() -> None:
    found = compared(class_shots((1.0, 1.0), sessions=3, each=4, levels=(0.0, 6.0)))
    (told,) = [sentence for sentence in found.sentences if "above those of" in sentence]
    assert told.startswith("Shots of p2 lie ")
    assert "above those of p1 (95 % interval " in told


def test_people_stand_in_the_order_of_their_codes_and_not_of_merit() -> None:
    shots = class_shots((3.0, 0.1, 1.0), sessions=2, each=4, levels=(9.0, -9.0, 0.0))
    assert compared(shots[::-1]).people["person"].tolist() == ["p1", "p2", "p3"]


def test_p_values_count_all_pairs() -> None:
    pairs = compared(class_shots((1.0, 1.0, 1.0), sessions=2, each=5)).pairs
    for raw, corrected in (("p_value", "p_holm"), ("p_ratio", "p_ratio_holm")):
        first = pairs[raw].idxmin()
        assert pairs.loc[first, corrected] == pytest.approx(min(3 * pairs.loc[first, raw], 1.0))


def test_three_people_are_told_one_spread_where_none_differs() -> None:
    shots = class_shots((1.0, 1.0, 1.0), sessions=1, each=8)
    groups = [part for _, part in shots.groupby("barista")["time_s"]]
    pooled = math.sqrt(np.mean([group.var() for group in groups]))
    text = " ".join(compared(shots).sentences)
    assert f"one SD for all is {pooled:.2g} s" in text
    assert "21 repeats" in text


def test_a_person_tied_to_a_setting_is_refused_with_what_to_pull() -> None:
    shots = class_shots((1.0, 1.0), sessions=2, each=5)
    shots["grind_setting"] = np.where(shots["barista"] == "p2", 11.0, 10.0)
    found = compared(shots)
    (caution,) = [each for each in found.cautions if each.code == "person-tied"]
    assert caution.severity == "stop"
    assert caution.sentence.startswith("p2 pulled only at setting 11 and p1 never did")
    assert caution.remedy == "Let both pull 4 shots at setting 11."
    assert found.pairs[["difference", "ratio"]].isna().all(axis=None)
    assert found.pairs["refused"].iloc[0] == caution.sentence
    assert "grind setting held equal" not in found.sentences[0]


def test_people_who_never_met_in_a_session_are_compared_in_spread_alone() -> None:
    shots = class_shots((1.0, 1.0), sessions=4, each=4)
    odd = shots["session"].isin(["day 1", "day 3"])
    found = compared(shots[(shots["barista"] == "p1") == odd])
    (caution,) = [each for each in found.cautions if each.code == "person-tied"]
    assert "never pulled in one session" in caution.sentence
    pair = found.pairs.iloc[0]
    assert math.isnan(pair["difference"])
    assert pair["ratio_low"] < pair["ratio"] < pair["ratio_high"]


def test_a_third_who_met_both_lets_two_be_compared() -> None:
    shots = class_shots((1.0, 1.0, 1.0), sessions=4, each=4)
    early = shots["session"].isin(["day 1", "day 2"])
    kept = shots[(shots["barista"] == "p3") | ((shots["barista"] == "p1") == early)]
    found = compared(kept)
    assert "person-tied" not in codes(found)
    assert found.pairs["difference"].notna().all()


def test_people_of_different_watches_are_not_compared_in_time() -> None:
    shots = class_shots((1.0, 1.0), sessions=2, each=5)
    shots["time_from"] = np.where(shots["barista"] == "p2", "pump", "first drip")
    with pytest.raises(RoleError, match="nobody can be compared in shot time, with 10 shots"):
        compared(shots)
    assert "person-tied" not in codes(compared(shots.assign(ey_pct=shots["time_s"]), "ey_pct"))


def test_days_that_stay_in_the_spread_are_said() -> None:
    found = compared(class_shots((1.0, 1.0), sessions=8, each=1))
    assert "days-in-spread" in codes(found)
    assert "days-in-spread" not in codes(compared(class_shots(sessions=3, each=4)))


def test_people_who_change_places_from_day_to_day_are_cautioned_about() -> None:
    shots = class_shots((0.5, 0.5), sessions=4, each=4)
    swing = np.where(shots["session"].isin(["day 1", "day 2"]), 4.0, -4.0)
    swung = shots["time_s"] + np.where(shots["barista"] == "p1", swing, -swing)
    assert "person-days" in codes(compared(shots.assign(time_s=swung)))
    assert "person-days" not in codes(compared(shots))


def test_fewer_than_two_people_of_three_shots_are_no_comparison() -> None:
    shots = class_shots((1.0, 1.0), sessions=1, each=4)
    alone = shots[shots["barista"] == "p1"]
    assert compare_people(in_set(alone), "time_s", bench=BENCH) is None
    assert compare_people(in_set(shots[:6]), "time_s", bench=BENCH) is None
    assert compare_people(in_set(shots.drop(columns="barista")), "time_s", bench=BENCH) is None
    assert compare_people(in_set(shots[:0]), "time_s", bench=BENCH) is None


def test_shots_that_are_not_compared_are_counted_with_reasons() -> None:
    shots = class_shots((1.0, 1.0, 1.0), sessions=1, each=5)
    shots.loc[0, "time_s"] = math.nan
    shots.loc[1, "time_s"] = math.inf
    shots.loc[5, "barista"] = None
    shots.loc[6, "grind_setting"] = math.nan
    found = compared(shots[:12])
    assert [str(each) for each in found.dropped] == [
        "2 shots without shot time",
        "1 shot without a barista",
        "1 shot with a gap in what is allowed for",
        "2 shots by people with fewer than 3",
    ]
    assert found.n_shots == 6


def test_shots_that_read_the_same_leave_a_spread_unknown() -> None:
    shots = class_shots((1.0, 1.0), sessions=1, each=5)
    shots.loc[shots["barista"] == "p1", "time_s"] = 36.0
    found = compared(shots)
    assert "person-constant" in codes(found)
    assert math.isnan(found.pairs["ratio"].iloc[0])
    assert "All shots of p1 read the same" in found.summary()


def test_all_shots_alike_break_nothing() -> None:
    shots = class_shots((1.0, 1.0), sessions=2, each=4).assign(time_s=36.0)
    found = compared(shots.drop(columns="session"))
    assert math.isnan(found.pairs["p_value"].iloc[0])
    assert "0" in found.summary()


@pytest.mark.parametrize("step", [0.0, 2.0])
def test_what_is_the_same_in_all_shots_of_a_session_compares_nobody(step: float) -> None:
    shots = class_shots((1.0, 1.0), sessions=2, each=4)
    shots["time_s"] = 90 + step * (shots["session"] == shots["session"].iloc[0])
    with pytest.raises(RoleError, match="the same in all shots of a session"):
        compared(shots)
    alone = shots[shots["barista"] == "p1"]
    assert compare_people(in_set(alone), "time_s", bench=BENCH) is None


def test_a_column_that_is_not_there_or_no_number_is_refused() -> None:
    shots = class_shots()
    with pytest.raises(UnknownNameError, match="did you mean 'time_s'"):
        compare_people(in_set(shots), "times", bench=BENCH)
    with pytest.raises(RoleError, match="session holds no numbers"):
        compare_people(in_set(shots), "session", bench=BENCH)


def test_codes_from_a_log_are_shown_and_never_run() -> None:
    shots = class_shots((1.0, 1.0), sessions=1, each=4)
    shots["barista"] = shots["barista"].replace({"p1": "\x1b[31m<b>" + "x" * 200, "p2": "p\n2"})
    found = compared(shots)
    assert "\x1b" not in found.summary()
    assert "<b>" not in found._repr_html_()
    assert max(map(len, found.summary().splitlines())) <= 80


def test_misses_are_mean_distances_from_the_recipe() -> None:
    shots = pd.DataFrame({"barista": ["p1"] * 5, "beverage_g": [35.0, 38.0, 36.0, 37.0, 35.0]})
    row = misses_of_people(shots, bench=BENCH).iloc[0]
    # By hand: misses 1, 2, 0, 1 and 1; their mean 1, standard deviation √(1/2), t on 4.
    reach = stats.t.ppf(0.975, 4) * math.sqrt(1 / 2 / 5)
    assert row["miss"] == 1.0
    assert (row["ci_low"], row["ci_high"]) == pytest.approx((math.exp(-reach), math.exp(reach)))


def test_an_aim_in_the_log_stands_before_that_of_the_recipe() -> None:
    shots = pd.DataFrame({"barista": "p1", "beverage_g": [40.0, 41.0, 45.0, 36.0, 36.0]})
    aimed = shots.assign(beverage_target_g=[40.0, 40.0, math.nan, math.nan, math.nan])
    assert misses_of_people(aimed, bench=BENCH)["miss"].iloc[0] == pytest.approx(10 / 5)


def test_a_bench_without_a_recipe_has_no_misses() -> None:
    bench = Bench(recipe=Recipe(beverage_g=None, time_s=None), stated=frozenset({"recipe"}))
    found = compare_people(in_set(class_shots()), "time_s", bench=bench)
    assert found is not None
    assert found.misses.empty


def test_an_assumed_recipe_is_said() -> None:
    found = compare_people(in_set(class_shots()), "time_s", bench=Bench())
    assert found is not None
    assert "recipe-assumed" in codes(found)
    assert "recipe-assumed" not in codes(compared(class_shots()))


def test_failures_are_counted_by_person_where_fates_are_logged() -> None:
    shots = class_shots((1.0, 1.0), sessions=1, each=5)
    pulls = pd.concat([shots.assign(fate="pulled"), shots[:2].assign(fate="choked")])
    found = compared(shots, pulls=pulls.assign(bag="bag-1"))
    assert found.failures is not None
    assert found.failures.rates["n_failed"].tolist() == [2, 0]
    assert any(
        "Failed pulls" in sentence and "p1 2 of 7" in sentence for sentence in found.sentences
    )
    assert compared(shots, pulls=pulls.assign(bag="other")).failures is None
    assert compared(shots, pulls=shots).failures is None


@pytest.mark.parametrize(("shots", "printed"), [(10, 2.0), (20, 1.6), (30, 1.45)])
def test_the_smallest_ratio_is_that_of_the_f_table(shots: int, printed: float) -> None:
    # Two-sided 5 % points of F: 4.03, 2.53 and 2.10.
    assert smallest_ratio(shots, shots) == pytest.approx(printed, abs=0.015)


def test_more_pairs_need_a_larger_ratio_and_no_shots_have_none() -> None:
    assert smallest_ratio(10, 10, pairs=3) > smallest_ratio(10, 10)
    with pytest.raises(OutOfRangeError, match="two shots of each"):
        smallest_ratio(1, 10)


def test_what_is_allowed_for_does_not_depend_on_the_outcome() -> None:
    shots = class_shots((1.0, 1.0), sessions=3, each=4, grinds=(10.0, 12.0))
    noise = shots.assign(time_s=np.random.default_rng(1).permutation(shots["time_s"]))
    one, two = footing_of(in_set(shots), "time_s"), footing_of(in_set(noise), "time_s")
    assert one is not None
    assert two is not None
    assert one.allowed == two.allowed
    assert (one.common.design == two.common.design).all()


def test_spreads_that_still_hold_settings_rank_nobody() -> None:
    shots = class_shots((0.1, 8.0), sessions=1, each=4)
    shots["grind_setting"] = [10.0, 11.0, 12.0, 10.0] * 2
    found = compared(shots)
    (caution,) = [each for each in found.cautions if each.code == "settings-in-spread"]
    assert caution.sentence == "No SD of a person is told: it would hold what grind setting did."
    assert found.pairs["ratio"].isna().all()
    (refused,) = found.pairs["refused"]
    assert refused.startswith("Nobody is ranked by steadiness, and no SD is told")
    assert "too few repeats to take grind setting out of it" in refused
    assert refused in found.sentences
    assert "is steadier" not in " ".join(found.sentences)


def test_a_spread_that_holds_changes_of_the_grind_is_nobodys() -> None:
    shots = class_shots((1.0, 1.0), sessions=1, each=4)
    shots["grind_setting"] = [10.0, 11.0, 12.0, 10.0] * 2
    found = compared(shots)
    columns = ["sd", "sd_low", "sd_high", "robust_low", "robust_high"]
    assert found.people[columns].isna().all(axis=None)
    assert not any("Spread from shot to shot" in each for each in found.sentences)
    alike = compared(shots.assign(grind_setting=11.0))
    assert alike.people[columns].notna().all(axis=None)


def test_spreads_that_hold_days_say_so_where_they_are_told() -> None:
    (told,) = (each for each in compared(class_shots(sessions=8, each=1)).sentences
               if each.startswith("Spread from shot to shot"))  # fmt: skip
    assert told.startswith("Spread from shot to shot, days included, SD in s")
    (plain,) = (each for each in compared(class_shots(sessions=3, each=4)).sentences
                if each.startswith("Spread from shot to shot"))  # fmt: skip
    assert plain.startswith("Spread from shot to shot, SD in s")


@pytest.mark.parametrize(("shots", "alone"), [(3, True), (5, True), (6, False)])
def test_fewer_than_five_repeats_give_an_interval_alone(shots: int, alone: bool) -> None:
    found = compared(class_shots((1.0, 1.0), sessions=1, each=shots))
    row = found.people.iloc[0]
    low, high = (number(row[name], figures=2) for name in ("sd_low", "sd_high"))
    told = next(each for each in found.sentences if each.startswith("Spread from shot to shot"))
    assert (f"p1 {low} to {high}" in told) == alone
    assert ("(no SD below 5 repeats)" in told) == alone
    missed = [each for each in found.sentences if each.startswith("Mean miss")]
    assert len(missed) == (shots >= 5)
    assert all(("(no mean below 6 shots)" in each) == alone for each in missed)
    assert (found.display_frame()["SD"].iloc[0] == "–") == alone
    assert found.display_frame()["95 %, SD"].iloc[0] == f"{low} to {high}"


def test_a_person_with_too_few_shots_is_named_and_not_forgotten() -> None:
    shots = class_shots((1.0, 1.0, 1.0), sessions=1, each=6)[:14]
    lost = shots[:2].assign(barista="p4", time_s=math.nan)
    pulls = pd.concat([shots, lost, shots[:1].assign(barista="p5", fate="choked")])
    found = compared(pd.concat([shots, lost]), pulls=pulls.fillna({"fate": "pulled"}))
    assert found.sentences[1] == (
        "Not compared, with fewer than 3 usable shots: p3 (2), p4 (0) and p5 (0)."
    )
    assert found.few[["person", "n_shots"]].to_dict("records") == [
        {"person": "p3", "n_shots": 2}, {"person": "p4", "n_shots": 0},
        {"person": "p5", "n_shots": 0},
    ]  # fmt: skip
    assert found.display_frame()["Who"].tolist() == ["p1", "p2", "p3", "p4", "p5"]
    (failed,) = (each for each in found.sentences if each.startswith("Failed pulls"))
    assert "p3 0 of 2" in failed
    assert "p5 1 of 1" in failed
    assert "n_shots" not in compared(shots[:12]).summary()
    assert compared(shots[:12]).few.empty


def test_a_class_too_large_to_name_is_counted() -> None:
    shots = class_shots((1.0,) * 9, sessions=1, each=4)
    alone = pd.concat([shots, *(shots[:1].assign(barista=f"q{n}") for n in range(7))])
    found = compared(alone, pulls=alone.assign(fate="pulled"))
    assert found.sentences[1] == "Not compared, with fewer than 3 usable shots: 7 people."
    assert any(each.startswith("Failed pulls") and "and 10 others" in each
               for each in found.sentences)  # fmt: skip


def test_misses_that_are_all_alike_are_told_without_a_false_interval() -> None:
    found = compared(class_shots((1.0, 1.0), sessions=1, each=5).assign(beverage_g=36.5))
    assert any("p1 0.50 g in every shot" in each for each in found.sentences)


def test_settings_are_taken_out_of_spreads_before_days() -> None:
    shots = class_shots((1.0, 1.0), sessions=4, each=2)
    shots["grind_setting"] = [10.0, 11.0] * 8
    shots = pd.concat([shots, class_shots((1.0, 1.0), sessions=1, each=2, seed=9)])
    footing = footing_of(in_set(shots.reset_index(drop=True)), "time_s")
    assert footing is not None
    assert footing.allowed_alone[0] == "grind_setting"
    assert footing.unequal_alone == ()


def test_times_of_another_start_are_left_out_and_whose_they_are_is_told() -> None:
    shots = class_shots((1.0, 1.0, 1.0), sessions=2, each=5)
    usual = shots["barista"].ne("p3") & (shots.index != 0)
    starts = np.where(usual, "lever", "first_drip")
    mixed = shots.assign(time_from=starts, time_s=shots["time_s"] - 9 * ~usual)
    found, alone = compared(mixed), compared(shots[usual])
    assert found.people["sd"].tolist() == pytest.approx(alone.people["sd"].tolist())
    assert found.misses["miss"].tolist() == pytest.approx(alone.misses["miss"].tolist())
    assert [str(each) for each in found.dropped] == [
        "11 shots timed from another start than lever"
    ]
    assert "; 11 shots timed from another start than lever left out." in found.sentences[0]
    assert found.sentences[1] == "Not compared, timed from another start: p3 (10)."


def test_misses_of_the_time_beside_another_quantity_have_one_start() -> None:
    shots = class_shots((1.0, 1.0), sessions=2, each=6).assign(ey_pct=lambda each: each["time_s"])
    usual = shots.index % 6 != 0
    mixed = shots.assign(time_from=np.where(usual, "lever", "first_drip"))
    found = compared(mixed, "ey_pct")
    assert found.misses["n_shots"].tolist() == [10, 10]
    assert found.people["n_shots"].tolist() == [12, 12]


def test_who_has_too_few_misses_of_one_start_is_named_beside_the_others() -> None:
    shots = class_shots((1.0, 1.0, 1.0), sessions=2, each=6)
    shots = shots.assign(ey_pct=shots["time_s"])
    starts = np.where(shots["barista"] == "p3", "first_drip", "lever")
    (told,) = (
        each
        for each in compared(shots.assign(time_from=starts), "ey_pct").sentences
        if each.startswith("Mean miss of the shot time")
    )
    assert told.endswith("; p3 under 5 shots of one start.")
    assert "under 5" not in " ".join(compared(shots, "ey_pct").sentences)


def test_nothing_is_said_of_starts_where_all_times_have_one() -> None:
    shots = class_shots((1.0, 1.0, 1.0), sessions=1, each=6).assign(time_from="lever")[:16]
    (told,) = (each for each in compared(shots).sentences if each.startswith("Mean miss"))
    assert told.endswith("; p3 under 5 shots.")


def test_who_is_left_out_stands_apart_from_what_differs() -> None:
    shots = class_shots((1.0, 1.0, 1.0), sessions=1, each=6)[:14]
    found = compared(shots)
    assert found.left_out.endswith("p3 (2).")
    assert found.left_out in found.sentences
    assert found.left_out not in found.differences
    assert found.differences[0].startswith("No difference in level shows")
    whole = compared(shots[:12])
    assert whole.left_out == ""
    assert whole.differences == whole.sentences[1:]
