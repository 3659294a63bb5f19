"""Dated events at the bench: what was cleaned, changed or filled in before which shot."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from yieldwright.ageing.compared.grinder_shots import in_order
from yieldwright.formatting import clip, listing, visible
from yieldwright.taste.columns.servicing import service_stretches

if TYPE_CHECKING:
    import numpy.typing as npt

__all__ = ["DatedEvent", "dated_events"]

#: Words after which a number on the grinder need not mean what it meant before; cleaned or
#: brushed burrs are the same burrs.
RESCALING = re.compile(
    r"zero|align|shim|calibrat|"
    r"(new|chang|replac|swap|other|fresh)\w*\W+(\w+\W+)?burr|burrs?\W+(\w+\W+)?(chang|replac|swap)",
    re.IGNORECASE,
)

#: Characters of a log's words that a sentence shows.
LONGEST = 40


@dataclass(frozen=True, slots=True)
class DatedEvent:
    """One event, and the first shot after it.

    Attributes
    ----------
    what : str
        What was done, in the words of the log, fit to be shown.
    day : str
        Its day, such as 2026-05-03; empty where days are not known.
    shot : str
        Code of the first shot after it.
    short : str
        The same in as few words as a figure has room for.
    water : bool
        Whether the water changed.
    rescales : bool
        Whether settings before and after need not be on one scale.
    served : bool
        Whether something was serviced.
    """

    what: str
    day: str
    shot: str
    short: str = ""
    water: bool = False
    rescales: bool = False
    served: bool = False

    @property
    def name(self) -> str:
        """What it is called in a sentence."""
        when = f" on {self.day}" if self.day else f" before shot {clip(visible(self.shot), 16)}"
        return f"{self.what}{when}"

    @property
    def label(self) -> str:
        """What it is called in a table or a figure."""
        return ", ".join(filter(None, (self.short or self.what, self.day)))


def dated_events(shots: pd.DataFrame) -> tuple[pd.Series[int], tuple[DatedEvent, ...]]:
    """Return which stretch between two events each shot lies in, and the events.

    Parameters
    ----------
    shots : DataFrame
        One row per shot of a whole log, warm-ups and failures too.

    Returns
    -------
    stretch : Series
        One number per shot: of how many events it comes after.
    events : tuple of DatedEvent
        In the order of time.

    Notes
    -----
    An event is an entry in `serviced`, or another code in `water` than at the last shot that
    has one. A service that is told again at the next shot of its session is one service, and
    what fell before one shot is one event. A service before the first shot parts nothing.
    Water that went back to an earlier code is a setting that was tried, and no event.

    Examples
    --------
    >>> shots = pd.DataFrame({"shot": ["1", "2", "3"], "water": ["A", "B", "B"]})
    >>> stretch, (event,) = dated_events(shots)
    >>> stretch.tolist(), event.name
    ([0, 1, 1], 'the change of water from “A” to “B” before shot 2')
    """
    ordered = in_order(shots)
    served, water = _served(ordered, shots), _water(ordered)
    starts = served | water["changed"].to_numpy(dtype=bool)
    stretch = pd.Series(np.cumsum(starts), index=ordered.index).reindex(shots.index)
    events = tuple(
        _event(ordered, place, served=bool(served[place]), water=water)
        for place in np.flatnonzero(starts).tolist()
    )
    return stretch, events


def _served(ordered: pd.DataFrame, shots: pd.DataFrame) -> npt.NDArray[np.bool_]:
    """Return at which shots a new stretch between services begins."""
    stretches = service_stretches(shots)
    if stretches is None:
        return np.zeros(len(ordered), dtype=bool)
    codes = stretches.astype("category").cat.codes.reindex(ordered.index).to_numpy()
    return np.diff(codes, prepend=codes[:1]) > 0


def _water(ordered: pd.DataFrame) -> pd.DataFrame:
    """Return the water before and at each shot, and whether it changed there."""
    nothing = pd.Series(None, index=ordered.index, dtype="str")
    said = ordered["water"].astype("str") if "water" in ordered else nothing
    now = said.where(said.notna() & (said != "")).ffill()
    before = now.shift()
    changed = before.notna() & (now != before)
    if changed.sum() >= now.nunique():  # a code came back
        changed &= False
    return pd.DataFrame({"before": before, "now": now, "changed": changed})


def _event(ordered: pd.DataFrame, place: int, *, served: bool, water: pd.DataFrame) -> DatedEvent:
    """Return what fell before the shot at one place."""
    row = ordered.iloc[place]
    parts: list[str] = []
    short: list[str] = []
    said = clip(visible(str(row["serviced"]).strip()), LONGEST) if served else ""
    if served:
        parts.append(f"the service “{said}”")
        short.append(said)
    changed = bool(water["changed"].iloc[place])
    if changed:
        old, new = (clip(visible(str(water[name].iloc[place])), 16) for name in ("before", "now"))
        parts.append(f"the change of water from “{old}” to “{new}”")
        short.append(f"water {new}")
    day = row["pulled_on"] if "pulled_on" in ordered else None
    return DatedEvent(
        what=listing(parts),
        short=listing(short),
        day="" if pd.isna(day) else pd.Timestamp(day).date().isoformat(),
        shot=str(row["shot"]) if "shot" in ordered else str(place + 1),
        water=changed,
        rescales=served and RESCALING.search(said) is not None,
        served=served,
    )
