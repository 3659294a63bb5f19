"""The slipped cell of a row is found by the relations it breaks, and its number is offered."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.evidence.slips import KINDS, slip
from tests.shotlog.conftest import Reader
from yieldwright.glossary import Span
from yieldwright.shotlog.checks.keystrokes import corrections, decimals
from yieldwright.shotlog.checks.slips import likely_meant

HEAD = "shot,dose_g,beverage_g,tds_pct,brew_ratio,ey_pct\n"
#: Ratio and yield by hand from the cells, rounded to 0.01 and 0.1.
ROWS = [
    "1,18.1,36.2,9.41,2.00,18.8",
    "2,18.0,35.4,9.62,1.97,18.9",
    "3,17.9,36.9,9.35,2.06,19.3",
    "4,18.2,36.0,9.50,1.98,18.8",
    "5,18.0,35.9,9.58,1.99,19.1",
    "6,18.1,37.0,9.20,2.04,18.8",
    "7,17.8,36.3,9.44,2.04,19.3",
    "8,18.0,36.1,9.47,2.01,19.0",
    "9,18.0,36.5,9.33,2.03,18.9",
]


def with_row(row: str) -> str:
    """Return the log with another last row."""
    return HEAD + "\n".join([*ROWS[:-1], row]) + "\n"


def test_the_log_itself_is_not_doubted(read: Reader) -> None:
    assert read(with_row(ROWS[-1])).flags.empty


@pytest.mark.parametrize(
    ("row", "column", "offer"),
    [
        ("9,18.9,36.5,9.33,2.03,18.9", "dose_g", "18.9 → 18.0?"),
        ("9,18.0,39.5,9.33,2.03,18.9", "beverage_g", "39.5 → 36.5?"),
        ("9,18.0,36.5,9.83,2.03,18.9", "tds_pct", "9.83 → 9.33?"),
        ("9,18.0,36.5,9.33,2.30,18.9", "brew_ratio", "2.30 → 2.03? the computed value is used"),
        ("9,18.0,36.5,9.33,2.03,13.9", "ey_pct", "13.9 → 18.9? the computed value is used"),
    ],
)
def test_the_cell_that_mends_all_is_named(row: str, column: str, offer: str, read: Reader) -> None:
    flags = read(with_row(row)).flags
    assert offer in set(flags.loc[flags["column"] == column, "suggestion"])


def test_two_wrong_keys_are_told_but_not_guessed(read: Reader) -> None:
    flags = read(with_row("9,18.0,63.6,9.33,2.03,18.9")).flags
    ratio = flags[flags["column"] == "brew_ratio"]
    assert ratio["suggestion"].tolist()[-1] == "the computed value is used"


def test_a_located_slip_says_which_typed_values_it_does_not_fit(read: Reader) -> None:
    (reason,) = read(with_row("9,18.9,36.5,9.33,2.03,18.9")).flags["reason"]
    assert reason == (
        "does not fit the typed brew_ratio of 2.03 (the row gives 1.931) "
        "and ey_pct of 18.9 (the row gives 18.02)"
    )


def test_the_value_itself_is_never_changed(read: Reader) -> None:
    assert read(with_row("9,18.9,36.5,9.33,2.03,18.9")).shots["dose_g"].iloc[-1] == 18.9


def test_where_two_cells_are_as_likely_both_are_offered(read: Reader) -> None:
    # Strength and typed yield are held together by one relation alone, and here both
    # 9.33 → 9.23 and 18.7 → 18.9 mend it, each near to the middle of its column.
    rows = [row.rsplit(",", 2) for row in ROWS]
    content = HEAD.replace(",brew_ratio", "")
    content += "".join(f"{start},{end}\n" for start, _, end in rows[:-1])
    flags = read(content + "9,18.0,36.5,9.33,18.7\n").flags
    offers = flags.loc[flags["column"] == "ey_pct", "suggestion"].tolist()
    assert any("the rest of the row cannot tell" in offer for offer in offers)


def test_a_refused_cell_is_mended_by_the_rest_of_its_row(read: Reader) -> None:
    log = read(with_row("9,1.8,36.5,9.33,2.03,18.9"))
    assert log.set_aside["suggestion"].tolist() == ["1.8 → 18?"]


@pytest.mark.parametrize(
    ("typed", "offer"),
    [("180", "180 → 18.0?"), ("81.0", "81.0 → 18.0?"), ("188.0", "188.0 → 18.0?")],
)
def test_a_refused_dose_is_held_against_its_column(typed: str, offer: str, read: Reader) -> None:
    doses = [row.split(",")[1] for row in ROWS]
    content = "shot,dose_g\n" + "".join(
        f"{at},{dose}\n" for at, dose in enumerate([*doses, typed])
    )
    assert read(content).set_aside["suggestion"].tolist() == [offer]


TIMES = ["36", "35", "34", "37", "36", "38", "33", "36", "35"]


def log_of(name: str, cells: list[str]) -> str:
    """Return a log with one column of numbers."""
    return f"shot,{name}\n" + "".join(f"{at},{cell}\n" for at, cell in enumerate(cells))


def test_a_lone_cell_far_off_is_offered_what_one_key_makes_usual(read: Reader) -> None:
    flags = read(log_of("time_s", [*TIMES, "53"])).flags
    assert flags[["column", "value", "suggestion"]].to_numpy().tolist() == [
        ["time_s", "53", "53 → 35?"]
    ]


@pytest.mark.parametrize("time", ["30", "40", "44"])
def test_a_cell_within_the_usual_spread_is_not(time: str, read: Reader) -> None:
    assert read(log_of("time_s", [*TIMES, time])).flags.empty


def test_a_short_column_has_no_usual_spread(read: Reader) -> None:
    assert read(log_of("time_s", [*TIMES[:5], "53"])).flags.empty


def test_the_outcome_of_a_failed_pull_may_lie_far_off(read: Reader) -> None:
    content = "shot,fate,time_s\n" + "".join(f"{at},pulled,{t}\n" for at, t in enumerate(TIMES))
    assert read(content + "9,choked,53\n").flags.empty


def test_cells_are_held_against_their_own_bag(read: Reader) -> None:
    first = "".join(f"a{at},a,{30 + at % 3}\n" for at in range(10))
    second = "".join(f"b{at},b,{50 + at % 3}\n" for at in range(10))
    assert read(f"shot,bag,time_s\n{first}{second}").flags.empty
    flags = read(f"shot,bag,time_s\n{first}c,a,51\n{second}").flags
    assert flags["shot"].tolist() == ["c"]


def test_a_setting_off_the_few_of_all_others_is_offered_them(read: Reader) -> None:
    temps = ["87", "91"] * 12
    flags = read(log_of("temp_c", [*temps, "81"])).flags
    assert flags["suggestion"].tolist() == ["81 → 87 or 91?"]
    assert read(log_of("temp_c", [*temps, "88", "88", "88"])).flags.empty


def test_a_purge_may_be_tried_once(read: Reader) -> None:
    assert read(log_of("purged_g", [*["0", "4"] * 12, "1"])).flags.empty


@pytest.mark.parametrize(
    ("typed", "said"),
    [("36", "a digit left out?"), ("36.22", "a digit too many?")],
)
def test_a_cell_written_unlike_its_column_is_doubted(typed: str, said: str, read: Reader) -> None:
    cells = ["36.0", "35.9", "36.1", "36.0", "36.4", "35.7", "36.2", "36.3"]
    (reason,) = read(log_of("beverage_g", [*cells, typed])).flags["reason"]
    assert said in reason


def test_a_column_that_drops_last_zeros_lacks_no_digit(read: Reader) -> None:
    cells = ["36", "35.9", "36.1", "36.5", "36.4", "35.7", "36.2", "36.3", "36.6"]
    assert read(log_of("beverage_g", cells)).flags.empty


NUMBERS = st.decimals(1, 200, allow_nan=False, places=2).map(str) | st.integers(1, 200).map(str)


@given(NUMBERS, st.sampled_from(sorted(KINDS)), st.randoms(use_true_random=False))
def test_a_correction_undoes_any_single_key(meant: str, kind: str, chance: object) -> None:
    import numpy as np

    rng = np.random.default_rng(chance.randrange(2**32))  # type: ignore[attr-defined]
    typed = slip(meant, kind, rng)
    if typed is None or typed.startswith(("0", ".")) or typed.endswith(".") or not typed:
        return
    offered = {each.value for each in corrections(typed).each}
    assert float(meant) in offered


@given(NUMBERS)
def test_no_correction_leaves_the_number_as_it_is(typed: str) -> None:
    made = corrections(typed).each
    assert float(typed) not in {each.value for each in made}
    assert len({each.value for each in made}) == len(made)


@pytest.mark.parametrize(
    "text", ["", "about 18", "90-92", "18±0.1", "1:02", "0:36", "x", "1e3", "1.2.3"]
)
def test_what_is_no_plain_number_has_no_corrections(text: str) -> None:
    assert corrections(text).each == ()
    assert decimals(text) == -1


def test_decimal_commas_are_kept_in_what_is_offered() -> None:
    usual = Span(14, 22)
    assert likely_meant("81,0", 81.0, usual, middle=18.0, scale=0.2) == "81,0 → 18,0?"


def test_without_a_middle_nothing_is_offered() -> None:
    assert likely_meant("81.0", 81.0, Span(14, 22)) == ""
