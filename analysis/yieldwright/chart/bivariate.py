"""The bivariate normal distribution: how likely a shot lies in each of nine rectangles."""

from __future__ import annotations

import numpy as np
from scipy.special import ndtr, owens_t

__all__ = ["nine_probabilities", "normal_below"]

#: Beyond this many standard deviations a normal tail underflows a double.
_FAR = 39.0

#: Below this a ratio of the two limits loses its digits, and both are zero to any purpose.
_NEAR = 1e-290


def normal_below(h: np.ndarray, k: np.ndarray, correlation: np.ndarray) -> np.ndarray:
    r"""Return the probability that two standard normal variables lie below h and k.

    Parameters
    ----------
    h, k : ndarray
        Upper limits in standard deviations; infinite ones allowed. [1]
    correlation : ndarray
        Correlation of the two, its limits −1 and 1 included. [1]

    Returns
    -------
    ndarray
        Probabilities, in the shape the inputs share.

    Notes
    -----
    .. math:: \Phi_2(h, k; \rho) = \tfrac12 \Phi(h) + \tfrac12 \Phi(k)
              - T\!\left(h, \frac{k - \rho h}{h \sqrt{1 - \rho^2}}\right)
              - T\!\left(k, \frac{h - \rho k}{k \sqrt{1 - \rho^2}}\right) - \delta

    with δ = ½ where h and k lie on opposite sides of zero, else 0. Good to about 1e-15
    absolute; the last step keeps rounding inside the Fréchet bounds, which the limits of
    correlation −1 and 1 reach.

    References
    ----------
    .. [1] Owen 1956, Ann. Math. Statist. 27:1075, equation 2.1 and the table of T.

    Examples
    --------
    >>> round(float(normal_below(np.array(0.0), np.array(0.0), np.array(0.5))), 6)
    0.333333
    """
    h, k = _within_reach(h), _within_reach(k)
    below_h, below_k = ndtr(h), ndtr(k)
    least, most = np.maximum(below_h + below_k - 1, 0), np.minimum(below_h, below_k)
    between = np.clip(_owen_sum(h, k, correlation), least, most)
    return np.where(correlation >= 1, most, np.where(correlation <= -1, least, between))


def nine_probabilities(
    means: np.ndarray, spreads: np.ndarray, correlation: np.ndarray, cuts: np.ndarray
) -> np.ndarray:
    """Return how likely each point lies in each of the rectangles of two pairs of cuts.

    Parameters
    ----------
    means : ndarray, shape (n, 2)
        Best estimates of the two quantities.
    spreads : ndarray, shape (n, 2)
        Their standard uncertainties; zero makes a quantity exactly known.
    correlation : ndarray, shape (n,)
        Their correlation; ignored where a spread is zero. [1]
    cuts : ndarray, shape (2, 2)
        Low and high cut of each quantity; the stretch between includes both ends.

    Returns
    -------
    ndarray, shape (n, 3, 3)
        Probabilities: first quantity below, between, above; within it the second. Each
        point's nine sum to one; missing where an input is.

    Examples
    --------
    >>> cuts = np.array([[8.0, 12.0], [18.0, 22.0]])
    >>> one = nine_probabilities(np.array([[8.0, 20.0]]), np.ones((1, 2)), np.zeros(1), cuts)
    >>> one.sum(axis=2).round(3)
    array([[0.5, 0.5, 0. ]])
    """
    exact = spreads == 0
    h, k = (_standardised(means[:, i], spreads[:, i], cuts[i]) for i in (0, 1))
    rho = np.where(exact.any(axis=1), 0.0, correlation)
    below = np.zeros((len(means), 4, 4))
    below[:, 1:3, 1:3] = normal_below(h[:, :, None], k[:, None, :], rho[:, None, None])
    below[:, 1:3, 3], below[:, 3, 1:3], below[:, 3, 3] = ndtr(h), ndtr(k), 1.0
    cells = np.clip(np.diff(np.diff(below, axis=1), axis=2), 0.0, None)
    missing = np.isnan(means).any(axis=1) | np.isnan(spreads).any(axis=1) | np.isnan(rho)
    cells[missing] = np.nan
    scaled: np.ndarray = cells / cells.sum(axis=(1, 2), keepdims=True)
    return scaled


def _within_reach(limit: np.ndarray) -> np.ndarray:
    """Return limits neither too far nor too near to zero for a double, nor negative zero."""
    return np.where(np.abs(limit) < _NEAR, 0.0, np.clip(limit, -_FAR, _FAR))


def _owen_sum(h: np.ndarray, k: np.ndarray, correlation: np.ndarray) -> np.ndarray:
    """Return Owen's formula for correlations between −1 and 1."""
    root = np.sqrt(np.clip((1 - correlation) * (1 + correlation), 0.0, None))
    with np.errstate(divide="ignore", over="ignore", invalid="ignore"):
        of_h = owens_t(h, (k - correlation * h) / (h * root))
        of_k = owens_t(k, (h - correlation * k) / (k * root))
    sides = np.sign(h) * np.sign(k)
    opposite = (sides < 0) | ((sides == 0) & (h + k < 0))
    whole = (ndtr(h) + ndtr(k)) / 2 - of_h - of_k - opposite / 2
    at_zero = 0.25 + np.arcsin(np.clip(correlation, -1, 1)) / (2 * np.pi)
    found: np.ndarray = np.where((h == 0) & (k == 0), at_zero, whole)
    return found


def _standardised(mean: np.ndarray, spread: np.ndarray, cuts: np.ndarray) -> np.ndarray:
    """Return the two cuts in spreads from the mean, infinite where the spread is zero."""
    low, high = cuts
    with np.errstate(divide="ignore", over="ignore", invalid="ignore"):
        scaled = (cuts - mean[:, None]) / spread[:, None]
    passed = np.column_stack((mean < low, mean <= high))
    return np.where(spread[:, None] == 0, np.where(passed, np.inf, -np.inf), scaled)
