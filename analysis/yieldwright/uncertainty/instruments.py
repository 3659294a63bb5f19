"""Standard uncertainty of one weighing and of one strength, from the bench's instruments."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np

from yieldwright.checks import Measured, named, same_kind

if TYPE_CHECKING:
    import pandas as pd

    from yieldwright.bench import Refractometer, Scale

__all__ = ["pooled_repeatability", "scale_uncertainty", "tds_uncertainty"]

_UNIFORM = 1 / math.sqrt(12)  # JCGM 100:2008, 4.3.7: a display step is a uniform distribution
_HALF_WIDTH = 1 / math.sqrt(3)  # the same for a statement of plus or minus


def scale_uncertainty(scale: Scale) -> float:
    """Return the standard uncertainty of one weighing.

    Parameters
    ----------
    scale : Scale
        Resolution and repeatability. [g]

    Returns
    -------
    u_g : float
        Standard uncertainty. [g]

    Notes
    -----
    Display step as a uniform distribution, repeatability as a standard deviation.

    References
    ----------
    .. [1] JCGM 100:2008, 4.3.7 and 5.1.2.

    Examples
    --------
    >>> from yieldwright.bench import Scale
    >>> round(scale_uncertainty(Scale(resolution_g=0.1, repeatability_g=0.05)), 4)
    0.0577
    """
    return math.hypot(scale.resolution_g * _UNIFORM, scale.repeatability_g)


def tds_uncertainty(
    refractometer: Refractometer, n_readings: Measured, *, with_accuracy: bool = True
) -> Measured:
    """Return the standard uncertainty of a strength averaged over readings.

    Parameters
    ----------
    refractometer : Refractometer
        Resolution, repeatability and accuracy. [% by mass]
    n_readings : float or Series
        Readings averaged; a missing or zero count gives a missing uncertainty. [1]
    with_accuracy : bool
        Whether the accuracy counts. It is common to all readings: it belongs in one
        shot's uncertainty and cancels in a difference of two shots on one bench.

    Returns
    -------
    u_tds_pct : same kind and index as `n_readings`
        Standard uncertainty of the strength. [% by mass]

    Notes
    -----
    Resolution and repeatability shrink with the number of readings, accuracy does not.

    References
    ----------
    .. [1] JCGM 100:2008, 4.2.3, 4.3.7 and 5.1.2.

    Examples
    --------
    >>> from yieldwright.bench import Refractometer
    >>> round(tds_uncertainty(Refractometer(), 1.0), 3)
    0.05
    """
    counts = np.asarray(n_readings, dtype=float)
    counts = np.where(counts > 0, counts, np.nan)
    shrinking = (refractometer.resolution_pct * _UNIFORM) ** 2 + refractometer.repeatability_pct**2
    common = (refractometer.accuracy_pct * _HALF_WIDTH) ** 2 if with_accuracy else 0.0
    u_tds_pct = np.sqrt(shrinking / counts + common)
    return named("u_tds_pct", same_kind(n_readings, u_tds_pct))


def pooled_repeatability(readings: pd.DataFrame) -> tuple[float, int]:
    """Return the standard deviation of repeated readings of one sample, pooled over shots.

    Parameters
    ----------
    readings : DataFrame
        One row per shot, one column per reading; gaps allowed. [% by mass]

    Returns
    -------
    repeatability_pct : float
        Pooled standard deviation; missing without repeats. [% by mass]
    df : int
        Degrees of freedom it rests on.

    References
    ----------
    .. [1] JCGM 100:2008, H.3.6 and 4.2.4: pooled experimental variance.

    Examples
    --------
    >>> import pandas as pd
    >>> pooled_repeatability(pd.DataFrame({"tds_1_pct": [9.0, 9.5], "tds_2_pct": [9.2, 9.5]}))
    (0.1, 2)
    """
    values = readings.to_numpy(dtype=float)
    counts = np.isfinite(values).sum(axis=1)
    repeated = counts >= 2
    if not repeated.any():
        return math.nan, 0
    deviations = values[repeated] - np.nanmean(values[repeated], axis=1, keepdims=True)
    df = int((counts[repeated] - 1).sum())
    return round(math.sqrt(float(np.nansum(deviations**2)) / df), 12), df
