"""Who tastes what, and the scores they write down."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from yieldwright.glossary import TASTING_QUANTITIES
from yieldwright.simulate.ages import roast_age
from yieldwright.simulate.brewing import expected_score

if TYPE_CHECKING:
    from yieldwright.bench import Attribute
    from yieldwright.simulate.truth import Truth

__all__ = ["taste_shots"]


def taste_shots(truth: Truth, pulled: pd.DataFrame, rng: np.random.Generator) -> pd.DataFrame:
    """Return the scores that the tasters of a plan give to its shots.

    Parameters
    ----------
    truth : Truth
        The taste law, its tasters and the scales.
    pulled : DataFrame
        One row per shot, as `pull_shots` makes it; the column `tasters` holds codes
        with blanks between them.
    rng : Generator
        Source of chance.

    Returns
    -------
    DataFrame
        One row per shot, taster and attribute, in the columns of the glossary. Shots
        without a cup are not tasted.

    Examples
    --------
    >>> from yieldwright.simulate import Truth, default_plan, pull_shots
    >>> rng = np.random.default_rng(1)
    >>> tastings = taste_shots(Truth(), pull_shots(Truth(), default_plan(rng), rng), rng)
    >>> bool((tastings["score"] * 2 % 1 == 0).all())
    True
    """
    liked = _liked(truth, pulled, rng)
    coded = pulled.assign(blind_code=_blind_codes(pulled, rng))
    cups = _cups(coded[pulled["ey_pct"].notna()])
    offsets = {taster.taster: taster.offset for taster in truth.taste.tasters}
    offset_of = cups["taster"].map(offsets).fillna(0.0)
    scores = [
        cups.assign(
            attribute=scale.name,
            score=_on_scale(
                liked[scale.name].loc[cups.index]
                + offset_of
                + rng.normal(0, truth.taste.taster_sd, len(cups)),
                scale,
            ),
        )
        for scale in truth.attributes
    ]
    by_taster = pd.concat(scores).sort_values("taster", kind="stable")
    table = by_taster.sort_index(kind="stable").reset_index(drop=True)
    return table[[entry.name for entry in TASTING_QUANTITIES]]


def _liked(truth: Truth, pulled: pd.DataFrame, rng: np.random.Generator) -> pd.DataFrame:
    """Return what each cup is worth, the evening and the cup's own chance included."""
    law = truth.taste
    liked = expected_score(
        truth,
        pulled["tds_pct"],
        pulled["ey_pct"],
        pulled["taper_bar"],
        age_d=roast_age(truth, pulled),
    )
    codes, sessions = pd.factorize(pulled["session"])
    evening = rng.normal(0, law.session_sd, (len(sessions), liked.shape[1]))[codes]
    liked += evening + rng.normal(0, law.shot_sd, liked.shape)
    spoilt = np.where(pulled["fate"] == "channelled", law.channelled, 0.0)
    headline = truth.attributes[0].name
    liked[headline] -= spoilt
    return liked


def _cups(tasted: pd.DataFrame) -> pd.DataFrame:
    """Return one row per shot and taster, numbered in the order each taster meets them."""
    cups = tasted[["shot", "session", "blind_code"]].assign(
        taster=tasted["tasters"].str.split(), swallowed="no"
    )
    cups = cups.explode("taster").dropna(subset="taster")
    order = cups.groupby(["session", "taster"]).cumcount() + 1
    return cups.assign(tasting_order=order)


def _blind_codes(pulled: pd.DataFrame, rng: np.random.Generator) -> np.ndarray:
    """Return three-digit codes, none twice among any hundred shots that follow each other."""
    blocks = -(-len(pulled) // 900)
    digits = np.concatenate([rng.permutation(np.arange(100, 1000)) for _ in range(blocks)])
    return digits[: len(pulled)].astype(str)


def _on_scale(scores: pd.Series[float], scale: Attribute) -> pd.Series[float]:
    steps = ((scores - scale.low) / scale.step).round()
    return (scale.low + steps * scale.step).clip(scale.low, scale.high)
