"""Other shots are offered as commands only where any shell takes their codes as meant."""

from __future__ import annotations

import io

import pandas as pd
import pytest

from yieldwright.cli.other_shots import choosing, named_some, say_other_shots
from yieldwright.cli.streams import console
from yieldwright.taste.columns.comparable import ComparableSet


def offered(*codes: str) -> str:
    """Return what is printed of other bags."""
    stream = io.StringIO()
    say_other_shots(
        console(stream),
        [ComparableSet(code, "g1", pd.DataFrame({"bag": [code]})) for code in codes],
        named=lambda each: each.bag,
        asking=lambda each: ["yieldwright", "taste", "log", *choosing(each.bag, each.grinder)],
    )
    return stream.getvalue()


def test_the_first_code_that_can_be_typed_is_offered() -> None:
    printed = offered("a\nb", "two words", "bag-3")
    assert 'yieldwright taste log --bag "two words" --grinder g1' in printed


@pytest.mark.parametrize("code", ["--full", "a\nb", "a\u202eb", "$HOME", 'a"b', "=cmd|' /C x'!A1"])
def test_a_code_that_a_shell_or_a_screen_changes_is_named_and_not_offered(code: str) -> None:
    printed = offered(code)
    assert "Also in this log" in printed
    assert "yieldwright taste" not in printed
    assert not {"\u202e", "\x1b"} & set(printed)


def test_a_long_code_is_cut_where_it_is_named() -> None:
    assert len(named_some(["y" * 300])) <= 60


def test_nothing_is_said_where_there_is_nothing_else() -> None:
    assert offered() == ""
