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
Tails = tuple[Array, Array]
Three = tuple[Array, Array, Array]

#: Beyond this the normal density is 0 to the last bit, and so is any multiple of it.
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
    density : callable
        Density at a place, from the place and the shares below and above it.
    bends : callable
        Slope and bend of the density, from those and the density.
    """

    name: LinkName
    spread: float
    below: Callable[[Array], Array]
    quantile: Callable[[Array], Array]
    density: Callable[[Array, Tails], Array]
    bends: Callable[[Array, Tails, Array], tuple[Array, Array]]

    def tails(self, place: Array) -> Tails:
        """Return the shares below and above a place, exact in both tails."""
        return self.below(place), self.below(-place)

    def between(self, low: Array, high: Array) -> Array:
        """Return the share between two places, below 0 where they stand in the wrong order."""
        return _difference(low, self.tails(low), self.tails(high))

    def caught(self, low: Array, high: Array) -> tuple[Array, Array, Array]:
        """Return the share between two places, and the densities at the places."""
        at_low, at_high = self.tails(low), self.tails(high)
        share = _difference(low, at_low, at_high)
        return share, self.density(low, at_low), self.density(high, at_high)

    def bent(self, low: Array, high: Array) -> tuple[Array, Three, Three]:
        """Return that share, and density, slope and bend at either place."""
        at_low, at_high = self.tails(low), self.tails(high)
        low_density, high_density = self.density(low, at_low), self.density(high, at_high)
        return (
            _difference(low, at_low, at_high),
            (low_density, *self.bends(low, at_low, low_density)),
            (high_density, *self.bends(high, at_high, high_density)),
        )


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


def _difference(low: Array, at_low: Tails, at_high: Tails) -> Array:
    """Return the share between two places, from the tail in which it loses no digits."""
    share: Array = np.where(low > 0, at_low[1] - at_high[1], at_high[0] - at_low[0])
    return share


def _logistic_density(_: Array, tails: Tails) -> Array:
    return tails[0] * tails[1]


def _logistic_bends(_: Array, tails: Tails, density: Array) -> tuple[Array, Array]:
    return density * (tails[1] - tails[0]), density * (1 - 6 * density)


def _normal_density(place: Array, _: Tails) -> Array:
    density: Array = np.exp(-(place**2) / 2) / np.sqrt(2 * np.pi)
    return density


def _normal_bends(place: Array, _: Tails, density: Array) -> tuple[Array, Array]:
    near = np.clip(place, -FAR, FAR)
    return -near * density, (near**2 - 1) * density


LINKS: dict[str, Link] = {
    "logit": Link(
        "logit",
        float(np.pi / np.sqrt(3)),
        special.expit,
        special.logit,
        _logistic_density,
        _logistic_bends,
    ),
    "probit": Link("probit", 1.0, special.ndtr, special.ndtri, _normal_density, _normal_bends),
}
