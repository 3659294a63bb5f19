"""`yieldwright taste`: what the settings did to taste, and how sure that is."""

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
from yieldwright.errors import TooFewShotsError

if TYPE_CHECKING:
    from yieldwright.results import Result
    from yieldwright.shotlog import ShotLog
    from yieldwright.taste.means.shot_prediction import ShotPrediction
    from yieldwright.taste.taste_fit import TasteFit

__all__ = ["TasteAnswer", "taste"]


@dataclass(frozen=True, slots=True)
class TasteAnswer(Answer):
    """What one question brought to light, and what else could be asked.

    Attributes
    ----------
    log, path, missing, others, figures
        As of every answer.
    fit : TasteFit or None
        Effects and all that stands beside them; None where no shot can be compared.
    prediction : ShotPrediction or None
        Of the shot asked for.
    responses : tuple of str
        What else of these shots could be explained.
    """

    fit: TasteFit | None = None
    prediction: ShotPrediction | None = None
    responses: tuple[str, ...] = ()

    @property
    def parts(self) -> tuple[Result, ...]:
        """Everything that may be drawn."""
        return () if self.fit is None else self.fit.parts


def taste(arguments: argparse.Namespace) -> int:
    r"""Print what the settings did to one response, for people or as JSON.

    Parameters
    ----------
    arguments : argparse.Namespace
        With `log`, `as_of` and everything `add_taste_options` adds.

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
        If a column cannot play the part it was asked to play, or is not logged; likewise.
    NotWritableError
        If a figure cannot be written; the folder is tried before the log is read.

    Examples
    --------
    >>> from pathlib import Path
    >>> from tempfile import TemporaryDirectory
    >>> from yieldwright.cli.arguments import parse
    >>> with TemporaryDirectory() as folder:
    ...     log = Path(folder, "shots.csv")
    ...     _ = log.write_text("shot,grind_setting,overall\n1,11,6\n", encoding="utf-8")
    ...     taste(parse(["taste", str(log)]))  # doctest: +ELLIPSIS
    What the settings did to the overall score
    ...
    0
    """
    tell(arguments, partial(answer_from_log, arguments, _QUESTION), _telling)
    return 0


def _telling() -> Telling[TasteAnswer]:
    from yieldwright.cli.taste_account import TASTE_KEYS, account_of_taste
    from yieldwright.cli.taste_report import print_taste

    return Telling(account_of_taste, TASTE_KEYS.refusal, print_taste)


def _load() -> None:
    import yieldwright.cli.taste_columns
    import yieldwright.taste.asking  # noqa: F401


def _find(log: ShotLog, arguments: argparse.Namespace) -> TasteAnswer:
    from yieldwright.cli.taste_columns import other_responses

    try:
        fit = _fit(log, arguments)
    except TooFewShotsError as problem:
        return TasteAnswer(log, arguments.log, missing=str(problem))
    return TasteAnswer(
        log,
        arguments.log,
        missing=fit.line.missing,
        others=others_of(log, fit.line.bag, fit.line.grinder),
        fit=fit,
        prediction=_predicted(fit, log, arguments.shot_at),
        responses=other_responses(fit.response, log),
    )


def _fit(log: ShotLog, arguments: argparse.Namespace) -> TasteFit:
    """Return the answer to what was typed."""
    from yieldwright.cli.taste_columns import columns_named, require_in_log, response_named
    from yieldwright.taste.asking import fit
    from yieldwright.taste.fitting import SETTINGS

    settings = columns_named(arguments.settings or (), log)
    allowed = None if arguments.allow_for is None else columns_named(arguments.allow_for, log)
    require_in_log((*settings, *(allowed or ())), log)
    return fit(
        log,
        response_named(arguments.response, log),
        settings=settings or SETTINGS,
        adjusters=allowed,
        bag=arguments.bag,
        grinder=arguments.grinder,
        pool_bags=arguments.pool_bags,
        model=arguments.model,
    )


def _predicted(fit: TasteFit, log: ShotLog, at: dict[str, str] | None) -> ShotPrediction | None:
    from yieldwright.cli.taste_columns import column_named

    if at is None or fit.findings is None:
        return None
    return fit.predict({column_named(name, log): value for name, value in at.items()})


_QUESTION = Question(load=_load, doing="fitting", find=_find, share_read=0.3, share_found=0.7)
