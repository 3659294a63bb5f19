"""Resampling in one pass, against R boot, closed forms, refits one by one, and known truth."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from tests.models.published import data, expected
from yieldwright.errors import MisalignedError, OutOfRangeError, RoleError, TooFewShotsError
from yieldwright.models.linear.bootstrap import bootstrap
from yieldwright.models.linear.model import LinearFit, fit_least_squares
from yieldwright.models.linear.resampled import BootstrapInterval, Function, in_portions
from yieldwright.models.terms.design import build_design
from yieldwright.models.terms.terms import Factor, Numeric, Term

#: Monte Carlo standard errors within which two resamplings must agree.
CLOSE = 4


def fitted(frame: pd.DataFrame, *terms: Term) -> LinearFit:
    return fit_least_squares(build_design(frame, list(terms)), frame["y"])


def log(rows: int = 24, seed: int = 1) -> pd.DataFrame:
    rng = np.random.default_rng(seed)
    grind = rng.integers(8, 13, rows).astype(float)
    spread = 0.3 + 0.2 * (grind - 8)
    return pd.DataFrame(
        {
            "grind": grind,
            "band": rng.choice(["low", "high"], rows),
            "day": np.arange(rows) // 4,
            "y": 20 - 0.5 * grind + rng.normal(size=rows) * spread,
        }
    )


def second(rows: np.ndarray) -> np.ndarray:
    return rows[:, 1]


def draws_of(fit: LinearFit, seed: int = 5, **options: object) -> np.ndarray:
    return bootstrap(fit, rng=np.random.default_rng(seed), **options).draws  # type: ignore[arg-type]


def curve_of(frame: pd.DataFrame) -> tuple[LinearFit, Function]:
    """Return the fit of a curve in x, and where it turns."""
    fit = fitted(frame, Numeric("x", power=2))
    assert fit.design is not None
    term = fit.design.term("x")
    assert isinstance(term, Numeric)
    middle, reach = term.middle, term.reach
    return fit, lambda rows: middle - reach * rows[:, 1] / (2 * rows[:, 2])


@pytest.mark.parametrize(("name", "response"), [("temp", "Temp"), ("ozone", "Ozone")])
@pytest.mark.parametrize(("kind", "key"), [("percentile", "perc"), ("bca", "bca")])
def test_the_turn_of_a_curve_agrees_with_r_boot(
    reference: Path, name: str, response: str, kind: str, key: str
) -> None:
    # R 4.2.2, boot 1.3-28.1: 20,000 case resamples, with their Monte Carlo errors.
    table = data(reference, "vertex_ci_quadratic")
    frame = pd.DataFrame({"x": table["t"], "y": table[response]}).dropna().reset_index(drop=True)
    printed = expected(reference, "vertex_ci_quadratic")[name]
    fit, turn = curve_of(frame)
    drawn = bootstrap(fit, rng=np.random.default_rng(20), scheme="case", times=20_000)
    found = drawn.interval(turn, kind=kind)  # type: ignore[arg-type]
    theirs = printed["boot_case"]
    assert found.estimate == pytest.approx(printed["vertex"], rel=1e-10)
    assert found.std_error == pytest.approx(theirs["se"], rel=CLOSE * 0.02)
    for ours, mine, limit, other in zip(
        (found.low, found.high),
        (found.mc_low, found.mc_high),
        theirs[key],
        theirs["mc_se_of_perc_limits"],
        strict=True,
    ):
        assert ours == pytest.approx(limit, abs=CLOSE * np.hypot(mine, other))


def test_monte_carlo_errors_are_those_r_found(reference: Path) -> None:
    table = data(reference, "vertex_ci_quadratic")
    fit, turn = curve_of(pd.DataFrame({"x": table["t"], "y": table["Temp"]}))
    theirs = expected(reference, "vertex_ci_quadratic")["temp"]["boot_case"]
    drawn = bootstrap(fit, rng=np.random.default_rng(2), scheme="case", times=20_000)
    found = drawn.interval(turn)
    assert [found.mc_low, found.mc_high] == pytest.approx(theirs["mc_se_of_perc_limits"], rel=0.25)


def test_a_resampled_case_is_a_fit_of_rows_drawn_again() -> None:
    frame = log()
    fit = fitted(frame, Numeric("grind"), Factor("band"))
    assert fit.design is not None
    drawn = draws_of(fit, scheme="case", times=6)
    places = np.random.default_rng(5).integers(0, 24, (6, 24))
    for row, each in zip(drawn, places, strict=True):
        anew = fit_least_squares(fit.design.matrix[each], frame["y"].to_numpy()[each])
        assert row == pytest.approx(anew.params, rel=1e-9)


def test_weighted_residuals_spread_as_hc3_says() -> None:
    fit = fitted(log(), Numeric("grind"), Factor("band"))
    drawn = draws_of(fit, scheme="wild", times=40_000)
    assert drawn.mean(axis=0) == pytest.approx(fit.params, abs=CLOSE * 0.005)
    assert drawn.std(axis=0) == pytest.approx(fit.hc3_std_error, rel=CLOSE / np.sqrt(2 * 40_000))


def test_weighted_groups_spread_as_clubsandwich_says(reference: Path) -> None:
    # R clubSandwich 0.5.8, type CR3, of 50 chicks: the errors that do not depend on where
    # time is 0.
    frame = data(reference, "ols_cluster_small_sample").astype({"Diet": str})
    frame["y"] = frame["weight"]
    printed = expected(reference, "ols_cluster_small_sample")["chickweight"]["CR3"]["se"]
    fit = fitted(frame, Numeric("Time"), Factor("Diet", ("1", "2", "3", "4")))
    drawn = draws_of(fit, scheme="wild", groups=frame["Chick"], times=20_000)
    names = ["Diet2", "Diet3", "Diet4"]
    assert drawn.std(axis=0)[2:] == pytest.approx(
        [printed[name] for name in names], rel=CLOSE / np.sqrt(2 * 20_000)
    )


def test_residuals_of_equal_leverage_spread_as_the_fit_says() -> None:
    rng = np.random.default_rng(8)
    frame = pd.DataFrame({"band": ["low", "high"] * 10, "y": rng.normal(size=20)})
    fit = fitted(frame, Factor("band", ("low", "high")))
    drawn = draws_of(fit, times=40_000)
    assert drawn.std(axis=0) == pytest.approx(fit.std_error, rel=CLOSE / np.sqrt(2 * 40_000))


def test_the_same_seed_gives_the_same_draws() -> None:
    fit = fitted(log(), Numeric("grind"))
    for options in ({}, {"scheme": "case"}, {"scheme": "wild"}):
        first, again, other = (draws_of(fit, seed, **options) for seed in (3, 3, 4))
        assert (first == again).all()
        assert not np.isclose(first, other).all()


@pytest.mark.parametrize("scheme", ["residual", "case"])
def test_percentile_intervals_cover_a_known_slope(scheme: str) -> None:
    """300 logs of 24 rows, 500 refits each; four binomial standard errors about 95 %."""
    frame, rng = log(), np.random.default_rng(15)
    design = build_design(frame, [Numeric("grind")])
    covered = 0
    for _ in range(300):
        fit = fit_least_squares(design, design.matrix @ [20, 1.5] + rng.normal(size=24))
        drawn = bootstrap(fit, rng=rng, scheme=scheme, times=500)  # type: ignore[arg-type]
        found = drawn.interval(second)
        covered += found.low <= 1.5 <= found.high
    assert covered / 300 == pytest.approx(0.95, abs=4 * np.sqrt(0.95 * 0.05 / 300))


def test_a_monotone_function_moves_its_limits_along() -> None:
    fit = fitted(log(), Numeric("grind"))
    drawn = bootstrap(fit, rng=np.random.default_rng(1), scheme="case", times=999)
    plain = drawn.interval(lambda rows: rows[:, 0])
    moved = drawn.interval(lambda rows: np.exp(rows[:, 0] / 10))
    assert np.log([moved.low, moved.high]) * 10 == pytest.approx([plain.low, plain.high], rel=1e-3)


def test_limits_beyond_all_draws_are_unbounded() -> None:
    fit = fitted(log(), Numeric("grind"))
    found = bootstrap(fit, rng=np.random.default_rng(1), times=100).interval(second, level=0.999)
    assert (found.low, found.high) == (-np.inf, np.inf)
    assert np.isnan([found.mc_low, found.mc_high]).all()


def test_portions_add_up() -> None:
    assert sum(in_portions(2_000, 3_000)) == 2_000
    assert list(in_portions(10, 24)) == [10]


def test_many_rows_are_drawn_in_portions_and_agree_with_the_fit() -> None:
    frame = log(3_000)
    fit = fitted(frame, Numeric("grind"))
    drawn = draws_of(fit, times=2_000)
    assert drawn.shape == (2_000, 2)
    assert drawn.std(axis=0) == pytest.approx(fit.std_error, rel=CLOSE / np.sqrt(2 * 2_000))


@pytest.mark.parametrize(
    ("rows", "options"),
    [
        (7, {"scheme": "case"}),
        (7, {"scheme": "residual"}),
        (4, {"scheme": "wild"}),
        (16, {"scheme": "wild", "groups": np.arange(16) // 4}),
        (24, {"scheme": "case", "groups": np.arange(24) // 4}),
    ],
)
def test_too_few_rows_or_groups_are_refused(rows: int, options: dict[str, object]) -> None:
    fit = fitted(log(rows, seed=9), Numeric("grind"))
    with pytest.raises(TooFewShotsError, match="different resamples, fewer than the 2,000"):
        bootstrap(fit, rng=np.random.default_rng(1), **options)  # type: ignore[arg-type]


def test_a_level_of_one_row_cannot_be_drawn_by_cases() -> None:
    frame = log()
    frame["band"] = np.where(frame.index == 3, "high", "low")
    fit = fitted(frame, Numeric("grind"), Factor("band", ("low", "high")))
    with pytest.raises(TooFewShotsError, match="lost a level"):
        bootstrap(fit, rng=np.random.default_rng(1), scheme="case")


def test_resamples_that_cannot_be_fitted_are_counted() -> None:
    frame = log()
    frame["band"] = np.where(frame.index < 4, "high", "low")
    fit = fitted(frame, Factor("band", ("low", "high")))
    drawn = bootstrap(fit, rng=np.random.default_rng(1), scheme="case", times=20_000)
    # None of four in 24 rows drawn: (20/24)^24 of the resamples.
    share = (20 / 24) ** 24
    spread = np.sqrt(share * 20_000)
    assert drawn.n_unsolved == pytest.approx(share * 20_000, abs=CLOSE * spread)
    assert len(drawn.draws) == 20_000 - drawn.n_unsolved


@pytest.mark.parametrize(
    ("options", "message"),
    [
        ({"scheme": "none"}, "'residual', 'case' or 'wild'"),
        ({"groups": np.arange(24) // 2}, "one by one"),
        ({"times": 0}, "at least one refit"),
    ],
)
def test_what_cannot_be_done_is_refused(options: dict[str, object], message: str) -> None:
    fit = fitted(log(), Numeric("grind"))
    with pytest.raises(OutOfRangeError, match=message):
        bootstrap(fit, rng=np.random.default_rng(1), **options)  # type: ignore[arg-type]


def test_functions_without_one_number_a_row_are_refused() -> None:
    drawn = bootstrap(fitted(log(), Numeric("grind")), rng=np.random.default_rng(1))
    with pytest.raises(MisalignedError, match="one for each"):
        drawn.interval(lambda rows: rows)
    with pytest.raises(OutOfRangeError, match="no number for"):
        drawn.interval(lambda rows: np.log(rows[:, 1]))
    with pytest.raises(OutOfRangeError, match="level"):
        drawn.interval(second, level=1.0)
    with pytest.raises(OutOfRangeError, match="'percentile' or 'bca'"):
        drawn.interval(second, kind="basic")  # type: ignore[arg-type]


def test_a_plain_matrix_is_refused() -> None:
    matrix = np.column_stack([np.ones(9), np.arange(9.0)])
    fit = fit_least_squares(matrix, np.arange(9.0) ** 2)
    with pytest.raises(RoleError, match="plain matrix"):
        bootstrap(fit, rng=np.random.default_rng(1))


def test_an_interval_is_told_by_name() -> None:
    drawn = bootstrap(fitted(log(), Numeric("grind")), rng=np.random.default_rng(1))
    found = drawn.interval(second, kind="bca")
    assert isinstance(found, BootstrapInterval)
    assert found.low < found.estimate < found.high
