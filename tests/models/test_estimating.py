"""One question to fits of every kind, and what means and effects of a mixed model are."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from tests.models.mixed_examples import carried
from yieldwright.errors import MisalignedError, RoleError
from yieldwright.models.contrasts.contrasts import contrast
from yieldwright.models.contrasts.effects import curvature, step_effects, vertex
from yieldwright.models.contrasts.estimating import estimated, parameter_weights
from yieldwright.models.contrasts.means import (
    adjusted_means,
    joint_test,
    mean_at,
    pairwise_differences,
)
from yieldwright.models.linear.model import LinearFit, fit_least_squares
from yieldwright.models.mixed.contrasts import mixed_contrast, mixed_test
from yieldwright.models.mixed.groups import grouping
from yieldwright.models.mixed.model import MixedFit, fit_mixed
from yieldwright.models.ordinal.effects import ordinal_contrast
from yieldwright.models.ordinal.mixed import fit_ordinal_mixed
from yieldwright.models.ordinal.model import fit_ordinal
from yieldwright.models.terms.design import build_design, design_of
from yieldwright.models.terms.terms import Factor, Numeric


def rows(seed: int = 1, *, session_sd: float = 1.0, bend: float = -0.5) -> pd.DataFrame:
    """Return 24 rows in 6 sessions, each with every band at two grinds."""
    rng = np.random.default_rng(seed)
    frame = pd.DataFrame(
        {
            "session": np.repeat(list("abcdef"), 4),
            "band": np.tile(["low", "high"], 12),
            "grind": rng.permuted(np.tile([8.0, 9, 10, 11, 12, 9], 4)),
        }
    )
    shift = rng.normal(0, session_sd, 6)[np.repeat(np.arange(6), 4)]
    noise = rng.normal(0, 0.5, 24)
    frame["y"] = bend * (frame["grind"] - 10) ** 2 + (frame["band"] == "high") + shift + noise
    frame["score"] = np.digitize(frame["y"], [-1.0, 0.5])
    return frame


TERMS = (Numeric("grind", power=2), Factor("band", ("low", "high")))


def linear(frame: pd.DataFrame) -> LinearFit:
    return fit_least_squares(build_design(frame, TERMS), frame["y"])


def mixed(frame: pd.DataFrame) -> MixedFit:
    return fit_mixed(build_design(frame, TERMS), frame["y"], [grouping(frame, "session")])


def same(one: object, other: object) -> bool:
    """Return whether two estimates agree in every field, missing ones included."""
    return repr(one) == repr(other)


def test_each_kind_of_fit_is_asked_in_its_own_way() -> None:
    frame, weights = rows(), {"band = high": 1.0}
    straight, among = linear(frame), mixed(frame)
    assert estimated(straight, weights, term="band") == contrast(straight, weights, term="band")
    assert same(estimated(among, weights), mixed_contrast(among, weights))
    adjusted = mixed_contrast(among, weights, df="kenward_roger")
    assert same(estimated(among, weights, df="kenward_roger"), adjusted)


@pytest.mark.parametrize("grouped", [False, True])
def test_ordered_levels_are_asked_on_the_line_behind_them(*, grouped: bool) -> None:
    frame = rows()
    design = build_design(frame, [Factor("band", ("low", "high"))])
    groups = grouping(frame, "session")
    fit = (
        fit_ordinal_mixed(design, frame["score"], groups)
        if grouped
        else fit_ordinal(design, frame["score"])
    )
    found = estimated(fit, {"band = high": 1.0})
    target = ordinal_contrast(fit, {"band = high": 1.0}, limits="wald")
    assert (found.estimate, found.std_error) == (target.estimate, target.std_error)
    assert (found.ci_low, found.ci_high) == (target.ci_low, target.ci_high)
    assert np.isnan(found.hc3_std_error)


def test_the_row_of_a_line_is_its_weights() -> None:
    row = [1.0, 0.5, 0.25, 1.0]
    assert parameter_weights(linear(rows()), row).tolist() == row


def test_a_row_of_another_length_is_refused() -> None:
    with pytest.raises(MisalignedError, match="2 values for 4 columns"):
        parameter_weights(linear(rows()), [1.0, 2.0])


def test_a_plain_matrix_has_no_columns_to_name() -> None:
    frame = rows()
    fit = fit_mixed(np.ones((24, 1)), frame["y"], [grouping(frame, "session")])
    with pytest.raises(RoleError, match="plain matrix"):
        design_of(fit)


def test_without_spread_among_groups_a_mixed_model_tells_what_least_squares_tells() -> None:
    # A variance of 0 leaves the line alone; its degrees of freedom are those of the rows.
    frame = rows(4, session_sd=0.0)
    straight, among = linear(frame), mixed(frame)
    assert among.at_edge["session"]
    pairs = [
        *zip(step_effects(straight, "grind"), step_effects(among, "grind"), strict=True),
        (curvature(straight, "grind"), curvature(among, "grind")),
        (mean_at(straight, {"grind": 9}), mean_at(among, {"grind": 9})),
        *zip(adjusted_means(straight, "band"), adjusted_means(among, "band"), strict=True),
        (pairwise_differences(straight, "band")[0], pairwise_differences(among, "band")[0]),
    ]
    for one, other in pairs:
        assert other.term == one.term
        assert other.estimate == pytest.approx(one.estimate, rel=1e-8)
        assert other.std_error == pytest.approx(one.std_error, rel=1e-7)
        assert other.df == pytest.approx(one.df, rel=1e-6)
    ours, theirs = vertex(straight, "grind"), vertex(among, "grind")
    assert ours.kind == theirs.kind == "bounded"
    limits = (theirs.low, theirs.high)
    assert limits == pytest.approx((ours.low, ours.high), rel=1e-7)
    assert joint_test(among, "band").statistic == pytest.approx(
        joint_test(straight, "band").statistic, rel=1e-7
    )


def test_the_joint_test_of_a_mixed_model_is_of_all_its_coefficients(reference: Path) -> None:
    frame = carried("lme4", "cake", reference, "mixed_cake")
    design = build_design(frame, [Factor("recipe"), Numeric("temp")])
    fit = fit_mixed(design, frame["angle"], [grouping(frame, "recipe", "replicate")])
    found, target = joint_test(fit, "recipe"), mixed_test(fit, np.eye(4)[1:3].tolist())
    assert (found.term, found.df_term) == ("recipe", 2)
    assert (found.statistic, found.df_resid) == (target.statistic, target.df_error)


def test_the_slope_of_a_split_plot_is_that_of_its_coefficient(reference: Path) -> None:
    # Pinheiro and Bates's cake data: slope per degree, printed by R lmerTest as 0.158 a degree.
    frame = carried("lme4", "cake", reference, "mixed_cake")
    design = build_design(frame, [Factor("recipe"), Numeric("temp")])
    fit = fit_mixed(design, frame["angle"], [grouping(frame, "recipe", "replicate")])
    found = step_effects(fit, "temp")[0]
    assert found.estimate == pytest.approx(0.158, abs=5e-4)
    assert found.df == pytest.approx(224, rel=1e-6)


def test_a_mixed_model_has_no_robust_turn() -> None:
    with pytest.raises(RoleError, match="no robust"):
        vertex(mixed(rows()), "grind", errors="hc3")


def test_the_turn_of_a_mixed_model_is_where_its_curve_has_no_slope() -> None:
    fit = mixed(rows())
    found = vertex(fit, "grind")
    flat = mean_at(fit, {"grind": found.estimate}).estimate
    beside = [mean_at(fit, {"grind": found.estimate + shift}).estimate for shift in (-0.2, 0.2)]
    assert max(beside) < flat
    assert found.low < found.estimate < found.high
