"""Published batch brews read by a bench that maps their headers and widens its ranges.

Cotter, Ristenpart and Guinard, Dryad, doi 10.25338/B8993H: 162 batches with dose, beverage
mass, strength and the extraction printed beside them.
"""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from yieldwright.bench.reading import read_bench
from yieldwright.shotlog import ShotLog, read_log, score_table

BENCH = Path(__file__).parent / "benches" / "brews.toml"


@pytest.fixture(scope="module")
def brews_file(reference: Path) -> Path:
    """Return the published table."""
    return reference / "brews" / "cotter_162_brews.csv"


@pytest.fixture(scope="module")
def brews(brews_file: Path) -> ShotLog:
    """Return the published table as a log."""
    return read_log(brews_file, bench=read_bench(BENCH))


def test_all_rows_are_accepted(brews: ShotLog) -> None:
    assert len(brews.shots) == 162
    assert brews.set_aside.empty
    assert brews.reading.adds_up
    assert brews.reading.lines_read == 163


def test_every_printed_yield_is_recomputed(brews: ShotLog, brews_file: Path) -> None:
    printed = pd.read_csv(brews_file)["printed_ey_pct"].to_numpy()
    # printed with 8 decimals: half a unit of the last one
    assert np.abs(brews.shots["ey_pct"].to_numpy() - printed).max() <= 5e-9


def test_weights_are_those_of_the_file(brews: ShotLog, brews_file: Path) -> None:
    published = pd.read_csv(brews_file)
    for name in ("dose_g", "beverage_g", "tds_pct", "grind_setting"):
        assert brews.shots[name].tolist() == published[name].tolist()


def test_the_setting_is_taken_and_not_the_measurement_after_brewing(brews: ShotLog) -> None:
    assert set(brews.shots["temp_c"]) == {87.0, 90.0, 93.0}
    assert "brew_temp_carafe_C" in brews.extras


def test_a_name_is_composed_of_session_and_brew(brews: ShotLog) -> None:
    assert brews.shots["shot"].is_unique
    assert brews.shots["shot"].iloc[0] == "1/87-1.5-16"


def test_the_batch_above_the_ceiling_is_kept_and_left_out_of_slopes(brews: ShotLog) -> None:
    (unusable,) = brews.shots.loc[~brews.shots["usable"], "shot"]
    assert unusable == "2/93-1.5-24"
    reasons = brews.flags.loc[brews.flags["shot"] == unusable, "reason"]
    assert "above the 30 % that water can dissolve" in reasons.item()


def test_printed_yields_contradict_none_of_the_computed_ones(brews: ShotLog) -> None:
    assert not brews.flags["reason"].str.startswith("typed").any()


def test_what_the_table_lacks_is_said(brews: ShotLog) -> None:
    said = " ".join(brews.reading.remarks)
    assert "No fate column: every shot is taken as pulled." in said
    assert "time_s" not in brews.shots
    assert brews.as_of is None


def test_a_log_without_tastings_has_a_score_table_without_scores(brews: ShotLog) -> None:
    assert score_table(brews).columns.tolist() == ["shot", "n_tasters"]


def test_without_its_bench_every_batch_is_set_aside(brews_file: Path) -> None:
    log = read_log(brews_file)
    assert log.shots.empty
    assert len(log.set_aside) == 162
    assert log.reading.adds_up
