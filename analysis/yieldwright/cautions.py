"""A statistical caution as a value: what is shaky, how badly, and what would mend it."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Literal

__all__ = ["Caution", "Severity", "gravest_first"]

Severity = Literal["note", "care", "stop"]

_RANK = {"stop": 0, "care": 1, "note": 2}


@dataclass(frozen=True, slots=True)
class Caution:
    """One thing a reader must know before trusting a figure.

    Attributes
    ----------
    code : str
        Stable word for tests and filters, such as `few-shots`.
    severity : {"note", "care", "stop"}
        Good to know; read the figure with care; do not use the figure.
    sentence : str
        What is shaky, in plain words.
    remedy : str
        What would mend it, in plain words; empty where nothing would.
    about : tuple of str
        The quantities it concerns.
    """

    code: str
    severity: Severity
    sentence: str
    remedy: str = ""
    about: tuple[str, ...] = ()

    @property
    def text(self) -> str:
        """Sentence and remedy as one line."""
        return f"{self.sentence} {self.remedy}".strip()


def gravest_first(cautions: Iterable[Caution]) -> tuple[Caution, ...]:
    """Return cautions without repeats, the gravest first, else in the order given.

    Parameters
    ----------
    cautions : iterable of Caution
        From one result or several.

    Returns
    -------
    tuple of Caution

    Examples
    --------
    >>> first, second = Caution("a", "note", "A."), Caution("b", "stop", "B.")
    >>> [caution.code for caution in gravest_first([first, second, first])]
    ['b', 'a']
    """
    return tuple(sorted(dict.fromkeys(cautions), key=lambda caution: _RANK[caution.severity]))
