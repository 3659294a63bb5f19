"""A half factorial with printed R output (Morgan 2020, a personal experiment)."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from tests.models.published import products
from yieldwright.models.contrasts.contrasts import contrast
from yieldwright.models.contrasts.effects import step_effects
from yieldwright.models.linear.model import LinearFit, fit_least_squares
from yieldwright.models.terms.design import build_design
from yieldwright.models.terms.terms import Numeric

MODELS = [
    ("overall", "full"),
    ("overall", "reduced"),
    ("acid", "full"),
    ("bitter", "full"),
    ("overall", "acid*bitter"),
]


def printed(reference: Path, response: str, model: str) -> pd.DataFrame:
    """Return the printed coefficients as text, so that their digits can be counted."""
    table = pd.read_csv(reference / "factorial_8_printed.csv", dtype=str)
    return table[(table["response"] == response) & (table["model"] == model)]


def printed_summary(reference: Path, response: str, model: str) -> pd.Series:
    table = pd.read_csv(reference / "factorial_8_printed_fit.csv", dtype=str)
    chosen = (table["response"] == response) & (table["model"] == model)
    return table[chosen].iloc[0]


def rows(reference: Path) -> pd.DataFrame:
    return products(pd.read_csv(reference / "factorial_8.csv"), ("acid", "bitter"))


def raw_fit(reference: Path, response: str, model: str) -> LinearFit:
    """Return the fit in the units of the print."""
    frame = rows(reference)
    names = printed(reference, response, model)["term"].tolist()
    matrix = np.column_stack([np.ones(len(frame)), *(frame[name] for name in names[1:])])
    return fit_least_squares(matrix, frame[response], names=names)


def half_unit(texts: pd.Series) -> float:
    """Return half a unit of the last decimal that a printed column shows."""
    return 0.5 * 10.0 ** -int(texts.str.partition(".")[2].str.len().max()) * (1 + 1e-9)


@pytest.mark.parametrize(("response", "model"), MODELS)
@pytest.mark.parametrize(
    ("shown", "attribute"),
    [("printed_estimate", "estimate"), ("printed_t", "statistic")],
)
def test_coefficients_equal_the_print(
    reference: Path, response: str, model: str, shown: str, attribute: str
) -> None:
    table = printed(reference, response, model)
    fit = raw_fit(reference, response, model)
    found = [getattr(contrast(fit, {name: 1.0}), attribute) for name in table["term"]]
    target = table[shown].astype(float).tolist()
    assert found == pytest.approx(target, rel=0, abs=half_unit(table[shown]))


@pytest.mark.parametrize(("response", "model"), MODELS)
@pytest.mark.parametrize(
    ("shown", "attribute"), [("printed_se", "std_error"), ("printed_p", "p_value")]
)
def test_errors_and_p_values_equal_the_print(
    reference: Path, response: str, model: str, shown: str, attribute: str
) -> None:
    table = printed(reference, response, model)
    fit = raw_fit(reference, response, model)
    for name, text in zip(table["term"], table[shown], strict=True):
        found = getattr(contrast(fit, {name: 1.0}), attribute)
        assert found == pytest.approx(float(text), rel=0, abs=half_unit(pd.Series([text])))


@pytest.mark.parametrize(("response", "model"), MODELS)
@pytest.mark.parametrize(
    ("shown", "attribute"),
    [
        ("r2", "r_squared"),
        ("adj_r2", "adj_r_squared"),
        ("F", "f_statistic"),
        ("p", "f_p_value"),
        ("resid_se", "sigma"),
    ],
)
def test_summary_equals_the_print(
    reference: Path, response: str, model: str, shown: str, attribute: str
) -> None:
    text = printed_summary(reference, response, model)[shown]
    found = getattr(raw_fit(reference, response, model), attribute)
    assert found == pytest.approx(float(text), rel=0, abs=half_unit(pd.Series([text])))


@pytest.mark.parametrize(("response", "model"), MODELS)
def test_degrees_of_freedom_equal_the_print(reference: Path, response: str, model: str) -> None:
    summary = printed_summary(reference, response, model)
    fit = raw_fit(reference, response, model)
    assert [fit.df_model, fit.df_resid] == [int(summary["df1"]), int(summary["df2"])]


def test_a_coefficient_of_zero_is_zero(reference: Path) -> None:
    fit = raw_fit(reference, "overall", "full")
    assert contrast(fit, {"grind_setting": 1.0}).estimate == pytest.approx(0.0, abs=1e-14)


@pytest.mark.parametrize("response", ["overall", "acid", "bitter"])
def test_effects_per_step_equal_the_print(reference: Path, response: str) -> None:
    frame, table = rows(reference), printed(reference, response, "full").set_index("term")
    names = table.index[1:].tolist()
    design = build_design(frame, [Numeric(name) for name in names])
    fit = fit_least_squares(design, frame[response])
    found = [step_effects(fit, name)[0].estimate for name in names]
    shown = table["printed_estimate"]
    assert found == pytest.approx(shown[1:].astype(float).tolist(), abs=half_unit(shown))
