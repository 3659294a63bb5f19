"""What a mixed model refuses, by name and with the remedy."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest

from yieldwright.errors import (
    AliasedColumnsError,
    MisalignedError,
    OutOfRangeError,
    TooFewShotsError,
    UnknownNameError,
)
from yieldwright.models.mixed.contrasts import (
    mixed_coefficients,
    mixed_contrast,
    mixed_test,
    satterthwaite_df,
)
from yieldwright.models.mixed.groups import grouping
from yieldwright.models.mixed.model import MixedFit, fit_mixed
from yieldwright.models.mixed.variances import variance_table
from yieldwright.models.terms.design import build_design
from yieldwright.models.terms.terms import Factor, Numeric


def scores(n: int = 24) -> pd.DataFrame:
    rng = np.random.default_rng(7)
    return pd.DataFrame(
        {
            "session": np.repeat(np.arange(n // 4), 4),
            "taster": np.tile(list("abcd"), n // 4),
            "band": np.repeat(["low", "high", "medium"], n // 3),
            "grind": rng.uniform(8, 14, n),
            "score": rng.normal(6, 1, n) + np.repeat(rng.normal(size=n // 4), 4),
        }
    )


def plain(frame: pd.DataFrame, *columns: str, method: str = "reml") -> MixedFit:
    matrix = np.column_stack([np.ones(len(frame)), frame["grind"]])
    groups = [grouping(frame, column) for column in columns]
    return fit_mixed(matrix, frame["score"], groups, method=method)


def test_a_single_group() -> None:
    frame = scores().assign(session=1)
    with pytest.raises(TooFewShotsError, match="'session' holds a single group in all 24 rows"):
        grouping(frame, "session")


def test_a_group_for_each_row() -> None:
    frame = scores().assign(shot=np.arange(24))
    with pytest.raises(AliasedColumnsError, match="each of the 24 rows is a group") as refusal:
        grouping(frame, "shot")
    assert refusal.value.columns == ("shot",)


def test_nested_groups_that_are_single_rows() -> None:
    with pytest.raises(AliasedColumnsError, match="'session:taster'"):
        grouping(scores(), "session", "taster")


def test_a_missing_label() -> None:
    frame = scores().assign(session=lambda f: f["session"].astype(float).where(f.index != 5))
    with pytest.raises(OutOfRangeError, match="1 of 24 rows does not, first at row 5"):
        grouping(frame, "session")


def test_a_missing_number_of_the_slope() -> None:
    frame = scores().assign(grind=lambda f: f["grind"].where(f.index != 3))
    with pytest.raises(OutOfRangeError, match="'grind' must hold a finite value"):
        grouping(frame, "session", slope="grind")


def test_a_slope_that_does_not_vary() -> None:
    with pytest.raises(AliasedColumnsError, match="no group can tilt along it"):
        grouping(scores().assign(grind=9.0), "session", slope="grind")


def test_an_unknown_column() -> None:
    with pytest.raises(UnknownNameError, match="did you mean 'taster'"):
        grouping(scores(), "tastre")


def test_no_column_of_labels() -> None:
    with pytest.raises(OutOfRangeError, match="none was named"):
        grouping(scores())


def test_no_groups() -> None:
    with pytest.raises(TooFewShotsError, match="fit_least_squares is the model"):
        plain(scores())


def test_one_grouping_twice() -> None:
    with pytest.raises(AliasedColumnsError, match="'session' enters twice"):
        plain(scores(), "session", "session")


def test_one_grouping_under_two_names() -> None:
    frame = scores().assign(day=lambda f: "day " + f["session"].astype(str))
    with pytest.raises(AliasedColumnsError, match="cannot be told apart") as refusal:
        plain(frame, "session", "day")
    assert set(refusal.value.columns) == {"session", "day"}


def test_groups_that_the_design_tells_apart() -> None:
    frame = scores()
    design = build_design(frame, [Factor("band")])
    with pytest.raises(AliasedColumnsError, match="the design already tells all groups"):
        fit_mixed(design, frame["score"], [grouping(frame, "band")])


def test_groups_inside_a_factor_of_the_design() -> None:
    frame = scores().assign(bag=lambda f: f["band"].where(f["band"] != "low", "high"))
    design = build_design(frame, [Factor("band")])
    with pytest.raises(AliasedColumnsError, match="'bag'"):
        fit_mixed(design, frame["score"], [grouping(frame, "bag")])


def test_columns_of_the_design_that_stand_for_one_another() -> None:
    frame = scores().assign(age=lambda f: 3 * f["grind"] + 1)
    design = build_design(frame, [Numeric("grind"), Numeric("age")])
    with pytest.raises(AliasedColumnsError, match="'grind' and 'age' cannot be told apart"):
        fit_mixed(design, frame["score"], [grouping(frame, "session")])


def test_a_response_that_does_not_vary() -> None:
    with pytest.raises(OutOfRangeError, match="the response must vary; it is 7 in all 24 rows"):
        plain(scores().assign(score=7.0), "session")


def test_a_missing_response() -> None:
    frame = scores().assign(score=lambda f: f["score"].where(f.index != 2))
    with pytest.raises(OutOfRangeError, match="1 of 24 rows are not, first row 2"):
        plain(frame, "session")


def test_a_response_that_the_design_meets_exactly() -> None:
    frame = scores().assign(score=lambda f: 2 + 3 * f["grind"])
    with pytest.raises(OutOfRangeError, match="the design meets every response exactly"):
        plain(frame, "session")


@pytest.mark.parametrize("method", ["reml", "ml"])
def test_rows_of_a_group_that_are_alike(method: str) -> None:
    frame = scores().assign(score=lambda f: 1.0 * (f["session"] % 4) ** 2)
    with pytest.raises(OutOfRangeError, match="'session' leave no spread of rows"):
        fit_mixed(np.ones((24, 1)), frame["score"], [grouping(frame, "session")], method=method)


def test_doubled_rows_among_groups_of_single_shots() -> None:
    frame = scores().assign(shot=np.arange(24))
    doubled = pd.concat([frame, frame], ignore_index=True)
    with pytest.raises(OutOfRangeError, match="'shot' leave no spread of rows"):
        plain(doubled, "session", "shot")


def test_fewer_rows_than_coefficients() -> None:
    frame = scores().head(2).assign(session=[0, 0])
    matrix = np.column_stack([np.ones(2), frame["grind"]])
    with pytest.raises(TooFewShotsError, match="2 rows cannot carry 2 coefficients"):
        fit_mixed(matrix, frame["score"], [])


def test_groups_of_another_table() -> None:
    frame = scores()
    with pytest.raises(MisalignedError, match="cover 20 rows, the design 24"):
        fit_mixed(np.ones((24, 1)), frame["score"], [grouping(frame.head(20), "session")])


def test_groups_of_rows_in_another_order() -> None:
    frame = scores()
    design = build_design(frame, [Numeric("grind")])
    with pytest.raises(MisalignedError, match="carry different indexes"):
        fit_mixed(design, frame["score"], [grouping(frame.iloc[::-1], "session")])


def test_an_unknown_method() -> None:
    with pytest.raises(OutOfRangeError, match="method must be 'reml' or 'ml', not 'lm'"):
        plain(scores(), "session", method="lm")


def test_kenward_and_roger_of_a_fit_by_plain_likelihood() -> None:
    fit = plain(scores(), "session", method="ml")
    with pytest.raises(OutOfRangeError, match="fit again with method='reml'"):
        mixed_coefficients(fit, df="kenward_roger")


def test_a_coefficient_that_is_not_there() -> None:
    with pytest.raises(UnknownNameError, match="no coefficient is called 'grind'"):
        mixed_contrast(plain(scores(), "session"), {"grind": 1.0})


def test_weights_of_another_length() -> None:
    with pytest.raises(MisalignedError, match="3 weights for 2 coefficients"):
        satterthwaite_df(plain(scores(), "session"), [1.0, 0.0, 0.0])


def test_contrasts_that_follow_from_one_another() -> None:
    with pytest.raises(AliasedColumnsError, match="the 2 contrasts tested at once"):
        mixed_test(plain(scores(), "session"), [[0.0, 1.0], [0.0, -2.0]])


def test_no_contrast() -> None:
    with pytest.raises(OutOfRangeError, match="at least one contrast"):
        mixed_test(plain(scores(), "session"), [])


@pytest.mark.parametrize("level", [0.0, 1.0, 95.0])
def test_a_level_that_is_none(level: float) -> None:
    with pytest.raises(OutOfRangeError, match="a confidence level must lie between 0 and 1"):
        variance_table(plain(scores(), "session"), level=level)
