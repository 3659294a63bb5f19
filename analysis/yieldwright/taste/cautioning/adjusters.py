"""What went along with a setting: allowed for or not, it shares what the log says."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from scipy import special

from yieldwright.cautions import Caution
from yieldwright.formatting import number, sentence_case
from yieldwright.taste.confounding.confounding import AMBER
from yieldwright.taste.strata.judging import unadjusted_for
from yieldwright.taste.strata.strata import BETWEEN, POOLED
from yieldwright.taste.words.wording import column_label

if TYPE_CHECKING:
    from collections.abc import Iterator

    from yieldwright.taste.cautioning.fitted import FittedShots
    from yieldwright.taste.strata.judging import Judged

__all__ = ["about_adjusters"]

#: Correlation from which it is worth a word: a quarter of the variance is shared.
WITH_ONE_ANOTHER = 0.5

#: Chance of so much correlation in a log of single shots drawn by lot.
ALPHA = 0.01

AGE = "roast_age_d"


def about_adjusters(fitted: FittedShots) -> Iterator[Caution]:
    """Yield cautions on settings that went along with what the fit allows for, or cannot.

    Parameters
    ----------
    fitted : FittedShots
        Shots of a fit.

    Yields
    ------
    Caution
    """
    for judged in fitted.findings.judged:
        yield from _left_out(judged)
        yield from _along_with_age(judged, fitted)


def _left_out(judged: Judged) -> Iterator[Caution]:
    noun = "sessions" if judged.stratum == BETWEEN else "shots"
    for setting in (p.column for p in judged.decided if p.kind == "setting"):
        for adjuster, vif in unadjusted_for(judged, setting):
            correlation = math.sqrt(1 - 1 / vif)
            if correlation < WITH_ONE_ANOTHER or vif >= AMBER:
                continue
            names = (column_label(setting), column_label(adjuster))
            yield Caution(
                "adjuster-left-out",
                "care",
                f"Too few {noun} to allow for {names[1]}, which went along with "
                f"{names[0]} (correlation {number(correlation, figures=2)}): part of the "
                "effect may be its own.",
                f"Pull more {noun} in which {names[0]} and {names[1]} part.",
                (setting, adjuster),
            )


def _along_with_age(judged: Judged, fitted: FittedShots) -> Iterator[Caution]:
    """Yield where the effect of a setting hangs on the fit allowing for the age of the bag."""
    used = {each.column for each in judged.decided}
    if judged.stratum not in (BETWEEN, POOLED) or AGE not in used:
        return
    for setting in (each for each in judged.decided if each.kind == "setting"):
        vif = judged.swept.inflation(setting.column, [AGE])
        shared = 1 - vif**-setting.width
        enough = shared >= WITH_ONE_ANOTHER**2 * (1 - 1e-9)
        by_lot = _chance(shared, setting.width, judged.swept.df) if judged.stratum == POOLED else 0
        if enough and by_lot <= ALPHA and not fitted.is_told(setting.column, AGE):
            label = column_label(setting.column)
            yield Caution(
                "went-with-age",
                "note",
                f"{sentence_case(label)} went along with roast age (correlation "
                f"{number(math.sqrt(shared), figures=2)}): its effect stands beside that of age "
                "in the fit, and would be another without.",
                f"Repeat an early {label} at today's roast age.",
                (setting.column, AGE),
            )


def _chance(shared: float, width: int, df: int) -> float:
    """Return the chance that a column drawn by lot shares so much with others."""
    if df <= width or shared >= 1:
        return 1.0
    statistic = shared / width / ((1 - shared) / (df - width))
    return float(special.fdtrc(width, df - width, statistic))
