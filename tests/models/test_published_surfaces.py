"""Second-order surfaces, against R rsm 2.10.6 and lm."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import combinations
from pathlib import Path
from typing import Any, NamedTuple

import pytest

from tests.models.published import data, expected, products
from yieldwright.models.contrasts.contrasts import Estimate
from yieldwright.models.contrasts.effects import curvature, step_effects
from yieldwright.models.contrasts.means import mean_at
from yieldwright.models.linear.model import LinearFit, fit_least_squares
from yieldwright.models.terms.design import build_design
from yieldwright.models.terms.terms import Blocks, Numeric, Term


class Surface(NamedTuple):
    """Example, entry of its expected values, response, coded variables, column of blocks."""

    example: str
    entry: str | None
    response: str
    names: list[str]
    blocks: str | None


PLANE, SPACE = ["x1", "x2"], ["x1", "x2", "x3"]
SURFACES = [
    Surface("rsm_nist_5473", "uniformity", "uniformity", PLANE, None),
    Surface("rsm_nist_5473", "stress", "stress", PLANE, None),
    Surface("rsm_nist_5531", "second_order", "yield", PLANE, None),
    Surface("rsm_heli_saddle", None, "ave", [*SPACE, "x4"], "block"),
    Surface("rsm_tire_multiresponse", "y1", "y1", SPACE, None),
    Surface("rsm_tire_multiresponse", "y2", "y2", SPACE, None),
    Surface("rsm_tire_multiresponse", "y3", "y3", SPACE, None),
    Surface("rsm_tire_multiresponse", "y4", "y4", SPACE, None),
]


def figures(reference: Path, case: Surface) -> dict[str, Any]:
    whole = expected(reference, case.example)
    return whole if case.entry is None else whole[case.entry]


def surface(reference: Path, case: Surface) -> LinearFit:
    pairs = list(combinations(case.names, 2))
    frame = products(data(reference, case.example), *pairs)
    terms: list[Term] = [Blocks(case.blocks)] if case.blocks else []
    terms += [Numeric(name, power=2) for name in case.names]
    terms += [Numeric(f"{first}:{second}") for first, second in pairs]
    return fit_least_squares(build_design(frame, terms), frame[case.response])


def coefficients(fit: LinearFit, names: list[str]) -> Iterator[tuple[str, Estimate, float]]:
    """Return name in the print, our estimate, and its multiple of the coefficient."""
    for name in names:
        yield name, step_effects(fit, name)[1], 1.0
        yield f"{name}^2", curvature(fit, name), 2.0
    for first, second in combinations(names, 2):
        yield f"{first}:{second}", step_effects(fit, f"{first}:{second}")[0], 1.0


@pytest.mark.parametrize("case", SURFACES, ids=lambda case: f"{case.example}-{case.response}")
def test_coefficients(reference: Path, case: Surface) -> None:
    fit = surface(reference, case)
    printed = figures(reference, case)["estimate"]
    found = {name: each.estimate / k for name, each, k in coefficients(fit, case.names)}
    target = {name: printed[name] for name in found}
    assert found == pytest.approx(target, rel=1e-9, abs=1e-9)


@pytest.mark.parametrize("case", SURFACES, ids=lambda case: f"{case.example}-{case.response}")
def test_standard_errors(reference: Path, case: Surface) -> None:
    fit = surface(reference, case)
    printed = figures(reference, case)["se"]
    found = {name: each.std_error / k for name, each, k in coefficients(fit, case.names)}
    assert found == pytest.approx({name: printed[name] for name in found}, rel=1e-8)


@pytest.mark.parametrize("case", SURFACES, ids=lambda case: f"{case.example}-{case.response}")
def test_p_values(reference: Path, case: Surface) -> None:
    fit = surface(reference, case)
    printed = figures(reference, case)["p"]
    found = {name: each.p_value for name, each, _ in coefficients(fit, case.names)}
    assert found == pytest.approx({name: printed[name] for name in found}, rel=1e-7)


@pytest.mark.parametrize("case", SURFACES, ids=lambda case: f"{case.example}-{case.response}")
def test_spread_and_shares(reference: Path, case: Surface) -> None:
    fit = surface(reference, case)
    printed = figures(reference, case)
    found = [fit.sigma, fit.r_squared, fit.adj_r_squared]
    assert found == pytest.approx([printed["sigma"], printed["r2"], printed["adj_r2"]], rel=1e-9)


def test_the_value_at_the_stationary_point(reference: Path) -> None:
    # NIST/SEMATECH e-Handbook 5.5.3.1: maximum near coded (−0.93, 0.35).
    case = next(each for each in SURFACES if each.response == "yield")
    fit, printed = surface(reference, case), figures(reference, case)
    place = printed["xs"]
    at = {**place, "x1:x2": place["x1"] * place["x2"]}
    assert mean_at(fit, at).estimate == pytest.approx(printed["predicted_at_stationary_point"])


def test_a_first_order_fit(reference: Path) -> None:
    frame = data(reference, "rsm_nist_5531", "first_order.csv")
    printed = expected(reference, "rsm_nist_5531")["first_order"]
    fit = fit_least_squares(build_design(frame, [Numeric("x1"), Numeric("x2")]), frame["yield"])
    found = {name: step_effects(fit, name)[0].estimate for name in ("x1", "x2")}
    assert found == pytest.approx({name: printed["estimate"][name] for name in found}, rel=1e-9)


def test_natural_units_change_steps_and_nothing_else(reference: Path) -> None:
    # The same runs in °C and min: one coded unit is 30 °C (rsm: x1 = (temp − 189.5) / 30).
    frame = data(reference, "rsm_nist_5531", "first_order.csv")
    printed = expected(reference, "rsm_nist_5531")["first_order"]
    terms = [Numeric("temp", step=30.0), Numeric("time", step=50.0)]
    fit = fit_least_squares(build_design(frame, terms), frame["yield"])
    assert step_effects(fit, "temp")[0].p_value == pytest.approx(printed["p"]["x1"], rel=1e-7)
