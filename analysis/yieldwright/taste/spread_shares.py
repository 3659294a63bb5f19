"""How much of the spread inside sessions each setting accounts for, in order and last."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING, ClassVar

import pandas as pd

from yieldwright.formatting import count, listing, number, p_value, percent
from yieldwright.models.linear.sums_of_squares import RESIDUAL, partial_sums, sequential_sums
from yieldwright.results import Result
from yieldwright.taste.words.wording import column_label

if TYPE_CHECKING:
    from collections.abc import Hashable, Mapping
    from typing import Any

    from yieldwright.taste.findings import Findings
    from yieldwright.taste.strata.stratum_fits import StratumFit

__all__ = ["SHARE_COLUMNS", "SpreadShares", "spread_shares"]

#: Columns of a table of shares.
SHARE_COLUMNS = ("term", "share_in_order", "share_last", "df", "statistic", "p_value")


@dataclass(frozen=True, kw_only=True, eq=False, repr=False)
class SpreadShares(Result):
    """Shares of the spread of one response that settings and conditions account for.

    Attributes
    ----------
    response : str
        Column explained.
    stratum : str
        Within sessions, or pooled.
    table : DataFrame
        One row per term and one for the rest: the share it takes of what those before it
        left (`share_in_order`), the share it takes of what all others left (`share_last`),
        and the F test of the latter. Shares are fractions.
    """

    drawing: ClassVar[str] = ""

    response: str
    stratum: str = ""
    table: pd.DataFrame = field(default_factory=lambda: pd.DataFrame(columns=list(SHARE_COLUMNS)))

    @property
    def title(self) -> str:
        """What is shared out."""
        return f"What accounts for the spread of the {column_label(self.response)}"

    def to_frame(self) -> pd.DataFrame:
        """Return the shares at full precision."""
        return self.table

    def display_frame(self) -> pd.DataFrame:
        """Return the shares as text.

        Returns
        -------
        DataFrame
            One row per term and one for the rest.
        """
        return pd.DataFrame([_shown(row) for row in self.table.to_dict("records")])


def spread_shares(findings: Findings) -> SpreadShares | None:
    """Return how much of the spread each setting accounts for.

    Parameters
    ----------
    findings : Findings
        One question and its verdicts.

    Returns
    -------
    SpreadShares or None
        None where shots could not be fitted.

    Notes
    -----
    Shares describe these shots: a setting that was varied twice as far takes four times
    the share at the same effect, so they rank what was done and not what could be done.
    In order they add up to 1 with the rest; last they do not where settings went
    together. Of several tasters the means of shots are shared out.
    """
    inside = findings.inside
    if inside.fit is None or not inside.fit.predictors:
        return None
    table = _table(inside.fit)
    return SpreadShares(
        response=findings.question.response,
        stratum=inside.stratum,
        n_shots=len(inside.layout.frame),
        table=table,
        sentences=(_sentence(findings, table),),
    )


def _table(fit: StratumFit) -> pd.DataFrame:
    in_order, last = sequential_sums(fit.fit), partial_sums(fit.fit)
    total = float(in_order["sum_of_squares"].sum())
    return pd.DataFrame(
        {
            "term": in_order["term"],
            "share_in_order": in_order["sum_of_squares"] / total,
            "share_last": last["sum_of_squares"] / total,
            "df": last["df"],
            "statistic": last["statistic"],
            "p_value": last["p_value"],
        }
    )


def _sentence(findings: Findings, table: pd.DataFrame) -> str:
    settings = table[table["term"].isin(findings.question.settings)]
    told = [
        f"{percent(row['share_last'])} goes with {column_label(str(row['term']))}"
        for row in settings.sort_values("share_last", ascending=False).to_dict("records")
    ]
    rest = float(table.loc[table["term"] == RESIDUAL, "share_last"].sum())
    where = "inside sessions" if findings.inside.layout.blocked else "of these shots"
    shots = count(len(findings.inside.layout.frame), "shot")
    return (
        f"Of the spread {where}, {listing([*told, f'{percent(rest)} with nothing fitted'])} once "
        f"all else is allowed for ({shots}). What was varied farther takes a larger share: this "
        "ranks what was done, not what could be."
    )


def _shown(row: Mapping[Hashable, Any]) -> dict[str, str]:
    """Return one share as text."""
    is_rest = row["term"] == RESIDUAL
    return {
        "Accounts": "the rest" if is_rest else column_label(str(row["term"])),
        "In order": percent(row["share_in_order"]),
        "After all others": percent(row["share_last"]),
        "df": str(row["df"]),
        "F": "–" if is_rest else number(row["statistic"], figures=2),
        "p": "–" if is_rest else p_value(row["p_value"]),
    }
