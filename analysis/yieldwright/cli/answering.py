"""What commands that ask a log have in common: read, find, draw, and tell it or refuse."""

from __future__ import annotations

import argparse
import sys
from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any, Generic, TypeVar

from yieldwright.cli.drawing import by_kind, draw_parts
from yieldwright.cli.loading import libraries
from yieldwright.cli.places import place_for_figures
from yieldwright.cli.streams import console, progress, say_json, share_of
from yieldwright.errors import YieldwrightError

if TYPE_CHECKING:
    from rich.console import Console

    from yieldwright.results import Result
    from yieldwright.shotlog import ShotLog
    from yieldwright.taste.columns.comparable import ComparableSet

__all__ = ["Answer", "Question", "Telling", "answer_from_log", "others_of", "tell"]


@dataclass(frozen=True, slots=True)
class Answer:
    """What one question brought to light, and what else could be asked.

    Attributes
    ----------
    log : ShotLog
        The log that was asked.
    path : str
        How it was named.
    missing : str
        Why nothing was found; empty where something was.
    others : tuple of ComparableSet
        Other bags and grinders in the log, the last pulled first.
    figures : tuple of str
        Files written.
    """

    log: ShotLog
    path: str
    missing: str = ""
    others: tuple[ComparableSet, ...] = ()
    figures: tuple[str, ...] = ()

    @property
    def parts(self) -> tuple[Result, ...]:
        """Everything that may be drawn."""
        return ()


Found = TypeVar("Found")
Answered = TypeVar("Answered", bound=Answer)


@dataclass(frozen=True, slots=True)
class Telling(Generic[Found]):
    """How one command tells what it found.

    Attributes
    ----------
    account : callable
        From what was found to the object of `--json`.
    refusal : callable
        From how the log was named and what stood in the way to an object of the same keys.
    screen : callable
        Prints what was found for people.
    """

    account: Callable[[Found], Mapping[str, Any]]
    refusal: Callable[[str, Exception], Mapping[str, Any]]
    screen: Callable[[Console, Found, argparse.Namespace], None]


@dataclass(frozen=True, slots=True, kw_only=True)
class Question(Generic[Answered]):
    """How one command finds its answer in a log.

    Attributes
    ----------
    load : callable
        Imports what is slow to load.
    doing : str
        What is done once the log is read.
    find : callable
        From the log and what was typed to the answer.
    share_read, share_found : float
        Of all work, on a log of a season, what is done once the log is read, and once the
        answer is found.
    called : callable
        From a part to the name of its figure.
    """

    load: Callable[[], object]
    doing: str
    find: Callable[[ShotLog, argparse.Namespace], Answered]
    share_read: float
    share_found: float
    called: Callable[[Result], str] = by_kind


def answer_from_log(arguments: argparse.Namespace, question: Question[Answered]) -> Answered:
    """Return the answer of a log, with its figures where they are wanted.

    Parameters
    ----------
    arguments : argparse.Namespace
        With `log`, `as_of`, `figures` and what the question needs.
    question : Question
        What is asked.

    Returns
    -------
    Answer

    Raises
    ------
    UnreadableLogError
        If the log cannot be read at all.
    BenchFileError
        If the bench file beside it is wrong.
    NotWritableError
        If a figure cannot be written; the folder is tried before the log is read.
    """
    with progress("reading the log") as turn_to:
        with libraries():
            question.load()
            from yieldwright.shotlog import read_log

        folder = place_for_figures(arguments.figures)
        told = share_of(turn_to, end=question.share_read)
        log = read_log(arguments.log, as_of=arguments.as_of, progress=told)
        turn_to(question.doing, question.share_read)
        answer = question.find(log, arguments)
        if folder is None or not answer.parts:
            return answer
        turn_to("drawing", question.share_found)
        return replace(answer, figures=draw_parts(answer.parts, folder, called=question.called))


def others_of(
    log: ShotLog, bag: str | None = None, grinder: str = ""
) -> tuple[ComparableSet, ...]:
    """Return the other shots of a log that could be asked about, a bag and grinder each.

    Parameters
    ----------
    log : ShotLog
        A log that was read.
    bag, grinder : str
        Codes of those that were, empty where they have none; no bag where none could be.

    Returns
    -------
    tuple of ComparableSet
        Each with a shot that may be compared; the last pulled first.
    """
    from yieldwright.taste.columns.comparable import comparable_sets

    return tuple(
        each
        for each in comparable_sets(log)
        if (each.bag, each.grinder) != (bag, grinder) and not each.shots.empty
    )


def tell(
    arguments: argparse.Namespace,
    find: Callable[[], Found],
    telling: Callable[[], Telling[Found]],
) -> Found:
    """Print what a command finds, for people or as JSON, and return it.

    Parameters
    ----------
    arguments : argparse.Namespace
        With `log` and `json`.
    find : callable
        Finds it.
    telling : callable
        Imports and returns how it is told.

    Returns
    -------
    what was found

    Raises
    ------
    YieldwrightError, OSError
        What `find` raises; as JSON, an object says so first.

    Examples
    --------
    >>> def refused(path, problem):
    ...     return {"log": path, "error": str(problem)}
    >>> def find():
    ...     raise YieldwrightError("it is empty")
    >>> asked = argparse.Namespace(log="shots.csv", json=True)
    >>> try:
    ...     tell(asked, find, lambda: Telling(dict, refused, print))
    ... except YieldwrightError:
    ...     pass
    {
      "log": "shots.csv",
      "error": "it is empty"
    }
    """
    try:
        found = find()
    except (YieldwrightError, OSError) as problem:
        if arguments.json:
            say_json(telling().refusal(arguments.log, problem))
        raise
    if arguments.json:
        say_json(telling().account(found))
    else:
        telling().screen(console(sys.stdout), found, arguments)
    return found
