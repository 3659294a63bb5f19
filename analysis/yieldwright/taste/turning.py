"""Where a bend in the grind setting turns, bounded in three ways that ought to agree."""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, ClassVar

import numpy as np
import numpy.typing as npt
import pandas as pd

from yieldwright.errors import TooFewShotsError
from yieldwright.formatting import interval, number
from yieldwright.models.intervals.intervals import t_quantile
from yieldwright.models.linear.bootstrap import DRAWS, bootstrap
from yieldwright.models.terms.terms import Numeric
from yieldwright.results import Result
from yieldwright.taste.fitting import peak_of
from yieldwright.taste.words.telling import peak_sentence
from yieldwright.taste.words.wording import column_label

if TYPE_CHECKING:
    from collections.abc import Hashable, Mapping
    from typing import Any

    from yieldwright.models.intervals.fieller import FiellerSet
    from yieldwright.taste.findings import Findings
    from yieldwright.taste.strata.stratum_fits import StratumFit

__all__ = ["TURNING_COLUMNS", "TurningPoint", "turning_point"]

Array = npt.NDArray[np.float64]

GRIND = "grind_setting"

#: Columns of a table of limits.
TURNING_COLUMNS = ("way", "kind", "estimate", "ci_low", "ci_high", "monte_carlo_error")

#: Limits that differ by more than this share of the longer interval do not agree.
ALIKE = 0.25


@dataclass(frozen=True, kw_only=True, eq=False, repr=False)
class TurningPoint(Result):
    """Where the response is best along the grind setting.

    Attributes
    ----------
    response : str
        Column explained.
    peak : FiellerSet
        The places the shots do not rule out, exact for normal errors: what is told.
    table : DataFrame
        One row per way of bounding it: Fieller's set, the delta method (which is never
        unbounded, and so says too little where the bend is weak), and residuals drawn
        anew, with the error that drawing itself leaves in its limits.
    """

    drawing: ClassVar[str] = ""

    response: str
    peak: FiellerSet
    table: pd.DataFrame = field(
        default_factory=lambda: pd.DataFrame(columns=list(TURNING_COLUMNS))
    )

    @property
    def title(self) -> str:
        """What turns."""
        return f"Where the {column_label(self.response)} is best along the grind setting"

    def to_frame(self) -> pd.DataFrame:
        """Return the limits at full precision."""
        return self.table

    def display_frame(self) -> pd.DataFrame:
        """Return the limits as text.

        Returns
        -------
        DataFrame
            One row per way of bounding the place.
        """
        return pd.DataFrame([_shown(row) for row in self.table.to_dict("records")])


def turning_point(findings: Findings, *, rng: np.random.Generator) -> TurningPoint | None:
    """Return where a bend in the grind setting is at its best, if one shows.

    Parameters
    ----------
    findings : Findings
        One question and its verdicts.
    rng : Generator
        Source of chance for drawing residuals anew.

    Returns
    -------
    TurningPoint or None
        None where no bend shows, or it turns the wrong way.

    Notes
    -----
    Of scores by several tasters, Fieller's set comes from the mixed model, and the other
    two from mean scores.
    """
    peak, fit = peak_of(findings), findings.inside.fit
    if peak is None or fit is None or not fit.curved >= {GRIND}:
        return None
    table = pd.DataFrame([_fieller(peak), _delta(fit), *_resampled(fit, rng)])
    told = [peak_sentence(peak, findings), *_agreement(table)]
    return TurningPoint(
        response=findings.question.response,
        n_shots=len(findings.inside.layout.frame),
        peak=peak,
        table=table,
        sentences=tuple(told),
    )


def _fieller(peak: FiellerSet) -> dict[str, object]:
    return _row("Fieller", peak.estimate, (peak.low, peak.high), kind=peak.kind)


def _delta(fit: StratumFit) -> dict[str, object]:
    """Return the limits of the delta method, as if the place were a sum of coefficients."""
    place = fit.design.place(GRIND)
    linear, square = fit.fit.params[place]
    gradient = np.array([-1 / (2 * square), linear / (2 * square**2)])
    error = math.sqrt(float(gradient @ fit.fit.cov[place, place] @ gradient))
    middle, reach = _scale(fit)
    estimate = middle + reach * float(-linear / (2 * square))
    half = t_quantile(fit.fit.df_resid) * reach * error
    return _row("delta method", estimate, (estimate - half, estimate + half))


def _resampled(fit: StratumFit, rng: np.random.Generator) -> list[dict[str, object]]:
    place = fit.design.place(GRIND)
    middle, reach = _scale(fit)

    def turn(params: Array) -> Array:
        return middle - reach * params[:, place.start] / (2 * params[:, place.start + 1])

    try:
        found = bootstrap(fit.fit, rng=rng).interval(turn)
    except TooFewShotsError:
        return []
    error = max(found.mc_low, found.mc_high)
    way = f"{DRAWS:,} resamples"
    return [_row(way, found.estimate, (found.low, found.high), error=error)]


def _scale(fit: StratumFit) -> tuple[float, float]:
    term = fit.design.term(GRIND)
    return (term.middle, term.reach) if isinstance(term, Numeric) else (0.0, 1.0)


def _row(
    way: str,
    estimate: float,
    limits: tuple[float, float],
    *,
    kind: str = "bounded",
    error: float = math.nan,
) -> dict[str, object]:
    return dict(zip(TURNING_COLUMNS, (way, kind, estimate, *limits, error), strict=True))


def _agreement(table: pd.DataFrame) -> list[str]:
    """Return whether the other ways bound the place as Fieller's set does."""
    exact, others = table.iloc[0], table.iloc[1:]
    if exact["kind"] != "bounded":
        weak = (
            "The delta method and resamples would print an interval all the same: neither is to "
        )
        return [f"{weak}be trusted where the bend is this weak."]
    longest = (table["ci_high"] - table["ci_low"]).max()
    off = np.maximum(
        (others["ci_low"] - exact["ci_low"]).abs(), (others["ci_high"] - exact["ci_high"]).abs()
    )
    apart = [str(way) for way in others.loc[off > ALIKE * longest, "way"]]
    if apart:
        return [f"By {' and by '.join(apart)} the limits differ: take the wider ones."]
    return ["Resampling and the delta method give nearly the same limits."]


def _shown(row: Mapping[Hashable, Any]) -> dict[str, str]:
    """Return one way of bounding as text."""
    bounded = row["kind"] == "bounded"
    half = (row["ci_high"] - row["ci_low"]) / 2 if bounded else math.nan
    error = row["monte_carlo_error"]
    return {
        "By": row["way"],
        "Setting": number(row["estimate"], half)
        if bounded
        else number(row["estimate"], figures=3),
        "95 % limits": interval(row["ci_low"], row["ci_high"]) if bounded else "none",
        "± by chance of drawing": "–" if math.isnan(error) else number(error, figures=1),
    }
