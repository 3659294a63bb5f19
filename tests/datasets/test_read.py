"""Read as any log, the demo accounts for every line and gives back its truth."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest

from tests.conftest import ROOT
from yieldwright.shotlog import ShotLog, read_log, score_table
from yieldwright.simulate import BAND_C, DemoTruth, read_demo_truth
from yieldwright.simulate.mess import MESSY_LINES
from yieldwright.taste.columns.comparable import comparable_sets
from yieldwright.taste.effects_fit import EffectsFit
from yieldwright.taste.fitting import fit_effects

DEMO = ROOT / "datasets" / "evening-class"
RESPONSES = ("time_s", "ey_pct", "score:overall")

#: Degrees between the bands that the second coffee saw within evenings.
BAND_STEP_C = BAND_C["high"] - BAND_C["medium"]


@pytest.fixture(scope="module")
def log() -> ShotLog:
    return read_log(DEMO)


@pytest.fixture(scope="module")
def known() -> DemoTruth:
    return read_demo_truth(DEMO / "truth.json")


@pytest.fixture(scope="module")
def fits(log: ShotLog) -> dict[tuple[str, str], EffectsFit]:
    return {
        (comparable.bag, response): fit_effects(comparable, response, bench=log.bench)
        for comparable in comparable_sets(log)
        for response in RESPONSES
    }


def within(fit: EffectsFit, term: str) -> pd.Series[float]:
    """Return the one row of a setting that was varied within evenings."""
    rows = fit.settings[fit.settings["stratum"] == "within sessions"]
    return rows.set_index("term").loc[term]


def test_every_line_is_accounted_for(log: ShotLog) -> None:
    shots, tastings = log.reading.files
    assert log.reading.adds_up
    assert shots.lines_read == 1 + 60 + sum(MESSY_LINES.values())
    assert tastings.lines_set_aside == 0


def test_all_sixty_shots_are_accepted(log: ShotLog) -> None:
    assert log.shots["shot"].tolist() == [f"s{number:02d}" for number in range(1, 61)]


@pytest.mark.parametrize(
    ("row", "reason"),
    [
        ("g1,", "dose_g is 180 g"),
        ("g2,", "27 cells where the header has 26"),
        ("g3,ditto", "“ditto” is no number"),
        ("s60,", "exact copy of the row"),
    ],
)
def test_a_row_that_cannot_be_used_is_set_aside_for_its_reason(
    log: ShotLog, row: str, reason: str
) -> None:
    reasons = log.set_aside.set_index("raw")["reason"]
    (told,) = reasons[reasons.index.str.startswith(row)]
    assert reason in told


def test_nothing_else_is_set_aside(log: ShotLog) -> None:
    assert len(log.set_aside) == 4


def test_units_comment_and_blank_line_are_listed(log: ShotLog) -> None:
    kinds = log.listed.loc[log.listed["file"] == "shots.csv", "kind"]
    assert sorted(kinds) == ["blank", "comment", "header", "units"]


def test_units_typed_into_cells_are_understood(log: ShotLog, known: DemoTruth) -> None:
    shots = log.shots.set_index("shot")
    assert shots.loc["s02", "dose_g"] == pytest.approx(known.shots["dose_g"][1], abs=0.25)
    assert shots.loc["s03", "temp_c"] == BAND_C["low"]
    assert shots.loc["s04", "time_s"] == pytest.approx(known.shots["time_s"][3], abs=2.5)


def test_a_reading_called_rough_is_flagged_and_kept(log: ShotLog) -> None:
    (flag,) = log.flags.to_dict("records")
    assert (flag["shot"], flag["column"]) == ("s05", "peak_bar")


def test_yields_are_the_true_ones_within_their_uncertainty(log: ShotLog, known: DemoTruth) -> None:
    off = log.shots["ey_pct"].to_numpy() - known.shots["ey_pct"].to_numpy()
    scaled = off / log.shots["u_ey_pct"].to_numpy()
    # Sixty standard normal errors stay below 4.2 with 99.8 % probability.
    assert np.nanmax(np.abs(scaled)) < 4.2


def test_fates_and_stages_leave_forty_odd_shots_for_slopes(log: ShotLog) -> None:
    failed = log.shots["fate"] != "pulled"
    set_up = log.shots["stage"] != "counted"
    assert int(log.shots["usable"].sum()) == 60 - int((failed | set_up).sum())


def test_tasted_shots_have_three_scores_at_most(log: ShotLog) -> None:
    tasters = score_table(log)["n_tasters"]
    assert tasters[tasters > 0].between(2, 3).all()


@pytest.mark.parametrize("bag", ["bag-17", "bag-18"])
@pytest.mark.parametrize("response", RESPONSES)
@pytest.mark.parametrize("term", ["grind_setting", "taper_bar"])
def test_the_interval_holds_the_true_effect(
    fits: dict[tuple[str, str], EffectsFit], known: DemoTruth, bag: str, response: str, term: str
) -> None:
    found = within(fits[bag, response], term)
    true = known.effects.set_index(["bag", "response", "term"])["effect"]
    assert found["ci_low"] <= true[bag, response, term] <= found["ci_high"]


@pytest.mark.parametrize("response", RESPONSES)
def test_the_interval_holds_the_true_effect_of_the_band(
    fits: dict[tuple[str, str], EffectsFit], known: DemoTruth, response: str
) -> None:
    found = within(fits["bag-18", response], "temp_band")
    a_degree = known.effects.set_index(["bag", "response", "term"])["effect"]
    truth = BAND_STEP_C * a_degree["bag-18", response, "temp_c"]
    assert found["ci_low"] <= truth <= found["ci_high"]


@pytest.mark.parametrize("bag", ["bag-17", "bag-18"])
@pytest.mark.parametrize("response", ["time_s", "ey_pct"])
def test_grind_is_clearly_found(
    fits: dict[tuple[str, str], EffectsFit], bag: str, response: str
) -> None:
    assert within(fits[bag, response], "grind_setting")["p_holm"] < 0.05


@pytest.mark.parametrize("bag", ["bag-17", "bag-18"])
def test_the_interval_of_the_taper_on_taste_keeps_clear_of_zero(
    fits: dict[tuple[str, str], EffectsFit], bag: str
) -> None:
    assert within(fits[bag, "score:overall"], "taper_bar")["ci_low"] > 0


@pytest.mark.parametrize("response", RESPONSES)
def test_band_and_age_of_the_first_coffee_are_said_to_be_entangled(
    fits: dict[tuple[str, str], EffectsFit], response: str
) -> None:
    (pair,) = fits["bag-17", response].confounded
    assert {pair.first, pair.second} == {"temp_band", "roast_age_d"}
    assert pair.forbids_verdict
    assert pair.remedy


@pytest.mark.parametrize("response", RESPONSES)
def test_nothing_is_entangled_for_the_second_coffee(
    fits: dict[tuple[str, str], EffectsFit], response: str
) -> None:
    assert fits["bag-18", response].confounded == ()
