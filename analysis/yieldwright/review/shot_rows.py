"""The shot table of the page: recipe, yield, place on the chart, taste and notes."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import pandas as pd

from yieldwright.chart import region
from yieldwright.formatting import clip, count, number, percent, with_uncertainty
from yieldwright.glossary import EXTRACTION_CEILING_PCT
from yieldwright.review.recipe import recipe_verdicts
from yieldwright.review.tables import SheetColumn, SheetTable

if TYPE_CHECKING:
    from yieldwright.bench import Bench

__all__ = ["ROWS_ON_SCREEN", "shot_table"]

ROWS_ON_SCREEN = 60

_NAME_WIDTH = 14
_NOTE_WIDTH = 90
_COVERAGE = 2.0
_STAGE_WORDS = {"warm_up": "warm-up", "transition": "after a grind change"}


def shot_table(
    shots: pd.DataFrame,
    *,
    bench: Bench,
    placed: pd.DataFrame | None = None,
    scores: pd.DataFrame | None = None,
    rows_on_paper: int = ROWS_ON_SCREEN,
) -> SheetTable:
    """Return the newest shots as a table of texts, in time order.

    Parameters
    ----------
    shots : DataFrame
        One row per reviewed shot, in time order.
    bench : Bench
        Whose recipe and scales are meant.
    placed : DataFrame or None
        One row per shot with a strength: `shot`, `region`, `p_region`.
    scores : DataFrame or None
        One row per tasted shot: `shot` and one column per attribute.
    rows_on_paper : int
        How many of the newest rows are printed.

    Returns
    -------
    SheetTable

    Examples
    --------
    >>> from yieldwright.bench import Bench
    >>> table = shot_table(pd.DataFrame({"shot": ["s1"], "dose_g": [18.0]}), bench=Bench())
    >>> table.rows
    (('s1', '18.0', 'hit'),)
    """
    newest = shots.tail(ROWS_ON_SCREEN).reset_index(drop=True)
    newest = _joined(_joined(newest, placed, ["region", "p_region"]), scores, [])
    columns = (
        SheetColumn("Shot", tuple(clip(str(name), _NAME_WIDTH) for name in newest["shot"])),
        *_when_and_how(newest),
        SheetColumn("Recipe", _outcomes(newest, bench)),
        *_results(newest, bench),
        SheetColumn("Notes", _notes(newest)),
    )
    return SheetTable(
        caption=_caption(newest),
        columns=columns,
        remark=_remark(len(shots) - len(newest)),
        print_remark=_print_remark(len(shots), rows_on_paper),
        first_printed=max(len(newest) - rows_on_paper, 0),
    ).without_empty_columns()


def _joined(shots: pd.DataFrame, other: pd.DataFrame | None, names: list[str]) -> pd.DataFrame:
    """Return the shots with columns of another table of shots beside them."""
    if other is None or other.empty:
        return shots
    wanted = ["shot", *(names or [str(name) for name in other if name not in shots])]
    return shots.merge(other[wanted], on="shot", how="left", validate="one_to_one")


def _when_and_how(shots: pd.DataFrame) -> tuple[SheetColumn, ...]:
    return (
        SheetColumn("Day", _day_cells(shots)),
        _numbers(shots, "grind_setting", "Grind", "{:g}"),
        SheetColumn("Band", _texts(shots, "temp_band", 12)),
        _numbers(shots, "taper_bar", "Taper [bar]", "{:.1f}"),
        _numbers(shots, "dose_g", "Dose [g]", "{:.1f}"),
        _numbers(shots, "beverage_g", "Cup [g]", "{:.1f}"),
        _numbers(shots, "time_s", "Time [s]", "{:.0f}"),
    )


def _results(shots: pd.DataFrame, bench: Bench) -> tuple[SheetColumn, ...]:
    headline = bench.attributes[0].name if bench.attributes else "overall"
    return (
        SheetColumn("Yield ± 2u [%]", _yields(shots), numeric=True),
        SheetColumn("On the chart", _places(shots)),
        _numbers(shots, headline, f"Taste: {clip(headline, 12)}", "{:.1f}"),
    )


def _numbers(shots: pd.DataFrame, name: str, head: str, form: str) -> SheetColumn:
    """Return a column of numbers, a dash where one is missing."""
    if name not in shots:
        return SheetColumn(head, ("",) * len(shots), numeric=True)
    values = shots[name].astype(float)
    cells = ("–" if math.isnan(each) else form.format(each).replace("-", "−") for each in values)
    return SheetColumn(head, tuple(cells), numeric=True)


def _texts(shots: pd.DataFrame, name: str, width: int) -> tuple[str, ...]:
    if name not in shots:
        return ("",) * len(shots)
    return tuple("–" if pd.isna(text) else clip(str(text), width) for text in shots[name])


def _day_cells(shots: pd.DataFrame) -> tuple[str, ...]:
    if "pulled_on" not in shots:
        return ("",) * len(shots)
    days = pd.to_datetime(shots["pulled_on"])
    pairs = zip(days, days.isna(), strict=True)
    return tuple("–" if missing else f"{day.day} {day:%b}" for day, missing in pairs)


def _outcomes(shots: pd.DataFrame, bench: Bench) -> tuple[str, ...]:
    """Return hit or missed for each pulled shot, the fate of the others, and the stage."""
    verdicts = recipe_verdicts(shots, bench.recipe)
    fates = shots["fate"] if "fate" in shots else pd.Series("pulled", index=shots.index)
    stages = shots["stage"] if "stage" in shots else pd.Series("counted", index=shots.index)
    rows = zip(verdicts, fates, stages, strict=True)
    return tuple(_outcome(verdict, str(fate), str(stage)) for verdict, fate, stage in rows)


def _outcome(verdict: str, fate: str, stage: str) -> str:
    said = verdict if fate in ("pulled", "nan") else fate
    return f"{_STAGE_WORDS[stage]}; {said}" if stage in _STAGE_WORDS else said


def _yields(shots: pd.DataFrame) -> tuple[str, ...]:
    if "ey_pct" not in shots:
        return ("",) * len(shots)
    u = shots["u_ey_pct"] if "u_ey_pct" in shots else pd.Series(math.nan, index=shots.index)
    pairs = zip(shots["ey_pct"].astype(float), u.astype(float), strict=True)
    return tuple(_yield_cell(ey, spread) for ey, spread in pairs)


def _yield_cell(ey_pct: float, u_ey_pct: float) -> str:
    if math.isnan(ey_pct):
        return "–"
    if ey_pct > EXTRACTION_CEILING_PCT:
        return f"{number(ey_pct)} – not possible"
    return with_uncertainty(ey_pct, _COVERAGE * u_ey_pct)


def _places(shots: pd.DataFrame) -> tuple[str, ...]:
    if "region" not in shots:
        return ("",) * len(shots)
    pairs = zip(shots["region"], shots["p_region"].astype(float), strict=True)
    return tuple("–" if pd.isna(code) else _place(code, p) for code, p in pairs)


def _place(code: str, p: float) -> str:
    label = region(code).label
    return label if math.isnan(p) else f"{label} ({percent(p)})"


def _notes(shots: pd.DataFrame) -> tuple[str, ...]:
    """Return the notes; a missing one stays empty rather than a dash."""
    return tuple("" if text == "–" else text for text in _texts(shots, "notes", _NOTE_WIDTH))


def _caption(shots: pd.DataFrame) -> str:
    sentences = ["A dash: not logged."]
    if "ey_pct" in shots:
        sentences.append("± 2u: about 95 % of what the instruments alone leave open.")
    if "region" in shots:
        sentences.append("On the chart: where the shot lies, and how likely that is.")
    return " ".join(sentences)


def _remark(cut: int) -> str:
    if not cut:
        return ""
    return f"{count(cut, 'earlier shot')} not shown here; to_frame() of the review lists all."


def _print_remark(n_shots: int, rows_on_paper: int) -> str:
    cut = n_shots - rows_on_paper
    if cut <= 0:
        return ""
    where = "the page on screen shows more" if n_shots > ROWS_ON_SCREEN else "they are on screen"
    return f"{count(cut, 'earlier shot')} not printed; {where}."
