"""The single scores behind mean scores: one row per taste of a shot, with its settings."""

from __future__ import annotations

from typing import TYPE_CHECKING

from yieldwright.taste.columns.predictors import response_values
from yieldwright.taste.columns.roles import attribute_of

if TYPE_CHECKING:
    import pandas as pd

    from yieldwright.bench import Bench
    from yieldwright.taste.columns.comparable import ComparableSet

__all__ = ["repeating_tasters", "score_rows"]

#: Scores a taster needs before a way of scoring can be seen.
LEAST_SCORES = 2


def score_rows(
    comparable: ComparableSet, response: str, frame: pd.DataFrame, *, bench: Bench
) -> pd.DataFrame:
    """Return the single scores of shots that are in a fit, with their settings.

    Parameters
    ----------
    comparable : ComparableSet
        Shots of one bag and grinder, with their tastings.
    response : str
        `score:` and an attribute; of any other response there are no scores.
    frame : DataFrame
        One row per shot of the fit: `shot`, `session`, `response`, predictors.
    bench : Bench
        Whose attributes say which way is good.

    Returns
    -------
    DataFrame
        One row per score: the columns of `frame`, `taster`, and `response` now the
        score of this taster. Empty where the response is no score.

    Examples
    --------
    >>> import pandas as pd
    >>> from yieldwright.bench import Bench
    >>> from yieldwright.taste.columns.comparable import ComparableSet
    >>> scores = pd.DataFrame(
    ...     {"shot": ["1", "1"], "taster": ["a", "b"], "attribute": "overall", "score": [6.0, 8.0]}
    ... )
    >>> shots = pd.DataFrame({"shot": ["1"], "session": ["x"], "response": [7.0]})
    >>> found = score_rows(
    ...     ComparableSet("", "", shots, tastings=scores), "score:overall", shots, bench=Bench()
    ... )
    >>> found[["taster", "response"]].values.tolist()
    [['a', 6.0], ['b', 8.0]]
    """
    attribute, tastings = attribute_of(response), comparable.tastings
    own = tastings[tastings["attribute"] == attribute] if attribute else tastings.iloc[:0]
    named = own[["shot", "taster", "score"]].rename(columns={"score": response})
    named = named.assign(response=response_values(named, response, bench))
    shots = frame.drop(columns="response")
    joined = named.drop(columns=response).merge(shots, on="shot", how="inner")
    return joined.reset_index(drop=True)


def repeating_tasters(rows: pd.DataFrame) -> int:
    """Return how many tasters scored several shots.

    Parameters
    ----------
    rows : DataFrame
        One row per score, with `taster` and `shot`.

    Returns
    -------
    int

    Examples
    --------
    >>> import pandas as pd
    >>> repeating_tasters(pd.DataFrame({"taster": ["a", "a", "b"], "shot": ["1", "2", "1"]}))
    1
    """
    shots = rows.groupby("taster")["shot"].nunique()
    return int((shots >= LEAST_SCORES).sum())
