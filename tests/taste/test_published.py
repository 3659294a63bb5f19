"""Effects equal published and reference-engine values where the design has a known answer."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pandas as pd
import pytest

from yieldwright.bench import Band, Bench
from yieldwright.taste import ComparableSet, EffectsFit, fit_effects


def expected(reference: Path, name: str) -> Any:
    return json.loads((reference / "stats" / name / "expected.json").read_text())["expected"]


def effect(fit: EffectsFit, step: str) -> pd.Series:
    """Return the row of one step."""
    (position,) = fit.effects.index[fit.effects["step"] == step]
    return fit.effects.loc[position]


@pytest.mark.parametrize(
    ("attribute", "settings"),
    [
        ("overall", ("grind_setting", "dose_g", "temp_c", "prewet_s")),
        ("acid", None),
        ("bitter", None),
    ],
)
def test_the_half_factorial_equals_its_printed_regression(
    reference: Path, attribute: str, settings: tuple[str, ...] | None
) -> None:
    # Morgan 2020, printed R output to 4–5 figures: tolerance half a unit of the last digit.
    # Water temperature and steep time stand in for columns of ours; the day is the session.
    run = pd.read_csv(reference / "factorial_8.csv")
    printed = pd.read_csv(reference / "factorial_8_printed.csv")
    printed = printed[(printed["response"] == attribute) & (printed["model"] == "full")]
    names = {"water_temp_F": "temp_c", "steep_time_s": "prewet_s", "date": "session"}
    shots = run.rename(columns=names).assign(
        **{f"score:{attribute}": run[attribute].astype(float)}
    )
    settings = settings or ("grind_setting", "dose_g", "temp_c", "prewet_s")
    fit = fit_effects(
        ComparableSet("", "", shots),
        f"score:{attribute}",
        bench=Bench(),
        settings=settings,
        adjusters=(),
    )
    found = fit.effects.set_index("term")
    for row in printed.to_dict("records")[1:]:
        ours = found.loc[names.get(row["term"], row["term"])]
        scale = ours["std_error"] / row["printed_se"]
        assert scale == pytest.approx(1, abs=5e-4)
        assert ours["estimate"] == pytest.approx(row["printed_estimate"], abs=5e-6)
        assert ours["statistic"] == pytest.approx(row["printed_t"], abs=5e-4)
        assert ours["p_value"] == pytest.approx(row["printed_p"], abs=5e-5)
    assert set(found["stratum"]) == {"pooled"}
    assert set(found["df"]) == {3}


def test_adjusted_means_equal_those_of_an_analysis_of_covariance(reference: Path) -> None:
    # Montgomery 2013, table 15.10; means and contrasts computed with R emmeans 1.8.4.
    values = expected(reference, "emmeans_fiber")["additive"]
    data = pd.read_csv(reference / "stats" / "emmeans_fiber" / "data.csv")
    shots = data.rename(
        columns={"machine": "temp_band", "diameter": "dose_g", "strength": "ey_pct"}
    )
    bench = Bench(bands=tuple(Band(name, 80, 90) for name in "ABC"))
    fit = fit_effects(ComparableSet("", "", shots), "ey_pct", bench=bench, adjusters=("dose_g",))
    means = fit.band_means.set_index("band")
    for row in values["emmeans"]:
        ours = means.loc[row["machine"]]
        assert ours["estimate"] == pytest.approx(row["emmean"], rel=1e-9)
        assert ours["std_error"] == pytest.approx(row["SE"], rel=1e-9)
        assert ours["ci_low"] == pytest.approx(row["lower.CL"], rel=1e-9)
        assert ours["ci_high"] == pytest.approx(row["upper.CL"], rel=1e-9)
    assert effect(fit, "A → B")["estimate"] == pytest.approx(values["coef"]["machineB"], rel=1e-9)
    last = values["coef"]["machineC"] - values["coef"]["machineB"]
    assert effect(fit, "B → C")["estimate"] == pytest.approx(last, rel=1e-9)
    assert fit.residual_sd == pytest.approx(values["sigma"], rel=1e-9)


def test_sessions_as_blocks_equal_the_mixed_model_of_a_balanced_log(reference: Path) -> None:
    # Belenky et al. 2003, ten days for each of 18 subjects: with balance the random-intercept
    # model of lme4 and blocks agree; R 4.2.2, Satterthwaite.
    values = expected(reference, "mixed_sleepstudy")["lme4"]["intercept"]
    data = pd.read_csv(
        reference / "stats" / "mixed_sleepstudy" / "data.csv", dtype={"Subject": str}
    )
    names = {"Subject": "session", "Days": "position", "Reaction": "time_s"}
    fit = fit_effects(ComparableSet("", "", data.rename(columns=names)), "time_s", bench=Bench())
    days = effect(fit, "one shot later in the session")
    assert days["estimate"] == pytest.approx(values["REML"]["fixef"]["Days"], rel=1e-9)
    assert days["std_error"] == pytest.approx(values["REML"]["se"]["Days"], rel=1e-7)
    assert days["df"] == pytest.approx(values["satterthwaite"]["df"]["Days"], rel=1e-6)
    assert days["statistic"] == pytest.approx(values["satterthwaite"]["t"]["Days"], rel=1e-7)
    assert fit.residual_sd == pytest.approx(values["REML"]["sigma"], rel=1e-7)


def test_a_setting_of_whole_sessions_equals_the_split_plot_of_the_mixed_model(
    reference: Path,
) -> None:
    # Cochran and Cox's cakes: recipe constant in each of 45 batches, temperature changed inside;
    # lme4's exact optimum, Satterthwaite 42 and 224 degrees of freedom.
    values = expected(reference, "mixed_cake")["exact_optimum"]["main"]
    data = pd.read_csv(reference / "stats" / "mixed_cake" / "data.csv")
    shots = data.assign(
        session=data["recipe"] + data["replicate"].astype(str),
        temp_band=data["recipe"],
        temp_c=data["temp"].astype(float),
        ey_pct=data["angle"].astype(float),
    )
    fit = fit_effects(
        ComparableSet("", "", shots),
        "ey_pct",
        bench=Bench(bands=tuple(Band(name, 80, 90) for name in "ABC")),
        settings=("temp_band", "temp_c"),
        adjusters=(),
    )
    recipe, temperature = effect(fit, "A → B"), effect(fit, "1 °C hotter")
    assert recipe["stratum"] == "between sessions"
    assert recipe["estimate"] == pytest.approx(values["REML"]["fixef"]["recipeB"], rel=1e-9)
    assert recipe["std_error"] == pytest.approx(values["REML"]["se"]["recipeB"], rel=1e-9)
    assert recipe["df"] == pytest.approx(values["satterthwaite_df"]["recipeB"], rel=1e-9)
    assert temperature["stratum"] == "within sessions"
    assert temperature["estimate"] == pytest.approx(values["REML"]["fixef"]["temp"], rel=1e-9)
    assert temperature["std_error"] == pytest.approx(values["REML"]["se"]["temp"], rel=1e-9)
    assert temperature["df"] == pytest.approx(values["satterthwaite_df"]["temp"], rel=1e-9)
