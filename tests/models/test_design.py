"""From columns to a design matrix."""

from __future__ import annotations

import builtins

import numpy as np
import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st

from yieldwright.errors import (
    AliasedColumnsError,
    OutOfRangeError,
    TooFewShotsError,
    UnknownNameError,
)
from yieldwright.models.contrasts.means import adjusted_means
from yieldwright.models.linear.model import fit_least_squares
from yieldwright.models.terms.design import INTERCEPT, Design, build_design
from yieldwright.models.terms.terms import Blocks, Factor, Numeric

HOSTILE = [
    "__import__('os').system('true')",
    "a:b",
    "a*b + C(c)",
    "",
    " ",
    "1",
    "Größe²",
    "粉\u202e",
    "<script>alert(1)</script>",
    "$^$",
    "=1+1",
    "x\ny",
    "Q('x')",
    INTERCEPT,
    "x" * 10_000,
]


def log() -> pd.DataFrame:
    return pd.DataFrame(
        {
            "grind": [8.0, 9.0, 12.0, 10.0, 8.0, 11.0],
            "band": ["low", "high", "medium", "low", "high", "medium"],
            "day": ["mon", "mon", "mon", "tue", "tue", "tue"],
        }
    )


def full_design() -> Design:
    bands = Factor("band", ("low", "medium", "high"))
    return build_design(log(), [Numeric("grind", power=2), bands, Blocks("day")])


def test_the_intercept_comes_first() -> None:
    design = full_design()
    assert design.columns[0] == INTERCEPT
    assert (design.matrix[:, 0] == 1).all()


def test_columns_are_named_after_their_source() -> None:
    assert full_design().columns[1:] == (
        "grind",
        "grind²",
        "band = medium",
        "band = high",
        "day = tue",
    )


def test_sources_are_headers() -> None:
    assert full_design().sources == (INTERCEPT, "grind", "grind", "band", "band", "day")


def test_a_number_runs_from_minus_one_to_one() -> None:
    coded = full_design().matrix[:, 1]
    assert (coded.min(), coded.max()) == (-1.0, 1.0)


def test_the_square_is_that_of_the_scaled_number() -> None:
    matrix = full_design().matrix
    assert (matrix[:, 2] == matrix[:, 1] ** 2).all()


def test_levels_other_than_the_reference_have_a_column() -> None:
    design = build_design(log(), [Factor("band", reference="medium")])
    assert design.columns[1:] == ("band = high", "band = low")
    assert design.matrix[:, 1].tolist() == [0, 1, 0, 0, 1, 0]


def test_rows_keep_their_index() -> None:
    frame = log().set_index(pd.Index(list("uvwxyz")))
    assert build_design(frame, [Numeric("grind")]).index.tolist() == list("uvwxyz")


def test_the_matrix_cannot_be_changed() -> None:
    with pytest.raises(ValueError, match="read-only"):
        full_design().matrix[0, 0] = 2.0


def test_the_table_is_not_changed() -> None:
    frame = log()
    build_design(frame, [Numeric("grind"), Factor("band"), Blocks("day")])
    pd.testing.assert_frame_equal(frame, log())


def test_no_term_leaves_the_intercept() -> None:
    assert build_design(log(), []).matrix.tolist() == [[1.0]] * 6


def test_a_settled_term_keeps_its_range_on_other_rows() -> None:
    settled = build_design(log(), [Numeric("grind")]).terms
    again = build_design(log().iloc[:2], settled)
    assert again.matrix[:, 1].tolist() == [-1.0, -0.5]


def test_flags_can_be_factors() -> None:
    frame = pd.DataFrame({"paper": pd.array([True, False, True], dtype="boolean")})
    assert build_design(frame, [Factor("paper")]).columns == (INTERCEPT, "paper = True")


@pytest.mark.parametrize("header", HOSTILE)
def test_hostile_headers_are_only_names(header: str, monkeypatch: pytest.MonkeyPatch) -> None:
    def never(*_: object) -> None:
        raise AssertionError("text was evaluated")

    rng = np.random.default_rng(1)
    frame = pd.DataFrame({header: rng.normal(size=12), "b\x00": list("xyz") * 4})
    monkeypatch.setattr(builtins, "eval", never)
    design = build_design(frame, [Numeric(header, power=2), Factor("b\x00")])
    fit = fit_least_squares(design, rng.normal(size=12))
    assert set(fit.term_vif) == {header, "b\x00"}
    assert len(adjusted_means(fit, "b\x00")) == 3


@given(headers=st.lists(st.text(max_size=20), min_size=2, max_size=2, unique=True))
def test_any_two_headers_give_the_same_numbers(headers: list[str]) -> None:
    frame = pd.DataFrame({"a": [1.0, 2.0, 4.0, 8.0], "b": list("xxyy")})
    renamed = frame.set_axis(headers, axis=1)
    plain = build_design(frame, [Numeric("a"), Factor("b")])
    hostile = build_design(renamed, [Numeric(headers[0]), Factor(headers[1])])
    assert (plain.matrix == hostile.matrix).all()


def test_hostile_levels_are_only_names() -> None:
    frame = pd.DataFrame({"bag": ["", "b:c", "<b>", "", "b:c", "<b>"]})
    assert build_design(frame, [Factor("bag")]).columns[1:] == ("bag = <b>", "bag = b:c")


def test_the_average_row_stands_at_means_and_equal_shares() -> None:
    row = full_design().row()
    mean = (log()["grind"].mean() - 10) / 2
    assert row.tolist() == pytest.approx([1.0, mean, mean**2, 1 / 3, 1 / 3, 1 / 2])


def test_a_stated_row_replaces_what_it_states() -> None:
    row = full_design().row({"grind": 12, "band": "high"})
    assert row.tolist() == pytest.approx([1.0, 1.0, 1.0, 0.0, 1.0, 1 / 2])


def test_a_row_at_an_unknown_level_is_refused() -> None:
    with pytest.raises(UnknownNameError, match="'band' has no level 'hihg'; did you mean 'high'"):
        full_design().row({"band": "hihg"})


@pytest.mark.parametrize("value", ["9", None, np.nan, np.inf])
def test_a_row_at_no_number_is_refused(value: object) -> None:
    with pytest.raises(OutOfRangeError, match="'grind' must be a finite number"):
        full_design().row({"grind": value})


def test_a_row_at_an_unknown_column_is_refused() -> None:
    with pytest.raises(UnknownNameError, match="no term was made from 'grnd'; did you mean"):
        full_design().row({"grnd": 9})


def test_an_unseen_level_is_an_error() -> None:
    with pytest.raises(UnknownNameError, match="'medium': 2 of 6 rows"):
        build_design(log(), [Factor("band", ("low", "high"))])


def test_a_level_without_rows_is_an_error() -> None:
    with pytest.raises(AliasedColumnsError, match="no row has 'band' at 'scorching'") as refusal:
        build_design(log(), [Factor("band", ("low", "medium", "high", "scorching"))])
    assert refusal.value.columns == ("band",)


@pytest.mark.parametrize("term", [Numeric("grind"), Factor("band"), Blocks("day")])
def test_a_gap_is_an_error_that_counts(term: Numeric | Factor | Blocks) -> None:
    frame = log()
    frame.loc[[1, 4], term.column] = None
    with pytest.raises(OutOfRangeError, match="2 of 6 rows"):
        build_design(frame, [term])


def test_gaps_in_flags_are_an_error() -> None:
    frame = pd.DataFrame({"paper": pd.array([True, None, False], dtype="boolean")})
    with pytest.raises(OutOfRangeError, match="'paper' must be there in every row"):
        build_design(frame, [Factor("paper")])


@pytest.mark.parametrize("term", [Numeric("grind"), Factor("band"), Blocks("day")])
def test_a_column_that_does_not_vary_is_refused_by_name(term: Numeric | Factor | Blocks) -> None:
    frame = log().iloc[[0, 0, 0]]
    with pytest.raises(AliasedColumnsError, match="a single value in all 3 rows") as refusal:
        build_design(frame, [term])
    assert refusal.value.columns == (term.column,)


def test_a_column_used_twice_is_refused() -> None:
    with pytest.raises(AliasedColumnsError, match="'grind' enters twice"):
        build_design(log(), [Numeric("grind"), Factor("grind")])


def test_an_empty_table_is_refused() -> None:
    with pytest.raises(TooFewShotsError, match="no rows"):
        build_design(log().iloc[:0], [Numeric("grind")])


@pytest.mark.parametrize("step", [0.0, np.nan, np.inf])
def test_a_step_that_is_none_is_refused(step: float) -> None:
    with pytest.raises(OutOfRangeError, match="step of 'grind' must be finite and not 0"):
        Numeric("grind", step=step)


@pytest.mark.parametrize("power", [0, 3])
def test_other_powers_are_refused(power: int) -> None:
    with pytest.raises(OutOfRangeError, match="must be 1 or 2"):
        Numeric("grind", power=power)


def test_a_reference_that_is_no_level_is_refused() -> None:
    with pytest.raises(UnknownNameError, match="no level 'hot' to refer to"):
        Factor("band", ("low", "high"), reference="hot")


def test_an_inferred_reference_is_checked_too() -> None:
    with pytest.raises(UnknownNameError, match="no level 'hot' to refer to"):
        build_design(log(), [Factor("band", reference="hot")])


def test_levels_named_twice_are_refused() -> None:
    with pytest.raises(OutOfRangeError, match="must differ"):
        Factor("band", ("low", "low"))


def test_a_range_is_known_only_to_a_design() -> None:
    with pytest.raises(TooFewShotsError, match="has no range yet"):
        _ = Numeric("grind").low
