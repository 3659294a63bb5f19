"""The bench file to begin with states nothing, and each of its entries can be switched on."""

from __future__ import annotations

import dataclasses
import re
from pathlib import Path

import pytest

from yieldwright.bench import (
    Attribute,
    BagFacts,
    Band,
    Bench,
    Grinder,
    Recipe,
    Refractometer,
    Scale,
    Window,
    bench_template,
    read_bench,
)


def read_text(text: str, folder: Path) -> Bench:
    path = folder / "bench.toml"
    path.write_text(text, encoding="utf-8")
    return read_bench(path)


@pytest.fixture
def switched_on(tmp_path: Path) -> Bench:
    """Return the bench of the template with every entry switched on."""
    return read_text(re.sub(r"^#(?=\S)", "", bench_template(), flags=re.MULTILINE), tmp_path)


def test_the_template_reads_back_to_the_assumptions(tmp_path: Path) -> None:
    assert read_text(bench_template(), tmp_path) == Bench()


@pytest.mark.parametrize(
    "part",
    ["dose_scale", "beverage_scale", "refractometer", "bands", "recipe"],
)
def test_the_figures_shown_are_those_assumed(switched_on: Bench, part: str) -> None:
    assert getattr(switched_on, part) == getattr(Bench(), part)
    assert part in switched_on.stated


def test_the_window_shown_is_the_convention(switched_on: Bench) -> None:
    assert dataclasses.replace(switched_on.window, stated=False) == Window()


def test_the_attribute_shown_is_the_assumed_one(switched_on: Bench) -> None:
    shown = [dataclasses.replace(each, stated=False) for each in switched_on.attributes]
    assert shown == [Attribute("overall")]


@pytest.mark.parametrize(
    "part", [Scale, Refractometer, Grinder, BagFacts, Band, Recipe, Window, Attribute]
)
def test_every_field_of_every_part_is_shown(part: type) -> None:
    entries = set(re.findall(r"^#(\w+) =", bench_template(), flags=re.MULTILINE))
    assert {field.name for field in dataclasses.fields(part)} - {"stated"} <= entries


@pytest.mark.parametrize(
    "entry",
    ["delimiter", "decimal", "time_zone_offset", "day_order", "sheet", "density_g_per_ml"],
)
def test_every_way_to_tell_how_the_log_is_written_is_shown(switched_on: Bench, entry: str) -> None:
    assert entry in switched_on.stated


def test_lines_fit_a_narrow_editor() -> None:
    assert max(map(len, bench_template().splitlines())) <= 88
