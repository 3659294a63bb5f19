"""Effects that rest on one shot, on few sessions, or on an even spread."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np
from scipy import special

from yieldwright.cautions import Caution
from yieldwright.formatting import count, listing, percent, sentence_case
from yieldwright.taste.confounding.confounding import sweep
from yieldwright.taste.strata.strata import BETWEEN, WITHIN, group_means
from yieldwright.taste.words.wording import column_label

if TYPE_CHECKING:
    from collections.abc import Iterator

    from yieldwright.taste.cautioning.fitted import FittedShots
    from yieldwright.taste.columns.predictors import Predictor
    from yieldwright.taste.strata.judging import Judged
    from yieldwright.taste.tables import Effect

__all__ = ["about_support"]

#: Share of what is known about a slope that a single shot may bring.
ONE_SHOT = 0.5

#: Ratio of robust to plain standard error beyond which the spread counts as uneven.
UNEVEN = 1.25

#: Chance of an even spread that seems to go with a setting.
SEEMS = 0.05

#: Share of the shots whose sessions hold a change, below which few of them speak.
FEW_CHANGES = 0.5


def about_support(fitted: FittedShots) -> Iterator[Caution]:
    """Yield where a slope rests on one shot, on few sessions, or on an even spread.

    Parameters
    ----------
    fitted : FittedShots
        Shots of a fit.

    Yields
    ------
    Caution
    """
    for judged in fitted.findings.judged:
        for predictor in (p for p in judged.decided if p.kind == "setting"):
            column = predictor.column
            share, row = _heaviest(judged, column)
            if share > ONE_SHOT and judged.swept.df > 2:
                yield _on_one_row(judged, column, share, row)
            if judged.stratum == WITHIN and judged.layout.blocked and not predictor.levels:
                yield from _few_changes(judged, column)
    yield from _uneven(fitted)


def _heaviest(judged: Judged, column: str) -> tuple[float, int]:
    """Return the largest share of what is known of a term that one row brings, and the row."""
    others = [judged.swept.columns[name] for name in judged.entangled if name != column]
    own = judged.swept.columns[column]
    if others:
        basis, _ = np.linalg.qr(np.column_stack(others))
        own, _ = np.linalg.qr(own - basis @ (basis.T @ own))
    shares = (own**2).sum(axis=1)
    return float(shares.max()), int(shares.argmax())


def _on_one_row(judged: Judged, column: str, share: float, row: int) -> Caution:
    frame = judged.layout.frame
    name = f"shot {frame['shot'].iloc[row]}"
    if judged.stratum == BETWEEN:
        name = f"session {frame['session'].unique()[row]}"
    label = column_label(column)
    return Caution(
        "rests-on-one-shot",
        "care",
        f"{percent(share)} of what the log says about {label} rests on {name}.",
        f"Repeat it before acting on {label}.",
        (column,),
    )


def _few_changes(judged: Judged, column: str) -> Iterator[Caution]:
    layout = judged.layout
    changing = group_means((layout.deviation(column) != 0).astype(float), layout.codes) > 0
    shots = int(changing[layout.codes].sum())
    if shots < FEW_CHANGES * len(layout.codes):
        label = column_label(column)
        yield Caution(
            "few-changes-inside",
            "note",
            f"{sentence_case(label)} was changed inside "
            f"{count(int(changing.sum()), 'session')} of {layout.n_sessions}, "
            f"{count(shots, 'shot')}; only these say what it does, since bag age and day change "
            "between sessions too.",
            f"Change {label} inside more sessions.",
            (column,),
        )


def _uneven(fitted: FittedShots) -> Iterator[Caution]:
    judged = {each.stratum: each for each in fitted.findings.judged}
    doubtful = [
        effect.words.step
        for effect in fitted.findings.effects
        if effect.predictor.kind == "setting"
        and _is_doubtful(effect)
        and _spread_follows(judged[effect.stratum], effect.predictor)
    ]
    if doubtful:
        yield Caution(
            "spread-uneven",
            "care",
            f"For {listing(doubtful)} the verdict changes when the spread may differ from "
            "setting to setting (HC3), and it seems to.",
            "Repeat the settings at the ends.",
        )


def _is_doubtful(effect: Effect) -> bool:
    """Return whether the robust interval differs in verdict, and notably in width."""
    found = effect.estimate
    if not (found.std_error > 0 and math.isfinite(found.hc3_std_error)):
        return False
    ratio = found.hc3_std_error / found.std_error
    is_clear = found.hc3_ci_low * found.hc3_ci_high > 0
    return is_clear != effect.is_clear and not 1 / UNEVEN < ratio < UNEVEN


def _spread_follows(judged: Judged, setting: Predictor) -> bool:
    """Return whether the size of what is unexplained goes with a setting (Glejser 1969)."""
    if judged.fit is None or len(judged.fit.fit.residuals) != len(judged.fit.frame):
        return False
    fit, frame = judged.fit.fit, judged.fit.frame
    size = np.abs(fit.residuals) / np.sqrt(np.clip(1 - fit.leverage, 1e-6, None))
    swept = sweep(frame, [setting], np.zeros(len(frame), dtype=np.intp))
    own = swept.columns[setting.column]
    centred = size - size.mean()
    explained = float(((own.T @ centred) ** 2).sum())
    df = len(frame) - 1 - setting.width
    rest = float(centred @ centred) - explained
    if df < 1 or not rest > 0:
        return False
    statistic = explained / setting.width / (rest / df)
    return bool(special.fdtrc(setting.width, df, statistic) < SEEMS)
