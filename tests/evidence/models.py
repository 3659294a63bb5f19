"""Do the intervals of the models cover what they say on logs of 12, 24 and 60 shots?"""

from __future__ import annotations

import time
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field, replace

import numpy as np
import numpy.typing as npt
import pandas as pd

from tests.evidence.tally import Promise, Tally, report
from yieldwright.models.contrasts.contrasts import Estimate, estimate_table
from yieldwright.models.contrasts.effects import curvature, step_effects, vertex
from yieldwright.models.contrasts.means import adjusted_means, joint_test, pairwise_differences
from yieldwright.models.intervals.intervals import exact_interval, sd_interval, wilson_interval
from yieldwright.models.intervals.power import detectable_effect
from yieldwright.models.linear.model import LinearFit, fit_least_squares
from yieldwright.models.terms.design import build_design
from yieldwright.models.terms.terms import Blocks, Factor, Numeric, Term

Array = npt.NDArray[np.float64]
Generator = np.random.Generator

SIZES = (12, 24, 60)

#: Logs that share the settings of one design: a new design every so many.
LOGS_PER_DESIGN = 25

BANDS = {"low": 0.0, "medium": 0.3, "high": 0.7}
SLOPE, AGE_SLOPE, LEVEL, SPREAD = -0.4, 0.02, 20.0, 0.5
TOP = 10.3


@dataclass(frozen=True)
class Question:
    """One promise to check on a fit of one log whose settings are known."""

    quantity: str
    promise: Promise
    holds: Callable[[LinearFit, pd.DataFrame], bool]


@dataclass(frozen=True)
class Scenario:
    """A way in which logs arise, the terms fitted to them, and what is asked."""

    name: str
    terms: list[Term]
    mean: Callable[[pd.DataFrame], Array]
    questions: list[Question]
    noise: Callable[[Generator, pd.DataFrame, int], Array] = field(
        default=lambda rng, frame, logs: rng.normal(0, SPREAD, (logs, len(frame)))
    )
    recorded: Callable[[Array], Array] = field(default=lambda responses: responses)


def settings(rng: Generator, rows: int) -> pd.DataFrame:
    """Return the settings of a log: shuffled, every level used, age growing by session."""
    session = np.arange(rows) // 6
    return pd.DataFrame(
        {
            "grind": rng.permutation(np.resize([8.0, 9.0, 10.0, 11.0, 12.0], rows)),
            "band": rng.permutation(np.resize(list(BANDS), rows)),
            "paper": np.concatenate([rng.permutation(np.resize(["yes", "no"], 6))] * (rows // 6)),
            "session": [f"s{number}" for number in session],
            "age": 5.0 + 3 * session + rng.uniform(0, 2, rows),
            "session_effect": rng.normal(0, 0.6, session.max() + 1)[session],
        }
    )


def line(frame: pd.DataFrame) -> Array:
    """Return the true mean of a line in grind and age, with steps between bands."""
    straight = LEVEL + SLOPE * (frame["grind"] - 10) + AGE_SLOPE * frame["age"]
    return (straight + frame["band"].map(BANDS)).to_numpy()


def sessions(frame: pd.DataFrame) -> Array:
    """Return the true mean of a line in grind, with a level for each session."""
    straight = LEVEL + SLOPE * (frame["grind"] - 10) + frame["session_effect"]
    return (straight + 0.3 * (frame["paper"] == "yes")).to_numpy()


def curve(bend: float) -> Callable[[pd.DataFrame], Array]:
    """Return the true mean of a curve in grind with its top at 10.3."""
    return lambda frame: (
        LEVEL - bend * (frame["grind"] - TOP) ** 2 + AGE_SLOPE * frame["age"]
    ).to_numpy()


def nothing(frame: pd.DataFrame) -> Array:
    """Return a true mean on which no setting has any effect."""
    return np.full(len(frame), LEVEL)


def uneven(rng: Generator, frame: pd.DataFrame, logs: int) -> Array:
    """Return noise whose spread grows fourfold from the finest to the coarsest setting."""
    spread = 0.25 * 4 ** ((frame["grind"].to_numpy() - 8) / 4)
    return rng.normal(0, 1, (logs, len(frame))) * spread


def skewed(rng: Generator, frame: pd.DataFrame, logs: int) -> Array:
    """Return noise with a long tail on one side, its mean 0 and its spread that of the rest."""
    return (rng.gamma(2.0, 1.0, (logs, len(frame))) - 2) / np.sqrt(2) * SPREAD


def half_points(responses: Array) -> Array:
    """Return scores as a taster writes them: in half points."""
    return np.round(responses * 2) / 2


def within(estimate: Estimate, truth: float) -> bool:
    """Return whether the t interval holds the truth."""
    return estimate.ci_low <= truth <= estimate.ci_high


def within_hc3(estimate: Estimate, truth: float) -> bool:
    """Return whether the robust interval holds the truth."""
    return estimate.hc3_ci_low <= truth <= estimate.hc3_ci_high


def slope(fit: LinearFit) -> Estimate:
    """Return the effect of one step of grind."""
    return step_effects(fit, "grind")[0]


def high_less_low(fit: LinearFit) -> Estimate:
    """Return the difference of the outer bands."""
    return next(e for e in pairwise_differences(fit, "band") if e.term == "high − low")


def mean_of_high(frame: pd.DataFrame) -> float:
    """Return the true adjusted mean of the high band, worked out by hand."""
    middle = LEVEL + SLOPE * (frame["grind"].mean() - 10) + AGE_SLOPE * frame["age"].mean()
    return float(middle + BANDS["high"])


def mean_of_paper(frame: pd.DataFrame) -> float:
    """Return the true adjusted mean with paper: every session weighs alike."""
    levels = frame.groupby("session")["session_effect"].first()
    return float(LEVEL + SLOPE * (frame["grind"].mean() - 10) + levels.mean() + 0.3)


def all_effects(fit: LinearFit) -> list[Estimate]:
    """Return every effect a page would look at."""
    return [
        *step_effects(fit, "grind"),
        *step_effects(fit, "age"),
        *pairwise_differences(fit, "band"),
    ]


LINE_TERMS: list[Term] = [Numeric("grind"), Factor("band", tuple(BANDS)), Numeric("age")]
CURVE_TERMS: list[Term] = [Numeric("grind", power=2), Numeric("age")]

SLOPE_QUESTIONS = [
    Question("slope, t", "coverage", lambda fit, _: within(slope(fit), SLOPE)),
    Question("slope, HC3", "at least", lambda fit, _: within_hc3(slope(fit), SLOPE)),
]
LINE_QUESTIONS = [
    *SLOPE_QUESTIONS,
    Question("difference of bands, t", "coverage", lambda f, _: within(high_less_low(f), 0.7)),
    Question("difference, HC3", "at least", lambda f, _: within_hc3(high_less_low(f), 0.7)),
    Question(
        "adjusted mean, t",
        "coverage",
        lambda fit, frame: within(adjusted_means(fit, "band")[2], mean_of_high(frame)),
    ),
    Question(
        "adjusted mean, HC3",
        "at least",
        lambda fit, frame: within_hc3(adjusted_means(fit, "band")[2], mean_of_high(frame)),
    ),
]
#: The robust interval of a *mean* (not of a difference) falls short where noise is skewed:
#: 0.949, 0.926 and 0.939 at 12, 24 and 60 rows over 12,000 logs. No page may print it.
SKEWED_QUESTIONS = [
    replace(each, promise="no promise") if each.quantity == "adjusted mean, HC3" else each
    for each in LINE_QUESTIONS
]
SESSION_QUESTIONS = [
    *SLOPE_QUESTIONS,
    Question(
        "adjusted mean over sessions, t",
        "coverage",
        lambda fit, frame: within(adjusted_means(fit, "paper")[1], mean_of_paper(frame)),
    ),
]
ALARMS = [
    Question("slope, t", "false alarms", lambda fit, _: slope(fit).p_value < 0.05),
    Question("slope, HC3", "false alarms", lambda fit, _: slope(fit).hc3_p_value < 0.05),
    Question("bands, F", "false alarms", lambda f, _: joint_test(f, "band").p_value < 0.05),
    Question(
        "any of five effects, Holm",
        "false alarms",
        lambda fit, _: bool((estimate_table(all_effects(fit))["p_holm"] < 0.05).any()),
    ),
]


def curve_questions(bend: float) -> list[Question]:
    """Return what is asked of a curve of a known bend."""
    ends = {"low end": 0, "middle": 1, "high end": 2}
    truths = [-2 * bend * (place - TOP) for place in (8.0, 10.0, 12.0)]
    slopes = [
        Question(
            f"slope at the {name}, t",
            "coverage",
            lambda fit, _, k=k: within(step_effects(fit, "grind")[k], truths[k]),
        )
        for name, k in ends.items()
    ]
    return [
        *slopes,
        Question("bend, t", "coverage", lambda f, _: within(curvature(f, "grind"), -2 * bend)),
        Question("top, Fieller", "coverage", lambda fit, _: vertex(fit, "grind").holds(TOP)),
        Question(
            "top, Fieller on HC3",
            "at least",
            lambda fit, _: vertex(fit, "grind", errors="hc3").holds(TOP),
        ),
    ]


SCENARIOS = [
    Scenario("line", LINE_TERMS, line, LINE_QUESTIONS),
    Scenario("skewed noise", LINE_TERMS, line, SKEWED_QUESTIONS, noise=skewed),
    Scenario("half-point score", LINE_TERMS, line, LINE_QUESTIONS, recorded=half_points),
    Scenario(
        "sessions",
        [Numeric("grind"), Factor("paper", ("no", "yes")), Blocks("session")],
        sessions,
        SESSION_QUESTIONS,
    ),
    Scenario("clear curve", CURVE_TERMS, curve(0.35), curve_questions(0.35)),
    Scenario("faint curve", CURVE_TERMS, curve(0.05), curve_questions(0.05)),
    Scenario("uneven noise", LINE_TERMS, line, [SLOPE_QUESTIONS[1]], noise=uneven),
    Scenario("nothing there", LINE_TERMS, nothing, ALARMS),
]


def simulated(scenario: Scenario, rows: int, logs: int, rng: Generator) -> Iterator[Tally]:
    """Yield a tally for each question of a scenario."""
    held = dict.fromkeys((question.quantity for question in scenario.questions), 0)
    done = 0
    while done < logs:
        frame = settings(rng, rows)
        design = build_design(frame, scenario.terms)
        count = min(LOGS_PER_DESIGN, logs - done)
        responses = scenario.mean(frame) + scenario.noise(rng, frame, count)
        for response in scenario.recorded(responses):
            fit = fit_least_squares(design, response)
            for question in scenario.questions:
                held[question.quantity] += question.holds(fit, frame)
        done += count
    for question in scenario.questions:
        count = held[question.quantity]
        yield Tally(scenario.name, rows, question.quantity, question.promise, count, logs)


def proportions(rows: int, logs: int, rng: Generator) -> Iterator[Tally]:
    """Yield tallies of the intervals of a failure rate somewhere between 2 and 40 %."""
    rates = rng.uniform(0.02, 0.4, logs)
    counts = rng.binomial(rows, rates)
    for name, interval in (("Wilson", wilson_interval), ("exact", exact_interval)):
        limits = [interval(count, rows) for count in counts.tolist()]
        held = sum(low <= rate <= high for (low, high), rate in zip(limits, rates, strict=True))
        yield Tally("failure rate", rows, name, "at least", held, logs)


def spreads(rows: int, logs: int, rng: Generator) -> Iterator[Tally]:
    """Yield the tally of the interval of a spread."""
    samples = rng.normal(0, SPREAD, (logs, rows)).std(axis=1, ddof=1)
    limits = [sd_interval(sd, rows - 1) for sd in samples.tolist()]
    held = sum(low <= SPREAD <= high for low, high in limits)
    yield Tally("spread", rows, "standard deviation, chi-square", "coverage", held, logs)


def detections(rows: int, logs: int, rng: Generator) -> Iterator[Tally]:
    """Yield how often an effect of the detectable size is found."""
    held = 0
    for start in range(0, logs, LOGS_PER_DESIGN):
        frame = settings(rng, rows)
        design = build_design(frame, LINE_TERMS)
        fit = fit_least_squares(design, rng.normal(size=rows))
        std_error = SPREAD * slope(fit).std_error / fit.sigma
        effect = detectable_effect(std_error, fit.df_resid)
        count = min(LOGS_PER_DESIGN, logs - start)
        responses = effect * frame["grind"].to_numpy() + rng.normal(0, SPREAD, (count, rows))
        held += sum(slope(fit_least_squares(design, y)).p_value < 0.05 for y in responses)
    yield Tally("detectable", rows, "slope of the size named", "power", held, logs)


def study(logs: int, seed: int, *, sizes: tuple[int, ...] = SIZES) -> Iterator[Tally]:
    """Yield every tally of the study; the same seed gives the same tallies."""
    for number, scenario in enumerate(SCENARIOS):
        for rows in sizes:
            yield from simulated(scenario, rows, logs, np.random.default_rng([seed, number, rows]))
    for number, plain in enumerate((proportions, spreads, detections), start=len(SCENARIOS)):
        for rows in sizes:
            yield from plain(rows, logs, np.random.default_rng([seed, number, rows]))


def run(logs: int, seed: int) -> int:
    """Print the study; return 0 where every promise is kept."""
    begun = time.perf_counter()
    tallies = list(study(logs, seed))
    promised = [each for each in tallies if each.promise != "no promise"]
    broken = sum(not each.kept() for each in promised)
    print(report(tallies))
    print(f"\n{logs} logs a line, seed {seed}, {time.perf_counter() - begun:.0f} s;", end=" ")
    print(f"{len(promised) - broken} of {len(promised)} promises kept, ", end="")
    print(f"{len(tallies) - len(promised)} lines promise nothing")
    return int(broken > 0)
