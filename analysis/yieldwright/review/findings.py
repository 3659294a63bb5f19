"""What a weekend's shots teach: every finding once, for the page and for the notebook."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING

import pandas as pd

from yieldwright.cautions import gravest_first
from yieldwright.chart import Placement, place_shots
from yieldwright.results import Result
from yieldwright.review.conclusion import Conclusion, conclude
from yieldwright.review.figures import draw_figures
from yieldwright.review.label import set_name
from yieldwright.review.layout import lay_out
from yieldwright.review.next_steps import next_steps
from yieldwright.review.notebook import render_fragment
from yieldwright.review.recipe import recipe_verdicts
from yieldwright.review.sets import SetFindings, find_in_set, fit_cautions
from yieldwright.review.window import ReviewedShots, choose_shots
from yieldwright.shotlog import score_table
from yieldwright.taste.columns.comparable import ComparableSet, comparable_sets

if TYPE_CHECKING:
    import datetime as dt
    from collections.abc import Mapping

    from matplotlib.axes import Axes

    from yieldwright.cautions import Caution
    from yieldwright.review.sheet import Sheet
    from yieldwright.shotlog import ShotLog

__all__ = ["MOST_SETS", "WeekendReview", "review_weekend"]

#: Bags and grinders fitted for one page; a page has no room for more.
MOST_SETS = 3


@dataclass(frozen=True, kw_only=True, eq=False, repr=False)
class WeekendReview(Result):
    """Everything one weekend page says, as values.

    Attributes
    ----------
    log : ShotLog
        The log that was read.
    reviewed : ReviewedShots
        The shots under review.
    scores : DataFrame
        One row per shot of the log: mean score per attribute.
    placement : Placement
        The reviewed shots on the chart.
    sets : tuple of SetFindings
        Bags and grinders among the reviewed shots, the one with most of them first.
    n_sets : int
        How many there are; those beyond `sets` were not fitted.
    next_steps : tuple of str
        What to do next, the most useful first.
    """

    log: ShotLog
    reviewed: ReviewedShots
    scores: pd.DataFrame
    placement: Placement
    sets: tuple[SetFindings, ...] = ()
    n_sets: int = 0
    next_steps: tuple[str, ...] = ()

    @property
    def title(self) -> str:
        """What was asked, in a few words."""
        return self.sheet.title

    @property
    def headline(self) -> tuple[tuple[str, str], ...]:
        """What was read, reviewed and fitted."""
        return (("Read", self.sheet.lines_sentence), *self.sheet.label)

    @property
    def main(self) -> SetFindings | None:
        """The bag and grinder with most reviewed shots, None where there is none."""
        return self.sets[0] if self.sets else None

    @property
    def conclusion(self) -> Conclusion:
        """What to take away from the bag and grinder with most reviewed shots."""
        return self.main.conclusion if self.main else conclude((), (), bench=self.log.bench)

    @cached_property
    def sheet(self) -> Sheet:
        """The findings as the texts of the page."""
        return lay_out(self)

    @cached_property
    def figures(self) -> Mapping[str, str]:
        """The figures of the page as markup: chart, timeline, effects; empty where none."""
        return draw_figures(self)

    def to_frame(self) -> pd.DataFrame:
        """Return the reviewed shots with recipe verdict, place on the chart and scores.

        Returns
        -------
        DataFrame
            One row per reviewed shot, in time order.
        """
        shots = self.reviewed.shots
        placed = self.placement.placed[["shot", "region", "p_region"]]
        table = shots.assign(recipe=recipe_verdicts(shots, self.log.bench.recipe))
        return table.merge(placed, on="shot", how="left").merge(self.scores, on="shot", how="left")

    def display_frame(self) -> pd.DataFrame:
        """Return the shot table of the page.

        Returns
        -------
        DataFrame
            One row per shot shown, every cell text.
        """
        return self.sheet.shots.to_frame() if self.sheet.shots else pd.DataFrame()

    def plot(self, ax: Axes | None = None) -> Axes:
        """Draw the reviewed shots on the strength/extraction chart.

        Parameters
        ----------
        ax : Axes or None
            Where to draw; by default a new figure.

        Returns
        -------
        Axes
        """
        return self.placement.plot(ax)

    def _repr_html_(self) -> str:
        """Return the texts and tables of the page as an HTML fragment."""
        return render_fragment(self.sheet)


def review_weekend(
    log: ShotLog,
    *,
    since: dt.date | None = None,
    bag: str | None = None,
    everything: bool = False,
) -> WeekendReview:
    r"""Return what the newest shots of a log teach.

    Parameters
    ----------
    log : ShotLog
        A log that was read.
    since : date or None
        First day to look at; by default the tenth before the newest shot.
    bag : str or None
        Look at this bag only.
    everything : bool
        Look at every day.

    Returns
    -------
    WeekendReview

    Raises
    ------
    UnknownNameError
        If no accepted shot is of this bag.

    Notes
    -----
    Reviewed are the chosen shots; fitted are all comparable shots of the same bag and
    grinder, whatever their day, each bag and grinder on its own.

    Examples
    --------
    >>> from pathlib import Path
    >>> from tempfile import TemporaryDirectory
    >>> from yieldwright.shotlog import read_log
    >>> with TemporaryDirectory() as folder:
    ...     path = Path(folder, "shots.csv")
    ...     _ = path.write_text("shot,dose_g\n1,18\n", encoding="utf-8")
    ...     review = review_weekend(read_log(path))
    >>> review.n_shots
    1
    """
    reviewed = choose_shots(
        log.shots, as_of=log.as_of, since=since, bag=bag, everything=everything
    )
    scores = score_table(log)
    placement = place_shots(reviewed.shots, log.bench.window)
    of_interest = _sets_of_interest(log, reviewed, scores)
    sets = tuple(find_in_set(each, log=log, n_reviewed=n) for each, n in of_interest[:MOST_SETS])
    main = sets[0] if sets else None
    steps = next_steps(main.comparable.shots, main.suggestions) if main else next_steps(None, ())
    return WeekendReview(
        log=log,
        reviewed=reviewed,
        scores=scores,
        placement=placement,
        sets=sets,
        n_sets=len(of_interest),
        next_steps=steps,
        n_shots=reviewed.n_shots,
        dropped=reviewed.left_out,
        cautions=_cautions(placement, main),
        sentences=_sentences(sets, steps),
    )


def _sets_of_interest(
    log: ShotLog, reviewed: ReviewedShots, scores: pd.DataFrame
) -> list[tuple[ComparableSet, int]]:
    """Return the comparable sets of reviewed bags and grinders with their reviewed shots."""
    shots = reviewed.shots
    if shots.empty:
        return []
    keys = [
        shots[name].fillna("") if name in shots else pd.Series("", index=shots.index)
        for name in ("bag", "grinder")
    ]
    counts = shots.groupby(keys, sort=False).size().to_dict()
    every = comparable_sets(log, scores=scores)
    found = [(each, counts.get((each.bag, each.grinder), 0)) for each in every]
    return sorted((pair for pair in found if pair[1]), key=lambda pair: -pair[1])


def _cautions(placement: Placement, main: SetFindings | None) -> tuple[Caution, ...]:
    own = (*main.doubts, *fit_cautions(main.fits), *main.instruments.cautions) if main else ()
    return gravest_first((*own, *placement.cautions))


def _sentences(sets: tuple[SetFindings, ...], steps: tuple[str, ...]) -> tuple[str, ...]:
    """Return conclusions and next steps; a further bag and grinder is named."""
    told = []
    for place, each in enumerate(sets):
        name = f"{set_name(each.comparable)}: " if place else ""
        told += [f"{name}{each.conclusion.sentence}", each.conclusion.rests_on]
    return (*filter(None, told), *(f"Next: {step}" for step in steps))
