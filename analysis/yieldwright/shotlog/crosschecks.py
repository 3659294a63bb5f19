"""Cells of one row against one another: what was typed, and what the rest of it gives."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from yieldwright.glossary import quantity
from yieldwright.shotlog.deriving import reading_columns
from yieldwright.shotlog.findings import Finding, findings_of

if TYPE_CHECKING:
    import pandas as pd

    from yieldwright.bench import Bench
    from yieldwright.shotlog.findings import Texts

__all__ = ["cross_checks"]


class _Tolerance(NamedTuple):
    """How far a typed value may lie from the computed one (common practice, no source)."""

    with_decimals: float
    without: float


_TYPED_CHECKS = {
    "ey_pct": _Tolerance(0.1, 0.5),
    "brew_ratio": _Tolerance(0.06, 0.1),
    "roast_age_d": _Tolerance(1.0, 1.0),
    "taper_bar": _Tolerance(0.1, 0.5),
}
_READING_TOLERANCE_PCT = 0.06

#: Pairs that cannot stand the other way round, yet need not spoil the row.
_ORDERED = (
    ("hold_bar", "peak_bar", "held pressure above the peak"),
    ("first_drip_s", "time_s", "first drip after the end of the pull"),
    ("taper_start_s", "time_s", "taper starts after the end of the pull"),
    ("opened_on", "pulled_on", "bag opened after the pull"),
    ("roasted_on", "opened_on", "bag opened before the roast"),
)


def cross_checks(frame: pd.DataFrame, texts: Texts, bench: Bench) -> list[Finding]:
    """Return kept rows whose cells disagree with one another.

    Parameters
    ----------
    frame : DataFrame
        One row per data row, computed columns included.
    texts : mapping of str to sequence of str
        The typed columns as typed.
    bench : Bench
        Its bands.

    Returns
    -------
    list of Finding

    Examples
    --------
    >>> import pandas as pd
    >>> from yieldwright.bench import Bench
    >>> frame = pd.DataFrame({"ey_pct": [20.0], "typed_ey_pct": [21.5]})
    >>> cross_checks(frame, {"typed_ey_pct": ["21.5"]}, Bench())[0].reason
    'typed 21.5, but the row itself gives 20 % by mass'
    """
    return [
        *_typed_against_computed(frame, texts),
        *_strength_against_readings(frame, texts),
        *_out_of_order(frame, texts),
        *_band_against_temperature(frame, texts, bench),
        *_day_against_moment(frame, texts),
    ]


def _numbers(frame: pd.DataFrame, name: str) -> np.ndarray:
    return frame[name].to_numpy(dtype=float)


def _typed_against_computed(frame: pd.DataFrame, texts: Texts) -> Iterator[Finding]:
    for name, tolerance in _TYPED_CHECKS.items():
        typed_name = f"typed_{name}"
        if name not in frame or typed_name not in frame:
            continue
        typed, computed = _numbers(frame, typed_name), _numbers(frame, name)
        allowed = np.array(
            [
                tolerance.with_decimals if _has_decimals(t) else tolerance.without
                for t in texts[typed_name]
            ]
        )
        yield from findings_of(
            np.abs(typed - computed) > allowed,
            name,
            texts,
            _against(name, typed, computed),
            "the computed value is used",
        )


def _has_decimals(text: str) -> bool:
    return "." in text or "," in text


def _against(name: str, typed: np.ndarray, computed: np.ndarray) -> Callable[[int], str]:
    unit = quantity(name).unit.replace("1", "")
    return lambda row: (
        f"typed {typed[row]:.4g}, but the row itself gives {computed[row]:.4g} {unit}".rstrip()
    )


def _strength_against_readings(frame: pd.DataFrame, texts: Texts) -> Iterator[Finding]:
    if "tds_pct" not in texts or "tds_pct" not in frame or not reading_columns(frame):
        return
    mean, typed = _numbers(frame, "tds_pct"), _numbers(frame, "typed_tds_pct")
    yield from findings_of(
        np.abs(mean - typed) > _READING_TOLERANCE_PCT,
        "tds_pct",
        texts,
        _against("tds_pct", typed, mean),
        "the mean of the readings is used",
    )


def _out_of_order(frame: pd.DataFrame, texts: Texts) -> Iterator[Finding]:
    for low, high, reason in _ORDERED:
        if low in frame and high in frame:
            wrong = (frame[low] > frame[high]).to_numpy(dtype=bool, na_value=False)
            yield from findings_of(wrong, low, texts, reason)


def _band_against_temperature(
    frame: pd.DataFrame, texts: Texts, bench: Bench
) -> Iterator[Finding]:
    if "temp_band" not in texts or "temp_c" not in frame:
        return
    spans = {band.name: (band.low_c, band.high_c) for band in bench.bands}
    bands = [spans.get(band, (-np.inf, np.inf)) for band in frame["temp_band"].fillna("").tolist()]
    low, high = np.array(bands, dtype=float).reshape(-1, 2).T
    temps = _numbers(frame, "temp_c")
    yield from findings_of(
        (temps < low) | (temps > high),
        "temp_band",
        texts,
        lambda row: f"{temps[row]:g} °C lies outside that band; the band as typed is used",
    )


def _day_against_moment(frame: pd.DataFrame, texts: Texts) -> Iterator[Finding]:
    if "pulled_on" in texts and "pulled_at:day" in frame:
        moment = frame["pulled_at:day"]
        differs = ((frame["pulled_on"] != moment) & moment.notna()).to_numpy(dtype=bool)
        yield from findings_of(differs, "pulled_on", texts, "another day than that of pulled_at")
