"""Each check of a log's design finds what it is for, and is silent beside it."""

from __future__ import annotations

import itertools
from collections.abc import Callable

import numpy as np
import pandas as pd
import pytest
from scipy import special

from tests.evidence.clean_logs import BENCH, Size, clean, comparable, written
from tests.evidence.planted import counted, kept_with_care
from yieldwright.cautions import Caution
from yieldwright.taste import SETTINGS, comparable_sets, fit_effects
from yieldwright.taste.cautioning.copies import alike_by_chance
from yieldwright.taste.cautioning.order import neighbours_alike


def shots(seed: int = 1, sessions: int = 4) -> pd.DataFrame:
    return counted(Size(sessions), np.random.default_rng(seed))


def cautions(
    frame: pd.DataFrame,
    response: str = "ey_pct",
    *,
    more: tuple[str, ...] = (),
    adjusters: tuple[str, ...] | None = None,
) -> dict[str, Caution]:
    found = fit_effects(
        comparable(frame), response, bench=BENCH, settings=(*SETTINGS, *more), adjusters=adjusters
    )
    return {each.code: each for each in found.cautions}


def test_the_gravest_caution_comes_first() -> None:
    twice = pd.concat([shots(), shots().assign(shot=lambda frame: frame["shot"] + "x")])
    found = fit_effects(comparable(twice), "ey_pct", bench=BENCH).cautions
    ranks = [("stop", "care", "note").index(each.severity) for each in found]
    assert ranks == sorted(ranks)
    assert found[0].code == "copied-shots"


def test_a_shot_told_twice_is_named_with_its_copy() -> None:
    frame = shots()
    told = pd.concat([frame, frame.iloc[[5]].assign(shot="again")], ignore_index=True)
    caution = cautions(told)["copied-shots"]
    assert f"shots {frame['shot'][5]} and again: 1 shot of 25" in caution.sentence
    assert caution.severity == "care"


def test_copies_of_which_only_the_score_differs_are_tastes() -> None:
    frame = shots().head(8)
    tastes = pd.concat(
        [frame, frame.assign(shot=frame["shot"] + "b", overall=frame["overall"] - 1)]
    )
    found = cautions(tastes, "score:overall")
    assert found["tastes-as-shots"].severity == "stop"
    assert "tastes of 8 shots" in found["tastes-as-shots"].sentence
    assert "copied-shots" not in found


def test_shots_alike_in_the_little_that_was_logged_are_no_copies() -> None:
    frame = shots().assign(dose_g=18.0, time_s=lambda each: 5 * (each["time_s"] / 5).round())
    few = frame.drop(columns=["tds_pct", "beverage_g", "hold_bar", "end_bar", "ey_pct"])
    assert "copied-shots" not in cautions(few, "time_s")


def test_pairs_expected_by_chance_grow_with_every_reading_that_agrees_often() -> None:
    coarse, fine = np.zeros((12, 1), dtype=int), np.arange(12)[:, None]
    chosen = np.zeros(12, dtype=int)
    many, few = (alike_by_chance(chosen, np.hstack([fine, each]))[1] for each in (coarse, fine))
    assert few < many


def test_neighbours_of_one_level_have_the_moments_of_every_order() -> None:
    # Identity: mean and variance over all orders of 2, 2 and 3 shots, counted one by one.
    levels = np.array([0, 0, 1, 1, 2, 2, 2])
    counts = [
        int((np.array(order[1:]) == np.array(order[:-1])).sum())
        for order in itertools.permutations(levels.tolist())
    ]
    codes = np.zeros(7, dtype=np.intp)
    alike = int((levels[1:] == levels[:-1]).sum())
    z = (alike - 0.5 - np.mean(counts)) / np.std(counts)
    assert neighbours_alike(levels, codes) == pytest.approx(special.ndtr(-z))


def test_the_last_shot_of_a_session_is_no_neighbour_of_the_first_of_the_next() -> None:
    levels, codes = np.array([0, 1, 1, 0]), np.array([0, 0, 1, 1])
    assert neighbours_alike(levels, codes) > 0.5


def test_one_level_a_session_is_no_block() -> None:
    assert neighbours_alike(np.array([0, 0, 1, 1]), np.array([0, 0, 1, 1])) == 1.0


def sorted_sessions(frame: pd.DataFrame, *, turning: bool) -> pd.DataFrame:
    """Return the shots with grind settings in order, in every second session backwards."""
    parts = []
    for number, (_, part) in enumerate(frame.groupby("session", sort=False)):
        grind = np.sort(part["grind_setting"].to_numpy())
        parts.append(part.assign(grind_setting=grind[::-1] if turning and number % 2 else grind))
    return kept_with_care(pd.concat(parts, ignore_index=True))


def test_blocks_that_turn_round_are_a_note_where_position_is_in_the_fit() -> None:
    caution = cautions(sorted_sessions(shots(), turning=True))["settings-in-blocks"]
    assert caution.severity == "note"
    assert caution.sentence.startswith("Grind setting changed in blocks inside sessions")


def test_order_is_a_graver_matter_where_position_is_not_in_the_fit() -> None:
    frame = sorted_sessions(shots(), turning=False)
    found = fit_effects(comparable(frame), "ey_pct", bench=BENCH, adjusters=())
    (caution,) = [each for each in found.cautions if each.code == "settings-in-order"]
    assert caution.severity == "care"
    assert caution.about == ("grind_setting",)


def test_a_combination_never_pulled_is_named() -> None:
    frame = shots()
    low = frame["temp_band"] == "low"
    screen = np.where(low & (frame["position"] % 2 == 0), "yes", "no")
    caution = cautions(frame.assign(puck_screen=screen), more=("puck_screen",))
    told = caution.get("untried-combinations") or caution["settings-entangled"]
    assert set(told.about) == {"temp_band", "puck_screen"}


def test_a_balanced_plan_has_every_combination() -> None:
    assert "untried-combinations" not in cautions(kept_with_care(shots()))


def test_settings_that_made_up_for_one_another_leave_corners_untried() -> None:
    # A correlation of −0.75 inflates by 2.3, below what is called entangled: some corners are
    # still farther out than any shot.
    found = 0
    for seed in range(12):
        rng = np.random.default_rng(seed)
        frame = shots(seed, sessions=5)
        first = rng.normal(size=30)
        second = -0.75 * first + np.sqrt(1 - 0.75**2) * rng.normal(size=30)
        frame = frame.assign(prewet_s=6 + 1.5 * first, taper_bar=2.5 + 0.5 * second)
        codes = cautions(kept_with_care(frame), more=("prewet_s",))
        found += bool({"untried-combinations", "settings-entangled"} & set(codes))
    assert found >= 8


def test_a_setting_of_one_hand_cannot_be_told_from_the_hand() -> None:
    frame = shots()
    frame["barista"] = np.where(frame["temp_band"] == "low", "p1", "p2")
    caution = cautions(frame, adjusters=("roast_age_d",))["setting-with-condition"]
    assert caution.severity == "stop"
    assert caution.about == ("temp_band", "barista")


def test_hands_that_took_turns_are_only_mixed() -> None:
    frame = shots()
    frame["barista"] = np.where(frame["position"] % 2 == 0, "p1", "p2")
    found = cautions(frame, adjusters=("roast_age_d",))
    assert "setting-with-condition" not in found
    assert found["mixed-conditions"].about == ("barista",)


def test_a_band_kept_for_a_bag_goes_with_its_roast() -> None:
    frame = shots().assign(temp_band="low", roast_level="dark")
    sentence = cautions(frame)["band-with-roast"].sentence
    assert sentence.startswith("This dark roast was pulled at the low band only")


def test_a_band_kept_for_sessions_counts_sessions() -> None:
    frame = shots(sessions=6)
    frame["temp_band"] = np.where(
        frame["session"].isin(["day 1", "day 4", "day 5"]), "low", "high"
    )
    caution = cautions(frame)["set-once-a-session"]
    assert "it counts as 6 sessions, not as 36 shots" in caution.sentence


def test_two_sessions_cannot_tell_the_band_from_the_day() -> None:
    frame = shots(sessions=2)
    frame["temp_band"] = np.where(frame["session"] == "day 1", "low", "high")
    caution = cautions(frame)["set-once-a-session"]
    assert caution.severity == "stop"
    assert "cannot tell it from the day" in caution.sentence


def test_days_under_one_name_are_told_apart() -> None:
    frame = shots().assign(session="one", position=np.arange(1.0, 25))
    assert "(4 in the first)" in cautions(frame)["session-of-days"].sentence


def test_a_session_past_midnight_is_one_session() -> None:
    frame = shots()
    late = frame["position"] > 4
    frame["pulled_on"] = frame["pulled_on"] + pd.to_timedelta(late.astype(int), unit="D")
    assert "session-of-days" not in cautions(frame)


def test_a_plan_without_repeats_is_said() -> None:
    frame = shots().assign(grind_setting=np.random.default_rng(1).permutation(24) / 8 + 10)
    assert "no-repeats" in cautions(frame)


def test_one_setting_changed_at_a_time_is_said() -> None:
    frame = shots()
    place = frame["position"].to_numpy()
    frame["grind_setting"] = np.select([place == 1, place == 2], [10.0, 12.0], 11.0)
    frame["temp_band"] = np.where(place == 3, "medium", "low")
    assert "one-at-a-time" in cautions(frame.drop(columns="taper_bar"))


@pytest.mark.parametrize(("purged", "words"), [(0.5, ""), (np.nan, "with an unknown one")])
def test_changes_counted_without_a_purge_are_said(purged: float, words: str) -> None:
    frame = shots()
    frame["purged_g"] = np.where(frame["purged_g"] > 0, purged, 0.0)
    caution = cautions(frame)["transition-shots"]
    assert words in caution.sentence
    assert caution.about == ("grind_setting", "purged_g")


def test_a_grinder_that_keeps_little_needs_little_purge() -> None:
    frame = kept_with_care(shots()).assign(retained_g=0.2)
    frame["purged_g"] = np.where(frame["purged_g"] > 0, 0.5, 0.0)
    assert "transition-shots" not in cautions(frame)


def test_shots_lost_to_unknown_purges_are_counted() -> None:
    log = written(shots().drop(columns=["stage", "purged_g"]))
    found = fit_effects(comparable_sets(log)[0], "ey_pct", bench=BENCH)
    (caution,) = [each for each in found.cautions if each.code == "transitions-left-out"]
    assert "(an unknown purge counts as none)" in caution.sentence


def test_first_shots_of_a_cold_group_stand_apart() -> None:
    frame = kept_with_care(shots(sessions=6))
    frame.loc[frame["position"] == 1, "ey_pct"] -= 2.5
    caution = cautions(frame)["first-shots-differ"]
    assert "points of yield below what the rest says" in caution.sentence


def test_times_from_another_start_are_left_out_and_said() -> None:
    frame = shots().assign(time_from=["lever"] * 20 + ["first_drip"] * 4)
    assert "4 shots timed" in cautions(frame, "time_s")["mixed-timing"].sentence
    assert "mixed-timing" not in cautions(frame)


def test_a_log_without_failures_is_doubted_where_it_is_long() -> None:
    assert "None of 24 shots failed" in cautions(shots())["no-failures"].sentence
    assert "no-failures" not in cautions(shots(sessions=3))
    assert "no-failures" not in cautions(kept_with_care(shots()))


def test_scores_outside_the_scale_stop_the_reader() -> None:
    frame = shots()
    frame.loc[3, "overall"] = 77.0
    caution = cautions(frame, "score:overall")["scores-outside-scale"]
    assert caution.severity == "stop"
    assert caution.sentence.startswith("1 score for overall lies outside the scale (0–10)")


@pytest.mark.parametrize("seed", range(3))
def test_a_log_kept_with_care_raises_nothing_grave(seed: int) -> None:
    found = cautions(clean(Size(5), np.random.default_rng(seed)))
    assert [each for each in found.values() if each.severity == "stop"] == []


HOSTILE: tuple[Callable[[pd.DataFrame], pd.DataFrame], ...] = (
    lambda frame: frame.assign(barista=None),
    lambda frame: frame.assign(position=np.nan),
    lambda frame: frame.assign(pulled_on=pd.NaT),
    lambda frame: frame.assign(roast_level=None, temp_band="low"),
    lambda frame: frame.assign(dose_g=np.nan, tds_pct=np.nan),
    lambda frame: frame.assign(purged_g=np.nan, stage=None),
    lambda frame: frame.assign(shot="same"),
    lambda frame: frame.drop(columns=["shot", "session", "position"]),
    lambda frame: frame.assign(barista=[f"p{row}" for row in range(len(frame))]),
)


@pytest.mark.parametrize("spoil", HOSTILE)
def test_gaps_and_odd_columns_never_stop_the_checks(
    spoil: Callable[[pd.DataFrame], pd.DataFrame],
) -> None:
    found = fit_effects(comparable(spoil(shots())), "ey_pct", bench=BENCH)
    assert all(each.sentence.endswith(".") for each in found.cautions)
