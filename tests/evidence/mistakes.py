"""Are mistakes of the trade found where they were planted, and nowhere else?

Run `python -m tests.evidence mistakes --logs 200` from the top of the checkout. Mistakes go
through `fit_effects`, and those that only a file shows through `read_log` as well.
"""

from __future__ import annotations

import re
import time
from collections import Counter
from collections.abc import Callable, Iterable, Iterator
from pathlib import Path

import numpy as np
import pandas as pd

from tests.evidence.clean_logs import (
    BENCH,
    Generator,
    Size,
    clean,
    comparable,
    with_outcomes,
    written,
)
from tests.evidence.planted import MISTAKES, Mistake, counted, kept_with_care
from tests.evidence.tally import BOUNDS, Tally
from yieldwright.errors import RoleError
from yieldwright.taste import SETTINGS, EffectsFit, cautioning, comparable_sets, fit_effects

Logs = Callable[[Generator], pd.DataFrame]

#: Told of every score whose curve was tried: a limit of the method, not a doubt about the log.
LIMITS = frozenset({"uneven-bend"})

#: What is true of a log of single shots, however carefully it was kept.
SINGLE = frozenset({"one-shot-sessions"})


def codes() -> frozenset[str]:
    """Return the codes of all cautions that the checks can give, as their sources name them."""
    folder = Path(cautioning.__file__).parent
    sources = (path.read_text(encoding="utf-8") for path in sorted(folder.glob("*.py")))
    named = re.compile(r'Caution\(\s*"([a-z-]+)"')
    return frozenset(code for source in sources for code in named.findall(source))


def fitted(mistake: Mistake, shots: pd.DataFrame) -> EffectsFit:
    """Return what the tool says of one log, read from a file where only a file shows it."""
    found = comparable_sets(written(shots))[0] if mistake.by_file else comparable(shots)
    return fit_effects(
        found,
        mistake.response,
        bench=BENCH,
        settings=(*SETTINGS, *mistake.with_settings),
        adjusters=mistake.adjusters,
    )


def found(mistake: Mistake, logs: int, rng: Generator) -> Tally:
    """Return how often a planted mistake is met by a caution that says what would mend it."""
    n_shots, hits = 0, 0
    for _ in range(logs):
        fit = fitted(mistake, mistake.log(rng))
        n_shots = fit.n_shots
        hits += any(each.code in mistake.codes and bool(each.remedy) for each in fit.cautions)
    return Tally(mistake.name, n_shots, " or ".join(mistake.codes), "found", hits, logs)


def single_shots(rng: Generator) -> pd.DataFrame:
    """Return thirty sessions of one shot each, settings balanced over them by lot."""
    shots = counted(Size(30), rng)
    kept = shots.groupby("session", sort=False).head(1).reset_index(drop=True)
    grind = rng.permutation(np.resize([10.0, 11.0, 12.0], 30))
    band = np.where(rng.permutation(np.resize([0, 1], 30)) == 0, "low", "medium")
    return kept_with_care(with_outcomes(kept.assign(grind_setting=grind, temp_band=band), rng))


#: Clean logs: name, how one is drawn, and the response asked about.
CLEAN: tuple[tuple[str, Logs, str], ...] = (
    ("24 in 4, yield", lambda rng: clean(Size(4), rng), "ey_pct"),
    ("24 in 4, time", lambda rng: clean(Size(4), rng), "time_s"),
    ("24 in 4, taste", lambda rng: clean(Size(4), rng), "score:overall"),
    ("42 in 7, yield", lambda rng: clean(Size(7), rng), "ey_pct"),
    ("no warm-ups", lambda rng: kept_with_care(counted(Size(5), rng)), "ey_pct"),
    ("30 in 30, yield", single_shots, "ey_pct"),
)


def alarms(name: str, draw: Logs, response: str, logs: int, rng: Generator) -> Iterator[Tally]:
    """Yield how often each check alarms on logs without any mistake."""
    told: Counter[str] = Counter()
    n_shots = 0
    for _ in range(logs):
        fit = fit_effects(comparable(draw(rng)), response, bench=BENCH)
        told.update({each.code for each in fit.cautions})
        n_shots = fit.n_shots
    for code in sorted(codes() | set(told)):
        is_true = code in LIMITS or (draw is single_shots and code in SINGLE)
        promise = "no promise" if is_true else "clean alarms"
        yield Tally(name, n_shots, code, promise, told[code], logs)


def nothing_there(rng: Generator) -> pd.DataFrame:
    """Return a clean log in which no setting does anything."""
    shots = counted(Size(4), rng)
    flat = 19 + rng.normal(0, 0.5, len(shots))
    return kept_with_care(shots.assign(ey_pct=flat, prewet_s=rng.uniform(2, 10, len(shots))))


def reader(logs: int, rng: Generator) -> Iterator[Tally]:
    """Yield how often the mistakes of a reader are met by a sentence, as they always must."""
    fits = [
        fit_effects(
            comparable(nothing_there(rng)), "ey_pct", bench=BENCH, settings=(*SETTINGS, "prewet_s")
        )
        for _ in range(logs)
    ]
    met = {
        "many looks: how many, by Holm": counts_looks,
        "many looks: chance is named": names_chance,
        "best of k: luck, repeat twice": names_luck,
        "'no effect': interval, power": shows_power,
        "shots needed for a difference": shows_need,
    }
    for name, is_met in met.items():
        yield Tally("reader", 24, name, "found", sum(map(is_met, fits)), logs)


def counts_looks(fit: EffectsFit) -> bool:
    """Return whether the number of looks is said, with what chance does in so many."""
    alarm = round(100 * (1 - 0.95**fit.n_tests))
    start = f"{fit.n_tests} effects of settings were looked at: "
    return any(
        said.startswith(start) and f"in {alarm} % of logs" in said for said in fit.sentences
    )


def names_chance(fit: EffectsFit) -> bool:
    """Return whether every effect that the correction takes back is told as possibly chance."""
    clear = fit.settings[fit.settings["ci_low"] * fit.settings["ci_high"] > 0]
    taken_back = int((clear["p_holm"] > 0.05).sum())
    return sum("chance alone could do this" in said for said in fit.sentences) == taken_back


def names_luck(fit: EffectsFit) -> bool:
    """Return whether the best shot is told with what luck does, and the advice to repeat it."""
    told = [said for said in fit.sentences if said.startswith("The best shot, ")]
    return len(told) == 1 and "luck alone" in told[0] and "Repeat it twice" in told[0]


def shows_power(fit: EffectsFit) -> bool:
    """Return whether each unclear effect has its interval and what would have been found."""
    unclear = fit.settings[fit.settings["ci_low"] * fit.settings["ci_high"] <= 0]
    told = [said for said in fit.sentences if said.startswith("The log cannot tell whether ")]
    shown = all("95 % interval" in said and "would have found" in said for said in told)
    return shown and len(told) == len(unclear) and not any("no effect" in s for s in fit.sentences)


def shows_need(fit: EffectsFit) -> bool:
    """Return whether the shots that a wanted difference needs are said."""
    return any("shots at each of two settings" in said for said in fit.sentences)


def refused_outcome(logs: int, rng: Generator) -> Tally:
    """Return how often time or strength as a predictor of yield is refused."""
    refused = 0
    for row in range(logs):
        outcome = ("time_s", "tds_pct")[row % 2]
        try:
            fit_effects(
                comparable(clean(Size(4), rng)), "ey_pct", bench=BENCH, settings=(outcome,)
            )
        except RoleError as refusal:
            refused += outcome in str(refusal)
    return Tally("outcome as a setting", 24, "refused", "found", refused, logs)


def copied_lines(logs: int, rng: Generator) -> Tally:
    """Return how often a line that stands twice in a file is set aside."""
    caught = 0
    for _ in range(logs):
        shots = counted(Size(4), rng)
        log = written(pd.concat([shots, shots.iloc[[rng.integers(24)]]], ignore_index=True))
        aside = log.set_aside["reason"].tolist()
        caught += len(log.shots) == 24 and len(aside) == 1 and "exact copy" in aside[0]
    return Tally("line twice in a file", 24, "set aside", "found", caught, logs)


def study(
    logs: int,
    seed: int,
    *,
    mistakes: Iterable[Mistake] = MISTAKES,
    kinds: Iterable[tuple[str, Logs, str]] = CLEAN,
) -> Iterator[Tally]:
    """Yield every tally, each part of the study from a stream of its own."""
    for mistake in mistakes:
        yield found(mistake, logs, _stream(seed, mistake.name))
    yield refused_outcome(logs, _stream(seed, "outcome"))
    yield copied_lines(logs, _stream(seed, "copied"))
    yield from reader(logs, _stream(seed, "reader"))
    for name, draw, response in kinds:
        yield from alarms(name, draw, response, logs, _stream(seed, name))


def _stream(seed: int, name: str) -> Generator:
    """Return a source of chance that depends on nothing but the seed and what it is for."""
    return np.random.default_rng([seed, *name.encode()])


def planted_table(tallies: Iterable[Tally]) -> str:
    """Return a line per mistake: shots, by what it is found, how often."""
    lines = [f"{'mistake':<26}{'shots':>5}  {'found by':<56}{'found':>6}  bound"]
    for each in tallies:
        verdict = "" if each.kept() else "  NOT KEPT"
        lines.append(
            f"{each.scenario:<26}{each.rows:>5}  {each.quantity:<56}{each.share:>6.3f}  "
            f">= {BOUNDS['found'][0]}{verdict}"
        )
    return "\n".join(lines)


def clean_table(tallies: Iterable[Tally]) -> str:
    """Return a line per check: how often it alarms on each kind of clean log."""
    by_code: dict[str, dict[str, Tally]] = {}
    for each in tallies:
        by_code.setdefault(each.quantity, {})[each.scenario] = each
    kinds = list(dict.fromkeys(name for row in by_code.values() for name in row))
    head = "".join(f"{name:>16}" for name in kinds)
    lines = [f"{'alarms on clean logs':<26}{head}   bound {BOUNDS['clean alarms'][1]}"]
    for code, row in by_code.items():
        cells = "".join(f"{_cell(row.get(name)):>16}" for name in kinds)
        kept = all(each.kept() for each in row.values())
        lines.append(f"{code:<26}{cells}{'' if kept else '   NOT KEPT'}")
    return "\n".join(lines)


def _cell(tally: Tally | None) -> str:
    """Return a share; in brackets where the caution is true of such logs."""
    if tally is None:
        return "-"
    shown = f"{tally.share:.3f}"
    return f"({shown})" if tally.promise == "no promise" else shown


def run(logs: int, seed: int) -> int:
    """Print the study and return 0 where every promise was kept."""
    began = time.perf_counter()
    tallies = list(study(logs, seed))
    print(planted_table(each for each in tallies if each.promise == "found"))
    print()
    print(clean_table(each for each in tallies if each.promise != "found"))
    print(f"{logs} logs a line, seed {seed}, {time.perf_counter() - began:.0f} s")
    return int(not all(each.kept() for each in tallies))
