"""How much of what like shots differ by the instruments cause, and whether that matters."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from yieldwright.cautions import Caution
from yieldwright.formatting import listing, number
from yieldwright.repeatability.spread.instrument_shares import is_good_enough, variance_fraction
from yieldwright.repeatability.spread.quantity_spread import QuantitySpread, quantity_spread
from yieldwright.repeatability.spread.spread_texts import share_span, share_words
from yieldwright.repeatability.spread.yield_instruments import fully_measured, yield_instruments
from yieldwright.results import Dropped, Result
from yieldwright.taste.columns.comparable import ComparableSet

if TYPE_CHECKING:
    import pandas as pd

    from yieldwright.bench import Bench

__all__ = ["ASSUMED_YIELD_SD", "InstrumentCheck", "instrument_against_shots"]

#: Spread of yield between like shots that stands in where a log has hardly any repeats, in
#: points: an assumption with no source, to be replaced by one's own repeats.
ASSUMED_YIELD_SD = (0.3, 0.8)

#: Repeats below which the assumption says more than their own interval does: of two, that
#: spans a factor of twelve (common practice, no source).
BORROWED_BELOW = 3

#: Parts of a bench by the names under which it states them.
_NAMES = {
    "refractometer": "the refractometer",
    "beverage_scale": "the scale under the cup",
    "dose_scale": "the scale for the dose",
}


@dataclass(frozen=True, kw_only=True, eq=False, repr=False)
class InstrumentCheck(Result):
    """How the instruments' uncertainty compares with what like shots differ by.

    Attributes
    ----------
    u_ey_pct : float
        Typical standard uncertainty of a yield from the instruments, the accuracy common
        to all readings left out: it cancels in a difference. [% by mass]
    spread : QuantitySpread or None
        How much like shots differ in yield; None where no shot has one.
    share, share_low, share_high : float
        Share of the variance of like shots that the instruments cause, at the spread and
        at the ends of its interval; fractions, at most 1. The first is missing with fewer
        than 5 repeats.
    assumed : bool
        Whether the ends are those of an assumed spread.
    budget : DataFrame
        One row per measurement: what it alone would cause.
    good_enough : bool or None
        Whether the share is below a quarter; None where the spread leaves it open.
    """

    u_ey_pct: float
    spread: QuantitySpread | None
    share: float
    share_low: float
    share_high: float
    assumed: bool
    budget: pd.DataFrame
    good_enough: bool | None

    @property
    def title(self) -> str:
        """What was compared."""
        return "Instruments against shots"

    def to_frame(self) -> pd.DataFrame:
        """Return the budget at full precision."""
        return self.budget.reset_index()


def instrument_against_shots(
    shots: pd.DataFrame, *, bench: Bench, spread: QuantitySpread | None = None
) -> InstrumentCheck:
    """Compare the instruments' uncertainty of a yield with what like shots differ by.

    Parameters
    ----------
    shots : DataFrame
        One row per shot that may be compared, with dose, beverage and strength.
    bench : Bench
        Whose instruments were used.
    spread : QuantitySpread or None
        Spread of the yield; by default that of these shots.

    Returns
    -------
    InstrumentCheck
        Below 3 repeats of like shots with the assumption 0.3–0.8 points in place of their
        spread, said so.

    Notes
    -----
    The spread of like shots holds the instruments' part already, so the share is
    u² / SD², u being that of the shots the spread rests on.

    References
    ----------
    .. [1] JCGM 100:2008, 5.1.2, and F.2.4.5 on what cancels in a difference.

    Examples
    --------
    >>> import pandas as pd
    >>> from yieldwright.bench import Bench
    >>> tds = [9.0, 9.2, 9.6, 9.4, 9.1, 9.5]
    >>> shots = pd.DataFrame({"dose_g": 18.0, "beverage_g": 36.0, "tds_pct": tds})
    >>> shots["ey_pct"] = 2 * shots["tds_pct"]
    >>> check = instrument_against_shots(shots, bench=Bench())
    >>> round(check.u_ey_pct, 3), check.good_enough
    (0.09, True)
    """
    found = spread
    if found is None and "ey_pct" in shots:
        found = quantity_spread(ComparableSet("", "", shots), "ey_pct", bench=bench)
    borrowed = found is None or found.alike.df < BORROWED_BELOW
    rows = shots if borrowed or found is None else found.alike.rows
    caused = yield_instruments(rows, bench=bench)
    missing = len(shots) - len(fully_measured(shots))
    share, low, high = _shares(caused.u_ey_pct, None if borrowed else found)
    check = InstrumentCheck(
        u_ey_pct=caused.u_ey_pct,
        spread=found,
        share=share,
        share_low=low,
        share_high=high,
        assumed=borrowed and not math.isnan(low),
        budget=caused.budget,
        good_enough=_verdict(found, low, high, borrowed=borrowed),
        n_shots=caused.n_shots,
        dropped=(Dropped(missing, "without dose, beverage and strength"),) if missing else (),
        cautions=_assumptions(bench),
    )
    return replace(check, sentences=_sentences(check))


def _shares(u: float, spread: QuantitySpread | None) -> tuple[float, float, float]:
    """Return the share of the variance at the spread and at its ends, assumed without one."""
    if spread is None:
        narrow, wide = ASSUMED_YIELD_SD
        return math.nan, variance_fraction(u, wide), variance_fraction(u, narrow)
    if spread.instrument is None:
        return math.nan, math.nan, math.nan
    share = spread.instrument.share if spread.firm else math.nan
    return share, spread.instrument.low, spread.instrument.high


def _verdict(
    spread: QuantitySpread | None, low: float, high: float, *, borrowed: bool
) -> bool | None:
    if borrowed or spread is None:
        return is_good_enough(low, high)
    return spread.instrument_good_enough


def _assumptions(bench: Bench) -> tuple[Caution, ...]:
    assumed = [words for name, words in _NAMES.items() if name not in bench.stated]
    if not assumed:
        return ()
    return (
        Caution(
            "assumed-instruments",
            "note",
            f"The bench does not describe {listing(assumed)}: their resolution and repeatability "
            "are assumed.",
            "State them in the bench file.",
        ),
    )


def _sentences(check: InstrumentCheck) -> tuple[str, ...]:
    if check.n_shots == 0:
        return ("No shot has dose, beverage and strength: instruments cannot be judged.",)
    u = number(check.u_ey_pct, figures=2)
    if math.isnan(check.share_low):
        return (f"The instruments leave a yield uncertain by {u} points.",)
    ends = {
        True: "good enough, a better one would show little that is new.",
        False: "they hide much of what differs: read the strength several times, or weigh finer.",
        None: "whether they are good enough stays open until more shots are pulled alike.",
    }
    head = f"The instruments (standard uncertainty {u} points of yield, without the accuracy that"
    return (f"{head} all readings share) cause {_seen(check)}: {ends[check.good_enough]}",)


def _seen(check: InstrumentCheck) -> str:
    """Return the share with its interval, and of what."""
    span = share_span(check.share_low, check.share_high)
    if check.assumed:
        low, high = ASSUMED_YIELD_SD
        return (
            f"{span} of the variance of like shots, were their SD {low:g} to {high:g} points, "
            "which is assumed, with no source"
        )
    of_what = "of the variance of like shots"
    if math.isnan(check.share):
        return f"somewhere in {span} {of_what} (95 % interval)"
    return f"{share_words(check.share)} (95 % interval {span}) {of_what}"
