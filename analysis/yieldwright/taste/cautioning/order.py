"""The order of the settings: chosen by the last shot, in blocks, or along the session."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt
from scipy import special

from yieldwright.cautions import Caution, Severity
from yieldwright.formatting import listing, sentence_case
from yieldwright.taste.columns.by_hand import set_by_hand
from yieldwright.taste.confounding.reacting import as_numbers, reacting_settings
from yieldwright.taste.strata.strata import POOLED, group_means
from yieldwright.taste.words.wording import column_label

if TYPE_CHECKING:
    from collections.abc import Iterator

    from yieldwright.taste.cautioning.fitted import FittedShots

__all__ = ["about_order", "neighbours_alike"]

Codes = npt.NDArray[np.intp]

#: Chance of calling one setting of a shuffled log blocked, or in order.
ALPHA = 0.005


def about_order(fitted: FittedShots) -> Iterator[Caution]:
    """Yield cautions on settings that an order fixed by chance would rarely give.

    Parameters
    ----------
    fitted : FittedShots
        Shots of a fit.

    Yields
    ------
    Caution
    """
    yield from _reacting(fitted)
    if fitted.findings.inside.layout.stratum == POOLED:
        return
    along = tuple(_in_order(fitted))
    if along:
        yield Caution(
            "settings-in-order",
            "care",
            f"{_subject(along)} rose or fell as a session went on, and the fit does not allow for "
            "that: a group that warms up looks like their effect.",
            "Shuffle the settings inside each session, and allow for position.",
            along,
        )
    blocked = tuple(each for each in _in_blocks(fitted) if each not in along)
    if blocked:
        yield _blocks(blocked, allowed_for=_allows_for_position(fitted))


def neighbours_alike(levels: Codes, codes: Codes) -> float:
    """Return the p-value of so many neighbours of one level in an order drawn by lot.

    Parameters
    ----------
    levels : ndarray
        Number of the level of each shot, session by session in the order pulled.
    codes : ndarray
        Number of the session of each shot.

    Returns
    -------
    float
        One-sided; 1 where no session holds several levels.

    Notes
    -----
    Each session is shuffled on its own: the number of runs has the mean and variance of
    Mood, and their sum over sessions is taken as normal, half a pair taken off.

    References
    ----------
    .. [1] Mood (1940), Ann. Math. Stat. 11, 367, section 4: runs of k kinds of elements.

    Examples
    --------
    >>> blocks = np.repeat([0, 1, 0, 1, 1, 0], 4)
    >>> neighbours_alike(blocks, np.repeat([0, 1, 2], 8)) < 0.001
    True
    """
    alike = (levels[1:] == levels[:-1]) & (codes[1:] == codes[:-1])
    table = np.zeros((int(codes.max()) + 1, int(levels.max()) + 1))
    np.add.at(table, (codes, levels), 1.0)
    n = table.sum(axis=1)
    squares, cubes = (table**2).sum(axis=1), (table**3).sum(axis=1)
    several = n > 1
    variance = squares * (squares + n * (n + 1)) - 2 * n * cubes - n**3
    variance = variance[several] / (n**2 * (n - 1))[several]
    expected = ((squares - n)[several] / n[several]).sum()
    if not variance.sum() > 1e-9:
        return 1.0
    statistic = (alike.sum() - 0.5 - expected) / math.sqrt(float(variance.sum()))
    return float(special.ndtr(-statistic))


def _reacting(fitted: FittedShots) -> Iterator[Caution]:
    columns = reacting_settings(fitted.findings, fitted.order)
    if columns:
        yield Caution(
            "reactive-settings",
            "care",
            f"{_subject(columns)} followed the {fitted.findings.words.noun} of the shot "
            "before: a chance miss that rights itself then looks like its effect.",
            "Fix the order of the settings before the session.",
            columns,
        )


def _in_blocks(fitted: FittedShots) -> Iterator[str]:
    codes = fitted.findings.inside.layout.codes[fitted.order]
    for setting in set_by_hand(fitted.frame, fitted.settings):
        if fitted.is_told(setting.column, "position"):
            continue
        levels = np.asarray(fitted.frame[setting.column].factorize()[0])[fitted.order]
        if neighbours_alike(levels, codes) < ALPHA:
            yield setting.column


def _blocks(columns: tuple[str, ...], *, allowed_for: bool) -> Caution:
    severity: Severity = "note" if allowed_for else "care"
    drift = "drifts otherwise than evenly" if allowed_for else "drifts"
    return Caution(
        "settings-in-blocks",
        severity,
        f"{_subject(columns)} changed in blocks inside sessions: what {drift} as a group warms "
        "up or tasters tire looks like their effect.",
        "Mix the order, such as A B B A B A A B.",
        columns,
    )


def _in_order(fitted: FittedShots) -> Iterator[str]:
    """Yield the settings that went with the order of a session, where it is not allowed for."""
    if _allows_for_position(fitted):
        return
    codes = fitted.findings.inside.layout.codes[fitted.order]
    place = np.arange(len(codes), dtype=float)
    for setting in fitted.settings:
        values = as_numbers(setting, fitted.frame)[fitted.order]
        if not fitted.is_told(setting.column, "position") and _trend(values, place, codes) < ALPHA:
            yield setting.column


def _trend(values: npt.NDArray[np.float64], place: npt.NDArray[np.float64], codes: Codes) -> float:
    """Return the p-value of a correlation inside sessions; 1 where nothing varies there."""
    columns = np.column_stack([values, place])
    inside = columns - group_means(columns, codes)[codes]
    df = len(codes) - int(codes.max()) - 2
    size = math.sqrt(float((inside[:, 0] ** 2).sum() * (inside[:, 1] ** 2).sum()))
    if df < 1 or size < 1e-9:
        return 1.0
    correlation = float(inside[:, 0] @ inside[:, 1]) / size
    statistic = correlation * math.sqrt(df / max(1 - correlation**2, 1e-12))
    return float(2 * special.stdtr(df, -abs(statistic)))


def _allows_for_position(fitted: FittedShots) -> bool:
    fit = fitted.findings.inside.fit
    return fit is not None and any(each.column == "position" for each in fit.predictors)


def _subject(columns: tuple[str, ...]) -> str:
    return sentence_case(listing([column_label(column) for column in columns]))
