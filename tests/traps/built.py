"""Traps that are built when they are tried: binary formats, and files too large to keep."""

from __future__ import annotations

from tests.shotlog.workbook_traps import SHEETS
from tests.traps.parquet import PARQUET
from tests.traps.trap import Trap, written_as

__all__ = ["BUILT_TRAPS"]


LARGE = (
    Trap(
        "large/note-of-a-megabyte",
        written_as("shots.csv", f"shot,dose_g,notes\na,18,{'x' * 1_000_000}\nb,18.5,y\n"),
        "a note that is flagged as too long, and kept whole",
        shots=("a", "b"),
        cells={"a": {"notes": "x" * 1_000_000}},
        flags=({"shot": "a", "column": "notes", "reason": "1,000,000 characters"},),
    ),
    Trap(
        "large/number-of-a-megabyte",
        written_as("shots.csv", f"shot;dose_g\na;{'9' * 1_000_000}\nb;18.5\n"),
        "a number beyond all floats",
        shots=("a", "b"),
        cells={"a": {"dose_g": ""}},
        flags=({"shot": "a", "column": "dose_g", "reason": "taken as missing"},),
    ),
    Trap(
        "large/ten-thousand-columns",
        written_as(
            "shots.csv",
            ",".join(["shot", *(f"mood {n}" for n in range(9_999))]) + "\na" + ",x" * 9_999 + "\n",
        ),
        "columns nobody knows, more than any bench has",
        shots=("a",),
    ),
    Trap(
        "large/ten-thousand-blank-lines",
        written_as("shots.csv", "shot,dose_g\na,18\n" + "\n" * 10_000),
        "a file that ends in blank lines",
        shots=("a",),
        listed={"blank": 10_000},
    ),
    Trap(
        "large/quote-never-closed-over-ten-thousand-rows",
        written_as("shots.csv", 'shot,dose_g\n"a,18\n' + "b,18\n" * 10_000),
        "a quote that nothing closes does not swallow what follows",
        shots=("b",),
        aside=(
            {"line": 2, "reason": "not properly closed"},
            *(
                {"line": line, "reason": "an exact copy of the row at line 3"}
                for line in range(4, 10_003)
            ),
        ),
    ),
)

BUILT_TRAPS: tuple[Trap, ...] = (*LARGE, *PARQUET, *SHEETS)
