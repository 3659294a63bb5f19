"""One rule for the numbers of every JSON: a number that is none is null, with its reason."""

from __future__ import annotations

import json
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from tests.cli.odd_logs import ALL_SET_ASIDE, HEADER, READABLE, row
from tests.conftest import ROOT
from tests.review.logs import HEADER as REVIEW_HEADER
from tests.review.logs import full_marks_rows
from yieldwright.cli import main
from yieldwright.cli.arguments import commands_with

#: Logs whose answers lack numbers of many kinds, or have some without an end.
LOGS = {
    **READABLE,
    "all set aside": ALL_SET_ASIDE,
    "header": HEADER,
    "fair": HEADER + "".join(row(n) for n in range(1, 25)),
    "full marks": "\n".join([REVIEW_HEADER, *full_marks_rows(40)]) + "\n",
    "evening-class": str(ROOT / "datasets" / "evening-class"),
    "one-bag": str(ROOT / "datasets" / "one-bag"),
}
#: What a command can be asked for beside its first answer.
ASKED = {"bag": ["--against", "--next", "--every"], "taste": ["--shot-at", "grind_setting=99"]}
COMMANDS = commands_with("--json")


def told(command: str, text: str, capsys: pytest.CaptureFixture[str]) -> Any:
    """Return the object a command prints, as a strict reader of JSON sees it."""

    def refuse(word: str) -> None:
        raise AssertionError(f"{word} is not JSON")

    path = text
    if "\n" in text:
        path = "shots.csv"
        Path(path).write_text(text, encoding="utf-8", newline="")
    main([command, path, "--json", *ASKED.get(command, [])])
    return json.loads(capsys.readouterr().out, parse_constant=refuse)


def keyed(value: object, place: str = "") -> Iterator[tuple[str, str, Any, dict[str, Any]]]:
    """Yield every key of every object: the place of the object, the key, its value, the object."""
    if isinstance(value, dict):
        for name, each in value.items():
            yield place, name, each, value
            yield from keyed(each, f"{place}.{name}")
    elif isinstance(value, list):
        for each in value:
            yield from keyed(each, place)


def is_number(value: object) -> bool:
    return isinstance(value, int | float) and not isinstance(value, bool)


def nulls(value: object) -> object:
    """Return a list with its nulls marked: what `_why` of a list of numbers must look like."""
    return [nulls(each) for each in value] if isinstance(value, list) else value is None


def test_every_command_that_prints_json_is_held_to_the_rule() -> None:
    assert {"check", "taste", "bag", "steady"} <= set(COMMANDS)


@pytest.mark.parametrize("command", COMMANDS)
def test_a_number_that_is_none_is_null_with_its_reason(
    command: str,
    tmp_path: Path,
    capsys: pytest.CaptureFixture[str],
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.chdir(tmp_path)
    every = [entry for text in LOGS.values() for entry in keyed(told(command, text, capsys))]
    texts = {value.lower() for _, _, value, _ in every if isinstance(value, str)}
    assert not texts & {"inf", "-inf", "infinity", "-infinity", "nan"}
    numbers = {(place, name) for place, name, value, _ in every if is_number(value)}
    bare = {
        f"{place}.{name}"
        for place, name, value, beside in every
        if value is None and (place, name) in numbers and f"{name}_why" not in beside
    }
    assert bare == set()
    for _, name, value, beside in every:
        why = beside.get(f"{name}_why")
        if isinstance(why, list):
            assert nulls(value) == nulls([None if w else 0 for w in why])
        elif why is not None:
            assert value is None
            assert why.split()[0] in ("is", "has"), why


@pytest.mark.parametrize("command", COMMANDS)
def test_the_rule_stands_once_in_the_help(
    command: str, capsys: pytest.CaptureFixture[str]
) -> None:
    main([command, "--help"])
    printed = " ".join(capsys.readouterr().out.split())
    assert printed.count('with the reason in a key of its name and "_why"') == 1
    assert "Null without a reason: there is nothing of that name" in printed


@pytest.mark.parametrize("command", COMMANDS)
def test_the_format_of_the_help_is_that_of_the_object(
    command: str, capsys: pytest.CaptureFixture[str]
) -> None:
    found = told(command, LOGS["one-bag"], capsys)
    main([command, "--help"])
    printed = " ".join(capsys.readouterr().out.split())
    assert f"format ({found['format']})" in printed or f"format {found['format']};" in printed


def test_a_number_without_an_end_says_which_end(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    # Dose and grind change together in every row: beside one, the other tells nothing.
    monkeypatch.chdir(tmp_path)
    (pair,) = told("taste", LOGS["fair"], capsys)["parts"]["effects"]["confounded"]
    assert {pair["first"], pair["second"]} == {"dose_g", "grind_setting"}
    assert (pair["vif"], pair["vif_why"]) == (None, "has no upper end")
