"""A deviance at one point, and how it bends there."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

__all__ = ["VANISHING", "Bend"]

Array = npt.NDArray[np.float64]

#: Squared residuals, of responses of unit size, below which they are rounding.
VANISHING = 1e-14


@dataclass(frozen=True, slots=True, eq=False)
class Bend:
    """A value with its gradient and Hessian.

    Attributes
    ----------
    value : float
        Deviance.
    gradient, hessian : ndarray
        In the parameters.
    """

    value: float
    gradient: Array
    hessian: Array
