"""Average run lengths: published tables, reference engines, and each by a second method."""

from __future__ import annotations

import math
from pathlib import Path

import numpy as np
import pytest
from scipy import special

from tests.models.published import expected
from yieldwright.errors import OutOfRangeError, TooFewShotsError
from yieldwright.models.charts.cusum import accumulated
from yieldwright.models.charts.ewma import smoothed
from yieldwright.models.charts.false_alarms import Watchers, alarm_chances
from yieldwright.models.charts.run_lengths import (
    cusum_run_length,
    ewma_run_length,
    rules_alarm_chance,
    rules_run_length,
)
from yieldwright.models.charts.run_rules import (
    EIGHT_OUTSIDE_1S,
    EIGHT_SAME_SIDE,
    FIFTEEN_WITHIN_1S,
    FOUR_OF_FIVE_BEYOND_1S,
    ISO_7870,
    NINE_SAME_SIDE,
    ONE_BEYOND_3S,
    SEVEN_SAME_SIDE,
    TWO_OF_THREE_BEYOND_2S,
    WESTERN_ELECTRIC,
    Rule,
    met_by,
)

#: Champ and Woodall's numbering of the rules.
NUMBERED = {
    "1": ONE_BEYOND_3S,
    "2": TWO_OF_THREE_BEYOND_2S,
    "3": FOUR_OF_FIVE_BEYOND_1S,
    "4": EIGHT_SAME_SIDE,
}
SETS = ("C1", "C12", "C13", "C14", "C123", "C124", "C134", "C1234")
EWMAS = {
    "ewma_l.5_c3.071": (0.5, 3.071),
    "ewma_l.03_c2.437": (0.03, 2.437),
    "ewma_l.25_c3": (0.25, 3.0),
    "ewma_l.2_c2.962": (0.2, 2.962),
    "ewma_l.1_c2.814": (0.1, 2.814),
    "ewma_l.4_c3.054": (0.4, 3.054),
    "ewma_l.3_c3": (0.3, 3.0),
}


def rules_of(name: str) -> list[Rule]:
    return [NUMBERED[digit] for digit in name.removeprefix("C")]


@pytest.mark.parametrize("name", SETS)
def test_run_lengths_of_western_electric_rules(reference: Path, name: str) -> None:
    values = expected(reference, "spc_run_rules")
    found = [rules_run_length(rules_of(name), shift=shift) for shift in values["arl_shift"]]
    assert found == pytest.approx(values["arl"][name], rel=1e-8)
    # Champ and Woodall (1987), Technometrics 29, table 1, two decimals.
    printed = values["recalled"]["champ_woodall_1987_in_control"][name]
    assert found[0] == pytest.approx(printed, abs=0.005)


@pytest.mark.parametrize("name", EWMAS)
def test_run_lengths_of_averages_agree_with_the_reference_engine(
    reference: Path, name: str
) -> None:
    values = expected(reference, "spc_arl")
    found = [ewma_run_length(*EWMAS[name], shift=shift) for shift in values["mu"]]
    assert found == pytest.approx(values["spc_R"][name], rel=1e-8)


@pytest.mark.parametrize(
    ("name", "weight", "limit"),
    [
        ("Lucas_Saccucci_1990_table3_lambda0.5_L3.071", 0.5, 3.071),
        ("Lucas_Saccucci_1990_table3_lambda0.03_L2.437", 0.03, 2.437),
    ],
)
def test_run_lengths_of_averages_are_the_printed_ones(
    reference: Path, name: str, weight: float, limit: float
) -> None:
    # Three figures printed.
    printed = expected(reference, "spc_arl")["published"][name]
    found = [ewma_run_length(weight, limit, shift=shift) for shift in printed["mu"]]
    assert found == pytest.approx(printed["arl"], rel=0.005)


@pytest.mark.parametrize(
    ("name", "decision", "head_start", "two_sided"),
    [
        ("cusum_one_k.5_h4", 4.0, 0.0, False),
        ("cusum_two_k.5_h4", 4.0, 0.0, True),
        ("cusum_two_k.5_h4_fir", 4.0, 2.0, True),
        ("cusum_two_k.5_h5", 5.0, 0.0, True),
        ("cusum_two_k.5_h4.77", 4.77, 0.0, True),
    ],
)
def test_run_lengths_of_sums_agree_with_the_reference_engine(
    reference: Path, name: str, decision: float, head_start: float, two_sided: bool
) -> None:
    values = expected(reference, "spc_arl")
    found = [
        cusum_run_length(0.5, decision, shift=mu, head_start=head_start, two_sided=two_sided)
        for mu in values["mu"]
    ]
    assert found == pytest.approx(values["spc_R"][name], rel=1e-8)


def test_run_lengths_of_sums_are_the_printed_ones(reference: Path) -> None:
    # Lucas and Crosier (1982), table 1: three figures.
    published = expected(reference, "spc_arl")["published"]
    printed = published["Lucas_Crosier_1982_table1_two_sided_k0.5_h4"]
    for start, key in ((0.0, "arl"), (2.0, "arl_headstart_h2")):
        found = [cusum_run_length(0.5, 4, shift=mu, head_start=start) for mu in printed["mu"]]
        assert found == pytest.approx(printed[key], rel=0.005)


def test_one_sided_sums_without_allowance_are_the_printed_ones(reference: Path) -> None:
    # Vance (1986): two decimals; his program is off by 0.06 at most, as the engine's is.
    printed = expected(reference, "spc_arl")["published"]["Vance_1986_one_sided_k0_h10"]
    found = [cusum_run_length(0.0, 10.0, shift=mu, two_sided=False) for mu in printed["mu"]]
    assert found == pytest.approx(printed["arl"], rel=5e-4)


@pytest.mark.parametrize(
    ("start", "key"),
    [(0.0, "cusum_one_sided_k025_h8_mu25"), (0.1, "cusum_one_sided_headstart01")],
)
def test_one_sided_sums_with_a_head_start_are_the_printed_ones(
    reference: Path, start: float, key: str
) -> None:
    # The manual's own quadrature holds 7 digits; the reference engine's has 12.
    values = expected(reference, "spc_arl")
    found = cusum_run_length(0.25, 8, shift=2.5, head_start=start, two_sided=False)
    assert found == pytest.approx(values["published"]["SAS_QC_1999"][key], rel=5e-8)
    engine = "cusum_one_k.25_h8_mu2.5" + ("_hs.1" if start else "")
    assert found == pytest.approx(values["spc_R"][engine], rel=1e-12)


def test_sums_that_never_signal_run_for_ever() -> None:
    assert cusum_run_length(0.5, 5.0, shift=-40.0, two_sided=False) == math.inf
    assert cusum_run_length(0.5, 5.0, shift=40.0) == pytest.approx(1.0)


def brook_evans(moves: np.ndarray, start: int) -> float:
    return float(np.linalg.solve(np.eye(len(moves)) - moves, np.ones(len(moves)))[start])


def extrapolated(coarse: float, fine: float) -> float:
    """Return the limit of a sequence whose error falls with the square of its cells."""
    return (4 * fine - coarse) / 3


def ewma_chain(weight: float, limit: float, shift: float, cells: int) -> float:
    """Return the run length by a chain of cells, after Lucas and Saccucci (1990)."""
    reach = limit * math.sqrt(weight / (2 - weight))
    width = 2 * reach / cells
    middles = -reach + width * (np.arange(cells) + 0.5)
    edges = np.append(middles - width / 2, reach)
    below = special.ndtr((edges - (1 - weight) * middles[:, None]) / weight - shift)
    return brook_evans(np.diff(below), cells // 2)


def cusum_chain(allowance: float, decision: float, shift: float, cells: int) -> float:
    """Return the upper run length by a chain of cells, after Brook and Evans (1972)."""
    width = 2 * decision / (2 * cells - 1)
    places = width * np.arange(cells)
    upper = places + width / 2 - places[:, None] + allowance - shift
    below = np.column_stack([np.zeros(cells), special.ndtr(upper)])
    return brook_evans(np.diff(below), 0)


@pytest.mark.parametrize("shift", [0.0, 0.5, 1.0, 2.0])
def test_integral_and_chain_agree_on_averages(shift: float) -> None:
    chain = extrapolated(*(ewma_chain(0.2, 2.962, shift, cells) for cells in (201, 401)))
    assert ewma_run_length(0.2, 2.962, shift=shift) == pytest.approx(chain, rel=2e-6)


@pytest.mark.parametrize("shift", [0.0, 0.5, 1.0, 2.0])
def test_integral_and_chain_agree_on_sums(shift: float) -> None:
    chain = extrapolated(*(cusum_chain(0.5, 5.0, shift, cells) for cells in (150, 300)))
    found = cusum_run_length(0.5, 5.0, shift=shift, two_sided=False)
    assert found == pytest.approx(chain, rel=1e-6)


def first_alarms(flags: np.ndarray) -> np.ndarray:
    assert flags.any(axis=1).all()
    return flags.argmax(axis=1) + 1


@pytest.mark.parametrize(
    ("rules", "shift"),
    [
        (WESTERN_ELECTRIC, 0.5),
        ((ONE_BEYOND_3S, NINE_SAME_SIDE), 0.8),
        ((ONE_BEYOND_3S, SEVEN_SAME_SIDE), 0.5),
        ((EIGHT_OUTSIDE_1S, FIFTEEN_WITHIN_1S, ONE_BEYOND_3S), 1.5),
    ],
)
def test_chain_and_simulation_agree_on_rules(rules: tuple[Rule, ...], shift: float) -> None:
    z = shift + np.random.default_rng(8).standard_normal((4000, 700))
    flags = np.logical_or.reduce([met_by(rule, z) for rule in rules])
    lengths = first_alarms(flags)
    error = lengths.std() / math.sqrt(len(lengths))
    assert rules_run_length(rules, shift=shift) == pytest.approx(lengths.mean(), abs=4 * error)


def test_integral_and_simulation_agree_on_sums_and_averages() -> None:
    z = 0.5 + np.random.default_rng(9).standard_normal((4000, 600))
    reach = 2.962 * math.sqrt(0.2 / 1.8)
    sums = np.maximum(accumulated(z, 0.5), accumulated(-z, 0.5)) > 4.0
    for flags, found in (
        (sums, cusum_run_length(0.5, 4.0, shift=0.5)),
        (np.abs(smoothed(z, 0.2)) > reach, ewma_run_length(0.2, 2.962, shift=0.5)),
    ):
        lengths = first_alarms(flags)
        assert found == pytest.approx(lengths.mean(), abs=4 * lengths.std() / math.sqrt(4000))


def test_a_single_limit_has_the_run_length_of_its_tail(reference: Path) -> None:
    values = expected(reference, "spc_arl")
    for mu, known in zip(values["mu"], values["spc_R"]["shewhart"], strict=True):
        assert rules_run_length([ONE_BEYOND_3S], shift=mu) == pytest.approx(known, rel=1e-12)
        assert ewma_run_length(1.0, 3.0, shift=mu) == pytest.approx(known, rel=1e-12)


def test_the_chance_within_some_values_is_that_of_independent_ones() -> None:
    each = 2 * float(special.ndtr(-3.0))
    found = rules_alarm_chance([ONE_BEYOND_3S], 25)
    assert found == pytest.approx(1 - (1 - each) ** 25, rel=1e-12)


def test_the_chance_of_a_run_is_that_of_tossed_coins() -> None:
    # 7 or more alike among 8 tosses: 2 × (2 × 2 − 1) of 256 sequences.
    assert rules_alarm_chance([SEVEN_SAME_SIDE], 8) == pytest.approx(6 / 256, rel=1e-12)


def test_drawn_chances_with_known_limits_agree_with_the_chain() -> None:
    for rules in (WESTERN_ELECTRIC, (ONE_BEYOND_3S, NINE_SAME_SIDE)):
        drawn = alarm_chances(Watchers(rules), 30, rng=np.random.default_rng(2), known=True)
        assert drawn.of_any == pytest.approx(rules_alarm_chance(rules, 30), abs=4 * drawn.error)


def test_two_values_never_leave_limits_drawn_from_them() -> None:
    # Half their distance is 0.56 of a standard deviation estimated from it.
    chance = alarm_chances(Watchers(ISO_7870), 2, rng=np.random.default_rng(2))
    assert chance.of_any == 0.0


def test_limits_from_few_first_values_alarm_far_more_often_later() -> None:
    how = {"rng": np.random.default_rng(2), "draws": 4000}
    watchers = Watchers((ONE_BEYOND_3S,))
    assert (
        alarm_chances(watchers, 60, baseline=10, **how).of_any
        > alarm_chances(watchers, 60, known=True, **how).of_any + 0.1
    )


def test_adjusting_for_a_column_leaves_residuals_of_it() -> None:
    # Nine dummies take the mean out of nine pairs: each pair mirrors itself, and no run of
    # three on one side is left.
    pairs = np.repeat(np.eye(9), 2, axis=0)
    runs = Watchers((NINE_SAME_SIDE, SEVEN_SAME_SIDE))
    found = alarm_chances(runs, 18, rng=np.random.default_rng(4), matrix=pairs)
    assert found.of_any == 0.0
    plain = alarm_chances(runs, 18, rng=np.random.default_rng(4))
    assert plain.of_any > 0.02


def test_the_same_generator_gives_the_same_chances() -> None:
    watchers = Watchers(ISO_7870, weight=0.2, limit=2.962, decision=5.0)
    first, second = (alarm_chances(watchers, 20, rng=np.random.default_rng(1)) for _ in range(2))
    assert first == second


def test_rules_about_neighbours_have_no_chain() -> None:
    with pytest.raises(OutOfRangeError, match="seven_trend looks at neighbours"):
        rules_run_length(ISO_7870)
    with pytest.raises(OutOfRangeError, match="there is no rule"):
        rules_run_length([])


def test_impossible_charts_are_refused() -> None:
    with pytest.raises(OutOfRangeError, match="weight"):
        ewma_run_length(0.0, 3.0)
    with pytest.raises(OutOfRangeError, match="head start"):
        cusum_run_length(0.5, 4.0, head_start=4.0)
    with pytest.raises(TooFewShotsError, match="limits need 2 values"):
        alarm_chances(Watchers(ISO_7870), 1, rng=np.random.default_rng(1))
    with pytest.raises(OutOfRangeError, match="has 3 rows"):
        alarm_chances(Watchers(ISO_7870), 4, rng=np.random.default_rng(1), matrix=np.ones((3, 1)))
