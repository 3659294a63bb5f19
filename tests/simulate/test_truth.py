"""The truth as a value: to text and back, and without its noise."""

from __future__ import annotations

import dataclasses
import json
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from yieldwright.errors import BenchFileError
from yieldwright.simulate import Truth


def changed(entries: dict[str, Any], **parts: Any) -> str:
    return json.dumps(entries | parts)


@pytest.fixture
def entries() -> dict[str, Any]:
    known: dict[str, Any] = json.loads(Truth().to_json())
    return known


@given(st.floats(0, 5), st.floats(-5, 0))
def test_it_comes_back_from_its_text(spread: float, turn: float) -> None:
    truth = Truth()
    law = dataclasses.replace(truth.extraction, shot_sd_pct=spread, turns_at=turn)
    truth = dataclasses.replace(truth, extraction=law)
    assert Truth.from_json(truth.to_json()) == truth


def test_an_unknown_entry_is_named(entries: dict[str, Any]) -> None:
    with pytest.raises(BenchFileError, match=r"Truth .* 'colour'"):
        Truth.from_json(changed(entries, colour="brown"))


def test_a_missing_entry_is_named(entries: dict[str, Any]) -> None:
    del entries["heat"]["rise_c"]
    with pytest.raises(BenchFileError, match=r"HeatLaw .* 'rise_c'"):
        Truth.from_json(json.dumps(entries))


@pytest.mark.parametrize("text", ["", "{", "[]", "3", "null"])
def test_other_text_is_refused(text: str) -> None:
    with pytest.raises(BenchFileError, match=r"truth|Truth"):
        Truth.from_json(text)


@pytest.mark.parametrize(
    ("part", "value"), [("bags", 3), ("bags", [{"bag": "b"}]), ("refractometer_offset_pct", "x")]
)
def test_a_value_of_another_kind_is_refused(
    entries: dict[str, Any], part: str, value: object
) -> None:
    with pytest.raises(BenchFileError, match=r"truth holds something|Bag lacks"):
        Truth.from_json(changed(entries, **{part: value}))


def test_without_noise_no_spread_is_left() -> None:
    still = dataclasses.asdict(Truth().without_noise())
    spreads = {
        name: value
        for law in still.values()
        if isinstance(law, dict)
        for name, value in law.items()
        if "sd" in name.split("_") or "repeatability" in name
    }
    assert len(spreads) >= 12
    assert set(spreads.values()) == {0.0}


def test_without_noise_the_laws_stay() -> None:
    assert Truth().without_noise().extraction.per_c_pct == Truth().extraction.per_c_pct
