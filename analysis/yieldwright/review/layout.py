"""From findings to the texts of the page: what stands where, worded and counted."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from yieldwright import __version__
from yieldwright.formatting import clip, count, listing
from yieldwright.review.bag_lines import bag_lines
from yieldwright.review.effect_notes import effect_notes
from yieldwright.review.effect_rows import effects_table
from yieldwright.review.figures import shown_in_a_row
from yieldwright.review.label import label_of, set_name, title_of
from yieldwright.review.open_questions import cannot_tell
from yieldwright.review.paper import (
    chart_height_mm,
    parted,
    rows_on_paper,
    section_heights,
    spills_over,
)
from yieldwright.review.reading_part import (
    doubt_sentences,
    line_sum,
    lines_sentence,
    remark_sentences,
    review_sentence,
)
from yieldwright.review.settings_rows import settings_table
from yieldwright.review.sheet import Sheet
from yieldwright.review.shot_rows import shot_table
from yieldwright.review.steady_lines import lines_on_screen, steady_lines
from yieldwright.safety import DEFERENCE, notices
from yieldwright.taste.asking import SEED

if TYPE_CHECKING:
    from collections.abc import Iterator

    from yieldwright.review.findings import WeekendReview
    from yieldwright.review.tables import SheetTable

__all__ = ["lay_out"]

_MOST_CAUTIONS = 3
_STEP_WIDTH = 300
_OTHERS_WIDTH = 200
_CAUTION_WIDTH = 260
_CONCLUSION_WIDTH = 420
_RESTS_WIDTH = 560
_DIGEST = 12
#: Notes below the effects, lines on spread and on the bag on paper at the least, and shots for
#: whose sake there are no more; lines on spread where a third side is to be feared.
_LEAST_NOTES, _LEAST_SPREAD, _LEAST_BAG, _FAIR_ROWS = 2, 3, 1, 5
_SPREAD_ON_A_FULL_SIDE = 2


def lay_out(review: WeekendReview) -> Sheet:
    r"""Return the texts of the page for some findings.

    Parameters
    ----------
    review : WeekendReview
        The findings.

    Returns
    -------
    Sheet

    Examples
    --------
    >>> from pathlib import Path
    >>> from tempfile import TemporaryDirectory
    >>> from yieldwright.review import review_weekend
    >>> from yieldwright.shotlog import read_log
    >>> with TemporaryDirectory() as folder:
    ...     path = Path(folder, "shots.csv")
    ...     _ = path.write_text("shot,dose_g\n1,18\n", encoding="utf-8")
    ...     lay_out(review_weekend(read_log(path))).conclusion
    'The log cannot say yet what any setting does.'
    """
    log, bench = review.log, review.log.bench
    main = review.main
    fits, looks, steps = (main.fits, main.looks, main.steps) if main else ((), (), None)
    sheet = Sheet(
        title=title_of(review),
        label=label_of(review),
        conclusion=clip(review.conclusion.sentence, _CONCLUSION_WIDTH),
        rests_on=clip(_rests_on(review), _RESTS_WIDTH),
        others=_others(review),
        next_steps=tuple(clip(step, _STEP_WIDTH) for step in review.next_steps),
        line_sum=line_sum(log.reading),
        lines_sentence=lines_sentence(log.reading),
        read_sentences=(
            review_sentence(review.reviewed, n_accepted=len(log.shots)),
            _fitted_sentence(review),
            *doubt_sentences(log),
        ),
        how_read=remark_sentences(log.reading),
        chart_heading="Strength and extraction of the reviewed shots",
        chart_caption=_chart_caption(review),
        timeline_caption=_timeline_caption(review),
        shots=None,
        no_shots="No shot is under review.",
        effects=effects_table(fits, looks, bench=bench, steps=steps),
        effect_notes=_effect_notes(review),
        settings=_settings(review),
        no_settings="The log names no grind setting and no temperature band.",
        cannot_tell=cannot_tell(fits, looks),
        bag=bag_lines(main.bag) if main else (),
        spread=_spread(review),
        steady_on_screen=lines_on_screen(main) if main else (),
        cautions=_cautions(review),
        safety=" ".join((*(each.sentence for each in notices()), DEFERENCE)),
        reproducibility=_reproducibility(review),
        version=__version__,
    )
    return _fitted_to_paper(sheet, review)


def _fitted_to_paper(sheet: Sheet, review: WeekendReview) -> Sheet:
    """Return the sheet with everything whose size depends on what stands around it."""
    raised = replace(sheet, chart_height_mm=chart_height_mm(sheet))
    printed = _with_fewer_notes(raised)
    return replace(printed, shots=_shots(review, rows_on_paper(printed)))


def _with_fewer_notes(sheet: Sheet) -> Sheet:
    """Return the sheet in columns, with as many lines on paper as leave room for shots."""
    shorter = _in_columns(sheet)
    for notes, spread, bag in _printed(sheet):
        fewer = replace(sheet, notes_printed=notes, spread_printed=spread, bag_printed=bag)
        shorter = _in_columns(fewer)
        if rows_on_paper(shorter) >= _FAIR_ROWS:
            return shorter
    if spills_over(shorter):
        few = min(len(sheet.spread), _SPREAD_ON_A_FULL_SIDE)
        shorter = _in_columns(replace(shorter, spread_printed=few))
    return shorter


def _printed(sheet: Sheet) -> Iterator[tuple[int, int, int]]:
    """Yield how many notes below the effects, lines on spread and on the bag stand on paper."""
    notes, spread, bag = len(sheet.effect_notes), len(sheet.spread), len(sheet.bag)
    few = min(notes, _LEAST_NOTES), min(spread, _LEAST_SPREAD), min(bag, _LEAST_BAG)
    yield from ((each, spread, bag) for each in range(notes, few[0], -1))
    yield from ((few[0], each, bag) for each in range(spread, few[1], -1))
    yield from ((few[0], few[1], each) for each in range(bag, few[2], -1))
    yield few


def _in_columns(sheet: Sheet) -> Sheet:
    return replace(sheet, columns=parted(section_heights(sheet)))


def _rests_on(review: WeekendReview) -> str:
    """Return what the conclusion rests on, and whether a single session carries it."""
    firmness = review.main.firmness if review.main else ""
    return " ".join(filter(None, (review.conclusion.rests_on, firmness)))


def _others(review: WeekendReview) -> tuple[str, ...]:
    """Return one line for each further bag and grinder, and a count of those not fitted."""
    told = tuple(
        clip(f"For {set_name(each.comparable)}: {each.conclusion.sentence}", _OTHERS_WIDTH)
        for each in review.sets[1:]
    )
    unfitted = review.n_sets - len(review.sets)
    if unfitted <= 0:
        return told
    pairs = count(unfitted, "further pair of bag and grinder", "further pairs of bag and grinder")
    return (*told, f"{pairs} not fitted for this page: choose one with --bag.")


def _fitted_sentence(review: WeekendReview) -> str:
    if review.main is None:
        return "Nothing was fitted: no shot is under review."
    comparable = review.main.comparable
    left_out = listing([str(each) for each in comparable.excluded])
    tail = f"; left out: {left_out}" if left_out else ""
    shots = count(len(comparable.shots), "comparable shot")
    alone = ", each bag and grinder on its own" if review.n_sets > 1 else ""
    return f"Fitted are all {shots} of {set_name(comparable)}, whatever their day{alone}{tail}."


def _chart_caption(review: WeekendReview) -> str:
    placement, window = review.placement, review.log.bench.window
    missing = "; ".join(str(each) for each in placement.dropped)
    convention = "" if window.stated else ", a convention and not a law"
    target = (
        f"Target: strength {window.strength_low_pct:g}–{window.strength_high_pct:g} %, yield "
        f"{window.yield_low_pct:g}–{window.yield_high_pct:g} %{convention}."
    )
    sentences = (*placement.sentences, target, f"Not on the chart: {missing}." if missing else "")
    return " ".join(filter(None, sentences))


def _timeline_caption(review: WeekendReview) -> str:
    shown = len(shown_in_a_row(review.reviewed.shots))
    if shown == review.n_shots:
        return ""
    return f"The newest {shown} of {count(review.n_shots, 'reviewed shot')}."


def _shots(review: WeekendReview, rows: int) -> SheetTable | None:
    if not review.n_shots:
        return None
    return shot_table(
        review.reviewed.shots,
        bench=review.log.bench,
        placed=review.placement.placed,
        scores=review.scores,
        rows_on_paper=rows,
    )


def _settings(review: WeekendReview) -> SheetTable | None:
    main = review.main
    return settings_table(main.failures, main.comparable.shots, main.spreads) if main else None


def _effect_notes(review: WeekendReview) -> tuple[str, ...]:
    main = review.main
    if main is None:
        return ()
    bench = review.log.bench
    return effect_notes(
        main.fits, bench=bench, steps=main.steps, groups=main.groups, luck=main.luck
    )


def _spread(review: WeekendReview) -> tuple[str, ...]:
    if review.main is None:
        return ("No shots to compare the instruments with.",)
    return steady_lines(review.main)


def _cautions(review: WeekendReview) -> tuple[tuple[bool, str], ...]:
    """Return the gravest cautions that nothing else on the page has told."""
    told = [each for each in review.cautions if each.code != "settings-entangled"]
    shown = tuple(
        (each.severity == "stop", clip(each.text, _CAUTION_WIDTH))
        for each in told[:_MOST_CAUTIONS]
    )
    more = len(told) - _MOST_CAUTIONS
    if more <= 0:
        return shown
    return (*shown, (False, f"{count(more, 'lighter caution')} left out here."))


def _chance(review: WeekendReview) -> str:
    """Return whether scores were exchanged at random, and where chance began."""
    steps = review.main.steps if review.main else None
    drawn = steps is not None and any(step.p_from == "exchange" for step in steps.steps)
    return f"scores exchanged with seed {SEED}" if drawn else "no random numbers used"


def _reproducibility(review: WeekendReview) -> str:
    """Return file hashes, version and day: what anyone needs to make this page again."""
    reading = review.log.reading
    files = (f"{clip(file.file, 40)} sha256 {file.sha256[:_DIGEST]}…" for file in reading.files)
    as_of = review.log.as_of
    day = f"as of {as_of.isoformat()}" if as_of is not None else "no day stated"
    return " · ".join((f"yieldwright {__version__}", day, *files, _chance(review)))
