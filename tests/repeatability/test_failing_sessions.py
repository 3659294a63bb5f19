"""Whether shots fail as often in every session."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest

from tests.models.published import data, expected
from yieldwright.repeatability.failing.failing_sessions import failing_sessions


def shots(failures: list[int], size: int = 6) -> pd.DataFrame:
    """Return sessions of one size with so many failures each."""
    rows = [
        (f"e{place}", "choked" if number < bad else "pulled")
        for place, bad in enumerate(failures)
        for number in range(size)
    ]
    return pd.DataFrame(rows, columns=["session", "fate"])


def test_limits_are_those_of_the_handbook(reference: object) -> None:
    # NIST/SEMATECH e-Handbook 6.3.3.2: 30 wafers of 50 chips.
    values = expected(reference, "spc_attribute_nist")["p_chart"]  # type: ignore[arg-type]
    shares = data(reference, "spc_attribute_nist", "p_chart.csv")["fraction"]  # type: ignore[arg-type]
    found = failing_sessions(shots((shares * 50).round().astype(int).tolist(), size=50))
    assert found.rate == pytest.approx(values["center"], rel=1e-12)
    assert found.table["upper"].to_numpy() == pytest.approx(values["ucl"], rel=1e-12)
    assert (np.flatnonzero(found.table["beyond"]) + 1).tolist() == values["signals"]


def test_a_session_that_stands_out_is_named() -> None:
    found = failing_sessions(shots([0, 1, 0, 0, 0, 5, 0, 0]))
    assert found.sentences[0].startswith("Session e5: 5 of 6 shots failed (83 %), more than")


def test_sessions_alike_are_not_called_proof() -> None:
    found = failing_sessions(shots([1, 0, 1, 0, 1, 1]))
    assert found.sentences[0] == "No session stands out by its share of failed shots."
    assert "no proof that nothing changed" in found.sentences[1]


def test_the_told_chance_is_that_of_sessions_that_fail_alike() -> None:
    # Six sessions of 6 with 6 failures in all: limits 0 to 62 %, so 4 of 6 in one session.
    found = failing_sessions(shots([1, 1, 1, 1, 1, 1]))
    rng, beyond = np.random.default_rng(7), 0
    for _ in range(500):
        bad = rng.binomial(6, 1 / 6, 6)
        p = bad.mean() / 6
        beyond += bool((np.abs(bad / 6 - p) > 3 * np.sqrt(p * (1 - p) / 6)).any())
    error = np.sqrt(found.chance * (1 - found.chance) / 500)
    assert beyond / 500 == pytest.approx(found.chance, abs=4 * error)


def test_warm_ups_and_shots_of_no_session_are_counted_out() -> None:
    frame = shots([1, 1, 1, 1, 1, 1]).assign(stage="counted")
    frame.loc[0, "stage"] = "warm_up"
    frame.loc[1, "session"] = None
    found = failing_sessions(frame)
    assert found.n_shots == 34
    assert {str(each) for each in found.dropped} == {
        "1 shot pulled to warm up",
        "1 shot of no session",
    }


@pytest.mark.parametrize(
    ("frame", "why"),
    [
        (shots([3, 3, 3, 3]), "12 failures in 4 sessions; limits need 3 failures and 5 sessions"),
        (shots([0, 0, 1, 0, 1]), "There are 2 failures in 5 sessions; limits"),
        (shots([0, 0, 1, 0, 0]), "There is 1 failure in 5 sessions; limits"),
        (shots([1] * 6).drop(columns="fate"), "does not say"),
        (shots([1] * 6).drop(columns="session"), "does not say"),
        (shots([1] * 6).iloc[:0], "does not say"),
    ],
)
def test_what_bears_no_limits_is_refused_in_words(frame: pd.DataFrame, why: str) -> None:
    found = failing_sessions(frame)
    assert why in found.missing
    assert found.table.empty


def test_names_from_a_log_are_shown_as_text_only() -> None:
    frame = shots([0, 1, 0, 0, 0, 5, 0, 0])
    frame["session"] = frame["session"].replace("e5", "<b>\x1b[31m")
    found = failing_sessions(frame)
    assert r"Session <b>\x1b[31m" in found.sentences[0]
    assert "<b>" not in found._repr_html_()
