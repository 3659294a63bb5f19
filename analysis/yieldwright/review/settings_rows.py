"""The settings tried: how many shots, how many failed, and what they gave."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np

from yieldwright.formatting import clip, count, number, percent, with_uncertainty
from yieldwright.models.intervals.intervals import t_quantile
from yieldwright.review.tables import SheetColumn, SheetTable
from yieldwright.taste.columns.one_start import shots_of_one_start

if TYPE_CHECKING:
    from collections.abc import Hashable, Mapping, Sequence
    from typing import Any

    import pandas as pd

    from yieldwright.repeatability import FailureRates, QuantitySpread

__all__ = ["settings_table", "tried_settings"]

_MOST_ROWS = 7
_BY = ("grind_setting", "temp_band")
_HEADS = {"grind_setting": "Grind", "temp_band": "Band"}


def tried_settings(shots: pd.DataFrame) -> tuple[str, ...]:
    """Return the columns that tell the settings of some shots apart.

    Parameters
    ----------
    shots : DataFrame
        One row per shot of one bag and grinder.

    Returns
    -------
    tuple of str
        Grind and band where both were changed, else whichever was logged.

    Examples
    --------
    >>> import pandas as pd
    >>> tried_settings(pd.DataFrame({"grind_setting": [11.0, 12.0], "temp_band": ["low", "low"]}))
    ('grind_setting',)
    """
    logged = [name for name in _BY if name in shots and shots[name].notna().any()]
    varied = [name for name in logged if len(shots[name].dropna().unique()) > 1]
    return tuple(varied or logged[:1])


def settings_table(
    failures: FailureRates, usable: pd.DataFrame, spreads: Sequence[QuantitySpread]
) -> SheetTable | None:
    """Return the settings tried as texts, None where the log names none.

    Parameters
    ----------
    failures : FailureRates
        One row per setting.
    usable : DataFrame
        One row per comparable shot, for the means.
    spreads : sequence of QuantitySpread
        How much like shots differ, for the intervals of the means: of yield, of time.

    Returns
    -------
    SheetTable or None

    Examples
    --------
    >>> import pandas as pd
    >>> from yieldwright.repeatability import failure_rate
    >>> shots = pd.DataFrame({"grind_setting": [12.0] * 9, "fate": ["pulled"] * 8 + ["choked"]})
    >>> settings_table(failure_rate(shots, "grind_setting"), shots, []).rows
    (('12', '9', '1 (2 % to 43 %)'),)
    """
    rates, by = failures.rates, list(failures.by)
    if not by or rates.empty:
        return None
    kept = rates["n_shots"].rank(ascending=False, method="first") <= _MOST_ROWS
    rows = rates[kept].to_dict("records")
    columns = (
        *(SheetColumn(_HEADS[name], _settings(rows, name)) for name in by),
        SheetColumn("Shots", tuple(f"{row['n_shots']:,}" for row in rows), numeric=True),
        SheetColumn("Failed (95 %)", tuple(_failed(row, failures) for row in rows)),
        *(_means(rows, by, usable, spread) for spread in spreads if spread.column in usable),
    )
    remark = _more(len(rates) - len(rows))
    return SheetTable(_caption(failures, spreads), columns, remark=remark, print_remark=remark)


def _settings(rows: Sequence[Mapping[Hashable, Any]], name: str) -> tuple[str, ...]:
    values = (row[name] for row in rows)
    return tuple(f"{v:g}" if isinstance(v, float) else clip(str(v), 16) for v in values)


def _failed(row: Mapping[Hashable, Any], failures: FailureRates) -> str:
    if not failures.logged:
        return "not logged"
    span = f"{percent(row['ci_low'])} to {percent(row['ci_high'])}"
    return f"{row['n_failed']:.0f} ({span})"


def _means(
    rows: Sequence[Mapping[Hashable, Any]],
    by: Sequence[str],
    usable: pd.DataFrame,
    spread: QuantitySpread,
) -> SheetColumn:
    """Return the mean of each setting, its half-width from the spread of like shots."""
    compared, _ = shots_of_one_start(usable, spread.column)
    found = compared.groupby(list(by))[spread.column].agg(["mean", "count"])
    head = {"ey_pct": "Yield [%]", "time_s": "Time [s]"}.get(spread.column, spread.column)
    cells = []
    for row in rows:
        key = tuple(row[name] for name in by)
        place = key if len(by) > 1 else key[0]
        known = place in found.index
        mean, n = found.loc[place].to_numpy(dtype=float) if known else (math.nan, 0.0)
        cells.append(_mean(float(mean), float(n), spread))
    return SheetColumn(head, tuple(cells), numeric=True)


def _mean(mean: float, n: float, spread: QuantitySpread) -> str:
    if math.isnan(mean):
        return "–"
    if not spread.firm:
        return number(mean)
    return with_uncertainty(mean, t_quantile(spread.alike.df) * spread.sd / float(np.sqrt(n)))


def _caption(failures: FailureRates, spreads: Sequence[QuantitySpread]) -> str:
    head = "Every shot of this bag and grinder but warm-ups."
    if not failures.logged:
        head += " The log does not say how shots ended."
    else:
        head += " Failed: not pulled to the end, with the 95 % Wilson interval."
    known = [spread for spread in spreads if spread.firm]
    if known:
        return f"{head} Means ± the 95 % half-width by the spread of like shots, not adjusted."
    return f"{head} Means are not adjusted; like shots are too few for an interval."


def _more(n: int) -> str:
    if n <= 0:
        return ""
    return f"{count(n, 'setting')} with fewer shots not shown."
