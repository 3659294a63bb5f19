"""Rows whose groups shift: the logistic identities against the distribution written out."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from yieldwright.models.ordinal import _quadrature as _ordinal_quadrature
from yieldwright.models.ordinal._likelihood import Likelihood
from yieldwright.models.ordinal._links import link_named
from yieldwright.models.ordinal._mixed_search import in_groups
from yieldwright.models.ordinal._quadrature import GroupedLikelihood
from yieldwright.models.ordinal._shifts import Block, shifted

LOGIT = link_named("logit")
#: The same distribution under another name, so that nothing special is known of it.
PLAIN = replace(LOGIT, name="probit")
RNG = np.random.default_rng(20_262)
LOW = np.array([-np.inf, -np.inf, -1.5, -0.2, 0.4, 2.0, 25.0, -25.0])
HIGH = np.array([-2.0, 3.0, -0.2, -0.1, 3.0, np.inf, np.inf, -24.0])
CODES = np.array([0, 0, 0, 1, 1, 1, 1, 1])
WEIGHTS = np.array([1.0, 2.0, 1.0, 3.0, 1.0, 1.0, 1.0, 1.0])
ALL = slice(None)
BLOCK = Block(ALL, ALL, np.array([0, 3]), CODES, WEIGHTS)


def test_derivatives_are_those_of_the_distribution() -> None:
    moved = np.array([0.7, -1.2])
    ours, plain = (shifted(link, LOW, HIGH).around(moved, CODES) for link in (LOGIT, PLAIN))
    assert ours.first == pytest.approx(plain.first, rel=1e-9, abs=1e-14)
    assert ours.second == pytest.approx(plain.second, rel=1e-6, abs=1e-14)
    # The distribution written out loses digits of the third where a row is narrow.
    assert ours.third == pytest.approx(plain.third, rel=1e-6, abs=1e-9)
    for own, other, held in ((ours.low, plain.low, LOW), (ours.high, plain.high, HIGH)):
        there = np.isfinite(held)
        assert own[0][there] == pytest.approx(other[0][there], rel=1e-6, abs=1e-9)
        assert own[1][there] == pytest.approx(other[1][there], rel=1e-6, abs=1e-9)


def test_nodes_are_those_of_the_distribution() -> None:
    moved = np.array([[0.7, -3.0, 0.0], [-1.2, 2.0, 5.0]])
    shares = np.array([[0.2, 0.5, 0.3], [0.6, 0.3, 0.1]])
    ours, plain = (shifted(link, LOW, HIGH).at_nodes(BLOCK, moved) for link in (LOGIT, PLAIN))
    assert ours.heights == pytest.approx(plain.heights, rel=1e-12)
    low, high, both = ours.pulled(shares)
    plain_low, plain_high, plain_both = plain.pulled(shares)
    assert low == pytest.approx(plain_low, rel=1e-9, abs=1e-14)
    bounded = np.isfinite(HIGH)
    assert high[bounded] == pytest.approx(plain_high[bounded], rel=1e-9, abs=1e-14)
    assert both == pytest.approx(plain_both, rel=1e-9, abs=1e-12)


def test_limits_far_out_give_numbers() -> None:
    rows = shifted(LOGIT, np.array([-np.inf, 900.0, -900.0]), np.array([-900.0, np.inf, 900.0]))
    block = Block(ALL, ALL, np.array([0]), np.zeros(3, dtype=int), np.ones(3))
    found = rows.at_nodes(block, np.array([[-1000.0, 0.0, 1000.0]]))
    parts = found.heights, *found.pulled(np.full((1, 3), 1 / 3))
    assert all(np.isfinite(part).all() for part in parts)


@pytest.fixture(params=["logit", "probit"])
def grouped(request: pytest.FixtureRequest) -> GroupedLikelihood:
    n_rows, cuts = 60, np.arange(3)
    level, column = RNG.integers(0, 4, n_rows), RNG.normal(size=(n_rows, 1))
    upper, lower = (
        np.hstack([(at[:, None] == cuts).astype(float), -column]) * (at[:, None] < 3)
        for at in (level, level - 1)
    )
    rows = Likelihood(
        upper=upper,
        lower=lower * (level > 0)[:, None],
        above=np.where(level == 3, np.inf, 0.0),
        below=np.where(level == 0, -np.inf, 0.0),
        weights=RNG.integers(1, 4, n_rows).astype(float),
        link=link_named(request.param),
    )
    codes = RNG.permutation(np.arange(n_rows) % 7)
    return in_groups(rows, codes, 9)


PARAMS = np.array([[-1.0, 0.2, 1.1, 0.5, 0.8], [-1.5, 0.0, 1.0, 0.2, 1.4]])


def same(one: Any, other: Any) -> None:
    assert one.value == pytest.approx(other.value, rel=1e-12)
    assert one.slope == pytest.approx(other.slope, rel=1e-9, abs=1e-10)


def test_several_sets_of_parameters_at_once_are_each_by_itself(grouped: Any) -> None:
    near = np.zeros(7)
    for found, params in zip(grouped.at_each(PARAMS, near=near), PARAMS, strict=True):
        same(found, grouped.at(params))


def test_several_sets_may_hold_one_whose_limits_stand_in_the_wrong_order(grouped: Any) -> None:
    wrong = np.array([PARAMS[0], [1.0, 0.2, 1.1, 0.5, 0.8]])
    good, bad = grouped.at_each(wrong, near=np.zeros(7))
    same(good, grouped.at(PARAMS[0]))
    assert bad.value == -np.inf


def test_rows_worked_on_in_parts_are_rows_worked_on_at_once(
    grouped: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    whole = grouped.at(PARAMS[0])
    for size in (1, 200):
        monkeypatch.setattr(_ordinal_quadrature, "AT_ONCE", size)
        same(grouped.at(PARAMS[0]), whole)
