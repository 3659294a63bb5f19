"""Functions are short, modules are short, and the usual function is very short."""

from __future__ import annotations

import statistics

from tests.conventions import surface

LONGEST_FUNCTION = 40
LONGEST_MODULE = 350
USUAL_FUNCTION = 8
LONG_TAIL = 25


def test_no_function_is_over_forty_lines() -> None:
    assert [body.where for body in surface.bodies() if body.lines > LONGEST_FUNCTION] == []


def test_the_median_function_is_eight_lines_at_most() -> None:
    assert statistics.median(body.lines for body in surface.bodies()) <= USUAL_FUNCTION


def test_nine_functions_in_ten_are_within_twenty_five_lines() -> None:
    ninth_decile = statistics.quantiles((body.lines for body in surface.bodies()), n=10)[-1]
    assert ninth_decile <= LONG_TAIL


def test_no_module_is_over_350_lines() -> None:
    lengths = {path.name: len(path.read_text("utf-8").splitlines()) for path in surface.sources()}
    assert {name: lines for name, lines in lengths.items() if lines > LONGEST_MODULE} == {}
