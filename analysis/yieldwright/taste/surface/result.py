"""The answer of a response surface as a value."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field
from types import MappingProxyType
from typing import TYPE_CHECKING, Any, ClassVar

import pandas as pd

from yieldwright.formatting import count, interval, listing, number, p_value, signed, visible
from yieldwright.results import ESTIMATE_COLUMNS, Result
from yieldwright.taste.words.wording import column_label

if TYPE_CHECKING:
    from collections.abc import Hashable

__all__ = ["SurfaceFit"]

_NONE: Mapping[str, Any] = MappingProxyType({})


@dataclass(frozen=True, kw_only=True, eq=False, repr=False)
class SurfaceFit(Result):
    """How one response bends and turns over two or three settings.

    Attributes
    ----------
    response : str
        Column explained.
    noun : str
        What is fitted, in words: for an attribute best in the middle of its scale that is
        minus the distance from it.
    best : str
        Which end of the response is wanted: highest, lowest, or empty for neither.
    bag, grinder : str
        Codes, empty where the log names none.
    settings : tuple of str
        Columns of the surface, in the order of its axes.
    left_out : tuple of pairs of str
        Settings it does not hold, with reasons.
    kind : str
        What the surface turns at: top, bottom, saddle, ridge, valley or unclear; empty
        where there is no surface.
    region : str
        Where the 95 % region of the turning point lies: inside what was tried, beyond,
        unbounded or nowhere; empty where there is no surface.
    estimates : DataFrame
        One row per coefficient, per practical step from the middle of what was tried:
        the columns of all estimates, and `step` in words.
    tests : DataFrame
        One row per part (slopes, products, squares, lack of fit): sum_squares, df_term,
        df_error, statistic, p_value.
    axes : DataFrame
        One row per canonical axis: eigenvalue, std_error, ci_low, ci_high, and its
        direction in coded units, one column per setting.
    stationary : mapping of str to float
        The turning point; empty unless its kind is told and its region lies inside what
        was tried.
    spans : mapping of str to tuple of float
        Ends of that region in each setting; empty likewise.
    outline : DataFrame
        One row per point on the edge of that region; empty likewise.
    path : DataFrame
        One row per step of the way to better, or up where neither end is wanted, from the
        middle: the settings, `change` from there with `ci_low` and `ci_high`, `tried`. No
        number beyond what was tried.
    places : DataFrame
        One row per place tried: the settings and `n_shots`.
    hull : DataFrame
        Corners of what was tried in the first two settings, in order around it.
    grid : DataFrame
        The fitted surface, `fitted` with `ci_low` and `ci_high`, on a lattice of the first
        two settings that ends where what was tried ends; a third setting stands still.
        The first setting rises slowest.
    needed : DataFrame
        One row per shot that would make the surface possible or bound its turning point.
    stratum : str
        Within sessions, or pooled.
    n_sessions : int
        Sessions among the shots.
    residual_sd : float
        Spread from shot to shot about the surface. [unit of the response]
    df_resid : int
        Degrees of freedom behind it.
    missing : str
        Why there is no surface; empty where there is one.
    """

    drawing: ClassVar[str] = "surface_map"

    response: str
    noun: str = ""
    best: str = ""
    bag: str = ""
    grinder: str = ""
    settings: tuple[str, ...] = ()
    left_out: tuple[tuple[str, str], ...] = ()
    kind: str = ""
    region: str = ""
    estimates: pd.DataFrame = field(default_factory=lambda: _empty(*ESTIMATE_COLUMNS))
    tests: pd.DataFrame = field(default_factory=lambda: _empty("term", "p_value"))
    axes: pd.DataFrame = field(default_factory=lambda: _empty("eigenvalue"))
    stationary: Mapping[str, float] = field(default_factory=lambda: _NONE)
    spans: Mapping[str, tuple[float, float]] = field(default_factory=lambda: _NONE)
    outline: pd.DataFrame = field(default_factory=pd.DataFrame)
    path: pd.DataFrame = field(default_factory=pd.DataFrame)
    places: pd.DataFrame = field(default_factory=pd.DataFrame)
    hull: pd.DataFrame = field(default_factory=pd.DataFrame)
    grid: pd.DataFrame = field(default_factory=pd.DataFrame)
    needed: pd.DataFrame = field(default_factory=pd.DataFrame)
    stratum: str = ""
    n_sessions: int = 0
    residual_sd: float = math.nan
    df_resid: int = 0
    missing: str = ""

    @property
    def title(self) -> str:
        """Response, bag and grinder."""
        where = visible(", ".join(filter(None, (self.bag, self.grinder))))
        what = f"Surface of the {column_label(self.response)}"
        return f"{what} ({where})" if where else what

    @property
    def answered(self) -> bool:
        """Whether there is a surface."""
        return not self.missing

    @property
    def headline(self) -> tuple[tuple[str, str], ...]:
        """Shots, settings, sessions and spread."""
        rows = [*super().headline]
        if not self.answered:
            return tuple(rows)
        spread = f"{number(self.residual_sd)} on {count(self.df_resid, 'degree')} of freedom"
        over = listing([column_label(each) for each in self.settings])
        rows += [("Over", over), ("Sessions", str(self.n_sessions))]
        rows.append(("Spread from shot to shot", spread))
        entries = [f"{column_label(column)}: {reason}" for column, reason in self.left_out]
        return (*rows, ("Not in it", "; ".join(entries))) if entries else tuple(rows)

    def to_frame(self) -> pd.DataFrame:
        """Return the coefficients at full precision."""
        return self.estimates

    def display_frame(self) -> pd.DataFrame:
        """Return the coefficients as text.

        Returns
        -------
        DataFrame
            One row per coefficient: what it is per practical step, estimate, interval, p.
        """
        return pd.DataFrame([_shown(row) for row in self.estimates.to_dict("records")])


def _shown(row: Mapping[Hashable, Any]) -> dict[str, str]:
    """Return one coefficient as text."""
    low, high = row["ci_low"], row["ci_high"]
    return {
        "Per step": row["step"],
        "Estimate": signed(row["estimate"], (high - low) / 2),
        "95 % interval": interval(low, high),
        "p": p_value(row["p_value"]),
    }


def _empty(*columns: str) -> pd.DataFrame:
    return pd.DataFrame(columns=list(columns))
