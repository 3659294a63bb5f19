"""`yieldwright taste`: what the settings did to taste, and how sure that is."""

from __future__ import annotations

import argparse
import sys
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from yieldwright.cli.drawing import draw_parts
from yieldwright.cli.loading import libraries
from yieldwright.cli.places import place_for_figures
from yieldwright.cli.streams import console, progress, say_json, share_of
from yieldwright.errors import TooFewShotsError, YieldwrightError

if TYPE_CHECKING:
    from collections.abc import Callable

    from yieldwright.cli.streams import Turn
    from yieldwright.shotlog import ShotLog
    from yieldwright.taste.columns.comparable import ComparableSet
    from yieldwright.taste.means.shot_prediction import ShotPrediction
    from yieldwright.taste.taste_fit import TasteFit

__all__ = ["TasteAnswer", "taste"]

#: Of all work, on a log of a season.
_SHARE_READ = 0.3
_SHARE_FITTED = 0.7


@dataclass(frozen=True, slots=True)
class TasteAnswer:
    """What one question brought to light, and what else could be asked.

    Attributes
    ----------
    log : ShotLog
        The log that was asked.
    path : str
        How it was named.
    fit : TasteFit or None
        Effects and all that stands beside them; None where no shot can be compared.
    prediction : ShotPrediction or None
        Of the shot asked for.
    missing : str
        Why there is no effect; empty where there is one.
    others : tuple of ComparableSet
        Other bags and grinders in the log, the last pulled first.
    responses : tuple of str
        What else of these shots could be explained.
    figures : tuple of str
        Files written.
    """

    log: ShotLog
    path: str
    fit: TasteFit | None = None
    prediction: ShotPrediction | None = None
    missing: str = ""
    others: tuple[ComparableSet, ...] = ()
    responses: tuple[str, ...] = ()
    figures: tuple[str, ...] = ()


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
    try:
        answer = _answer(arguments)
    except (YieldwrightError, OSError) as problem:
        if arguments.json:
            from yieldwright.cli.taste_account import account_of_refusal

            say_json(account_of_refusal(arguments.log, problem))
        raise
    if arguments.json:
        from yieldwright.cli.taste_account import account_of_taste

        say_json(account_of_taste(answer))
    else:
        from yieldwright.cli.taste_report import print_taste

        print_taste(console(sys.stdout), answer, arguments)
    return 0


def _answer(arguments: argparse.Namespace) -> TasteAnswer:
    with progress("reading the log") as turn_to:
        with libraries():
            from yieldwright.cli.taste_columns import other_responses
            from yieldwright.shotlog import read_log
            from yieldwright.taste.asking import fit as ask

        folder = place_for_figures(arguments.figures)
        tell = share_of(turn_to, end=_SHARE_READ)
        log = read_log(arguments.log, as_of=arguments.as_of, progress=tell)
        turn_to("fitting", _SHARE_READ)
        try:
            fit = _fit(ask, log, arguments)
        except TooFewShotsError as problem:
            return TasteAnswer(log, arguments.log, missing=str(problem))
        prediction = _predicted(fit, log, arguments.shot_at)
        figures = _drawn(fit, folder, turn_to)
    return TasteAnswer(
        log=log,
        path=arguments.log,
        fit=fit,
        prediction=prediction,
        missing=fit.line.missing,
        others=_other_sets(fit, log),
        responses=other_responses(fit.response, log),
        figures=figures,
    )


def _fit(ask: Callable[..., TasteFit], log: ShotLog, arguments: argparse.Namespace) -> TasteFit:
    """Return the answer to what was typed."""
    from yieldwright.cli.taste_columns import columns_named, require_in_log, response_named
    from yieldwright.taste.fitting import SETTINGS

    settings = columns_named(arguments.settings or (), log)
    allowed = None if arguments.allow_for is None else columns_named(arguments.allow_for, log)
    require_in_log((*settings, *(allowed or ())), log)
    return ask(
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


def _other_sets(fit: TasteFit, log: ShotLog) -> tuple[ComparableSet, ...]:
    from yieldwright.taste.columns.comparable import comparable_sets

    own = (fit.line.bag, fit.line.grinder)
    return tuple(each for each in comparable_sets(log) if (each.bag, each.grinder) != own)


def _drawn(fit: TasteFit, folder: Path | None, turn_to: Turn) -> tuple[str, ...]:
    """Return the names of the figures written: of each part that has something to draw."""
    if folder is None:
        return ()
    turn_to("drawing", _SHARE_FITTED)
    return draw_parts(fit.parts, folder)
