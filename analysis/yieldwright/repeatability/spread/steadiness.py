"""How steady a bench is: the spread of like shots in everything that is measured."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field
from types import MappingProxyType
from typing import TYPE_CHECKING, Any, ClassVar

import pandas as pd

from yieldwright.formatting import number, percent, sentence_case
from yieldwright.repeatability.spread.measured import measured_columns, measured_unit
from yieldwright.repeatability.spread.quantity_spread import QuantitySpread, quantity_spread
from yieldwright.repeatability.spread.spread_texts import amount, basis_phrase, with_limits
from yieldwright.repeatability.spread.steadiness_cautions import steadiness_cautions
from yieldwright.repeatability.spread.steadiness_words import (
    missing_quantity,
    steadiness_sentences,
)
from yieldwright.results import Result
from yieldwright.taste.words.wording import column_label

if TYPE_CHECKING:
    from collections.abc import Sequence

    from yieldwright.bench import Bench
    from yieldwright.taste.columns.comparable import ComparableSet

__all__ = ["Steadiness", "steadiness"]


@dataclass(frozen=True, kw_only=True, eq=False, repr=False)
class Steadiness(Result):
    """How much like shots differ, quantity by quantity, and what the bench can see.

    Attributes
    ----------
    name : str
        Bag and grinder in words.
    quantities : tuple of QuantitySpread
        One per measured quantity with at least one shot.
    missing : mapping of str to str
        Why nothing is told of a quantity that was asked about, or would be told of.
    """

    drawing: ClassVar[str] = "steadiness_lanes"

    name: str = ""
    quantities: tuple[QuantitySpread, ...] = ()
    missing: Mapping[str, str] = field(default_factory=lambda: MappingProxyType({}))

    @property
    def title(self) -> str:
        """What was compared."""
        return f"How much like shots differ: {self.name}"

    def to_frame(self) -> pd.DataFrame:
        """Return one row per measured quantity at full precision."""
        return pd.DataFrame([_row(each) for each in self.quantities])

    def display_frame(self) -> pd.DataFrame:
        """Return the spreads as text.

        Returns
        -------
        DataFrame
            One row per quantity: repeats, SD with interval, coefficient of variation,
            repeatability limit, share of the instrument.
        """
        return pd.DataFrame([_shown(each) for each in self.quantities])

    @property
    def differences(self) -> pd.DataFrame:
        """One row per quantity and number of shots: the smallest difference that shows."""
        rows = [
            {"quantity": each.column, "n_each": d.n_each, "difference": d.size,
             "ci_low": d.low, "ci_high": d.high}
            for each in self.quantities
            for d in each.differences
        ]  # fmt: skip
        columns = ["quantity", "n_each", "difference", "ci_low", "ci_high"]
        return pd.DataFrame(rows, columns=columns)

    @property
    def shots_needed(self) -> pd.DataFrame:
        """One row per quantity and difference worth knowing of: shots at each setting."""
        rows = [
            {"quantity": each.column, "difference": n.size, "n_each": n.n_each,
             "ci_low": n.low, "ci_high": n.high}
            for each in self.quantities
            for n in each.needed
        ]  # fmt: skip
        columns = ["quantity", "difference", "n_each", "ci_low", "ci_high"]
        return pd.DataFrame(rows, columns=columns)

    @property
    def sessions(self) -> pd.DataFrame:
        """One row per quantity that at least 3 sessions repeat: spread between sessions."""
        rows = [
            {"quantity": each.column, "n_shots": s.n_shots, "n_sessions": s.n_sessions,
             "sd": s.sd, "ci_low": s.low, "ci_high": s.high, "at_zero": s.at_zero,
             "shot_sd": s.shot_sd, "total_sd": s.total, "total_ci_low": s.total_low,
             "total_ci_high": s.total_high}
            for each in self.quantities
            if (s := each.sessions) is not None
        ]  # fmt: skip
        columns = ["quantity", "n_shots", "n_sessions", "sd", "ci_low", "ci_high", "at_zero",
                   "shot_sd", "total_sd", "total_ci_low", "total_ci_high"]  # fmt: skip
        return pd.DataFrame(rows, columns=columns)

    def display_differences(self) -> pd.DataFrame:
        """Return what two settings can be seen to differ by, as text.

        Returns
        -------
        DataFrame
            One row per quantity, a column for each number of shots.
        """
        rows = []
        for each in self.quantities:
            cells = {f"{d.n_each} shots each": with_limits(d.size, d.low, d.high)
                     for d in each.differences}  # fmt: skip
            if cells:
                rows.append({_HEAD: _named(each.column), **cells})
        return pd.DataFrame(rows)

    def display_shots_needed(self) -> pd.DataFrame:
        """Return shots for differences worth knowing of, as text.

        Returns
        -------
        DataFrame
            One row per quantity and difference.
        """
        rows = [
            {
                _HEAD: sentence_case(column_label(each.column)),
                "To see": amount(n.size, measured_unit(each.column)),
                "Shots each": f"{n.n_each:,}",
                "As the SD is known": f"{n.low:,} to {n.high:,}",
            }
            for each in self.quantities
            for n in each.needed
        ]
        return pd.DataFrame(rows)

    def display_sessions(self) -> pd.DataFrame:
        """Return the spread from session to session as text.

        Returns
        -------
        DataFrame
            One row per quantity that at least 3 sessions repeat.
        """
        rows = [
            {
                _HEAD: _named(each.column),
                "Sessions": str(s.n_sessions),
                "Session SD": with_limits(s.sd, s.low, s.high),
                "Shot SD": number(s.shot_sd, figures=2),
                "Both": with_limits(s.total, s.total_low, s.total_high),
            }
            for each in self.quantities
            if (s := each.sessions) is not None
        ]
        return pd.DataFrame(rows)


_HEAD = "Measured"


def steadiness(comparable: ComparableSet, *, bench: Bench, of: Sequence[str] = ()) -> Steadiness:
    """Return how steady a bench is in everything that is measured of like shots.

    Parameters
    ----------
    comparable : ComparableSet
        Shots of one bag and grinder.
    bench : Bench
        Whose instruments, recipe and scales count.
    of : sequence of str
        Columns and attributes by name; none for yield, time, beverage, strength and
        whatever was scored.

    Returns
    -------
    Steadiness
        One row per measured quantity; with fewer than 5 repeats an interval alone.

    Raises
    ------
    UnknownNameError
        If there is no such column or attribute.
    RoleError
        If a column is set, counted or written, and not measured.

    Notes
    -----
    Like shots agree in everything that was set, in the session and, where that leaves 5
    repeats, in the hand that pulled them. Where no way of matching leaves 5, the spread
    about a line through the settings stands in, and is called that. Drift inside a
    session counts as spread.

    References
    ----------
    .. [1] ISO 5725-6:1994, 4.1.4: the repeatability limit.
    .. [2] JCGM 100:2008, H.3.6: pooled experimental variance.

    Examples
    --------
    >>> from yieldwright.bench import Bench
    >>> from yieldwright.taste.columns.comparable import ComparableSet
    >>> shots = pd.DataFrame({"time_s": [30.0, 31, 32, 33, 34, 35, 32, 33, 31, 34]})
    >>> found = steadiness(ComparableSet("", "", shots), bench=Bench())
    >>> found.display_frame()["SD (95 %)"].tolist()
    ['1.6 (1.1 to 2.9)']
    """
    columns = measured_columns(comparable, of, bench=bench)
    shots = comparable.shots
    held = [name for name in columns if name in shots and shots[name].notna().any()]
    quantities = tuple(quantity_spread(comparable, name, bench=bench) for name in held)
    missing = {name: missing_quantity(name) for name in columns if name not in held}
    return Steadiness(
        name=comparable.name,
        n_shots=len(shots),
        quantities=quantities,
        missing=MappingProxyType(missing),
        dropped=comparable.excluded,
        sentences=tuple(steadiness_sentences(quantities, missing)),
        cautions=steadiness_cautions(comparable, quantities, bench),
    )


def _row(each: QuantitySpread) -> dict[str, Any]:
    alike, instrument = each.alike, each.instrument
    return {
        "quantity": each.column,
        "unit": measured_unit(each.column),
        "basis": alike.basis,
        "n_shots": len(alike.rows),
        "n_sets": alike.n_sets,
        "repeats": alike.df,
        "mean": each.mean,
        "sd": alike.sd,
        "ci_low": each.low,
        "ci_high": each.high,
        "variation": each.variation,
        "variation_ci_low": each.variation_limits.low,
        "variation_ci_high": each.variation_limits.high,
        "repeatability_limit": each.limit,
        "limit_ci_low": each.limit_interval.low,
        "limit_ci_high": each.limit_interval.high,
        "limit_of_few": each.limit_few,
        "miss_forgiven": each.forgiven,
        "within": each.within,
        "within_ci_low": each.within_limits.low,
        "within_ci_high": each.within_limits.high,
        "instrument": instrument.name if instrument else "",
        "instrument_u": instrument.u if instrument else math.nan,
        "instrument_share": instrument.share if instrument else math.nan,
        "share_ci_low": instrument.low if instrument else math.nan,
        "share_ci_high": instrument.high if instrument else math.nan,
        "instrument_good_enough": each.instrument_good_enough,
    }


def _shown(each: QuantitySpread) -> dict[str, str]:
    firm, share = each.firm, each.instrument
    return {
        _HEAD: sentence_case(column_label(each.column)),
        "Unit": measured_unit(each.column),
        "Repeats": basis_phrase(each),
        "SD (95 %)": with_limits(each.sd if firm else math.nan, each.low, each.high),
        "CV": percent(each.variation, places=1),
        "Limit": number(each.limit, figures=2),
        "Reading": percent(share.share) if firm and share else "–",
    }


def _named(column: str) -> str:
    unit = measured_unit(column)
    return sentence_case(column_label(column)) + (f" [{unit}]" if unit else "")
