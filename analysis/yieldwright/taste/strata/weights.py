"""Weights of coefficients: the effect of one practical step, the mean at one level."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt

from yieldwright.models.terms.terms import Numeric

if TYPE_CHECKING:
    from yieldwright.taste.columns.predictors import Predictor
    from yieldwright.taste.strata.stratum_fits import StratumFit

__all__ = ["level_weights", "mean_weights", "step_weights"]

Array = npt.NDArray[np.float64]


def step_weights(fit: StratumFit, predictor: Predictor) -> tuple[tuple[str, Array], ...]:
    """Return the weights that give the effects of one predictor per practical step.

    Parameters
    ----------
    fit : StratumFit
        The fit.
    predictor : Predictor
        One of its predictors.

    Returns
    -------
    tuple of pairs of str and ndarray
        One pair for a number, of a curve its slope averaged over the rows fitted, which
        is the slope at their mean; for levels one per pair of neighbours, named
        `low → medium`.
    """
    place = fit.design.place(predictor.column)
    if predictor.levels:
        return _neighbours(fit, predictor, place)
    weights = np.zeros(len(fit.fit.params))
    term = fit.design.term(predictor.column)
    unit_step = predictor.step / (term.reach if isinstance(term, Numeric) else 1.0)
    weights[place.start] = unit_step
    if predictor.column in fit.curved:
        weights[place.start + 1] = 2 * unit_step * fit.columns[:, place.start].mean()
    return ((predictor.column, weights),)


def level_weights(fit: StratumFit, predictor: Predictor, level: object) -> Array:
    """Return the weights of the mean at one level, everything else at its mean.

    Parameters
    ----------
    fit : StratumFit
        The fit.
    predictor : Predictor
        One of its predictors, with levels.
    level : object
        The level.

    Returns
    -------
    ndarray
        One weight per coefficient.
    """
    weights = mean_weights(fit)
    place = fit.design.place(predictor.column)
    weights[place] = [float(level == each) for each in predictor.levels[1:]]
    return weights


def mean_weights(fit: StratumFit) -> Array:
    """Return the weights of the mean of the rows fitted.

    Parameters
    ----------
    fit : StratumFit
        The fit.

    Returns
    -------
    ndarray
        One weight per coefficient.
    """
    return np.array(fit.design.matrix.mean(axis=0))


def _neighbours(
    fit: StratumFit, predictor: Predictor, place: slice
) -> tuple[tuple[str, Array], ...]:
    pairs = []
    for position, (lower, upper) in enumerate(
        zip(predictor.levels, predictor.levels[1:], strict=False)
    ):
        weights = np.zeros(len(fit.fit.params))
        weights[place.start + position] = 1.0
        if position:
            weights[place.start + position - 1] = -1.0
        pairs.append((f"{lower} → {upper}", weights))
    return tuple(pairs)
