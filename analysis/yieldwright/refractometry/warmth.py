"""What an instrument without temperature compensation shows of a warm sample."""

from __future__ import annotations

import dataclasses
from typing import TYPE_CHECKING

import numpy as np

from yieldwright.checks import (
    Measured,
    named,
    require_comparable,
    require_inside,
    same_kind,
)
from yieldwright.glossary import Span, quantity

if TYPE_CHECKING:
    import pandas as pd

__all__ = ["strength_at_20", "warm_shift"]

#: By how much a sample of so many °C reads low. [% by mass] Computed from indices of
#: sucrose solutions quoted from memory, rounded to the second decimal.
_READS_LOW = {20: 0.0, 25: 0.28, 30: 0.60, 40: 1.36, 50: 2.26}
_SAMPLE = dataclasses.replace(quantity("sample_c"), possible=Span(20, 50))


def warm_shift(sample_c: Measured) -> Measured:
    """Return what a warm sample adds to an uncompensated reading of strength.

    Parameters
    ----------
    sample_c : float or Series
        Temperature of the sample when its strength was read. [°C]

    Returns
    -------
    shift_pct : same kind and index as `sample_c`
        Reading less the true strength: zero at 20 °C, below zero above. [% by mass]

    Raises
    ------
    OutOfRangeError
        If a temperature lies outside 20–50 °C, where we have figures.

    Notes
    -----
    Straight lines between the figures for 20, 25, 30, 40 and 50 °C, which bend so little
    that the lines are off by 0.02 % at most. For espresso strength; an instrument that
    compensates needs no correction.

    References
    ----------
    .. [1] Computed from the refractive index of sucrose solutions at these temperatures.

    Examples
    --------
    >>> round(warm_shift(25.0), 2)
    -0.28
    """
    require_inside(_SAMPLE, sample_c)
    return named("shift_pct", same_kind(sample_c, 0.0 - _low_pct(sample_c)))


def strength_at_20(tds_pct: Measured, sample_c: Measured | float) -> Measured:
    """Return the strength behind an uncompensated reading of a warm sample.

    Parameters
    ----------
    tds_pct : float or Series
        Strength as read, without temperature compensation. [% by mass]
    sample_c : float or Series
        Temperature of the sample when it was read. [°C]

    Returns
    -------
    tds_pct : same kind and index as `tds_pct`
        Strength, as a sample at 20 °C would have read. [% by mass]

    Raises
    ------
    OutOfRangeError
        If a reading lies outside 0–100 %, or a temperature outside 20–50 °C.
    MisalignedError
        If two Series carry different indexes.

    Notes
    -----
    The reading less :func:`warm_shift`.

    References
    ----------
    .. [1] Computed from the refractive index of sucrose solutions at these temperatures.

    Examples
    --------
    >>> round(strength_at_20(9.4, sample_c=30.0), 2)
    10.0
    """
    require_comparable(tds_pct=tds_pct, sample_c=sample_c)
    require_inside(_SAMPLE, sample_c)
    corrected = np.asarray(tds_pct, dtype=float) + _low_pct(sample_c)
    return named("tds_pct", same_kind(tds_pct, corrected))


def _low_pct(sample_c: float | pd.Series[float]) -> np.ndarray:
    """Return by how much each sample reads low."""
    low = np.interp(np.asarray(sample_c, float), list(_READS_LOW), list(_READS_LOW.values()))
    return np.asarray(low)
