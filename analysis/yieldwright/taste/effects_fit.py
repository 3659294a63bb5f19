"""What the settings did to one response: the answer as a value."""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from types import MappingProxyType
from typing import TYPE_CHECKING, Any, ClassVar

import pandas as pd

from yieldwright.formatting import count, number, p_value, signed, visible
from yieldwright.results import ESTIMATE_COLUMNS, Result
from yieldwright.taste.words.wording import column_label, effect_interval

if TYPE_CHECKING:
    from collections.abc import Hashable, Iterable, Iterator, Mapping

    from yieldwright.models.intervals.fieller import FiellerSet
    from yieldwright.taste.confounding.separating import SeparatingShot
    from yieldwright.taste.strata.curvature import Curvature

__all__ = [
    "BAND_COLUMNS",
    "BESIDE_COLUMNS",
    "DECLINED",
    "EFFECT_COLUMNS",
    "EffectsFit",
    "EntangledPair",
]

#: How the reason begins for which a condition is not allowed for.
DECLINED = "not allowed for: "

#: Columns of a table of effects.
EFFECT_COLUMNS = (
    *ESTIMATE_COLUMNS,
    "kind",
    "step",
    "stratum",
    "hc3_std_error",
    "hc3_ci_low",
    "hc3_ci_high",
    "detectable",
    "vif",
)

#: Columns of a table of adjusted means.
BAND_COLUMNS = ("band", "n_shots", "estimate", "std_error", "df", "ci_low", "ci_high")

#: Columns of a table that shows each effect with and without its closest companion.
BESIDE_COLUMNS = (
    "term",
    "step",
    "companion",
    "estimate",
    "ci_low",
    "ci_high",
    "estimate_without",
    "ci_low_without",
    "ci_high_without",
)


@dataclass(frozen=True, slots=True)
class EntangledPair:
    """Two columns that a log cannot tell apart, or hardly.

    Attributes
    ----------
    first, second : str
        The columns; the first is a setting.
    vif : float
        Variance inflation of the setting; infinite where one follows from the other.
    limit : float
        Inflation from which no verdict is given, on a log of this size.
    stratum : str
        Where it was found: within sessions, between sessions, or pooled.
    sentence : str
        What cannot be told apart, with the effect with and without the other.
    remedy : str
        Which repeats would separate them.
    separation : SeparatingShot or None
        The same repeats as a value.
    """

    first: str
    second: str
    vif: float
    limit: float
    stratum: str
    sentence: str
    remedy: str = ""
    separation: SeparatingShot | None = None

    @property
    def forbids_verdict(self) -> bool:
        """Whether the effect of the first must not be read as its own."""
        return self.vif >= self.limit


@dataclass(frozen=True, kw_only=True, eq=False, repr=False)
class EffectsFit(Result):
    """What the settings did to one response, within one bag and grinder.

    Attributes
    ----------
    response : str
        Column explained.
    bag, grinder : str
        Codes, empty where the log names none.
    effects : DataFrame
        One row per practical step of a setting or adjuster: the columns of all
        estimates, `kind` (setting, adjuster), `step` in words, `stratum`, the robust
        interval (`hc3_…`), what could have been found at 80 % power (`detectable`), and
        variance inflation (`vif`). Empty where nothing can be estimated.
    band_means : DataFrame
        One row per temperature band: adjusted mean with interval.
    left_out : tuple of pairs of str
        Columns that could not enter or be judged, with reasons.
    curvature : tuple of Curvature
        Where a curve was tried.
    peak : FiellerSet or None
        Where a kept curve in the grind setting turns to its best.
    tried : mapping of str to tuple of float
        Lowest and highest value of each numeric setting.
    confounded : tuple of EntangledPair
        What cannot be told apart.
    beside : DataFrame
        One row per effect of a setting: with its closest companion in the fit, and
        without it.
    n_tests : int
        Effects of settings looked at, for Holm's correction.
    n_sessions : int
        Sessions among the shots.
    residual_sd : float
        Spread from shot to shot that no setting explains. [unit of the response]
    df_resid : int
        Degrees of freedom behind it.
    missing : str
        What a first estimate would need; empty where there is one.
    model, why : str
        The model the estimates come from, and why it, in one sentence.
    """

    drawing: ClassVar[str] = "effects"

    response: str
    bag: str = ""
    grinder: str = ""
    effects: pd.DataFrame = field(default_factory=lambda: _empty(EFFECT_COLUMNS))
    band_means: pd.DataFrame = field(default_factory=lambda: _empty(BAND_COLUMNS))
    left_out: tuple[tuple[str, str], ...] = ()
    curvature: tuple[Curvature, ...] = ()
    peak: FiellerSet | None = None
    tried: Mapping[str, tuple[float, float]] = field(default_factory=lambda: MappingProxyType({}))
    confounded: tuple[EntangledPair, ...] = ()
    beside: pd.DataFrame = field(default_factory=lambda: _empty(BESIDE_COLUMNS))
    n_tests: int = 0
    n_sessions: int = 0
    residual_sd: float = math.nan
    df_resid: int = 0
    missing: str = ""
    model: str = ""
    why: str = ""

    @property
    def title(self) -> str:
        """Response, bag and grinder."""
        where = visible(", ".join(filter(None, (self.bag, self.grinder))))
        what = f"What the settings did to the {column_label(self.response)}"
        return f"{what} ({where})" if where else what

    @property
    def answered(self) -> bool:
        """Whether at least one effect could be estimated."""
        return len(self.effects) > 0

    @property
    def settings(self) -> pd.DataFrame:
        """The rows of `effects` that belong to settings."""
        return self.effects[self.effects["kind"] == "setting"]

    @property
    def headline(self) -> tuple[tuple[str, str], ...]:
        """Shots, sessions, spread and number of tests."""
        rows = [*super().headline]
        if self.answered:
            spread = f"{number(self.residual_sd)} on {count(self.df_resid, 'degree')} of freedom"
            rows.append(("Model", self.why or "least squares"))
            rows.append(("Sessions", str(self.n_sessions)))
            rows.append(("Spread from shot to shot", spread))
            rows.append(("Effects looked at", f"{self.n_tests} (p-values corrected by Holm)"))
        return (*rows, *_left_out_rows(self.left_out))

    def to_frame(self) -> pd.DataFrame:
        """Return the effects at full precision."""
        return self.effects

    def display_frame(self) -> pd.DataFrame:
        """Return the effects as text.

        Returns
        -------
        DataFrame
            One row per effect: step, effect, interval, p by Holm, what could have been
            found, variance inflation.
        """
        return pd.DataFrame([_shown(row) for row in self.effects.to_dict("records")])


def _left_out_rows(left_out: Iterable[tuple[str, str]]) -> Iterator[tuple[str, str]]:
    """Yield what was asked and not judged, and what was not allowed for, where there is any."""
    entries = list(left_out)
    for label, is_declined in (("Not judged", False), ("Not allowed for", True)):
        told = [
            f"{column_label(column)}: {reason.removeprefix(DECLINED)}"
            for column, reason in entries
            if reason.startswith(DECLINED) == is_declined
        ]
        if told:
            yield label, "; ".join(told)


def _shown(row: Mapping[Hashable, Any]) -> dict[str, str]:
    """Return one effect as text."""
    low, high = row["ci_low"], row["ci_high"]
    return {
        "One step": row["step"],
        "Effect": signed(row["estimate"], (high - low) / 2),
        "95 % interval": effect_interval(low, high),
        "p (Holm)": p_value(row["p_holm"]),
        "Could find": number(row["detectable"], figures=2),
        "Inflation": number(row["vif"], figures=2),
    }


def _empty(columns: tuple[str, ...]) -> pd.DataFrame:
    return pd.DataFrame(columns=list(columns))
