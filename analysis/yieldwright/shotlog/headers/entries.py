"""What stands behind a column of values: its entry, and the names of its companions."""

from __future__ import annotations

import dataclasses
import re
from typing import TYPE_CHECKING

from yieldwright.glossary import Quantity, Span, quantity

if TYPE_CHECKING:
    import pandas as pd

    from yieldwright.bench import Bench

__all__ = ["entry_of", "half_width_column", "reading_columns", "score_column"]

_HALF_WIDTH = "half_width_"
_READING = re.compile(r"tds_[1-9][0-9]?_pct")


def entry_of(name: str, bench: Bench) -> Quantity:
    """Return the entry by which a column is checked: ranges of the bench, scales of scores.

    Parameters
    ----------
    name : str
        Name of a column of `Typed.frame`.
    bench : Bench
        May widen ranges; gives the scales of scores.

    Returns
    -------
    Quantity

    Examples
    --------
    >>> from yieldwright.bench import Bench
    >>> str(entry_of("score:overall", Bench()).hard)
    '0–10'
    """
    if name.startswith("score:"):
        attribute = bench.attribute(name.removeprefix("score:"))
        span = Span(attribute.low, attribute.high)
        return dataclasses.replace(quantity("score"), name=name, hard=span, soft=span)
    if name.startswith(_HALF_WIDTH):
        return Quantity(name, "number", "Half-width", "As stated beside a value.")
    own = bench.quantity(name.removeprefix("typed_"))
    if own.name.startswith("tds_") and own.name not in bench.ranges:
        whole = bench.quantity("tds_pct")
        return dataclasses.replace(own, hard=whole.hard, soft=whole.soft)
    return own


def half_width_column(name: str) -> str:
    """Return the name of the column that holds the stated half-widths of a quantity.

    Parameters
    ----------
    name : str
        The quantity.

    Returns
    -------
    str

    Examples
    --------
    >>> half_width_column("dose_g")
    'half_width_dose_g'
    """
    return f"{_HALF_WIDTH}{name}"


def score_column(attribute: str) -> str:
    """Return the name of the column that holds the scores of an attribute.

    Parameters
    ----------
    attribute : str
        Its name.

    Returns
    -------
    str

    Examples
    --------
    >>> score_column("overall")
    'score:overall'
    """
    return f"score:{attribute}"


def reading_columns(frame: pd.DataFrame) -> list[str]:
    """Return the columns with single readings of the strength.

    Parameters
    ----------
    frame : DataFrame
        Any table of shots.

    Returns
    -------
    list of str

    Examples
    --------
    >>> import pandas as pd
    >>> reading_columns(pd.DataFrame(columns=["tds_pct", "tds_1_pct", "tds_2_pct"]))
    ['tds_1_pct', 'tds_2_pct']
    """
    return [name for name in frame.columns.tolist() if _READING.fullmatch(name)]
