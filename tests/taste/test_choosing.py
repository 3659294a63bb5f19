"""The model follows the structure of the log, says why, and equals reference engines."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from tests.evidence.policy_logs import BENCH, CASES, pull
from yieldwright.errors import OutOfRangeError
from yieldwright.shotlog import read_log
from yieldwright.taste import ComparableSet, comparable_sets, fit_effects
from yieldwright.taste.fitting import find
from yieldwright.taste.spreads import spreads

DEMO = Path(__file__).parents[2] / "datasets" / "evening-class"


def case(name: str, n_shots: int = 24, *, seed: int = 5) -> ComparableSet:
    (found,) = [each for each in CASES if each.name == name]
    return pull(found, n_shots, np.random.default_rng(seed))


def demo(bag: str = "bag-18") -> ComparableSet:
    return next(each for each in comparable_sets(read_log(DEMO)) if each.bag == bag)


def panel(**settings: object) -> pd.DataFrame:
    fit = fit_effects(
        demo(), "score:overall", bench=read_log(DEMO).bench, adjusters=("dose_g",), **settings
    )
    return fit.effects.set_index("step")


@pytest.mark.parametrize(
    ("name", "response", "kind", "word"),
    [
        ("independent", "ey_pct", "least squares", "of one session"),
        ("within sessions", "ey_pct", "sessions as blocks", "inside their session"),
        ("band a session", "ey_pct", "sessions as blocks", "on session means"),
        ("crossed tasters", "score:overall", "mixed model", "4 tasters"),
    ],
)
def test_the_structure_of_the_log_chooses_the_model_and_one_sentence_says_why(
    name: str, response: str, kind: str, word: str
) -> None:
    fit = fit_effects(case(name), response, bench=BENCH)
    assert fit.model == kind
    assert word in fit.why
    assert fit.why.count(". ") == 0
    assert ("Model", fit.why) in fit.headline


def test_about_one_shot_a_session_asks_for_one_line_through_all() -> None:
    log = case("within sessions")
    alone = log.shots.assign(session=[f"day {row}" for row in range(24)], position=1.0)
    fit = fit_effects(ComparableSet("", "", alone), "ey_pct", bench=BENCH)
    assert fit.model == "one pooled line"


def test_scores_of_several_tasters_equal_the_mixed_model_of_a_reference_engine() -> None:
    # R 4.2.2 with lme4 1.1-31, lmerTest and pbkrtest on the demo's second bag: the score by grind
    # and its square, band, taper and dose, with random session, taster and shot; contest() after
    # Kenward and Roger, grind's slope at the mean of the shots. R's optimiser leaves six digits.
    found = panel()
    printed = {
        "one setting coarser": (-0.341607555, 0.241284906, 11.22369013, 0.18398511),
        "medium → high": (1.108618719, 0.336446968, 10.40204593, 0.00767394812),
        "1 bar more taper": (0.853142438, 0.289317186, 10.21463142, 0.01425309260),
    }
    for step, figures in printed.items():
        ours = found.loc[step, ["estimate", "std_error", "df", "p_value"]]
        assert ours.tolist() == pytest.approx(figures, rel=3e-6)


def test_spreads_equal_those_of_a_reference_engine() -> None:
    # The same model: VarCorr of lme4 1.1-31.
    log = read_log(DEMO)
    found = spreads(find(demo(), "score:overall", bench=log.bench, adjusters=("dose_g",)))
    assert found is not None
    sds = found.table.set_index("group")["sd"]
    printed = {"shot": 0.5588150138, "taster": 0.4859716165, "session": 0.2017917416}
    for group, sd in printed.items():
        assert sds[group] == pytest.approx(sd, rel=2e-5)
    assert sds["(residual)"] == pytest.approx(0.4719814549, rel=2e-6)
    assert (found.table["ci_low"] <= found.table["sd"]).all()
    assert (found.table["ci_high"] >= found.table["sd"]).all()


def test_a_harsh_taster_burdens_no_setting() -> None:
    # One taster scores two points lower: in means of different tasters this would be noise.
    log = case("crossed tasters")
    harsh = log.tastings.assign(
        score=log.tastings["score"] - 2.0 * (log.tastings["taster"] == "t1")
    )
    mean = harsh.groupby("shot")["score"].mean().reindex(log.shots["shot"]).to_numpy()
    moved = ComparableSet(
        log.bag, log.grinder, log.shots.assign(**{"score:overall": mean}), tastings=harsh
    )
    before, after = (
        fit_effects(each, "score:overall", bench=BENCH).settings for each in (log, moved)
    )
    half = (before["ci_high"] - before["ci_low"]) / 2
    assert (np.abs(after["estimate"] - before["estimate"]) < 0.1 * half).all()
    assert after["std_error"].to_numpy() == pytest.approx(before["std_error"].to_numpy(), rel=0.1)


def test_the_order_of_rows_and_tasters_changes_nothing() -> None:
    log = case("crossed tasters")
    mixed = log.tastings.sample(frac=1.0, random_state=3)
    shuffled = ComparableSet(log.bag, log.grinder, log.shots, tastings=mixed)
    first, second = (
        fit_effects(each, "score:overall", bench=BENCH).effects for each in (log, shuffled)
    )
    assert second["estimate"].to_numpy() == pytest.approx(first["estimate"].to_numpy(), rel=1e-8)
    assert second["ci_low"].to_numpy() == pytest.approx(first["ci_low"].to_numpy(), rel=1e-6)


def test_one_taster_needs_no_mixed_model() -> None:
    log = case("crossed tasters")
    only = log.tastings.drop_duplicates("shot").assign(taster="t1")
    fit = fit_effects(
        ComparableSet(log.bag, log.grinder, log.shots, tastings=only), "score:overall", bench=BENCH
    )
    assert fit.model == "sessions as blocks"


def test_blocks_or_a_mixed_model_can_be_asked_for() -> None:
    log = case("crossed tasters")
    assert fit_effects(log, "score:overall", bench=BENCH, model="blocks").model == (
        "sessions as blocks"
    )
    mixed = fit_effects(case("within sessions"), "ey_pct", bench=BENCH, model="mixed")
    assert mixed.model == "mixed model"
    assert "4 sessions" in mixed.why


def test_a_model_that_does_not_exist_is_refused() -> None:
    with pytest.raises(OutOfRangeError, match="model must be auto, blocks or mixed"):
        fit_effects(case("within sessions"), "ey_pct", bench=BENCH, model="best")


def test_tasters_who_each_own_a_session_leave_blocks_and_the_reason() -> None:
    log = case("crossed tasters")
    session = log.shots.set_index("shot")["session"]
    owned = log.tastings.drop_duplicates("shot")
    owned = owned.assign(taster="t" + owned["shot"].map(session))
    fit = fit_effects(
        ComparableSet(log.bag, log.grinder, log.shots, tastings=owned),
        "score:overall",
        bench=BENCH,
    )
    assert fit.model == "sessions as blocks"
    assert "A mixed model was not possible" in fit.why


def test_bags_together_are_compared_within_and_may_tilt_the_grind() -> None:
    first, second = case("within sessions", seed=1), case("within sessions", seed=2)
    other = second.shots.assign(
        bag="b", session="b" + second.shots["session"], shot="b" + second.shots["shot"]
    )
    shots = pd.concat([first.shots.assign(bag="a"), other], ignore_index=True)
    fit = fit_effects(
        ComparableSet("a and b", "mill", shots), "ey_pct", bench=BENCH, model="mixed"
    )
    assert "may differ by bag" in fit.why
    low, high = fit.effects.loc[
        fit.effects["term"] == "grind_setting", ["ci_low", "ci_high"]
    ].iloc[0]
    assert low < -0.4 < high


def test_spreads_say_where_a_log_shows_none() -> None:
    log = case("within sessions")
    level = log.shots["ey_pct"] - log.shots.groupby("session")["ey_pct"].transform("mean") + 19
    alike = ComparableSet("", "mill", log.shots.assign(ey_pct=level))
    found = spreads(find(alike, "ey_pct", bench=BENCH))
    assert found is not None
    assert found.is_beside
    assert any("No difference from session to session shows" in each for each in found.sentences)
    assert bool(found.table.set_index("group").loc["session", "at_zero"])


def test_spreads_need_groups() -> None:
    assert spreads(find(case("independent"), "ey_pct", bench=BENCH)) is None
