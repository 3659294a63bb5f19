"""Do tasters agree: on one number, on an order, beyond chance, and how harsh each is."""

from __future__ import annotations

import math
from dataclasses import dataclass, field, replace
from itertools import combinations
from typing import TYPE_CHECKING, Any, ClassVar

import pandas as pd

from yieldwright.bench import Bench
from yieldwright.errors import YieldwrightError
from yieldwright.formatting import clip, interval, number, p_value, signed, visible
from yieldwright.models.agreement.alpha import krippendorff_alpha
from yieldwright.models.agreement.concordance import concordance
from yieldwright.models.agreement.intraclass import intraclass, mean_squares
from yieldwright.models.agreement.precision import variance_sum_interval
from yieldwright.repeatability.panel.taster_levels import (
    TasterLevel,
    blind_repeats,
    taster_levels,
    taster_pairs,
)
from yieldwright.repeatability.panel.taster_words import taster_cautions, taster_sentences
from yieldwright.results import Result

if TYPE_CHECKING:
    from collections.abc import Hashable, Mapping

    from yieldwright.taste.columns.comparable import ComparableSet

__all__ = ["LEAST_SHARED", "TasterAgreement", "taster_agreement"]

#: Shots that two tasters have to share before their agreement is told.
LEAST_SHARED = 5

#: Tasters among whom those who share most shots are looked for, the most diligent first.
_MOST_COMPARED = 8

#: Columns of a table of measures of agreement.
MEASURE_COLUMNS = ("measure", "estimate", "ci_low", "ci_high", "p_value", "n_shots", "n_tasters")


@dataclass(frozen=True, kw_only=True, eq=False, repr=False)
class TasterAgreement(Result):
    """Whether several tasters mean the same by a score.

    Attributes
    ----------
    attribute : str
        What was scored.
    table : DataFrame
        One row per measure: `measure`, `estimate`, `ci_low`, `ci_high`, `p_value`,
        `n_shots`, `n_tasters`. ICC(A,1): share of the variance that lies between shots,
        harshness counted as disagreement; ICC(C,1): harshness left out; both on shots
        that all the tasters named scored. alpha: ordinal, gaps allowed. W: of orders.
    complete : tuple of str
        Tasters behind the ICCs and W: those who share most shots.
    levels : tuple of TasterLevel
        How high or low each scores.
    pairs : DataFrame
        One row per pair of tasters who share 5 shots.
    own : DataFrame
        One row per taster who scored a shot again: how much they differ from themselves.
    score_error : tuple of float
        What one taster's score of one shot is uncertain by: standard deviation of level
        and rest together, with its limits; missing where it cannot be told. [points]
    largest_error : float
        Half of the scale: no standard deviation of scores on it is larger. [points]
    missing : str
        Why nothing is told; empty where something is.
    """

    drawing: ClassVar[str] = ""

    attribute: str
    table: pd.DataFrame = field(default_factory=lambda: pd.DataFrame(columns=MEASURE_COLUMNS))
    complete: tuple[str, ...] = ()
    levels: tuple[TasterLevel, ...] = ()
    pairs: pd.DataFrame = field(default_factory=pd.DataFrame)
    own: pd.DataFrame = field(default_factory=pd.DataFrame)
    score_error: tuple[float, float, float] = (math.nan, math.nan, math.nan)
    largest_error: float = math.inf
    missing: str = ""

    @property
    def title(self) -> str:
        """What was compared."""
        return f"Do tasters agree on {visible(self.attribute)}"

    def to_frame(self) -> pd.DataFrame:
        """Return the measures at full precision."""
        return self.table

    def display_frame(self) -> pd.DataFrame:
        """Return the measures as text.

        Returns
        -------
        DataFrame
            One row per measure of agreement.
        """
        rows = [
            {
                "Measure": str(row["measure"]),
                "Estimate": number(row["estimate"], figures=2),
                "95 % interval": interval(row["ci_low"], row["ci_high"]),
                "p": p_value(row["p_value"]),
                "Shots": str(row["n_shots"]),
                "Tasters": str(row["n_tasters"]),
            }
            for row in self.table.to_dict("records")
        ]
        return pd.DataFrame(rows)

    def display_levels(self) -> pd.DataFrame:
        """Return how high or low each taster scores, as text.

        Returns
        -------
        DataFrame
            One row per taster.
        """
        rows = [
            {
                "Taster": clip(visible(each.taster), 24),
                "Shots": str(each.n_shots),
                "Higher by": signed(each.level, (each.high - each.low) / 2),
                "95 % interval": interval(each.low, each.high),
                "p (Holm)": p_value(each.p_holm),
            }
            for each in self.levels
        ]
        return pd.DataFrame(rows)

    def display_pairs(self) -> pd.DataFrame:
        """Return how each pair of tasters compares, as text.

        Returns
        -------
        DataFrame
            One row per pair: mean difference, quadratically weighted kappa.
        """
        return pd.DataFrame([_pair_shown(row) for row in self.pairs.to_dict("records")])


def _pair_shown(row: Mapping[Hashable, Any]) -> dict[str, str]:
    low, high = row["ci_low"], row["ci_high"]
    names = (clip(visible(str(row[name])), 12) for name in ("first", "second"))
    return {
        "Pair": " − ".join(names),
        "Shots": str(row["n_shots"]),
        "Difference": signed(row["difference"], (high - low) / 2),
        "95 % interval": interval(low, high),
        "Kappa": number(row["kappa"], figures=2),
        "95 %, kappa": interval(row["kappa_ci_low"], row["kappa_ci_high"]),
    }


def taster_agreement(
    comparable: ComparableSet, attribute: str, *, bench: Bench | None = None
) -> TasterAgreement:
    """Return whether the tasters of one attribute agree.

    Parameters
    ----------
    comparable : ComparableSet
        Shots of one bag and grinder, with their single scores.
    attribute : str
        What was scored.
    bench : Bench or None
        Whose scale the scores are on; None for one from 0 to 10.

    Returns
    -------
    TasterAgreement
        With the reason in `missing` where fewer than two tasters share 5 shots.

    Notes
    -----
    Of several scores of one taster for one shot the mean counts, and they tell that
    taster's own steadiness. A measure of agreement is low also where the shots hardly
    differ: nothing to agree about.

    References
    ----------
    .. [1] Shrout and Fleiss (1979), Psychol. Bull. 86, 420.
    .. [2] Krippendorff (2011), Computing Krippendorff's alpha-reliability.
    .. [3] Kendall and Babington Smith (1939), Ann. Math. Stat. 10, 275.

    Examples
    --------
    >>> from yieldwright.taste.columns.comparable import ComparableSet
    >>> rows = [
    ...     (str(n), who, 4.0 + n / 2 + lift + (n * k % 3) / 4)
    ...     for n in range(6)
    ...     for k, (who, lift) in enumerate([("a", 0.0), ("b", 1.0)])
    ... ]
    >>> scores = pd.DataFrame(rows, columns=["shot", "taster", "score"])
    >>> shots = ComparableSet(
    ...     "",
    ...     "",
    ...     pd.DataFrame({"shot": list("012345")}),
    ...     tastings=scores.assign(attribute="overall"),
    ... )
    >>> found = taster_agreement(shots, "overall")
    >>> found.complete, found.table["estimate"].round(2).tolist()
    (('a', 'b'), [0.55, 0.98, 0.39, 0.99])
    """
    scores = _scores_of(comparable, attribute)
    scale = (Bench() if bench is None else bench).attribute(attribute)
    bare = TasterAgreement(
        attribute=attribute,
        n_shots=scores["shot"].nunique(),
        largest_error=(scale.high - scale.low) / 2,
    )
    if scores["taster"].nunique() < 2:
        few = "one taster scored" if len(scores) else "no taster is named in the scores of"
        return _refused(bare, f"{few} {visible(attribute)}, and agreement takes two")
    table = scores.pivot_table(index="shot", columns="taster", values="score", observed=True)
    complete = _complete(table)
    if complete.empty:
        return _refused(
            bare,
            f"no two tasters scored {LEAST_SHARED} shots in common for {visible(attribute)}",
        )
    found = replace(
        bare,
        table=_measures(table, complete),
        complete=tuple(map(str, complete.columns)),
        levels=taster_levels(table),
        pairs=taster_pairs(table, least=LEAST_SHARED),
        own=blind_repeats(scores),
        score_error=_score_error(complete),
    )
    return replace(
        found, sentences=tuple(taster_sentences(found)), cautions=tuple(taster_cautions(found))
    )


def _refused(bare: TasterAgreement, why: str) -> TasterAgreement:
    return replace(bare, missing=why, sentences=(f"Whether tasters agree is not told: {why}.",))


def _scores_of(comparable: ComparableSet, attribute: str) -> pd.DataFrame:
    """Return the single scores of one attribute whose taster is named."""
    held = comparable.tastings
    own = held[held["attribute"] == attribute] if len(held) else held
    return own.reindex(columns=["shot", "taster", "score"]).dropna()


def _complete(table: pd.DataFrame) -> pd.DataFrame:
    """Return the shots that the same tasters all scored: of those who share most.

    Counted are scores beyond the first of a shot; of equals, more tasters.
    """
    by_shots = table.notna().sum().sort_values(ascending=False, kind="stable").index.tolist()
    able = by_shots[:_MOST_COMPARED]
    best, most = pd.DataFrame(), 0
    for n_tasters in range(len(able), 1, -1):
        for names in combinations(able, n_tasters):
            whole = table[list(names)].dropna()
            beyond = len(whole) * (n_tasters - 1)
            if len(whole) >= LEAST_SHARED and beyond > most:
                best, most = whole, beyond
    return best


def _measures(table: pd.DataFrame, complete: pd.DataFrame) -> pd.DataFrame:
    rows: list[tuple[object, ...]] = []
    n, k = complete.shape
    try:
        shares = intraclass(complete).set_index("kind")
        for name, kind in (("ICC(A,1)", "ICC2"), ("ICC(C,1)", "ICC3")):
            row = shares.loc[kind]
            ends = (row["ci_low"], row["ci_high"])
            rows.append((name, row["estimate"], *ends, row["p_value"], n, k))
    except YieldwrightError:  # all tasters gave each shot one and the same score
        pass
    try:
        alpha = krippendorff_alpha(table)
        tasters = int((table.notna().sum() > 0).sum())
        rows.append(("alpha", alpha.estimate, *alpha.limits, math.nan, alpha.n_units, tasters))
    except YieldwrightError:  # every score in the log is the same
        pass
    try:
        order = concordance(complete)
        rows.append(("W", order.w, math.nan, math.nan, order.p_value, n, k))
    except YieldwrightError:  # every taster gave all shots one score
        pass
    return pd.DataFrame(rows, columns=list(MEASURE_COLUMNS))


def _score_error(complete: pd.DataFrame) -> tuple[float, float, float]:
    """Return the standard deviation of one taster's score of a shot, with limits."""
    found = mean_squares(complete)
    n, k = found.n_targets, found.n_raters
    harshness = max(found.raters - found.error, 0.0) / n
    error = math.sqrt(harshness + found.error)
    if not error > 0:
        return error, math.nan, math.nan
    squares, df = (found.raters, found.error), (k - 1, (n - 1) * (k - 1))
    low, high = variance_sum_interval(squares, df, (1 / n, 1 - 1 / n))
    return error, min(math.sqrt(low), error), max(math.sqrt(high), error)
