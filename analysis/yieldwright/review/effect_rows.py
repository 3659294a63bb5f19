"""The table of effects: one row per practical step, one column per response."""

from __future__ import annotations

from typing import TYPE_CHECKING

from yieldwright.formatting import clip, count, interval, listing, number, sentence_case, signed
from yieldwright.review.tables import SheetColumn, SheetTable
from yieldwright.taste.roles import attribute_of
from yieldwright.taste.wording import response_words

if TYPE_CHECKING:
    from collections.abc import Hashable, Iterator, Mapping, Sequence
    from typing import Any

    from yieldwright.bench import Bench
    from yieldwright.review.looks import Look
    from yieldwright.taste.effects_fit import EffectsFit

__all__ = ["SETTLED_MARK", "effect_notes", "effects_table", "response_label"]

#: Stands before an effect that stays below 5 % after Holm's correction.
SETTLED_MARK = "●"

_ROWS = 8
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
    fits: Sequence[EffectsFit], looks: Sequence[Look], *, bench: Bench
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
    steps = _steps(answered)
    columns = (
        SheetColumn("One step", tuple(clip(step, _STEP_WIDTH) for step in steps[:_ROWS])),
        *(SheetColumn(_head(fit, bench), _cells(fit, steps[:_ROWS], looks)) for fit in answered),
    )
    return SheetTable(_caption(looks), columns, remark=_more(len(steps) - _ROWS))


def effect_notes(fits: Sequence[EffectsFit], *, bench: Bench) -> tuple[str, ...]:
    """Return what could have been found, and where a curve has its best place.

    Parameters
    ----------
    fits : sequence of EffectsFit
        Fits of one bag and grinder.
    bench : Bench
        Whose scales and steps are meant.

    Returns
    -------
    tuple of str

    Examples
    --------
    >>> from yieldwright.bench import Bench
    >>> effect_notes((), bench=Bench())
    ()
    """
    fitted = [fit for fit in fits if len(fit.settings)]
    peaks = filter(None, (_peak(fit) for fit in fitted if fit.peak is not None))
    return (*_could_find(fitted, bench), *peaks)


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


def _cells(fit: EffectsFit, steps: Sequence[str], looks: Sequence[Look]) -> tuple[str, ...]:
    rows = {row["step"]: row for row in fit.effects.to_dict("records")}
    own = {look.step: look for look in looks if look.fit is fit}
    return tuple(_cell(rows.get(step), own.get(step)) for step in steps)


def _cell(row: Mapping[Hashable, Any] | None, look: Look | None) -> str:
    """Return estimate and interval, which may break only between the two."""
    if row is None:
        return "–"
    if look is not None and look.forbidden:
        return "not told apart"
    low, high = float(row["ci_low"]), float(row["ci_high"])
    span = interval(low, high).replace(" ", "\N{NO-BREAK SPACE}")
    mark = f"{SETTLED_MARK}\N{NO-BREAK SPACE}" if look is not None and look.settled else ""
    return f"{mark}{signed(float(row['estimate']), (high - low) / 2)} ({span})"


def _caption(looks: Sequence[Look]) -> str:
    head = "Change per step with its 95 % interval."
    if not looks:
        return head
    counted = count(len(looks), "effect")
    return (
        f"{head} {SETTLED_MARK} settled: below 5 % after Holm’s correction "
        f"for {counted} of settings, and by HC3 too."
    )


def _could_find(fits: Sequence[EffectsFit], bench: Bench) -> Iterator[str]:
    """Yield what the shots would have shown with 80 % power, the step named once if it can be."""
    steps = [str(fit.settings["step"].iloc[0]) for fit in fits]
    amounts = [_detectable(fit, bench) for fit in fits]
    if not fits:
        return
    if len(set(steps)) == 1:
        told = f"{listing(amounts)} for {steps[0]}"
    else:
        pairs = zip(amounts, steps, strict=True)
        told = listing([f"{amount} for {step}" for amount, step in pairs])
    yield f"Four times in five these shots would have shown {told}."


def _detectable(fit: EffectsFit, bench: Bench) -> str:
    amount = number(float(fit.settings["detectable"].iloc[0]), figures=2)
    attribute = attribute_of(fit.response)
    on = f" on {clip(attribute, 16)}" if attribute else ""
    return f"{amount} {response_words(fit.response, bench).unit}{on}"


def _peak(fit: EffectsFit) -> str:
    """Return the sentence of a fit that says where its response is at its best."""
    told = (each for each in fit.sentences if " is highest" in each or " is lowest" in each)
    return next(told, "")


def _more(n: int) -> str:
    return f"{count(n, 'more step')} not shown; to_frame() of each fit has all." if n > 0 else ""
