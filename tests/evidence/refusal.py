"""Does the tool say "cannot tell" wherever a log cannot answer?

Run `python -m tests.evidence refusal --logs 100` from the top of the checkout: so many logs in
all, of ten kinds that nobody could answer from.
"""

from __future__ import annotations

import time
from collections.abc import Callable, Iterator
from dataclasses import dataclass

import numpy as np
import pandas as pd

from tests.evidence.clean_logs import BANDS, BENCH, Generator, Size, comparable, with_outcomes
from tests.evidence.planted import counted
from tests.evidence.tally import Tally
from yieldwright.taste import EffectsFit, fit_effects

#: Words of a remedy: what to pull, to change, or to write down.
REMEDIES = ("Pull ", "Change ", "Log it", "needed", "pulled more than once")


@dataclass(frozen=True)
class Unanswerable:
    """A kind of log, and the settings that it says nothing about."""

    name: str
    draw: Callable[[Generator], pd.DataFrame]
    undecidable: tuple[str, ...]
    response: str = "ey_pct"


def same_throughout(*columns: str) -> Callable[[Generator], pd.DataFrame]:
    """Return logs in which some settings never change."""
    usual = {"grind_setting": 11.0, "temp_band": "low", "taper_bar": 2.0}

    def draw(rng: Generator) -> pd.DataFrame:
        return counted(Size(4), rng).assign(**{column: usual[column] for column in columns})

    return draw


def alike_in_all(rng: Generator) -> pd.DataFrame:
    """Return shots of one session that differ in nothing but chance."""
    shots = same_throughout("grind_setting", "temp_band", "taper_bar")(rng)
    return shots.assign(session="one", position=1.0, roast_age_d=9.0, dose_g=18.0)


def band_is_session(rng: Generator) -> pd.DataFrame:
    """Return two sessions, each at a band of its own."""
    shots = counted(Size(2), rng)
    first = shots["session"] == "day 1"
    return with_outcomes(shots.assign(temp_band=np.where(first, BANDS[0], BANDS[1])), rng)


def fewer_than_terms(rng: Generator) -> pd.DataFrame:
    """Return four shots of one session, for three settings."""
    return counted(Size(1), rng).head(4)


def scored_alike(rng: Generator) -> pd.DataFrame:
    """Return shots that all got one score."""
    return counted(Size(4), rng).assign(overall=7.0)


def grind_is_age(rng: Generator) -> pd.DataFrame:
    """Return one grind setting a day, one finer every day."""
    shots = counted(Size(6), rng)
    return with_outcomes(shots.assign(grind_setting=15.0 - shots["roast_age_d"] / 3), rng)


def grind_is_taper(rng: Generator) -> pd.DataFrame:
    """Return a taper that follows from the grind setting."""
    shots = counted(Size(4), rng)
    return shots.assign(taper_bar=shots["grind_setting"] - 8)


def nothing_logged(rng: Generator) -> pd.DataFrame:
    """Return shots whose settings were never written down, and whose yield was not."""
    shots = counted(Size(4), rng)
    return shots.assign(grind_setting=np.nan, temp_band=None, taper_bar=np.nan, ey_pct=np.nan)


def one_taste(rng: Generator) -> pd.DataFrame:
    """Return a log of which somebody tasted a single shot."""
    shots = counted(Size(4), rng)
    return shots.assign(overall=shots["overall"].where(shots.index == rng.integers(24)))


def all_failed(rng: Generator) -> pd.DataFrame:
    """Return shots that all choked."""
    return counted(Size(4), rng).assign(fate="choked")


KINDS = (
    Unanswerable("nothing changed", alike_in_all, ("grind_setting", "temp_band", "taper_bar")),
    Unanswerable("grind never changed", same_throughout("grind_setting"), ("grind_setting",)),
    Unanswerable("band = session, two of them", band_is_session, ("temp_band",)),
    Unanswerable(
        "fewer shots than terms", fewer_than_terms, ("grind_setting", "temp_band", "taper_bar")
    ),
    Unanswerable(
        "all scores equal",
        scored_alike,
        ("grind_setting", "temp_band", "taper_bar"),
        "score:overall",
    ),
    Unanswerable("grind = age of the bag", grind_is_age, ("grind_setting",)),
    Unanswerable("taper = grind", grind_is_taper, ("grind_setting", "taper_bar")),
    Unanswerable("nothing logged", nothing_logged, ("grind_setting", "temp_band", "taper_bar")),
    Unanswerable(
        "one shot tasted", one_taste, ("grind_setting", "temp_band", "taper_bar"), "score:overall"
    ),
    Unanswerable("all shots failed", all_failed, ("grind_setting", "temp_band", "taper_bar")),
)


def cannot_tell(fit: EffectsFit, column: str) -> bool:
    """Return whether an answer claims nothing of a setting, says why, and what would mend it."""
    told = [pair for pair in fit.confounded if column in (pair.first, pair.second)]
    forbidden = any(pair.forbids_verdict for pair in told)
    rows = fit.effects[fit.effects["term"] == column]
    claims = ((rows["ci_low"] * rows["ci_high"]) > 0).any() and not forbidden
    claims = claims or any(said.startswith(_claims(column)) for said in fit.sentences)
    reason = bool(fit.missing) or forbidden or column in dict(fit.left_out)
    spoken = (*fit.sentences, *(each.text for each in fit.cautions))
    return not claims and reason and any(word in said for said in spoken for word in REMEDIES)


def _claims(column: str) -> tuple[str, ...]:
    """Return how a sentence begins that claims an effect of a setting."""
    return {
        "grind_setting": ("One setting coarser",),
        "temp_band": ("The medium band", "The low band", "The high band"),
        "taper_bar": ("1 bar more taper", "0.1 bar more taper"),
    }[column]


def refused(kind: Unanswerable, logs: int, rng: Generator) -> Tally:
    """Return how often logs of one kind are met by "cannot tell" for every such setting."""
    held, n_shots = 0, 0
    for _ in range(logs):
        fit = fit_effects(comparable(kind.draw(rng)), kind.response, bench=BENCH)
        held += all(cannot_tell(fit, column) for column in kind.undecidable)
        n_shots = fit.n_shots
    return Tally(kind.name, n_shots, "cannot tell", "found", held, logs)


def study(logs: int, seed: int) -> Iterator[Tally]:
    """Yield every tally; the logs are shared out among the kinds."""
    rng = np.random.default_rng(seed)
    share, rest = divmod(logs, len(KINDS))
    for place, kind in enumerate(KINDS):
        yield refused(kind, max(share + (place < rest), 1), rng)


def run(logs: int, seed: int) -> int:
    """Print the study and return 0 where every log was refused."""
    began = time.perf_counter()
    tallies = list(study(logs, seed))
    print(f"{'kind of log':<30}{'shots':>5}{'logs':>6}  cannot tell")
    for each in tallies:
        print(f"{each.scenario:<30}{each.rows:>5}{each.logs:>6}{each.held:>6} of {each.logs}")
    held, tried = sum(each.held for each in tallies), sum(each.logs for each in tallies)
    print(f"{held} of {tried}, seed {seed}, {time.perf_counter() - began:.0f} s")
    return int(held < tried)
