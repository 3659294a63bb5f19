"""Scores of several tasters equal the cumulative-link mixed model of a reference engine."""

from __future__ import annotations

import json
from pathlib import Path

import pandas as pd
import pytest

from tests.taste.logs import BENCH, comparable, log
from yieldwright.bench import Attribute, Band, Bench
from yieldwright.taste import ComparableSet, fit_set
from yieldwright.taste.fitting import find
from yieldwright.taste.steps.random_tasters import RandomTasters, random_tasters


def wine(reference: Path) -> RandomTasters | None:
    """Return the bitterness of eight bottles judged by nine, read as a shot log."""
    data = pd.read_csv(reference / "stats" / "ordinal_wine" / "data.csv", dtype=str)
    shots = data.drop_duplicates("bottle")
    shots = pd.DataFrame(
        {
            "shot": shots["bottle"],
            "session": "one",
            "temp_band": shots["temp"],
            "paper": shots["contact"],
        }
    )
    tastings = pd.DataFrame(
        {
            "shot": data["bottle"],
            "taster": data["judge"],
            "attribute": "bitter",
            "score": data["rating"].astype(float),
        }
    )
    mean = tastings.groupby("shot")["score"].mean().reindex(shots["shot"]).to_numpy()
    bench = Bench(
        bands=(Band("cold", 80, 85), Band("warm", 85, 90)),
        attributes=(Attribute("bitter", low=1, high=5, step=1, stated=True),),
    )
    findings = find(
        ComparableSet("", "", shots.assign(**{"score:bitter": mean}), tastings=tastings),
        "score:bitter",
        bench=bench,
        settings=("temp_band", "paper"),
        adjusters=(),
    )
    return random_tasters(findings)


def test_the_wine_of_randall_equals_the_converged_reference(reference: Path) -> None:
    # Randall 1989, in Christensen's ordinal (R): converged adaptive quadrature, as carried by
    # the reference folder; ten digits printed, ours integrates with 15 nodes.
    expected = json.loads((reference / "stats" / "ordinal_wine" / "expected.json").read_text())
    values = expected["expected"]["clmm_logit"]["agq_converged"]
    found = wine(reference)
    assert found is not None
    by_term = found.table.set_index("term")
    for term, name in (("temp_band", "tempwarm"), ("paper", "contactyes")):
        assert by_term.loc[term, "estimate"] == pytest.approx(values["beta"][name], rel=1e-6)
        assert by_term.loc[term, "std_error"] == pytest.approx(values["se"][name], rel=1e-5)
    assert found.taster_sd == pytest.approx(values["sd_judge"], rel=1e-6)
    assert found.log_likelihood == pytest.approx(values["logLik"], rel=1e-8)
    assert (found.n_scores, found.n_tasters) == (72, 9)


def test_no_interval_is_shown_and_the_reason_is(reference: Path) -> None:
    found = wine(reference)
    assert found is not None
    assert "95 %" not in found.summary()
    assert "counts as a shot" in found.sentences[1]
    assert max(map(len, found.summary().splitlines())) <= 80


def test_measured_responses_and_single_tasters_have_none() -> None:
    shots = log()
    assert random_tasters(find(comparable(shots), "ey_pct", bench=BENCH)) is None
    scored = shots.assign(**{"score:overall": shots["ey_pct"].round(0) - 13})
    assert fit_set(comparable(scored), "score:overall", bench=BENCH).random_tasters is None
