"""Bags of one grinder compared at equal roast age."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from itertools import combinations
from typing import TYPE_CHECKING, ClassVar

import numpy as np
import pandas as pd

from yieldwright.ageing.age.age_words import span_words
from yieldwright.ageing.compared.bag_pairs import BagPair, compare_pair
from yieldwright.ageing.compared.bag_words import (
    pair_cautions,
    pair_remedy,
    pair_sentence,
)
from yieldwright.ageing.compared.grinder_shots import (
    AGE,
    bag_name,
    in_order,
    narrowed,
    shots_of_grinder,
)
from yieldwright.cautions import Caution, gravest_first
from yieldwright.formatting import (
    clip,
    count,
    listing,
    number,
    p_value,
    visible,
)
from yieldwright.models.contrasts.contrasts import holm
from yieldwright.results import ESTIMATE_COLUMNS, Dropped, Result
from yieldwright.taste.asking import named_response
from yieldwright.taste.columns.predictors import response_values
from yieldwright.taste.words.wording import column_label, effect_interval, response_words

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from yieldwright.bench import Bench
    from yieldwright.shotlog import ShotLog
    from yieldwright.taste.columns.comparable import ComparableSet

__all__ = ["BagsCompared", "compare_bags", "compare_bags_of"]

#: Columns of a table of pairs before and after those of all estimates.
PAIR_COLUMNS = ("first", "second", "age_d", "shared_low_d", "shared_high_d")


#: Refusals told in full; of many bags most pairs were never pulled at one age.
MOST_REFUSALS = 3


@dataclass(frozen=True, kw_only=True, eq=False, repr=False)
class BagsCompared(Result):
    """Differences between bags of one grinder at an age that both were pulled at.

    Attributes
    ----------
    response : str
        Column explained.
    unit : str
        Its unit, for a scale.
    bags : tuple of str
        Codes of the bags, in the order they were first pulled.
    pulled : DataFrame
        One row per shot with an age: `bag`, `roast_age_d`.
    pairs : tuple of BagPair
        Every pair, compared or not.
    p_holm : tuple of float
        One per pair, corrected for all that were compared; missing where it was not. [1]
    missing : str
        Why nothing is compared at all; empty where there are two bags.
    """

    drawing: ClassVar[str] = "bags_compared"

    response: str
    unit: str = ""
    bags: tuple[str, ...] = ()
    pulled: pd.DataFrame = field(default_factory=lambda: pd.DataFrame(columns=["bag", AGE]))
    pairs: tuple[BagPair, ...] = ()
    p_holm: tuple[float, ...] = ()
    missing: str = ""

    @property
    def title(self) -> str:
        """What is compared."""
        return f"Bags at equal roast age: {column_label(self.response)}"

    @property
    def compared(self) -> tuple[BagPair, ...]:
        """The pairs that could be compared."""
        return tuple(pair for pair in self.pairs if pair.difference is not None)

    def to_frame(self) -> pd.DataFrame:
        """Return the differences at full precision.

        Returns
        -------
        DataFrame
            One row per pair: codes, the age compared at and the ages shared, the columns of
            all estimates, and `why` it could not be compared.
        """
        rows = [_row(pair, holm_p) for pair, holm_p in zip(self.pairs, self.p_holm, strict=True)]
        return pd.DataFrame(rows, columns=[*PAIR_COLUMNS, *ESTIMATE_COLUMNS, "n_shots", "why"])

    def display_frame(self) -> pd.DataFrame:
        """Return the differences as text.

        Returns
        -------
        DataFrame
            One row per pair.
        """
        shown = [_shown(*each) for each in zip(self.pairs, self.p_holm, strict=True)]
        columns = ["Bags", "At", "Difference", "95 % interval", "p (Holm)", "Shots"]
        return pd.DataFrame(shown, columns=columns)


def compare_bags(
    log: ShotLog, of: str = "", *, bags: Sequence[str] = (), grinder: str = "", bench: Bench
) -> BagsCompared:
    r"""Return how bags of one grinder differ at a roast age that both were pulled at.

    Parameters
    ----------
    log : ShotLog
        A log that was read.
    of : str
        An attribute that was scored, such as `overall`, or `ey_pct`, `time_s`, `tds_pct`;
        empty for the first attribute scored.
    bags : sequence of str
        Codes of the bags meant; none for all of the grinder.
    grinder : str
        Its code; empty for that of the bag that ends last in the log.
    bench : Bench
        Whose grinder step, bands and scales to use.

    Returns
    -------
    BagsCompared
        With what is missing in words where nothing can be compared.

    Raises
    ------
    UnknownNameError
        If the log has no such bag, grinder or outcome.
    TooFewShotsError
        If the log holds no shots.

    Examples
    --------
    >>> from pathlib import Path
    >>> from tempfile import TemporaryDirectory
    >>> from yieldwright.shotlog import read_log
    >>> with TemporaryDirectory() as folder:
    ...     path = Path(folder, "shots.csv")
    ...     _ = path.write_text("shot,bag,time_s\n1,a,36\n2,a,35\n", encoding="utf-8")
    ...     log = read_log(path)
    >>> compare_bags(log, "time_s", bench=log.bench).missing
    'There is one bag of this grinder, and nothing to compare it with.'
    """
    comparable = shots_of_grinder(log, grinder=grinder)
    response = named_response(of, comparable, bench=bench)
    return compare_bags_of(narrowed(comparable, bags), response, bench=bench)


def compare_bags_of(comparable: ComparableSet, response: str, *, bench: Bench) -> BagsCompared:
    """Return how the bags among some shots of one grinder differ at equal roast age.

    Parameters
    ----------
    comparable : ComparableSet
        Shots of one grinder.
    response : str
        `ey_pct`, `time_s`, `tds_pct`, or `score:` and an attribute.
    bench : Bench
        Whose grinder step, bands and scales to use.

    Returns
    -------
    BagsCompared

    Notes
    -----
    Each pair is judged by itself, on the shots inside the ages both were pulled at, see
    `compare_pair`; p-values are corrected over all pairs that could be by Holm's rule.

    References
    ----------
    .. [1] Holm (1979), Scand. J. Statistics 6, 65.

    Examples
    --------
    >>> from yieldwright.bench import Bench
    >>> from yieldwright.taste.columns.comparable import ComparableSet
    >>> shots = pd.DataFrame({"bag": ["a", "b"], "roast_age_d": [4.0, 9.0], "time_s": 36.0})
    >>> shots["session"] = ["m", "n"]
    >>> print(compare_bags_of(ComparableSet("", "", shots), "time_s", bench=Bench()).sentences[0])
    No comparison of bag a with bag b at equal age: bag a was pulled at 4 days and bag b
    at 9 days, no age in common. Pull bag a again at 9 days.
    """
    shots = comparable.shots
    answered = response_values(shots, response, bench).notna()
    kept = in_order(shots[answered]).reset_index(drop=True)
    kept = kept if AGE in kept else kept.assign(**{AGE: np.nan})
    codes = list(dict.fromkeys(kept["bag"].fillna(""))) if "bag" in kept else []
    lost = int((~answered).sum())
    dropped = (*comparable.excluded, *([Dropped(lost, "without a value")] if lost else []))
    if len(codes) < 2:
        return _nothing(response, codes, len(kept), dropped)
    narrow = replace(comparable, shots=kept)
    pairs = tuple(
        compare_pair(narrow, pair, response, bench=bench) for pair in combinations(codes, 2)
    )
    tested = [np.nan if each.difference is None else each.difference.p_value for each in pairs]
    corrected = tuple(float(p) for p in holm(tested))
    now = _ages_now(narrow)
    told = {
        pair: f"{pair_sentence(pair, p, response=response, bench=bench)} "
        f"{pair_remedy(pair, now_d=now)}".strip()
        for pair, p in zip(pairs, corrected, strict=True)
    }
    return BagsCompared(
        response=response,
        unit=response_words(response, bench).unit,
        bags=tuple(codes),
        pulled=kept.loc[kept[AGE].notna(), ["bag", AGE]].reset_index(drop=True),
        pairs=pairs,
        p_holm=corrected,
        n_shots=_n_used(kept, pairs),
        dropped=dropped,
        sentences=_sentences(told),
        cautions=gravest_first([*pair_cautions(pairs), *_roasts(kept, pairs)]),
    )


def _nothing(
    response: str, codes: Sequence[str], n_shots: int, dropped: tuple[Dropped, ...]
) -> BagsCompared:
    """Return that there are no two bags."""
    what = "one bag" if codes else "no bag with an age and what is asked about"
    why = f"There is {what} of this grinder, and nothing to compare it with."
    return BagsCompared(
        response=response,
        bags=tuple(codes),
        missing=why,
        sentences=(why,),
        n_shots=n_shots,
        dropped=dropped,
    )


def _ages_now(comparable: ComparableSet) -> Mapping[str, float]:
    """Return how old each bag is on the day the log is judged on, where days are known."""
    shots = comparable.shots
    if "pulled_on" not in shots or shots["pulled_on"].isna().all():
        return {}
    newest = shots["pulled_on"].max()
    today = pd.Timestamp(comparable.as_of) if comparable.as_of else newest
    last = shots[shots[AGE].notna()].groupby("bag")[["pulled_on", AGE]].max()
    since = (today - last["pulled_on"]).dt.days
    return {str(code): float(age) for code, age in (last[AGE] + since).items()}


def _n_used(shots: pd.DataFrame, pairs: Sequence[BagPair]) -> int:
    """Return how many shots stand in a comparison."""
    used = pd.Series(False, index=shots.index)
    for pair in pairs:
        if pair.difference is not None:
            bag = shots["bag"].isin([pair.first, pair.second])
            used |= bag & shots[AGE].between(*pair.shared)
    return int(used.sum())


def _sentences(told: Mapping[BagPair, str]) -> tuple[str, ...]:
    """Return what was compared, then a few of the pairs that were not, the newest bags first."""
    compared = [words for pair, words in told.items() if pair.difference is not None]
    refused = [words for pair, words in told.items() if pair.difference is None][::-1]
    looks = (
        [f"{len(compared)} pairs were looked at; p-values are corrected for that (Holm)."]
        if len(compared) > 1
        else []
    )
    hidden = len(refused) - MOST_REFUSALS
    more = [f"{count(hidden, 'more pair')} could not be compared either."] if hidden > 0 else []
    return (*compared, *looks, *refused[:MOST_REFUSALS], *more)


def _roasts(shots: pd.DataFrame, pairs: Sequence[BagPair]) -> list[Caution]:
    """Return which compared bags are of different roasts."""
    if "roast_level" not in shots:
        return []
    levels = {
        str(code): listing(sorted({visible(str(word)) for word in words.dropna()}), last="or")
        for code, words in shots.groupby("bag")["roast_level"]
    }
    return [
        Caution(
            "bags-of-other-roasts",
            "note",
            f"Roast levels differ: {bag_name(pair.first)} is {levels[pair.first]} and "
            f"{bag_name(pair.second)} {levels[pair.second]}; their difference holds that too.",
            "",
            ("bag", "roast_level"),
        )
        for pair in pairs
        if pair.difference is not None
        and levels.get(pair.first)
        and levels.get(pair.second)
        and levels[pair.first] != levels[pair.second]
    ]


def _row(pair: BagPair, p_holm: float) -> list[object]:
    """Return one pair as a row at full precision."""
    found = pair.difference
    names = ESTIMATE_COLUMNS[1:-1]
    values = [np.nan if found is None else getattr(found, name) for name in names]
    term = f"{pair.second} − {pair.first}"
    start = [pair.first, pair.second, pair.age_d, *pair.shared, term]
    return [*start, *values, p_holm, pair.n_shots, pair.why]


def _shown(pair: BagPair, p_holm: float) -> list[str]:
    """Return one pair as text."""
    first, second = (clip(visible(code), 16) for code in (pair.first, pair.second))
    found = pair.difference
    if found is None:
        return [f"{second} − {first}", "–", "not compared", "–", "–", "–"]
    half = (found.ci_high - found.ci_low) / 2
    return [
        f"{second} − {first}",
        span_words(pair.age_d, pair.age_d),
        number(found.estimate, half),
        effect_interval(found.ci_low, found.ci_high),
        p_value(p_holm),
        str(pair.n_shots),
    ]
