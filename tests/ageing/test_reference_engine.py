"""The trend of the demo's bag against lme4 and pbkrtest in R.

R 4.2.2, lme4 1.1.31, pbkrtest 0.5.2, on the rows that `follow` takes from datasets/one-bag, with
`a` the roast age less its middle and `s` 1 since the service:

    m <- lmer(response ~ a + I(a^2) + grind_setting + s + dose_g + (1 | session), REML = TRUE)
    V <- vcovAdj(m); df <- Lb_ddf(l, vcov(m), V)

for l = (0, 1, g, 0, 0, 0), where g is cov(a, a^2) / var(a) over sessions, which gives the slope
of the straight line that fits best; then the slope at the first and at the last age, and twice
the square. The set of settings per day solves (l'b - rho b4)^2 = t^2 (l'Vl - 2 rho l'V4 +
rho^2 V44) with the df of l'b - rho b4 at its estimate. Printed to ten digits; lme4 stops about
1e-7 short of the optimum.
"""

from __future__ import annotations

from pathlib import Path

import pytest

from yieldwright.ageing.bag_trend import BagTrend
from yieldwright.ageing.following import follow
from yieldwright.models.mixed.model import MixedFit
from yieldwright.shotlog import read_log

#: Estimate, Kenward and Roger's error and df of: average, first and last slope, bend.
ENGINE = {
    "time_s": (
        (-0.2558479932, 0.0897666728, 7.60462131),
        (-0.1185384877, 0.1608277846, 6.88111983),
        (-0.3943428826, 0.2606615075, 6.51998314),
        (-0.0086188873, 0.0123042856, 6.43550297),
    ),
    "ey_pct": (
        (-0.0450256285, 0.0262025959, 8.47864527),
        (-0.0092903981, 0.0478632765, 8.08360821),
        (-0.0810693588, 0.0779261606, 7.99871941),
        (-0.0022430925, 0.0036907040, 7.93606010),
    ),
    "overall": (
        (-0.0299400455, 0.0223765896, 7.87105209),
        (0.2173809112, 0.0403199447, 7.22178803),
        (-0.2793961075, 0.0654677121, 6.95198305),
        (-0.0155242818, 0.0030932615, 6.86827217),
    ),
}

#: Standard deviations of session and shot, and the same for each response.
SPREADS = {
    "time_s": (0.8901167534, 2.1739943921),
    "ey_pct": (0.3848088683, 0.3954394301),
    "overall": (0.2590825639, 0.4881940883),
}

#: Seconds per setting coarser with error and df; settings finer per day with both limits.
PER_SETTING = (-1.6534049657, 0.2227368129, 29.98084219)
FINER = (0.1547400658, 0.0292009988, 0.2920236320)


@pytest.fixture(scope="module")
def followed(root: Path) -> dict[str, BagTrend]:
    """Return the demo's bag followed in time, yield and taste."""
    log = read_log(root / "datasets" / "one-bag")
    return {name: follow(log, bag="bag-21", of=name) for name in ENGINE}


@pytest.mark.parametrize("name", list(ENGINE))
def test_slopes_and_bend_are_those_of_lme4_and_pbkrtest(
    followed: dict[str, BagTrend], name: str
) -> None:
    drift = followed[name].drift
    assert drift is not None
    bend = drift.model.estimate(drift.model.bend(), "bend")
    found = [(e.estimate, e.std_error, e.df) for e in (drift.average, *drift.ends, bend)]
    for one, other in zip(found, ENGINE[name], strict=True):
        assert one[:2] == pytest.approx(other[:2], rel=1e-6)
        assert one[2] == pytest.approx(other[2], rel=1e-6)


@pytest.mark.parametrize("name", list(SPREADS))
def test_spreads_of_sessions_and_shots_are_those_of_lme4(
    followed: dict[str, BagTrend], name: str
) -> None:
    drift = followed[name].drift
    assert drift is not None
    assert isinstance(drift.model.fit, MixedFit)
    found = (drift.model.session_sd, drift.model.fit.sigma)
    assert found == pytest.approx(SPREADS[name], rel=1e-6)


def test_settings_per_day_solve_fiellers_equation_with_its_degrees_of_freedom(
    followed: dict[str, BagTrend],
) -> None:
    grind = followed["overall"].compensation
    assert grind is not None
    setting, finer = grind.seconds_per_setting, grind.finer_per_day
    assert setting is not None
    assert finer is not None
    found = (setting.estimate, setting.std_error, setting.df)
    assert found == pytest.approx(PER_SETTING, rel=1e-6)
    assert (finer.estimate, finer.low, finer.high) == pytest.approx(FINER, rel=1e-6)


def test_the_demo_holds_its_own_truth(followed: dict[str, BagTrend], root: Path) -> None:
    # The demo is a friendly log (its README says how it was chosen); its truth is known.
    from yieldwright.simulate import read_demo_truth

    truth = read_demo_truth(root / "datasets" / "one-bag" / "truth.json")
    law = truth.following
    assert law is not None
    best, grind = followed["overall"].best, followed["time_s"].compensation
    assert best is not None
    assert grind is not None
    assert grind.finer_per_day is not None
    age = grind.model.age
    slower = law.fresh_settings_per_d * (law.rest_d - age.low)
    faster = law.old_settings_per_d * (age.high - law.rest_d)
    assert grind.finer_per_day.holds(-(slower + faster) / (age.high - age.low))
    assert best.low <= law.best_at_fixed_setting_d <= best.high
