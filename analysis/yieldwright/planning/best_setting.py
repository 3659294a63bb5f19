"""The best setting so far, and how much of its lead may be luck."""

from __future__ import annotations

from collections.abc import Hashable, Iterator, Sequence
from typing import TYPE_CHECKING

import pandas as pd

from yieldwright.formatting import count, number
from yieldwright.planning.shrinkage import best_of
from yieldwright.taste.columns.predictors import response_values
from yieldwright.taste.columns.roles import SCORE_PREFIX, attribute_of
from yieldwright.taste.words.wording import level_words, response_words

if TYPE_CHECKING:
    from yieldwright.bench import Bench
    from yieldwright.taste import ComparableSet, EffectsFit

__all__ = ["confirm_best"]

#: A setting pulled so often stands on its own feet (common practice, no source).
ENOUGH = 3

#: What makes a setting, for a person who wants to return to it.
MADE_OF = ("grind_setting", "temp_band")


def confirm_best(
    comparable: ComparableSet, bench: Bench, fits: Sequence[EffectsFit]
) -> Iterator[str]:
    """Yield a repeat of the best-tasting setting where it was pulled only once or twice.

    Parameters
    ----------
    comparable : ComparableSet
        Shots of one bag and grinder.
    bench : Bench
        Whose attributes say which way is good.
    fits : sequence of EffectsFit
        The first of a score tells the spread.

    Yields
    ------
    str
        Nothing where there is no score, one setting, or the best was pulled 3 times.

    Examples
    --------
    >>> import pandas as pd
    >>> from yieldwright.bench import Bench
    >>> from yieldwright.taste import ComparableSet
    >>> shots = pd.DataFrame({"grind_setting": [10.0, 11.0], "score:overall": [6.0, 8.0]})
    >>> next(confirm_best(ComparableSet("", "", shots), Bench(), []))
    'Repeat setting 11 twice before changing anything: its overall score of 8.00 rests on 1 shot.'
    """
    response = _headline(comparable, bench)
    if response is None:
        return
    cells = _cells(comparable.shots, response, bench)
    if len(cells) < 2:
        return
    best = cells.sort_values("good", kind="stable").iloc[-1]
    if best["n_shots"] < ENOUGH:
        yield _sentence(best, cells, response, bench, fits)


def _headline(comparable: ComparableSet, bench: Bench) -> str | None:
    """Return the first attribute of the bench that was scored."""
    columns = [f"{SCORE_PREFIX}{attribute.name}" for attribute in bench.attributes]
    scored = (c for c in columns if c in comparable.shots and comparable.shots[c].notna().any())
    return next(scored, None)


def _cells(shots: pd.DataFrame, response: str, bench: Bench) -> pd.DataFrame:
    """Return one row per setting: shots, mean score, and how good that is."""
    good = response_values(shots, response, bench)
    if bench.attribute(str(attribute_of(response))).better == "less":
        good = -good
    keys = [name for name in MADE_OF if name in shots and shots[name].notna().any()]
    table = shots[keys].assign(score=shots[response], good=good).dropna()
    if not keys or table.empty:
        return pd.DataFrame()
    found = table.groupby(keys, sort=False, observed=True)
    return found.agg(
        n_shots=("score", "size"), score=("score", "mean"), good=("good", "mean")
    ).reset_index()


def _sentence(
    best: pd.Series,
    cells: pd.DataFrame,
    response: str,
    bench: Bench,
    fits: Sequence[EffectsFit],
) -> str:
    words = response_words(response, bench)
    n_shots = int(best["n_shots"])
    head = (
        f"Repeat {_setting(best)} twice before changing anything: its {attribute_of(response)} "
        f"score of {number(float(best['score']))} rests on {count(n_shots, 'shot')}"
    )
    spread = [fit.residual_sd for fit in fits if fit.response == response and fit.residual_sd > 0]
    if not spread:
        return f"{head}."
    luck = spread[0] / n_shots**0.5 * best_of(len(cells))
    lead = float(best["good"]) - float(cells["good"].mean())
    return (
        f"{head}, and of its lead of {number(lead, figures=2)} {words.unit} over the mean of "
        f"{len(cells)} settings, luck alone would give the best about {number(luck, figures=2)}."
    )


def _setting(cell: pd.Series) -> str:
    values: dict[str, Hashable] = {name: cell[name] for name in MADE_OF if name in cell.index}
    words = [
        level_words(name, float(value) if isinstance(value, float) else value)
        for name, value in values.items()
    ]
    return " at ".join(words)
