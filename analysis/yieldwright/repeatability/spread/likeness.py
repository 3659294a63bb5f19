"""Which shots are repeats of one another, and how far each falls from what they share."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

import numpy as np
import pandas as pd

from yieldwright.errors import YieldwrightError
from yieldwright.models.linear.model import fit_least_squares
from yieldwright.models.terms.design import build_design
from yieldwright.models.terms.terms import Blocks, Factor, Numeric

if TYPE_CHECKING:
    from collections.abc import Sequence

    from yieldwright.bench import Bench
    from yieldwright.models.linear.model import LinearFit
    from yieldwright.models.terms.terms import Term

__all__ = ["ALIKE", "ENOUGH", "LikeShots", "like_shots", "setting_levels"]

#: Repeats below which an interval is all that is told.
ENOUGH = 5

#: What has to agree in shots pulled alike, beside dose, beverage and pre-wetting as aimed at.
#: Where the clock started sets no shot apart: times from two starts are not compared at all.
ALIKE = (
    *("bag", "grinder", "session", "grind_setting", "temp_band", "taper_bar"),
    *("puck_screen", "paper", "dose_target_g", "beverage_target_g", "basket"),
    *("distribution", "tamp", "service_stretch"),
)

#: Pressures held by hand agree where they round to the same whole bar.
TO_WHOLE = ("taper_bar", "hold_bar", "peak_bar", "end_bar")

_HAND = "barista"
_SESSION = "session"

#: Columns that say the same as another in other words.
_SAME_THING = {
    "end_bar": ("taper_bar",),
    "hold_bar": ("taper_bar",),
    "peak_bar": ("taper_bar",),
    "brew_ratio": ("beverage_g", "dose_g"),
}

#: Seconds by which pre-wetting differs on purpose and not by hand (common practice, no source).
_PREWET_APART_S = 3.0

#: Share of a value that computing may leave of no difference at all.
_ROUNDING = 1e-10

#: Shots at each level of a setting in words that a line takes out, and shots beyond the first
#: of each session for each of its coefficients: fewer would soak up noise with the setting
#: (common practice, no source).
_SHOTS_A_LEVEL, _SHOTS_EACH = 4, 5

#: Sessions beyond which a line leaves them in: a column for each would fill the memory.
_MOST_SESSIONS = 500

Basis = Literal["hand", "setting", "fit", "none"]


@dataclass(frozen=True, slots=True, eq=False)
class LikeShots:
    """Repeats of one quantity, and their pooled standard deviation.

    Attributes
    ----------
    column : str
        What was compared.
    basis : {"hand", "setting", "fit", "none"}
        Shots of one setting, session and hand; of one setting and session; shots of
        several settings or sessions about a line through them; or no repeats at all.
    rows : DataFrame
        One row per shot used: its columns, `deviation` from what like shots share, `set`.
    df : int
        Repeats it rests on. [count]
    sd : float
        Pooled standard deviation. [unit of `column`]
    allowed_for : tuple of str
        Columns that a line takes out.
    not_taken : tuple of str
        Settings that differ and are left in the spread, as their shots are too few.
    n_measured : int
        Shots in which the quantity was measured.
    """

    column: str
    basis: Basis
    rows: pd.DataFrame
    df: int
    sd: float
    allowed_for: tuple[str, ...] = ()
    not_taken: tuple[str, ...] = ()
    n_measured: int = 0

    @property
    def pools_hands(self) -> bool:
        """Whether shots of several hands are compared as if of one."""
        if _HAND not in self.rows or self.basis in ("hand", "none") or _HAND in self.allowed_for:
            return False
        sessions = _SESSION in self.allowed_for
        group = _SESSION if sessions else "set"
        hands = self.rows[[group, _HAND]].dropna().drop_duplicates()
        return bool(hands[group].duplicated().any())

    @property
    def n_sets(self) -> int:
        """Sets of shots pulled alike; 0 about a line."""
        return 0 if self.basis == "fit" else int(self.rows["set"].nunique())

    @property
    def enough(self) -> bool:
        """Whether there are repeats enough for more than an interval."""
        return self.df >= ENOUGH and self.sd > 0


def like_shots(shots: pd.DataFrame, column: str, *, bench: Bench) -> LikeShots:
    """Return the repeats of a quantity: of one hand if that is enough, else of any, else a line.

    Parameters
    ----------
    shots : DataFrame
        One row per comparable shot of one bag and grinder.
    column : str
        What to compare.
    bench : Bench
        Whose recipe says which misses of dose and beverage are no other setting.

    Returns
    -------
    LikeShots

    Examples
    --------
    >>> from yieldwright.bench import Bench
    >>> shots = pd.DataFrame({"grind_setting": [8.0] * 6, "time_s": [30.0, 31, 32, 33, 34, 35]})
    >>> found = like_shots(shots, "time_s", bench=Bench())
    >>> found.basis, found.df, round(found.sd, 2)
    ('setting', 5, 1.87)
    """
    whole = shots[shots[column].notna()].reset_index(drop=True)
    keys = setting_levels(whole, column, bench=bench)
    ways = [_pooled(whole, column, keys, "setting")]
    if _HAND in whole and whole[_HAND].notna().any():
        ways.insert(0, _pooled(whole, column, keys.assign(hand=whole[_HAND]), "hand"))
    enough = next((way for way in ways if way.df >= ENOUGH), None)
    if enough is not None:
        return enough
    about = _about_a_line(whole, column, keys)
    return about if about is not None else max(ways, key=lambda way: way.df)


def setting_levels(shots: pd.DataFrame, column: str, *, bench: Bench) -> pd.DataFrame:
    """Return what has to agree in like shots: a column of levels for each that is logged.

    Parameters
    ----------
    shots : DataFrame
        One row per shot.
    column : str
        What is compared: nothing that says the same counts as a setting.
    bench : Bench
        Whose recipe says which misses are no other setting.

    Returns
    -------
    DataFrame
        One row per shot, its index that of the shots.

    Examples
    --------
    >>> from yieldwright.bench import Bench
    >>> shots = pd.DataFrame({"dose_g": [17.9, 18.1, 18.0, 20.0], "time_s": 30.0})
    >>> setting_levels(shots, "time_s", bench=Bench())["dose_g"].tolist()
    [0, 0, 0, 1]
    """
    said = {column, *_SAME_THING.get(column, ())}
    names = [n for n in ALIKE if n in shots and n not in said and shots[n].notna().any()]
    levels = shots[names].copy()
    for name in set(TO_WHOLE) & set(names):
        levels[name] = levels[name].round()
    for name, apart in _aims(bench).items():
        if name in shots and name not in said:
            levels[name] = _steps(shots[name], apart)
    return levels


def _aims(bench: Bench) -> dict[str, float]:
    """Return how far apart values lie that were aimed at on purpose."""
    recipe = bench.recipe
    return {
        "dose_g": 2 * recipe.dose_tolerance_g,
        "beverage_g": 4 * recipe.beverage_tolerance_g,
        "prewet_s": _PREWET_APART_S,
    }


def _steps(values: pd.Series, apart: float) -> pd.Series[int]:
    """Return a number for each cluster of values, −1 where there is none."""
    known = np.unique(values.dropna().to_numpy(dtype=float))
    numbers = np.concatenate([[0], np.cumsum(np.diff(known) > apart)]) if len(known) else known
    places = dict(zip(known.tolist(), numbers.tolist(), strict=True))
    return values.map(lambda value: int(places.get(value, -1))).astype(int)


def _pooled(shots: pd.DataFrame, column: str, keys: pd.DataFrame, basis: Basis) -> LikeShots:
    """Return sets of at least two shots that agree in every key."""
    complete = keys.notna().all(axis=1)
    sets = pd.Series(0, index=shots.index)
    if len(keys.columns):
        sets = keys.groupby(list(keys.columns), sort=False, observed=True).ngroup()
    used = shots.assign(set=sets)[complete & (sets >= 0)]
    used = used[used.groupby("set")["set"].transform("size") > 1]
    means = used.groupby("set")[column].transform("mean")
    rows = used.assign(deviation=used[column] - means)
    df = len(rows) - int(rows["set"].nunique())
    return LikeShots(
        column=column,
        basis=basis if df else "none",
        rows=rows,
        df=df,
        sd=_felt(_root_mean(rows["deviation"], df), rows[column]),
        n_measured=len(shots),
    )


def _root_mean(deviations: pd.Series[float], df: int) -> float:
    return math.sqrt(float((deviations**2).sum()) / df) if df else math.nan


def _felt(sd: float, values: pd.Series[float]) -> float:
    """Return a spread, 0 where it is only what computing leaves of numbers that are the same."""
    return 0.0 if sd < _ROUNDING * float(values.abs().max()) else sd


def _about_a_line(shots: pd.DataFrame, column: str, keys: pd.DataFrame) -> LikeShots | None:
    """Return shots of several settings about a fit of all that was set, None where none stands."""
    varied = [str(name) for name in keys if name != _SESSION and len(keys[name].unique()) > 1]
    whole = shots.dropna(subset=varied).reset_index(drop=True)
    needed: list[Term] = [
        Numeric(name) if _is_number(whole[name]) else Factor(name)
        for name in varied
        if _varies(whole[name])
    ]
    for more in _besides(whole):
        settings = _told_beside(more, needed, whole)
        asked = [*settings, *more]
        taken = _affordable(asked, whole)
        terms = [term for term in asked if term in taken]
        fit = _fitted(whole, column, terms)
        if fit is not None:
            return LikeShots(
                column,
                "fit",
                whole.assign(deviation=fit.residuals, set=0),
                fit.df_resid,
                _felt(float(fit.sigma), whole[column]),
                tuple(term.column for term in terms),
                not_taken=tuple(term.column for term in settings if term not in terms),
                n_measured=len(shots),
            )
    return None


def _affordable(asked: Sequence[Term], shots: pd.DataFrame) -> list[Term]:
    """Return what a line may take out by the layout alone: the weightiest settings first.

    Sessions are what repeats are repeats within, and are taken out whatever they cost.
    """
    taken: list[Term] = [term for term in asked if isinstance(term, Blocks)]
    free = len(shots) - (len(shots[_SESSION].unique()) if taken else 1)
    width = 0
    for term in asked:
        if isinstance(term, Blocks):
            continue
        levels = shots[term.column].value_counts() if isinstance(term, Factor) else None
        wider = width + (1 if levels is None else len(levels) - 1)
        few = levels is not None and int(levels.min()) < _SHOTS_A_LEVEL
        if not few and _SHOTS_EACH * wider <= free:
            taken.append(term)
            width = wider
    return taken


def _besides(shots: pd.DataFrame) -> Sequence[list[Term]]:
    """Return what else may be taken out, the most first."""
    few = _several(shots, _SESSION) and len(shots[_SESSION].unique()) <= _MOST_SESSIONS
    sessions: list[Term] = [Blocks(_SESSION)] if few else []
    hands: list[Term] = [Factor(_HAND)] if _several(shots, _HAND) else []
    ways: list[list[Term]] = [[*sessions, *hands], sessions, hands, []]
    return [way for place, way in enumerate(ways) if way not in ways[:place]]


def _told_beside(more: Sequence[Term], needed: list[Term], shots: pd.DataFrame) -> list[Term]:
    """Return the settings that sessions, where they are taken out, do not take out already."""
    if not any(isinstance(term, Blocks) for term in more):
        return needed
    sessions = shots.groupby(_SESSION)
    return [term for term in needed if int(sessions[term.column].nunique().max()) > 1]


def _is_number(values: pd.Series) -> bool:
    return pd.api.types.is_numeric_dtype(values) and not pd.api.types.is_bool_dtype(values)


def _several(shots: pd.DataFrame, column: str) -> bool:
    return column in shots and bool(shots[column].notna().all()) and _varies(shots[column])


def _varies(values: pd.Series) -> bool:
    return len(values.unique()) > 1


def _fitted(shots: pd.DataFrame, column: str, terms: list[Term]) -> LinearFit | None:
    """Return a fit with repeats enough, None where the shots bear none."""
    try:
        fit = fit_least_squares(build_design(shots, terms), shots[column].astype(float))
    except YieldwrightError:
        return None
    return fit if fit.df_resid >= ENOUGH else None
