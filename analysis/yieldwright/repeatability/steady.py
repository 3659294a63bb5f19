"""One question asked of a log: how steady am I, does it stay so, and who is steady."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from types import MappingProxyType
from typing import TYPE_CHECKING, ClassVar

import numpy as np

from yieldwright.cautions import gravest_first
from yieldwright.errors import OutOfRangeError, RoleError
from yieldwright.formatting import sentence_case, visible
from yieldwright.repeatability.charts.watched_moves import watched_with_moves
from yieldwright.repeatability.charts.watched_series import LEAST
from yieldwright.repeatability.charts.watching import SEED, Watch
from yieldwright.repeatability.failing.failing_sessions import FailingSessions, failing_sessions
from yieldwright.repeatability.failing.failures import FailureRates, every_shot, failure_rate
from yieldwright.repeatability.panel.tasters import TasterAgreement, taster_agreement
from yieldwright.repeatability.persons.people import People, compare_people
from yieldwright.repeatability.persons.progress import Progress, progress
from yieldwright.repeatability.persons.progress_counted import counted_together
from yieldwright.repeatability.persons.progress_words import not_followed
from yieldwright.repeatability.spread.measured import measured_columns
from yieldwright.repeatability.spread.steadiness import Steadiness, steadiness
from yieldwright.results import Result
from yieldwright.taste.asking import named_set
from yieldwright.taste.columns.roles import attribute_of
from yieldwright.taste.words.wording import column_label

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    import pandas as pd

    from yieldwright.repeatability.charts.lasting_move import LastingMove
    from yieldwright.shotlog import ShotLog
    from yieldwright.taste.columns.comparable import ComparableSet

__all__ = ["Steady", "steady"]

#: Quantities that are watched, and people compared in, where nobody asks for any.
FIRST = 2


@dataclass(frozen=True, kw_only=True, eq=False, repr=False)
class Steady(Result):
    """How steady a bench is, gathered once for command, page and notebook.

    Attributes
    ----------
    bag, grinder : str
        Codes of the shots meant, empty where the log names none.
    steadiness : Steadiness
        Spread of like shots in everything that is measured.
    watches : tuple of Watch
        Quantities in the order pulled, those that were asked about or the first two.
    moves : tuple of LastingMove
        The likeliest lasting move of each of these.
    people : tuple of People
        Baristas compared in the same quantities.
    tasters : tuple of TasterAgreement
        Agreement on each taste that was scored by several and asked about.
    failures : FailureRates
        How many shots failed.
    failing : FailingSessions or None
        Failures a session each, with limits; None where they bear no chart.
    progress : tuple of Progress
        People who can be followed over the weeks, in the first quantity.
    missing : mapping of str to str
        Why a part is not there, by its name.
    """

    drawing: ClassVar[str] = "steadiness_lanes"

    bag: str = ""
    grinder: str = ""
    steadiness: Steadiness
    watches: tuple[Watch, ...] = ()
    moves: tuple[LastingMove, ...] = ()
    people: tuple[People, ...] = ()
    tasters: tuple[TasterAgreement, ...] = ()
    failures: FailureRates
    failing: FailingSessions | None = None
    progress: tuple[Progress, ...] = ()
    missing: Mapping[str, str] = field(default_factory=lambda: MappingProxyType({}))

    @property
    def title(self) -> str:
        """What was asked."""
        return f"How steady this bench is: {self.steadiness.name}"

    @property
    def parts(self) -> tuple[Result, ...]:
        """Everything that was found out, in the order a reader wants it."""
        failing = () if self.failing is None else (self.failing,)
        people = (*self.people, *self.progress)
        return (
            self.steadiness, self.failures, *failing, *self.watches, *self.moves, *people,
            *self.tasters,
        )  # fmt: skip

    @property
    def answered(self) -> bool:
        """Whether the spread of anything is told by more than an interval."""
        return any(each.firm for each in self.steadiness.quantities)

    def to_frame(self) -> pd.DataFrame:
        """Return one row per measured quantity at full precision."""
        return self.steadiness.to_frame()

    def display_frame(self) -> pd.DataFrame:
        """Return the spreads as text.

        Returns
        -------
        DataFrame
            One row per measured quantity.
        """
        return self.steadiness.display_frame()

    @property
    def _drawn(self) -> Result:
        return self.steadiness


def steady(
    log: ShotLog,
    *,
    bag: str = "",
    grinder: str = "",
    of: Sequence[str] = (),
    baseline: int | None = None,
    rng: np.random.Generator | None = None,
) -> Steady:
    r"""Return how steady the bench of a log is, in shots of one bag and grinder.

    Parameters
    ----------
    log : ShotLog
        A log that was read.
    bag, grinder : str
        Codes of the shots meant; empty for the bag that ends last in the log.
    of : sequence of str
        Columns and attributes asked about; none for yield, time, beverage, strength and
        whatever was scored.
    baseline : int or None
        How many of the first shots the limits of charts rest on, such as those before a
        change; None for all. [count]
    rng : Generator or None
        Source of chance for steady benches drawn to compare with; None for one that
        begins the same each time.

    Returns
    -------
    Steady
        With reasons in `missing` for parts that the log does not allow.

    Raises
    ------
    UnknownNameError
        If the log has no such bag, grinder, attribute or column.
    RoleError
        If a column is set, counted or written, and not measured.
    TooFewShotsError
        If the log holds no shots.
    OutOfRangeError
        If a baseline is shorter than 10 shots.

    Examples
    --------
    >>> from pathlib import Path
    >>> from tempfile import TemporaryDirectory
    >>> from yieldwright.shotlog import read_log
    >>> lines = [f"{n},counted,11,{time}" for n, time in enumerate([36, 38, 35, 37, 40, 36])]
    >>> with TemporaryDirectory() as folder:
    ...     path = Path(folder, "shots.csv")
    ...     text = "\n".join(["shot,stage,grind_setting,time_s", *lines])
    ...     _ = path.write_text(text, encoding="utf-8")
    ...     found = steady(read_log(path))
    >>> found.display_frame()["SD (95 %)"].tolist(), sorted(found.missing)
    (['1.8 (1.1 to 4.4)'], ['failing', 'people', 'tasters', 'watches'])
    """
    if baseline is not None and baseline < LEAST:
        raise OutOfRangeError(
            f"limits rest on {LEAST} shots at least, not {baseline}: name a longer baseline, or "
            "none for all shots"
        )
    comparable = named_set(log, bag=bag, grinder=grinder)
    found = steadiness(comparable, bench=log.bench, of=of)
    held = [each.column for each in found.quantities]
    watched = held if of else held[:FIRST]
    chance = np.random.default_rng(SEED) if rng is None else rng
    every = every_shot(log, comparable)
    people, tied = _people(comparable, watched, log, every)
    watches, moves = watched_with_moves(comparable, watched, log, baseline=baseline, rng=chance)
    asked = measured_columns(comparable, of, bench=log.bench)
    tried = _Tried(
        watches=watches,
        moves=moves,
        people=people,
        tied=tied,
        progress=counted_together(tuple(_followed(log, people, chance))),
        tasters=tuple(_agreements(comparable, asked, log)),
        failing=failing_sessions(every, rng=chance),
    )
    return _gathered(comparable, found, failure_rate(every), tried)


@dataclass(frozen=True, slots=True)
class _Tried:
    """Parts as they came out, those that only say what they lack among them."""

    watches: tuple[Watch, ...]
    moves: tuple[LastingMove, ...]
    people: tuple[People, ...]
    tied: str
    progress: tuple[Progress, ...]
    tasters: tuple[TasterAgreement, ...]
    failing: FailingSessions


def _gathered(
    comparable: ComparableSet, found: Steadiness, failures: FailureRates, tried: _Tried
) -> Steady:
    bare = Steady(
        bag=comparable.bag,
        grinder=comparable.grinder,
        n_shots=len(comparable.shots),
        dropped=comparable.excluded,
        steadiness=found,
        watches=tuple(each for each in tried.watches if not each.missing),
        moves=tried.moves,
        people=tried.people,
        tasters=tuple(each for each in tried.tasters if not each.missing),
        failures=failures,
        failing=None if tried.failing.missing else tried.failing,
        progress=tuple(each for each in tried.progress if not each.missing),
        missing=MappingProxyType(
            {name: sentence_case(why) for name, why in _missing(comparable, tried)}
        ),
    )
    said = (sentence for part in bare.parts for sentence in part.sentences)
    doubts = (caution for part in bare.parts for caution in part.cautions)
    return replace(bare, sentences=tuple(dict.fromkeys(said)), cautions=gravest_first(doubts))


def _people(
    comparable: ComparableSet, columns: Sequence[str], log: ShotLog, every: pd.DataFrame
) -> tuple[tuple[People, ...], str]:
    """Return people compared in each quantity that can tell them apart, and why not in others."""
    found, tied = [], ""
    for name in columns:
        try:
            found.append(compare_people(comparable, name, bench=log.bench, pulls=every))
        except RoleError as problem:
            tied = f"{problem}."
    return tuple(each for each in found if each is not None), tied


def _agreements(
    comparable: ComparableSet, columns: Sequence[str], log: ShotLog
) -> Iterator[TasterAgreement]:
    attributes = [attribute for name in columns if (attribute := attribute_of(name))]
    yield from (taster_agreement(comparable, name, bench=log.bench) for name in attributes)


def _followed(
    log: ShotLog, people: Sequence[People], rng: np.random.Generator
) -> Iterator[Progress]:
    """Yield what the weeks did to each person compared in the first quantity."""
    for code in people[0].people["person"] if people else ():
        found = progress(log, people[0].of, barista=str(code), bench=log.bench, rng=rng)
        if found is not None:
            yield found


def _missing(comparable: ComparableSet, tried: _Tried) -> Iterator[tuple[str, str]]:
    """Yield why a part is not there."""
    lacking = [each.missing for each in tried.watches if each.missing]
    if lacking or not tried.watches:
        yield "watches", lacking[0] if lacking else "nothing was measured that could be watched."
    if tried.tied or not tried.people:
        yield "people", tried.tied or _no_people(comparable, tried.watches)
    if behind := not_followed([each for each in tried.progress if each.missing]):
        yield "progress", behind
    refused = [each.missing for each in tried.tasters if each.missing]
    if len(refused) == len(tried.tasters):
        scored = any(attribute_of(str(name)) for name in comparable.shots)
        none = "no taste is asked about." if scored else "no taste was scored."
        yield "tasters", f"{refused[0]}." if refused else none
    if tried.failing.missing:
        yield "failing", tried.failing.missing


def _no_people(comparable: ComparableSet, watches: Sequence[Watch]) -> str:
    shots = comparable.shots
    if not watches:
        return "nothing was measured that people could be compared in."
    if "barista" not in shots or not shots["barista"].notna().any():
        return "the log names no barista: add a column barista, with codes and not names."
    if len(shots["barista"].dropna().unique()) == 1:
        return (
            f"one barista, {visible(str(shots['barista'].dropna().iloc[0]))}, pulled every shot."
        )
    noun = visible(column_label(watches[0].response))
    return f"fewer than two people pulled 3 shots with a {noun} or more."
