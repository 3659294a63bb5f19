"""From the line behind ordered levels to shares: distribution functions and their slopes."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Literal

import numpy as np
import numpy.typing as npt
from scipy import special

from yieldwright.errors import OutOfRangeError

Array = npt.NDArray[np.float64]
LinkName = Literal["logit", "probit"]

#: Beyond this both distributions are 0 or 1 to the last bit; stands for "no limit".
FAR = 1e3


@dataclass(frozen=True, slots=True)
class Link:
    """A distribution symmetric about 0 with a log-concave density.

    Attributes
    ----------
    name : {"logit", "probit"}
        What it is called.
    spread : float
        Its standard deviation.
    below : callable
        Share below a place.
    quantile : callable
        Place below which a share lies.
    densities : callable
        Density, its slope and its bend at a place.
    """

    name: LinkName
    spread: float
    below: Callable[[Array], Array]
    quantile: Callable[[Array], Array]
    densities: Callable[[Array], tuple[Array, Array, Array]]

    def between(self, low: Array, high: Array) -> Array:
        """Return the share between two places, exact in both tails.

        Parameters
        ----------
        low, high : ndarray
            Places, perhaps infinite.

        Returns
        -------
        ndarray
            Below 0 where the places stand in the wrong order.
        """
        right = low > 0
        share: Array = self.below(np.where(right, -low, high))
        share -= self.below(np.where(right, -high, low))
        return share


def link_named(name: str) -> Link:
    """Return a link by its name.

    Parameters
    ----------
    name : str
        One of `LINKS`.

    Returns
    -------
    Link

    Raises
    ------
    OutOfRangeError
        If there is no such link.

    Examples
    --------
    >>> float(link_named("logit").below(np.array(0.0)))
    0.5
    """
    if name not in LINKS:
        raise OutOfRangeError(f"link must be 'logit' or 'probit', not {name!r:.60}")
    return LINKS[name]


def _logistic(place: Array) -> tuple[Array, Array, Array]:
    below, above = special.expit(place), special.expit(-place)
    density = below * above
    slope = density * (above - below)
    return density, slope, density * (1 - 6 * density)


def _normal(place: Array) -> tuple[Array, Array, Array]:
    near = np.clip(place, -FAR, FAR)
    density = np.exp(-(near**2) / 2) / np.sqrt(2 * np.pi)
    return density, -near * density, (near**2 - 1) * density


LINKS: dict[str, Link] = {
    "logit": Link("logit", float(np.pi / np.sqrt(3)), special.expit, special.logit, _logistic),
    "probit": Link("probit", 1.0, special.ndtr, special.ndtri, _normal),
}
