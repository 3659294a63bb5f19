"""What must not matter does not: units, order, names, direction, an added constant."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from tempfile import TemporaryDirectory

import numpy as np
import pandas as pd
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from tests.evidence.clean_logs import BENCH, Size, comparable
from tests.evidence.planted import counted, kept_with_care
from yieldwright.bench import Bench, Grinder
from yieldwright.shotlog import read_log
from yieldwright.taste import EffectsFit, comparable_sets, fit_effects

few = settings(max_examples=5, deadline=None, suppress_health_check=[HealthCheck.too_slow])
seeds = st.integers(0, 10_000)

NUMBERS = ["estimate", "std_error", "df", "ci_low", "ci_high", "statistic", "p_value", "vif"]


def careful(seed: int, sessions: int = 4) -> pd.DataFrame:
    return kept_with_care(counted(Size(sessions), np.random.default_rng(seed)))


def fit(frame: pd.DataFrame, response: str = "ey_pct", *, bench: Bench = BENCH) -> EffectsFit:
    return fit_effects(comparable(frame), response, bench=bench)


def read(
    frame: pd.DataFrame,
    response: str,
    asked: tuple[str, ...],
    *,
    tastings: pd.DataFrame | None = None,
) -> EffectsFit:
    """Return the answer to a log that was written to a folder and read from it."""
    computed = ["ey_pct", "taper_bar", "roast_age_d", "pulled_on"]
    told = frame.drop(columns=computed, errors="ignore").assign(
        pulled_at=lambda each: [moment.isoformat() for moment in each["pulled_at"]]
    )
    with TemporaryDirectory() as folder:
        told.to_csv(Path(folder, "shots.csv"), index=False)
        if tastings is not None:
            tastings.to_csv(Path(folder, "tastings.csv"), index=False)
        log = read_log(folder, bench=BENCH)
    return fit_effects(comparable_sets(log)[0], response, bench=BENCH, settings=asked)


def assert_alike(first: EffectsFit, second: EffectsFit, *, rel: float = 1e-7) -> None:
    """Hold that two answers have the same effects, cautions and pairs."""
    assert first.effects["step"].tolist() == second.effects["step"].tolist()
    for column in NUMBERS:
        one, other = (each.effects[column].to_numpy(dtype=float) for each in (first, second))
        assert one == pytest.approx(other, rel=rel, abs=1e-9, nan_ok=True)
    assert {each.code for each in first.cautions} == {each.code for each in second.cautions}


def with_temperature(seed: int) -> pd.DataFrame:
    """Return shots whose temperature is set inside sessions and logged in °C."""
    rng = np.random.default_rng(seed)
    frame = careful(seed)
    celsius = rng.permuted(np.resize([87.0, 91.0, 95.0], len(frame)))
    return frame.drop(columns="temp_band").assign(temp_c=celsius)


@few
@given(seed=seeds)
def test_fahrenheit_tells_what_celsius_tells(seed: int) -> None:
    asked = ("grind_setting", "temp_c")
    celsius = with_temperature(seed)
    fahrenheit = celsius.assign(
        temp_c=[f"{1.8 * value + 32:.1f} °F" for value in celsius["temp_c"]]
    )
    assert_alike(read(celsius, "time_s", asked), read(fahrenheit, "time_s", asked))


@few
@given(seed=seeds)
def test_ounces_tell_what_grams_tell(seed: int) -> None:
    asked = ("grind_setting", "temp_band")
    grams = careful(seed)
    ounces = grams.assign(dose_g=[f"{value / 28.349523125:.9f} oz" for value in grams["dose_g"]])
    assert_alike(read(grams, "time_s", asked), read(ounces, "time_s", asked), rel=1e-5)


@few
@given(seed=seeds)
def test_the_order_of_the_rows_does_not_matter(seed: int) -> None:
    frame = careful(seed)
    shuffled = frame.sample(frac=1, random_state=seed).reset_index(drop=True)
    assert_alike(fit(frame), fit(shuffled))


@few
@given(seed=seeds)
def test_the_names_and_the_order_of_tasters_do_not_matter(seed: int) -> None:
    rng = np.random.default_rng(seed)
    frame = careful(seed)
    cups = frame[frame["fate"] == "pulled"]
    tastings = pd.DataFrame(
        [
            {"shot": shot, "taster": taster, "attribute": "overall", "score": score}
            for shot, base in zip(cups["shot"], cups["overall"], strict=True)
            for taster, score in zip(
                ("t1", "t2", "t3"), np.clip(base + rng.integers(-2, 3, 3) / 2, 0, 10), strict=True
            )
        ]
    )
    renamed = tastings.assign(taster=tastings["taster"].map({"t1": "t3", "t2": "t1", "t3": "t2"}))
    renamed = renamed.sample(frac=1, random_state=seed)
    asked, told = ("grind_setting", "temp_band"), frame.drop(columns="overall")
    first = read(told, "score:overall", asked, tastings=tastings)
    assert first.answered
    second = read(told, "score:overall", asked, tastings=renamed)
    assert_alike(first, second, rel=1e-4)  # what a search for spreads stops at


@few
@given(seed=seeds)
def test_a_grinder_numbered_the_other_way_gives_the_same_step_coarser(seed: int) -> None:
    frame = careful(seed)
    mirrored = frame.assign(grind_setting=22 - frame["grind_setting"])
    down = replace(
        BENCH,
        grinders=(Grinder("mill", step=1.0, coarser="down", retained_g=1.0, stated=True),),
    )
    assert_alike(fit(frame), fit(mirrored, bench=down))


@few
@given(seed=seeds)
def test_rows_told_twice_raise_the_alarm(seed: int) -> None:
    frame = careful(seed)
    doubled = pd.concat([frame, frame.assign(shot=frame["shot"] + "x")], ignore_index=True)
    once, twice = fit(frame), fit(doubled)
    assert "copied-shots" not in {each.code for each in once.cautions}
    (caution,) = [each for each in twice.cautions if each.code == "copied-shots"]
    assert caution.severity == "stop"


@few
@given(seed=seeds, shift=st.sampled_from([-2.0, -0.5, 1.0, 1.5]))
def test_a_harsher_hand_shifts_means_and_nothing_else(seed: int, shift: float) -> None:
    rng = np.random.default_rng(seed)
    frame = careful(seed)
    frame["overall"] = (
        frame["overall"].clip(2.5, 7.5) + rng.integers(-1, 2, len(frame)) / 4
    ).clip(2.25, 8)
    first, second = (
        fit(each, "score:overall")
        for each in (frame, frame.assign(overall=frame["overall"] + shift))
    )
    assert_alike(first, second)
    moved = second.band_means["estimate"] - first.band_means["estimate"]
    assert moved.to_numpy(dtype=float) == pytest.approx(shift)


@few
@given(seed=seeds)
def test_other_names_for_shots_and_sessions_change_nothing(seed: int) -> None:
    frame = careful(seed)
    names = {name: f"evening {place}" for place, name in enumerate(frame["session"].unique())}
    renamed = frame.assign(session=frame["session"].map(names), shot=frame["shot"] + "-b")
    assert_alike(fit(frame), fit(renamed))
