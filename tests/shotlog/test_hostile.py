"""Text from a log is text: nothing in it is evaluated, run or used as a format."""

from __future__ import annotations

import pytest

from tests.shotlog.conftest import Reader
from yieldwright.shotlog import score_table

TEXTS = [
    "<script>alert(1)</script>",
    "$^$",
    "=1+1",
    "=cmd|' /C calc'!A0",
    "{0.__class__}",
    "%s%n",
    "__import__('os')",
    "`shot`.max()",
    "\x1b[31mred\x1b[0m",
    "\u202egnp.exe",
    "../../shots.csv",
    "\N{PILE OF POO}",
    "a\0b",
]


@pytest.mark.parametrize("text", TEXTS)
def test_a_hostile_note_is_kept_letter_by_letter(text: str, read: Reader) -> None:
    log = read(f"shot\tnotes\n1\t{text}\n")
    assert log.shots["notes"].tolist() == [text]


@pytest.mark.parametrize("text", TEXTS)
def test_a_hostile_header_is_kept_as_a_column_of_text(text: str, read: Reader) -> None:
    log = read(f"shot\t{text}\n1\t=2*3\n")
    assert log.extras[text].tolist() == ["=2*3"]


@pytest.mark.parametrize("text", TEXTS)
def test_a_hostile_name_of_a_shot_is_its_name(text: str, read: Reader) -> None:
    log = read(f"shot\toverall\n{text}\t7\n")
    assert score_table(log).loc[0].tolist() == [text, 7.0, 1]


@pytest.mark.parametrize("text", [text for text in TEXTS if not text.startswith("=")])
def test_a_hostile_number_sets_its_row_aside(text: str, read: Reader) -> None:
    log = read(f"shot\tdose_g\n1\t{text}\n2\t18\n")
    assert log.shots["shot"].tolist() == ["2"]
    assert log.set_aside["raw"].tolist() == [f"1\t{text}"]


@pytest.mark.parametrize("text", [text for text in TEXTS if text.startswith("=")])
def test_a_formula_in_place_of_a_number_is_never_worked_out(text: str, read: Reader) -> None:
    log = read(f"shot\tdose_g\n1\t{text}\n2\t18\n")
    assert log.shots["dose_g"].isna().tolist() == [True, False]
    assert log.flags["value"].tolist() == [text]


@pytest.mark.parametrize("text", TEXTS)
def test_a_hostile_attribute_is_an_attribute(text: str, read: Reader) -> None:
    log = read("shot\n1\n", tastings=f"shot\tattribute\tscore\n1\t{text}\t5\n")
    assert score_table(log)[text].tolist() == [5.0]


def test_reasons_show_no_control_character(read: Reader) -> None:
    log = read("shot,dose_g\n1,\x1b[31m18\n")
    assert "\x1b" not in log.set_aside["reason"].item()


def test_a_long_note_is_flagged_and_kept_whole(read: Reader) -> None:
    note = "sweet " * 1_700
    log = read(f"shot,notes\n1,{note}\n")
    assert log.shots["notes"].item() == note
    assert log.flags["reason"].item() == "10,200 characters, over the 2,000 a note should hold"


def test_a_header_of_ten_thousand_characters_is_cut_in_remarks_only(read: Reader) -> None:
    header = "x" * 10_000
    log = read(f"shot,{header}\n1,2\n")
    assert header in log.extras
    assert max(map(len, log.reading.remarks)) < 1_000


@pytest.mark.parametrize("name", ["shot", "n_tasters"])
def test_an_attribute_cannot_take_a_name_the_score_table_needs(name: str, read: Reader) -> None:
    log = read("shot\n1\n", tastings=f"shot,attribute,score\n1,{name},5\n")
    assert "cannot be named" in log.set_aside["reason"].item()
    assert score_table(log)["n_tasters"].tolist() == [0]
