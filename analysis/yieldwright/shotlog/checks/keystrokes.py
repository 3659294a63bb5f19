"""Numbers one wrong key away from a number, and how finely numbers were written."""

from __future__ import annotations

import math
import re
from collections.abc import Iterator
from functools import lru_cache
from itertools import pairwise
from typing import NamedTuple

import numpy as np

__all__ = ["Correction", "Corrections", "core_number", "corrections", "decimals", "ends_in_zero"]

#: A plain number, or one behind `1:` as ratios are written (1:30 is a time); a unit may follow.
_CORE = re.compile(
    r"\s*(?:1\s*[:/]\s*(?=[0-9](?![0-9])))?\+?([0-9]+(?:[.,][0-9]+)?)(?![.,])[^0-9]*"
)
_LONGEST = 12
#: Minus the logarithm of the share of its kind that one correction has, all kinds taken as
#: equally frequent: a four-key number can be swapped in three ways and replaced in twenty-seven.
_SURPRISE = {"point": 1.1, "swapped": 1.1, "extra": 1.4, "left out": 3.9, "replaced": 3.3}
_DIGITS = "0123456789"


class Correction(NamedTuple):
    """A number that one key pressed right would have made of another.

    Attributes
    ----------
    text : str
        As it would have been written.
    value : float
        The number it is, in the unit it was written in.
    kind : str
        What went wrong: `point`, `swapped`, `extra`, `left out` or `replaced`.
    decimals : int
        Digits behind the point.
    """

    text: str
    value: float
    kind: str
    decimals: int

    @property
    def surprise(self) -> float:
        """Minus the logarithm of how likely this slip is among all."""
        return _SURPRISE[self.kind]


def decimals(text: str) -> int:
    """Return how many digits a cell has behind the point of its number.

    Parameters
    ----------
    text : str
        As typed; a unit may follow, and `1:` may stand before a ratio.

    Returns
    -------
    int
        -1 where the cell is no single plain number.

    Examples
    --------
    >>> decimals("18.05 g"), decimals("1:2,1"), decimals("36"), decimals("90-92")
    (2, 1, 0, -1)
    """
    core = _core(text)
    return len(core.replace(",", ".").partition(".")[2]) if core else -1


def core_number(text: str) -> float:
    """Return the number that stands in a cell, whatever its unit.

    Parameters
    ----------
    text : str
        As typed; a unit may follow, and `1:` may stand before a ratio.

    Returns
    -------
    float
        Missing where the cell is no single plain number.

    Examples
    --------
    >>> core_number("0.63 oz"), core_number("90-92")
    (0.63, nan)
    """
    core = _core(text)
    return float(core.replace(",", ".")) if core else math.nan


def ends_in_zero(text: str) -> bool:
    """Return whether the number in a cell has a last zero that need not be written.

    Parameters
    ----------
    text : str
        As typed.

    Returns
    -------
    bool

    Examples
    --------
    >>> ends_in_zero("18.0 g"), ends_in_zero("180")
    (True, False)
    """
    core = _core(text)
    return core.endswith("0") and decimals(text) > 0


class Corrections(NamedTuple):
    """All corrections of one cell.

    Attributes
    ----------
    each : tuple of Correction
        One by one.
    numbers, surprises, decimals : ndarray of float
        Their values, surprises and decimals.
    """

    each: tuple[Correction, ...]
    numbers: np.ndarray
    surprises: np.ndarray
    decimals: np.ndarray


@lru_cache(maxsize=4096)
def corrections(text: str) -> Corrections:
    """Return every number from which one wrong key makes the one in a cell.

    Parameters
    ----------
    text : str
        As typed.

    Returns
    -------
    Corrections
        Each number once, under the first kind that explains it; none where the cell is
        no single plain number or a very long one.

    Examples
    --------
    >>> [each.text for each in corrections("81").each if each.kind in ("point", "swapped")]
    ['8.1', '18']
    """
    made = tuple(_corrections(text))
    numbers = [(each.value, each.surprise, each.decimals) for each in made]
    values, surprises, places = np.array(numbers, dtype=float).reshape(-1, 3).T
    return Corrections(made, values, surprises, places)


def _corrections(text: str) -> Iterator[Correction]:
    core = _core(text)
    if not core or len(core) > _LONGEST:
        return
    mark = "," if "," in core else "."
    wrong = core.replace(",", ".")
    seen = {float(wrong)}
    for kind, written in _written(wrong):
        if _is_well_formed(written) and float(written) not in seen:
            seen.add(float(written))
            places = len(written.partition(".")[2])
            yield Correction(written.replace(".", mark), float(written), kind, places)


def _core(text: str) -> str:
    found = _CORE.fullmatch(text)
    return found[1] if found else ""


def _is_well_formed(number: str) -> bool:
    whole, mark, rest = number.partition(".")
    leading_zero = len(whole) > 1 and whole.startswith("0")
    return bool(whole) and not leading_zero and bool(rest) == bool(mark)


def _written(wrong: str) -> Iterator[tuple[str, str]]:
    """Yield what may have been meant, the plainest mistakes first."""
    digits = wrong.replace(".", "")
    for at in range(1, len(digits)):
        yield "point", f"{digits[:at]}.{digits[at:]}"
    yield "point", digits
    for at, (first, second) in enumerate(pairwise(wrong)):
        yield "swapped", wrong[:at] + second + first + wrong[at + 2 :]
    for at, key in enumerate(wrong):
        if key != ".":
            yield "extra", wrong[:at] + wrong[at + 1 :]
    for at in range(len(wrong) + 1):
        for digit in _DIGITS:
            yield "left out", wrong[:at] + digit + wrong[at:]
    for at, key in enumerate(wrong):
        for digit in _DIGITS if key != "." else ():
            yield "replaced", wrong[:at] + digit + wrong[at + 1 :]
