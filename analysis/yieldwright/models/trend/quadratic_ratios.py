"""The chance of a ratio of quadratic forms of residuals, as the Durbin–Watson statistic is one."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from yieldwright.errors import MisalignedError, TooFewShotsError

__all__ = ["left_over", "ratio_moments", "ratio_probability", "weighted_sum_probability"]

Array = npt.NDArray[np.float64]

#: A direction with less than this share of the largest column follows from the others.
DEPENDENT = 1e-10

#: Steps of the logarithm along which the characteristic function is summed, and its ends.
#: Along this line the integrand is smooth and dies out at both ends, so that a plain sum
#: errs by less than rounding.
STEP, LOWEST = 0.04, -42.0

#: Where the last factor is so small that nothing is added any more.
NOTHING = 1e-17

#: A weight smaller than this share of the largest is 0.
VANISHING = 1e-12


def left_over(design: Array) -> Array:
    """Return orthonormal directions that a design leaves to the residuals.

    Parameters
    ----------
    design : ndarray
        Columns, one row per row; they may follow from one another.

    Returns
    -------
    ndarray
        One row per row, one column per degree of freedom left.

    Raises
    ------
    TooFewShotsError
        If fewer than two are left, so that every ratio is the same.

    Examples
    --------
    >>> left_over(np.ones((4, 1))).shape
    (4, 3)
    """
    scaled = design / np.maximum(np.linalg.norm(design, axis=0), np.finfo(float).tiny)
    directions, sizes, _ = np.linalg.svd(scaled, full_matrices=True)
    rank = int(np.sum(sizes > DEPENDENT * sizes.max(initial=0.0)))
    if len(design) - rank < 2:
        raise TooFewShotsError(
            f"{len(design)} rows less {rank} columns leave no two residuals free to differ; "
            "bring more rows"
        )
    return np.asarray(directions[:, rank:])


def ratio_probability(value: float, form: Array, free: Array) -> float:
    """Return how likely e'Fe / e'e is at most a value, for residuals of independent rows.

    Parameters
    ----------
    value : float
        Value of the ratio. [1]
    form : ndarray
        The symmetric matrix F, rows × rows.
    free : ndarray
        From `left_over`.

    Returns
    -------
    float

    Raises
    ------
    MisalignedError
        If form and directions describe different rows.

    Notes
    -----
    e'Fe ≤ v e'e is where the sum of independent χ² of one degree of freedom, weighted by
    the eigenvalues of F − v I among the residuals, is at most 0. No normal approximation
    is made: the chance is exact for normal rows of one variance.

    References
    ----------
    .. [1] Durbin and Watson (1971), Biometrika 58, 1, section 3.

    Examples
    --------
    Two residuals: the cosine of twice an angle that is uniform.

    >>> free = np.eye(3)[:, :2]
    >>> round(ratio_probability(0.5, np.diag([1.0, -1.0, 0.0]), free), 9)
    0.666666667
    """
    if form.shape != (len(free), len(free)):
        raise MisalignedError(
            f"a form of {form.shape} does not go with residuals of {len(free)} rows"
        )
    weights = np.asarray(np.linalg.eigvalsh(free.T @ form @ free) - value, dtype=float)
    return weighted_sum_probability(weights)


def weighted_sum_probability(weights: Array) -> float:
    """Return how likely a weighted sum of squared standard normals is at most 0.

    Parameters
    ----------
    weights : ndarray
        One weight per square, of either sign. [any unit]

    Returns
    -------
    float

    Notes
    -----
    Imhof's integral of the characteristic function, with the logarithm of its variable
    as the variable.

    References
    ----------
    .. [1] Imhof (1961), Biometrika 48, 419, equation 3.2.

    Examples
    --------
    >>> round(weighted_sum_probability(np.array([1.0, 1.0, -1.0, -1.0])), 9)
    0.5
    """
    size = np.abs(weights).max(initial=0.0)
    kept = weights[np.abs(weights) > VANISHING * size] / (size or 1.0)
    if not (kept > 0).any():
        return 1.0
    if not (kept < 0).any():
        return 0.0
    highest = -2 * np.log(NOTHING) / len(kept) + max(-np.log(np.abs(kept)).mean(), 0.0)
    logs = np.arange(LOWEST, highest, STEP)
    turned = np.outer(np.exp(logs), kept)
    angle = np.arctan(turned).sum(axis=1) / 2
    decay = np.exp(-np.log1p(turned**2).sum(axis=1) / 4)
    above = 0.5 + float(np.sum(np.sin(angle) * decay)) * STEP / np.pi
    return float(np.clip(1 - above, 0.0, 1.0))


def ratio_moments(form: Array, free: Array) -> tuple[float, float]:
    """Return mean and standard deviation of e'Fe / e'e for residuals of independent rows.

    Parameters
    ----------
    form : ndarray
        The symmetric matrix F, rows × rows.
    free : ndarray
        From `left_over`.

    Returns
    -------
    mean, sd : float

    References
    ----------
    .. [1] Durbin and Watson (1950), Biometrika 37, 409, section 4.

    Examples
    --------
    >>> ratio_moments(np.diag([1.0, -1.0, 0.0]), np.eye(3)[:, :2])
    (0.0, 0.7071067811865476)
    """
    weights = np.linalg.eigvalsh(free.T @ form @ free)
    count, mean = len(weights), float(weights.mean())
    variance = 2 * float(np.sum((weights - mean) ** 2)) / (count * (count + 2))
    return mean, float(np.sqrt(variance))
