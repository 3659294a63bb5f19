"""Shots that may stand in one fit: one bag, one grinder, pulled, counted and possible."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING

import pandas as pd

from yieldwright.cautions import Caution
from yieldwright.errors import UnknownNameError
from yieldwright.formatting import count, listing
from yieldwright.glossary import EXTRACTION_CEILING_PCT
from yieldwright.results import Dropped
from yieldwright.shotlog import ShotLog, score_table
from yieldwright.taste.columns.roles import SCORE_PREFIX
from yieldwright.taste.columns.servicing import service_stretches
from yieldwright.taste.words.bag_words import bags_called

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence
    from datetime import date

__all__ = ["ComparableSet", "comparable_sets", "pooled_bags", "pooling_caution", "set_of"]

#: Columns whose mixture in one fit is worth a word.
CONDITIONS = ("machine", "basket", "water", "barista", "puck_screen", "paper")


#: What a table of scores has at the least.
TASTING_COLUMNS = ["shot", "taster", "attribute", "score"]


@dataclass(frozen=True, eq=False)
class ComparableSet:
    """Shots of one grinder, by default of one bag, that may enter slopes together.

    Attributes
    ----------
    bag, grinder : str
        Codes, empty where the log names none.
    shots : DataFrame
        One row per shot, glossary columns, and one column of mean scores per attribute,
        `score:overall` for one.
    excluded : tuple of Dropped
        Shots of this bag and grinder that may not, with reasons.
    as_of : date or None
        Day the log is judged on; None for the newest shot's day.
    tastings : DataFrame
        One row per score of these shots: shot, taster, attribute, score, and whatever
        else the log holds of it; empty where tasters were not told apart.
    """

    bag: str
    grinder: str
    shots: pd.DataFrame
    excluded: tuple[Dropped, ...] = ()
    as_of: date | None = None
    tastings: pd.DataFrame = field(default_factory=lambda: pd.DataFrame(columns=TASTING_COLUMNS))

    @property
    def bags(self) -> tuple[str, ...]:
        """Codes of the bags among the shots, one that was not named as an empty one."""
        if "bag" not in self.shots:
            return ()
        return tuple(str(code) for code in self.shots["bag"].fillna("").unique())

    @property
    def name(self) -> str:
        """Bag and grinder in words, for a heading."""
        codes = ([code for code in self.bags if code] or [self.bag]) if self.bag else []
        parts = [bags_called(codes), f"on {self.grinder}" if self.grinder else ""]
        return " ".join(filter(None, parts)) or "all shots"

    @property
    def mixed_conditions(self) -> tuple[str, ...]:
        """Columns with several values among the shots that no fit allows for."""
        present = [column for column in CONDITIONS if column in self.shots]
        return tuple(column for column in present if len(self.shots[column].dropna().unique()) > 1)


def comparable_sets(
    log: ShotLog, *, scores: pd.DataFrame | None = None
) -> tuple[ComparableSet, ...]:
    r"""Return the shots of each bag and grinder that may enter slopes, the last pulled first.

    Parameters
    ----------
    log : ShotLog
        A log that was read.
    scores : DataFrame or None
        Its `score_table` where that was made already; None to make it.

    Returns
    -------
    tuple of ComparableSet
        One per bag and grinder with at least one shot, usable or not; bags are never
        pooled, and neither are grinders.

    Notes
    -----
    Usable is a shot that was pulled, that is neither warm-up nor the first after a
    grind change, and whose yield is not above what water can dissolve. The rest is
    counted with its reason.

    Examples
    --------
    >>> from pathlib import Path
    >>> from tempfile import TemporaryDirectory
    >>> from yieldwright.shotlog import read_log
    >>> with TemporaryDirectory() as folder:
    ...     path = Path(folder, "shots.csv")
    ...     text = "shot,bag,fate,dose_g\n1,a,pulled,18\n2,a,choked,18\n"
    ...     _ = path.write_text(text, encoding="utf-8")
    ...     (only,) = comparable_sets(read_log(path))
    >>> only.name, len(only.shots), str(only.excluded[0])
    ('bag a', 1, '1 shot not pulled')
    """
    sets = (set_of(part, as_of=log.as_of) for part in _parts(_whole_log(log, scores)))
    return tuple(replace(each, tastings=_scores_of(each.shots, log)) for each in sets)


def pooled_bags(log: ShotLog, *, grinder: str = "") -> ComparableSet:
    r"""Return the usable shots of all bags of one grinder, to be compared within bags.

    Parameters
    ----------
    log : ShotLog
        A log that was read.
    grinder : str
        Its code; empty for shots whose grinder the log does not name.

    Returns
    -------
    ComparableSet
        With the codes of several bags; grinders are never pooled.

    Raises
    ------
    UnknownNameError
        If no shot was ground on such a grinder.

    Notes
    -----
    A session in which several bags were pulled counts as one session for each, so that
    sessions lie inside bags: what varies inside sessions is then compared within one bag,
    and fits of what is constant in a session allow for the bag. A setting may still mean
    something else in another bag, see `pooling_caution`.

    Examples
    --------
    >>> from pathlib import Path
    >>> from tempfile import TemporaryDirectory
    >>> from yieldwright.shotlog import read_log
    >>> with TemporaryDirectory() as folder:
    ...     path = Path(folder, "shots.csv")
    ...     _ = path.write_text("shot,session,bag\n1,m,a\n2,m,b\n3,n,b\n", encoding="utf-8")
    ...     pooled = pooled_bags(read_log(path))
    >>> pooled.name, pooled.shots["session"].tolist()
    ('bags a and b', ['m, bag a', 'm, bag b', 'n'])
    """
    shots = _whole_log(log)
    named = shots["grinder"].fillna("") if "grinder" in shots else pd.Series("", shots.index)
    if grinder not in set(named):
        codes = [str(code) or "a grinder without a name" for code in named.unique()]
        raise UnknownNameError(
            f"no shot of this log was ground on {grinder!r}; it knows {listing(codes)}"
        )
    found = set_of(_in_bags(shots[named == grinder]), as_of=log.as_of)
    return replace(found, tastings=_scores_of(found.shots, log))


def pooling_caution(comparable: ComparableSet) -> Caution | None:
    """Return what a reader of several bags together must know, None where there is one bag.

    Parameters
    ----------
    comparable : ComparableSet
        Shots of one grinder.

    Returns
    -------
    Caution or None

    Examples
    --------
    >>> shots = pd.DataFrame({"bag": ["a", "b", "b"]})
    >>> pooling_caution(set_of(shots)).code
    'bags-together'
    """
    if len(comparable.bags) < 2:
        return None
    return Caution(
        "bags-together",
        "note",
        f"{count(len(comparable.shots), 'shot')} of {len(comparable.bags)} bags: effects are "
        "compared within bags and averaged over them, and a setting need not do the same to "
        "every coffee.",
        "Read one bag by itself before acting on it.",
        ("bag",),
    )


def _whole_log(log: ShotLog, scores: pd.DataFrame | None = None) -> pd.DataFrame:
    """Return all shots with mean scores and, where something was serviced, their stretch."""
    found = score_table(log) if scores is None else scores
    scores = found.set_index("shot").add_prefix(SCORE_PREFIX)
    scores = scores.drop(columns=f"{SCORE_PREFIX}n_tasters", errors="ignore")
    shots = log.shots.join(scores, on="shot")
    stretches = service_stretches(shots)
    return shots if stretches is None else shots.assign(service_stretch=stretches)


def _in_bags(shots: pd.DataFrame) -> pd.DataFrame:
    """Return shots whose sessions lie inside bags: a session of several is told apart."""
    if "bag" not in shots:
        return shots
    bags = shots["bag"].fillna("unnamed")
    shared = bags.groupby(shots["session"]).transform("nunique") > 1
    apart = shots["session"].astype("str") + ", bag " + bags
    return shots.assign(bag=bags, session=shots["session"].mask(shared, apart))


def set_of(shots: pd.DataFrame, *, as_of: date | None = None) -> ComparableSet:
    """Return the usable shots of a table that holds one bag and one grinder.

    Parameters
    ----------
    shots : DataFrame
        One row per shot, glossary columns and columns of mean scores.
    as_of : date or None
        Day the log is judged on; None for the newest shot's day.

    Returns
    -------
    ComparableSet

    Examples
    --------
    >>> found = set_of(pd.DataFrame({"shot": ["1", "2"], "stage": ["counted", "warm_up"]}))
    >>> len(found.shots), [str(reason) for reason in found.excluded]
    (1, ['1 shot pulled to warm up'])
    """
    reason = _reasons(shots)
    counts = reason[reason != ""].value_counts(sort=False)
    return ComparableSet(
        bag=_only(shots, "bag"),
        grinder=_only(shots, "grinder"),
        shots=shots[reason == ""].reset_index(drop=True),
        excluded=tuple(Dropped(int(n), str(why)) for why, n in counts.items()),
        as_of=as_of,
    )


def _scores_of(shots: pd.DataFrame, log: ShotLog) -> pd.DataFrame:
    scored = log.tastings.dropna(subset=["score"])
    return scored[scored["shot"].isin(shots["shot"])].reset_index(drop=True)


def _parts(shots: pd.DataFrame) -> Iterator[pd.DataFrame]:
    """Yield the rows of each bag and grinder, the one that ends last in the log first."""
    keys = [column for column in ("bag", "grinder") if column in shots]
    if not keys:
        yield shots
        return
    named = shots[keys].astype("string").fillna("").agg("\x1f".join, axis=1)
    for key in named.drop_duplicates(keep="last")[::-1]:
        yield shots[named == key]


def _reasons(shots: pd.DataFrame) -> pd.Series[str]:
    """Return why each shot is left out, empty where it is not."""
    reason = pd.Series("", index=shots.index, dtype="str")
    for why, where in _exclusions(shots):
        reason = reason.mask(where & (reason == ""), why)
    return reason


def _exclusions(shots: pd.DataFrame) -> Sequence[tuple[str, pd.Series[bool]]]:
    nowhere = pd.Series(False, index=shots.index)
    fate = shots["fate"].fillna("pulled") if "fate" in shots else None
    stage = shots["stage"].fillna("counted") if "stage" in shots else None
    above = shots["ey_pct"] > EXTRACTION_CEILING_PCT if "ey_pct" in shots else nowhere
    usable = shots["usable"].astype(bool) if "usable" in shots else ~nowhere
    return (
        ("not pulled", nowhere if fate is None else fate != "pulled"),
        ("pulled to warm up", nowhere if stage is None else stage == "warm_up"),
        ("pulled first after a grind change", nowhere if stage is None else stage == "transition"),
        ("with a yield above what water can dissolve", above),
        ("marked as not usable", ~usable),
    )


def _only(shots: pd.DataFrame, column: str) -> str:
    """Return the one code of a column, or the list where a caller pooled several."""
    if column not in shots:
        return ""
    return listing([str(code) for code in shots[column].dropna().unique()])
