"""What a reader of two bags in the same sessions must know before trusting the difference."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from yieldwright.ageing.compared.grinder_shots import bag_name
from yieldwright.ageing.compared.paired_rows import FEW_SESSIONS, FIRST
from yieldwright.cautions import Caution
from yieldwright.formatting import count, listing, number, visible
from yieldwright.taste.columns.roles import attribute_of
from yieldwright.taste.words.wording import column_label

if TYPE_CHECKING:
    from collections.abc import Iterator

    from yieldwright.ageing.compared.paired import PairedBags
    from yieldwright.ageing.compared.paired_rows import PairedRows

__all__ = ["paired_cautions"]

#: Share of sessions in one order from which the place in the session went along with the bag
#: (an assumption, no source).
ONE_ORDER = 0.8


def paired_cautions(found: PairedBags) -> Iterator[Caution]:
    """Yield what is shaky about the difference of two bags in the same sessions.

    Parameters
    ----------
    found : PairedBags
        With a difference.

    Yields
    ------
    Caution
    """
    rows = found.rows
    if rows is None:
        return
    yield from _together(found, rows)
    yield from _wider(rows)
    yield from _order(found, rows)
    yield from _not_equal(rows)
    yield from _few(found)
    yield from _coded(found, rows)


def _together(found: PairedBags, rows: PairedRows) -> Iterator[Caution]:
    for name in rows.together:
        label, values = column_label(name), _values(rows, name)
        both = f" ({' and '.join(values)})" if values else ""
        at = "".join(f" ({value})" for value in values[:1])
        yield Caution(
            "bag-with-setting",
            "care",
            f"The {label} went along with the bag in every session{both}: the difference is that "
            "of both together, and no sum parts them.",
            f"In each of the next sessions pull {bag_name(found.bags[1])} at the {label} of "
            f"{bag_name(found.bags[0])}{at} too: two shots of each.",
            ("bag", name),
        )


def _values(rows: PairedRows, name: str) -> tuple[str, ...]:
    """Return the usual value of a column for each bag, nothing where one has several."""
    shots = rows.comparable.shots
    told = []
    for code in rows.bags:
        column = shots[name] if name in shots else pd.Series(index=shots.index, dtype=float)
        values = list(column[shots["bag"] == code].dropna().unique())
        if len(values) != 1:
            return ()
        number_like = isinstance(values[0], float | np.floating)
        told.append(f"{values[0]:g}" if number_like else visible(str(values[0])))
    return tuple(told)


def _wider(rows: PairedRows) -> Iterator[Caution]:
    kept = {each.column for each in rows.kept}
    for name, inflation in rows.wider:
        label = column_label(name)
        what = (
            f"that makes the interval {number(inflation**0.5, figures=2)} times as wide"
            if name in kept
            else "so few shots cannot allow for that, and part of the difference may be its doing"
        )
        yield Caution(
            "bag-with-setting",
            "care",
            f"The {label} differed along with the bag inside sessions: {what}.",
            f"Pull both at one {label} in the same session.",
            ("bag", name),
        )


def _order(found: PairedBags, rows: PairedRows) -> Iterator[Caution]:
    """Yield that one bag nearly always came first, where an order is known."""
    places = pd.Series(np.arange(len(rows.frame)), index=rows.frame.index)
    shots = rows.comparable.shots
    if not {"position", "pulled_at"} & set(shots):
        return
    means = places.groupby([rows.codes, rows.frame[FIRST]]).mean().unstack()
    # In turns such as a b b a both stand at one place on average, and neither came first.
    counts = [int((means[True] < means[False]).sum()), int((means[True] > means[False]).sum())]
    n = max(counts)
    if n < ONE_ORDER * len(means):
        return
    early, late = found.bags if counts[0] == n else found.bags[::-1]
    in_which = f"all {n} sessions" if n == len(means) else f"{n} of {len(means)} sessions"
    yield Caution(
        "bags-in-one-order",
        "care",
        f"{bag_name(early)} came before {bag_name(late)} in {in_which}: warming up, and a tongue "
        "that tires, are in the difference.",
        f"Begin with {bag_name(late)} in every other session, or take turns.",
        ("bag", "position"),
    )


def _not_equal(rows: PairedRows) -> Iterator[Caution]:
    told = {name for name, _ in rows.wider}
    declined = [(name, why) for name, why in rows.declined if name not in told]
    if not declined:
        return
    named = listing([f"{column_label(name)} ({why})" for name, why in declined])
    yield Caution(
        "bags-not-held-equal",
        "note",
        f"What else differs inside sessions is not taken off: {named}.",
        "Keep it the same, or pull more shots.",
        ("bag", *(name for name, _ in declined)),
    )


def _few(found: PairedBags) -> Iterator[Caution]:
    if found.n_sessions < FEW_SESSIONS:
        yield Caution(
            "few-shared-sessions",
            "note",
            f"{count(found.n_sessions, 'session')} with both bags make a wide interval.",
            f"From {FEW_SESSIONS} on it narrows fast: pull two shots of each on further days.",
            ("session",),
        )


def _coded(found: PairedBags, rows: PairedRows) -> Iterator[Caution]:
    """Yield that tasters may have known which bag they tasted, where no cup codes are logged."""
    if attribute_of(found.response) is None:
        return
    tastings = rows.comparable.tastings
    if "blind_code" in tastings and tastings["blind_code"].notna().any():
        return
    yield Caution(
        "cups-not-coded",
        "care",
        "No cup codes are logged: whoever knew which bag was in the cup may have tasted that.",
        "Let somebody else code the cups, and note blind_code.",
        ("score", "blind_code"),
    )
