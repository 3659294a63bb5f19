"""What stands on the page, part by part, as text: the one source of page and notebook."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from yieldwright.review.tables import SheetTable

__all__ = ["Sheet"]


@dataclass(frozen=True, kw_only=True)
class Sheet:
    """The texts of one weekend page, rounded and worded, not yet escaped.

    Attributes
    ----------
    title : str
        Bag and days.
    label : tuple of pairs
        Name and text of each field of the label at the top.
    conclusion : str
        The one sentence to take away.
    rests_on : str
        Shots, sessions and looks behind that sentence.
    others : tuple of str
        The same for further bags and grinders, a line each.
    next_steps : tuple of str
        What to do next, most useful first.
    line_sum : tuple of pairs
        Lines read, then the parts that add up to them: number and word.
    lines_sentence : str
        The same sum as a sentence.
    read_sentences : tuple of str
        What else to know about the reading.
    chart_heading, chart_caption : str
        Above and below the strength/extraction chart.
    timeline_caption : str
        Below the shots in time order.
    shots, effects, settings : SheetTable or None
        Tables of the second side.
    no_shots, no_settings : str
        Said where there is no such table.
    effect_notes : tuple of str
        How to read the effects, and why some are absent.
    cannot_tell : tuple of str
        What the log leaves open.
    bag : tuple of str
        The bag across its age; none where no age is known.
    spread : tuple of str
        How much shots differ, what instruments cause of it, and what alarms.
    steady_on_screen : tuple of str
        What paper has no room for: charts without alarm, people compared.
    cautions : tuple of pairs
        Whether it forbids use, and the text, gravest first.
    safety : str
        The usual cautions at the bench.
    how_read : tuple of str
        What was detected and assumed while reading.
    reproducibility : str
        File hash, version and day, so that anyone can make this page again.
    version : str
        Version of the package.
    columns : tuple of tuple of str
        Names of the sections in the two columns of the second side.
    chart_height_mm : int
        How high the chart is printed.
    notes_printed, spread_printed, bag_printed : int or None
        How many of `effect_notes`, `spread` and `bag` stand on paper, the first ones; None
        for all.
    """

    title: str
    label: tuple[tuple[str, str], ...]
    conclusion: str
    rests_on: str
    others: tuple[str, ...]
    next_steps: tuple[str, ...]
    line_sum: tuple[tuple[str, str], ...]
    lines_sentence: str
    read_sentences: tuple[str, ...]
    chart_heading: str
    chart_caption: str
    timeline_caption: str
    shots: SheetTable | None
    effects: SheetTable | None
    settings: SheetTable | None
    no_shots: str
    no_settings: str
    effect_notes: tuple[str, ...]
    cannot_tell: tuple[str, ...]
    bag: tuple[str, ...]
    spread: tuple[str, ...]
    steady_on_screen: tuple[str, ...]
    cautions: tuple[tuple[bool, str], ...]
    safety: str
    how_read: tuple[str, ...]
    reproducibility: str
    version: str
    columns: tuple[tuple[str, ...], ...] = ()
    chart_height_mm: int = 100
    notes_printed: int | None = None
    spread_printed: int | None = None
    bag_printed: int | None = None
