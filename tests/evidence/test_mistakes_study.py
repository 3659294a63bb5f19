"""The study of mistakes in short: fixed seed, four binomial standard errors."""

from __future__ import annotations

import pytest

from tests.evidence import mistakes
from tests.evidence.planted import MISTAKES

LOGS, SEED = 10, 11

#: The cheapest clean log of each kind of structure.
KINDS = tuple(each for each in mistakes.CLEAN if each[0] in ("24 in 4, yield", "30 in 30, yield"))


@pytest.mark.parametrize("mistake", MISTAKES, ids=lambda each: each.name)
def test_a_planted_mistake_is_found(mistake: mistakes.Mistake) -> None:
    tally = mistakes.found(mistake, LOGS, mistakes._stream(SEED, mistake.name))
    assert tally.credible()


@pytest.mark.parametrize(("name", "draw", "response"), KINDS, ids=[each[0] for each in KINDS])
def test_clean_logs_raise_no_check_more_often_than_promised(
    name: str, draw: mistakes.Logs, response: str
) -> None:
    tallies = list(mistakes.alarms(name, draw, response, 2 * LOGS, mistakes._stream(SEED, name)))
    assert [each for each in tallies if not each.credible()] == []


def test_every_check_is_looked_at_on_clean_logs() -> None:
    (name, draw, response) = KINDS[0]
    tallies = mistakes.alarms(name, draw, response, 1, mistakes._stream(SEED, name))
    planted = {code for mistake in MISTAKES for code in mistake.codes}
    assert planted <= {each.quantity for each in tallies}


def test_the_mistakes_of_a_reader_are_always_met() -> None:
    tallies = list(mistakes.reader(LOGS, mistakes._stream(SEED, "reader")))
    assert len(tallies) == 5
    assert [each for each in tallies if each.held < each.logs] == []


def test_an_outcome_is_refused_and_a_line_told_twice_is_set_aside() -> None:
    for part in (mistakes.refused_outcome, mistakes.copied_lines):
        tally = part(LOGS, mistakes._stream(SEED, "files"))
        assert tally.held == tally.logs


def test_the_tables_name_what_was_not_kept() -> None:
    (mistake,) = (each for each in MISTAKES if each.name == "one odd shot")
    nothing = mistakes.Mistake("nothing", mistake.plant, ("no-such-code",))
    missed = mistakes.found(nothing, 2, mistakes._stream(SEED, "nothing"))
    assert "NOT KEPT" in mistakes.planted_table([missed])
