"""What the settings did to one response: from comparable shots to an answer."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from yieldwright.models.contrasts.effects import curvature, vertex
from yieldwright.results import Dropped
from yieldwright.taste.cautioning import cautions_of
from yieldwright.taste.choosing import Model, choose
from yieldwright.taste.columns.adjusting import Adjusting, adjusters_for
from yieldwright.taste.columns.comparable import pooling_caution
from yieldwright.taste.columns.predictors import Prepared, Question, prepare
from yieldwright.taste.columns.roles import require_predictors, require_response
from yieldwright.taste.columns.sufficiency import missing_yet, nothing_to_fit
from yieldwright.taste.confounding.entangling import entangled_pairs
from yieldwright.taste.effects_fit import EffectsFit
from yieldwright.taste.findings import Findings
from yieldwright.taste.strata.grouped_fit import GroupedFit
from yieldwright.taste.tables import band_table
from yieldwright.taste.words.telling import sentences_of, wanted_turn

if TYPE_CHECKING:
    from collections.abc import Sequence

    from yieldwright.bench import Bench
    from yieldwright.cautions import Caution
    from yieldwright.models.intervals.fieller import FiellerSet
    from yieldwright.taste.columns.comparable import ComparableSet

__all__ = ["ADJUSTERS", "SETTINGS", "find", "fit_effects", "peak_of", "told", "unanswered"]

#: What the page asks about, and what it allows for.
SETTINGS = ("grind_setting", "temp_band", "taper_bar")
ADJUSTERS = ("roast_age_d", "dose_g", "position")


def fit_effects(
    comparable: ComparableSet,
    response: str,
    *,
    bench: Bench,
    settings: Sequence[str] = SETTINGS,
    adjusters: Sequence[str] | None = None,
    model: Model = "auto",
) -> EffectsFit:
    """Fit what the settings did to one response of comparable shots.

    Parameters
    ----------
    comparable : ComparableSet
        Shots of one bag and grinder.
    response : str
        `ey_pct`, `time_s`, `tds_pct`, or `score:` and an attribute.
    bench : Bench
        Whose grinder step, bands and scales to use.
    settings : sequence of str
        Columns asked about.
    adjusters : sequence of str or None
        Columns allowed for; None for those the log holds and can afford.
    model : {"auto", "blocks", "mixed"}
        What the structure of the log asks for, or what you ask for.

    Returns
    -------
    EffectsFit
        With sentences that say what is missing where nothing can be estimated.

    Raises
    ------
    RoleError
        If the response is no outcome, or a predictor is one.
    UnknownNameError
        If the glossary has no such column.

    Notes
    -----
    With two or more sessions of several shots, sessions are blocks: what varies inside
    them is estimated inside them, free of bag age and day; what is constant in every
    session is judged on session means, adjusted for the former, with t on sessions less
    coefficients. With about one shot a session one line is fitted through all shots.
    Where several tasters scored several shots each, their single scores go into a mixed
    model instead, see `choose`. Of an attribute that is best in the middle of its scale,
    the distance from the middle is explained.

    Examples
    --------
    >>> import pandas as pd
    >>> from yieldwright.bench import Bench
    >>> from yieldwright.taste.columns.comparable import ComparableSet
    >>> shots = pd.DataFrame(
    ...     {
    ...         "session": ["a", "a", "a", "b", "b", "b"],
    ...         "grind_setting": [10.0, 11.0, 12.0, 12.0, 11.0, 10.0],
    ...         "time_s": [40.1, 37.8, 36.2, 35.7, 38.1, 39.8],
    ...     }
    ... )
    >>> fit = fit_effects(ComparableSet("", "", shots), "time_s", bench=Bench(), adjusters=())
    >>> print(fit.sentences[0].partition(",")[0])
    One setting coarser took 2.0 s less (95 % interval 1.6 to 2.4 s less
    """
    findings = find(
        comparable, response, bench=bench, settings=settings, adjusters=adjusters, model=model
    )
    return told(findings) if findings.judged else unanswered(findings)


def find(
    comparable: ComparableSet,
    response: str,
    *,
    bench: Bench,
    settings: Sequence[str] = SETTINGS,
    adjusters: Sequence[str] | None = None,
    model: Model = "auto",
) -> Findings:
    """Return all that a question brings to light, before it is told.

    Parameters
    ----------
    comparable, response, bench, settings, adjusters, model
        As in `fit_effects`.

    Returns
    -------
    Findings
        Without judged strata, and with what is missing, where nothing can be fitted.

    Raises
    ------
    RoleError
        If the response is no outcome, or a predictor is one.
    UnknownNameError
        If the glossary has no such column.
    """
    require_response(response)
    require_predictors((*settings, *(adjusters or ())))
    adjusting = Adjusting(tuple(adjusters or ()))
    if adjusters is None:
        adjusting = adjusters_for(comparable, response, bench=bench, settings=settings)
    question = Question(response, bench, tuple(settings), adjusting.columns)
    prepared = adjusting.prepared or prepare(comparable, question)
    missing = nothing_to_fit(prepared, question, comparable.excluded)
    chosen = None if missing else choose(prepared, comparable, question, model=model)
    return Findings(
        question,
        comparable,
        prepared,
        chosen.judged if chosen else (),
        chosen,
        declined=adjusting.declined,
        missing=missing,
    )


def unanswered(findings: Findings) -> EffectsFit:
    """Return the answer where nothing could be fitted: what is missing.

    Parameters
    ----------
    findings : Findings
        One question without judged strata.

    Returns
    -------
    EffectsFit
    """
    comparable, prepared = findings.comparable, findings.prepared
    return EffectsFit(
        response=findings.question.response,
        bag=comparable.bag,
        grinder=comparable.grinder,
        n_shots=len(prepared.frame),
        n_sessions=prepared.n_sessions,
        dropped=(*comparable.excluded, *prepared.dropped),
        left_out=prepared.left_out,
        missing=findings.missing,
        sentences=(findings.missing,),
    )


def told(findings: Findings) -> EffectsFit:
    """Return what a question brought to light as an answer.

    Parameters
    ----------
    findings : Findings
        One question, its shots and the verdicts of each stratum.

    Returns
    -------
    EffectsFit
    """
    comparable, prepared, inside = findings.comparable, findings.prepared, findings.inside
    pairs, peak = entangled_pairs(findings), peak_of(findings)
    fit = inside.fit.fit if inside.fit else None
    return EffectsFit(
        response=findings.question.response,
        bag=comparable.bag,
        grinder=comparable.grinder,
        effects=findings.table,
        band_means=band_table(findings.judged),
        left_out=findings.left_out,
        curvature=tuple(tried for each in findings.judged for tried in each.curvature),
        peak=peak,
        tried=_tried(prepared),
        confounded=pairs,
        beside=findings.beside,
        n_tests=int((findings.table["kind"] == "setting").sum()),
        model=findings.chosen.kind if findings.chosen else "",
        why=findings.chosen.why if findings.chosen else "",
        n_shots=len(inside.layout.frame),
        n_sessions=inside.layout.n_sessions,
        residual_sd=fit.sigma if fit else math.nan,
        df_resid=fit.df_resid if fit else 0,
        dropped=(*comparable.excluded, *prepared.dropped, *_unlinked(findings)),
        missing=missing_yet(findings),
        cautions=(*cautions_of(findings, pairs), *_about_bags(comparable)),
        sentences=(*filter(None, [missing_yet(findings)]), *sentences_of(findings, pairs, peak)),
    )


def _about_bags(comparable: ComparableSet) -> tuple[Caution, ...]:
    caution = pooling_caution(comparable)
    return () if caution is None else (caution,)


def peak_of(findings: Findings) -> FiellerSet | None:
    """Return where a clear bend in the grind setting asked about is at its best, if it is so.

    Parameters
    ----------
    findings : Findings
        One question, its shots and the verdicts of each stratum.

    Returns
    -------
    FiellerSet or None
    """
    if "grind_setting" not in findings.question.settings:
        return None
    wanted = wanted_turn(findings.question)
    for judged in findings.judged:
        bends = any(each.bends and each.column == "grind_setting" for each in judged.curvature)
        fit = judged.fit
        if wanted and bends and fit is not None and fit.borrowed is None:
            model = fit.mixed if isinstance(fit, GroupedFit) and fit.mixed else fit.fit
            turn = curvature(model, "grind_setting").estimate
            return vertex(model, "grind_setting") if turn * wanted > 0 else None
    return None


def _tried(prepared: Prepared) -> dict[str, tuple[float, float]]:
    numbers = [each.column for each in prepared.predictors if not each.levels]
    arrays = {name: prepared.frame[name].to_numpy(dtype=float) for name in numbers}
    return {name: (float(values.min()), float(values.max())) for name, values in arrays.items()}


def _unlinked(findings: Findings) -> tuple[Dropped, ...]:
    lost = len(findings.prepared.frame) - len(findings.inside.layout.frame)
    return (Dropped(lost, "at levels never in one session with the rest"),) if lost else ()
