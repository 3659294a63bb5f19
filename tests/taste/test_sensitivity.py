"""What a verdict hangs on: every change against a fit of its own, and planted logs."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pandas as pd
import pytest

from tests.taste.logs import BENCH, comparable, log
from yieldwright.models.linear.clusters import cluster_contrast
from yieldwright.models.linear.model import LinearFit, fit_least_squares
from yieldwright.models.terms.design import build_design
from yieldwright.models.terms.terms import Blocks, Factor, Numeric
from yieldwright.taste.choosing import Model, choose
from yieldwright.taste.columns.comparable import ComparableSet
from yieldwright.taste.columns.predictors import Question, prepare
from yieldwright.taste.findings import Findings
from yieldwright.taste.sensitivity.sensitivity import SENSITIVITY_COLUMNS, Sensitivity, sensitivity

FIGURES = ["estimate", "std_error", "df", "ci_low", "ci_high"]
STRAIGHT = ("temp_band", "taper_bar")


def findings_of(
    shots: pd.DataFrame | ComparableSet,
    *,
    response: str = "ey_pct",
    settings: tuple[str, ...] = ("grind_setting", "temp_band", "taper_bar"),
    adjusters: tuple[str, ...] = ("dose_g", "position"),
    model: Model = "auto",
) -> Findings:
    found = comparable(shots) if isinstance(shots, pd.DataFrame) else shots
    question = Question(response, BENCH, settings, adjusters)
    prepared = prepare(found, question)
    chosen = choose(prepared, found, question, model=model)
    return Findings(question, found, prepared, chosen.judged, chosen)


def tried(shots: pd.DataFrame | ComparableSet, **options: object) -> Sensitivity:
    found = sensitivity(findings_of(shots, **options))  # type: ignore[arg-type]
    assert found is not None
    return found


def figures_of(table: pd.DataFrame, step: str, change: str, name: str = "") -> list[float]:
    """Return the figures of one row."""
    same = (table["step"] == step) & (table["change"] == change)
    (row,) = table[same & ((table["name"] == name) | (name == ""))][FIGURES].to_numpy(dtype=float)
    return list(row)


def fitted_figures(
    shots: pd.DataFrame | ComparableSet, step: str, **options: object
) -> list[float]:
    """Return the same figures of a log of its own, as its fit tells them."""
    table = findings_of(shots, **options).table  # type: ignore[arg-type]
    (row,) = table[table["step"] == step][FIGURES].to_numpy(dtype=float)
    return list(row)


def in_blocks(shots: pd.DataFrame, *, power: int = 1) -> LinearFit:
    """Return the fit of yield on grind and band with a column per session."""
    grind = Numeric("grind_setting", power=power)
    bands = Factor("temp_band", ("low", "medium", "high"))
    return fit_least_squares(
        build_design(shots, [grind, bands, Blocks("session")]), shots["ey_pct"]
    )


@pytest.mark.parametrize("sessions", [2, 5])
@pytest.mark.parametrize("step", ["low → medium", "1 bar more taper"])
def test_without_a_session_is_the_fit_of_the_others(sessions: int, step: str) -> None:
    shots = log(sessions, 8, seed=3)
    options = {"settings": STRAIGHT, "adjusters": ()}
    table = tried(shots, **options).table
    for day in shots["session"].unique():
        alone = fitted_figures(shots[shots["session"] != day], step, **options)
        assert figures_of(table, step, "without session", day) == pytest.approx(alone, rel=1e-8)


def test_without_a_shot_is_the_fit_of_the_others() -> None:
    shots = log(4, 6, seed=3)
    table = tried(shots, settings=STRAIGHT).table
    for _, row in table[table["change"] == "without shot"].iterrows():
        rest = shots[shots["shot"] != row["name"]]
        alone = fitted_figures(rest, row["step"], settings=STRAIGHT)
        assert row[FIGURES].to_numpy(dtype=float) == pytest.approx(alone, rel=1e-8)


def set_once_a_session(seed: int = 4) -> pd.DataFrame:
    """Return nine sessions of one band each."""
    shots = log(9, 4, seed=seed, band=0.0)
    bands = np.repeat(["low", "high", "medium"] * 3, 4)
    lift = shots["temp_band"].map({"low": 0.0, "medium": 0.5, "high": 1.0})
    return shots.assign(
        temp_band=bands, ey_pct=shots["ey_pct"] - 0.05 * shots["roast_age_d"] + lift
    )


def test_session_means_are_adjusted_anew_without_each_session() -> None:
    shots = set_once_a_session()
    options = {"settings": STRAIGHT, "adjusters": ("position",)}
    table = tried(shots, **options).table
    assert "between sessions" in set(table["stratum"])
    for day in shots["session"].unique():
        rest = shots[shots["session"] != day]
        alone = fitted_figures(rest, "medium → high", **options)
        found = figures_of(table, "medium → high", "without session", day)
        assert found == pytest.approx(alone, rel=1e-8)


def test_errors_by_session_are_those_of_a_column_per_session() -> None:
    shots = log(6, 5, seed=2)
    table = tried(shots, settings=("grind_setting", "temp_band"), adjusters=()).table
    full = in_blocks(shots, power=2)
    found = cluster_contrast(full, {"temp_band = medium": 1.0}, shots["session"])
    alone = [getattr(found, name) for name in FIGURES]
    assert figures_of(table, "low → medium", "errors by session") == pytest.approx(alone, rel=1e-8)


def test_errors_by_session_need_four_sessions() -> None:
    assert "errors by session" not in set(tried(log(3, 8)).table["change"])
    assert "errors by session" in set(tried(log(4, 6)).table["change"])


def test_straight_lines_are_a_fit_without_squares() -> None:
    shots = log(5, 6, seed=2, bend=-0.3)
    table = tried(shots, settings=("grind_setting", "temp_band"), adjusters=()).table
    line = in_blocks(shots)
    alone = [line.params[1], line.std_error[1]]
    found = figures_of(table, "one setting coarser", "straight lines")
    assert found[:2] == pytest.approx(alone, rel=1e-8)


def test_without_adjusters_is_the_fit_without_them() -> None:
    shots = log(5, 6, seed=2, drift=0.1)
    table = tried(shots).table
    alone = fitted_figures(shots, "1 bar more taper", adjusters=())
    found = figures_of(table, "1 bar more taper", "without adjusters")
    assert found == pytest.approx(alone, rel=1e-8)
    assert "without adjusters" not in set(tried(shots, adjusters=()).table["change"])


def tasted(seed: int = 6) -> ComparableSet:
    """Return shots that three tasters scored, each in a way of their own."""
    shots, rng = log(5, 6, seed=seed), np.random.default_rng(seed)
    scores = [
        {"shot": shot, "taster": taster, "attribute": "overall", "score": value + way + chance}
        for shot, value in zip(shots["shot"], 6 - 0.4 * (shots["grind_setting"] - 11), strict=True)
        for taster, way, chance in zip("abc", (-1.0, 0.0, 1.0), rng.normal(0, 0.5, 3), strict=True)
    ]
    tastings = pd.DataFrame(scores)
    means = tastings.groupby("shot")["score"].mean()
    scored = shots.assign(**{"score:overall": shots["shot"].map(means)})
    return replace(comparable(scored), tastings=tastings)


def test_a_mixed_model_is_fitted_anew_without_each_session() -> None:
    found = tasted()
    options = {"response": "score:overall", "settings": STRAIGHT, "adjusters": ()}
    findings = findings_of(found, **options)  # type: ignore[arg-type]
    assert findings.chosen is not None
    assert findings.chosen.kind == "mixed model"
    answer = sensitivity(findings)
    assert answer is not None
    for day in found.shots["session"].unique()[:2]:
        rest = replace(found, shots=found.shots[found.shots["session"] != day])
        alone = fitted_figures(rest, "low → medium", **options)
        row = figures_of(answer.table, "low → medium", "without session", day)
        assert row == pytest.approx(alone, rel=1e-5)
    shots = answer.table[answer.table["change"] == "without shot"]
    rest = replace(found, shots=found.shots[found.shots["shot"] != shots["name"].iloc[0]])
    alone = fitted_figures(rest, shots["step"].iloc[0], **options)
    assert shots[FIGURES].iloc[0].tolist() == pytest.approx(alone, rel=1e-5)


def test_verdicts_are_sides_of_zero() -> None:
    table = tried(log(6, 5, seed=5)).table
    assert tuple(table.columns) == SENSITIVITY_COLUMNS
    sides = np.select([table["ci_low"] > 0, table["ci_high"] < 0], ["more", "less"], "unclear")
    assert table["verdict"].tolist() == sides.tolist()
    first = table[table["change"] == "as fitted"].set_index("step")["verdict"]
    changed = table["verdict"] != table["step"].map(first)
    assert table["verdict_changes"].tolist() == changed.tolist()


def test_shares_of_sessions_add_up() -> None:
    table = tried(log(5, 6)).table
    shares = table[table["change"] == "without session"].groupby("step")["share"].sum()
    assert shares.tolist() == pytest.approx([1.0] * len(shares))


def test_a_strong_effect_is_said_to_hang_on_no_session() -> None:
    answer = tried(log(6, 6, noise=0.1, grind=-0.8))
    assert answer.sentences[0].startswith(
        "No single session carries the effect of one setting coarser, and no single shot does: "
        "with any one of 6 sessions left out it is 0."
    )
    assert not [each for each in answer.cautions if "hangs" in each.code]


def grind_changed_once(seed: int) -> pd.DataFrame:
    """Return a log whose grind was changed in its second session alone, to a clear effect."""
    shots = log(5, 6, seed=seed, noise=0.15, grind=0.0)
    settings = np.where(shots["session"] == "day 2", shots["grind_setting"], 11.0)
    return shots.assign(grind_setting=settings, ey_pct=shots["ey_pct"] - 1.0 * (settings - 11.0))


def test_the_session_that_alone_tells_is_found_with_what_to_repeat() -> None:
    for seed in range(20):
        answer = tried(grind_changed_once(seed), adjusters=())
        (found,) = (each for each in answer.cautions if each.code == "hangs-on-session")
        assert found.about == ("grind_setting",)
        assert "hangs on session day 2, without which the log says nothing of it" in found.sentence
        assert found.remedy == "Pull setting 10 and setting 12 side by side in another session."
    assert answer.sentences[0] == (
        "Without session day 2 the 24 shots left say nothing of the effect of one setting "
        "coarser on the extraction yield."
    )


def test_a_shot_that_says_something_else_is_found() -> None:
    found = 0
    for seed in range(20):
        shots = log(4, 6, seed=seed, noise=0.2)
        shots.loc[9, "ey_pct"] += 3.0
        cautions = tried(shots, adjusters=()).cautions
        found += any(
            "shot" in each.code and " shot 10" in f" {each.sentence.lower()}" for each in cautions
        )
    assert found >= 19


def test_a_session_that_says_something_else_is_found() -> None:
    found = 0
    for seed in range(20):
        shots = log(6, 6, seed=seed, noise=0.2)
        odd = shots["session"] == "day 4"
        shots["ey_pct"] += np.where(odd, 1.5 * (shots["grind_setting"] - 11), 0.0)
        cautions = tried(shots, adjusters=()).cautions
        found += any("session" in each.code and "day 4" in each.sentence for each in cautions)
    assert found >= 19


def test_clean_logs_raise_few_alarms() -> None:
    """40 logs of 24 shots; each code at most 5 %, four binomial standard errors."""
    codes: list[str] = []
    for seed in range(40):
        codes += {each.code for each in tried(log(6, 4, seed=500 + seed)).cautions}
    most = 40 * (0.05 + 4 * np.sqrt(0.05 * 0.95 / 40))
    assert all(codes.count(code) <= most for code in set(codes))


def test_an_effect_that_only_looks_clear_is_no_finding() -> None:
    answer = tried(log(4, 6))
    assert any(
        "would look clear without session" in each and "so no finding" in each
        for each in answer.sentences
    )


def test_an_entangled_effect_is_in_the_table_but_not_spoken_of() -> None:
    shots = log(5, 6, seed=3, noise=0.1)
    rng = np.random.default_rng(1)
    shots["taper_bar"] = (shots["grind_setting"] - 8 + rng.normal(0, 0.02, 30)).round(2)
    answer = tried(shots, settings=("grind_setting", "taper_bar"), adjusters=())
    assert set(answer.table["term"]) == {"grind_setting", "taper_bar"}
    assert answer.sentences == ()
    assert answer.cautions == ()


def test_one_session_has_shots_to_leave_out_only() -> None:
    changes = set(tried(log(1, 14)).table["change"])
    assert "without shot" in changes
    assert "without session" not in changes


def test_no_degree_of_freedom_left_is_said() -> None:
    shots = log(2, 8, seed=2, noise=0.02)
    shots["ey_pct"] = 19 + 0.5 * shots["taper_bar"] + 0.001 * shots["position"] ** 2
    few = shots.drop(index=range(11, 16))
    answer = tried(few, settings=("taper_bar", "dose_g"), adjusters=())
    table = answer.table.set_index(["step", "change", "name"])
    left = table.loc[("1 bar more taper", "without session", "day 1")]
    assert np.isfinite(left["estimate"])
    assert left[["std_error", "ci_low", "ci_high"]].isna().all()
    assert left["verdict"] == "cannot tell"
    assert answer.sentences[0] == (
        "Without session day 1 the 3 shots left are too few for an interval of the effect of 1 "
        "bar more taper on the extraction yield."
    )


def test_without_a_clear_effect_there_is_nothing_to_overturn() -> None:
    answer = tried(log(5, 6, seed=3, grind=0.0, band=0.0, noise=1.0))
    assert "no verdict to overturn" in " ".join(answer.sentences)


def test_a_log_without_a_judged_setting_has_no_answer() -> None:
    assert sensitivity(findings_of(log(), settings=(), adjusters=("position",))) is None


def test_the_order_of_rows_does_not_matter() -> None:
    shots = log(5, 5, seed=8)
    keys = ["step", "change", "name"]
    first, again = (
        tried(each).table.sort_values(keys)[FIGURES].to_numpy(dtype=float)
        for each in (shots, shots.sample(frac=1, random_state=3).reset_index(drop=True))
    )
    assert again == pytest.approx(first, rel=1e-7, abs=1e-9, nan_ok=True)


def test_words_follow_a_score_that_is_best_in_the_middle() -> None:
    shots = log(6, 6, noise=0.1, grind=-0.8)
    shots["score:body"] = 5 + (shots["ey_pct"] - shots["ey_pct"].mean())
    verdicts = set(tried(shots, response="score:body").table["verdict"])
    assert verdicts <= {"nearer", "farther off", "unclear", "cannot tell"}


def test_names_from_a_log_are_never_markup() -> None:
    shots = grind_changed_once(0)
    shots["session"] = shots["session"].replace({"day 2": "<script>alert(1)</script>"})
    page = tried(shots, adjusters=())._repr_html_()
    assert "<script>" not in page
    assert "&lt;script&gt;" in page


def test_the_summary_keeps_to_80_columns() -> None:
    lines = tried(log(6, 5, seed=5)).summary().splitlines()
    assert max(map(len, lines)) <= 80
    assert lines[0] == "What would have to be true for this to be wrong (extraction yield)?"


def test_the_table_shown_marks_what_changes() -> None:
    answer = tried(log(4, 6))
    shown = answer.display_frame()
    kept = answer.table.iloc[list(answer.shown)]
    marked = shown["Verdict"].str.startswith("→").tolist()
    assert marked == kept["verdict_changes"].tolist()
    assert (kept["change"] == "without session").sum() == kept["step"].nunique()


@pytest.mark.parametrize("seed", [1, 12, 14])
def test_session_means_without_noise_leave_nothing_to_compare(seed: int) -> None:
    rng = np.random.default_rng(seed)
    exact = log(7, 4, seed=seed, noise=0.0)
    exact["temp_band"] = np.repeat(rng.choice(["low", "high"], 7), 4)
    exact["grind_setting"] = np.repeat(rng.choice([9.0, 10.0, 11.0], 7), 4)
    exact["ey_pct"] = 19.0 + (exact["grind_setting"] - 10)
    table = tried(exact, adjusters=("roast_age_d", "dose_g", "position")).table
    left = table[table["change"] == "without session"]
    assert left["p_apart"].isna().all()
    told = left.dropna(subset=["estimate"])
    assert told.loc[told["term"] == "grind_setting", "estimate"].tolist() == pytest.approx(
        [1.0] * (told["term"] == "grind_setting").sum()
    )


@pytest.mark.parametrize("seed", range(6))
def test_a_mixed_model_of_hardly_any_shots_has_no_traceback(seed: int) -> None:
    few = log(8, 2, seed=seed)
    few["temp_band"] = np.repeat(np.random.default_rng(seed).choice(["low", "high"], 8), 2)
    answer = sensitivity(findings_of(few, adjusters=("roast_age_d",), model="mixed"))
    assert answer is not None
    told = answer.table.dropna(subset=["ci_low"])
    assert (told["ci_low"] <= told["estimate"]).all()
    assert answer.summary()
