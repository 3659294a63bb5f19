"""The study of slips in short: fixed seed, four binomial standard errors."""

from __future__ import annotations

import math

import pytest

from tests.evidence import slips
from tests.evidence.slips import FIVE, WRITINGS, Clean, Planted, Writing

SLIPS, SEED = 40, 11

Outcome = tuple[list[Planted], list[Planted], Clean]
each_promised = pytest.mark.parametrize(
    "writing", [each for each in WRITINGS if each.promised], ids=lambda each: each.name
)


@pytest.fixture(scope="module")
def outcomes() -> dict[str, Outcome]:
    """Return the study of every promised way of writing, on few logs."""
    return {each.name: slips.study(each, SLIPS, SEED) for each in WRITINGS if each.promised}


def least(share: float, n: int) -> float:
    """Return the share that four binomial standard errors leave."""
    return share - 4 * math.sqrt(share * (1 - share) / n)


@each_promised
def test_slips_in_the_five_columns_are_caught(
    writing: Writing, outcomes: dict[str, Outcome]
) -> None:
    five, _, _ = outcomes[writing.name]
    assert slips.share(five) >= least(slips.CAUGHT_AT_LEAST, len(five))
    assert {each.column for each in five} == set(FIVE)


@each_promised
def test_clean_cells_are_hardly_ever_doubted(
    writing: Writing, outcomes: dict[str, Outcome]
) -> None:
    _, _, clean = outcomes[writing.name]
    assert clean.n_flagged <= slips.FALSE_AT_MOST * clean.n_cells


@each_promised
def test_most_suggestions_are_right(writing: Writing, outcomes: dict[str, Outcome]) -> None:
    five, _, _ = outcomes[writing.name]
    caught = [each for each in five if each.is_caught]
    assert sum(each.is_mended for each in caught) > len(caught) / 2


@each_promised
def test_the_table_fits_a_terminal(writing: Writing, outcomes: dict[str, Outcome]) -> None:
    assert max(map(len, slips.report(writing, *outcomes[writing.name]).splitlines())) <= 80
