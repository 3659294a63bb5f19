"""Where each column is judged: inside sessions, between sessions, or in one pooled line."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cached_property
from typing import TYPE_CHECKING, Literal

import numpy as np
import numpy.typing as npt
import pandas as pd

from yieldwright.formatting import listing
from yieldwright.models.terms.columns import ROUNDING

if TYPE_CHECKING:
    from collections.abc import Hashable, Sequence

    from yieldwright.taste.columns.predictors import Predictor, Prepared

__all__ = [
    "BETWEEN",
    "POOLED",
    "WITHIN",
    "Layout",
    "codes_of",
    "group_means",
    "laid_out",
    "linked_levels",
]

Array = npt.NDArray[np.float64]
Codes = npt.NDArray[np.intp]

Stratum = Literal["within sessions", "between sessions", "pooled"]

WITHIN: Stratum = "within sessions"
BETWEEN: Stratum = "between sessions"
POOLED: Stratum = "pooled"

#: With fewer shots a session than this on average, sessions cannot be told from shots.
SHOTS_A_SESSION = 2


@dataclass(frozen=True, eq=False)
class Layout:
    """How the rows of a log fall into sessions, and what that allows.

    Attributes
    ----------
    stratum : {"within sessions", "pooled"}
        Where columns that vary from shot to shot are judged.
    blocked : bool
        Whether session differences have to be removed first.
    frame : DataFrame
        Rows for the fit of shots.
    inside : tuple of Predictor
        Judged from shot to shot.
    between : tuple of Predictor
        Constant in every session, judged on session means.
    left_out : tuple of pairs of str
        Columns or levels that cannot be judged, with reasons.
    """

    stratum: Stratum
    blocked: bool
    frame: pd.DataFrame
    inside: tuple[Predictor, ...]
    between: tuple[Predictor, ...]
    left_out: tuple[tuple[str, str], ...] = ()

    @cached_property
    def codes(self) -> Codes:
        """Number of the session of each row, in order of appearance."""
        return codes_of(self.frame["session"])

    @property
    def n_sessions(self) -> int:
        """Number of sessions."""
        return int(self.codes.max()) + 1

    def session_means(self, values: Array) -> Array:
        """Return the mean of some columns in each session.

        Parameters
        ----------
        values : ndarray
            One row per shot.

        Returns
        -------
        ndarray
            One row per session.
        """
        return group_means(values, self.codes)

    @cached_property
    def sessions(self) -> pd.DataFrame:
        """One row per session: its first shot, which holds what is constant in it."""
        _, first = np.unique(self.codes, return_index=True)
        return self.frame.iloc[first].reset_index(drop=True)

    def deviation(self, column: str) -> Array:
        """Return how far each value lies from the mean of its session, rounding removed.

        Parameters
        ----------
        column : str
            Column of numbers.

        Returns
        -------
        ndarray
            One value per shot.
        """
        return _deviation(self.frame[column].to_numpy(dtype=float), self.codes)


def laid_out(prepared: Prepared) -> Layout:
    """Return where each predictor is judged.

    Parameters
    ----------
    prepared : Prepared
        Complete rows.

    Returns
    -------
    Layout

    Notes
    -----
    One session: every column is judged inside it. About one shot a session (fewer than
    two on average): one pooled line. Otherwise sessions are blocks: a column that
    varies inside sessions is judged there, which frees it of bag age and of the day,
    and a column constant in every session is judged between sessions. Levels that were
    never in one session with others cannot be compared inside sessions.
    """
    frame, n_sessions = prepared.frame, prepared.n_sessions
    if n_sessions == 1:
        return Layout(WITHIN, False, frame, prepared.predictors, ())
    if len(frame) < SHOTS_A_SESSION * n_sessions:
        return Layout(POOLED, False, frame, prepared.predictors, ())
    codes = codes_of(frame["session"])
    inside = [each for each in prepared.predictors if _varies_inside(frame, each, codes)]
    between = [each for each in prepared.predictors if each not in inside]
    layout = Layout(WITHIN, True, frame, tuple(inside), tuple(between))
    for predictor in inside:
        if predictor.levels:
            layout = _connected_only(layout, predictor)
    return _still_varying(layout) if len(layout.frame) < len(frame) else layout


def linked_levels(frame: pd.DataFrame, column: str) -> tuple[frozenset[Hashable], ...]:
    """Return the groups of levels that sessions link, directly or through others.

    Parameters
    ----------
    frame : DataFrame
        Rows with a `session`.
    column : str
        Column of levels.

    Returns
    -------
    tuple of frozenset

    Examples
    --------
    >>> import pandas as pd
    >>> rows = pd.DataFrame({"session": ["a", "a", "b"], "temp_band": ["low", "high", "medium"]})
    >>> [sorted(group) for group in linked_levels(rows, "temp_band")]
    [['high', 'low'], ['medium']]
    """
    seen: dict[Hashable, set[Hashable]] = {}
    for session, level in zip(frame["session"], frame[column], strict=True):
        seen.setdefault(session, set()).add(level)
    groups: list[frozenset[Hashable]] = []
    for levels in seen.values():
        touching = [group for group in groups if group & levels]
        groups = [group for group in groups if group not in touching]
        groups.append(frozenset(levels).union(*touching))
    return tuple(groups)


def codes_of(session: pd.Series) -> Codes:
    """Return sessions as numbers in order of appearance.

    Parameters
    ----------
    session : Series
        One name per shot.

    Returns
    -------
    ndarray

    Examples
    --------
    >>> import pandas as pd
    >>> codes_of(pd.Series(["b", "a", "b"])).tolist()
    [0, 1, 0]
    """
    return np.asarray(pd.factorize(session.array)[0])


def group_means(values: Array, codes: Codes) -> Array:
    """Return the mean of some columns in each group.

    Parameters
    ----------
    values : ndarray
        One row per row.
    codes : ndarray
        Number of the group of each row, from 0 without gaps.

    Returns
    -------
    ndarray
        One row per group.

    Examples
    --------
    >>> group_means(np.array([[1.0], [3.0], [5.0]]), np.array([0, 0, 1])).tolist()
    [[2.0], [5.0]]
    """
    counts = np.bincount(codes)
    if values.ndim == 1:
        return np.bincount(codes, values) / counts
    sums = [np.bincount(codes, column, len(counts)) for column in values.T]
    means: Array = np.reshape(sums, (values.shape[1], len(counts))).T / counts[:, np.newaxis]
    return means


def _deviation(values: Array, codes: Codes) -> Array:
    deviation = values - group_means(values, codes)[codes]
    rounding = 100 * ROUNDING * np.abs(values).max()
    return np.where(np.abs(deviation) > rounding, deviation, 0.0)


def _varies_inside(frame: pd.DataFrame, predictor: Predictor, codes: Codes) -> bool:
    if predictor.levels:
        pairs = set(zip(codes.tolist(), frame[predictor.column].tolist(), strict=True))
        return len(pairs) > int(codes.max()) + 1
    return bool(_deviation(frame[predictor.column].to_numpy(dtype=float), codes).any())


def _connected_only(layout: Layout, predictor: Predictor) -> Layout:
    """Return the layout with only those levels of a factor that sessions link together."""
    parts = linked_levels(layout.frame, predictor.column)
    if len(parts) == 1:
        return layout
    sizes = {part: int(layout.frame[predictor.column].isin(part).sum()) for part in parts}
    main = max((part for part in parts if len(part) > 1), key=lambda part: sizes[part])
    lone = [level for level in predictor.levels if level not in main]
    if not lone:
        return layout
    kept = replace(predictor, levels=tuple(each for each in predictor.levels if each in main))
    why = (
        f"{listing([str(level) for level in lone])} never stood in one session with "
        f"{listing([str(level) for level in kept.levels], last='or')}"
    )
    return replace(
        layout,
        frame=_without_lone_levels(layout.frame, kept, parts, main),
        inside=tuple(kept if each is predictor else each for each in layout.inside),
        left_out=(*layout.left_out, (predictor.column, why)),
    )


def _still_varying(layout: Layout) -> Layout:
    """Return the layout without columns that only varied in rows it has lost."""
    kept = [each for each in layout.inside if _varies_inside(layout.frame, each, layout.codes)]
    lost = [each for each in layout.inside if each not in kept]
    why = "varied only in shots that cannot be compared"
    left_out = (*layout.left_out, *((each.column, why) for each in lost))
    return replace(layout, inside=tuple(kept), left_out=left_out)


def _without_lone_levels(
    frame: pd.DataFrame,
    kept: Predictor,
    parts: Sequence[frozenset[Hashable]],
    main: frozenset[Hashable],
) -> pd.DataFrame:
    """Return rows in which a lone level stands as the reference: its sessions absorb it."""
    values = frame[kept.column]
    elsewhere = [level for part in parts if part != main and len(part) > 1 for level in part]
    recoded = values.where(values.isin(main), str(kept.levels[0]))
    return frame.assign(**{kept.column: recoded})[~values.isin(elsewhere)].reset_index(drop=True)
