"""Names of columns that are others with a slip in them, as no header keeps them alike."""

from __future__ import annotations

import re
from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

if TYPE_CHECKING:
    from yieldwright.shotlog.formats.texts import TextColumn

__all__ = ["Slip", "find_slips"]

#: Signs that tell no two names apart; "a+" and "a%" may well be two.
_SIGNS = re.compile(r"[^\w+%<>/-]|_")


class Slip(NamedTuple):
    """A name that some rows use in place of another.

    Attributes
    ----------
    name : str
        The rarer spelling.
    meant : str
        The more usual one.
    rows : ndarray of int
        Rows with a value under the rarer one.
    """

    name: str
    meant: str
    rows: np.ndarray


def find_slips(columns: Mapping[str, TextColumn]) -> list[Slip]:
    """Return names that differ from a more usual one in case, blanks or signs only.

    Parameters
    ----------
    columns : mapping of str to TextColumn
        By name, in order of appearance.

    Returns
    -------
    list of Slip
        Without names that stand beside the more usual one in any row: those are columns
        of their own.

    Examples
    --------
    >>> from yieldwright.shotlog.formats.texts import TextColumn
    >>> doses = {
    ...     "Dose_g": TextColumn.of(["18", "", ""]),
    ...     "dose_g": TextColumn.of(["", "18", "19"]),
    ... }
    >>> [(slip.name, slip.meant, slip.rows.tolist()) for slip in find_slips(doses)]
    [('Dose_g', 'dose_g', [0])]
    """
    alike = defaultdict(list)
    for name in columns:
        alike[_folded(name)].append(name)
    groups = [names for names in alike.values() if len(names) > 1]
    return [slip for names in groups for slip in _slips(names, columns)]


def _slips(names: Sequence[str], columns: Mapping[str, TextColumn]) -> Iterator[Slip]:
    filled = {name: ~columns[name].is_blank() for name in names}
    meant = max(names, key=lambda name: int(filled[name].sum()))
    for name in names:
        if name != meant and not (filled[name] & filled[meant]).any():
            yield Slip(name, meant, np.flatnonzero(filled[name]))


def _folded(name: str) -> str:
    """Return a name without its case, blanks and most signs."""
    return _SIGNS.sub("", name.casefold()) or name
