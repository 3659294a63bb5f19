"""The answer about a surface, put together: there is one, or which shots it lacks."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import pandas as pd

from yieldwright.cautions import Caution
from yieldwright.taste.surface.cautions import pulled_words, surface_cautions
from yieldwright.taste.surface.repeats import shots_to_pull
from yieldwright.taste.surface.result import SurfaceFit
from yieldwright.taste.surface.tables import Turn, surface_tables, turn_of
from yieldwright.taste.surface.telling import surface_sentences
from yieldwright.taste.words.telling import wanted_turn
from yieldwright.taste.words.wording import step_words

if TYPE_CHECKING:
    from yieldwright.models.surface.model import Surface
    from yieldwright.taste.findings import Findings

__all__ = ["answered", "refused"]


def refused(
    findings: Findings,
    settings: tuple[str, ...],
    reason: str,
    left_out: tuple[tuple[str, str], ...],
    needed: pd.DataFrame,
) -> SurfaceFit:
    """Return the answer that there is no surface, why, and which shots would make one.

    Parameters
    ----------
    findings : Findings
        The verdicts of each stratum.
    settings : tuple of str
        Settings it was tried with.
    reason : str
        What stands in the way, to be read after a colon.
    left_out : tuple of pairs of str
        Settings it could not hold, with reasons.
    needed : DataFrame
        One row per shot that would help.

    Returns
    -------
    SurfaceFit
    """
    missing = f"No surface of the {findings.words.noun} can be told: {reason}."
    remedy = pulled_words(needed) or "Log two settings as numbers, and pull each at three values."
    short = f"This log cannot bear a surface of the {findings.words.noun} yet."
    caution = Caution("surface-impossible", "note", short, remedy, settings)
    return SurfaceFit(
        **_identity(findings),
        settings=settings,
        left_out=left_out,
        needed=needed,
        missing=missing,
        sentences=(missing,),
        cautions=(caution,),
    )


def answered(
    findings: Findings,
    surface: Surface,
    unadjusted: tuple[str, ...],
    left_out: tuple[tuple[str, str], ...],
) -> SurfaceFit:
    """Return the answer of a surface: sentences, cautions and tables.

    Parameters
    ----------
    findings : Findings
        The verdicts of each stratum.
    surface : Surface
        From `response_surface`.
    unadjusted : tuple of str
        Adjusters there were not shots enough for.
    left_out : tuple of pairs of str
        Settings it does not hold, with reasons.

    Returns
    -------
    SurfaceFit
    """
    turn = turn_of(surface, climb=-wanted_turn(findings.question) or 1)
    needed = _sharpening(findings, turn)
    steps = {
        each.column: step_words(each, each.column).step
        for each in findings.inside.candidates
        if each.column in surface.columns
    }
    return SurfaceFit(
        **_identity(findings),
        **surface_tables(turn, steps),
        settings=surface.columns,
        left_out=left_out,
        kind=turn.shape.kind,
        region=turn.region.kind,
        needed=needed,
        residual_sd=surface.fit.sigma,
        df_resid=surface.fit.df_resid,
        sentences=surface_sentences(findings, turn),
        cautions=surface_cautions(findings, turn, unadjusted, needed),
    )


def _sharpening(findings: Findings, turn: Turn) -> pd.DataFrame:
    """Return the shots that would help to bound the turning point, none where it is."""
    if turn.region.kind == "inside":
        return pd.DataFrame(columns=list(turn.surface.columns))
    return shots_to_pull(findings, turn.surface.columns, {}, spare=0)


def _identity(findings: Findings) -> dict[str, Any]:
    comparable, layout = findings.comparable, findings.inside.layout
    return {
        "response": findings.question.response,
        "noun": findings.words.noun,
        "best": {-1: "highest", 1: "lowest"}.get(wanted_turn(findings.question), ""),
        "bag": comparable.bag,
        "grinder": comparable.grinder,
        "n_shots": len(layout.frame),
        "n_sessions": layout.n_sessions,
        "stratum": layout.stratum,
        "dropped": (*comparable.excluded, *findings.prepared.dropped),
    }
