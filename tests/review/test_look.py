"""The look of the page keeps to what anyone can read: contrast, and grey on paper."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

CSS = (Path(__file__).parents[2] / "analysis/yieldwright/review/templates/weekend.css").read_text(
    encoding="utf-8"
)


def colour(name: str) -> str:
    found = re.search(rf"--{name}: (#[0-9a-f]{{6}});", CSS)
    assert found is not None
    return found[1]


def luminance(code: str) -> float:
    """Return the relative luminance of a colour, by WCAG 2.2."""
    channels = [int(code[place : place + 2], 16) / 255 for place in (1, 3, 5)]
    linear = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in channels]
    return sum(weight * c for weight, c in zip((0.2126, 0.7152, 0.0722), linear, strict=True))


def contrast(first: str, second: str) -> float:
    """Return the contrast ratio of two colours, by WCAG 2.2."""
    light, dark = sorted((luminance(first), luminance(second)), reverse=True)
    return (light + 0.05) / (dark + 0.05)


def test_black_on_white_has_the_ratio_the_standard_states() -> None:
    assert contrast("#000000", "#ffffff") == pytest.approx(21)


@pytest.mark.parametrize("name", ["ink", "soft", "mark"])
def test_every_text_colour_passes_level_aa_on_paper(name: str) -> None:
    # WCAG 2.2, success criterion 1.4.3: at least 4.5 to 1
    assert contrast(colour(name), colour("paper")) >= 4.5


def test_no_colour_stands_outside_the_list_at_the_top() -> None:
    body = CSS[CSS.index("}") :]
    assert set(re.findall(r"#[0-9a-f]{3,6}\b", body)) <= {"#fff", "#e9e6dd"}
