"""Small invented logs, written as a person would write them."""

from __future__ import annotations

import datetime as dt
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from yieldwright.shotlog import read_log

if TYPE_CHECKING:
    from yieldwright.bench import Bench
    from yieldwright.shotlog import ShotLog

FIRST_DAY = dt.date(2026, 3, 2)
HEADER = (
    "shot,pulled_at,bag,grinder,roasted_on,dose_g,beverage_g,time_s,grind_setting,purged_g,temp_band,"
    "hold_bar,end_bar,tds_pct,fate,overall,notes"
)


def rows(n_shots: int, *, a_day: int = 8, bag: str = "bag-7", seed: int = 7) -> list[str]:
    """Return invented shots in which a coarser setting runs faster and extracts less."""
    rng = np.random.default_rng(seed)
    lines = []
    for place in range(n_shots):
        day = FIRST_DAY + dt.timedelta(days=2 * (place // a_day))
        grind = 11 + (place * 7 % 5) / 2
        coarser = grind - 12
        cells = (
            f"s{place + 1}",
            f"{day}T18:{place % a_day * 5 % 60:02d}+00:00",
            bag,
            "mill-1",
            "2026-02-20",
            f"{18 + rng.normal(0, 0.1):.1f}",
            f"{36 + rng.normal(0, 0.5):.1f}",
            f"{36 - 4 * coarser + rng.normal(0, 1.5):.0f}",
            f"{grind:g}",
            "3",
            ("low", "medium", "high")[place % 3],
            "8.5",
            f"{8.5 - (2 + place * 3 % 4 / 2):.1f}",
            f"{9.9 - 0.5 * coarser + rng.normal(0, 0.15):.2f}",
            "choked" if place % 13 == 5 else "pulled",
            f"{round(13 - coarser**2 + rng.normal(0, 0.8)) / 2:g}",
            "sweet",
        )
        lines.append(",".join(cells))
    return lines


def full_marks_rows(n_shots: int) -> list[str]:
    """Return shots of which most get the highest score there is, the finer ones more often."""
    place = HEADER.split(",").index("overall")
    grind = HEADER.split(",").index("grind_setting")
    rng = np.random.default_rng(3)
    lines = []
    for line in rows(n_shots):
        cells = line.split(",")
        liked = 11.5 - 2 * (float(cells[grind]) - 12) + rng.normal(0, 1.6)
        cells[place] = f"{min(10, round(2 * liked) / 2):g}"
        lines.append(",".join(cells))
    return lines


def two_camps(folder: Path) -> ShotLog:
    """Return a log of four tasters: what two of them like better, two like less."""
    header, lines = without("overall", rows(40))
    grind = header.split(",").index("grind_setting")
    rng = np.random.default_rng(5)
    scores = ["shot,taster,attribute,score"]
    for line in lines:
        cells = line.split(",")
        for taster, slope in zip("ABCD", (1.2, 1.0, -1.1, -1.3), strict=True):
            liked = 6 + slope * (float(cells[grind]) - 12) + rng.normal(0, 0.6)
            scores.append(f"{cells[0]},{taster},overall,{round(2 * liked) / 2:g}")
    written(folder, lines, header=header)
    (folder / "tastings.csv").write_text("\n".join(scores) + "\n", encoding="utf-8")
    return read_log(folder)


def long_winded_rows() -> list[str]:
    """Return shots of four bags and six bands with long names, endless notes, wrong doses."""
    names = ("extremely-low", "rather-low", "middling", "rather-high", "high", "extremely-high")
    dose, band = HEADER.split(",").index("dose_g"), HEADER.split(",").index("temp_band")
    lines = []
    for bag in range(4):
        name = f"a-bag-with-a-rather-long-name-{bag}"
        for place, line in enumerate(rows(50, bag=name, seed=bag)):
            cells = line.split(",")
            cells[0] = f"bag-{bag}-of-four-{cells[0]}"
            cells[band] = f"{names[(5 * place + bag) % 6]}-temperature-band"
            cells[dose] = "180" if place % 9 == 3 else cells[dose]
            lines.append(",".join([*cells[:-1], "W" * 500]))
    return lines


def written(folder: Path, lines: list[str], *, header: str = HEADER) -> Path:
    """Return the file that holds these lines under a header."""
    path = folder / "shots.csv"
    path.write_text("\n".join([header, *lines]) + "\n", encoding="utf-8")
    return path


def without(name: str, lines: list[str]) -> tuple[str, list[str]]:
    """Return header and lines with one column taken out."""
    place = HEADER.split(",").index(name)
    cut = [line.split(",") for line in (HEADER, *lines)]
    header, *others = [",".join(cells[:place] + cells[place + 1 :]) for cells in cut]
    return header, others


def read(
    folder: Path, lines: list[str], *, header: str = HEADER, bench: Bench | None = None
) -> ShotLog:
    """Return the log of these lines."""
    return read_log(written(folder, lines, header=header), bench=bench)
