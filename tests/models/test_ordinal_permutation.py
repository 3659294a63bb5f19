"""The permutation test of the score statistic: exact where it says so."""

from __future__ import annotations

from itertools import permutations

import numpy as np
import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats

from yieldwright.errors import MisalignedError, TooFewShotsError
from yieldwright.models.ordinal.permutation import PermutationTest, permutation_test
from yieldwright.models.terms.design import build_design
from yieldwright.models.terms.terms import Factor, Numeric

few = settings(max_examples=20)
seeds = st.integers(0, 10_000)


def rng(seed: int = 0) -> np.random.Generator:
    return np.random.default_rng(seed)


def judged(frame: pd.DataFrame, column: str = "x", **options: object) -> PermutationTest:
    """Return the test of one column, adjusted for none."""
    term = Numeric(column) if frame[column].dtype.kind in "if" else Factor(column)
    options.setdefault("rng", rng())
    return permutation_test(build_design(frame, [term]), frame["y"], column, **options)


@few
@given(seed=seeds)
def test_two_groups_without_ties_are_the_exact_rank_sum_test(seed: int) -> None:
    scores = rng(seed).permutation(10)
    frame = pd.DataFrame({"x": list("aaaaabbbbb"), "y": scores})
    other = stats.mannwhitneyu(scores[:5], scores[5:], method="exact").pvalue
    found = judged(frame)
    assert found.p_value == pytest.approx(other, abs=1e-12)
    assert (found.n_arrangements, found.n_drawn) == (252, 0)


@few
@given(seed=seeds)
def test_ties_are_handled_as_an_exact_permutation_of_mid_ranks(seed: int) -> None:
    scores = rng(seed).integers(1, 4, 9)
    scores[:2] = [1, 3]
    frame = pd.DataFrame({"x": list("aaaabbbbb"), "y": scores})
    ranks = stats.rankdata(scores)

    def distance(first: np.ndarray, axis: int) -> np.ndarray:
        return abs(first.sum(axis=axis) - 4 * ranks.mean())

    other = stats.permutation_test(
        (ranks[:4], ranks[4:]),
        lambda first, _, axis: np.round(distance(first, axis), 9),
        n_resamples=np.inf,
        alternative="greater",
        vectorized=True,
    )
    assert judged(frame).p_value == pytest.approx(other.pvalue, abs=1e-12)


def test_the_smallest_p_of_three_against_three_is_a_tenth() -> None:
    found = judged(pd.DataFrame({"x": list("aaabbb"), "y": [1, 1, 1, 2, 2, 2]}))
    assert (found.n_arrangements, found.p_value, found.smallest_p) == (20, 0.1, 0.1)
    assert not found.can_tell


def test_blocks_multiply_their_arrangements() -> None:
    frame = pd.DataFrame({"x": list("aabb") * 2, "y": [1, 1, 2, 2] * 2, "day": list("mmmmtttt")})
    found = judged(frame, blocks=frame["day"])
    assert found.n_arrangements == 36
    assert found.p_value == pytest.approx(2 / 36)
    assert found.can_tell is False


def test_a_shift_between_blocks_is_no_effect() -> None:
    # Day t has both the coarser grinds and the higher scores; within days nothing goes together.
    frame = pd.DataFrame(
        {"x": [1.0, 1, 2, 2, 3, 3, 4, 4], "y": [1, 2, 1, 2, 4, 5, 4, 5], "day": list("mmmmtttt")}
    )
    assert judged(frame, blocks=frame["day"]).p_value == 1.0
    assert judged(frame).p_value < 0.05


def test_a_block_without_change_adds_nothing() -> None:
    frame = pd.DataFrame({"x": list("aabb"), "y": [1, 2, 2, 3], "day": "m"})
    still = pd.DataFrame({"x": list("aaa"), "y": [1, 2, 3], "day": "t"})
    both = pd.concat([frame, still], ignore_index=True)
    found = judged(both, blocks=both["day"])
    assert found.n_arrangements == judged(frame, blocks=frame["day"]).n_arrangements


def test_it_is_exact_over_all_arrangements() -> None:
    # Whatever the level, no more than that share of equally likely logs falls below it.
    scores = sorted(set(permutations([1, 1, 2, 2, 3, 4])))
    frames = (pd.DataFrame({"x": [1.0, 2, 3, 4, 4, 6], "y": list(each)}) for each in scores)
    found = np.array([judged(frame).p_value for frame in frames])
    for level in np.unique(found):
        assert np.mean(found <= level + 1e-12) <= level + 1e-12


def test_drawn_arrangements_come_near_the_exact_test() -> None:
    # 12 against 12 rows have 2.7 million arrangements; without ties their test is the rank
    # sum's, whose distribution scipy knows. Three standard errors of 9,999 draws are 0.013.
    scores = rng(2).permutation(24) + np.repeat([0, 60], 12) // 12
    scores = stats.rankdata(scores, method="ordinal")
    found = judged(pd.DataFrame({"x": np.repeat(["a", "b"], 12), "y": scores}))
    other = stats.mannwhitneyu(scores[:12], scores[12:], method="exact").pvalue
    assert (found.n_arrangements, found.n_drawn) == (2_704_156, 9_999)
    assert found.p_value == pytest.approx(other, abs=0.013)


def test_whichever_has_fewer_arrangements_is_exchanged() -> None:
    frame = pd.DataFrame({"x": np.repeat([0.0, 1.0], 4), "y": np.arange(8)})
    ranked = frame.assign(x=np.arange(8.0), y=np.repeat([1, 2, 3, 4], 2))
    assert judged(frame).n_arrangements == 70
    assert judged(ranked).n_arrangements == 2_520


def test_a_drawn_p_value_is_never_zero() -> None:
    frame = pd.DataFrame({"x": np.arange(20.0), "y": np.repeat([1, 2, 3, 4], 5)})
    found = judged(frame, draws=999)
    assert found.p_value == pytest.approx(1 / 1000)


def test_the_same_generator_gives_the_same_p_value() -> None:
    frame = pd.DataFrame({"x": np.arange(20.0), "y": rng(4).integers(1, 6, 20)})
    assert judged(frame, rng=rng(7)) == judged(frame, rng=rng(7))


@few
@given(seed=seeds)
def test_mirrored_scores_turn_only_the_sign(seed: int) -> None:
    frame = pd.DataFrame({"x": rng(seed).normal(size=7), "y": [1, 2, 2, 3, 3, 3, 4]})
    one, other = judged(frame), judged(frame.assign(y=-frame["y"]))
    assert other.statistic == pytest.approx(-one.statistic, rel=1e-9)
    assert other.p_value == one.p_value


@few
@given(seed=seeds)
def test_the_reference_level_of_a_factor_does_not_matter(seed: int) -> None:
    frame = pd.DataFrame({"x": list("aabbcc"), "y": rng(seed).permutation([1, 1, 2, 2, 3, 4])})
    found = [
        permutation_test(
            build_design(frame, [Factor("x", reference=level)]), frame["y"], "x", rng=rng()
        )
        for level in "abc"
    ]
    assert found[1].statistic == pytest.approx(found[0].statistic, rel=1e-9)
    assert [each.p_value for each in found] == pytest.approx([found[0].p_value] * 3)


def test_the_test_of_three_groups_is_that_of_kruskal_and_wallis() -> None:
    # The squared length is H of the mid-ranks; Kruskal and Wallis (1952).
    scores = [1, 2, 1, 2, 2, 3, 3, 2, 3, 4, 3, 4]
    frame = pd.DataFrame({"x": list("aaaabbbbcccc"), "y": scores})
    other = stats.kruskal(scores[:4], scores[4:8], scores[8:]).statistic
    assert judged(frame).statistic == pytest.approx(other, rel=1e-10)


def test_false_alarms_stay_at_their_level_when_adjusted() -> None:
    # 400 logs of 16 rows, no effect of x, a strong one of a column x leans on.
    alarms = 0
    for seed in range(400):
        draw = rng(seed)
        z = draw.normal(size=16)
        x = 0.6 * z + draw.normal(size=16)
        y = np.digitize(1.5 * z + draw.logistic(size=16), [-1.5, 0.0, 1.5])
        design = build_design(pd.DataFrame({"x": x, "z": z}), [Numeric("x"), Numeric("z")])
        found = permutation_test(design, pd.Series(y, name="y"), "x", rng=draw, draws=399)
        alarms += found.p_value <= 0.05
    assert found.n_adjusted == 1
    assert alarms / 400 < 0.05 + 4 * (0.05 * 0.95 / 400) ** 0.5


def test_a_column_that_never_changes_within_a_block_is_refused() -> None:
    frame = pd.DataFrame({"x": list("aabb"), "y": [1, 2, 2, 3], "day": list("mmtt")})
    with pytest.raises(TooFewShotsError, match="'x' and the scores never both change within"):
        judged(frame, blocks=frame["day"])


def test_blocks_of_other_rows_are_refused() -> None:
    frame = pd.DataFrame({"x": list("aabb"), "y": [1, 2, 2, 3]})
    with pytest.raises(MisalignedError, match="carry different indexes"):
        judged(frame, blocks=pd.Series(["m"] * 3))
