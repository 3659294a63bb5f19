"""A question about ordered levels, checked and put into columns fit for solving."""

from __future__ import annotations

from collections.abc import Hashable, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt
import pandas as pd

from yieldwright.errors import (
    MisalignedError,
    OutOfRangeError,
    TooFewShotsError,
    UnknownNameError,
)
from yieldwright.models.linear.aliasing import require_separable
from yieldwright.models.linear.scaling import centred_and_scaled
from yieldwright.models.ordinal._likelihood import Likelihood
from yieldwright.models.ordinal._links import Link, link_named
from yieldwright.models.terms.columns import levels_present
from yieldwright.models.wording import nearest, quoted, quoted_list

if TYPE_CHECKING:
    from yieldwright.models.terms.design import Design

Array = npt.NDArray[np.float64]
Codes = npt.NDArray[np.intp]


@dataclass(frozen=True, slots=True, eq=False)
class Scores:
    """A response of ordered levels, coded by the levels that occur.

    Attributes
    ----------
    codes : ndarray of int
        Number of the level of each row, from 0.
    levels, unused : tuple of hashable
        Levels that occur in their order, and stated levels that do not.
    weights : ndarray
        How often each row stands for itself.
    """

    codes: Codes
    levels: tuple[Hashable, ...]
    unused: tuple[Hashable, ...]
    weights: Array

    @property
    def cut_names(self) -> tuple[str, ...]:
        """Names of the thresholds between neighbouring levels."""
        names = [level_name(level) for level in self.levels]
        return tuple(f"{low}|{high}" for low, high in pairwise(names))


@dataclass(frozen=True, slots=True, eq=False)
class OrdinalPosing:
    """Scores and scaled columns, and what carries figures to the units of the design.

    Attributes
    ----------
    scores : Scores
        What is explained.
    columns : ndarray
        Scaled columns that explain, without the ones.
    back : ndarray
        Parameters in the units of the design = `back` @ scaled parameters.
    link : Link
        Distribution behind the levels.
    design : Design
        What was asked.
    condition_number : float
        Of the columns after centring and scaling.
    """

    scores: Scores
    columns: Array
    back: Array
    link: Link
    design: Design
    condition_number: float

    @property
    def n_cuts(self) -> int:
        """Number of thresholds."""
        return len(self.scores.levels) - 1

    @property
    def names(self) -> tuple[str, ...]:
        """Names of thresholds and slopes."""
        return (*self.scores.cut_names, *self.design.columns[1:])

    @property
    def start(self) -> Array:
        """Parameters at which no column has an effect."""
        cuts = marginal_cuts(self.scores, self.link)
        return np.concatenate([cuts, np.zeros(len(self.columns.T))])

    def likelihood(self) -> Likelihood:
        """Return the likelihood with one slope for all thresholds."""
        return caught(self.scores, self.link, self.columns)

    def per_cut(self, place: slice) -> Likelihood:
        """Return the likelihood with some columns given a slope for each threshold.

        Their slopes follow all others, threshold by threshold.
        """
        own = self.columns[:, place]
        kept = np.delete(self.columns, place, axis=1)
        cuts = np.arange(self.n_cuts)

        def spread(codes: Codes) -> Array:
            at_cut = (codes[:, None] == cuts).astype(float)
            products: Array = at_cut[:, :, None] * own[:, None, :]
            return products.reshape(len(codes), -1)

        upper = np.hstack([-kept, -spread(self.scores.codes)])
        lower = np.hstack([-kept, -spread(self.scores.codes - 1)])
        return _between_cuts(self.scores, self.link, (lower, upper))


def posed_in_levels(
    design: Design,
    response: pd.Series,
    *,
    levels: Sequence[Hashable],
    weights: pd.Series[float] | Array | None,
    link: str,
) -> OrdinalPosing:
    """Return the problem of a design and ordered levels, or say why it is none."""
    distribution = link_named(link)
    scores = _scored(design, response, levels, weights)
    scaled = centred_and_scaled(design.matrix)
    condition = require_separable(scaled, design.sources)
    n_cuts, total = len(scores.levels) - 1, float(scores.weights.sum())
    n_params = n_cuts + design.matrix.shape[1] - 1
    if total <= n_params:
        raise TooFewShotsError(
            f"{total:g} rows cannot carry {n_cuts} thresholds and {n_params - n_cuts} slopes; "
            f"bring at least {n_params + 1} rows, ask for fewer terms, or join neighbouring levels"
        )
    back = np.eye(n_params)
    back[:n_cuts, n_cuts:] = -scaled.back[0, 1:]
    back[n_cuts:, n_cuts:] = scaled.back[1:, 1:]
    return OrdinalPosing(scores, scaled.matrix[:, 1:], back, distribution, design, condition)


def caught(scores: Scores, link: Link, columns: Array) -> Likelihood:
    """Return the likelihood of thresholds and one slope for each column."""
    return _between_cuts(scores, link, (-columns, -columns))


def marginal_cuts(scores: Scores, link: Link) -> Array:
    """Return the thresholds at which the levels have the shares they have in all rows."""
    counts = np.bincount(scores.codes, weights=scores.weights)
    cuts: Array = link.quantile(np.cumsum(counts)[:-1] / counts.sum())
    return cuts


def level_name(level: Hashable) -> str:
    """Return a level as it stands in the name of a threshold."""
    return f"{level:g}" if isinstance(level, float) else str(level)


def scored(
    response: pd.Series, *, levels: Sequence[Hashable] = (), weights: Array | None = None
) -> Scores:
    """Return a response coded by the ordered levels that occur, two at least."""
    name = quoted(response.name)
    ordered = _order(response, levels)
    if response.isna().any():
        raise OutOfRangeError(_gaps(response))
    present = levels_present(pd.DataFrame({"level": response.astype(object)}), "level")
    strange = [level for level in present if level not in ordered]
    if strange:
        raise UnknownNameError(
            f"{name} has a level that was not stated, {quoted(strange[0])}; "
            f"{nearest(str(strange[0]), ordered)}"
        )
    used = tuple(level for level in ordered if level in present)
    if len(used) < 2:
        raise OutOfRangeError(
            f"{name} must vary; it is {quoted_list(used)} in all {len(response)} rows, so there "
            "is nothing to explain"
        )
    number = {level: code for code, level in enumerate(used)}
    codes = np.array([number[level] for level in response.tolist()], dtype=np.intp)
    unused = tuple(level for level in ordered if level not in present)
    return Scores(codes, used, unused, np.ones(len(codes)) if weights is None else weights)


def _scored(
    design: Design,
    response: pd.Series,
    levels: Sequence[Hashable],
    weights: pd.Series[float] | Array | None,
) -> Scores:
    for what in (response, weights):
        require_rows(what, design.index)
    return scored(response, levels=levels, weights=_counts(weights, len(design.index)))


def require_rows(values: pd.Series | Array | None, index: pd.Index) -> None:
    """Refuse values that describe other rows than a design."""
    if values is None:
        return
    same = values.index.equals(index) if isinstance(values, pd.Series) else True
    if len(values) != len(index) or not same:
        raise MisalignedError(
            f"design ({len(index)} rows) and what goes with it ({len(values)} rows) carry "
            "different indexes; take both from one table"
        )


def _counts(weights: pd.Series[float] | Array | None, n_rows: int) -> Array:
    if weights is None:
        return np.ones(n_rows)
    counts = np.asarray(weights, dtype=float)
    wrong = ~(np.isfinite(counts) & (counts > 0))
    if wrong.any():
        raise OutOfRangeError(
            f"weights must be finite and above 0; {wrong.sum()} of {n_rows} rows are not, first "
            f"{counts[wrong][0]:g} at row {int(np.argmax(wrong))} (drop rows that count 0 times)"
        )
    return counts


def _order(response: pd.Series, levels: Sequence[Hashable]) -> tuple[Hashable, ...]:
    """Return the levels in their order: as stated, as the column knows it, or by size."""
    if levels:
        if len(set(levels)) < len(levels):
            raise OutOfRangeError(f"levels of {quoted(response.name)} must differ")
        return tuple(levels)
    if isinstance(response.dtype, pd.CategoricalDtype) and response.cat.ordered:
        return tuple(response.cat.categories.tolist())
    if pd.api.types.is_numeric_dtype(response):
        return tuple(sorted(set(response.dropna().tolist())))
    raise OutOfRangeError(
        f"{quoted(response.name)} holds {response.dtype}, whose order is not known; "
        "state its levels from lowest to highest"
    )


def _gaps(response: pd.Series) -> str:
    missing = response.isna().to_numpy()
    verb = "does" if missing.sum() == 1 else "do"
    return (
        f"{quoted(response.name)} must hold a level in every row; {missing.sum()} of "
        f"{len(response)} rows {verb} not, first at row "
        f"{quoted(response.index[int(missing.argmax())])} (drop such rows, and say how many)"
    )


def _between_cuts(scores: Scores, link: Link, slopes: tuple[Array, Array]) -> Likelihood:
    """Return the likelihood of rows between the thresholds of their levels."""
    cuts, last = np.arange(len(scores.levels) - 1), len(scores.levels) - 1
    codes = scores.codes
    lowest, highest = codes == 0, codes == last
    blocks = [
        np.where(end[:, None], 0.0, np.hstack([(at[:, None] == cuts).astype(float), slope]))
        for at, end, slope in zip((codes - 1, codes), (lowest, highest), slopes, strict=True)
    ]
    return Likelihood(
        lower=blocks[0],
        upper=blocks[1],
        below=np.where(lowest, -np.inf, 0.0),
        above=np.where(highest, np.inf, 0.0),
        weights=scores.weights,
        link=link,
    )
