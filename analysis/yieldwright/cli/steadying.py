"""`yieldwright steady`: how steady the bench is, and what it could see."""

from __future__ import annotations

import argparse
from dataclasses import dataclass
from functools import partial
from typing import TYPE_CHECKING

from yieldwright.cli.answering import (
    Answer,
    Question,
    Telling,
    answer_from_log,
    others_of,
    tell,
)
from yieldwright.cli.drawing import by_kind
from yieldwright.errors import TooFewShotsError

if TYPE_CHECKING:
    from yieldwright.repeatability.steady import Steady
    from yieldwright.results import Result
    from yieldwright.shotlog import ShotLog

__all__ = ["SteadyAnswer", "steady"]

#: Letters of the name of a figure, which any path holds.
_LONGEST_NAME = 80


@dataclass(frozen=True, slots=True)
class SteadyAnswer(Answer):
    """What was found out about a bench, and what else could be asked.

    Attributes
    ----------
    log, path, missing, others, figures
        As of every answer.
    found : Steady or None
        Everything about its steadiness; None where no shot can be compared.
    """

    found: Steady | None = None

    @property
    def parts(self) -> tuple[Result, ...]:
        """Everything that may be drawn."""
        return () if self.found is None else self.found.parts


def steady(arguments: argparse.Namespace) -> int:
    r"""Print how steady the bench of a log is, for people or as JSON.

    Parameters
    ----------
    arguments : argparse.Namespace
        With `log`, `as_of` and everything `add_steady_options` adds.

    Returns
    -------
    int
        0, also where the log cannot tell.

    Raises
    ------
    UnreadableLogError
        If the log cannot be read at all; as JSON, an object says so first.
    BenchFileError
        If the bench file beside it is wrong; likewise.
    UnknownNameError
        If the log has no such bag, grinder, taste or column; likewise.
    RoleError
        If a column is set, counted or written, and not measured; likewise.
    NotWritableError
        If a figure cannot be written; the folder is tried before the log is read.

    Examples
    --------
    >>> from pathlib import Path
    >>> from tempfile import TemporaryDirectory
    >>> from yieldwright.cli.arguments import parse
    >>> with TemporaryDirectory() as folder:
    ...     log = Path(folder, "shots.csv")
    ...     _ = log.write_text("shot,grind_setting,time_s\n1,11,36\n", encoding="utf-8")
    ...     steady(parse(["steady", str(log)]))  # doctest: +ELLIPSIS
    How steady this bench is: all shots
    ...
    0
    """
    tell(arguments, partial(answer_from_log, arguments, _QUESTION), _telling)
    return 0


def _telling() -> Telling[SteadyAnswer]:
    from yieldwright.cli.steady_account import STEADY_KEYS, account_of_steady
    from yieldwright.cli.steady_report import print_steady

    return Telling(account_of_steady, STEADY_KEYS.refusal, print_steady)


def _load() -> None:
    import yieldwright.cli.taste_columns
    import yieldwright.repeatability.steady  # noqa: F401


def _find(log: ShotLog, arguments: argparse.Namespace) -> SteadyAnswer:
    from yieldwright.cli.taste_columns import response_named
    from yieldwright.repeatability.steady import steady

    of = tuple(dict.fromkeys(response_named(name, log) for name in arguments.of))
    try:
        found = steady(
            log,
            bag=arguments.bag,
            grinder=arguments.grinder,
            of=of,
            baseline=arguments.baseline,
        )
    except TooFewShotsError as problem:
        return SteadyAnswer(log, arguments.log, missing=str(problem))
    others = others_of(log, found.bag, found.grinder)
    return SteadyAnswer(log, arguments.log, others=others, found=found)


def _file_name(part: Result) -> str:
    """Return what a figure is called: by its kind, and by the quantity where there are several.

    The names of quantities are ours; a taste is called by the number of letters a path holds.
    """
    column = str(getattr(part, "response", "") or getattr(part, "of", ""))
    kept = "".join(letter if letter.isascii() and letter.isalnum() else "-" for letter in column)
    return f"{by_kind(part)}-{kept}".strip("-")[:_LONGEST_NAME]


_QUESTION = Question(
    load=_load,
    doing="comparing",
    find=_find,
    share_read=0.4,
    share_found=0.8,
    called=_file_name,
)
