"""What a row is among its neighbours: session, position, gap, and whether it counts."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from yieldwright.formatting import count

if TYPE_CHECKING:
    from yieldwright.bench import Bench

__all__ = ["ASSUMED_RETAINED_G", "NO_FATE", "place_in_sessions"]

#: Grounds a grinder is taken to keep where neither log nor bench says (assumed, no source).
ASSUMED_RETAINED_G = 1.0
#: Remarked on where no shot of the log can be known to have failed.
NO_FATE = "No fate column: every shot is taken as pulled."
#: A purge of so many times what is retained makes a setting real (common practice, no source).
_PURGES = 2.0
#: Old grounds below this share of the dose change little (common practice, no source).
_OLD_SHARE = 0.05
_ONE_SESSION = "all"


def place_in_sessions(frame: pd.DataFrame, bench: Bench) -> tuple[pd.DataFrame, list[str]]:
    """Return session, position, gap, fate and stage of each row, and what was assumed.

    Parameters
    ----------
    frame : DataFrame
        One row per pull in the order of the file, `pulled_on` included where known. Rows
        that will be set aside count too: they were pulled.
    bench : Bench
        Says what its grinders retain.

    Returns
    -------
    placed : DataFrame
        Same rows: `session`, `position`, `fate`, `stage`, and `gap_min` where known.
    remarks : list of str
        What was assumed.

    Notes
    -----
    Where no stage was typed, the first pull after a change of grind setting within a
    session is a transition unless the purge reached twice what the grinder retains, or
    what it retains is under a twentieth of the dose; an unknown purge counts as none.

    Examples
    --------
    >>> from yieldwright.bench import Bench
    >>> placed, _ = place_in_sessions(pd.DataFrame({"grind_setting": [12.0, 12.0, 13.0]}), Bench())
    >>> placed["stage"].tolist()
    ['counted', 'counted', 'transition']
    """
    session, remarks = _session(frame)
    order = _Order.of(frame, session)
    placed = pd.DataFrame({"session": session}, index=frame.index)
    placed["position"] = _position(frame, order, remarks)
    placed["fate"] = _fate(frame, remarks)
    placed["stage"] = _stage(frame, order, bench, remarks)
    gap = _gap(frame, order)
    if gap is not None:
        placed["gap_min"] = gap
    return placed, remarks


@dataclass(frozen=True)
class _Order:
    """Rows sorted by session and within each in the order they were pulled."""

    rows: np.ndarray
    codes: np.ndarray
    is_timed: bool

    @classmethod
    def of(cls, frame: pd.DataFrame, session: pd.Series[str] | np.ndarray) -> _Order:
        """Sort by time where every pull of a session has one, else by position, else as filed."""
        codes = pd.factorize(session)[0]
        filed = np.arange(len(frame), dtype=float)
        key = _preferred(codes, _column(frame, "position"), filed)
        times = _seconds(frame)
        timed = _preferred(codes, times, key)
        is_timed = len(frame) > 0 and not np.isnan(times).any()
        return cls(np.lexsort((filed, timed, codes)), codes, is_timed)

    def same_session(self) -> np.ndarray:
        """Return, in this order, whether a row follows one of its own session."""
        codes = self.codes[self.rows]
        follows: np.ndarray = np.r_[False, codes[1:] == codes[:-1]][: len(codes)]
        return follows

    def ranks(self) -> np.ndarray:
        """Return each row's place in its session, from 1, in the order of the file."""
        starts = ~self.same_session()
        begun = np.maximum.accumulate(np.where(starts, np.arange(len(starts)), 0))
        ranks = np.empty(len(starts))
        ranks[self.rows] = np.arange(len(starts)) - begun + 1
        return ranks

    def previous(self, values: np.ndarray) -> np.ndarray:
        """Return the value of the pull before in the session, missing for its first."""
        ordered = values[self.rows]
        before = np.r_[np.nan, ordered[:-1]][: len(ordered)]
        previous = np.empty(len(values))
        previous[self.rows] = np.where(self.same_session(), before, np.nan)
        return previous


def _preferred(codes: np.ndarray, keys: np.ndarray, otherwise: np.ndarray) -> np.ndarray:
    """Return keys for the sessions in which all are known, another key for the rest."""
    gaps = np.bincount(codes, weights=np.isnan(keys), minlength=1)
    preferred: np.ndarray = np.where(gaps[codes] == 0, keys, otherwise)
    return preferred


def _column(frame: pd.DataFrame, name: str) -> np.ndarray:
    if name not in frame:
        return np.full(len(frame), np.nan)
    return frame[name].to_numpy(dtype=float)


def _seconds(frame: pd.DataFrame) -> np.ndarray:
    if "pulled_at" not in frame:
        return np.full(len(frame), np.nan)
    # from a text, whose microseconds reach beyond 2262, where nanoseconds end
    elapsed = (frame["pulled_at"] - pd.Timestamp("1970-01-01T00:00Z")) / pd.Timedelta(seconds=1)
    return elapsed.to_numpy(dtype=float)


def _session(frame: pd.DataFrame) -> tuple[pd.Series[str], list[str]]:
    days = pd.Series(_ONE_SESSION, index=frame.index, dtype="str")
    if "pulled_on" in frame:
        codes, different = pd.factorize(frame["pulled_on"])
        written = [*(day.strftime("%Y-%m-%d") for day in different), _ONE_SESSION]
        days = pd.Series(pd.array(written, dtype="str")[codes], frame.index)
    if "session" in frame:
        return frame["session"].fillna(days), []
    if "pulled_on" in frame:
        return days, ["No session column: each day is taken as one session."]
    return days, ["No session and no day: all shots are taken as one session."]


def _position(frame: pd.DataFrame, order: _Order, remarks: list[str]) -> np.ndarray:
    ranks = order.ranks()
    typed = _column(frame, "position")
    if "position" not in frame:
        by = "time of the pull" if order.is_timed else "order of the file"
        remarks.append(f"No position column: shots are counted within a session by the {by}.")
    return np.where(np.isnan(typed), ranks, typed)


def _fate(frame: pd.DataFrame, remarks: list[str]) -> pd.Series[str]:
    if "fate" not in frame:
        remarks.append(NO_FATE)
        return pd.Series("pulled", index=frame.index, dtype="str")
    return frame["fate"].fillna("pulled")


def _gap(frame: pd.DataFrame, order: _Order) -> np.ndarray | None:
    """Return the typed gap, else the minutes since the pull before in the session."""
    if "gap_min" not in frame and "pulled_at" not in frame:
        return None
    times = _seconds(frame)
    elapsed = (times - order.previous(times)) / 60
    typed = _column(frame, "gap_min")
    return np.where(np.isnan(typed), elapsed, typed)


def _stage(frame: pd.DataFrame, order: _Order, bench: Bench, remarks: list[str]) -> pd.Series[str]:
    """Return the typed stage, else transition after a change of grind, else counted."""
    stated = _retained(frame, bench)
    retained = np.where(np.isnan(stated), ASSUMED_RETAINED_G, stated)
    purged = np.nan_to_num(_column(frame, "purged_g"), nan=0.0)
    dose = _column(frame, "dose_g")
    matters = ~(retained < _OLD_SHARE * dose)
    found = _follows_regrind(frame, order) & (purged < _PURGES * retained) & matters
    stage = pd.Series(np.where(found, "transition", "counted"), frame.index, dtype="str")
    if "stage" in frame:
        found &= frame["stage"].isna().to_numpy(dtype=bool)
        stage = frame["stage"].fillna(stage)
    if found.any():
        remarks.append(_transition_sentence(found, is_assumed=np.isnan(stated[found]).any()))
    return stage


def _follows_regrind(frame: pd.DataFrame, order: _Order) -> np.ndarray:
    """Return which pulls are the first after another setting of the same grinder."""
    if "grind_setting" not in frame:
        return np.zeros(len(frame), dtype=bool)
    if "grinder" in frame:
        grinders, different = pd.factorize(frame["grinder"])
        order = _Order.of(frame, order.codes * (len(different) + 1) + grinders)
    setting = _column(frame, "grind_setting")
    before = order.previous(setting)
    changed: np.ndarray = np.isfinite(before) & np.isfinite(setting) & (before != setting)
    return changed


def _retained(frame: pd.DataFrame, bench: Bench) -> np.ndarray:
    """Return what the grinder keeps, by the log or else by the bench."""
    known = {g.name: np.nan if g.retained_g is None else g.retained_g for g in bench.grinders}
    by_bench = np.full(len(frame), np.nan)
    if "grinder" in frame:
        codes, names = pd.factorize(frame["grinder"])
        by_bench = np.array([*(known.get(name, np.nan) for name in names), np.nan])[codes]
    elif len(known) == 1:
        by_bench[:] = next(iter(known.values()))
    typed = _column(frame, "retained_g")
    return np.where(np.isnan(typed), by_bench, typed)


def _transition_sentence(found: np.ndarray, *, is_assumed: bool) -> str:
    shots = count(int(found.sum()), "shot")
    keeps = f" ({ASSUMED_RETAINED_G:g} g, assumed)" if is_assumed else ""
    return (
        f"{shots} taken as transition: first after a change of grind setting, with no purge of "
        f"twice what the grinder keeps{keeps}."
    )
