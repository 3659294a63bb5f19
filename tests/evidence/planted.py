"""Mistakes of the trade, each planted in a log that is otherwise kept with care."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
import pandas as pd

from tests.evidence.clean_logs import BANDS, Generator, Size, clean, with_outcomes

Plant = Callable[[Generator], pd.DataFrame]

FOUR, SIX, EIGHT, TEN = Size(4), Size(6), Size(8), Size(10)


@dataclass(frozen=True)
class Mistake:
    """One mistake, how it is planted, and by which cautions it counts as found.

    `with_settings` and `adjusters` are what a reader of such a log would ask for.
    """

    name: str
    plant: Plant
    codes: tuple[str, ...]
    response: str = "ey_pct"
    with_settings: tuple[str, ...] = ()
    adjusters: tuple[str, ...] | None = None
    by_file: bool = False
    careless: bool = False

    def log(self, rng: Generator) -> pd.DataFrame:
        """Return one log, in all else kept with care: changes purged, a failure written down."""
        shots = self.plant(rng)
        return shots if self.careless else kept_with_care(shots)


def kept_with_care(shots: pd.DataFrame) -> pd.DataFrame:
    """Return shots with a purge after each change of grind, and a failure in the first session."""
    same = shots["session"] == shots["session"].shift()
    changed = shots["grind_setting"] != shots["grind_setting"].shift()
    shots = shots.assign(purged_g=np.where(same & changed, 4.0, 0.0))
    failed = shots.iloc[[0]].assign(
        shot="failed", position=shots["position"].max() + 1, fate="channelled", overall=np.nan
    )
    failed["pulled_at"] += pd.Timedelta(hours=2)
    return pd.concat([shots, failed], ignore_index=True)


def counted(size: Size, rng: Generator) -> pd.DataFrame:
    """Return the counted shots of a clean log alone, numbered anew inside sessions."""
    shots = clean(size, rng)
    kept = shots[((shots["stage"] == "counted") & (shots["fate"] == "pulled")).to_numpy()]
    place = np.tile(np.arange(1.0, 7), size.sessions)
    return kept.assign(position=place).reset_index(drop=True)


def grind_with_age(correlation: float) -> Plant:
    """Return logs of one grind setting a session that follows the age of the bag."""

    def plant(rng: Generator) -> pd.DataFrame:
        shots = counted(Size(12), rng)
        shots = shots[shots["position"] <= 3].reset_index(drop=True)
        day = shots["session"].factorize()[0]
        age = np.arange(12.0)
        age = (age - age.mean()) / age.std()
        other = rng.normal(size=12)
        other -= other.mean() + age * (other @ age) / (age @ age)
        followed = correlation * age + np.sqrt(1 - correlation**2) * other / other.std()
        return with_outcomes(shots.assign(grind_setting=11 - followed[day]), rng, grind=0.0)

    return plant


def band_of_each_roast(rng: Generator) -> pd.DataFrame:
    """Return a dark bag at the low band and a light one at the medium band, pooled."""
    shots = counted(SIX, rng)
    dark = shots["session"].isin(["day 1", "day 3", "day 5"])
    return shots.assign(
        temp_band=np.where(dark, BANDS[0], BANDS[1]),
        roast_level=np.where(dark, "dark", "light"),
        bag=np.where(dark, "bag-1", "bag-2"),
    )


def band_of_one_roast(rng: Generator) -> pd.DataFrame:
    """Return the dark bag of such a log alone."""
    return counted(FOUR, rng).assign(temp_band=BANDS[0], roast_level="dark")


def band_a_session(rng: Generator) -> pd.DataFrame:
    """Return a band kept for whole sessions, in an order drawn by lot."""
    shots = counted(SIX, rng)
    bands = rng.permutation(np.resize(BANDS, 6))
    return with_outcomes(shots.assign(temp_band=bands[shots["session"].factorize()[0]]), rng)


def days_as_one_session(rng: Generator) -> pd.DataFrame:
    """Return shots of four days under one session's name."""
    return counted(FOUR, rng).assign(session="one", position=np.arange(1.0, 25))


def tastes_as_shots(rng: Generator) -> pd.DataFrame:
    """Return eight shots, each told three times with the score of another taster."""
    shots = counted(FOUR, rng).iloc[rng.permutation(24)[:8]].sort_index()
    tastes = shots.loc[shots.index.repeat(3)].reset_index(drop=True)
    names = tastes["shot"] + np.tile(["a", "b", "c"], 8)
    scores = (tastes["overall"] + rng.choice([-1, -0.5, 0.5, 1], 24)).clip(0, 10)
    return tastes.assign(shot=names, overall=scores)


def rows_twice(copies: int) -> Plant:
    """Return logs in which some shots are told again under another name."""

    def plant(rng: Generator) -> pd.DataFrame:
        shots = counted(FOUR, rng)
        chosen = shots.iloc[np.sort(rng.permutation(24)[:copies])]
        return pd.concat([shots, chosen.assign(shot=chosen["shot"] + "x")], ignore_index=True)

    return plant


def scores_at_the_top(rng: Generator) -> pd.DataFrame:
    """Return scores of which many stand at the top of the scale."""
    shots = counted(FOUR, rng)
    lifted = shots["overall"] - shots["overall"].quantile(0.6) + 10
    return shots.assign(overall=lifted.clip(0, 10))


def in_blocks(sign: Callable[[int], int], *, drift: float = 0.15) -> Plant:
    """Return logs of sessions pulled setting by setting, upwards or downwards."""

    def plant(rng: Generator) -> pd.DataFrame:
        shots = counted(FOUR, rng)
        rows = []
        for number, (_, part) in enumerate(shots.groupby("session", sort=False)):
            order = part.sort_values("grind_setting", ascending=sign(number) > 0, kind="stable")
            rows.append(part.assign(grind_setting=order["grind_setting"].to_numpy()))
        return with_outcomes(pd.concat(rows, ignore_index=True), rng, drift=drift)

    return plant


def changes_not_purged(rng: Generator) -> pd.DataFrame:
    """Return shots all typed as counted, with purges too small or not written down."""
    shots = counted(FOUR, rng)
    purged = np.where(rng.random(24) < 0.5, 0.5, np.nan)
    return shots.assign(purged_g=np.where(shots["purged_g"] > 0, purged, 0.0))


def purge_not_logged(rng: Generator) -> pd.DataFrame:
    """Return shots without a stage and without a purge."""
    return counted(SIX, rng).drop(columns=["stage", "purged_g"])


def warm_ups_counted(rng: Generator) -> pd.DataFrame:
    """Return sessions whose first shot, pulled cold, counts like the rest."""
    return with_outcomes(counted(SIX, rng), rng, warm_up=-2.0)


def chased(rng: Generator) -> pd.DataFrame:
    """Return grind settings chosen by how the shot before ran."""
    shots = counted(EIGHT, rng)
    missed = rng.normal(0, 2.5, len(shots))
    before = np.where(shots["position"] > 1, np.roll(missed, 1), 0.0)
    grind = 11 + np.clip(np.round(before / 2), -2, 2)
    time_s = 36 + missed
    return shots.assign(grind_setting=grind, time_s=time_s.round())


def one_at_a_time(rng: Generator) -> pd.DataFrame:
    """Return shots that differ from one recipe in one setting at a time."""
    shots = counted(FOUR, rng)
    which = rng.permuted(np.resize([0, 0, 1, 2, 3, 3], (4, 6)), axis=1).ravel()
    return with_outcomes(
        shots.assign(
            grind_setting=np.select([which == 1, which == 2], [10.0, 12.0], 11.0),
            temp_band=np.where(which == 3, BANDS[1], BANDS[0]),
        ),
        rng,
    )


def one_shot_a_level(rng: Generator) -> pd.DataFrame:
    """Return twenty-four grind settings, each tried once, at one band."""
    shots = counted(FOUR, rng)
    return with_outcomes(
        shots.assign(grind_setting=rng.permutation(np.arange(24)) / 8 + 9.5, temp_band="low"), rng
    )


def cell_without_a_shot(rng: Generator) -> pd.DataFrame:
    """Return a puck screen that was used in half the shots at one band, and never at the other."""
    shots = counted(FOUR, rng)
    low = np.flatnonzero(shots["temp_band"] == BANDS[0])
    screened = shots.index.isin(rng.permutation(low)[:6])
    return shots.assign(puck_screen=np.where(screened, "yes", "no"))


def corner_never_tried(rng: Generator) -> pd.DataFrame:
    """Return pre-wetting and taper, both measured, of which the high corner was never pulled."""
    shots = counted(TEN, rng)
    places = rng.random((600, 2))
    prewet, taper = places[places.min(axis=1) < 0.5][: len(shots)].T
    end = (shots["hold_bar"] - 1 - 3 * taper).round(1)
    return shots.assign(
        prewet_s=(10 * prewet).round(1), end_bar=end, taper_bar=shots["hold_bar"] - end
    )


def other_starts(rng: Generator) -> pd.DataFrame:
    """Return shots of which a third are timed from the first drip."""
    shots = counted(FOUR, rng)
    other = rng.permutation(24) < 8
    return shots.assign(
        time_from=np.where(other, "first_drip", "lever"),
        time_s=shots["time_s"] - np.where(other, 7, 0),
    )


def no_failures(rng: Generator) -> pd.DataFrame:
    """Return shots of which the failed ones were not written down."""
    return counted(FOUR, rng).drop(columns="fate")


def copy_of_a_term(rng: Generator) -> pd.DataFrame:
    """Return a taper that follows from the grind setting."""
    shots = counted(FOUR, rng)
    return shots.assign(taper_bar=(shots["grind_setting"] - 8).astype(float))


def together(correlation: float) -> Plant:
    """Return logs whose taper went along with the grind setting inside sessions."""

    def plant(rng: Generator) -> pd.DataFrame:
        shots = counted(FOUR, rng)
        grind = (shots["grind_setting"] - 11) / np.sqrt(2 / 3)
        chance = np.sqrt(1 - correlation**2) * rng.normal(size=24)
        return shots.assign(taper_bar=(2.7 + 0.5 * (correlation * grind + chance)).round(2))

    return plant


def band_of_each_hand(rng: Generator) -> pd.DataFrame:
    """Return a band that one of two people always pulled."""
    shots = counted(FOUR, rng)
    return shots.assign(barista=np.where(shots["temp_band"] == BANDS[0], "p1", "p2"))


def one_odd_shot(rng: Generator) -> pd.DataFrame:
    """Return a grind setting that was changed for a single shot."""
    shots = counted(FOUR, rng)
    odd = shots.index == rng.integers(24)
    return shots.assign(grind_setting=np.where(odd, 12.0, 11.0))


AGED = ("went-with-age", "settings-entangled", "adjuster-left-out")

MISTAKES = (
    *(Mistake(f"grind with age, r {r}", grind_with_age(r), AGED) for r in (0.5, 0.8, 0.9)),
    Mistake("taper with grind, r 0.95", together(0.95), ("settings-entangled",)),
    Mistake("taper follows grind", copy_of_a_term, ("settings-entangled",)),
    Mistake("band = roast, pooled", band_of_each_roast, ("setting-with-condition",)),
    Mistake("band = roast, one bag", band_of_one_roast, ("band-with-roast",)),
    Mistake(
        "band = barista, left aside", band_of_each_hand, ("setting-with-condition",), adjusters=()
    ),
    Mistake("band = barista", band_of_each_hand, ("settings-entangled",)),
    Mistake("band a session", band_a_session, ("set-once-a-session",)),
    Mistake("days as one session", days_as_one_session, ("session-of-days",)),
    Mistake("tastes as shots", tastes_as_shots, ("tastes-as-shots",), "score:overall"),
    Mistake("whole log twice", rows_twice(24), ("copied-shots",)),
    Mistake("two shots twice", rows_twice(2), ("copied-shots",)),
    Mistake("one shot twice, read", rows_twice(1), ("copied-shots",), by_file=True),
    Mistake("ends of the scale", scores_at_the_top, ("scores-at-an-end",), "score:overall"),
    Mistake(
        "order = setting",
        in_blocks(lambda number: 1),
        ("settings-entangled", "settings-in-blocks"),
    ),
    Mistake("blocks, up and down", in_blocks(lambda number: number % 2), ("settings-in-blocks",)),
    Mistake(
        "order, no position term",
        in_blocks(lambda number: 1),
        ("settings-in-order",),
        adjusters=("roast_age_d",),
    ),
    Mistake(
        "first after a change",
        changes_not_purged,
        ("transition-shots",),
        by_file=True,
        careless=True,
    ),
    Mistake(
        "purge not logged",
        purge_not_logged,
        ("transitions-left-out",),
        by_file=True,
        careless=True,
    ),
    Mistake("warm-ups counted", warm_ups_counted, ("first-shots-differ",)),
    Mistake("settings chase shots", chased, ("reactive-settings",), "time_s"),
    Mistake("one factor at a time", one_at_a_time, ("one-at-a-time",)),
    Mistake("one shot a level", one_shot_a_level, ("no-repeats",)),
    Mistake(
        "band x screen, cell empty",
        cell_without_a_shot,
        ("untried-combinations", "settings-entangled"),
        with_settings=("puck_screen",),
    ),
    Mistake(
        "corner never tried",
        corner_never_tried,
        ("untried-combinations",),
        with_settings=("prewet_s",),
    ),
    Mistake("mixed timing starts", other_starts, ("mixed-timing",), "time_s", by_file=True),
    Mistake("failures dropped", no_failures, ("no-failures",), by_file=True, careless=True),
    Mistake("one odd shot", one_odd_shot, ("rests-on-one-shot",)),
)
