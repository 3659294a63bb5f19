from __future__ import annotations

import math

import pandas as pd

from yieldwright.bench import Attribute, Bench
from yieldwright.review.shot_rows import ROWS_ON_SCREEN, shot_table
from yieldwright.review.tables import SheetTable

BENCH = Bench()


def many(n: int) -> pd.DataFrame:
    return pd.DataFrame({"shot": [f"s{place}" for place in range(n)], "dose_g": 18.0})


def cells(table: SheetTable, head: str) -> tuple[str, ...]:
    (found,) = [column.cells for column in table.columns if column.head == head]
    return found


def test_a_yield_carries_twice_its_standard_uncertainty() -> None:
    shots = pd.DataFrame({"shot": ["a"], "ey_pct": [19.83], "u_ey_pct": [0.125]})
    assert cells(shot_table(shots, bench=BENCH), "Yield ± 2u [%]") == ("19.83 ± 0.25",)


def test_a_yield_above_what_dissolves_is_shown_as_impossible() -> None:
    shots = pd.DataFrame({"shot": ["a"], "ey_pct": [36.64], "u_ey_pct": [0.3]})
    (cell,) = cells(shot_table(shots, bench=BENCH), "Yield ± 2u [%]")
    assert "not possible" in cell
    assert "±" not in cell


def test_a_failed_shot_shows_its_fate_and_a_warm_up_its_stage() -> None:
    shots = pd.DataFrame(
        {
            "shot": ["a", "b", "c", "d"],
            "dose_g": 18.0,
            "fate": ["choked", "pulled", "pulled", "channelled"],
            "stage": ["counted", "warm_up", "transition", "transition"],
        }
    )
    assert cells(shot_table(shots, bench=BENCH), "Recipe") == (
        "choked",
        "warm-up; hit",
        "after a grind change; hit",
        "after a grind change; channelled",
    )


def test_places_and_scores_join_by_shot() -> None:
    shots = pd.DataFrame({"shot": ["a", "b"], "dose_g": 18.0})
    placed = pd.DataFrame({"shot": ["b"], "region": ["weak_over"], "p_region": [0.834]})
    scores = pd.DataFrame({"shot": ["a"], "overall": [6.5]})
    table = shot_table(shots, bench=BENCH, placed=placed, scores=scores)
    assert cells(table, "On the chart") == ("–", "weak, over-extracted (83 %)")
    assert cells(table, "Taste: overall") == ("6.5", "–")


def test_the_taste_shown_is_the_first_attribute_of_the_bench() -> None:
    bench = Bench(attributes=(Attribute("sweet"), Attribute("overall")))
    scores = pd.DataFrame({"shot": ["s0"], "overall": [6.5], "sweet": [3.0]})
    assert cells(shot_table(many(1), bench=bench, scores=scores), "Taste: sweet") == ("3.0",)


def test_columns_nobody_filled_in_are_absent() -> None:
    heads = [column.head for column in shot_table(many(2), bench=BENCH).columns]
    assert heads == ["Shot", "Dose [g]", "Recipe"]


def test_missing_numbers_show_as_dashes() -> None:
    shots = pd.DataFrame({"shot": ["a", "b"], "time_s": [math.nan, 36.4]})
    assert cells(shot_table(shots, bench=BENCH), "Time [s]") == ("–", "36")


def test_a_long_note_is_clipped_and_says_so_by_an_ellipsis() -> None:
    shots = many(1).assign(notes="x" * 10_000)
    (note,) = cells(shot_table(shots, bench=BENCH), "Notes")
    assert len(note) < 200
    assert note.endswith("…")


def test_short_tables_are_neither_cut_nor_remarked_on() -> None:
    table = shot_table(many(9), bench=BENCH, rows_on_paper=9)
    assert (table.remark, table.print_remark, table.first_printed) == ("", "", 0)


def test_paper_takes_the_newest_rows_and_counts_the_rest() -> None:
    table = shot_table(many(10), bench=BENCH, rows_on_paper=9)
    assert len(table.rows) == 10
    assert table.first_printed == 1
    assert table.print_remark.startswith("1 earlier shot not printed")


def test_a_huge_log_gives_a_table_of_bounded_length_that_counts_the_rest() -> None:
    table = shot_table(many(10_000), bench=BENCH)
    assert len(table.rows) == ROWS_ON_SCREEN
    assert table.rows[-1][0] == "s9999"
    assert table.remark.startswith(f"{10_000 - ROWS_ON_SCREEN:,} earlier shots not shown")
