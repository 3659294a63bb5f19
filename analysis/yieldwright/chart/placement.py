"""Where each shot lies on the strength/extraction chart, and how surely."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, ClassVar

import numpy as np
import pandas as pd

from yieldwright.cautions import Caution
from yieldwright.chart.bivariate import nine_probabilities
from yieldwright.chart.ellipse import error_ellipses
from yieldwright.chart.regions import REGIONS, region, region_codes, require_window
from yieldwright.checks import require_possible
from yieldwright.errors import OutOfRangeError
from yieldwright.formatting import count, percent, with_uncertainty
from yieldwright.results import Dropped, Result

if TYPE_CHECKING:
    from collections.abc import Iterator

    from yieldwright.bench import Window

__all__ = ["NEAR_BORDER", "SETTLED", "Placement", "place_shots"]

#: A shot lies surely in its region from this probability on.
SETTLED = 0.95

#: Another region counts as about as likely from this share of the region's own probability.
NEAR_BORDER = 2 / 3

_CODES = [each.code for each in REGIONS]
#: An instrument's uncertainty is taken as normal, not estimated from these shots.
_COVERAGE_FACTOR = 1.96
_MEASURED = ["ey_pct", "tds_pct", "u_ey_pct", "u_tds_pct", "cov_tds_ey"]
#: The covariance may exceed the product of its uncertainties by rounding alone.
_ROUNDING = 1e-6


@dataclass(frozen=True, kw_only=True, eq=False, repr=False)
class Placement(Result):
    """Shots placed on the chart.

    Attributes
    ----------
    placed : DataFrame
        One row per shot with a strength and a yield: `shot`, `ey_pct`, `tds_pct`, their
        standard uncertainties `u_ey_pct` and `u_tds_pct` in % by mass, `cov_tds_ey`, the
        `region` the point lies in and its probability `p_region` (a fraction, missing
        where an uncertainty is), the likeliest other region `next_region` with `p_next`,
        and the 95 % error ellipse `half_length`, `half_width`, `tilt_deg`.
    probabilities : DataFrame
        One row per row of `placed`: `shot`, and the probability of each of the nine
        regions as a fraction.
    window : Window
        The target. [% by mass]
    """

    drawing: ClassVar[str] = "strength_extraction"

    placed: pd.DataFrame
    probabilities: pd.DataFrame
    window: Window

    @property
    def title(self) -> str:
        """What was asked, in a few words."""
        return "Shots on the strength/extraction chart"

    @property
    def headline(self) -> tuple[tuple[str, str], ...]:
        """The numbers to read first, as pairs of label and text."""
        return (*super().headline, *_headline(self.placed, self.window))

    def to_frame(self) -> pd.DataFrame:
        """Return where each shot lies and the probability of each region.

        Returns
        -------
        DataFrame
            One row per placed shot, every column at full precision.
        """
        return self.placed.join(self.probabilities.drop(columns="shot").add_prefix("p_in_"))

    def display_frame(self) -> pd.DataFrame:
        """Return where each shot lies as text, each figure with its 95 % half-width.

        Returns
        -------
        DataFrame
            One row per placed shot.
        """
        table = self.placed
        return pd.DataFrame(
            {
                "shot": table["shot"].astype("str"),
                "yield": _with_half_width(table["ey_pct"], table["u_ey_pct"]),
                "strength": _with_half_width(table["tds_pct"], table["u_tds_pct"]),
                "region": [region(code).label for code in table["region"]],
                "probability": [percent(p) for p in table["p_region"]],
            }
        )


def place_shots(shots: pd.DataFrame, window: Window) -> Placement:
    r"""Return where each shot lies on the chart, with the probability of each region.

    Parameters
    ----------
    shots : DataFrame
        One row per shot: `tds_pct` and `ey_pct`, where known `u_tds_pct`, `u_ey_pct` and
        `cov_tds_ey`, and `shot` for its name.
    window : Window
        The target; its edges belong to it. [% by mass]

    Returns
    -------
    Placement
        Shots without a strength or a yield are left out and counted.

    Raises
    ------
    OutOfRangeError
        If the window has no inside, a value lies outside its possible range, or a
        covariance is larger than its uncertainties allow.

    Notes
    -----
    Strength and yield are taken as bivariate normal around what was measured. Both come
    from one reading, so a covariance that is not given is taken as
    :math:`\mathrm{cov} = (E / c) \, u_c^2`, the brew ratio times the variance of the
    strength. The probabilities hold what the instruments can be wrong by; they say
    nothing about the next shot.

    References
    ----------
    .. [1] Owen 1956, Ann. Math. Statist. 27:1075.
    .. [2] JCGM 102:2011, 6.5.2.

    Examples
    --------
    >>> from yieldwright.bench import Window
    >>> shots = pd.DataFrame(
    ...     {
    ...         "shot": ["1"],
    ...         "tds_pct": [10.0],
    ...         "ey_pct": [20.0],
    ...         "u_tds_pct": [0.05],
    ...         "u_ey_pct": [0.125],
    ...         "cov_tds_ey": [0.005],
    ...     }
    ... )
    >>> place_shots(shots, Window()).placed["region"].tolist()
    ['on_target']
    """
    require_window(window)
    measured = _measured(shots)
    _require_sound(measured)
    known = measured["tds_pct"].notna() & measured["ey_pct"].notna()
    placed = measured[known].reset_index(drop=True)
    probabilities = _probabilities(placed, window)
    placed = _with_regions(placed, probabilities, window)
    return Placement(
        placed=placed,
        probabilities=probabilities,
        window=window,
        n_shots=len(placed),
        dropped=tuple(_dropped(measured)),
        cautions=tuple(_cautions(placed, window)),
        sentences=tuple(_sentences(placed)),
    )


def _measured(shots: pd.DataFrame) -> pd.DataFrame:
    """Return the columns the chart needs, absent ones as missing, the covariance filled in."""
    table = shots.reindex(columns=_MEASURED).astype(float)
    shared = table["ey_pct"] / table["tds_pct"] * table["u_tds_pct"] ** 2
    table["cov_tds_ey"] = table["cov_tds_ey"].fillna(shared.where(table["tds_pct"] > 0))
    names = shots["shot"] if "shot" in shots else pd.Series(shots.index, index=shots.index)
    table.insert(0, "shot", names.astype("str"))
    return table


def _require_sound(measured: pd.DataFrame) -> None:
    """Return nothing where values, uncertainties and covariances can be true together."""
    require_possible(**{name: measured[name] for name in _MEASURED[:4]})
    most = measured["u_tds_pct"] * measured["u_ey_pct"]
    wrong = measured["cov_tds_ey"].abs() > most * (1 + _ROUNDING) + 1e-15
    if wrong.any():
        first = measured[wrong].iloc[0]
        raise OutOfRangeError(
            f"cov_tds_ey must not exceed u_tds_pct × u_ey_pct; {wrong.sum()} of {len(wrong)} rows "
            f"do, first {first['cov_tds_ey']:g} against {most[wrong].iloc[0]:g} at row "
            f"{measured.index[wrong][0]} (uncertainties from another reading?)"
        )


def _probabilities(placed: pd.DataFrame, window: Window) -> pd.DataFrame:
    spreads = placed[["u_tds_pct", "u_ey_pct"]].to_numpy(dtype=float)
    with np.errstate(divide="ignore", invalid="ignore"):
        correlation = placed["cov_tds_ey"].to_numpy(dtype=float) / spreads.prod(axis=1)
    cuts = np.array(
        [
            [window.strength_low_pct, window.strength_high_pct],
            [window.yield_low_pct, window.yield_high_pct],
        ]
    )
    means = placed[["tds_pct", "ey_pct"]].to_numpy(dtype=float)
    cells = nine_probabilities(means, spreads, np.clip(correlation, -1, 1), cuts)
    table = pd.DataFrame(cells.reshape(-1, 9), columns=_CODES, index=placed.index)
    table.insert(0, "shot", placed["shot"])
    return table


def _with_regions(
    placed: pd.DataFrame, probabilities: pd.DataFrame, window: Window
) -> pd.DataFrame:
    """Return the placed shots with their region, the likeliest other one, and the ellipse."""
    codes = region_codes(placed["tds_pct"], placed["ey_pct"], window)
    cells = probabilities[_CODES].to_numpy(dtype=float)
    rows, own = np.arange(len(cells)), pd.Index(_CODES).get_indexer(pd.Index(codes))
    others = cells.copy()
    others[rows, own] = -1.0
    second = others.argmax(axis=1) if len(cells) else own
    known = np.isfinite(cells).all(axis=1)
    found = placed.assign(
        region=codes,
        p_region=cells[rows, own],
        next_region=pd.Series(np.array(_CODES)[second], dtype="str").where(known),
        p_next=np.where(known, others[rows, second], np.nan),
    )
    shapes = error_ellipses(placed["u_ey_pct"], placed["u_tds_pct"], placed["cov_tds_ey"])
    return found.join(shapes)


def _dropped(measured: pd.DataFrame) -> Iterator[Dropped]:
    no_strength = measured["tds_pct"].isna()
    no_yield = ~no_strength & measured["ey_pct"].isna()
    for missing, reason in (
        (no_strength, "without a strength reading"),
        (no_yield, "with a strength reading but no yield: dose or beverage mass is missing"),
    ):
        if missing.any():
            yield Dropped(int(missing.sum()), reason)


def _cautions(placed: pd.DataFrame, window: Window) -> Iterator[Caution]:
    if not window.stated:
        yield Caution(
            "borrowed-window",
            "note",
            "The target window is a convention and not a law: extraction 18–22 % is carried "
            "over from brewed coffee, strength 8–12 % is common practice.",
            "Write your own window into the bench file.",
            ("tds_pct", "ey_pct"),
        )
    unknown = int(placed["p_region"].isna().sum())
    if unknown:
        yield Caution(
            "unknown-uncertainty",
            "care",
            f"{count(unknown, 'shot')} on the chart {_verb(unknown, 'has', 'have')} no known "
            "uncertainty: the region is where the point lies, its probability cannot be told.",
            "Say in the bench file what the scales and the refractometer are good for.",
            ("u_tds_pct", "u_ey_pct"),
        )


def _sentences(placed: pd.DataFrame) -> Iterator[str]:
    total = len(placed)
    if not total:
        yield "No shot has both a strength and a yield: the chart stays empty."
        return
    hits = int((placed["region"] == "on_target").sum())
    torn = int((placed["p_next"] >= NEAR_BORDER * placed["p_region"]).sum())
    border = (
        f"; {torn} {_verb(torn, 'sits', 'sit')} so near a border that another region is about "
        "as likely"
    )
    yield (
        f"{hits} of {count(total, 'shot')} with a strength reading {_verb(hits, 'lies', 'lie')} "
        f"on target{border if torn else ''}."
    )
    judged = int(placed["p_region"].notna().sum())
    settled = int((placed["p_region"] >= SETTLED).sum())
    if judged:
        yield (
            f"{settled} of {judged} {_verb(settled, 'lies', 'lie')} in the region shown with at "
            f"least {percent(SETTLED)} probability, counting only what the instruments can be "
            "wrong by."
        )


def _headline(placed: pd.DataFrame, window: Window) -> Iterator[tuple[str, str]]:
    hits = int((placed["region"] == "on_target").sum())
    yield "On target", f"{hits:,} of {len(placed):,}"
    target = (
        f"strength {window.strength_low_pct:g}–{window.strength_high_pct:g} %, "
        f"yield {window.yield_low_pct:g}–{window.yield_high_pct:g} %"
    )
    yield "Window", target if window.stated else f"{target} (a convention)"


def _with_half_width(values: pd.Series[float], u: pd.Series[float]) -> list[str]:
    """Return values with the half-width of their 95 % interval."""
    pairs = zip(values, _COVERAGE_FACTOR * u, strict=True)
    return [with_uncertainty(value, half, "%") for value, half in pairs]


def _verb(n: int, one: str, many: str) -> str:
    return one if n == 1 else many
