"""What a log says of cleaning, changing and single shots around an alarm."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from yieldwright.formatting import clip, visible

if TYPE_CHECKING:
    from collections.abc import Mapping

    import pandas as pd

__all__ = ["Service", "note_of", "service_at", "services"]

#: Characters of a note, and of a shot's code, that a sentence shows.
LONGEST_NOTE, LONGEST_CODE = 60, 24

#: Entries that say that nothing was done.
NOTHING = frozenset({"", "-", "–", "0", "no", "none", "nothing", "n/a", "false"})


class Service(NamedTuple):
    """What was cleaned or changed before a charted shot, as the log has it.

    Attributes
    ----------
    words : str
        In the words of the log; empty where only a new stretch is known.
    shot : str
        Code of the shot it is written at; empty where that is the charted one.
    """

    words: str
    shot: str


def services(shots: pd.DataFrame, told_in: pd.DataFrame | None) -> dict[int, Service]:
    """Return before which charted shots something was cleaned or changed.

    Parameters
    ----------
    shots : DataFrame
        One row per charted shot, in order.
    told_in : DataFrame or None
        One row per shot of the whole log in order, warm-ups and failures too: an entry at
        one of them is told at the next charted shot. None for the charted ones alone.

    Returns
    -------
    dict of int to Service
        By row of the charted shot.

    Examples
    --------
    >>> import pandas as pd
    >>> every = pd.DataFrame({"shot": ["1", "2", "3"], "serviced": [None, "descaled", None]})
    >>> services(every.iloc[[0, 2]].reset_index(drop=True), every)
    {1: Service(words='descaled', shot='2')}
    """
    found = {row: Service(words, "") for row, words in _entries(shots).items()}
    if told_in is not None and "shot" in shots and "shot" in told_in:
        found = _told_before(shots, told_in) | found
    if "service_stretch" in shots:
        stretch = shots["service_stretch"].astype("string")
        new = (stretch != stretch.shift()).fillna(value=False).to_numpy(dtype=bool)
        for row in (np.flatnonzero(new[1:]) + 1).tolist():
            found.setdefault(row, Service("", ""))
    return found


def _entries(shots: pd.DataFrame) -> dict[int, str]:
    """Return what was written of services, by place."""
    if "serviced" not in shots:
        return {}
    said = shots["serviced"].astype("string").fillna("").str.strip()
    return {
        place: words
        for place, words in enumerate(said.tolist())
        if words.casefold() not in NOTHING
    }


def _told_before(shots: pd.DataFrame, told_in: pd.DataFrame) -> dict[int, Service]:
    """Return entries at shots that are not charted, by row of the next one that is."""
    rows = {str(name): row for row, name in enumerate(shots["shot"])}
    names = [str(name) for name in told_in["shot"]]
    charted = np.array([place for place, name in enumerate(names) if name in rows], dtype=int)
    found = {}
    for place, words in _entries(told_in).items():
        after = int(np.searchsorted(charted, place))
        if names[place] not in rows and 0 < after < len(charted):
            found[rows[names[charted[after]]]] = Service(words, names[place])
    return found


def service_at(row: int, named: str, served: Mapping[int, Service]) -> str:
    """Return what the log says was done before a charted shot, as a sentence begins it.

    Parameters
    ----------
    row : int
        Row of the shot.
    named : str
        The shot in words.
    served : mapping of int to Service
        From `services`.

    Returns
    -------
    str

    Examples
    --------
    >>> service_at(1, "shot 3", {1: Service("descaled", "2")})
    '“descaled” stands at shot 2, before shot 3'
    """
    words, shot = served[row]
    if not words:
        return f"something was cleaned or changed before {named}"
    quoted = f"“{clip(visible(words), LONGEST_NOTE)}” stands at"
    if not shot:
        return f"{quoted} {named}"
    return f"{quoted} shot {clip(visible(shot), LONGEST_CODE)}, before {named}"


def note_of(shots: pd.DataFrame, row: int) -> str:
    """Return the note of one shot as a sentence, empty where there is none.

    Parameters
    ----------
    shots : DataFrame
        One row per charted shot.
    row : int
        Which one.

    Returns
    -------
    str

    Examples
    --------
    >>> import pandas as pd
    >>> note_of(pd.DataFrame({"notes": ["spilled"]}), 0)
    'Its note: “spilled”. '
    """
    note = shots["notes"].iloc[row] if "notes" in shots else None
    if not isinstance(note, str) or not note.strip():
        return ""
    return f"Its note: “{clip(visible(note.strip()), LONGEST_NOTE)}”. "
