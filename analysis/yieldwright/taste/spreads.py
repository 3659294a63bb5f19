"""How much sessions, shots and tasters differ, and what a mixed model says beside blocks."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING, ClassVar

import pandas as pd

from yieldwright.cautions import Caution
from yieldwright.formatting import count, interval, listing, number, sentence_case, signed
from yieldwright.models.mixed.variances import RESIDUAL, variance_table
from yieldwright.results import ESTIMATE_COLUMNS, Result
from yieldwright.taste.strata.grouped_fit import GroupedFit, in_groups
from yieldwright.taste.tables import effect_table, effects_of
from yieldwright.taste.words.wording import column_label, response_words

if TYPE_CHECKING:
    from collections.abc import Hashable, Iterator, Mapping, Sequence
    from typing import Any

    from yieldwright.models.mixed.model import MixedFit
    from yieldwright.taste.findings import Findings
    from yieldwright.taste.strata.judging import Judged

__all__ = ["SPREAD_COLUMNS", "Spreads", "spreads"]

#: Columns of a table of spreads.
SPREAD_COLUMNS = ("group", "where", "n_groups", "sd", "ci_low", "ci_high", "at_zero")

#: Groups that say little of their spread: with fewer, its interval reaches far.
FEW_GROUPS = 5

_BETWEEN = {
    "session": "from session to session",
    "shot": "from shot to shot of one session",
    "taster": "from taster to taster",
    "bag": "from bag to bag",
}

#: What the rest is, where rows are single scores and where they are shots.
_REST = {True: "from taste to taste of one shot", False: "from shot to shot of one session"}


@dataclass(frozen=True, kw_only=True, eq=False, repr=False)
class Spreads(Result):
    """Standard deviations of everything that shifts a response, by a mixed model.

    Attributes
    ----------
    response : str
        Column explained.
    table : DataFrame
        One row per source of spread: `group`, in words (`where`), `n_groups`, `sd` with its
        profile interval, and whether the estimate is exactly zero (`at_zero`).
    effects : DataFrame
        One row per practical step, as the mixed model tells it.
    is_beside : bool
        Whether the printed effects come from another model.
    """

    drawing: ClassVar[str] = ""

    response: str
    table: pd.DataFrame = field(default_factory=lambda: pd.DataFrame(columns=SPREAD_COLUMNS))
    effects: pd.DataFrame = field(default_factory=lambda: pd.DataFrame(columns=ESTIMATE_COLUMNS))
    is_beside: bool = False

    @property
    def title(self) -> str:
        """What differs, and in what."""
        return f"How much the {column_label(self.response)} differs, and where"

    def to_frame(self) -> pd.DataFrame:
        """Return the spreads at full precision."""
        return self.table

    def display_frame(self) -> pd.DataFrame:
        """Return the spreads as text.

        Returns
        -------
        DataFrame
            One row per source of spread.
        """
        return pd.DataFrame([_shown(row) for row in self.table.to_dict("records")])


def spreads(findings: Findings) -> Spreads | None:
    """Return how much groups differ, and the effects of a mixed model of the same log.

    Parameters
    ----------
    findings : Findings
        One question and its verdicts.

    Returns
    -------
    Spreads or None
        None where the log has no groups, or no mixed model of it is possible.
    """
    chosen = findings.chosen
    if chosen is None or not chosen.groupings:
        return None
    judged = chosen.judged
    if chosen.kind != "mixed model":
        judged, reason = in_groups(judged, chosen.rows, chosen.groupings)
        if reason:
            return None
    mixed = _mixed(judged)
    return None if mixed is None else _told(findings, judged, mixed)


def _mixed(judged: Sequence[Judged]) -> MixedFit | None:
    fits = (each.fit for each in judged)
    return next((fit.mixed for fit in fits if isinstance(fit, GroupedFit)), None)


def _told(findings: Findings, judged: Sequence[Judged], mixed: MixedFit) -> Spreads:
    table = _table(mixed)
    effects = effect_table([effect for each in judged for effect in effects_of(each)])
    is_beside = findings.chosen is None or findings.chosen.kind != "mixed model"
    return Spreads(
        response=findings.question.response,
        n_shots=len(findings.inside.layout.frame),
        table=table,
        effects=effects,
        is_beside=is_beside,
        sentences=tuple(_sentences(findings, table, effects, is_beside=is_beside)),
        cautions=tuple(_differing(findings, effects)) if is_beside else (),
    )


def _table(mixed: MixedFit) -> pd.DataFrame:
    found = variance_table(mixed)
    shifts = found[found["term"].isin([*_intercepts(mixed), RESIDUAL])]
    rows = [
        {
            "group": row["group"],
            "where": _BETWEEN.get(str(row["group"]), _REST["shot" in mixed.n_groups]),
            "n_groups": mixed.n_groups.get(str(row["group"]), mixed.n_rows),
            "sd": row["estimate"],
            "ci_low": row["ci_low"],
            "ci_high": row["ci_high"],
            "at_zero": bool(row["at_edge"]),
        }
        for row in shifts.to_dict("records")
    ]
    return pd.DataFrame(rows, columns=list(SPREAD_COLUMNS))


def _intercepts(mixed: MixedFit) -> set[str]:
    return {each.terms[0] for each in mixed.groupings}


def _sentences(
    findings: Findings, table: pd.DataFrame, effects: pd.DataFrame, *, is_beside: bool
) -> Iterator[str]:
    unit = response_words(findings.question.response, findings.question.bench).unit
    rows = table.to_dict("records")
    told = [_phrase(row, unit) for row in rows if not row["at_zero"]]
    noun = findings.words.noun
    yield f"At the same settings the {noun} differs {listing(told)} (SD with 95 % interval)."
    for row in (row for row in rows if row["at_zero"]):
        yield (
            f"No difference {row['where']} shows: its estimate is 0, and the log rules out "
            f"only an SD above {number(row['ci_high'], figures=2)} {unit}."
        )
    if is_beside and len(effects):
        yield _beside(findings, effects)


def _phrase(row: Mapping[Hashable, Any], unit: str) -> str:
    span = interval(row["ci_low"], row["ci_high"])
    few = row["n_groups"] < FEW_GROUPS
    known = f"; only {count(row['n_groups'], str(row['group']))}" if few else ""
    return f"by {number(row['sd'], figures=2)} {unit} {row['where']} ({span}{known})"


def _beside(findings: Findings, effects: pd.DataFrame) -> str:
    settings = effects[effects["kind"] == "setting"].to_dict("records")
    told = [
        f"{row['step']} {signed(row['estimate'], (row['ci_high'] - row['ci_low']) / 2)} "
        f"({interval(row['ci_low'], row['ci_high'])})"
        for row in settings
    ]
    return sentence_case(
        f"a mixed model of the same {count(len(findings.inside.layout.frame), 'shot')}, sessions "
        f"random, says: {'; '.join(told)} {findings.words.unit}."
    )


def _differing(findings: Findings, effects: pd.DataFrame) -> Iterator[Caution]:
    """Yield where blocks and mixed model give different verdicts on a setting."""
    printed = findings.table.set_index("step")
    others = effects[effects["kind"] == "setting"].set_index("step")
    steps = [step for step in others.index if step in printed.index]
    apart = [
        str(step) for step in steps if _is_clear(printed.loc[step]) != _is_clear(others.loc[step])
    ]
    if apart:
        yield Caution(
            "models-differ",
            "note",
            f"For {listing(apart)} the verdict depends on whether sessions are blocks or random.",
            "Change these settings inside more sessions.",
            tuple(dict.fromkeys(str(others.loc[step, "term"]) for step in apart)),
        )


def _is_clear(row: pd.Series) -> bool:
    return bool(row["ci_low"] * row["ci_high"] > 0)


def _shown(row: Mapping[Hashable, Any]) -> dict[str, str]:
    """Return one spread as text."""
    return {
        "Differs": row["where"],
        "Groups": f"{row['n_groups']:,}",
        "SD": number(row["sd"], figures=2),
        "95 % interval": interval(row["ci_low"], row["ci_high"]),
    }
