"""What of a long answer stands on two screens: each thing told once, doubts where they belong."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pandas as pd

from yieldwright.formatting import signed

if TYPE_CHECKING:
    from collections.abc import Hashable, Iterator, Mapping
    from typing import Any

    from yieldwright.cautions import Caution
    from yieldwright.taste.effects_fit import EffectsFit
    from yieldwright.taste.steps.scored_steps import ScoredSteps
    from yieldwright.taste.taste_fit import TasteFit

__all__ = [
    "cautions_left",
    "effects_shown",
    "effects_title",
    "has_camps",
    "leading_sentences",
    "means_shown",
    "paragraphs_beside",
    "reads_odds",
]

NOT_TOLD = "not told apart"
_SENTENCES = 2
_CAMPS = "two-camps"
_DISAGREE = "line-and-steps-disagree"
_NOTHING = "–"


def effects_title(fit: TasteFit) -> str:
    """Return what stands above the table of effects, with the unit.

    Parameters
    ----------
    fit : TasteFit
        An answer with at least one effect.

    Returns
    -------
    str
    """
    unit = fit.findings.words.unit if fit.findings else ""
    if reads_odds(fit):
        return f"Odds of a higher score per practical step; the line alone in {unit}"
    return f"Change per practical step [{unit}]"


def reads_odds(fit: TasteFit) -> bool:
    """Return whether scores are to be read as steps, so that the line misleads.

    Parameters
    ----------
    fit : TasteFit
        An answer.

    Returns
    -------
    bool
    """
    return fit.steps is not None and fit.steps.chosen


def effects_shown(fit: TasteFit) -> pd.DataFrame:
    """Return the table of effects as texts.

    Parameters
    ----------
    fit : TasteFit
        An answer with at least one effect.

    Returns
    -------
    DataFrame
        One row per step. Where scores are to be read as steps, the odds with their
        interval, and the line as a number alone; an effect that cannot be told from
        another column's has no number.
    """
    if fit.steps is not None and reads_odds(fit):
        return _odds_first(fit, fit.steps)
    table = fit.line.display_frame().drop(columns="Inflation")
    return _muted(table, fit.effects["term"], fit.line, ("Effect", "95 % interval", "p (Holm)"))


def means_shown(fit: TasteFit) -> pd.DataFrame:
    """Return the means at each setting as texts, none where it would be another column's.

    Parameters
    ----------
    fit : TasteFit
        An answer.

    Returns
    -------
    DataFrame
        One row per level and value; empty where there are none, and where scores are to be
        read as steps.
    """
    if fit.means is None or reads_odds(fit):
        return pd.DataFrame()
    table = fit.means.display_frame()
    return _muted(
        table, fit.means.means["setting"], fit.line, ("Mean", "95 % interval", "Next shot")
    )


def leading_sentences(fit: TasteFit) -> tuple[str, ...]:
    """Return the findings in sentences, those of the model that is to be read.

    Parameters
    ----------
    fit : TasteFit
        An answer with at least one effect.

    Returns
    -------
    tuple of str
    """
    line, steps = fit.line, fit.steps
    camps = tuple(each.text for each in _camps(fit))
    if steps is None or not reads_odds(fit):
        return (*camps, *line.sentences)
    about_line = {sentence for sentence in line.sentences if "% interval" in sentence}
    others = (each for each in line.sentences if each not in about_line)
    return tuple(dict.fromkeys((*camps, *steps.sentences, *others)))


def has_camps(fit: TasteFit) -> bool:
    """Return whether tasters fall into camps, so that a common effect is nobody's.

    Parameters
    ----------
    fit : TasteFit
        An answer.

    Returns
    -------
    bool
    """
    return bool(_camps(fit))


def paragraphs_beside(fit: TasteFit, *, tasters: bool) -> tuple[str, ...]:
    """Return what puts the effects in their place: a sentence or two on each part.

    Parameters
    ----------
    fit : TasteFit
        An answer with at least one effect.
    tasters : bool
        Whether tasters are told elsewhere.

    Returns
    -------
    tuple of str
        Scores as steps, tasters, what the verdicts hang on, how much groups differ.
    """
    camps = _camps(fit)
    told = tuple(each.text for each in _told_beside(fit) if each not in camps)
    return (*_about_steps(fit), *told, *_plainly(fit, tasters=tasters))


def cautions_left(fit: TasteFit, *, full: bool, surface: bool) -> tuple[Caution, ...]:
    """Return the cautions that nothing else on the screen has told.

    Parameters
    ----------
    fit : TasteFit
        An answer.
    full : bool
        Whether every part is shown whole.
    surface : bool
        Whether the surface is shown.

    Returns
    -------
    tuple of Caution
        The gravest first.
    """
    hidden = fit.surface.cautions if fit.surface is not None and not (surface or full) else ()
    beside = () if full or not fit.answered else _told_beside(fit)
    told = {*hidden, *beside}
    sentences = " ".join(fit.sentences)
    mute = _mute(fit.line)
    return tuple(
        each
        for each in fit.cautions
        if each not in told
        and each.sentence not in sentences
        and not (each.code == "means-entangled" and mute.issuperset(each.about))
    )


def _muted(
    table: pd.DataFrame, columns: pd.Series, line: EffectsFit, cells: tuple[str, ...]
) -> pd.DataFrame:
    """Return a table of texts without numbers that may be another column's."""
    mute = columns.isin(_mute(line)).to_numpy()
    return table.assign(
        **{
            name: table[name].mask(mute, _NOTHING if place else NOT_TOLD)
            for place, name in enumerate(cells)
        }
    )


def _mute(line: EffectsFit) -> frozenset[str]:
    """Return columns whose effects must not be read as their own."""
    pairs = (pair for pair in line.confounded if pair.forbids_verdict)
    return frozenset(name for pair in pairs for name in (pair.first, pair.second))


def _camps(fit: TasteFit) -> tuple[Caution, ...]:
    cautions = fit.tasters.cautions if fit.tasters is not None else ()
    return tuple(each for each in cautions if each.code == _CAMPS)


def _odds_first(fit: TasteFit, steps: ScoredSteps) -> pd.DataFrame:
    """Return odds with their intervals, and the line rounded to what it is known to."""
    shown = steps.display_frame().to_dict("records")
    odds = dict(zip(steps.to_frame()["step"], shown, strict=True))
    table = fit.findings.table if fit.findings else fit.effects
    rows = table[table["kind"] == "setting"].to_dict("records")
    return pd.DataFrame([_with_odds(row, odds.get(row["step"], {})) for row in rows])


def _with_odds(row: Mapping[Hashable, Any], odds: Mapping[Hashable, Any]) -> dict[str, str]:
    names = ("Odds, times", "95 % interval", "p (Holm)")
    line = signed(row["estimate"], (row["ci_high"] - row["ci_low"]) / 2)
    told = {name: str(odds.get(name, _NOTHING)) for name in names}
    return {"One step": str(row["step"]), **told, "Line": line}


def _about_steps(fit: TasteFit) -> Iterator[str]:
    """Yield whether scores taken as steps say the same as the line."""
    steps = fit.steps
    if steps is None or reads_odds(fit):
        return
    if steps.missing:
        yield steps.missing
    elif steps.steps and not any(each.code == _DISAGREE for each in fit.cautions):
        yield (
            "Taken as steps of a scale and not as points on a line, the scores give the same "
            f"verdict on each setting that changed from shot to shot. {steps.why}"
        )


def _told_beside(fit: TasteFit) -> tuple[Caution, ...]:
    """Return the cautions that are the finding of their part, and are told there."""
    steps = [each for each in fit.cautions if each.code == _DISAGREE]
    tasters = fit.tasters.cautions if fit.tasters is not None else ()
    hanging = fit.sensitivity.cautions if fit.sensitivity and not reads_odds(fit) else ()
    return tuple(each for part in (steps, tasters, hanging) for each in tuple(part)[:_SENTENCES])


def _plainly(fit: TasteFit, *, tasters: bool) -> Iterator[str]:
    """Yield the first sentences of the parts that have no caution to tell."""
    found = fit.tasters
    if not tasters and found is not None and not (found.missing or found.cautions):
        yield from found.sentences[:1]
    if fit.sensitivity and not (fit.sensitivity.cautions or reads_odds(fit)):
        yield from fit.sensitivity.sentences[:_SENTENCES]
    if fit.spreads is not None:
        yield from fit.spreads.sentences[:1]
