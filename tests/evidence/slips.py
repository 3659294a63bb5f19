"""How many single-key slips a log gives away, and how often a clean cell is doubted.

Run `python -m tests.evidence slips --logs 2000` from the top of the checkout. Each slip is
planted alone in one cell of a simulated log; it is caught where its row is set aside or
carries a flag that the clean log does not have.
"""

from __future__ import annotations

import re
import tempfile
from collections import defaultdict
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import NamedTuple

import numpy as np
import pandas as pd

from yieldwright.shotlog import ShotLog, read_log
from yieldwright.simulate import Truth, default_plan, log_shots, pull_shots

FIVE = ("dose_g", "beverage_g", "tds_pct", "brew_ratio", "ey_pct")
ELSEWHERE = (
    *("time_s", "grind_setting", "purged_g", "temp_c"),
    *("peak_bar", "hold_bar", "end_bar", "sample_c", "position"),
)
#: What the study promises of the five columns together, and of clean cells.
CAUGHT_AT_LEAST, FALSE_AT_MOST = 0.95, 0.02
#: Slips planted in one simulated log, each in a copy of its own: in the five, elsewhere.
IN_FIVE, IN_OTHERS = 4, 2

_DECIMALS = dict.fromkeys(("dose_g", "beverage_g", "peak_bar", "hold_bar", "end_bar"), 1)
_DECIMALS |= {"tds_pct": 2, "brew_ratio": 2}
_LEFT_OUT = ("dose_target_g", "beverage_target_g")


@dataclass(frozen=True)
class Writing:
    """How a person comes by the ratio and the yield that they type."""

    name: str
    decimals: int
    is_exact: bool
    has_checks: bool = True
    promised: bool = False


WRITINGS = (
    Writing("from the cells, yield to 0.01", 2, is_exact=True, promised=True),
    Writing("from the cells, yield to 0.1", 1, is_exact=True, promised=True),
    Writing("before rounding, yield to 0.01", 2, is_exact=False),
    Writing("before rounding, yield to 0.1", 1, is_exact=False),
    Writing("no ratio and no yield typed", 0, is_exact=True, has_checks=False),
)


class Planted(NamedTuple):
    """What became of one slip."""

    column: str
    kind: str
    is_caught: bool
    is_named: bool
    is_mended: bool


class Clean(NamedTuple):
    """Flags of one undamaged log."""

    n_cells: int
    n_flagged: int


# Slips -------------------------------------------------------------------------------------


def replaced(cell: str, rng: np.random.Generator) -> str:
    """Return a cell with one digit hit instead of another."""
    at = _any_digit(cell, rng)
    return cell[:at] + str(rng.integers(10)) + cell[at + 1 :]


def left_out(cell: str, rng: np.random.Generator) -> str:
    """Return a cell without one of its digits."""
    at = _any_digit(cell, rng)
    return cell[:at] + cell[at + 1 :]


def one_more(cell: str, rng: np.random.Generator) -> str:
    """Return a cell with a digit doubled, or another key hit besides."""
    at = _any_digit(cell, rng)
    more = cell[at] if rng.random() < 0.5 else str(rng.integers(10))
    return cell[:at] + more + cell[at:]


def swapped(cell: str, rng: np.random.Generator) -> str:
    """Return a cell with two neighbouring keys in the wrong order."""
    at = int(rng.integers(max(len(cell) - 1, 1)))
    return cell[:at] + cell[at + 1 : at + 2] + cell[at : at + 1] + cell[at + 2 :]


def point_moved(cell: str, rng: np.random.Generator) -> str:
    """Return a cell whose point is lost, or one place off."""
    at = cell.find(".")
    digits = cell.replace(".", "")
    if at < 0 or rng.random() < 0.5:
        return digits
    to = at + int(rng.choice([-1, 1]))
    return f"{digits[:to]}.{digits[to:]}"


KINDS: dict[str, Callable[[str, np.random.Generator], str]] = {
    "digit replaced": replaced,
    "digit left out": left_out,
    "digit too many": one_more,
    "keys swapped": swapped,
    "point lost or moved": point_moved,
}


def _any_digit(cell: str, rng: np.random.Generator) -> int:
    return int(rng.choice([at for at, key in enumerate(cell) if key.isdigit()]))


def slip(cell: str, kind: str, rng: np.random.Generator) -> str | None:
    """Return a cell after one slip that changes its number, if the kind can make one."""
    for _ in range(20):
        wrong = KINDS[kind](cell, rng)
        if _number(wrong) != float(cell):
            return wrong
    return None


def _number(text: str) -> float:
    try:
        return float(text)
    except ValueError:
        return float("nan")


# Logs --------------------------------------------------------------------------------------


def typed_log(writing: Writing, rng: np.random.Generator) -> pd.DataFrame:
    """Return a clean log as text cells, ratio and yield typed beside what they follow from."""
    truth = Truth()
    shots = log_shots(truth, pull_shots(truth, default_plan(rng), rng), rng)
    typed = shots.drop(columns=[name for name in _LEFT_OUT if name in shots])
    typed["pulled_at"] = [moment.isoformat(timespec="minutes") for moment in shots["pulled_at"]]
    if writing.has_checks:
        read = shots if writing.is_exact else _before_rounding(shots, rng)
        typed["brew_ratio"] = read["beverage_g"] / read["dose_g"]
        typed["ey_pct"] = typed["brew_ratio"] * read["tds_pct"]
    places = _DECIMALS | {"ey_pct": writing.decimals}
    for name in map(str, typed.select_dtypes("number")):
        cell = f"{{:.{places.get(name, 0)}f}}".format
        typed[name] = ["" if np.isnan(value) else cell(value) for value in typed[name]]
    return typed.astype(str)


def _before_rounding(shots: pd.DataFrame, rng: np.random.Generator) -> pd.DataFrame:
    """Return what the instruments may have read before their displays rounded."""
    steps = {"dose_g": 0.1, "beverage_g": 0.1, "tds_pct": 0.01}
    read = {
        name: shots[name] + rng.uniform(-step / 2, step / 2, len(shots))
        for name, step in steps.items()
    }
    return shots.assign(**read)


def read_table(table: pd.DataFrame, path: Path) -> ShotLog:
    """Return a table of texts as the package reads it from a file."""
    table.to_csv(path, index=False)
    return read_log(path)


def doubts(log: ShotLog) -> set[tuple[str, str, str]]:
    """Return the shots, columns and reasons of the flags."""
    columns = (log.flags[name].fillna("").tolist() for name in ("shot", "column", "reason"))
    return set(zip(*columns, strict=True))


def planted(
    table: pd.DataFrame, before: set[tuple[str, str, str]], columns: Iterable[str], path: Path,
    rng: np.random.Generator,
) -> Planted | None:  # fmt: skip
    """Return what became of one slip in one cell; None where none fits."""
    column = str(rng.choice([name for name in columns if name in table]))
    row = int(rng.integers(len(table)))
    cell, kind = str(table.loc[row, column]), str(rng.choice(list(KINDS)))
    wrong = slip(cell, kind, rng) if cell else None
    if wrong is None:
        return None
    damaged = table.copy()
    damaged.loc[row, column] = wrong
    log = read_table(damaged, path)
    shot = str(table.loc[row, "shot"])
    said = _said_of(log, shot, before)
    is_caught = bool(said) or shot not in log.shots["shot"].tolist()
    named = [offer for name, offer in said if name in ("", column)]
    is_mended = any(_number(number) == float(cell) for offer in named for number in _offers(offer))
    return Planted(column, kind, is_caught, bool(named), is_mended)


def _said_of(log: ShotLog, shot: str, before: set[tuple[str, str, str]]) -> list[tuple[str, str]]:
    """Return column and suggestion of each new flag of a shot, or of its being set aside."""
    if shot not in log.shots["shot"].tolist():
        return [("", offer) for offer in log.set_aside["suggestion"].fillna("")]
    flags = log.flags[log.flags["shot"].eq(shot).fillna(value=False)]
    return [
        (column, offer)
        for column, reason, offer in zip(
            flags["column"], flags["reason"], flags["suggestion"].fillna(""), strict=True
        )
        if (shot, column, reason) not in before
    ]


def _offers(offer: str) -> list[str]:
    """Return the numbers that a suggestion offers."""
    return re.findall(r"(?:→|or) ([0-9][0-9.,]*)", offer)


# Study -------------------------------------------------------------------------------------


def study(writing: Writing, logs: int, seed: int) -> tuple[list[Planted], list[Planted], Clean]:
    """Return the slips planted in the five columns, those elsewhere, and the false flags."""
    rng = np.random.default_rng(seed)
    five: list[Planted] = []
    others: list[Planted] = []
    n_cells = n_flagged = 0
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder, "shots.csv")
        while len(five) < logs:
            table = typed_log(writing, rng)
            before = doubts(read_table(table, path))
            n_cells += int((table[[*_number_columns(table)]] != "").to_numpy().sum())
            n_flagged += len({(shot, column) for shot, column, _ in before})
            for _ in range(IN_FIVE):
                five += _some(planted(table, before, FIVE, path, rng))
            for _ in range(IN_OTHERS):
                others += _some(planted(table, before, ELSEWHERE, path, rng))
    return five, others, Clean(n_cells, n_flagged)


def _number_columns(table: pd.DataFrame) -> Iterator[str]:
    return (name for name in (*FIVE, *ELSEWHERE) if name in table)


def _some(found: Planted | None) -> list[Planted]:
    return [] if found is None else [found]


def share(slips: Iterable[Planted]) -> float:
    """Return the share of slips that were caught."""
    return float(np.mean([each.is_caught for each in slips]))


def is_kept(writing: Writing, five: list[Planted], clean: Clean) -> bool:
    """Return whether what is promised held."""
    few_false = clean.n_flagged <= FALSE_AT_MOST * clean.n_cells
    return few_false and (not writing.promised or share(five) >= CAUGHT_AT_LEAST)


def report(writing: Writing, five: list[Planted], others: list[Planted], clean: Clean) -> str:
    """Return a table of one writing, by column and by kind."""
    false = f"{clean.n_flagged} of {clean.n_cells:,} clean cells doubted"
    verdict = "" if is_kept(writing, five, clean) else "   NOT KEPT"
    lines = [
        f"{writing.name}: {false} ({clean.n_flagged / clean.n_cells:.2%}){verdict}",
        f"  {'slips in':<24}{'slips':>7}{'caught':>10}{'cell named':>12}{'mended':>9}",
        *_lines("column", five, "these"),
        *_lines("column", others, "others"),
        *_lines("kind", five, "these by kind", total=False),
    ]
    return "\n".join(lines)


def _lines(by: str, slips: list[Planted], name: str, *, total: bool = True) -> Iterator[str]:
    groups: defaultdict[str, list[Planted]] = defaultdict(list)
    for each in slips:
        groups[getattr(each, by)].append(each)
    order = [*FIVE, *ELSEWHERE, *KINDS]
    for key in sorted(groups, key=order.index):
        yield _line(f"  {key}", groups[key])
    if total and slips:
        yield _line(f"all of {name}", slips)


def _line(name: str, slips: list[Planted]) -> str:
    caught = [each for each in slips if each.is_caught]
    named, mended = (
        sum(flags) / max(len(caught), 1)
        for flags in ([each.is_named for each in caught], [each.is_mended for each in caught])
    )
    return f"  {name:<24}{len(slips):>7}{share(slips):>10.1%}{named:>12.1%}{mended:>9.1%}"


def run(logs: int, seed: int) -> int:
    """Print a table for each way of writing and return 0 where the promises held."""
    print("caught: row set aside or newly flagged; of those: the cell named, the number offered\n")
    kept = True
    for writing in WRITINGS:
        five, others, clean = study(writing, logs, seed)
        print(report(writing, five, others, clean), end="\n\n", flush=True)
        kept &= is_kept(writing, five, clean)
    return int(not kept)
