"""What follows from a row: strength, yield and their uncertainty, ratio, age, taper, band."""

from __future__ import annotations

import math

import pytest

from tests.shotlog.conftest import Reader
from yieldwright.bench import Bench, Refractometer, Scale


def test_a_yield_with_the_uncertainty_of_its_instruments(read: Reader) -> None:
    # JCGM 100:2008 by hand: 18 g, 36 g, 10 %, u 0.06 g each and 0.05 % give 0.125
    scale = Scale(resolution_g=0.0, repeatability_g=0.06)
    glass = Refractometer(resolution_pct=0.0, repeatability_pct=0.05, accuracy_pct=0.0)
    bench = Bench(dose_scale=scale, beverage_scale=scale, refractometer=glass)
    (shot,) = read("shot,dose_g,beverage_g,tds_pct\n1,18,36,10\n", bench=bench).shots.itertuples()
    assert shot.ey_pct == 20.0
    assert shot.u_ey_pct == pytest.approx(0.125, abs=5e-4)
    assert shot.cov_tds_ey == pytest.approx(2 * 0.05**2, rel=1e-12)


def test_the_strength_is_the_mean_of_its_readings(read: Reader) -> None:
    log = read("shot,tds_1_pct,tds_2_pct,tds_3_pct\n1,9.2,9.4,\n2,9.0,,\n3,,,\n")
    assert log.shots["tds_pct"].iloc[:2].tolist() == [pytest.approx(9.3), 9.0]
    assert math.isnan(log.shots["tds_pct"].iloc[2])


def test_repeated_readings_shrink_the_uncertainty_but_not_the_accuracy(read: Reader) -> None:
    glass = Refractometer(resolution_pct=0.0, repeatability_pct=0.06, accuracy_pct=0.0)
    bench = Bench(refractometer=glass)
    content = "shot,tds_1_pct,tds_2_pct,tds_3_pct,tds_4_pct\n1,9,9,9,9\n2,9,,,\n"
    four, one = read(content, bench=bench).shots["u_tds_pct"]
    assert four == pytest.approx(one / 2, rel=1e-12)


def test_a_missing_input_gives_a_missing_output(read: Reader) -> None:
    shots = read("shot,dose_g,beverage_g,tds_pct\n1,,36,10\n2,18,36,\n").shots
    assert shots["ey_pct"].isna().all()
    assert shots["brew_ratio"].isna().tolist() == [True, False]
    assert shots["usable"].all()


def test_without_a_strength_there_is_ratio_and_no_yield(read: Reader) -> None:
    log = read("shot,dose_g,beverage_g,ey_pct\n1,18,36,20\n")
    assert "ey_pct" not in log.shots
    assert log.shots["typed_ey_pct"].tolist() == [20.0]
    said = " ".join(log.reading.remarks)
    assert "No strength (tds_pct): ratio and time only" in said
    assert "Typed yields are not used" in said


def test_roast_age_adds_no_day_while_frozen(read: Reader) -> None:
    content = (
        "shot,pulled_on,roasted_on,frozen_d\n"
        "1,2026-03-31,2026-03-01,20\n"
        "2,2026-03-31,2026-03-01,\n"
    )
    assert read(content).shots["roast_age_d"].tolist() == [10.0, 30.0]


def test_roast_age_counts_from_the_day_at_the_bench(read: Reader) -> None:
    content = "shot,pulled_at,roasted_on\n1,2026-03-11T00:10+02:00,2026-03-01\n"
    assert read(content).shots["roast_age_d"].tolist() == [10.0]


@pytest.mark.parametrize("name", ["roast_age_d", "brew_ratio", "taper_bar"])
def test_a_typed_value_stands_in_where_nothing_computes_it(name: str, read: Reader) -> None:
    shots = read(f"shot,{name}\n1,3\n").shots
    assert shots[name].tolist() == shots[f"typed_{name}"].tolist() == [3.0]


def test_the_taper_is_held_less_end_pressure(read: Reader) -> None:
    assert read("shot,hold_bar,end_bar\n1,8.5,5.5\n").shots["taper_bar"].tolist() == [3.0]


def test_a_band_follows_from_the_temperature(read: Reader) -> None:
    shots = read("shot,temp_c\n1,85\n2,90\n3,95\n4,\n5,60\n").shots
    assert shots["temp_band"].fillna("none").tolist() == ["low", "medium", "high", "none", "none"]


def test_a_typed_band_wins_over_the_temperature(read: Reader) -> None:
    shots = read("shot,temp_band,temp_c\n1,LOW,93\n2,,93\n").shots
    assert shots["temp_band"].tolist() == ["low", "high"]


def test_machine_and_basket_come_from_the_bench_where_the_log_has_none(read: Reader) -> None:
    bench = Bench(machine="lever-1", basket="18 g")
    shots = read("shot,basket\n1,\n2,20 g\n", bench=bench).shots
    assert shots["machine"].tolist() == ["lever-1", "lever-1"]
    assert shots["basket"].fillna("none").tolist() == ["none", "20 g"]


def test_columns_are_of_their_kind(read: Reader) -> None:
    shots = read(
        "shot,pulled_at,roasted_on,dose_g,position,bag,filtered\n1,2026-03-07T10:00Z,2026-03-01,18,1,b,yes\n"
    ).shots
    kinds = {name: str(kind) for name, kind in shots.dtypes.items()}
    assert kinds["dose_g"] == kinds["position"] == "float64"
    assert kinds["shot"] == kinds["bag"] == kinds["session"] == "str"
    assert kinds["filtered"] == "boolean"
    assert kinds["pulled_at"] == "datetime64[us, UTC]"
    assert kinds["roasted_on"] == kinds["pulled_on"] == "datetime64[s]"
    assert kinds["usable"] == "bool"


@pytest.mark.parametrize(
    ("column", "text"), [("dose_g", "18±0.3"), ("beverage_g", "36±0.3"), ("tds_pct", "10±0.3")]
)
def test_a_stated_half_width_adds_to_the_uncertainty(column: str, text: str, read: Reader) -> None:
    # JCGM 100:2008, 4.3.7: within ± a every value is as likely, so u is a over the root of 3
    cells = {"dose_g": "18", "beverage_g": "36", "tds_pct": "10"}
    head = ",".join(["shot", *cells])
    exact, stated = (
        "1," + ",".join(cells.values()),
        "2," + ",".join((cells | {column: text}).values()),
    )
    shots = read(f"{head}\n{exact}\n{stated}\n").shots
    bare, wider = shots[f"u_{column}"]
    assert wider == pytest.approx(math.hypot(bare, 0.3 / math.sqrt(3)), rel=1e-12)
    assert shots[f"half_width_{column}"].tolist() == [pytest.approx(math.nan, nan_ok=True), 0.3]
    assert shots["ey_pct"].nunique() == 1
    assert shots["u_ey_pct"].is_monotonic_increasing


def test_half_widths_of_readings_count_as_their_mean(read: Reader) -> None:
    # what is common to all readings does not shrink by repeating them
    content = "shot,tds_1_pct,tds_2_pct\n1,9,9\n2,9±0.2,9±0.4\n"
    bare, wider = read(content).shots["u_tds_pct"]
    assert wider == pytest.approx(math.hypot(bare, 0.3 / math.sqrt(3)), rel=1e-12)
