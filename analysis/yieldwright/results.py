"""What every result can do: a table, a summary, a look in a notebook, a figure."""

from __future__ import annotations

import importlib
import textwrap
from abc import ABC, abstractmethod
from dataclasses import dataclass
from typing import TYPE_CHECKING, ClassVar

from yieldwright.formatting import clip, count, html_text, number, p_value, visible

if TYPE_CHECKING:
    import pandas as pd
    from matplotlib.axes import Axes

    from yieldwright.cautions import Caution

__all__ = ["ESTIMATE_COLUMNS", "Dropped", "Result"]

#: The columns all tables of estimates share.
ESTIMATE_COLUMNS = (
    "term",
    "estimate",
    "std_error",
    "df",
    "ci_low",
    "ci_high",
    "statistic",
    "p_value",
    "p_holm",
)

_WIDTH = 80
_CELL = 24
_ROWS_SHOWN = 40


@dataclass(frozen=True, slots=True)
class Dropped:
    """Shots a result does not rest on, and why.

    Attributes
    ----------
    count : int
        How many.
    reason : str
        Why, to be read after the count: "without a strength reading".
    """

    count: int
    reason: str

    def __str__(self) -> str:
        """Return count and reason as one phrase."""
        return f"{count(self.count, 'shot')} {self.reason}"


@dataclass(frozen=True, kw_only=True, repr=False)
class Result(ABC):
    """The base of results: text and HTML come from one headline and one table.

    Subclasses are dataclasses with `repr=False`: a result names itself in one line.

    Attributes
    ----------
    n_shots : int
        Shots the figures rest on.
    dropped : tuple of Dropped
        Shots left out, with reasons.
    cautions : tuple of Caution
        What a reader must know before trusting a figure.
    sentences : tuple of str
        The findings in plain words.
    """

    #: Name of the function in the drawing room that draws this result.
    drawing: ClassVar[str] = ""

    n_shots: int
    dropped: tuple[Dropped, ...] = ()
    cautions: tuple[Caution, ...] = ()
    sentences: tuple[str, ...] = ()

    @property
    @abstractmethod
    def title(self) -> str:
        """What was asked, in a few words."""

    @property
    def headline(self) -> tuple[tuple[str, str], ...]:
        """The numbers to read first, as pairs of label and text."""
        left_out = "; ".join(str(entry) for entry in self.dropped if entry.count)
        rows = [("Shots", f"{self.n_shots:,}"), ("Left out", left_out)]
        return tuple((label, text) for label, text in rows if text)

    @abstractmethod
    def to_frame(self) -> pd.DataFrame:
        """Return the full table at full precision."""

    def display_frame(self) -> pd.DataFrame:
        """Return the table as text, rounded for reading.

        Returns
        -------
        DataFrame
            One row per row of the full table, every cell text.
        """
        frame = self.to_frame()
        shown = {name: [_cell(str(name), value) for value in frame[name]] for name in frame}
        return type(frame)(shown)

    def summary(self) -> str:
        """Return headline, sentences, table and cautions as text of 80 columns.

        Returns
        -------
        str
        """
        blocks = [_wrapped(visible(self.title)), _underline(self.title), *self._headline_lines()]
        blocks += ["", *(_wrapped(visible(sentence)) for sentence in self.sentences)]
        blocks += ["", *_table_lines(self.display_frame())]
        blocks += [_wrapped(f"! {visible(caution.text)}", "  ") for caution in self.cautions]
        return "\n".join(blocks).strip() + "\n"

    def plot(self, ax: Axes | None = None) -> Axes:
        """Draw the result.

        Parameters
        ----------
        ax : Axes or None
            Where to draw; by default a new figure.

        Returns
        -------
        Axes

        Raises
        ------
        NotImplementedError
            If this kind of result has no drawing.
        """
        if not self.drawing:
            raise NotImplementedError(f"{type(self).__name__} has no drawing; see to_frame()")
        # The one upward edge of the layers, resolved by name only when a figure is asked for.
        room = importlib.import_module("yieldwright.plots")
        drawn: Axes = getattr(room, self.drawing)(self._drawn, ax=ax)
        return drawn

    @property
    def _drawn(self) -> Result:
        """What the drawing is of; a result made of several says which."""
        return self

    def __repr__(self) -> str:
        """Return kind, title and number of shots, and where to read more."""
        return (
            f"<{type(self).__name__}: {visible(self.title)}, {count(self.n_shots, 'shot')}; "
            "summary() tells it>"
        )

    def _repr_html_(self) -> str:
        """Return headline, sentences, table and cautions as an HTML fragment."""
        head = "".join(
            f"<tr><th scope='row'>{html_text(label)}</th><td>{html_text(text)}</td></tr>"
            for label, text in self.headline
        )
        said = "".join(f"<p>{html_text(sentence)}</p>" for sentence in self.sentences)
        noted = "".join(f"<li>{html_text(caution.text)}</li>" for caution in self.cautions)
        return (
            f"<section><h4>{html_text(self.title)}</h4><table>{head}</table>{said}"
            f"{_table_html(self.display_frame())}{f'<ul>{noted}</ul>' if noted else ''}</section>"
        )

    def _headline_lines(self) -> list[str]:
        width = max((len(label) for label, _ in self.headline), default=0)
        indent = " " * (width + 2)
        return [
            textwrap.fill(f"{label:<{width}}  {visible(text)}", _WIDTH, subsequent_indent=indent)
            for label, text in self.headline
        ]


def _cell(name: str, value: object) -> str:
    if isinstance(value, float):
        return p_value(value) if name.startswith("p_") else number(value)
    return clip(visible(str(value)), _CELL)


def _underline(title: str) -> str:
    return "─" * min(len(title), _WIDTH)


def _wrapped(text: str, indent: str = "") -> str:
    return textwrap.fill(text, _WIDTH, subsequent_indent=indent, break_long_words=True)


def _table_lines(table: pd.DataFrame) -> list[str]:
    """Return a table of text as lines, cut to the columns that fit."""
    columns: list[list[str]] = []
    for name in table.columns:
        cells = [str(name), *map(str, table[name].head(_ROWS_SHOWN))]
        width = max(map(len, cells))
        if sum(len(column[0]) + 2 for column in columns) + width > _WIDTH:
            break
        columns.append([cell.ljust(width) for cell in cells])
    lines = ["  ".join(row).rstrip() for row in zip(*columns, strict=True)]
    hidden = len(table) - _ROWS_SHOWN
    if hidden > 0:
        lines.append(f"… and {count(hidden, 'more row')}; to_frame() has them all")
    if len(columns) < len(table.columns):
        lines.append(f"(to_frame() has {len(table.columns) - len(columns)} more columns)")
    return lines


def _table_html(table: pd.DataFrame) -> str:
    head = "".join(f"<th scope='col'>{html_text(str(name))}</th>" for name in table.columns)
    rows = "".join(
        "<tr>" + "".join(f"<td>{html_text(str(cell))}</td>" for cell in row) + "</tr>"
        for row in table.head(_ROWS_SHOWN).itertuples(index=False)
    )
    hidden = len(table) - _ROWS_SHOWN
    more = (
        f"<p>… and {count(hidden, 'more row')}; to_frame() has them all</p>" if hidden > 0 else ""
    )
    return f"<table><thead><tr>{head}</tr></thead><tbody>{rows}</tbody></table>{more}"
