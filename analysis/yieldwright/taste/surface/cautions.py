"""What a reader must know before trusting a surface."""

from __future__ import annotations

from collections import Counter
from typing import TYPE_CHECKING

from yieldwright.cautions import Caution
from yieldwright.formatting import count, listing, number
from yieldwright.taste.surface.telling import place_words
from yieldwright.taste.words.telling import SIGNIFICANT, wanted_turn
from yieldwright.taste.words.wording import column_label

if TYPE_CHECKING:
    from collections.abc import Iterator

    import pandas as pd

    from yieldwright.taste.findings import Findings
    from yieldwright.taste.surface.tables import Turn

__all__ = ["pulled_words", "surface_cautions"]

_TIMES = ("once", "twice", "three times", "four times", "five times", "six times")


def surface_cautions(
    findings: Findings, turn: Turn, unadjusted: tuple[str, ...], needed: pd.DataFrame
) -> tuple[Caution, ...]:
    """Return all cautions of a surface.

    Parameters
    ----------
    findings : Findings
        The verdicts of each stratum.
    turn : Turn
        The surface with what was found out about it.
    unadjusted : tuple of str
        Adjusters there were not shots enough for.
    needed : DataFrame
        One row per shot that would help to bound the turning point.

    Returns
    -------
    tuple of Caution
    """
    return (
        *_about_fit(turn),
        *_about_place(findings, turn, needed),
        *_about_adjusters(turn, unadjusted),
    )


def pulled_words(needed: pd.DataFrame) -> str:
    """Return the shots to pull as one sentence, empty where there are none.

    Parameters
    ----------
    needed : DataFrame
        One row per shot, one column per setting.

    Returns
    -------
    str

    Examples
    --------
    >>> import pandas as pd
    >>> pulled_words(pd.DataFrame({"grind_setting": [9.0, 9.0], "taper_bar": [1.0, 1.0]}))
    'Pull in one session: setting 9 with pressure taper 1 bar twice.'
    """
    if needed.empty:
        return ""
    columns = [str(name) for name in needed.columns]
    counts = Counter(tuple(row) for row in needed.to_numpy(dtype=float).tolist())
    phrases = [
        place_words(columns, values) + (f" {_TIMES[n - 1]}" if n > 1 else "")
        for values, n in counts.items()
    ]
    return f"Pull in one session: {'; '.join(phrases)}."


def _about_fit(turn: Turn) -> Iterator[Caution]:
    settings = turn.surface.columns
    if turn.misfit is None:
        yield Caution(
            "surface-unchecked",
            "note",
            "No place of the surface was pulled often enough to see whether a second-order "
            "surface fits at all.",
            "Pull the middle of what was tried twice in each session.",
            settings,
        )
    elif turn.misfit.p_value < SIGNIFICANT:
        yield Caution(
            "surface-misfit",
            "care",
            "Shots at one place agree better with one another than with the surface "
            f"(F = {number(turn.misfit.statistic)} on {turn.misfit.df_term} and "
            f"{turn.misfit.df_error} degrees of freedom): it bends in a way no second-order "
            "surface can.",
            "Narrow the settings to the part of interest and pull it again.",
            settings,
        )


def _about_place(findings: Findings, turn: Turn, needed: pd.DataFrame) -> Iterator[Caution]:
    if turn.region.kind == "inside" or not wanted_turn(findings.question):
        return
    settings = turn.surface.columns
    names = listing([column_label(each) for each in settings])
    yield Caution(
        "surface-unbounded",
        "note",
        f"This log does not bound where the {findings.words.noun} turns over {names} within "
        "what was tried.",
        _further(turn) or pulled_words(needed),
        settings,
    )


def _further(turn: Turn) -> str:
    """Return the step to take beyond an edge, where the way to better leads there clearly."""
    if turn.region.kind != "beyond" or not turn.level.p_value < SIGNIFICANT:
        return ""
    if not turn.steps or turn.steps[-1].change is not None:
        return ""
    beyond = place_words(turn.surface.columns, turn.steps[-1].settings.tolist())
    return f"The next place to try is {beyond}, about which this log says nothing."


def _about_adjusters(turn: Turn, unadjusted: tuple[str, ...]) -> Iterator[Caution]:
    if unadjusted:
        names = listing([column_label(each) for each in unadjusted])
        yield Caution(
            "surface-unadjusted",
            "note",
            f"The surface does not allow for {names}: {count(turn.surface.fit.n_rows, 'shot')} "
            "leave no degrees of freedom for it.",
            "Pull more shots at settings already tried.",
            (*turn.surface.columns, *unadjusted),
        )
