"""Cells of one row against one another: what was typed, and what the rest of it gives."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from yieldwright.formatting import count, listing
from yieldwright.glossary import quantity
from yieldwright.shotlog.checks.bag_checks import bag_checks
from yieldwright.shotlog.checks.relations import relations_of
from yieldwright.shotlog.checks.slips import Balance, likely_slips
from yieldwright.shotlog.findings import NO_ROW, Finding, findings_of

if TYPE_CHECKING:
    from yieldwright.bench import Bench
    from yieldwright.shotlog.checks.relations import Relation
    from yieldwright.shotlog.checks.slips import Slip
    from yieldwright.shotlog.findings import Texts

__all__ = ["computed_otherwise", "cross_checks"]

#: Checks that hold dose, beverage, strength and each other together.
_BALANCED = frozenset({"brew_ratio", "ey_pct"})
_COMPUTED = "the computed value is used"
_USED = dict.fromkeys(
    ("brew_ratio", "ey_pct", "frozen_d", "open_d", "roast_age_d", "taper_bar"), _COMPUTED
) | {"tds_pct": "the mean of the readings is used"}

#: Pairs that cannot stand the other way round, yet need not spoil the row.
_ORDERED = (
    ("hold_bar", "peak_bar", "held pressure above the peak", ""),
    ("first_drip_s", "time_s", "first drip after the end of the pull", ""),
    ("taper_start_s", "time_s", "taper starts after the end of the pull", ""),
    ("opened_on", "pulled_on", "bag opened after the pull", "correct one of the two"),
    (
        "roasted_on",
        "opened_on",
        "bag opened before the roast; the roast age is not known",
        "correct one of the two",
    ),
)


def cross_checks(frame: pd.DataFrame, texts: Texts, bench: Bench) -> list[Finding]:
    """Return kept rows whose cells disagree with one another.

    Parameters
    ----------
    frame : DataFrame
        One row per data row, computed columns included.
    texts : mapping of str to sequence of str
        The typed columns as typed.
    bench : Bench
        Its bands.

    Returns
    -------
    list of Finding

    Examples
    --------
    >>> import pandas as pd
    >>> from yieldwright.bench import Bench
    >>> row = {"dose_g": 18.0, "beverage_g": 36.0, "tds_pct": 10.0, "typed_ey_pct": 21.5}
    >>> texts = {name: [str(value)] for name, value in row.items()}
    >>> cross_checks(pd.DataFrame(row, index=[0]), texts, Bench())[0].reason
    'typed 21.5, but the row itself gives 20 % by mass'
    """
    relations = relations_of(frame, texts, bench)
    slips = likely_slips(Balance.of(frame, texts, bench, relations))
    return [
        *_apart(relations, texts, slips),
        *_mistyped(relations, slips),
        *computed_otherwise(relations),
        *_out_of_order(frame, texts),
        *bag_checks(frame, texts, bench),
        *_band_against_temperature(frame, texts, bench),
        *_day_against_moment(frame, texts),
    ]


def computed_otherwise(relations: Mapping[str, Relation]) -> list[Finding]:
    """Return what to say once of typed columns that follow another rule than ours.

    Parameters
    ----------
    relations : mapping of str to Relation
        Of a table.

    Returns
    -------
    list of Finding
        They concern no single row.

    Examples
    --------
    >>> import numpy as np
    >>> from yieldwright.shotlog.checks.relations import Relation
    >>> dry = Relation("ey_pct", np.full(9, 20.6), np.full(9, 20.6), np.full(9, 0.05), 1.03, 9)
    >>> computed_otherwise({"ey_pct": dry})[0].reason
    'typed values are 1.03 × what 9 of 9 rows give: computed in another way?'
    """
    return [
        Finding(NO_ROW, name, "", _another_way(relation), _remedy(name))
        for name, relation in relations.items()
        if relation.is_another_way
    ]


def _another_way(relation: Relation) -> str:
    rows = f"{relation.n_apart:,} of {count(relation.n_rows, 'row')}"
    if relation.factor == 1:
        return f"typed values differ from what the rows give in {rows}: computed in another way?"
    return f"typed values are {relation.factor:.3g} × what {rows} give: computed in another way?"


def _remedy(name: str) -> str:
    dry = "; a yield on a dry basis is larger by 1 / (1 − moisture)" if name == "ey_pct" else ""
    return f"the computed value is used{dry}"


def _apart(
    relations: Mapping[str, Relation], texts: Texts, slips: Mapping[int, list[Slip]]
) -> Iterator[Finding]:
    """Yield typed values that disagree with their row, where no other cell is the reason."""
    told_elsewhere = {
        row for row, found in slips.items() if len(found) == 1 and found[0].is_told_input
    }
    for name, relation in relations.items():
        rows = relation.broken.copy()
        rows[[row for row in told_elsewhere if name in _BALANCED]] = False
        for finding in findings_of(
            rows, name, texts, _against(name, relation.typed, relation.computed)
        ):
            found = slips.get(finding.row, ()) if name in _BALANCED else ()
            yield finding._replace(suggestion=_meant(found, _USED[name]))


def _meant(slips: Sequence[Slip], otherwise: str) -> str:
    """Return what may have been meant, and what is used meanwhile."""
    if not slips:
        return otherwise
    if len(slips) == 1:
        return f"{slips[0].suggestion} {otherwise}"
    ways = [f"{slip.column.removeprefix('typed_')} {slip.suggestion}" for slip in slips]
    return f"{' or '.join(ways)} the rest of the row cannot tell; {otherwise}"


def _mistyped(
    relations: Mapping[str, Relation], slips: Mapping[int, list[Slip]]
) -> Iterator[Finding]:
    """Yield cells that alone explain why typed values disagree with their row."""
    for row, found in slips.items():
        if len(found) == 1 and found[0].is_told_input:
            (slip,) = found
            broken = [
                f"{name} of {each.typed[row]:.4g} (the row gives {each.computed[row]:.4g})"
                for name, each in relations.items()
                if name in _BALANCED and each.broken[row]
            ]
            reason = f"does not fit the typed {listing(broken)}"
            yield Finding(row, slip.column, slip.typed, reason, slip.suggestion)


def _against(name: str, typed: np.ndarray, computed: np.ndarray) -> Callable[[int], str]:
    unit = quantity(name).unit.replace("1", "")
    return lambda row: (
        f"typed {typed[row]:.4g}, but the row itself gives {computed[row]:.4g} {unit}".rstrip()
    )


def _out_of_order(frame: pd.DataFrame, texts: Texts) -> Iterator[Finding]:
    for low, high, reason, remedy in _ORDERED:
        if low in frame and high in frame:
            wrong = (frame[low] > frame[high]).to_numpy(dtype=bool, na_value=False)
            yield from findings_of(wrong, low, texts, reason, remedy)


def _band_against_temperature(
    frame: pd.DataFrame, texts: Texts, bench: Bench
) -> Iterator[Finding]:
    if "temp_band" not in texts or "temp_c" not in frame:
        return
    spans = {band.name: (band.low_c, band.high_c) for band in bench.bands}
    codes, words = pd.factorize(frame["temp_band"].fillna(""))
    of_words = [spans.get(word, (-np.inf, np.inf)) for word in words]
    low, high = np.array(of_words, dtype=float).reshape(-1, 2)[codes].T
    temps = frame["temp_c"].to_numpy(dtype=float)
    yield from findings_of(
        (temps < low) | (temps > high),
        "temp_band",
        texts,
        lambda row: f"{temps[row]:g} °C lies outside that band; the band as typed is used",
    )


def _day_against_moment(frame: pd.DataFrame, texts: Texts) -> Iterator[Finding]:
    if "pulled_on" in texts and "pulled_at:day" in frame:
        moment = frame["pulled_at:day"]
        differs = ((frame["pulled_on"] != moment) & moment.notna()).to_numpy(dtype=bool)
        yield from findings_of(differs, "pulled_on", texts, "another day than that of pulled_at")
