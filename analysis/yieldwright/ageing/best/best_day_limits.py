"""The limits of a best day by every way of bounding it, side by side."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from yieldwright.ageing.trend.drift import beside_columns
from yieldwright.errors import YieldwrightError
from yieldwright.models.linear.bootstrap import DRAWS
from yieldwright.models.trend.turning_points import turning_points

if TYPE_CHECKING:
    from collections.abc import Hashable, Iterator, Mapping
    from typing import Any

    from yieldwright.ageing.trend.model import TrendModel
    from yieldwright.models.intervals.fieller import FiellerSet
    from yieldwright.models.trend.two_lines import TwoLines

__all__ = ["limits_by_way", "limits_shown"]

BY_CHANCE = "± by chance of drawing"

#: Columns of the table of limits.
COLUMNS = ("way", "kind", "estimate", "ci_low", "ci_high", "monte_carlo_error")


def limits_by_way(
    model: TrendModel, ages: FiellerSet, lines: TwoLines | None, *, seed: int
) -> pd.DataFrame:
    """Return the limits of the age at which a response turns, by each way of bounding it.

    Parameters
    ----------
    model : TrendModel
        A curve in roast age.
    ages : FiellerSet
        The ages at which it may turn. [d]
    lines : TwoLines or None
        Two lines that meet, where their break counts.
    seed : int
        Where chance begins when sessions and shots are drawn anew.

    Returns
    -------
    DataFrame
        One row per way: `way`, `kind`, `estimate`, `ci_low`, `ci_high`,
        `monte_carlo_error`.
    """
    rows = [_by_curve(ages), *_by_lines(lines), *_by_draws(model, seed)]
    return pd.DataFrame(rows, columns=list(COLUMNS))


def limits_shown(table: pd.DataFrame, tried: tuple[float, float]) -> pd.DataFrame:
    """Return the limits as texts, no day beyond those tried.

    Parameters
    ----------
    table : DataFrame
        From `limits_by_way`.
    tried : tuple of float
        First and last age. [d]

    Returns
    -------
    DataFrame
        One row per way.

    Examples
    --------
    >>> row = ("curve, Fieller", "bounded", 38.0, 34.0, 47.0, math.nan)
    >>> limits_shown(pd.DataFrame([row], columns=list(COLUMNS)), (5.0, 40.0)).iloc[0].tolist()
    ['curve, Fieller', '38', '34 or later']
    """
    shown = pd.DataFrame([_shown(row, tried) for row in table.to_dict("records")])
    drawn = table["monte_carlo_error"].notna().any()
    return shown if drawn else shown.drop(columns=BY_CHANCE)


def _by_curve(ages: FiellerSet) -> tuple[object, ...]:
    return ("curve, Fieller", ages.kind, ages.estimate, ages.low, ages.high, math.nan)


def _by_lines(lines: TwoLines | None) -> Iterator[tuple[object, ...]]:
    if lines is not None:
        limits = (lines.place, lines.ci_low, lines.ci_high)
        yield ("two lines, likelihood", _kind(*limits[1:]), *limits, math.nan)


def _by_draws(model: TrendModel, seed: int) -> Iterator[tuple[object, ...]]:
    """Yield the limits of sessions and shots drawn anew, where the rows can be drawn from."""
    rows = model.rows
    try:
        found = turning_points(
            rows.ages,
            rows.prepared.frame["response"].to_numpy(dtype=float),
            rng=np.random.default_rng(seed),
            beside=beside_columns(rows),
            groups=rows.codes if rows.grouped else None,
        )
    except YieldwrightError:
        return
    drawn = found.percentile
    error = max(drawn.mc_low, drawn.mc_high)
    kind = _kind(drawn.low, drawn.high)
    yield (f"curve, {DRAWS:,} redrawn logs", kind, found.estimate, drawn.low, drawn.high, error)


def _kind(low: float, high: float) -> str:
    return "bounded" if math.isfinite(low) and math.isfinite(high) else "unbounded"


def _shown(row: Mapping[Hashable, Any], tried: tuple[float, float]) -> dict[str, str]:
    """Return one way of bounding as text, days to the whole day and none beyond those tried."""
    error, at = row["monte_carlo_error"], row["estimate"]
    is_set = row["kind"] in ("bounded", "unbounded")
    inside = is_set and tried[0] <= at <= tried[1]
    return {
        "By": str(row["way"]),
        "Best about day": f"{at:.0f}" if inside else "–",
        "95 % limits": _within(row["ci_low"], row["ci_high"], tried) if is_set else "none",
        BY_CHANCE: "–" if math.isnan(error) else f"{error:.1f}",
    }


def _within(low: float, high: float, tried: tuple[float, float]) -> str:
    """Return limits, an end beyond the ages tried as an open one."""
    early, late = low >= tried[0], high <= tried[1]
    if early and late:
        return f"{low:.0f} to {high:.0f}"
    if early:
        return f"{low:.0f} or later"
    return f"{high:.0f} or earlier" if late else "any"
