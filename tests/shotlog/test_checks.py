"""Ranges set rows aside or flag them; cells of one row are held against one another."""

from __future__ import annotations

from datetime import date

import pytest

from tests.shotlog.conftest import Reader
from yieldwright.bench import Attribute, Band, Bench, Scale, WidenedRange
from yieldwright.glossary import SHOT_QUANTITIES, Quantity, Span

RANGED = [q for q in SHOT_QUANTITIES if q.is_numeric and abs(q.hard.high) < 1e6 and not q.computed]
USUAL = [q for q in RANGED if q.soft.high < q.hard.high]
BANDS = (Band("cool", 80.0, 88.0), Band("warm", 88.0, 96.0))


def beyond(high: float) -> str:
    """Return a whole number above a limit."""
    return str(int(high) + 1)


@pytest.mark.parametrize("entry", RANGED, ids=lambda entry: entry.name)
def test_beyond_the_hard_range_a_row_is_set_aside(entry: Quantity, read: Reader) -> None:
    log = read(f"shot;{entry.name}\n1;{beyond(entry.hard.high)}\n")
    assert log.shots.empty
    assert f"{entry.name} is" in log.set_aside["reason"].item()
    assert f"outside {entry.hard}" in log.set_aside["reason"].item()


@pytest.mark.parametrize("entry", RANGED, ids=lambda entry: entry.name)
def test_the_ends_of_the_hard_range_belong_to_it(entry: Quantity, read: Reader) -> None:
    log = read(f"shot;{entry.name}\na;{entry.hard.low:g}\nb;{entry.hard.high:g}\n")
    assert log.shots["shot"].tolist() == ["a", "b"]


@pytest.mark.parametrize("entry", USUAL, ids=lambda entry: entry.name)
def test_beyond_the_soft_range_a_row_is_flagged(entry: Quantity, read: Reader) -> None:
    log = read(f"shot;{entry.name}\n1;{beyond(entry.soft.high)}\n")
    assert log.flags[["shot", "column"]].to_numpy().tolist() == [["1", entry.name]]
    assert f"outside the usual {entry.soft}" in log.flags["reason"].item()


def test_a_bench_widens_both_ranges(read: Reader) -> None:
    widened = WidenedRange(hard=Span(5, 60), soft=Span(14, 60))
    log = read("shot,dose_g\n1,50\n", bench=Bench(ranges={"dose_g": widened}))
    assert log.shots["dose_g"].tolist() == [50.0]
    assert log.flags.empty


def test_single_readings_share_the_widened_range_of_the_strength(read: Reader) -> None:
    bench = Bench(ranges={"tds_pct": WidenedRange(hard=Span(0.5, 40), soft=Span(6, 40))})
    log = read("shot,tds_1_pct,tds_2_pct\n1,30,31\n", bench=bench)
    assert log.shots["tds_pct"].tolist() == [30.5]


def test_a_row_with_several_mistakes_lists_them_in_one_entry(read: Reader) -> None:
    log = read("shot,dose_g,time_s\n1,180,thirty\n")
    (reason,) = log.set_aside["reason"]
    assert "time_s: “thirty” is no number" in reason
    assert "dose_g is 180 g" in reason


@pytest.mark.parametrize("fate", ["choked", "gushed", "channelled", "discarded"])
def test_failed_pulls_are_kept_and_counted_but_not_used(fate: str, read: Reader) -> None:
    log = read(f"shot,fate\n1,{fate}\n2,pulled\n")
    assert log.shots["fate"].tolist() == [fate, "pulled"]
    assert log.shots["usable"].tolist() == [False, True]
    assert "1 shot kept but left out of slopes" in " ".join(log.reading.remarks)


def test_the_outcome_of_a_choked_pull_may_be_extreme(read: Reader) -> None:
    log = read("shot,dose_g,beverage_g,time_s,fate\n1,18,2.0,240,choked\n2,18,2.0,240,pulled\n")
    assert log.shots["shot"].tolist() == ["1"]
    assert set(log.flags["column"]) == {"beverage_g", "time_s", "brew_ratio"}


def test_the_dose_of_a_choked_pull_may_not(read: Reader) -> None:
    log = read("shot,dose_g,fate\n1,180,choked\n")
    assert log.shots.empty


def test_an_impossible_outcome_is_set_aside_whatever_the_fate(read: Reader) -> None:
    log = read("shot,beverage_g,fate\n1,-3,choked\n")
    assert log.shots.empty


def test_a_computed_ratio_beyond_its_range_sets_the_row_aside(read: Reader) -> None:
    log = read("shot,dose_g,beverage_g\n1,5,110\n")
    assert log.set_aside["reason"].item() == "brew_ratio comes to 22, outside 0.5–6"


def test_an_end_above_the_peak_sets_the_row_aside(read: Reader) -> None:
    log = read("shot,peak_bar,end_bar\n1,9,12\n2,9,9\n")
    assert log.shots["shot"].tolist() == ["2"]
    assert log.set_aside["reason"].item() == "end_bar is 12 bar, above peak_bar of 9 bar"


def test_a_coffee_roasted_after_the_pull_is_set_aside(read: Reader) -> None:
    log = read("shot,pulled_on,roasted_on\n1,2026-03-07,2026-03-10\n")
    assert log.set_aside["reason"].item() == "roast_age_d comes to -3 d, outside 0–365 d"


def test_a_yield_above_the_ceiling_is_kept_flagged_and_not_used(read: Reader) -> None:
    log = read("shot,dose_g,beverage_g,tds_pct\n1,18,50,12\n2,18,36,10\n")
    assert log.shots["usable"].tolist() == [False, True]
    assert log.flags["reason"].tolist() == [
        "33.3 % extraction is above the 30 % that water can dissolve; left out of fits"
    ]


@pytest.mark.parametrize(
    ("head", "row", "column"),
    [
        ("ey_pct;dose_g;beverage_g;tds_pct", "21.0;18;36;10", "ey_pct"),
        ("brew_ratio;dose_g;beverage_g", "1:2;18;45", "brew_ratio"),
        ("roast_age_d;pulled_on;roasted_on", "9;2026-03-15;2026-03-04", "roast_age_d"),
        ("taper_bar;hold_bar;end_bar", "2.0;9.0;6.0", "taper_bar"),
        ("tds_pct;tds_1_pct;tds_2_pct", "9.0;9.4;9.6", "tds_pct"),
        ("temp_band;temp_c", "low;93", "temp_band"),
        ("hold_bar;peak_bar", "9.5;9.0", "hold_bar"),
        ("first_drip_s;time_s", "20;18", "first_drip_s"),
        ("taper_start_s;time_s", "35;30", "taper_start_s"),
        ("opened_on;pulled_on", "2026-03-09;2026-03-07", "opened_on"),
        ("roasted_on;opened_on", "2026-03-09;2026-03-07", "roasted_on"),
        ("pulled_on;pulled_at", "2026-03-08;2026-03-07T10:00", "pulled_on"),
    ],
)
def test_cells_that_disagree_are_flagged(head: str, row: str, column: str, read: Reader) -> None:
    flags = read(f"shot;{head}\n1;{row}\n").flags
    assert flags["column"].tolist() == [column]
    assert flags["value"].item() == row.partition(";")[0]


@pytest.mark.parametrize(
    ("head", "row"),
    [
        ("ey_pct;dose_g;beverage_g;tds_pct", "20.05;18;36;10"),
        ("ey_pct;dose_g;beverage_g;tds_pct", "20;18;36.5;10"),
        ("brew_ratio;dose_g;beverage_g", "1:2;18;36.9"),
        ("roast_age_d;pulled_on;roasted_on", "11;2026-03-15;2026-03-04"),
        ("taper_bar;hold_bar;end_bar", "3;9.0;6.2"),
        ("tds_pct;tds_1_pct;tds_2_pct", "9.5;9.4;9.6"),
        ("temp_band;temp_c", "high;92"),
        ("temp_band;temp_c", "medium;92"),
    ],
)
def test_cells_that_agree_to_their_rounding_are_not_flagged(
    head: str, row: str, read: Reader
) -> None:
    assert read(f"shot;{head}\n1;{row}\n").flags.empty


def test_a_band_the_bench_does_not_state_sets_the_row_aside(read: Reader) -> None:
    bench = Bench(bands=BANDS, stated=frozenset({"bands"}))
    log = read("shot,temp_band\n1,Warm\n2,worm\n", bench=bench)
    assert log.shots["temp_band"].tolist() == ["warm"]
    assert log.set_aside["suggestion"].tolist() == ["warm?"]


def test_a_band_is_only_flagged_where_the_bench_states_none(read: Reader) -> None:
    log = read("shot,temp_band\n1,tepid\n")
    assert log.shots["temp_band"].tolist() == ["tepid"]
    assert log.flags["reason"].item() == "“tepid” is none of low, medium or high"


def test_a_shot_pulled_after_the_day_of_judgement_is_flagged(read: Reader) -> None:
    content = "shot,pulled_on\n1,2026-03-07\n2,2026-03-09\n"
    log = read(content, as_of=date(2026, 3, 8))
    assert log.flags[["shot", "column"]].to_numpy().tolist() == [["2", "pulled_on"]]
    assert log.as_of == date(2026, 3, 8)


def test_by_default_the_log_is_judged_on_the_day_of_its_newest_shot(read: Reader) -> None:
    assert read("shot,pulled_on\n1,2026-03-09\n2,2026-03-07\n").as_of == date(2026, 3, 9)


def rows(doses: list[str]) -> str:
    """Return a log of shots that differ in their beverage."""
    return "shot,dose_g,beverage_g\n" + "".join(
        f"{at},{dose},{30 + at / 10}\n" for at, dose in enumerate(doses)
    )


def test_a_dose_that_never_varies_is_flagged_once(read: Reader) -> None:
    flags = read(rows(["18.0"] * 8)).flags
    assert flags["column"].tolist() == ["dose_g"]
    assert flags["shot"].isna().all()
    assert "a target in place of weighings?" in flags["reason"].item()


@pytest.mark.parametrize("doses", [["18.0"] * 7, ["18.0"] * 7 + ["18.1"]])
def test_a_dose_that_varies_or_is_seldom_is_not(doses: list[str], read: Reader) -> None:
    assert read(rows(doses)).flags.empty


def test_a_coarse_scale_shows_no_spread_by_right(read: Reader) -> None:
    bench = Bench(dose_scale=Scale(resolution_g=1.0))
    assert read(rows(["18"] * 8), bench=bench).flags.empty


def sessions(name: str, first: list[str], second: list[str]) -> str:
    """Return a log of two sessions with one column of measurements."""
    cells = [("e1", cell) for cell in first] + [("e2", cell) for cell in second]
    return f"shot,session,{name}\n" + "".join(
        f"{at},{session},{cell}\n" for at, (session, cell) in enumerate(cells, 1)
    )


VARYING = {
    "dose_g": ["18.1", "17.9", "18.0", "18.2"],
    "beverage_g": ["36.4", "35.2", "36.9", "36.1"],
    "time_s": ["34", "38", "36", "35"],
    "tds_pct": ["9.41", "9.60", "9.32", "9.55"],
}


@pytest.mark.parametrize("name", VARYING)
def test_a_session_without_spread_is_told_where_others_have_some(name: str, read: Reader) -> None:
    still = [VARYING[name][0]] * 8
    flags = read(sessions(name, still, VARYING[name])).flags
    assert flags["column"].tolist() == [name]
    assert flags["reason"].item().startswith("the same in all 8 shots of session “e1”: a target")


@pytest.mark.parametrize("name", VARYING)
def test_seven_equal_shots_of_a_session_are_not(name: str, read: Reader) -> None:
    assert read(sessions(name, [VARYING[name][0]] * 7, VARYING[name])).flags.empty


@pytest.mark.parametrize("name", ["time_s", "tds_pct"])
def test_a_reading_that_never_varies_is_a_target_too(name: str, read: Reader) -> None:
    flags = read(sessions(name, [VARYING[name][0]] * 5, [VARYING[name][0]] * 5)).flags
    assert flags["reason"].tolist() == ["the same in every shot: a target in place of readings?"]


def test_whole_grams_may_agree_through_a_session(read: Reader) -> None:
    assert read(sessions("beverage_g", ["36"] * 8, ["35", "37", "36", "36"])).flags.empty


CHECKED = "shot,dose_g,beverage_g,tds_pct,ey_pct\n"


def checked(yields: list[str]) -> str:
    """Return a log of weighed shots with the yields that somebody typed."""
    cells = [(18.1, 36.2, 9.41), (18.0, 35.4, 9.62), (17.9, 36.9, 9.35), (18.2, 36.0, 9.50)] * 3
    return CHECKED + "".join(
        f"{at},{dose},{drink},{tds},{typed}\n"
        for at, ((dose, drink, tds), typed) in enumerate(zip(cells, yields, strict=True), 1)
    )


#: tds × beverage / dose of the four shots, by hand: 18.820, 18.919, 19.275, 18.791.
YIELDS = ["18.82", "18.92", "19.27", "18.79"] * 3


def test_where_all_others_are_computed_from_the_row_rounding_alone_is_allowed(
    read: Reader,
) -> None:
    flags = read(checked([*YIELDS[:-1], "18.83"])).flags  # 0.04 off, and no rounding gives that
    assert flags["shot"].tolist() == ["12"]


def test_where_many_are_computed_before_rounding_that_is_allowed(read: Reader) -> None:
    # The same shots weighed to more digits: each yield within what half a step of dose
    # (0.28 %), beverage (0.14 %) and strength (0.05 %) makes of it, about 0.09.
    assert read(checked(["18.86", "18.89", "19.30", "18.83"] * 3)).flags.empty


def test_weights_rounded_to_grams_after_the_ratio_was_taken_are_allowed(read: Reader) -> None:
    cells = [("36.4", "2.02"), ("35.6", "1.98"), ("36.3", "2.02"), ("36.2", "2.01")] * 3
    rows = "".join(
        f"{at},18.0,{float(drink):.0f},{ratio}\n" for at, (drink, ratio) in enumerate(cells, 1)
    )
    assert read(f"shot,dose_g,beverage_g,brew_ratio\n{rows}").flags["shot"].dropna().empty


def test_beyond_all_rounding_a_yield_is_flagged_there_too(read: Reader) -> None:
    typed = ["18.86", "18.89", "19.30", "18.83"] * 3
    assert read(checked([*typed[:-1], "19.13"])).flags["shot"].tolist() == ["12"]


def test_yields_on_a_dry_basis_are_told_once_and_still_check_their_rows(read: Reader) -> None:
    dry = [f"{float(typed) / 0.97:.2f}" for typed in YIELDS]  # 3 % moisture
    flags = read(checked(dry)).flags
    assert flags["shot"].isna().tolist() == [True]
    assert flags["reason"].item() == (
        "typed values are 1.03 × what 12 of 12 rows give: computed in another way?"
    )
    slipped = read(checked([*dry[:-1], "13.37"])).flags
    assert slipped["shot"].dropna().tolist() == ["12"]


def test_a_stated_half_width_widens_what_is_allowed(read: Reader) -> None:
    # 36.0 / 18.0 is 2.00 and 36.0 / 18.5 is 1.95: half a gram of doubt allows it, rounding not.
    exact = "shot,dose_g,beverage_g,brew_ratio\n1,18.0,36.0,1.95\n"
    assert read(exact).flags["column"].tolist() == ["brew_ratio"]
    flags = read(exact.replace("18.0", "18.0±0.5")).flags
    assert flags["column"].tolist() == ["dose_g"]  # the spread itself, and no contradiction


def test_an_age_off_by_a_day_is_flagged_only_where_the_others_are_exact(read: Reader) -> None:
    def log(ages: list[int]) -> str:
        rows = "".join(
            f"{at},2026-03-{at + 9:02d},2026-03-01,{age}\n" for at, age in enumerate(ages, 1)
        )
        return f"shot,pulled_on,roasted_on,roast_age_d\n{rows}"

    exact = list(range(9, 19))
    assert read(log([*exact[:-1], 19])).flags["shot"].tolist() == ["10"]
    assert read(log([age + 1 for age in exact])).flags["shot"].dropna().empty


def test_a_score_between_the_steps_of_its_scale_is_flagged(read: Reader) -> None:
    bench = Bench(attributes=(Attribute("overall", 0, 10, 0.5),))
    log = read("shot,overall\n1,6.3\n2,6.5\n", bench=bench)
    assert log.flags["shot"].tolist() == ["1"]


def test_a_score_off_its_scale_sets_the_row_aside(read: Reader) -> None:
    log = read("shot,overall\n1,11\n2,10\n")
    assert log.shots["shot"].tolist() == ["2"]
    assert log.set_aside["reason"].item() == "score:overall is 11, outside 0–10"


def test_a_computed_value_is_told_in_as_many_figures_as_show_it_outside(read: Reader) -> None:
    # 9.0 × 50.0 / 17.9 = 25.13966… and 10.0004 × 45 / 18 = 25.001, by hand
    log = read("shot,dose_g,beverage_g,tds_pct\na,17.9,50,9.0\nb,18,45,10.0004\n")
    reasons = log.flags.loc[log.flags["column"] == "ey_pct", "reason"].tolist()
    assert [reason.split()[3] for reason in reasons] == ["25.14", "25.001"]
