"""A surface of two or three settings: what is told of it, what is refused, what would help."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.taste.logs import BENCH, comparable, log
from yieldwright.bench import Bench, Grinder
from yieldwright.errors import RoleError, UnknownNameError
from yieldwright.models.linear.model import fit_least_squares
from yieldwright.models.surface.fit import response_surface, surface_terms
from yieldwright.models.terms.design import build_design
from yieldwright.models.terms.terms import Blocks, Numeric
from yieldwright.results import ESTIMATE_COLUMNS
from yieldwright.taste.columns.predictors import Question, prepare
from yieldwright.taste.findings import Findings
from yieldwright.taste.strata.judging import judge_strata
from yieldwright.taste.surface.model import LEAST_DF, SurfaceFit, fit_surface

ASKED = ("grind_setting", "taper_bar")
GRINDS, TAPERS = (10.0, 11.0, 12.0), (1.0, 2.5, 4.0)


def findings(
    shots: pd.DataFrame,
    response: str = "score:overall",
    *,
    asked: tuple[str, ...] = ASKED,
    adjusters: tuple[str, ...] = (),
    bench: Bench = BENCH,
) -> Findings:
    question, log = Question(response, bench, asked, adjusters), comparable(shots)
    prepared = prepare(log, question)
    return Findings(question, log, prepared, judge_strata(prepared))


def hill(
    sessions: int = 4,
    shots: int = 9,
    *,
    seed: int = 1,
    noise: float = 0.15,
    top: tuple[float, float] = (11.3, 2.2),
    squares: tuple[float, float] = (-0.5, -0.25),
    grinds: tuple[float, ...] = GRINDS,
    tapers: tuple[float, ...] = TAPERS,
) -> pd.DataFrame:
    """Return shots of sessions that differ, each with all combinations of two settings."""
    rng, frame = np.random.default_rng([seed, 7]), log(sessions, shots, seed=seed)
    places = np.array([(grind, taper) for grind in grinds for taper in tapers])
    order = [rng.permutation(np.resize(np.arange(len(places)), shots)) for _ in range(sessions)]
    grind, taper = places[np.concatenate(order)].T
    score = 6 + squares[0] * (grind - top[0]) ** 2 + squares[1] * (taper - top[1]) ** 2
    score += rng.normal(0, 0.4, sessions)[frame["session"].factorize()[0]]
    score += rng.normal(0, noise, len(frame))
    scores = {"score:overall": score, "score:bitter": 10 - score, "score:body": 5 + score}
    return frame.assign(grind_setting=grind, taper_bar=taper, **scores)


def fit(shots: pd.DataFrame, response: str = "score:overall", **options: object) -> SurfaceFit:
    return fit_surface(findings(shots, response, **options))  # type: ignore[arg-type]


def said(found: SurfaceFit) -> str:
    return " ".join(found.sentences)


def codes(found: SurfaceFit) -> set[str]:
    return {caution.code for caution in found.cautions}


def test_a_top_inside_what_was_tried_is_told_with_its_region() -> None:
    found = fit(hill())
    assert (found.kind, found.region) == ("top", "inside")
    for column, truth in zip(ASKED, (11.3, 2.2), strict=True):
        low, high = found.spans[column]
        assert low < found.stationary[column] < high
        assert low < truth < high
    assert "The overall score has a top" in said(found)
    assert "It is highest near setting" in said(found)
    assert "(95 %, 36 shots in 4 sessions)" in said(found)


def test_without_noise_the_top_is_where_it_was_planted() -> None:
    found = fit(hill(noise=1e-7))
    assert found.stationary == pytest.approx({"grind_setting": 11.3, "taper_bar": 2.2}, abs=1e-4)


def test_coefficients_are_those_of_sessions_as_blocks_per_practical_step() -> None:
    # Identity: least squares with one column per session; taper in steps of 1 bar of 1.5.
    shots = hill()
    numbers = [Numeric("grind_setting"), Numeric("taper_bar")]
    terms = surface_terms(shots, numbers, [Blocks("session"), Numeric("position")])
    plain = fit_least_squares(build_design(shots, terms), shots["score:overall"])
    surface = response_surface(plain, shots, ASKED)
    table = fit(shots, adjusters=("position",)).to_frame()
    scales = np.array([1, 1 / 1.5, 1, 1 / 1.5**2, 1 / 1.5])
    assert table["estimate"].to_numpy() == pytest.approx(surface.coefficients * scales)
    errors = np.sqrt(np.diag(surface.cov)) * scales
    assert table["std_error"].to_numpy() == pytest.approx(errors)
    assert (table["df"] == plain.df_resid).all()
    assert tuple(table.columns[: len(ESTIMATE_COLUMNS)]) == ESTIMATE_COLUMNS


def test_a_whole_day_that_ran_high_moves_nothing() -> None:
    shots = hill()
    lifted = shots["score:overall"] + 3.0 * (shots["session"] == "day 2")
    moved = fit(shots.assign(**{"score:overall": lifted}))
    assert moved.stationary == pytest.approx(fit(shots).stationary)


def test_where_less_is_better_the_bottom_is_the_place_and_the_way_leads_down() -> None:
    high, low = (fit(hill(top=(12.4, 3.0)), name) for name in ("score:overall", "score:bitter"))
    assert (high.kind, low.kind) == ("top", "bottom")
    assert (high.best, low.best) == ("highest", "lowest")
    assert low.path["change"].to_numpy() == pytest.approx(
        -high.path["change"].to_numpy(), nan_ok=True
    )
    assert "falls, which is better, fastest towards" in said(low)


def test_where_neither_end_is_better_no_one_asks_for_the_turn() -> None:
    shots = hill(noise=0.05, top=(12.6, 5.0))
    found = fit(shots.assign(time_s=30 + shots["score:overall"]), "time_s")
    assert found.best == ""
    assert found.region == "beyond"
    assert "surface-unbounded" not in codes(found)
    assert "the shot time rises fastest towards" in said(found)


def test_where_the_middle_of_the_scale_is_best_the_distance_from_it_is_fitted() -> None:
    found = fit(hill(), "score:body")
    assert found.noun == "nearness of the body score to the middle of its scale"
    assert found.noun in said(found)


def test_the_way_to_better_goes_in_whole_steps_and_tells_the_change() -> None:
    found = fit(hill(noise=0.1, top=(12.6, 5.0)))
    inside = found.path[found.path["tried"]]
    steps = inside[list(ASKED)] - inside[list(ASKED)].iloc[0]
    assert (steps == steps.round()).all(axis=None)
    assert (np.diff(inside["change"]) > 0).all()
    assert "inside what was tried: a shot there scored" in said(found)


def test_beyond_what_was_tried_there_is_a_name_and_no_number() -> None:
    found = fit(hill(noise=0.1, top=(12.6, 5.0)))
    beyond = found.path[~found.path["tried"]]
    assert len(beyond) == 1
    assert beyond[["change", "ci_low", "ci_high"]].isna().all(axis=None)
    assert "no number for it" in said(found)
    assert found.stationary == {}
    assert found.outline.empty
    assert "the 95 % region of that place leaves what was tried" in said(found)


def test_the_surface_is_given_only_where_shots_were_pulled() -> None:
    shots = hill()
    corner = (shots["grind_setting"] == 12) & (shots["taper_bar"] == 4)
    found = fit(shots[~corner].reset_index(drop=True))
    grid = found.grid
    assert grid["grind_setting"].between(10 - 1e-9, 12 + 1e-9).all()
    assert grid["taper_bar"].between(1 - 1e-9, 4 + 1e-9).all()
    # The cut corner: beyond the line from (11, 4) to (12, 2.5).
    assert (grid["taper_bar"] - 4 + 1.5 * (grid["grind_setting"] - 11) <= 1e-6).all()
    assert np.isfinite(grid["fitted"]).all()
    assert len(found.hull) == 5


def test_noise_leaves_the_shape_open_and_says_how_much_it_may_bend() -> None:
    found = fit(hill(noise=1.5))
    assert found.kind == "unclear"
    assert found.stationary == {}
    assert "This log cannot tell whether the overall score bends" in said(found)
    assert "may change it by −" in said(found)
    assert "stands clear of chance" in said(found)
    assert "surface-unbounded" in codes(found)
    assert len(found.needed) == 6


def test_a_ridge_is_called_one_and_its_direction_is_named() -> None:
    found = fit(hill(squares=(-0.6, 0.0)))
    assert found.kind == "ridge"
    assert "it bends down along grind setting" in said(found)
    assert "whether it bends along pressure taper this log cannot tell" in said(found)


def test_a_saddle_is_called_one() -> None:
    found = fit(hill(squares=(-0.5, 0.25)))
    assert found.kind == "saddle"
    assert "bends up along pressure taper and down along grind setting" in said(found)


def test_a_line_across_two_settings_is_named_by_both() -> None:
    shots = hill(noise=0.05)
    apart = (shots["grind_setting"] - 11) - (shots["taper_bar"] - 2.5) / 1.5
    found = fit(shots.assign(**{"score:overall": 6 - apart**2}))
    assert "down along the line" in said(found)
    assert "grind setting up with pressure taper down" in said(found) or (
        "grind setting down with pressure taper up" in said(found)
    )


def test_two_values_of_a_setting_are_refused_with_the_shots_that_help() -> None:
    found = fit(hill(grinds=(10.0, 12.0)))
    assert not found.answered
    assert "only 2 different values" in found.missing
    assert set(found.needed.columns) == set(ASKED)
    assert 11.0 in set(found.needed["grind_setting"])
    (caution,) = found.cautions
    assert caution.remedy.startswith("Pull in one session: setting")


def ring() -> pd.DataFrame:
    """Return shots all around a middle that was never pulled: corners and star points."""
    angles = np.arange(8) * np.pi / 4
    shots = hill(4, 8)
    around = np.tile(angles, 4)
    return shots.assign(
        grind_setting=11 + np.cos(around).round(12), taper_bar=2.5 + 1.5 * np.sin(around).round(12)
    )


def test_a_ring_without_a_middle_leaves_the_bends_untold() -> None:
    # Rank 5 of 6: on a circle the sum of both squares is constant.
    found = fit(ring())
    assert not found.answered
    assert (
        "the bends of grind setting and pressure taper cannot be told apart by the places pulled"
        in found.missing
    )
    middle = {"grind_setting": 11.0, "taper_bar": 2.5}
    assert (found.needed == pd.Series(middle)).all(axis=1).any()


def pulled(shots: pd.DataFrame, needed: pd.DataFrame) -> pd.DataFrame:
    """Return a log with the shots that were asked for pulled in one more session."""
    more = shots.iloc[np.resize(np.arange(len(shots)), len(needed))].reset_index(drop=True)
    rng = np.random.default_rng(9)
    more = more.assign(
        **{str(name): needed[name].to_numpy() for name in needed},
        session="asked for",
        position=np.arange(1.0, len(more) + 1),
        **{"score:overall": rng.normal(6, 0.3, len(more))},
    )
    return pd.concat([shots, more], ignore_index=True)


@pytest.mark.parametrize(
    "shots",
    [
        hill(grinds=(10.0, 12.0)),
        hill(grinds=(10.0,)),
        hill(2, 5),
        hill(1, 6, grinds=(10.0,), tapers=(1.0,)),
        hill().assign(taper_bar=lambda rows: rows["grind_setting"] - 9.0),
        hill(6, 3, grinds=(10.0, 11.0)),
        ring(),
    ],
    ids=["two values", "one value", "few shots", "one place", "line", "short sessions", "ring"],
)
def test_after_the_shots_asked_for_there_is_a_surface(shots: pd.DataFrame) -> None:
    before = fit(shots)
    assert not before.answered
    assert len(before.needed) > 0
    after = fit(pulled(shots, before.needed))
    assert after.answered, after.missing
    assert after.df_resid >= LEAST_DF


def test_settings_on_one_line_are_not_told_apart() -> None:
    found = fit(hill().assign(taper_bar=lambda rows: 2 * rows["grind_setting"] - 19.0))
    assert not found.answered
    assert "cannot be told apart" in found.missing


def test_a_setting_of_whole_sessions_is_no_axis() -> None:
    shots = hill(6, 6)
    day = shots["session"].factorize()[0]
    found = fit(shots.assign(taper_bar=1.0 + day % 3))
    assert dict(found.left_out)["taper_bar"] == "never changed within a session"


def test_a_column_with_names_for_its_levels_is_no_axis() -> None:
    found = fit_surface(findings(hill(), asked=(*ASKED, "temp_band")), (*ASKED, "temp_band"))
    assert found.settings == ASKED
    assert dict(found.left_out)["temp_band"] == "has names for its levels, not numbers"


def test_other_settings_and_adjusters_are_allowed_for() -> None:
    shots = hill(6, 9)
    warmer = shots["temp_band"].map({"low": -2.0, "medium": 0.0, "high": 2.0})
    shots["score:overall"] += warmer
    beside = fit(shots, asked=(*ASKED, "temp_band"))
    without = fit(shots)
    assert beside.residual_sd < 0.5 < without.residual_sd
    assert beside.df_resid == without.df_resid - 2


def test_four_numbers_keep_three_and_say_so() -> None:
    rng, shots = np.random.default_rng(3), hill(6, 9)
    shots = shots.assign(
        peak_bar=rng.choice([7.0, 8.0, 9.0], len(shots)),
        prewet_s=rng.choice([0.0, 5.0, 10.0], len(shots)),
    )
    found = fit(shots, asked=(*ASKED, "peak_bar", "prewet_s"))
    assert found.settings == (*ASKED, "peak_bar")
    assert dict(found.left_out)["prewet_s"] == "a surface holds at most 3 settings"
    assert len(found.to_frame()) == 9
    assert len(found.axes) == 3


def test_a_short_log_gives_two_settings_where_three_are_too_many() -> None:
    rng, shots = np.random.default_rng(3), hill(2, 8, noise=0.1)
    shots["peak_bar"] = rng.choice([7.0, 8.0, 9.0], len(shots))
    found = fit(shots, asked=(*ASKED, "peak_bar"))
    assert found.answered
    assert found.settings == ASKED
    assert "more comparable shot" in dict(found.left_out)["peak_bar"]


def test_adjusters_go_where_shots_are_few_and_that_is_said() -> None:
    shots = hill(2, 7)
    found = fit(shots, adjusters=("position", "dose_g"))
    assert found.answered
    assert "surface-unadjusted" in codes(found)
    assert fit(hill(), adjusters=("position", "dose_g")).answered
    assert "surface-unadjusted" not in codes(fit(hill(), adjusters=("position", "dose_g")))


def test_a_surface_that_misses_the_means_of_its_places_is_doubted() -> None:
    shots = hill(noise=0.05, grinds=(9.0, 10.0, 11.0, 12.0, 13.0), shots=15)
    shots["score:overall"] += 0.6 * np.sin(3 * shots["grind_setting"])
    found = fit(shots)
    assert "surface-misfit" in codes(found)
    assert found.tests.set_index("term").loc["lack of fit", "p_value"] < 0.001
    assert "surface-misfit" not in codes(fit(hill(seed=2)))


def test_places_pulled_once_each_leave_the_fit_unchecked() -> None:
    rng, shots = np.random.default_rng(4), hill()
    shots = shots.assign(taper_bar=1.0 + 3 * rng.permutation(len(shots)) / len(shots))
    found = fit(shots)
    assert "surface-unchecked" in codes(found)
    assert "lack of fit" not in set(found.tests["term"])


def test_a_response_that_never_differs_inside_sessions_is_refused() -> None:
    shots = hill()
    same = shots["session"].factorize()[0].astype(float)
    found = fit(shots.assign(**{"score:overall": same}))
    assert "does not differ within sessions" in found.missing


def test_nothing_logged_as_a_number_asks_for_numbers() -> None:
    shots = hill().drop(columns=list(ASKED)).assign(dose_g=lambda rows: rows["position"])
    found = fit_surface(findings(shots, asked=(*ASKED, "temp_band"), adjusters=("dose_g",)))
    assert not found.answered
    assert found.cautions[0].remedy.startswith("Log two settings as numbers")


def test_an_outcome_is_no_axis() -> None:
    with pytest.raises(RoleError, match="outcome"):
        fit_surface(findings(hill()), ("grind_setting", "time_s"))


def test_an_unknown_column_is_no_axis() -> None:
    with pytest.raises(UnknownNameError, match="grind_settin"):
        fit_surface(findings(hill()), ("grind_settin", "taper_bar"))


def test_a_column_outside_the_question_is_left_out_with_a_reason() -> None:
    found = fit_surface(findings(hill()), (*ASKED, "prewet_s"))
    assert found.settings == ASKED
    assert dict(found.left_out)["prewet_s"] == "not among the columns of this fit"


@settings(max_examples=15)
@given(st.integers(0, 50))
def test_a_grinder_that_counts_the_other_way_gives_the_mirrored_place(seed: int) -> None:
    shots = hill(seed=seed)
    turned = Bench(
        grinders=(Grinder("mill", step=1.0, coarser="down", stated=True),),
        attributes=BENCH.attributes,
    )
    plain = fit(shots)
    mirrored = fit(shots.assign(grind_setting=30 - shots["grind_setting"]), bench=turned)
    assert (plain.kind, plain.region) == (mirrored.kind, mirrored.region)
    assert mirrored.to_frame()["estimate"].to_numpy() == pytest.approx(
        plain.to_frame()["estimate"].to_numpy()
    )
    if plain.stationary:
        place = 30 - plain.stationary["grind_setting"]
        assert mirrored.stationary["grind_setting"] == pytest.approx(place)


@settings(max_examples=15)
@given(st.randoms(use_true_random=False))
def test_the_order_of_rows_changes_nothing(random: object) -> None:
    shots = hill()
    shuffled = shots.sample(frac=1, random_state=random.getrandbits(32))  # type: ignore[attr-defined]
    plain, other = fit(shots), fit(shuffled.reset_index(drop=True))
    assert other.stationary == pytest.approx(plain.stationary)
    assert other.sentences == plain.sentences


@settings(max_examples=15)
@given(st.floats(0.2, 20.0))
def test_another_unit_of_the_taper_moves_the_place_with_it(unit: float) -> None:
    shots = hill()
    plain, other = fit(shots), fit(shots.assign(taper_bar=unit * shots["taper_bar"]))
    assert other.kind == plain.kind
    moved = {**plain.stationary, "taper_bar": unit * plain.stationary["taper_bar"]}
    assert other.stationary == pytest.approx(moved)


def test_the_summary_fits_eighty_columns() -> None:
    rng, shots = np.random.default_rng(3), hill(6, 9)
    shots["peak_bar"] = rng.choice([7.0, 8.0, 9.0], len(shots))
    for found in (fit(shots, asked=(*ASKED, "peak_bar")), fit(hill(grinds=(10.0,)))):
        assert max(map(len, found.summary().splitlines())) <= 80


def test_hostile_names_stay_words() -> None:
    shots = hill()
    found = fit(shots)
    bag = SurfaceFit(response="score:<b>x</b>", bag="<script>", n_shots=3, missing="none")
    assert "<script>" not in bag._repr_html_()
    assert "<b>" not in bag._repr_html_()
    assert repr(found) == (
        "<SurfaceFit: Surface of the overall score (bag-1, mill), 36 shots; summary() tells it>"
    )
