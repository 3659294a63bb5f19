"""The mess of real logs: what people do to a table before anybody reads it."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable, Iterator
from datetime import datetime, timedelta
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import pandas as pd

__all__ = ["MESSY_LINES", "SCRIBBLED_LINES", "scribble_lines", "spoil_lines"]

#: What `spoil_lines` adds to a log, and how many lines of each.
MESSY_LINES = {
    "units": 1,
    "comment": 1,
    "blank": 1,
    "mistyped dose": 1,
    "unquoted comma": 1,
    "ditto": 1,
    "typed twice": 1,
}

#: What `scribble_lines` adds to a log, and how many lines of each.
SCRIBBLED_LINES = {"comment": 1, "blank": 1}

_UNITS = {
    "dose_g": "g",
    "beverage_g": "g",
    "time_s": "s",
    "purged_g": "g",
    "temp_c": "°C",
    "peak_bar": "bar",
    "hold_bar": "bar",
    "end_bar": "bar",
    "tds_pct": "%",
    "sample_c": "°C",
}
_TYPED = {
    "dose_g": "{}\u00a0g".format,
    "temp_c": "{} °C".format,
    "time_s": "{} s".format,
    "peak_bar": "~{}".format,
}
_COMMENT = "# second sheet, copied from the wall\n"
_NEW_BAG = "# new bag from here on\n"
_GUEST_AFTER = timedelta(minutes=6)


def spoil_lines(typed: pd.DataFrame) -> Iterator[str]:
    """Return the lines of a log with some mess added; every given shot stays readable.

    Three cells get a unit, one of them behind a no-break space, and one reading is
    called rough with a ~. Besides the shots come
    a row of units, a comment, a blank line, and four rows that cannot be used: guests'
    shots with a dose of 180, with an unquoted comma in the note, and with dittos for
    all the rest; and the last shot typed twice.

    Parameters
    ----------
    typed : DataFrame
        One row per shot, all cells text, with at least the columns shot, session,
        position, pulled_at and notes, the last; at least six sessions.

    Returns
    -------
    iterator of str
        Lines of comma-separated text, each with its line end.

    Examples
    --------
    >>> from yieldwright.simulate import default_plan
    >>> import numpy as np
    >>> plan = default_plan(np.random.default_rng(1)).astype(str).assign(notes="")
    >>> lines = list(spoil_lines(plan))
    >>> len(lines) - 1 - len(plan) == sum(MESSY_LINES.values())
    True
    """
    names = [str(name) for name in typed.columns]
    evenings = [evening.to_numpy().tolist() for evening in _evenings(typed)]
    after = {
        0: [_line(_guest(names, evenings[0][-1], "g1", dose_g="180")), "\n", _COMMENT],
        3: [_line(_guest(names, evenings[3][-1], "g2", notes="")).rstrip("\n") + "sweet, long\n"],
        5: [_line(["g3", *["ditto"] * (len(names) - 1)])],
    }
    yield _line(names)
    yield _line([_UNITS.get(name, "") for name in names])
    for place, evening in enumerate(evenings):
        yield from map(_line, evening)
        yield from after.get(place, [])
    yield _line(evenings[-1][-1])


def scribble_lines(typed: pd.DataFrame) -> Iterator[str]:
    """Return the lines of a log kept with care: every row of it stays usable.

    Three cells get a unit and one reading is called rough with a ~; a blank line and a
    comment stand before the last bag.

    Parameters
    ----------
    typed : DataFrame
        One row per shot, all cells text, with at least the columns session and bag.

    Returns
    -------
    iterator of str
        Lines of comma-separated text, each with its line end.

    Examples
    --------
    >>> import numpy as np
    >>> from yieldwright.simulate import default_plan
    >>> plan = default_plan(np.random.default_rng(1)).astype(str)
    >>> lines = list(scribble_lines(plan))
    >>> len(lines) - 1 - len(plan) == sum(SCRIBBLED_LINES.values())
    True
    """
    yield _line([str(name) for name in typed.columns])
    last = typed["bag"].iloc[-1]
    begun = False
    for session in _evenings(typed):
        if session["bag"].iloc[0] == last and not begun:
            begun = True
            yield from ("\n", _NEW_BAG)
        yield from map(_line, session.to_numpy().tolist())


def _evenings(typed: pd.DataFrame) -> list[pd.DataFrame]:
    """Return one table per session, a few cells with more than the number in them."""
    spoilt = typed.copy()
    for place, (name, retype) in enumerate(_TYPED.items(), start=1):
        if name in spoilt:
            cell = spoilt.index[place], name
            spoilt.loc[cell] = retype(spoilt.loc[cell])
    return [evening for _, evening in spoilt.groupby("session", sort=False)]


def _guest(names: list[str], row: list[str], shot: str, **cells: str) -> list[str]:
    """Return one more shot after a row, with some cells as a guest typed them."""
    last = dict(zip(names, row, strict=True))
    later = datetime.fromisoformat(last["pulled_at"]) + _GUEST_AFTER
    changed = {
        "shot": shot,
        "position": str(int(last["position"]) + 1),
        "pulled_at": later.isoformat(timespec="minutes"),
        "barista": "guest",
    }
    answers = {name: cell for name, cell in (changed | cells).items() if name in last}
    return list((last | answers).values())


def _line(cells: Iterable[str]) -> str:
    text = io.StringIO()
    csv.writer(text, lineterminator="\n").writerow(cells)
    return text.getvalue()
