"""Two bags pulled side by side in the same sessions: half-bags, or a bag and a control."""

from __future__ import annotations

import math
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING, ClassVar

import numpy as np
import pandas as pd

from yieldwright.ageing.age.ages import RoastAges, roast_ages
from yieldwright.ageing.compared.grinder_shots import bag_name, narrowed, shots_of_grinder
from yieldwright.ageing.compared.paired_cautions import paired_cautions
from yieldwright.ageing.compared.paired_model import (
    OwnDrift,
    brought_together,
    change_of,
    difference_of,
    expected_differences,
    own_drift,
)
from yieldwright.ageing.compared.paired_rows import FIRST, LEAST_SESSIONS, PairedRows, paired_rows
from yieldwright.ageing.compared.paired_words import paired_sentences, too_few_words
from yieldwright.ageing.trend.rows import BESIDE
from yieldwright.cautions import gravest_first
from yieldwright.errors import OutOfRangeError, UnknownNameError, YieldwrightError
from yieldwright.formatting import p_value, signed
from yieldwright.models.contrasts.contrasts import estimate_table
from yieldwright.models.intervals.power import detectable_effect
from yieldwright.results import ESTIMATE_COLUMNS, Result
from yieldwright.taste.asking import named_response, named_set
from yieldwright.taste.words.wording import column_label, effect_interval, response_words

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from yieldwright.bench import Bench
    from yieldwright.models.contrasts.contrasts import Estimate
    from yieldwright.shotlog import ShotLog
    from yieldwright.taste.columns.comparable import ComparableSet

__all__ = ["PairedBags", "pair_bags", "pair_bags_of"]

_SESSIONS = ("session", "day", "pulled_on", "first", "second", "difference", "n_first", "n_second")

_EXPECTED = ("day", "value", "low", "high")


@dataclass(frozen=True, kw_only=True, eq=False, repr=False)
class PairedBags(Result):
    """The difference of two bags inside the sessions that both were pulled in.

    Attributes
    ----------
    response : str
        Column explained.
    unit : str
        Unit of a difference.
    bags : tuple of str
        Codes: the first less the second is told.
    kind : {"two halves", "two roasts", "two bags"}
        Whether they are of one roast by `roasted_on` and `roast_level`; two bags where the
        log does not say.
    sessions : DataFrame
        One row per shared session: `session`, `day` (from the first), `pulled_on`, `first`
        and `second` (means of both bags, brought to one value of what is held equal),
        `difference`, `n_first`, `n_second`.
    expected : DataFrame
        The difference over days with its limits, one for all where no change is told: `day`,
        `value`, `low`, `high`.
    difference : Estimate or None
        First less second, with the session's day taken off. [unit of the response]
    per_day : Estimate or None
        Change of that difference per calendar day. [unit per d]
    why_no_change : str
        Why no change is told; empty where one is.
    own : tuple of OwnDrift or None
        Drift of each bag by itself, palate, water and weather with it.
    detectable : float
        Difference that such a log finds with a chance of 80 %. [unit of the response]
    rows : PairedRows or None
        What was fitted.
    ages : RoastAges or None
        Age, days frozen and opening of both, at these sessions.
    missing : str
        Why nothing is compared; empty where something is.
    """

    drawing: ClassVar[str] = "paired_bags"

    response: str
    unit: str = ""
    bags: tuple[str, str] = ("", "")
    kind: str = "two bags"
    sessions: pd.DataFrame = field(default_factory=lambda: pd.DataFrame(columns=[*_SESSIONS]))
    expected: pd.DataFrame = field(default_factory=lambda: pd.DataFrame(columns=[*_EXPECTED]))
    difference: Estimate | None = None
    per_day: Estimate | None = None
    why_no_change: str = ""
    own: tuple[OwnDrift | None, OwnDrift | None] = (None, None)
    detectable: float = math.nan
    rows: PairedRows | None = None
    ages: RoastAges | None = None
    missing: str = ""

    @property
    def title(self) -> str:
        """What is compared."""
        return f"Beside the other bag: {column_label(self.response)}"

    @property
    def n_sessions(self) -> int:
        """Sessions that both bags share."""
        return len(self.sessions)

    @property
    def together(self) -> tuple[str, ...]:
        """Columns whose doing is in the difference, because they went along with the bag."""
        return () if self.rows is None else self.rows.together

    def to_frame(self) -> pd.DataFrame:
        """Return the estimates at full precision.

        Returns
        -------
        DataFrame
            The difference, its change per day and the drift of each bag by itself, as far as
            told, in the columns of all estimates; p-values corrected over all of them.
        """
        told = [replace(each, term=name) for name, each in self._told()]
        if not told:
            return pd.DataFrame(columns=[*ESTIMATE_COLUMNS])
        return estimate_table(told)

    def display_frame(self) -> pd.DataFrame:
        """Return the estimates as text.

        Returns
        -------
        DataFrame
            One row per estimate.
        """
        return pd.DataFrame([_shown(*each, self.unit) for each in self._told()])

    def _told(self) -> Iterator[tuple[str, Estimate]]:
        first, second = (bag_name(code) for code in self.bags)
        if self.difference is not None:
            yield f"{first} − {second}", self.difference
        if self.per_day is not None:
            yield "that, per day", self.per_day
        for name, each in zip((first, second), self.own, strict=True):
            if each is not None:
                yield f"{name} by itself, per day", each.per_day


def pair_bags(
    log: ShotLog,
    of: str = "",
    *,
    bags: Sequence[str],
    grinder: str = "",
    beside: Sequence[str] = BESIDE,
    bench: Bench,
) -> PairedBags:
    r"""Return how two bags differ in the sessions that both were pulled in.

    Parameters
    ----------
    log : ShotLog
        A log that was read.
    of : str
        An attribute that was scored, such as `overall`, or `ey_pct`, `time_s`, `tds_pct`;
        empty for the first attribute scored.
    bags : pair of str
        Codes of two bags: the first less the second is told.
    grinder : str
        Its code; empty for the one that the first bag ended on.
    beside : sequence of str
        Columns to hold equal, the weightiest first.
    bench : Bench
        Whose grinder step, bands and scales to use.

    Returns
    -------
    PairedBags
        With what is missing in words where nothing can be compared.

    Raises
    ------
    OutOfRangeError
        If not two bags are named.
    UnknownNameError
        If the log has no such bag, grinder, outcome or column.
    RoleError
        If a column beside the bag is an outcome.
    TooFewShotsError
        If the log holds no shots.

    Examples
    --------
    >>> from pathlib import Path
    >>> from tempfile import TemporaryDirectory
    >>> from yieldwright.shotlog import read_log
    >>> rows = [(d, bag, 36 + d + 2 * (bag == "a") + d % 3) for d in range(4) for bag in "ab"]
    >>> lines = [f"{n},{d},{bag},{t}" for n, (d, bag, t) in enumerate(rows)]
    >>> with TemporaryDirectory() as folder:
    ...     path = Path(folder, "shots.csv")
    ...     text = "\n".join(["shot,session,bag,time_s", *lines]) + "\n9,3,b,41\n"
    ...     _ = path.write_text(text, encoding="utf-8")
    ...     log = read_log(path)
    >>> round(pair_bags(log, "time_s", bags=("a", "b"), bench=log.bench).difference.estimate, 2)
    1.75
    """
    if len(bags) != 2:
        raise OutOfRangeError(f"name two bags to be compared, not {len(bags)}")
    first, second = bags
    own = named_set(log, bag=first, grinder=grinder)
    comparable = shots_of_grinder(log, grinder=own.grinder)
    response = named_response(of, comparable, bench=bench)
    if not comparable.bags:
        raise UnknownNameError(
            "this log names no bags; write a code for each half in a column bag, such as bag-7a "
            "and bag-7b"
        )
    where = _ground_on(log, second)
    if own.grinder and where and own.grinder not in where and first != second:
        return _nothing(response, (first, second), bench, other_grinder=(own.grinder, where[-1]))
    narrow = narrowed(comparable, list(dict.fromkeys([first, second])))
    return pair_bags_of(narrow, response, bags=(first, second), beside=beside, bench=bench)


def pair_bags_of(
    comparable: ComparableSet,
    response: str,
    *,
    bags: tuple[str, str],
    beside: Sequence[str] = BESIDE,
    bench: Bench,
) -> PairedBags:
    """Return how two bags among some shots of one grinder differ in the sessions they share.

    Parameters
    ----------
    comparable : ComparableSet
        Shots of one grinder, in the sessions of the log.
    response : str
        `ey_pct`, `time_s`, `tds_pct`, or `score:` and an attribute.
    bags : pair of str
        Codes of two bags: the first less the second is told.
    beside : sequence of str
        Columns to hold equal, the weightiest first.
    bench : Bench
        Whose grinder step, bands and scales to use.

    Returns
    -------
    PairedBags

    Raises
    ------
    UnknownNameError
        If the glossary has no such column.
    RoleError
        If the response is no outcome, or a column beside the bag is one.

    Notes
    -----
    Sessions are held, so that the palate, water, weather and warmth of the day cancel,
    whatever the ages of both bags. The shots of one bag in one session shift together by a
    random amount; with as many shots of each in every session this is the paired t test of
    the sessions' differences, see `fit_paired`.

    Examples
    --------
    >>> from yieldwright.bench import Bench
    >>> from yieldwright.taste.columns.comparable import ComparableSet
    >>> shots = pd.DataFrame({"session": list("mmnn"), "bag": list("abab"), "time_s": 36.0})
    >>> found = pair_bags_of(
    ...     ComparableSet("", "", shots), "time_s", bags=("a", "b"), bench=Bench()
    ... )
    >>> print(found.missing)
    bag a and bag b were pulled together in 2 sessions only; 3 would do, 5 are better
    """
    rows = None
    if bags[0] != bags[1]:
        rows = paired_rows(comparable, response, bags, bench=bench, beside=beside)
    if rows is None or rows.n_sessions < LEAST_SESSIONS:
        return _nothing(response, bags, bench, rows=rows)
    try:
        fit, rows = difference_of(rows)
    except YieldwrightError as problem:
        return _nothing(response, bags, bench, rows=rows, problem=problem)
    change, why = change_of(rows)
    found = PairedBags(
        response=response,
        unit=response_words(response, bench).unit,
        bags=bags,
        sessions=_sessions(rows, brought_together(rows, fit)),
        difference=fit.difference,
        per_day=None if change is None else change.change,
        expected=expected_differences(rows, fit, change),
        why_no_change=why,
        own=(own_drift(rows, first=True), own_drift(rows, first=False)),
        detectable=detectable_effect(fit.difference.std_error, fit.difference.df),
        rows=rows,
        ages=roast_ages(_told_shots(rows), bench=bench),
        n_shots=len(rows.frame),
        dropped=rows.dropped,
    )
    found = replace(found, kind=_kind(found))
    return replace(
        found,
        sentences=tuple(paired_sentences(found)),
        cautions=gravest_first(paired_cautions(found)),
    )


def _ground_on(log: ShotLog, bag: str) -> list[str]:
    """Return the grinders that a bag of the log was ground on, in the order of the log."""
    shots = log.shots
    if "bag" not in shots or "grinder" not in shots:
        return []
    named = shots.loc[shots["bag"].fillna("") == bag, "grinder"].dropna()
    return [str(code) for code in dict.fromkeys(named)]


def _nothing(
    response: str,
    bags: tuple[str, str],
    bench: Bench,
    *,
    rows: PairedRows | None = None,
    problem: Exception | None = None,
    other_grinder: tuple[str, str] | None = None,
) -> PairedBags:
    """Return why two bags cannot be compared, and which shots would mend it."""
    why, remedy = too_few_words(bags, rows, response, problem, other_grinder)
    label = column_label(response)
    return PairedBags(
        response=response,
        unit=response_words(response, bench).unit,
        bags=bags,
        rows=rows,
        missing=why,
        sentences=(f"The log cannot tell how both bags differ in {label}: {why}.", remedy),
        n_shots=0 if rows is None else len(rows.frame),
        dropped=() if rows is None else rows.dropped,
    )


def _told_shots(rows: PairedRows) -> pd.DataFrame:
    """Return the shots compared as the log has them, those of the first bag on top."""
    shots = rows.comparable.shots
    used = shots[shots["shot"].isin(rows.frame["shot"])]
    first = (used["bag"] == rows.bags[0]).to_numpy()
    return pd.concat([used[first], used[~first]], ignore_index=True)


def _sessions(rows: PairedRows, values: np.ndarray) -> pd.DataFrame:
    """Return the means of both bags in each shared session, in the order of the days."""
    frame = rows.frame.assign(value=values, day=rows.days, code=rows.codes)
    by_cell = frame.groupby(["code", FIRST])["value"]
    means, counts = by_cell.mean().unstack(), by_cell.size().unstack()
    by_session = frame.groupby("code")
    table = pd.DataFrame(
        {
            "session": by_session["session"].first(),
            "day": by_session["day"].first(),
            "pulled_on": _pulled_on(rows),
            "first": means[True],
            "second": means[False],
            "difference": means[True] - means[False],
            "n_first": counts[True],
            "n_second": counts[False],
        }
    )
    return table.sort_values("day", kind="stable").reset_index(drop=True)


def _pulled_on(rows: PairedRows) -> pd.Series:
    """Return the day of each session, missing where it is not known."""
    shots = rows.logged
    if "pulled_on" not in shots:
        return pd.Series(pd.NaT, index=np.unique(rows.codes))
    return pd.to_datetime(shots["pulled_on"]).groupby(rows.codes).min()


def _kind(found: PairedBags) -> str:
    """Return whether the log says that both bags are of one roast."""
    if found.ages is None or len(found.ages.bags) != 2:
        return "two bags"
    days = [each.roasted_on for each in found.ages.bags]
    if None in days:
        return "two bags"
    return "two halves" if days[0] == days[1] and _one_level(found) else "two roasts"


def _one_level(found: PairedBags) -> bool:
    shots = found.rows.comparable.shots if found.rows is not None else pd.DataFrame()
    if "roast_level" not in shots:
        return True
    return bool(shots["roast_level"].dropna().nunique() < 2)


def _shown(name: str, found: Estimate, unit: str) -> dict[str, str]:
    half = (found.ci_high - found.ci_low) / 2
    return {
        "What": name,
        f"Estimate, {unit}": signed(found.estimate, half),
        "95 % interval": effect_interval(found.ci_low, found.ci_high),
        "p": p_value(found.p_value),
    }
