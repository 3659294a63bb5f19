"""Whether tasters agree, in plain words."""

from __future__ import annotations

from typing import TYPE_CHECKING

from yieldwright.cautions import Caution
from yieldwright.formatting import clip, count, interval, listing, number, p_words, visible
from yieldwright.repeatability.spread.likeness import ENOUGH
from yieldwright.repeatability.spread.spread_texts import figure, span

if TYPE_CHECKING:
    from collections.abc import Iterator

    from yieldwright.repeatability.panel.tasters import TasterAgreement

__all__ = ["taster_cautions", "taster_sentences"]

#: Bounds of words for the share of variance between shots: Koo and Li (2016), J. Chiropr.
#: Med. 15, 155, who ask for the interval and not the estimate to lie there.
_WORDS = ((0.9, "excellent"), (0.75, "good"), (0.5, "moderate"))

_LONGEST = 24


def taster_sentences(found: TasterAgreement) -> Iterator[str]:
    """Yield what the agreement of tasters means.

    Parameters
    ----------
    found : TasterAgreement
        Measures, levels and pairs.

    Yields
    ------
    str
    """
    shares = {str(row["measure"]): row for row in found.table.to_dict("records")}
    if "ICC(A,1)" in shares:
        row = shares["ICC(A,1)"]
        yield _share(found, row["estimate"], row["ci_low"], row["ci_high"])
    elif len(found.complete):
        yield (
            f"{count(len(found.complete), 'taster')} gave each shot one and the same score for "
            f"{visible(found.attribute)}: they agree to the last digit."
        )
    yield from _error(found)
    if "W" in shares:
        w, p = shares["W"]["estimate"], shares["W"]["p_value"]
        yield (
            f"On the order of the shots they agree with W = {number(w, figures=2)} (1 is the "
            f"same order, {p_words(p)} were all orders chance)."
        )
    yield from _alpha(found)
    yield from _levels(found)
    yield from _own(found)


def taster_cautions(found: TasterAgreement) -> Iterator[Caution]:
    """Yield what a reader must know before trusting measures of agreement.

    Parameters
    ----------
    found : TasterAgreement
        Measures, levels and pairs.

    Yields
    ------
    Caution
    """
    shares = found.table[found.table["measure"] == "ICC(A,1)"]
    if len(shares) and float(shares["ci_low"].iloc[0]) < _WORDS[-1][0]:
        yield Caution(
            "little-to-agree-on",
            "note",
            "Measures of agreement are low also where the shots hardly differ.",
            "Let tasters score shots that differ on purpose, blind and in different orders.",
            ("taster",),
        )


def _share(found: TasterAgreement, estimate: float, low: float, high: float) -> str:
    word = next((word for least, word in _WORDS if low >= least), "")
    verdict = f"agreement is {word} at least" if word else "poor agreement is not ruled out"
    if high < _WORDS[-1][0]:
        verdict = "agreement is poor"
    names = listing([clip(visible(name), _LONGEST) for name in found.complete])
    n = int(found.table["n_shots"].iloc[0])
    return (
        f"Tasters {names} scored {count(n, 'shot')} in common for {visible(found.attribute)}: "
        f"{number(estimate, figures=2)} of the variance of a score lies between shots "
        f"(ICC(A,1), 95 % interval {interval(low, high)}), so {verdict}."
    )


def _error(found: TasterAgreement) -> Iterator[str]:
    """Yield how well one score is known, and no upper limit that its scale has no room for."""
    error, low, high = (number(each, figures=2) for each in found.score_error)
    if not found.score_error[0] > 0:
        return
    ends = f"{low} to {high}"
    if found.score_error[2] > found.largest_error:
        tasters = count(len(found.complete), "taster")
        ends = f"{low} or more; {tasters} cannot bound it from above on this scale"
    yield f"One taster's score of one shot is good to about ± {error} points (one SD, {ends})."


def _alpha(found: TasterAgreement) -> Iterator[str]:
    rows = found.table[found.table["measure"] == "alpha"].to_dict("records")
    if not rows or int(rows[0]["n_shots"]) == _n_complete(found):
        return
    row = rows[0]
    ends = f", {interval(row['ci_low'], row['ci_high'])}" if row["ci_low"] == row["ci_low"] else ""
    yield (
        f"With every shot that two tasters scored, gaps allowed, Krippendorff's alpha is "
        f"{number(row['estimate'], figures=2)} ({count(row['n_shots'], 'shot')}, "
        f"{count(row['n_tasters'], 'taster')}{ends}): 1 is agreement, 0 is chance."
    )


def _n_complete(found: TasterAgreement) -> int:
    rows = found.table[found.table["measure"] != "alpha"]
    return int(rows["n_shots"].iloc[0]) if len(rows) else -1


def _levels(found: TasterAgreement) -> Iterator[str]:
    clear = [each for each in found.levels if each.p_holm < 0.05]
    for each in clear:
        way = "higher" if each.level > 0 else "lower"
        near, far = sorted((abs(each.low), abs(each.high)))
        size = number(abs(each.level), (far - near) / 2)
        yield (
            f"Taster {clip(visible(each.taster), _LONGEST)} scores {way} than the mean of all by "
            f"{size} points ({interval(near, far)}, {count(each.n_shots, 'shot')})."
        )
    if found.levels and not clear:
        widest = max((each.high - each.low) / 2 for each in found.levels)
        yield (
            f"No taster clearly scores higher or lower than the others; a difference of "
            f"{number(widest, figures=1)} points could have gone unseen."
        )


def _own(found: TasterAgreement) -> Iterator[str]:
    if found.own.empty:
        yield (
            "How steady each taster is with themselves is not known: no cup was scored twice, "
            "blind, by one taster."
        )
        return
    for row in found.own.to_dict("records"):
        name = clip(visible(str(row["taster"])), _LONGEST)
        repeats = count(int(row["repeats"]), "repeat")
        if not row["sd"] > 0:
            yield f"Taster {name} gave the same score each time ({repeats})."
            continue
        limits = span(row["ci_low"], row["ci_high"])
        if row["repeats"] >= ENOUGH:
            size, basis = figure(row["sd"]), f"SD, 95 % interval {limits}"
        else:
            size, basis = limits, "95 % interval of the SD"
        yield (
            f"Taster {name} differs from themselves by {size} points ({basis}, {repeats} of one "
            "cup)."
        )
