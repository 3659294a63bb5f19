"""Which columns can enter a fit of one log, in which order, and why the rest cannot."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Literal

import numpy as np
import numpy.typing as npt
import pandas as pd

from yieldwright.formatting import with_article
from yieldwright.models.terms.columns import constant_columns, levels_present
from yieldwright.models.terms.terms import Factor, Numeric
from yieldwright.results import Dropped
from yieldwright.taste.columns.covariates import (
    absence,
    level_order,
    lone_levels,
    readable,
    sameness,
)
from yieldwright.taste.columns.one_start import shots_of_one_start
from yieldwright.taste.columns.roles import attribute_of
from yieldwright.taste.words.wording import column_label, level_words

if TYPE_CHECKING:
    from collections.abc import Hashable, Mapping, Sequence

    from yieldwright.bench import Bench
    from yieldwright.taste.columns.comparable import ComparableSet
    from yieldwright.taste.columns.covariates import Values

__all__ = ["Predictor", "Prepared", "Question", "prepare", "response_values"]

#: Steps a hand would take, where they are not one unit of the column.
PRACTICAL_STEPS = {"brew_ratio": 0.1, "preheat_min": 5.0, "humidity_pct": 10.0}


@dataclass(frozen=True, slots=True)
class Question:
    """What is asked: which response, of which settings, allowing for what, on which bench.

    Attributes
    ----------
    response : str
        Column explained.
    bench : Bench
        Whose grinder step, bands and scales to use.
    settings, adjusters : tuple of str
        Columns to explain with.
    """

    response: str
    bench: Bench
    settings: tuple[str, ...]
    adjusters: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Predictor:
    """One column of a fit: a number told per step, or levels with names.

    Attributes
    ----------
    column : str
        Canonical name.
    kind : {"setting", "adjuster"}
        Whether its effect is asked for or only allowed for.
    step : float
        Change that an effect is told for, in the unit of the column.
    levels : tuple of hashable
        Levels in their order; empty for a number.
    """

    column: str
    kind: Literal["setting", "adjuster"]
    step: float = 1.0
    levels: tuple[Hashable, ...] = ()

    @property
    def width(self) -> int:
        """Columns it takes in a design."""
        return max(len(self.levels) - 1, 1)

    def term(self, *, curved: bool = False) -> Numeric | Factor:
        """Return it as a term of a design.

        Parameters
        ----------
        curved : bool
            Whether a number enters with its square.

        Returns
        -------
        Numeric or Factor
        """
        if self.levels:
            return Factor(self.column, self.levels)
        return Numeric(self.column, step=self.step, power=2 if curved else 1)


@dataclass(frozen=True, eq=False)
class Prepared:
    """Complete rows for a fit, and an account of what is not in them.

    Attributes
    ----------
    frame : DataFrame
        One row per shot: `response`, `session`, `shot` and one column per predictor.
    predictors : tuple of Predictor
        Columns that vary, settings first.
    left_out : tuple of pairs of str
        Columns that cannot enter, with reasons.
    dropped : tuple of Dropped
        Shots that cannot, with reasons.
    """

    frame: pd.DataFrame
    predictors: tuple[Predictor, ...]
    left_out: tuple[tuple[str, str], ...]
    dropped: tuple[Dropped, ...]

    @property
    def n_sessions(self) -> int:
        """Number of sessions among the rows."""
        return len(self.frame["session"].unique())


def prepare(comparable: ComparableSet, question: Question) -> Prepared:
    """Return the rows and columns of a set that a question can be answered with.

    Parameters
    ----------
    comparable : ComparableSet
        Shots of one bag and grinder.
    question : Question
        What is asked.

    Returns
    -------
    Prepared

    Notes
    -----
    First shots without the response go, then columns that are absent or missing in
    more than a third of the shots, then shots with a gap in a remaining column or alone
    at a level, then columns that no longer vary. Where both the temperature and its band
    were asked for and the band follows from the temperature, the band stands for both. In
    a set of several bags the bag is allowed for: what is compared is compared within bags.

    Examples
    --------
    >>> from yieldwright.bench import Bench
    >>> from yieldwright.taste.columns.comparable import ComparableSet
    >>> shots = pd.DataFrame({"ey_pct": [19.0, 20.0], "grind_setting": [8.0, 9.0]})
    >>> question = Question("ey_pct", Bench(), ("grind_setting", "temp_band"), ())
    >>> prepare(ComparableSet("", "", shots), question).left_out
    (('temp_band', 'not logged'),)
    """
    shots, dropped = _answered(comparable.shots, question)
    columns = {
        column: readable(shots, column, as_setting=column in question.settings)
        for column in _asked(comparable, question)
    }
    absent = _absences(columns, question)
    kept = {column: values for column, values in columns.items() if not absent[column]}
    whole, gaps = _complete(kept, len(shots))
    frame = _with_identity(kept, shots, whole)
    constant = constant_columns(frame, kept) if len(frame) else tuple(kept)
    left_out = {column: why for column, why in absent.items() if why}
    left_out |= {column: sameness(frame[column], column) for column in constant}
    grinder = question.bench.grinder(comparable.grinder)
    orders = {column: level_order(shots, column, question.bench) for column in kept}
    return Prepared(
        frame=frame,
        predictors=tuple(
            _predictor(
                frame, column, question, orders[column], grinder.step * grinder.coarser_sign
            )
            for column in kept
            if column not in constant
        ),
        left_out=tuple(left_out.items()),
        dropped=(*dropped, *gaps),
    )


def response_values(shots: pd.DataFrame, response: str, bench: Bench) -> pd.Series[float]:
    """Return the numbers to explain, larger meaning more of what the response says.

    Parameters
    ----------
    shots : DataFrame
        One row per shot.
    response : str
        Column explained; all missing where the table has none.
    bench : Bench
        Whose attributes say which way is good.

    Returns
    -------
    Series
        Of an attribute that is best in the middle, minus the distance from it.

    Examples
    --------
    >>> from yieldwright.bench import Bench
    >>> response_values(pd.DataFrame({"time_s": [36.0]}), "time_s", Bench()).tolist()
    [36.0]
    """
    if response not in shots:
        return pd.Series(float("nan"), index=shots.index)
    values = shots[response].astype(float)
    attribute = attribute_of(response)
    if attribute is None or bench.attribute(attribute).better != "middle":
        return values
    return -(values - bench.attribute(attribute).middle).abs()


def _answered(shots: pd.DataFrame, question: Question) -> tuple[pd.DataFrame, tuple[Dropped, ...]]:
    """Return the shots that have the response, as column `response`, and the count of others."""
    values = response_values(shots, question.response, question.bench)
    there = values.notna().to_numpy()
    lost = _counted(
        int((~there).sum()), f"without {with_article(column_label(question.response))}"
    )
    shots = shots.assign(response=values)
    shots = shots if there.all() else shots[there]
    kept, others = shots_of_one_start(shots, question.response)
    return kept, (*lost, *others)


def _counted(number: int, why: str) -> tuple[Dropped, ...]:
    return (Dropped(number, why),) if number else ()


def _asked(comparable: ComparableSet, question: Question) -> tuple[str, ...]:
    """Return the columns to explain with, the bag among them where there are several."""
    bags = ("bag",) if len(comparable.bags) > 1 else ()
    return tuple(dict.fromkeys((*question.settings, *bags, *question.adjusters)))


def _absences(columns: Mapping[str, Values], question: Question) -> dict[str, str]:
    """Return why each column cannot enter, empty where it can."""
    absent = {
        column: absence(values, column, is_setting=column in question.settings)
        for column, values in columns.items()
    }
    if "temp_c" in columns and not absent.get("temp_band", "not asked"):
        temperature, band = (pd.Series(columns[name]) for name in ("temp_c", "temp_band"))
        several = band.dropna().unique().size > 1
        if several and band.groupby(temperature).nunique().max() == 1:
            absent["temp_c"] = absent["temp_c"] or "the temperature band stands for it"
    return absent


def _complete(
    columns: Mapping[str, Values], n_shots: int
) -> tuple[npt.NDArray[np.bool_], list[Dropped]]:
    """Return which shots are whole, and how many each column costs, every shot counted once."""
    whole = np.ones(n_shots, dtype=bool)
    entries: list[Dropped] = []
    for column, values in columns.items():
        gap = pd.isna(values) & whole
        whole &= ~gap
        entries += _counted(int(gap.sum()), f"without {with_article(column_label(column))}")
    for column, values in columns.items():
        for level in lone_levels(values[whole], column):
            whole &= values != level
            entries += _counted(1, f"that alone had {level_words(column, level)}")
    return whole, entries


def _predictor(
    frame: pd.DataFrame,
    column: str,
    question: Question,
    order: Sequence[Hashable],
    grind_step: float,
) -> Predictor:
    values = frame[column]
    kind: Literal["setting", "adjuster"] = "setting" if column in question.settings else "adjuster"
    if not pd.api.types.is_numeric_dtype(values):
        return Predictor(column, kind, levels=levels_present(frame, column, order=order))
    if column == "grind_setting":
        return Predictor(column, kind, step=grind_step)
    return Predictor(column, kind, step=_step(column, float(np.ptp(values.to_numpy()))))


def _step(column: str, tried: float) -> float:
    """Return a step a hand would take, or the decimal part of it that lies within the tried."""
    usual = PRACTICAL_STEPS.get(column, 1.0)
    return usual if tried >= usual else 10.0 ** np.floor(np.log10(tried))


def _with_identity(
    columns: Mapping[str, Values], shots: pd.DataFrame, whole: npt.NDArray[np.bool_]
) -> pd.DataFrame:
    """Return whole shots, numbered anew: what explains, the response, session and name."""
    found: dict[str, Any] = {name: values[whole] for name, values in columns.items()}
    found["response"] = shots["response"].array[whole]
    found["session"] = (
        shots["session"].fillna("unnamed").array[whole] if "session" in shots else "all"
    )
    names = (
        shots["shot"].array
        if "shot" in shots
        else np.array([str(row) for row in shots.index], dtype=object)
    )
    return pd.DataFrame({**found, "shot": names[whole]})
