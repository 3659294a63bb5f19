"""An empty log as a workbook: lists, ranges and prompts where one types, and a dictionary."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from itertools import zip_longest
from typing import TYPE_CHECKING, NamedTuple

from yieldwright.formatting import clip, visible
from yieldwright.glossary import Span
from yieldwright.shotlog.starting._workbook_pages import (
    dictionary_sheet,
    example_sheet,
    guidance_sheet,
)
from yieldwright.shotlog.starting.cell_rules import CellRule, cell_rule
from yieldwright.shotlog.starting.columns import (
    StartingColumn,
    starting_columns,
    tasting_columns,
)
from yieldwright.shotlog.workbooks.binding import column_letters
from yieldwright.shotlog.workbooks.markup import LAST_ROW, FormSheet, TypingRule, form_workbook

if TYPE_CHECKING:
    from yieldwright.bench import Bench

__all__ = ["workbook_template"]

_LONGEST_TITLE = 32
_KINDS = {
    "anything": "",
    "choice": "list",
    "number": "decimal",
    "whole": "whole",
    "day": "date",
    "length": "textLength",
}


class _Placed(NamedTuple):
    """One column of a sheet: where it stands, what it holds, how it takes it."""

    letter: str
    column: StartingColumn
    rule: CellRule

    @property
    def below(self) -> str:
        """The cells below the head."""
        return f"{self.letter}2:{self.letter}{LAST_ROW}"


def workbook_template(bench: Bench) -> bytes:
    """Return an empty log as a workbook whose cells take what the bench can mean.

    Sheets: `shots`, `tastings`, `read me`, `dictionary`, `example`, and `lists`, from which
    cells offer their choices. No sheet holds a shot to be read.

    Parameters
    ----------
    bench : Bench
        Its headers, bands, grinders, attributes and ranges are used.

    Returns
    -------
    bytes
        The same for the same bench, on any day.

    Examples
    --------
    >>> from yieldwright.bench import Bench
    >>> workbook_template(Bench())[:2]
    b'PK'
    """
    shots = _placed(starting_columns(bench), bench)
    tastings = _placed(tasting_columns(bench), bench)
    lists = _Lists()
    sheets = [
        _log_sheet("shots", shots, lists),
        _log_sheet("tastings", tastings, lists),
        guidance_sheet(),
        dictionary_sheet(bench),
        example_sheet([each.column for each in shots], [_width(each) for each in shots]),
    ]
    return form_workbook([*sheets, lists.sheet()])


def _placed(columns: Iterable[StartingColumn], bench: Bench) -> list[_Placed]:
    return [
        _Placed(column_letters(at), column, cell_rule(column, bench))
        for at, column in enumerate(columns)
    ]


class _Lists:
    """The sheet that holds the words to choose from, a column for each list."""

    def __init__(self) -> None:
        self._titles: dict[tuple[str, ...], str] = {}

    def range_of(self, title: str, words: tuple[str, ...]) -> str:
        """Return where a list stands, kept once however many columns use it."""
        self._titles.setdefault(words, title)
        letter = column_letters(list(self._titles).index(words))
        return f"lists!${letter}$2:${letter}${len(words) + 1}"

    def sheet(self) -> FormSheet:
        """Return all lists side by side."""
        rows = zip_longest(*self._titles, fillvalue="")
        return FormSheet("lists", [[*self._titles.values()], *rows], [18.0] * len(self._titles))


def _log_sheet(name: str, columns: Sequence[_Placed], lists: _Lists) -> FormSheet:
    rules = [rule for each in columns for rule in _typing_rules(each, lists)]
    doubts = [(each.below, doubt) for each in columns if (doubt := _doubt(each))]
    return FormSheet(
        name,
        [[each.column.header for each in columns]],
        [_width(each) for each in columns],
        formats=[each.rule.number_format for each in columns],
        frozen="B2",
        rules=rules,
        doubts=doubts,
    )


def _typing_rules(placed: _Placed, lists: _Lists) -> Iterator[TypingRule]:
    """Yield what the cells of a column offer and refuse, and what its head tells."""
    letter, column, rule = placed
    title = clip(visible(column.entry.axis_label), _LONGEST_TITLE)
    formulas: tuple[str, ...] = ()
    if rule.choices:
        formulas = (lists.range_of(column.header, rule.choices),)
    elif rule.span != Span():
        formulas = (_figure(rule.span.low), _figure(rule.span.high))
    yield TypingRule(
        placed.below,
        title,
        rule.prompt,
        _KINDS[rule.takes],
        formulas,
        rule.error,
        rule.may_insist,
    )
    yield TypingRule(f"{letter}1", title, rule.prompt)


def _doubt(placed: _Placed) -> str:
    """Return the formula that is true where a cell is taken but unusual; empty without one."""
    cell, rule = f"{placed.letter}2", placed.rule
    if rule.usual != Span():
        low, high = _figure(rule.usual.low), _figure(rule.usual.high)
        return f"AND(ISNUMBER({cell}),OR({cell}<{low},{cell}>{high}))"
    if rule.asks_for_time:  # a day alone would pass for midnight
        return f"AND(ISNUMBER({cell}),MOD({cell},1)=0)"
    return ""


def _figure(value: float) -> str:
    """Return a number as a formula writes it."""
    return f"{value:.15g}"


def _width(placed: _Placed) -> float:
    """Return a width that shows heads, choices and whole days, for which ### would stand."""
    column, rule = placed.column, placed.rule
    if column.name == "notes":
        return 40.0
    shown = (column.header, column.example[:16], rule.number_format, *rule.choices)
    return min(max(map(len, shown)) + 4.0, 26.0)
