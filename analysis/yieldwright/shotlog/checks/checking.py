"""What the cells of a row say about one another, and about the bench."""

from __future__ import annotations

import difflib
from collections.abc import Iterator, Mapping
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from yieldwright.formatting import clip, count, listing
from yieldwright.glossary import EXTRACTION_CEILING_PCT, NOTES_LIMIT
from yieldwright.shotlog.checks.crosschecks import cross_checks
from yieldwright.shotlog.checks.lone_cells import far_cells, oddly_written_cells, rare_levels
from yieldwright.shotlog.findings import Finding, findings_of, quoted
from yieldwright.shotlog.headers.entries import entry_of

if TYPE_CHECKING:
    from datetime import date

    from yieldwright.bench import Bench
    from yieldwright.shotlog.findings import Texts

__all__ = ["check_rows", "contradictions", "unknown_bands"]

_LONGEST_VALUE = 80


def contradictions(frame: pd.DataFrame, texts: Texts) -> list[Finding]:
    """Return rows that contradict themselves and must be set aside.

    Parameters
    ----------
    frame : DataFrame
        One row per data row.
    texts : mapping of str to sequence of str
        The same columns as typed.

    Returns
    -------
    list of Finding

    Examples
    --------
    >>> frame = pd.DataFrame({"peak_bar": [9.0], "end_bar": [12.0]})
    >>> contradictions(frame, {"end_bar": ["12"]})[0].reason
    'end_bar is 12 bar, above peak_bar of 9 bar'
    """
    if not {"peak_bar", "end_bar"} <= set(frame.columns):
        return []
    end, peak = (frame[name].to_numpy(dtype=float) for name in ("end_bar", "peak_bar"))
    return [
        Finding(
            row,
            "end_bar",
            texts["end_bar"][row],
            f"end_bar is {end[row]:g} bar, above peak_bar of {peak[row]:g} bar",
            "columns swapped?",
        )
        for row in np.flatnonzero(end > peak).tolist()
    ]


def unknown_bands(frame: pd.DataFrame, bench: Bench) -> tuple[list[Finding], list[Finding]]:
    """Return typed bands that the bench does not have.

    Parameters
    ----------
    frame : DataFrame
        One row per data row.
    bench : Bench
        Its bands; a bench that states none leaves the words to the log.

    Returns
    -------
    refused, flagged : list of Finding

    Examples
    --------
    >>> from yieldwright.bench import Bench
    >>> frame = pd.DataFrame({"temp_band": ["low", "tepid"]})
    >>> refused, flagged = unknown_bands(frame, Bench())
    >>> len(refused), flagged[0].reason
    (0, '“tepid” is none of low, medium or high')
    """
    if "temp_band" not in frame:
        return [], []
    names = {band.name.casefold(): band.name for band in bench.bands}
    codes, words = pd.factorize(frame["temp_band"].fillna(""))
    odd = np.array([bool(word) and word.casefold() not in names for word in words], dtype=bool)
    known = listing(list(names.values()), last="or")
    found = [
        Finding(
            row, "temp_band", word, f"{quoted(word)} is none of {known}", _nearest(word, names)
        )
        for row in np.flatnonzero(odd[codes]).tolist()
        for word in [str(words[codes[row]])]
    ]
    if "bands" not in bench.stated:
        return [], found
    return [each._replace(reason=f"temp_band: {each.reason}") for each in found], []


def check_rows(
    frame: pd.DataFrame, texts: Texts, bench: Bench, as_of: date | None
) -> list[Finding]:
    """Return doubts about rows that are kept.

    Parameters
    ----------
    frame : DataFrame
        One row per data row, computed columns included.
    texts : mapping of str to sequence of str
        The typed columns as typed.
    bench : Bench
        Its bands and scales of scores.
    as_of : date or None
        Day after which no shot can have been pulled; None checks nothing.

    Returns
    -------
    list of Finding
        Those of no row concern a column as a whole.

    Examples
    --------
    >>> from yieldwright.bench import Bench
    >>> check_rows(pd.DataFrame({"ey_pct": [36.6]}), {}, Bench(), None)[0].reason
    '36.6 % extraction is above the 30 % that water can dissolve; left out of fits'
    """
    return [
        *_above_ceiling(frame),
        *cross_checks(frame, texts, bench),
        *_long_notes(frame),
        *_after(frame, texts, as_of),
        *_off_the_scale_steps(frame, texts, bench),
        *_alone(frame, texts, bench),
    ]


def _alone(frame: pd.DataFrame, texts: Texts, bench: Bench) -> Iterator[Finding]:
    """Yield what single columns say of their cells, one finding a cell."""
    told: set[tuple[int, str]] = set()
    for check in (far_cells, rare_levels, oddly_written_cells):
        for finding in check(frame, texts, bench):
            if finding[:2] not in told:
                told.add(finding[:2])
                yield finding


def _nearest(word: str, names: Mapping[str, str]) -> str:
    near = difflib.get_close_matches(word.casefold()[:60], list(names), n=1, cutoff=0.5)
    return f"{names[near[0]]}?" if near else "add the band to bench.toml, or correct the word"


def _above_ceiling(frame: pd.DataFrame) -> Iterator[Finding]:
    if "ey_pct" not in frame:
        return
    ey_pct = frame["ey_pct"].to_numpy(dtype=float)
    yield from findings_of(
        ey_pct > EXTRACTION_CEILING_PCT,
        "ey_pct",
        {},
        lambda row: (
            f"{ey_pct[row]:.3g} % extraction is above the {EXTRACTION_CEILING_PCT:g} % that water "
            "can dissolve; left out of fits"
        ),
        "check dose, beverage and strength; a reading in °Bx typed as strength?",
    )


def _long_notes(frame: pd.DataFrame) -> Iterator[Finding]:
    if "notes" not in frame:
        return
    long = frame["notes"].str.len().to_numpy(dtype=float, na_value=0) > NOTES_LIMIT
    for row in np.flatnonzero(long).tolist():
        note = str(frame["notes"].iloc[row])
        reason = f"{count(len(note), 'character')}, over the {NOTES_LIMIT:,} a note should hold"
        yield Finding(row, "notes", clip(note, _LONGEST_VALUE), reason, "kept whole")


def _after(frame: pd.DataFrame, texts: Texts, as_of: date | None) -> Iterator[Finding]:
    if as_of is None or "pulled_on" not in frame:
        return
    late = (frame["pulled_on"] > pd.Timestamp(as_of)).to_numpy(dtype=bool)
    column = "pulled_at" if "pulled_at" in texts else "pulled_on"
    yield from findings_of(
        late, column, texts, f"pulled after {as_of}, the day the log is judged on"
    )


def _off_the_scale_steps(frame: pd.DataFrame, texts: Texts, bench: Bench) -> Iterator[Finding]:
    for name in [name for name in texts if name.startswith("score:")]:
        step = bench.attribute(name.removeprefix("score:")).step
        steps = (frame[name].to_numpy(dtype=float) - entry_of(name, bench).hard.low) / step
        yield from findings_of(
            np.abs(steps - np.round(steps)) > 1e-6,
            name,
            texts,
            f"falls between the steps of {step:g} that the scale has",
        )
