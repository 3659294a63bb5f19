"""Changes over the weeks of everybody followed at once, each judged as one of all."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from yieldwright.models.contrasts.contrasts import holm
from yieldwright.repeatability.persons.progress_words import sentences_of

if TYPE_CHECKING:
    from yieldwright.repeatability.persons.progress import Progress

__all__ = ["counted_together"]


def counted_together(found: Sequence[Progress]) -> tuple[Progress, ...]:
    """Return people followed over the weeks, with p-values and sentences that count all tests.

    Parameters
    ----------
    found : sequence of Progress
        Everybody who is followed at once.

    Returns
    -------
    tuple of Progress
        The same, in the same order.

    Notes
    -----
    A test is the trend of one person's spread, or of one of their misses. With nine of them
    some interval of 95 % leaves out zero in 37 of 100 logs in which nobody changes: what is
    told as a change is what Holm's rule leaves of all. The intervals stay as they are.

    Examples
    --------
    >>> counted_together([])
    ()
    """
    each = [np.array([one.p_value, *one.misses["p_value"]], dtype=float) for one in found]
    if not each:
        return ()
    together = np.concatenate(each)
    n_tests = int(np.isfinite(together).sum())
    ends = np.cumsum([len(one) for one in each])[:-1]
    corrected = np.split(holm(together), ends)
    return tuple(_told(*pair, n_tests) for pair in zip(found, corrected, strict=True))


def _told(one: Progress, corrected: np.ndarray, n_tests: int) -> Progress:
    counted = replace(
        one,
        p_holm=float(corrected[0]),
        misses=one.misses.assign(p_holm=corrected[1:]),
        n_tests=n_tests,
    )
    return replace(counted, sentences=tuple(sentences_of(counted)))
