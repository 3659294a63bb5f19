"""One question asked of a bag: how it drifts, when it is best, what the grind must do."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from yieldwright.ageing.age.age_words import span_words
from yieldwright.ageing.age.ages import RoastAges, roast_ages
from yieldwright.ageing.bag_trend import BagTrend
from yieldwright.ageing.best.best_day import best_day
from yieldwright.ageing.breaks.dates import dates_of
from yieldwright.ageing.breaks.events import events
from yieldwright.ageing.grind.compensation import Compensation, compensate
from yieldwright.ageing.lasting.lasting import Lasting, lasting, no_lasting, require_level
from yieldwright.ageing.trend.drift import drift_of
from yieldwright.ageing.trend.entangled import Entwined, entwined_with_age
from yieldwright.ageing.trend.model import TrendModel, fit_trend
from yieldwright.ageing.trend.rows import BESIDE, BagRows, bag_rows
from yieldwright.cautions import Caution, gravest_first
from yieldwright.errors import AliasedColumnsError, YieldwrightError
from yieldwright.formatting import count, listing, with_article
from yieldwright.taste.asking import named_response, named_set
from yieldwright.taste.columns.roles import attribute_of
from yieldwright.taste.words.wording import column_label

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    import pandas as pd

    from yieldwright.bench import Bench
    from yieldwright.shotlog import ShotLog
    from yieldwright.taste.columns.comparable import ComparableSet

__all__ = ["follow", "follow_set"]

#: Where chance begins if a caller brings no generator: any number would do.
SEED = 20_261_130

#: Different ages, and sessions, that a drift needs at the least.
LEAST_AGES = 3

TIME, GRIND = "time_s", "grind_setting"


@dataclass(frozen=True, slots=True)
class _Fitted:
    """A trend of one response with what stands in its way."""

    rows: BagRows
    model: TrendModel | None
    entwined: tuple[Entwined, ...]
    missing: str


def follow(
    log: ShotLog,
    *,
    bag: str = "",
    of: str = "",
    grinder: str = "",
    beside: Sequence[str] = BESIDE,
    at_least: float | None = None,
    rng: np.random.Generator | None = None,
) -> BagTrend:
    r"""Return how one bag of a log changed as it aged, and how sure that is.

    Parameters
    ----------
    log : ShotLog
        A log that was read.
    bag : str
        Its code; empty for the bag that ends last in the log.
    of : str
        An attribute that was scored, such as `overall`; or `ey_pct`, `time_s`, `tds_pct`.
        Empty for the first attribute scored.
    grinder : str
        Its code; empty for the one the bag ended on.
    beside : sequence of str
        Columns whose effect is taken off where they were logged and differ.
    at_least : float or None
        A level of the response: also tell until when it stays there or above. None for
        none. [unit of the response]
    rng : Generator or None
        Source of chance for drawing sessions anew; None for one that begins the same
        each time.

    Returns
    -------
    BagTrend
        With a reason in `missing` where no drift can be estimated.

    Raises
    ------
    UnknownNameError
        If the log has no such bag, grinder, attribute or column.
    RoleError
        If the response is no outcome, or one without a level to hold.
    OutOfRangeError
        If the level is no number that the response can be.
    TooFewShotsError
        If the log holds no shots.

    Examples
    --------
    >>> from pathlib import Path
    >>> from tempfile import TemporaryDirectory
    >>> from yieldwright.shotlog import read_log
    >>> days = [4, 4, 7, 7, 11, 11, 15, 15, 20, 20]
    >>> times = [38, 37, 37, 36, 36, 36, 35, 34, 33, 34]
    >>> lines = [f"{n},{d},{d},{t}" for n, (d, t) in enumerate(zip(days, times, strict=True))]
    >>> with TemporaryDirectory() as folder:
    ...     path = Path(folder, "shots.csv")
    ...     text = "\n".join(["shot,session,roast_age_d,time_s", *lines])
    ...     _ = path.write_text(text, encoding="utf-8")
    ...     found = follow(read_log(path), of="time_s")
    >>> round(found.drift.average.estimate, 2)
    -0.25
    """
    comparable = named_set(log, bag=bag, grinder=grinder)
    response = named_response(of, comparable, bench=log.bench)
    return follow_set(
        comparable, response, bench=log.bench, beside=beside, told_in=log.shots,
        at_least=at_least, rng=rng,
    )  # fmt: skip


def follow_set(
    comparable: ComparableSet,
    response: str,
    *,
    bench: Bench,
    beside: Sequence[str] = BESIDE,
    told_in: pd.DataFrame | None = None,
    at_least: float | None = None,
    rng: np.random.Generator | None = None,
) -> BagTrend:
    """Return how comparable shots of one bag changed as it aged, and how sure that is.

    Parameters
    ----------
    comparable : ComparableSet
        Shots of one bag and grinder.
    response : str
        `ey_pct`, `time_s`, `tds_pct`, or `score:` and an attribute.
    bench : Bench
        Whose grinder step, bands, scales and recipe to use.
    beside : sequence of str
        Columns whose effect is taken off where they were logged and differ.
    told_in : DataFrame or None
        One row per shot of the whole log, warm-ups and failures too: a service may be told
        at one of them. None for the shots themselves.
    at_least : float or None
        A level of the response: also tell until when it stays there or above. None for
        none. [unit of the response]
    rng : Generator or None
        Source of chance for drawing sessions anew; None for one that begins the same
        each time.

    Returns
    -------
    BagTrend

    Raises
    ------
    UnknownNameError
        If the glossary has no such column.
    OutOfRangeError, RoleError
        If the level is none that the response can be asked for.

    Notes
    -----
    What the log cannot split from age is not split: its effect stays in the drift, which is
    then told as brewed, without a best day, and the shots that would split it are named.

    Examples
    --------
    >>> import pandas as pd
    >>> from yieldwright.bench import Bench
    >>> from yieldwright.taste.columns.comparable import ComparableSet
    >>> shots = pd.DataFrame({"session": list("abc"), "time_s": [36.0, 35.0, 37.0]})
    >>> follow_set(ComparableSet("", "", shots), "time_s", bench=Bench()).missing
    'no shot has a roast age'
    """
    if at_least is not None:
        at_least = require_level(at_least, response, bench)
    fitted = _fitted(comparable, response, bench, beside)
    timed = fitted if response == TIME else _fitted(comparable, TIME, bench, beside)
    found = BagTrend(
        bag=comparable.bag,
        grinder=comparable.grinder,
        response=response,
        ages=_ages(comparable, told_in, bench),
        n_shots=fitted.rows.n_shots,
        dropped=(*comparable.excluded, *fitted.rows.prepared.dropped),
        missing=fitted.missing,
        entwined=fitted.entwined,
        dates=dates_of(_of_this_bag(comparable, told_in)),
    )
    if fitted.model is not None:
        drift = drift_of(fitted.model, as_brewed=bool(fitted.entwined))
        chance = np.random.default_rng(SEED) if rng is None else rng
        found = replace(found, drift=drift)
        if not fitted.entwined:
            found = replace(found, best=best_day(fitted.model, forms=drift.forms, rng=chance))
    if at_least is not None:
        found = replace(found, lasting=_lasting(found, at_least, told_in))
    if timed.model is not None and all(each.column != GRIND for each in timed.entwined):
        found = replace(found, compensation=_compensated(timed.model, timed.entwined, told_in))
    if fitted.rows.n_shots:
        happened = events(comparable, _asked(response), bench=bench, told_in=told_in)
        found = replace(found, breaks=happened)
    return _told(found, fitted.rows)


def _lasting(found: BagTrend, at_least: float, told_in: pd.DataFrame | None) -> Lasting:
    """Return until when a response stays at a level, refused where age is not told apart."""
    if found.drift is None or found.entwined:
        return no_lasting(
            found.response, at_least, n_shots=found.n_shots,
            entwined=found.entwined, missing=found.missing,
        )  # fmt: skip
    return lasting(found.drift, at_least, told_in=told_in)


def _compensated(
    model: TrendModel, entwined: Sequence[Entwined], told_in: pd.DataFrame | None
) -> Compensation:
    """Return the grind that holds the time, with what went along with age and stays in it."""
    found = compensate(model, told_in=told_in)
    return replace(found, cautions=(*found.cautions, *(each.caution for each in entwined)))


def _ages(comparable: ComparableSet, told_in: pd.DataFrame | None, bench: Bench) -> RoastAges:
    """Return the ages of the shots that count, of all of the bag where none does."""
    if len(comparable.shots) or told_in is None:
        return roast_ages(comparable.shots, bench=bench)
    return roast_ages(_of_this_bag(comparable, told_in), bench=bench)


def _of_this_bag(comparable: ComparableSet, told_in: pd.DataFrame | None) -> pd.DataFrame:
    """Return all rows of the bag, warm-ups and failures too, where they are known."""
    if told_in is None or "bag" not in told_in:
        return comparable.shots if told_in is None else told_in
    return told_in[told_in["bag"].fillna("") == comparable.bag]


def _asked(response: str) -> str:
    """Return how a caller names a response."""
    return attribute_of(response) or response


def _fitted(
    comparable: ComparableSet, response: str, bench: Bench, beside: Sequence[str]
) -> _Fitted:
    """Return the trend of one response without what cannot be split from age."""
    rows = bag_rows(comparable, response, bench=bench, beside=beside)
    missing = _missing(rows)
    if missing:
        return _Fitted(rows, None, (), missing)
    entwined = entwined_with_age(rows)
    for each in entwined:
        rows = rows.without(each.column)
    try:
        return _Fitted(rows, fit_trend(rows), entwined, "")
    except AliasedColumnsError as problem:
        named = listing(
            [column_label(name) for name in problem.columns if name in rows.prepared.frame]
        )
        return _Fitted(rows, None, entwined, f"{named} cannot be told apart in these shots")
    except YieldwrightError as problem:
        return _Fitted(rows, None, entwined, str(problem))


def _missing(rows: BagRows) -> str:
    """Return what a first drift needs, empty where the rows suffice."""
    frame, label = rows.prepared.frame, column_label(rows.response)
    if not rows.has_age:
        return _why_no_age(rows)
    n_ages = len(np.unique(rows.ages))
    if n_ages < LEAST_AGES or rows.n_sessions < LEAST_AGES:
        return (
            f"a drift needs shots on {LEAST_AGES} days at least, better on 6; there are "
            f"{count(len(frame), 'shot')} with {with_article(label)} at {count(n_ages, 'age')}"
        )
    taken = 2 + sum(each.width for each in rows.beside)
    if len(frame) < taken + 2:
        few = f"{count(len(frame), 'shot')} with {with_article(label)}"
        return f"{few} are too few; {taken + 2} would do"
    if frame["response"].nunique() < 2:
        return f"the {label} is the same in every shot"
    return ""


def _why_no_age(rows: BagRows) -> str:
    shots = rows.comparable.shots
    if shots.empty:
        reasons = listing([str(each) for each in rows.comparable.excluded])
        return f"no shot can be compared: {reasons}" if reasons else "there is no shot"
    if "roast_age_d" not in shots or shots["roast_age_d"].isna().all():
        return "no shot has a roast age"
    if len(rows.prepared.frame) == 0:
        return f"no shot has both a roast age and {with_article(column_label(rows.response))}"
    if len(rows.prepared.frame) == 1:
        return f"there is only one shot, {rows.ages[0]:g} days old"
    if len(np.unique(rows.ages)) == 1:
        age = span_words(rows.ages[0], rows.ages[0])
        return f"all {count(rows.n_shots, 'shot')} were pulled at one age, {age}"
    left_out = dict(rows.prepared.left_out)
    return f"the roast age cannot be used ({left_out.get('roast_age_d', 'never different')})"


def _told(found: BagTrend, rows: BagRows) -> BagTrend:
    """Return an answer with what its parts say, the gravest caution first."""
    sentences = [sentence for part in found.parts for sentence in part.sentences]
    if found.missing:
        first = f"The log cannot tell how the bag drifts: {found.missing}."
        sentences.insert(0, first)
    cautions = [
        *(each.caution for each in found.entwined),
        *(() if found.missing else _declined(rows)),
        *(caution for part in found.parts for caution in part.cautions),
    ]
    return replace(
        found,
        sentences=tuple(dict.fromkeys(sentences)),
        cautions=gravest_first(cautions),
    )


def _declined(rows: BagRows) -> Iterator[Caution]:
    """Yield what differs among the shots and is not allowed for."""
    if not rows.declined:
        return
    named = listing([f"{column_label(name)} ({why})" for name, why in rows.declined])
    yield Caution(
        "not-allowed-for",
        "care",
        f"What else differs is not taken off: {named}.",
        "Keep it the same, or pull more shots.",
        tuple(name for name, _ in rows.declined),
    )
