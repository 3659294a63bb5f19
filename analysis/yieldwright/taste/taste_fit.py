"""All that a log says of one response: the effects, and what puts them in their place."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, ClassVar

import pandas as pd

from yieldwright.results import Result

if TYPE_CHECKING:
    from collections.abc import Mapping

    from yieldwright.taste.effects_fit import EffectsFit
    from yieldwright.taste.findings import Findings
    from yieldwright.taste.means.setting_means import SettingMeans
    from yieldwright.taste.means.shot_prediction import ShotPrediction
    from yieldwright.taste.sensitivity.sensitivity import Sensitivity
    from yieldwright.taste.spread_shares import SpreadShares
    from yieldwright.taste.spreads import Spreads
    from yieldwright.taste.steps.random_tasters import RandomTasters
    from yieldwright.taste.steps.scored_steps import ScoredSteps
    from yieldwright.taste.surface.model import SurfaceFit
    from yieldwright.taste.tasters.by_taster import TasterEffects
    from yieldwright.taste.turning import TurningPoint

__all__ = ["TasteFit"]


@dataclass(frozen=True, kw_only=True, eq=False, repr=False)
class TasteFit(Result):
    """The effects of the settings on one response, and all that stands beside them.

    Attributes
    ----------
    line : EffectsFit
        Effects per practical step, with intervals, pairs that cannot be told apart,
        and the model they come from.
    means : SettingMeans or None
        Marginal means at each level and value tried, and their comparisons.
    turning : TurningPoint or None
        Where the grind setting is best, bounded in three ways; None where no bend shows.
    spreads : Spreads or None
        How much sessions, shots and tasters differ; None without groups.
    steps : ScoredSteps or None
        Scores taken as steps and not as metres; None for measured responses.
    random_tasters : RandomTasters or None
        The same scores by a cumulative-link mixed model, as reference engines fit it.
    tasters : TasterEffects or None
        Each taster's own effects; None for measured responses.
    shares : SpreadShares or None
        How much of the spread each setting accounts for.
    sensitivity : Sensitivity or None
        What would have to be true for the effects to be wrong.
    surface : SurfaceFit or None
        Two or three settings together, with their best place.
    findings : Findings or None
        What everything was told from; None where nothing could be fitted.
    """

    drawing: ClassVar[str] = "effects"

    line: EffectsFit
    means: SettingMeans | None = None
    turning: TurningPoint | None = None
    spreads: Spreads | None = None
    steps: ScoredSteps | None = None
    random_tasters: RandomTasters | None = None
    tasters: TasterEffects | None = None
    shares: SpreadShares | None = None
    sensitivity: Sensitivity | None = None
    surface: SurfaceFit | None = None
    findings: Findings | None = None

    @property
    def title(self) -> str:
        """Response, bag and grinder."""
        return self.line.title

    @property
    def response(self) -> str:
        """Column explained."""
        return self.line.response

    @property
    def effects(self) -> pd.DataFrame:
        """One row per practical step, as in `EffectsFit`."""
        return self.line.effects

    @property
    def answered(self) -> bool:
        """Whether at least one effect could be estimated."""
        return self.line.answered

    @property
    def _drawn(self) -> EffectsFit:
        """The effects are what is drawn."""
        return self.line

    @property
    def parts(self) -> tuple[Result, ...]:
        """Everything there is, in the order a reader wants it."""
        beside = (
            self.means,
            self.turning,
            self.steps,
            self.random_tasters,
            self.tasters,
            self.spreads,
            self.shares,
            self.sensitivity,
        )
        found = (self.line, *beside, self.surface)
        return tuple(part for part in found if part is not None)

    @property
    def headline(self) -> tuple[tuple[str, str], ...]:
        """What the effects rest on."""
        return self.line.headline

    def to_frame(self) -> pd.DataFrame:
        """Return the effects at full precision."""
        return self.line.to_frame()

    def display_frame(self) -> pd.DataFrame:
        """Return the effects as text.

        Returns
        -------
        DataFrame
            One row per effect.
        """
        return self.line.display_frame()

    def summary(self) -> str:
        """Return every part as text of 80 columns.

        Returns
        -------
        str
        """
        return "\n\n".join(part.summary().rstrip() for part in self.parts) + "\n"

    def influence(self) -> pd.DataFrame:
        """Return what each shot does to the fit inside sessions, the weightiest first.

        Returns
        -------
        DataFrame
            One row per shot: `shot`, leverage, residual, standardised, studentised,
            cooks_distance, dffits; none where nothing could be fitted.
        """
        from yieldwright.models.linear.influence import INFLUENCE_COLUMNS, influence

        inside = self.findings.inside if self.findings is not None else None
        if inside is None or inside.fit is None:
            return pd.DataFrame(columns=["shot", *INFLUENCE_COLUMNS])
        found = influence(inside.fit.fit)
        found.insert(0, "shot", inside.layout.frame["shot"].to_numpy())
        return found.sort_values("cooks_distance", ascending=False, ignore_index=True)

    def predict(self, at: Mapping[str, object]) -> ShotPrediction:
        """Return what a shot at stated settings would give, inside what was tried.

        Parameters
        ----------
        at : mapping of str to object
            Values by column; settings not stated stand at their mean.

        Returns
        -------
        ShotPrediction
            With a reason in place of numbers where the log says nothing there.

        Raises
        ------
        TooFewShotsError
            If nothing could be fitted.
        UnknownNameError
            If a column is none of those asked about, or no shot had a level.
        """
        from yieldwright.errors import TooFewShotsError
        from yieldwright.taste.means.shot_prediction import predict_shot

        if self.findings is None:
            raise TooFewShotsError(self.line.missing)
        return predict_shot(self.findings, at)

    def _repr_html_(self) -> str:
        """Return every part as an HTML fragment."""
        return "".join(part._repr_html_() for part in self.parts)  # same class
