"""How much of the spread from shot to shot the instruments cause, and whether that matters."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from yieldwright.cautions import Caution
from yieldwright.formatting import listing, number, percent
from yieldwright.models.intervals.intervals import t_quantile
from yieldwright.repeatability.spread.replicates import Spread, replicate_spread
from yieldwright.results import Dropped, Result
from yieldwright.uncertainty import (
    scale_uncertainty,
    tds_uncertainty,
    yield_budget,
    yield_uncertainty,
)

if TYPE_CHECKING:
    from yieldwright.bench import Bench

__all__ = ["InstrumentCheck", "instrument_against_shots"]

#: Share of the variance below which a better instrument would change little: the spread
#: would shrink by less than a seventh.
GOOD_ENOUGH = 0.25

#: Parts of a bench by the names under which it states them.
_NAMES = {
    "refractometer": "the refractometer",
    "beverage_scale": "the scale under the cup",
    "dose_scale": "the scale for the dose",
}


@dataclass(frozen=True, kw_only=True, eq=False, repr=False)
class InstrumentCheck(Result):
    """How the instruments' uncertainty compares with the spread of like shots.

    Attributes
    ----------
    u_ey_pct : float
        Typical standard uncertainty of a yield from the instruments, the accuracy common
        to all readings left out: it cancels in a difference. [% by mass]
    spread : Spread
        How much like shots differ.
    share, share_low, share_high : float
        Share of the variance of like shots that the instruments cause, at the spread and
        at the ends of its interval; fractions, at most 1.
    budget : DataFrame
        One row per measurement: what it alone would cause.
    good_enough : bool or None
        Whether the share is below a quarter; None where the spread leaves it open.
    smallest_difference : float
        Difference of two single shots beyond which chance is unlikely, from the spread;
        missing where that is assumed. [% by mass]
    """

    u_ey_pct: float
    spread: Spread
    share: float
    share_low: float
    share_high: float
    budget: pd.DataFrame
    good_enough: bool | None
    smallest_difference: float

    @property
    def title(self) -> str:
        """What was compared."""
        return "Instruments against shots"

    def to_frame(self) -> pd.DataFrame:
        """Return the budget at full precision."""
        return self.budget.reset_index()


def instrument_against_shots(
    shots: pd.DataFrame, *, bench: Bench, spread: Spread | None = None
) -> InstrumentCheck:
    """Compare the instruments' uncertainty of a yield with the spread of like shots.

    Parameters
    ----------
    shots : DataFrame
        One row per shot that may be compared, with dose, beverage and strength.
    bench : Bench
        Whose instruments were used.
    spread : Spread or None
        Spread of the yield; by default that of these shots.

    Returns
    -------
    InstrumentCheck

    Notes
    -----
    The spread of like shots holds the instruments' part already, so the share is
    u² / SD². Single readings in columns `tds_1_pct`, `tds_2_pct` … are counted.

    References
    ----------
    .. [1] JCGM 100:2008, 5.1.2, and F.2.4.5 on what cancels in a difference.

    Examples
    --------
    >>> from yieldwright.bench import Bench
    >>> shots = pd.DataFrame({"dose_g": 18.0, "beverage_g": 36.0, "tds_pct": [9.0, 9.2, 9.6, 9.4]})
    >>> shots["ey_pct"] = 2 * shots["tds_pct"]
    >>> check = instrument_against_shots(shots, bench=Bench())
    >>> round(check.u_ey_pct, 3), check.good_enough
    (0.09, True)
    """
    needed = ["dose_g", "beverage_g", "tds_pct", "ey_pct"]
    whole = shots.reindex(columns=needed).notna().all(axis=1)
    measured = shots[whole]
    found = spread or replicate_spread(shots.reindex(columns=_with(shots, "ey_pct")), "ey_pct")
    u_tds, u_beverage, u_dose = _inputs(measured, bench)
    u_ey_pct = _typical(measured, u_tds, u_beverage, u_dose)
    share, low, high = _shares(u_ey_pct, found)
    missing = len(shots) - len(measured)
    check = InstrumentCheck(
        u_ey_pct=u_ey_pct,
        spread=found,
        share=share,
        share_low=low,
        share_high=high,
        budget=_budget(measured, u_tds, u_beverage, u_dose),
        good_enough=_verdict(low, high),
        smallest_difference=_telling(found),
        n_shots=len(measured),
        dropped=(Dropped(missing, "without dose, beverage and strength"),) if missing else (),
        cautions=_assumptions(bench),
    )
    return replace(check, sentences=_sentences(check))


def _with(shots: pd.DataFrame, column: str) -> list[str]:
    return [*shots.columns, *([] if column in shots else [column])]


def _inputs(shots: pd.DataFrame, bench: Bench) -> tuple[pd.Series[float], float, float]:
    """Return the standard uncertainties of strength, beverage and dose, accuracy left out."""
    names = [str(name) for name in shots]
    single = [name for name in names if name.startswith("tds_") and name[4:5].isdigit()]
    readings = shots[single].notna().sum(axis=1).clip(lower=1).astype(float)
    u_tds = tds_uncertainty(bench.refractometer, readings, with_accuracy=False)
    return u_tds, scale_uncertainty(bench.beverage_scale), scale_uncertainty(bench.dose_scale)


def _typical(
    shots: pd.DataFrame, u_tds: pd.Series[float], u_beverage: float, u_dose: float
) -> float:
    if shots.empty:
        return math.nan
    u_ey = yield_uncertainty(
        shots["tds_pct"],
        shots["beverage_g"],
        shots["dose_g"],
        u_tds_pct=u_tds,
        u_beverage_g=u_beverage,
        u_dose_g=u_dose,
    )
    return float(np.sqrt(np.mean(np.square(u_ey))))


def _budget(
    shots: pd.DataFrame, u_tds: pd.Series[float], u_beverage: float, u_dose: float
) -> pd.DataFrame:
    """Return what each measurement of the average shot causes."""
    if shots.empty:
        return pd.DataFrame({"u_ey_pct": [], "share": []}, index=pd.Index([], name="measurement"))
    means = shots[["tds_pct", "beverage_g", "dose_g"]].mean()
    return yield_budget(
        float(means["tds_pct"]),
        float(means["beverage_g"]),
        float(means["dose_g"]),
        u_tds_pct=float(u_tds.mean()),
        u_beverage_g=u_beverage,
        u_dose_g=u_dose,
    )


def _shares(u_ey_pct: float, spread: Spread) -> tuple[float, float, float]:
    """Return the share of the variance at the spread and at the ends of its interval."""
    share, low, high = (
        min((u_ey_pct / sd) ** 2, 1.0) if sd > 0 else math.nan
        for sd in (spread.sd, spread.high, spread.low)
    )
    return share, low, high


def _verdict(low: float, high: float) -> bool | None:
    if high < GOOD_ENOUGH:
        return True
    return False if low > GOOD_ENOUGH else None


def _telling(spread: Spread) -> float:
    if math.isnan(spread.sd):
        return math.nan
    return t_quantile(spread.df) * math.sqrt(2) * spread.sd


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
    u, spread = number(check.u_ey_pct, figures=2), check.spread
    if check.n_shots == 0:
        return ("No shot has dose, beverage and strength: instruments cannot be judged.",)
    if math.isnan(check.share_low):
        return (f"The instruments leave a yield uncertain by {u} points.",)
    seen = f"{percent(check.share_low)} to {percent(check.share_high)}"
    if not spread.assumed:
        seen = f"{percent(check.share)} (95 % interval {seen})"
    ends = {
        True: "good enough, a better one would show little that is new.",
        False: "they hide much of what differs: read the strength several times, or weigh finer.",
        None: "whether they are good enough stays open until more shots are pulled alike.",
    }
    of_what = "assumed spread" if spread.assumed else "spread"
    head = (
        f"The instruments (standard uncertainty {u} points of yield, without the accuracy that "
        f"all readings share) cause {seen} of the variance in the {of_what} from shot to shot: "
    )
    return (head + ends[check.good_enough], *_difference(check.smallest_difference))


def _difference(smallest: float) -> tuple[str, ...]:
    if math.isnan(smallest):
        return ()
    least = number(smallest, figures=2)
    return (f"Two single shots less than {least} points of yield apart may well be alike.",)
