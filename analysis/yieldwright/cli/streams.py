"""Where words go: results to stdout, complaints to stderr, progress to a terminal only."""

from __future__ import annotations

import codecs
import contextlib
import json
import os
import shlex
import shutil
import sys
from collections.abc import Callable, Iterable, Iterator, Mapping
from typing import TYPE_CHECKING, Protocol, TextIO

if TYPE_CHECKING:
    from rich.console import Console, RenderableType
    from rich.progress import Progress

__all__ = [
    "Turn",
    "complain",
    "console",
    "progress",
    "say",
    "say_command",
    "say_in_any_encoding",
    "say_json",
    "say_pairs",
    "share_of",
]


class Turn(Protocol):
    """What takes the step that is done next and, where known, the share of all work done."""

    def __call__(self, step: str, share: float | None = None) -> None:
        """Show a step.

        Parameters
        ----------
        step : str
            What is done from now on.
        share : float or None
            Share of all work that is done, from 0 to 1.
        """


_WIDEST = 100
_NARROWEST = 20
#: Stands where no line may end, and in no text of a log: those are made visible before.
_GLUE = "\x00"
_FALLBACK = "yieldwright-plain"
#: What stands for a sign that an old terminal's encoding lacks.
_PLAIN = {
    "±": "+/-",
    "–": "-",
    "—": "-",
    "−": "-",
    "…": "...",
    "·": "-",
    "•": "-",
    "×": "x",
    "°": "deg ",
    "²": "2",
    "≤": "<=",
    "≥": ">=",
    "→": "->",
    "’": "'",
    "“": '"',
    "”": '"',
    "\N{NO-BREAK SPACE}": " ",
    "\N{NARROW NO-BREAK SPACE}": " ",
}


def complain(message: str) -> None:
    """Write one paragraph to stderr, wrapped where a terminal reads it.

    Parameters
    ----------
    message : str
        From anywhere: control characters are shown as codes.

    Examples
    --------
    >>> complain("shots.csv is empty; write a header and one row a shot")
    """
    import textwrap

    from yieldwright.formatting import visible

    text = visible(message)
    if sys.stderr.isatty():
        width = min(shutil.get_terminal_size().columns, _WIDEST)
        text = textwrap.fill(text, width, break_long_words=False, break_on_hyphens=False)
    sys.stderr.write(f"{text}\n")


def console(stream: TextIO) -> Console:
    """Return a writer that wraps, and colours only where a terminal wants it.

    Text is never taken for markup, and NO_COLOR means no escape codes at all.

    Parameters
    ----------
    stream : text file
        Usually stdout.

    Returns
    -------
    rich.console.Console

    Examples
    --------
    >>> import sys
    >>> console(sys.stdout).print("[bold]two shots")
    [bold]two shots
    """
    from rich.console import Console

    writer = Console(
        file=stream,
        markup=False,
        highlight=False,
        emoji=False,
        color_system=None if os.environ.get("NO_COLOR") else "auto",
    )
    writer.width = min(writer.width, _WIDEST)
    return writer


@contextlib.contextmanager
def progress(first: str) -> Iterator[Turn]:
    """Show what is being done and how far it is, on stderr, on a terminal only.

    Parameters
    ----------
    first : str
        What is done first.

    Yields
    ------
    callable
        Takes what is done next and, where it is known, the share of all work done.

    Examples
    --------
    >>> with progress("reading") as turn_to:
    ...     turn_to("drawing", 0.8)
    """
    if not sys.stderr.isatty():
        yield _say_nothing
        return
    from yieldwright.formatting import visible

    bar = _bar(console(sys.stderr))
    task = bar.add_task("", step=first, total=None)

    def turn_to(step: str, share: float | None = None) -> None:
        total = None if share is None else 1.0
        bar.update(task, step=visible(step), total=total, completed=share or 0.0)

    with bar:
        yield turn_to


def share_of(
    turn_to: Turn, *, start: float = 0.0, end: float = 1.0
) -> Callable[[float, str], None]:
    """Return a way to tell the progress of one part of the work, as reading a log does.

    Parameters
    ----------
    turn_to : callable
        From `progress`.
    start, end : float
        Shares of all work between which the part lies.

    Returns
    -------
    callable
        Takes the share of the part that is done, from 0 to 1, and what is being done.

    Examples
    --------
    >>> with progress("reading") as turn_to:
    ...     share_of(turn_to, end=0.5)(0.2, "reading shots.csv")
    """

    def tell(share: float, step: str) -> None:
        turn_to(step, start + (end - start) * min(max(share, 0.0), 1.0))

    return tell


def say(writer: Console, what: str | RenderableType, *, style: str = "") -> None:
    """Print text or a table; outside a terminal no line ends in blanks.

    Parameters
    ----------
    writer : rich.console.Console
        From `console`.
    what : str or rich renderable
        Text of a log made visible before.
    style : str
        How a terminal shows it.

    Examples
    --------
    >>> import sys
    >>> say(console(sys.stdout), "two shots")
    two shots
    """
    if writer.is_terminal:
        writer.print(what, style=style)
        return
    with writer.capture() as printed:
        writer.print(what, style=style)
    for line in printed.get().splitlines():
        writer.file.write(f"{line.rstrip()}\n")


def say_command(writer: Console, words: Iterable[str]) -> None:
    """Print a command to type next, on one line however long, to be copied whole.

    Parameters
    ----------
    writer : rich.console.Console
        From `console`.
    words : iterable of str
        Its words; one with a blank in it is put in quotes.

    Examples
    --------
    >>> import sys
    >>> say_command(console(sys.stdout), ["yieldwright", "check", "my bench"])
      yieldwright check "my bench"
    """
    from yieldwright.formatting import visible

    line = " ".join(_quoted(visible(word)) for word in words)
    writer.print(f"  {line}", style="bold", soft_wrap=True)


def say_json(account: Mapping[str, object]) -> None:
    """Print one object in ASCII, so that no text of a log can steer a terminal.

    Parameters
    ----------
    account : mapping
        Plain values, every number finite.

    Examples
    --------
    >>> say_json({})
    {}
    """
    sys.stdout.write(json.dumps(account, indent=2, allow_nan=False) + "\n")


def say_pairs(writer: Console, pairs: Iterable[tuple[str, str]]) -> None:
    """Print pairs as two columns, the second wrapped under itself.

    Parameters
    ----------
    writer : rich.console.Console
        From `console`.
    pairs : iterable of tuple of str
        What stands left, and what right; text of a log made visible before.

    Examples
    --------
    >>> import sys
    >>> say_pairs(console(sys.stdout), [("shots.csv", "an empty log")])
      shots.csv  an empty log
    """
    from rich.table import Table
    from rich.text import Text

    table = Table.grid(padding=(0, 2))
    table.add_column(max_width=_WIDEST // 4, overflow="fold")
    table.add_column(overflow="fold")
    rows = [(f"  {left}", right) for left, right in pairs]
    widest = min(max((len(left) for left, _ in rows), default=0), _WIDEST // 4)
    for left, right in rows:
        table.add_row(Text(left, style="bold"), Text(_wrapped(right, writer.width - widest - 2)))
    say(writer, table)


def say_in_any_encoding() -> None:
    """Let stdout and stderr stand signs their encoding lacks, by plain ones.

    Examples
    --------
    >>> say_in_any_encoding()
    """
    codecs.register_error(_FALLBACK, _plain)
    for stream in (sys.stdout, sys.stderr):
        encoding = (getattr(stream, "encoding", None) or "").lower().replace("-", "")
        if hasattr(stream, "reconfigure") and encoding != "utf8":
            stream.reconfigure(errors=_FALLBACK)


def _wrapped(text: str, width: int) -> str:
    """Return a text in lines, no line between a figure and its percent sign."""
    import textwrap

    if " %" not in text or width < _NARROWEST:
        return text
    glued = text.replace(" %", f"{_GLUE}%")
    lines = textwrap.fill(glued, width, break_on_hyphens=False)
    return lines.replace(_GLUE, " ")


def _quoted(word: str) -> str:
    """Return a word in quotes where a shell would make something else of it."""
    if set(word) & set('"`$!'):
        return shlex.quote(word)
    return f'"{word}"' if set(word) & set(" '&|;<>()*?#") else word


def _say_nothing(step: str, share: float | None = None) -> None:
    """Take what is being done where nobody watches."""


def _bar(writer: Console) -> Progress:
    """Return a bar of the share done and the step, which leaves nothing behind."""
    from rich.progress import BarColumn, Progress, TaskProgressColumn, TextColumn
    from rich.table import Column

    step = TextColumn(
        "{task.fields[step]} …", markup=False, table_column=Column(no_wrap=True, ratio=1)
    )
    return Progress(
        BarColumn(bar_width=24),
        TaskProgressColumn(),
        step,
        console=writer,
        transient=True,
        expand=True,
    )


def _plain(problem: UnicodeError) -> tuple[str, int]:
    """Return what stands for signs that cannot be encoded, and where to go on."""
    if not isinstance(problem, UnicodeEncodeError):
        raise problem
    signs = problem.object[problem.start : problem.end]
    return "".join(_PLAIN.get(sign, "?") for sign in signs), problem.end
