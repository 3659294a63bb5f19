"""Small tables made from rows, each column of its own kind from the start."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from typing import Any

import numpy as np
import pandas as pd

__all__ = ["framed"]


def framed(
    rows: Sequence[tuple[Any, ...]], columns: Sequence[str], *, whole: Collection[str] = ()
) -> pd.DataFrame:
    """Return rows as a table of texts and whole numbers.

    Parameters
    ----------
    rows : sequence of tuple
        One value per column; a text may be None.
    columns : sequence of str
        Headers.
    whole : collection of str
        Columns of whole numbers.

    Returns
    -------
    DataFrame

    Examples
    --------
    >>> table = framed([("a", 1), (None, 2)], ["shot", "line"], whole=["line"])
    >>> table["shot"].isna().tolist(), table["line"].tolist()
    ([False, True], [1, 2])
    """
    cells = list(zip(*rows, strict=True)) if rows else [() for _ in columns]
    return pd.DataFrame(
        {
            name: np.array(values, dtype=np.int64)
            if name in whole
            else pd.array(list(values), dtype="str")
            for name, values in zip(columns, cells, strict=True)
        },
        copy=False,
    )
