"""How one column of a workbook takes what is typed, so that no spreadsheet changes it.

A spreadsheet turns 0:36 into a time of day, 1:2 into another, 18.5 into a day in May where
its decimal mark is a comma, and 007 into 7. What may be mistaken so is kept as text; where
numbers are kept as numbers, their range stops whatever became a day or a time.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

from yieldwright.formatting import clip, listing, visible
from yieldwright.glossary import NOTES_LIMIT, Span
from yieldwright.shotlog.starting.dictionary import spoken

if TYPE_CHECKING:
    from yieldwright.bench import Bench
    from yieldwright.glossary import Quantity
    from yieldwright.shotlog.starting.columns import StartingColumn

__all__ = ["AS_TEXT", "LONGEST_ERROR", "LONGEST_PROMPT", "CellRule", "cell_rule"]

AS_TEXT = "@"
#: Characters that a spreadsheet shows of a prompt and of a refusal.
LONGEST_PROMPT = 255
LONGEST_ERROR = 225

_FORMATS = {
    "number": "0.0##",
    "integer": "0",
    "date": "yyyy-mm-dd",
    "moment": "yyyy-mm-dd hh:mm",
}
#: A spreadsheet's numbers of 2000-01-01 and of 2099-12-31.
_DAYS = Span(36526, 73050)
#: What a choked or gushed pull may carry to any length; its row is not set aside.
_OUTCOMES = frozenset({"beverage_g", "tds_pct"})
_CLOCK_UNITS = frozenset({"s", "min"})

Takes = Literal["anything", "choice", "number", "whole", "day", "length"]


@dataclass(frozen=True, slots=True)
class CellRule:
    """What the cells of one column look like, offer and refuse.

    Attributes
    ----------
    number_format : str
        As a spreadsheet writes it; `AS_TEXT` keeps what is typed.
    takes : str
        What may be typed.
    choices : tuple of str
        Words to choose from.
    span : Span
        Numbers, day numbers or lengths of text that are taken.
    usual : Span
        Numbers outside are taken, and shaded.
    may_insist : bool
        Whether a person may keep what the rule refuses.
    prompt : str
        What is told before something is typed.
    error : str
        What is told when it is refused.
    """

    number_format: str
    takes: Takes
    choices: tuple[str, ...]
    span: Span
    usual: Span
    may_insist: bool
    prompt: str
    error: str

    @property
    def asks_for_time(self) -> bool:
        """Whether a day alone is not enough."""
        return self.number_format == _FORMATS["moment"]


def cell_rule(column: StartingColumn, bench: Bench) -> CellRule:
    """Return how a column takes what is typed.

    Parameters
    ----------
    column : StartingColumn
        With the ranges of the bench.
    bench : Bench
        Its bands, grinders and attributes are offered to choose from.

    Returns
    -------
    CellRule

    Examples
    --------
    >>> from yieldwright.bench import Bench
    >>> from yieldwright.shotlog.starting.columns import starting_columns
    >>> rules = {c.name: cell_rule(c, Bench()) for c in starting_columns(Bench())}
    >>> rules["dose_g"].number_format, str(rules["dose_g"].span), rules["time_s"].number_format
    ('0.0##', '5–30', '@')
    """
    entry = column.entry
    choices = _choices(entry, bench)
    takes, span = _taken(entry, choices)
    has_usual = takes in ("number", "whole") and entry.soft != entry.hard
    return CellRule(
        number_format=_format(entry),
        takes=takes,
        choices=choices,
        span=span,
        usual=entry.soft if has_usual else Span(),
        may_insist=_may_insist(entry, bench),
        prompt=_prompt(column, choices),
        error=clip(_error(entry, choices), LONGEST_ERROR),
    )


def _choices(entry: Quantity, bench: Bench) -> tuple[str, ...]:
    own = {
        "temp_band": [band.name for band in bench.bands],
        "grinder": [grinder.name for grinder in bench.grinders],
        "attribute": [attribute.name for attribute in bench.attributes],
    }
    if entry.kind == "flag":
        return ("yes", "no")
    return entry.choices or tuple(own.get(entry.name, ()))


def _keeps_text(entry: Quantity) -> bool:
    """Return whether numbers are kept as text: times of a clock, and any without an end."""
    if not entry.is_numeric:
        return True
    has_end = math.isfinite(entry.hard.low) and entry.hard.high < _DAYS.low
    return entry.unit in _CLOCK_UNITS or entry.name == "brew_ratio" or not has_end


def _format(entry: Quantity) -> str:
    if entry.is_numeric and _keeps_text(entry):
        return AS_TEXT
    return _FORMATS.get(entry.kind, AS_TEXT)


def _taken(entry: Quantity, choices: tuple[str, ...]) -> tuple[Takes, Span]:
    if choices:
        return "choice", Span()
    if entry.kind in ("date", "moment"):
        return "day", _DAYS
    if entry.name == "notes":
        return "length", Span(0, NOTES_LIMIT)
    if _keeps_text(entry):
        return "anything", Span()
    return ("whole" if entry.kind == "integer" else "number"), entry.hard


def _may_insist(entry: Quantity, bench: Bench) -> bool:
    """Return whether what the rule refuses may be right all the same."""
    if entry.name == "temp_band":
        return "bands" not in bench.stated
    own_words = entry.kind == "text"
    return own_words or entry.kind == "moment" or entry.name in _OUTCOMES


def _prompt(column: StartingColumn, choices: tuple[str, ...]) -> str:
    """Return meaning, unit, ranges and example; the meaning gives way where room is short."""
    entry = column.entry
    facts = [_how(entry, choices), _ranges(entry)]
    if column.example and entry.kind != "moment":
        facts.append(f"Example: {clip(visible(column.example), 30)}")
    rest = " ".join(fact for fact in facts if fact)
    return f"{clip(visible(entry.meaning), LONGEST_PROMPT - 1 - len(rest))} {rest}".strip()


def _how(entry: Quantity, choices: tuple[str, ...]) -> str:
    if choices:
        return "Choose from the list."
    if entry.kind == "moment":
        return "Write both, such as 2026-03-07 10:25, by the clock of the bench."
    if entry.kind == "date":
        return "A day; it is shown year first, so see whether it was taken rightly."
    if not entry.is_numeric:
        return ""
    unit = "" if entry.unit in ("", "1") else f" in {entry.unit}"
    if entry.unit == "s":
        return "Seconds, or minutes:seconds: 36 or 0:36."
    return f"A {'whole ' if entry.kind == 'integer' else ''}number{unit}."


def _ranges(entry: Quantity) -> str:
    if not entry.is_numeric:
        return ""
    usual, taken = spoken(entry.soft), spoken(entry.hard)
    if usual == taken:
        return f"From {taken}." if taken else ""
    return f"Usually {usual}; outside {taken} the row is set aside." if usual else ""


def _error(entry: Quantity, choices: tuple[str, ...]) -> str:
    """Return why something was refused, and what to do."""
    if choices:
        shown = listing([clip(visible(choice), 24) for choice in choices[:6]], last="or")
        more = " …" if len(choices) > 6 else ""
        return f"Not in the list of {entry.label.lower()}: {shown}{more}."
    if entry.kind == "moment":
        return (
            "No day and time a spreadsheet knows. Keep it only if it is written year first with "
            "the offset of the clock, as 2026-03-07T10:25+01:00."
        )
    if entry.kind == "date":
        return "No day from 2000 on. Write it year first, as 2026-03-07."
    if entry.name == "notes":
        return f"A note holds at most {NOTES_LIMIT:,} characters."
    unit = "" if entry.unit in ("", "1") else f" {entry.unit}"
    insist = " A pull that failed may: keep it." if entry.name in _OUTCOMES else ""
    return (
        f"{entry.label} lies outside {spoken(entry.hard)}{unit}; the row would be set aside."
        f"{insist} Was the other decimal mark meant? A range is widened in bench.toml."
    )
