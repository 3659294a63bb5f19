"""What a cumulative-link fit must do whatever the scores."""

from __future__ import annotations

from typing import Any

import numpy as np
import pandas as pd
import pytest
import statsmodels.api as sm
from hypothesis import given, settings
from hypothesis import strategies as st

from yieldwright.errors import (
    AliasedColumnsError,
    MisalignedError,
    OutOfRangeError,
    TooFewShotsError,
    UnknownNameError,
)
from yieldwright.models.ordinal.model import OrdinalFit, fit_ordinal
from yieldwright.models.terms.design import build_design
from yieldwright.models.terms.terms import Blocks, Factor, Numeric

#: Each example is one or two whole fits.
few = settings(max_examples=25)
seeds = st.integers(0, 10_000)
links = st.sampled_from(["logit", "probit"])


def log(seed: int, rows: int = 40, levels: int = 4) -> pd.DataFrame:
    """Return scores that lean on two columns, never separated by them."""
    rng = np.random.default_rng(seed)
    grind, age = rng.choice([8.0, 9.0, 10.0, 11.0], rows), rng.uniform(4, 30, rows)
    behind = 0.4 * grind + 0.03 * age + rng.logistic(size=rows)
    cuts = np.quantile(behind, np.arange(1, levels) / levels)
    frame = pd.DataFrame({"grind": grind, "age": age, "y": np.searchsorted(cuts, behind) + 1})
    return frame.assign(band=np.resize(["low", "high", "medium"], rows))


def fit(frame: pd.DataFrame, **options: Any) -> OrdinalFit:
    design = build_design(frame, [Numeric("grind"), Numeric("age")])
    return fit_ordinal(design, frame["y"], **options)


@few
@given(seed=seeds, shuffle=seeds, link=links)
def test_the_order_of_rows_does_not_matter(seed: int, shuffle: int, link: Any) -> None:
    frame = log(seed)
    before = fit(frame, link=link)
    after = fit(frame.sample(frac=1, random_state=shuffle), link=link)
    assert after.params == pytest.approx(before.params, rel=1e-9, abs=1e-10)
    assert after.std_error == pytest.approx(before.std_error, rel=1e-9)


@few
@given(seed=seeds, link=links)
def test_rows_counted_twice_are_rows_entered_twice(seed: int, link: Any) -> None:
    frame = log(seed)
    counts = np.random.default_rng(seed).integers(1, 4, len(frame))
    long = frame.loc[frame.index.repeat(counts)].reset_index(drop=True)
    short, full = fit(frame, weights=counts, link=link), fit(long, link=link)
    assert short.params == pytest.approx(full.params, rel=1e-9, abs=1e-10)
    assert short.std_error == pytest.approx(full.std_error, rel=1e-9)
    assert short.log_likelihood == pytest.approx(full.log_likelihood, rel=1e-12)
    assert short.n_rows == full.n_rows


@few
@given(seed=seeds, link=links)
def test_mirrored_scores_turn_the_signs(seed: int, link: Any) -> None:
    frame = log(seed)
    before, after = fit(frame, link=link), fit(frame.assign(y=-frame["y"]), link=link)
    assert after.params[3:] == pytest.approx(-before.params[3:], rel=1e-8, abs=1e-9)
    assert after.params[:3] == pytest.approx(-before.params[2::-1], rel=1e-8, abs=1e-9)
    assert after.log_likelihood == pytest.approx(before.log_likelihood, rel=1e-12)


@few
@given(seed=seeds, shift=st.floats(-1e3, 1e3), factor=st.floats(1e-2, 1e2))
def test_unit_and_origin_of_a_column_change_nothing_in_a_scaled_design(
    seed: int, shift: float, factor: float
) -> None:
    frame = log(seed)
    before, after = fit(frame), fit(frame.assign(grind=factor * frame["grind"] + shift))
    assert after.params == pytest.approx(before.params, rel=1e-7, abs=1e-8)


@few
@given(seed=seeds, shift=st.floats(-50, 50))
def test_shifting_a_column_shifts_only_the_thresholds(seed: int, shift: float) -> None:
    frame = log(seed)
    terms = [Numeric("grind", centre=0.0, half_range=1.0), Numeric("age")]
    before = fit_ordinal(build_design(frame, terms), frame["y"])
    moved = frame.assign(grind=frame["grind"] + shift)
    after = fit_ordinal(build_design(moved, terms), frame["y"])
    slope = before.params[3]
    assert after.params[3:] == pytest.approx(before.params[3:], rel=1e-7, abs=1e-8)
    assert after.params[:3] == pytest.approx(before.params[:3] + slope * shift, abs=1e-6)


@few
@given(seed=seeds)
def test_levels_may_carry_any_numbers_in_the_same_order(seed: int) -> None:
    frame = log(seed)
    before, after = fit(frame), fit(frame.assign(y=np.exp(frame["y"])))
    assert after.params.tolist() == before.params.tolist()


@few
@given(seed=seeds)
def test_two_levels_are_a_logistic_regression(seed: int) -> None:
    frame = log(seed, levels=2)
    found = fit(frame)
    other = sm.Logit(frame["y"].to_numpy() - 1, found.design.matrix).fit(disp=0, tol=1e-12)
    signs = np.array([-1.0, 1.0, 1.0])
    assert found.params == pytest.approx(signs * other.params, rel=1e-7, abs=1e-8)
    assert found.std_error == pytest.approx(other.bse, rel=1e-7)
    assert found.log_likelihood == pytest.approx(other.llf, rel=1e-11)


@few
@given(seed=seeds)
def test_two_levels_are_a_probit_regression(seed: int) -> None:
    frame = log(seed, levels=2)
    found = fit(frame, link="probit")
    other = sm.Probit(frame["y"].to_numpy() - 1, found.design.matrix).fit(disp=0, tol=1e-12)
    assert found.params == pytest.approx(other.params * [-1.0, 1.0, 1.0], rel=1e-7, abs=1e-8)
    assert found.log_likelihood == pytest.approx(other.llf, rel=1e-11)


@few
@given(seed=seeds, link=links)
def test_without_columns_the_shares_are_those_seen(seed: int, link: Any) -> None:
    frame = log(seed)
    found = fit_ordinal(build_design(frame, []), frame["y"], link=link)
    shares = frame["y"].value_counts(normalize=True).sort_index().to_numpy()
    at = found.posing.link.below(found.params)
    assert np.diff([0.0, *at, 1.0]) == pytest.approx(shares, rel=1e-9)


@few
@given(seed=seeds, link=links)
def test_the_gradient_vanishes_at_the_estimates(seed: int, link: Any) -> None:
    found = fit(log(seed), link=link)
    gradient, _ = found.posing.likelihood().bend(found.highest.params)
    assert gradient == pytest.approx(0, abs=1e-9)


@pytest.mark.parametrize("link", ["logit", "probit"])
def test_derivatives_are_those_of_the_likelihood(link: Any) -> None:
    found = fit(log(3), link=link)
    likelihood, at = found.posing.likelihood(), found.highest.params + 0.1
    steps = 1e-5 * np.eye(len(at))
    slopes = [(likelihood.value(at + h) - likelihood.value(at - h)) / 2e-5 for h in steps]
    bends = [(likelihood.bend(at + h)[0] - likelihood.bend(at - h)[0]) / 2e-5 for h in steps]
    gradient, information = likelihood.bend(at)
    assert gradient == pytest.approx(slopes, rel=1e-6, abs=1e-6)
    assert information == pytest.approx(-np.array(bends), rel=1e-6, abs=1e-6)


def test_a_known_truth_is_recovered() -> None:
    rng = np.random.default_rng(11)
    frame = pd.DataFrame({"x": rng.uniform(-1, 1, 20_000)})
    behind = 1.5 * frame["x"] + rng.logistic(size=len(frame))
    design = build_design(frame, [Numeric("x", centre=0.0, half_range=1.0)])
    found = fit_ordinal(design, behind.lt(-1).map({True: 1, False: 2}) + behind.gt(1))
    # Three standard errors of about 0.03.
    assert found.params == pytest.approx([-1.0, 1.0, 1.5], abs=0.09)


def test_a_level_without_rows_is_left_out_and_listed() -> None:
    frame = log(1)
    found = fit(frame, levels=(0, 1, 2, 3, 4, 5))
    assert found.unused_levels == (0, 5)
    assert found.params.tolist() == fit(frame).params.tolist()


def test_a_level_without_rows_in_the_middle_joins_its_neighbours() -> None:
    frame = log(1).assign(y=lambda table: table["y"].replace(2, 3))
    found = fit(frame, levels=(1, 2, 3, 4))
    assert found.names[:2] == ("1|3", "3|4")
    assert found.unused_levels == (2,)


def test_stated_levels_set_the_order_of_words() -> None:
    frame = log(2, levels=3)
    words = frame.assign(y=frame["y"].map({1: "poor", 2: "fair", 3: "good"}))
    found = fit(words, levels=("poor", "fair", "good"))
    assert found.params.tolist() == fit(frame).params.tolist()
    assert found.names[:2] == ("poor|fair", "fair|good")


def test_words_without_an_order_are_refused() -> None:
    words = log(2).assign(y=lambda table: table["y"].astype(str))
    with pytest.raises(OutOfRangeError, match="'y' holds str, whose order is not known"):
        fit(words)


def test_a_level_not_stated_is_refused_by_name() -> None:
    with pytest.raises(UnknownNameError, match="a level that was not stated, 4"):
        fit(log(2), levels=(1, 2, 3))


def test_levels_stated_twice_are_refused() -> None:
    with pytest.raises(OutOfRangeError, match="levels of 'y' must differ"):
        fit(log(2), levels=(1, 2, 2, 3, 4))


def test_one_level_is_refused() -> None:
    with pytest.raises(OutOfRangeError, match="'y' must vary; it is 7 in all 40 rows"):
        fit(log(2).assign(y=7))


def test_a_missing_level_is_refused_with_its_row() -> None:
    frame = log(2).astype({"y": float})
    frame.loc[5, "y"] = np.nan
    with pytest.raises(OutOfRangeError, match="1 of 40 rows does not, first at row 5"):
        fit(frame)


def test_too_few_rows_are_refused() -> None:
    frame = log(2).drop_duplicates("y").head(4)
    with pytest.raises(TooFewShotsError, match="4 rows cannot carry 3 thresholds and 2 slopes"):
        fit(frame)


def test_scores_that_are_all_different_are_refused() -> None:
    with pytest.raises(TooFewShotsError, match="join neighbouring levels"):
        fit(log(2).assign(y=np.arange(40.0)))


def test_a_copied_column_is_refused_by_name() -> None:
    frame = log(2).assign(copy=lambda table: table["grind"])
    design = build_design(frame, [Numeric("grind"), Numeric("copy")])
    with pytest.raises(AliasedColumnsError, match="'grind' and 'copy' cannot be told apart") as e:
        fit_ordinal(design, frame["y"])
    assert e.value.columns == ("grind", "copy")


def test_a_factor_that_follows_from_blocks_is_refused_by_name() -> None:
    frame = log(2).assign(day=lambda table: table["band"] + "-day")
    design = build_design(frame, [Factor("band"), Blocks("day")])
    with pytest.raises(AliasedColumnsError, match="'band' and 'day'"):
        fit_ordinal(design, frame["y"])


def test_a_response_of_other_rows_is_refused() -> None:
    frame = log(2)
    with pytest.raises(MisalignedError, match="carry different indexes"):
        fit_ordinal(build_design(frame, [Numeric("age")]), frame["y"].rename(lambda row: row + 1))


@pytest.mark.parametrize("wrong", [0.0, -1.0, np.nan, np.inf])
def test_a_weight_that_counts_nothing_is_refused(wrong: float) -> None:
    weights = np.ones(40)
    weights[3] = wrong
    with pytest.raises(
        OutOfRangeError, match=r"weights must be finite and above 0; 1 of 40.*row 3"
    ):
        fit(log(2), weights=weights)


def test_a_link_we_do_not_have_is_refused() -> None:
    with pytest.raises(OutOfRangeError, match="link must be 'logit' or 'probit', not 'cauchit'"):
        fit(log(2), link="cauchit")
