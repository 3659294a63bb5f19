"""The table of effects: one row per practical step, one column per response."""

from __future__ import annotations

from typing import TYPE_CHECKING

from yieldwright.formatting import clip, count, sentence_case, signed
from yieldwright.review.tables import SheetColumn, SheetTable
from yieldwright.taste.columns.roles import attribute_of
from yieldwright.taste.words.wording import effect_interval, response_words

if TYPE_CHECKING:
    from collections.abc import Hashable, Mapping, Sequence
    from typing import Any

    from yieldwright.bench import Bench
    from yieldwright.review.looks import Look
    from yieldwright.taste.effects_fit import EffectsFit
    from yieldwright.taste.steps.scored_steps import ScoredSteps

__all__ = ["SETTLED_MARK", "effects_table", "response_label"]

#: Stands before an effect that stays below 5 % after Holm's correction.
SETTLED_MARK = "●"

#: Rows of settings; rows in all where what was allowed for fills them up.
_ROWS, _ROWS_FILLED = 8, 5
_STEP_WIDTH = 36
_LABELS = {"ey_pct": "yield", "time_s": "time", "tds_pct": "strength"}


def response_label(response: str) -> str:
    """Return a response in a word or two.

    Parameters
    ----------
    response : str
        Column explained.

    Returns
    -------
    str

    Examples
    --------
    >>> response_label("ey_pct"), response_label("score:overall")
    ('yield', 'taste (overall)')
    """
    attribute = attribute_of(response)
    if attribute is not None:
        return f"taste ({clip(attribute, 16)})"
    return _LABELS.get(response, response)


def effects_table(
    fits: Sequence[EffectsFit],
    looks: Sequence[Look],
    *,
    bench: Bench,
    steps: ScoredSteps | None = None,
) -> SheetTable | None:
    """Return the effects of settings and adjusters as texts, None where there are none.

    Parameters
    ----------
    fits : sequence of EffectsFit
        Fits of one bag and grinder.
    looks : sequence of Look
        Their effects of settings.
    bench : Bench
        Whose scales are meant.
    steps : ScoredSteps or None
        Scores as steps; where these are to be read, the line stands without an interval.

    Returns
    -------
    SheetTable or None

    Examples
    --------
    >>> from yieldwright.bench import Bench
    >>> effects_table((), (), bench=Bench()) is None
    True
    """
    answered = [fit for fit in fits if fit.answered]
    if not answered:
        return None
    every = _steps(answered)
    rows = every[: min(max(_ROWS_FILLED, _n_settings(answered)), _ROWS)]
    columns = (
        SheetColumn("One step", tuple(clip(step, _STEP_WIDTH) for step in rows)),
        *(_column(fit, rows, looks, bench=bench, steps=steps) for fit in answered),
    )
    more = _more(len(every) - len(rows))
    return SheetTable(_caption(looks), columns, remark=more, print_remark=more)


def _column(
    fit: EffectsFit,
    rows: Sequence[str],
    looks: Sequence[Look],
    *,
    bench: Bench,
    steps: ScoredSteps | None,
) -> SheetColumn:
    bare = steps is not None and steps.chosen and fit.response == steps.response
    head = f"{_head(fit, bench)}, line alone" if bare else _head(fit, bench)
    return SheetColumn(head, _cells(fit, rows, looks, bare=bare))


def _head(fit: EffectsFit, bench: Bench) -> str:
    unit = response_words(fit.response, bench).unit.partition(" ")[0]
    label = response_label(fit.response)
    return f"{sentence_case(label)} [{unit}], {count(fit.n_shots, 'shot')}"


def _steps(fits: Sequence[EffectsFit]) -> tuple[str, ...]:
    """Return the steps of all fits, settings before adjusters, each once."""
    found = [
        str(step)
        for kind in ("setting", "adjuster")
        for fit in fits
        for step in fit.effects.loc[fit.effects["kind"] == kind, "step"]
    ]
    return tuple(dict.fromkeys(found))


def _n_settings(fits: Sequence[EffectsFit]) -> int:
    return len({str(step) for fit in fits for step in fit.settings["step"]})


def _cells(
    fit: EffectsFit, steps: Sequence[str], looks: Sequence[Look], *, bare: bool
) -> tuple[str, ...]:
    rows = {row["step"]: row for row in fit.effects.to_dict("records")}
    own = {look.step: look for look in looks if look.fit is fit}
    return tuple(_cell(rows.get(step), own.get(step), bare=bare) for step in steps)


def _cell(row: Mapping[Hashable, Any] | None, look: Look | None, *, bare: bool) -> str:
    """Return estimate and interval, which may break only between the two."""
    if row is None:
        return "–"
    if look is not None and look.forbidden:
        return "not told apart"
    low, high = float(row["ci_low"]), float(row["ci_high"])
    span = effect_interval(low, high).replace(" ", "\N{NO-BREAK SPACE}")
    mark = f"{SETTLED_MARK}\N{NO-BREAK SPACE}" if look is not None and look.settled else ""
    estimate = f"{mark}{signed(float(row['estimate']), (high - low) / 2)}"
    return estimate if bare else f"{estimate} ({span})"


def _caption(looks: Sequence[Look]) -> str:
    head = "Change per step with its 95 % interval."
    if not looks:
        return head
    counted = count(len(looks), "effect")
    return (
        f"{head} {SETTLED_MARK} settled: below 5 % after Holm’s correction "
        f"for {counted} of settings, and by HC3 too."
    )


def _more(n: int) -> str:
    return f"{count(n, 'more step')} not shown; “yieldwright taste” has all." if n > 0 else ""
