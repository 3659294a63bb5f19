"""How often do control charts alarm on a steady bench: as published, and as told?"""

from __future__ import annotations

import math
import time
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt
import pandas as pd

from yieldwright.bench import Bench
from yieldwright.models.charts.cusum import accumulated
from yieldwright.models.charts.ewma import smoothed
from yieldwright.models.charts.false_alarms import DRAWS
from yieldwright.models.charts.run_lengths import (
    cusum_run_length,
    ewma_run_length,
    rules_run_length,
)
from yieldwright.models.charts.run_rules import RULES, WESTERN_ELECTRIC, Rule, met_by
from yieldwright.repeatability.charts.charting import charts_of
from yieldwright.repeatability.charts.watched_series import WatchedSeries, watched_series
from yieldwright.repeatability.charts.watching import (
    ALLOWANCE,
    DECISION,
    DEFAULT_RULES,
    LIMIT,
    WEIGHT,
    Watch,
    watch,
)
from yieldwright.taste.columns.comparable import ComparableSet

Generator = np.random.Generator
Array = npt.NDArray[np.float64]
Flags = npt.NDArray[np.bool_]

SIZES = (15, 30, 60)

#: Standard deviation of the shots of a steady bench.
SPREAD = 2.0

#: Logs that share one layout of settings.
LOGS_PER_LAYOUT = 50

#: Of rules about neighbours, and of all watchers together, no run length is computed: what
#: is counted is shown beside nothing.
NOTHING = math.nan

#: Values drawn at a time, and the last of them that a chart may still remember.
STRETCH, MEMORY = 1000, 150

#: Standard errors that a count may lie off.
ERRORS = 4.0

#: Rules whose runs are so long that a short study passes them over.
SELDOM = ("eight_outside_1s", "seven_trend")


@dataclass(frozen=True)
class Line:
    """One comparison: what was counted, its standard error, and what was said of it."""

    scenario: str
    quantity: str
    shots: int
    counted: float
    error: float
    said: float
    promised: bool = True

    def kept(self) -> bool:
        """Return whether the count lies within some standard errors of what was said."""
        if not self.promised or math.isnan(self.said):
            return True
        return abs(self.counted - self.said) <= ERRORS * self.error

    def __str__(self) -> str:
        """Return the line of a table."""
        places = 1 if self.counted > 1 else 3
        said = "–" if math.isnan(self.said) else f"{self.said:.{places}f}"
        verdict = "" if self.kept() else "  NOT AS SAID"
        shown = "" if self.promised else "  (no promise)"
        return (
            f"{self.scenario:<22}{self.shots or '':>6}  {self.quantity:<36}"
            f"{self.counted:>9.{places}f}{self.error:>8.{places}f}{said:>9}{verdict}{shown}"
        )


def run_lengths(alarms: Callable[[Array], Flags], logs: int, rng: Generator) -> Array:
    """Return how many steady values each log took to its first alarm."""
    lengths = np.zeros(logs)
    waiting, seen = np.arange(logs), 0
    before = np.empty((logs, 0))
    while len(waiting):
        z = np.hstack([before, rng.standard_normal((len(waiting), STRETCH))])
        flags = alarms(z)[:, before.shape[1] :]
        over = flags.any(axis=1)
        lengths[waiting[over]] = seen + flags[over].argmax(axis=1) + 1
        waiting, before = waiting[~over], z[~over, -MEMORY:]
        seen += STRETCH
    return lengths


def _beyond_average(z: Array) -> Flags:
    reach = LIMIT * math.sqrt(WEIGHT / (2 - WEIGHT))
    return np.abs(smoothed(z, WEIGHT)) > reach


def _beyond_sums(z: Array) -> Flags:
    sums = np.maximum(accumulated(z, ALLOWANCE), accumulated(-z, ALLOWANCE))
    return np.asarray(sums > DECISION)


def _of(rules: Sequence[Rule]) -> Callable[[Array], Flags]:
    return lambda z: np.logical_or.reduce([met_by(rule, z) for rule in rules])


def _default(z: Array) -> Flags:
    return _of(DEFAULT_RULES)(z) | _beyond_average(z) | _beyond_sums(z)


def known_limits(logs: int, rng: Generator, *, longest: bool) -> Iterator[Line]:
    """Yield run lengths with known centre and spread beside the computed ones."""
    cases: list[tuple[str, Callable[[Array], Flags], float]] = [
        (name, _of([rule]), rules_run_length([rule]) if rule.of_zones else NOTHING)
        for name, rule in RULES.items()
        if longest or name not in SELDOM
    ]
    cases += [
        ("running average", _beyond_average, ewma_run_length(WEIGHT, LIMIT)),
        ("sums", _beyond_sums, cusum_run_length(ALLOWANCE, DECISION)),
        ("default rules", _of(DEFAULT_RULES), rules_run_length(DEFAULT_RULES)),
        ("default rules, average, sums", _default, NOTHING),
        ("Western Electric", _of(WESTERN_ELECTRIC), rules_run_length(WESTERN_ELECTRIC)),
    ]
    for name, alarms, said in cases:
        lengths = run_lengths(alarms, logs, rng)
        error = float(lengths.std() / math.sqrt(logs))
        yield Line("limits known", f"{name}: run length", 0, float(lengths.mean()), error, said)


def steady_log(shots: int, rng: Generator, *, varied: bool) -> ComparableSet:
    """Return the layout of a log: one setting, or grind, band and age that vary."""
    session = np.arange(shots) // 6
    frame = pd.DataFrame({"shot": [f"s{place}" for place in range(shots)], "session": session})
    frame["pulled_on"] = pd.Timestamp("2026-05-01") + pd.to_timedelta(2 * session, unit="D")
    frame["position"] = np.arange(shots) % 6 + 1.0
    frame["time_s"] = rng.normal(36.0, SPREAD, shots)
    if varied:
        frame["grind_setting"] = rng.permutation(np.resize([10.0, 11.0, 12.0], shots))
        frame["temp_band"] = rng.permutation(np.resize(["low", "high"], shots))
        frame["roast_age_d"] = 8.0 + 2 * session
    return ComparableSet("", "", frame)


def normal(rng: Generator, shots: int) -> Array:
    """Return what charts assume."""
    return rng.normal(0.0, SPREAD, shots)


def skewed(rng: Generator, shots: int) -> Array:
    """Return noise with a long tail on one side, its mean 0 and its spread that of the rest."""
    return SPREAD * (rng.gamma(4.0, 1.0, shots) - 4) / 2


@dataclass(frozen=True)
class Scenario:
    """A way in which steady logs arise."""

    name: str
    varied: bool
    noise: Callable[[Generator, int], Array]
    promised: bool = True


SCENARIOS = (
    Scenario("one setting", varied=False, noise=normal),
    Scenario("settings and age vary", varied=True, noise=normal),
    # What is told rests on normal values; this shows what it costs where they are not.
    Scenario("skewed noise", varied=False, noise=skewed, promised=False),
)


def told(scenario: Scenario, shots: int, logs: int, rng: Generator) -> Iterator[Line]:
    """Yield how often logs alarm, and intervals hold, beside what was told of them.

    What settings do along a line leaves no trace in what is charted, so noise alone is
    drawn. Chances hang on the layout and are drawn too: both are new every 50 logs.
    """
    hits: dict[str, list[bool]] = {}
    said: dict[str, list[float]] = {}
    layouts = math.ceil(logs / LOGS_PER_LAYOUT)
    for logs_of_layout in np.diff(np.linspace(0, logs, layouts + 1).astype(int)):
        comparable = steady_log(shots, rng, varied=scenario.varied)
        answer = watch(comparable, "time_s", bench=Bench(), rng=rng)
        series = watched_series(comparable, "time_s", bench=Bench(), baseline=None)
        for name, chance in _chances(answer).items():
            said.setdefault(name, []).append(chance)
        for _ in range(logs_of_layout):
            drawn = replace(series, observed=scenario.noise(rng, shots))
            for name, hit in _outcomes(answer, drawn).items():
                hits.setdefault(name, []).append(hit)
    for name, each in hits.items():
        share, chance = float(np.mean(each)), float(np.mean(said[name]))
        # Both were drawn: what was told has an error of its own.
        both = 1 / logs + 1 / (layouts * DRAWS)
        error = math.sqrt(max(chance * (1 - chance), 1 / logs) * both)
        yield Line(scenario.name, name, shots, share, error, chance, promised=scenario.promised)


def _chances(answer: Watch) -> dict[str, float]:
    """Return what is said to happen how often."""
    assert answer.chances is not None
    alarms = {f"{name}: alarms": chance for name, chance in answer.chances.of_each.items()}
    any_of = {"any of them: alarms": answer.chances.of_any}
    return {**alarms, **any_of, "spread: held": 0.95, "centre: held": 0.95}


def _outcomes(answer: Watch, drawn: WatchedSeries) -> dict[str, bool]:
    """Return what happened in one log, intervals as `watch` makes them."""
    assert answer.chances is not None
    charts = charts_of(drawn, answer.watchers, baseline=len(drawn.observed))
    found = {f"{name}: alarms": bool(flags.any()) for name, flags in charts.flags.items()}
    scale = charts.single.sigma
    low, high = answer.chances.spread_factors
    return {
        **found,
        "any of them: alarms": any(found.values()),
        "spread: held": low * scale <= SPREAD <= high * scale,
        "centre: held": abs(charts.single.center) <= answer.chances.center_factor * scale,
    }


def study(
    logs: int,
    seed: int,
    *,
    sizes: Sequence[int] = SIZES,
    scenarios: Sequence[Scenario] = SCENARIOS,
    longest: bool = True,
) -> Iterator[Line]:
    """Yield every line of the study."""
    yield from known_limits(logs, np.random.default_rng([seed, 0]), longest=longest)
    for place, scenario in enumerate(scenarios):
        for shots in sizes:
            rng = np.random.default_rng([seed, place + 1, shots])
            yield from told(scenario, shots, logs, rng)


def run(logs: int, seed: int) -> int:
    """Print run lengths and false alarms beside what is said of them; return 0 if all agree."""
    started = time.perf_counter()
    print(f"{'scenario':<22}{'shots':>6}  {'quantity':<36}{'counted':>9}{'±':>8}{'said':>9}")
    lines = []
    for line in study(logs, seed):
        lines.append(line)
        print(line)
    broken = [line for line in lines if not line.kept()]
    print(f"{len(lines)} lines, {len(broken)} beyond {ERRORS:g} standard errors; {logs} logs, "
          f"seed {seed}, {time.perf_counter() - started:.0f} s")  # fmt: skip
    return int(bool(broken))
