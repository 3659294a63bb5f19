"""Parts of an answer on a screen: a title, what is said, a table, and what to beware of."""

from __future__ import annotations

from typing import TYPE_CHECKING

from yieldwright.cli.streams import say, say_command, say_pairs
from yieldwright.formatting import listing, visible

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    import pandas as pd
    from rich.console import Console

    from yieldwright.cautions import Caution
    from yieldwright.results import Result

__all__ = [
    "say_cautions",
    "say_figures",
    "say_nothing_found",
    "say_part",
    "say_table",
    "say_whole",
]


def say_part(writer: Console, title: str, sentences: Iterable[str]) -> None:
    """Print a title and sentences below it; nothing where there is none.

    Parameters
    ----------
    writer : rich.console.Console
        From `console`.
    title : str
        What the sentences are about.
    sentences : iterable of str
        Text of a log may stand in them.

    Examples
    --------
    >>> import sys
    >>> from yieldwright.cli.streams import console
    >>> say_part(console(sys.stdout), "What age did", ["Nothing."])
    <BLANKLINE>
    What age did
      -  Nothing.
    """
    told = [visible(sentence) for sentence in sentences if sentence]
    if told:
        say(writer, f"\n{visible(title)}", style="bold")
        say_pairs(writer, (("-", sentence) for sentence in told))


def say_table(writer: Console, table: pd.DataFrame, *, above: bool = False) -> None:
    """Print a table of texts within the screen: its first column wraps, figures never.

    Parameters
    ----------
    writer : rich.console.Console
        From `console`.
    table : DataFrame
        One row per row shown, every cell text.
    above : bool
        Whether an empty line goes before it.

    Examples
    --------
    >>> import sys
    >>> import pandas as pd
    >>> from yieldwright.cli.streams import console
    >>> say_table(console(sys.stdout), pd.DataFrame({"One step": ["a"], "Effect": ["+1"]}))
      One step  Effect
      a         +1
    """
    from rich.padding import Padding
    from rich.table import Table
    from rich.text import Text

    if table.empty:
        return
    if above:
        say(writer, "")
    shown = Table(box=None, padding=(0, 2, 0, 0), pad_edge=False, header_style="bold")
    for place, name in enumerate(table.columns):
        shown.add_column(str(name), no_wrap=place > 0, overflow="fold")
    for row in table.itertuples(index=False, name=None):
        shown.add_row(*(Text(visible(str(cell))) for cell in row))
    say(writer, Padding(shown, (0, 0, 0, 2)))


def say_whole(writer: Console, part: Result) -> None:
    """Print a part with its sentences and its table.

    Parameters
    ----------
    writer : rich.console.Console
        From `console`.
    part : Result
        A part of an answer.
    """
    say_part(writer, part.title, part.sentences)
    table = part.display_frame()
    if not table.empty:
        say_table(writer, table, above=bool(part.sentences))


def say_cautions(writer: Console, cautions: Sequence[Caution]) -> None:
    """Print what a reader must know before trusting a figure; nothing where there is none.

    Parameters
    ----------
    writer : rich.console.Console
        From `console`.
    cautions : sequence of Caution
        In the order to print them.

    Examples
    --------
    >>> import sys
    >>> from yieldwright.cautions import Caution
    >>> from yieldwright.cli.streams import console
    >>> say_cautions(console(sys.stdout), [Caution("few-shots", "care", "Few shots.")])
    <BLANKLINE>
    Read with care
      care  Few shots.
    """
    if not cautions:
        return
    say(writer, "\nRead with care", style="bold")
    say_pairs(writer, ((each.severity, visible(each.text)) for each in cautions))


def say_nothing_found(writer: Console, missing: str, path: str) -> None:
    """Print why no shot can be compared, and the command that says what was read.

    Parameters
    ----------
    writer : rich.console.Console
        From `console`.
    missing : str
        The reason.
    path : str
        How the log was named.

    Examples
    --------
    >>> import sys
    >>> from yieldwright.cli.streams import console
    >>> say_nothing_found(console(sys.stdout), "it holds no shot", "my-bench")
    The log cannot tell: it holds no shot.
    <BLANKLINE>
    What was read of it, and what was set aside:
      yieldwright check my-bench
    """
    say(writer, f"The log cannot tell: {visible(missing)}.")
    say(writer, "\nWhat was read of it, and what was set aside:")
    say_command(writer, ["yieldwright", "check", path])


def say_figures(writer: Console, names: Sequence[str], folder: str | None) -> None:
    """Print which figures were written, and where; nothing where none was.

    Parameters
    ----------
    writer : rich.console.Console
        From `console`.
    names : sequence of str
        Names of files.
    folder : str or None
        As typed.
    """
    if names and folder is not None:
        say(writer, f"\nFigures: {listing(list(names))} in {visible(folder)}")
