"""Constants of control charts: ISO 7870-2:2013 table 2, printed and recomputed, and limits."""

from __future__ import annotations

import math
from pathlib import Path

import numpy as np
import pytest

from tests.models.published import agreeing_digits, data, expected
from yieldwright.errors import OutOfRangeError
from yieldwright.models.charts.constants import (
    D2_OF_PAIRS,
    D4_OF_PAIRS,
    MEDIAN_OF_PAIRS,
    chart_constants,
    mean_range,
    range_spread,
    spread_bias,
)

EXAMPLE = "spc_shewhart_constants"


@pytest.mark.parametrize("name", ["d2", "d3", "c4", "A2", "D3", "D4", "E2", "A3", "B3", "B4"])
def test_constants_agree_with_multiple_precision_to_ten_digits(reference: Path, name: str) -> None:
    # d2 by mpmath with 40 digits; d3 in the reference itself agrees to 12.
    table = data(reference, EXAMPLE)
    found = chart_constants(table["n"].to_numpy())
    assert agreeing_digits(found[name], table[name]) >= 10


@pytest.mark.parametrize("name", ["d2", "d3", "c4", "A2", "D3", "D4", "A3", "B3", "B4"])
def test_constants_round_to_the_printed_table(reference: Path, name: str) -> None:
    # 0.0006, not half a unit: the printed D4 at n = 4 was made from rounded d2 and d3.
    printed = expected(reference, EXAMPLE)["printed_table_3_decimals"]
    found = chart_constants(printed["n"])[name]
    assert np.abs(found - printed[name]).max() <= 0.0006


def test_the_median_distance_of_pairs_is_the_published_one(reference: Path) -> None:
    median = expected(reference, EXAMPLE)["median_moving_range_constant_n2"]
    assert pytest.approx(median, rel=1e-14) == MEDIAN_OF_PAIRS


def test_constants_of_pairs_are_the_closed_forms() -> None:
    # Mean and variance of |X − Y|, half normal: 2/√π and 2 − 4/π.
    assert mean_range(2)[0] == pytest.approx(D2_OF_PAIRS, rel=1e-12)
    assert range_spread(2)[0] == pytest.approx(math.sqrt(2 - 4 / math.pi), rel=1e-11)
    assert chart_constants(2)["D4"][0] == pytest.approx(D4_OF_PAIRS, rel=1e-11)


def test_the_range_of_three_has_its_closed_form() -> None:
    # Mean range of three normal values: 3/√π.
    assert mean_range(3)[0] == pytest.approx(3 / math.sqrt(math.pi), rel=1e-12)


def test_the_spread_of_large_samples_is_unbiased() -> None:
    # c4 = 1 − 1/(4n) − 7/(32n²) − …
    assert spread_bias(1000)[0] == pytest.approx(1 - 1 / 4000 - 7 / 32e6, abs=1e-9)


def test_ranges_of_large_samples_agree_with_simulation() -> None:
    rng = np.random.default_rng(3)
    ranges = np.ptp(rng.standard_normal((20_000, 100)), axis=1)
    assert mean_range(100)[0] == pytest.approx(ranges.mean(), abs=4 * ranges.std() / 141)
    assert range_spread(100)[0] == pytest.approx(ranges.std(), rel=0.02)


@pytest.mark.parametrize("sizes", [1, [2, 0], 2.5, [2, 1001]])
def test_sizes_that_are_none_are_refused(sizes: object) -> None:
    with pytest.raises(OutOfRangeError, match="whole numbers from 2 to 1,000"):
        chart_constants(sizes)  # type: ignore[arg-type]
