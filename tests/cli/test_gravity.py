"""What may change a conclusion is told before what is merely unusual."""

from __future__ import annotations

import pytest

from yieldwright.cli.gravity import GRAVITIES, gravity_of


@pytest.mark.parametrize(
    ("gravity", "reason"),
    [
        (
            "telling",
            "36.6 % extraction is above the 30 % that water can dissolve; left out of fits",
        ),
        ("telling", "typed 21.5, but the row itself gives 20 % by mass"),
        ("telling", "the same in every shot: a target in place of weighings?"),
        (
            "telling",
            "pulled within a minute of shot “1”, with equal dose and beverage: one shot twice?",
        ),
        ("telling", "taken as missing"),
        ("telling", "something no one has thought of yet"),
        ("unusual", "dose_g is 23 g, outside the usual 14–22 g"),
        ("unusual", "beverage_g is 3 g, outside 5–120 g"),
        ("small", "2,010 characters, over the 2,000 a note should hold"),
        ("small", "falls between the steps of 0.5 that the scale has"),
        ("small", "the time of day is left out"),
    ],
)
def test_each_flag_has_its_place(gravity: str, reason: str) -> None:
    assert gravity_of(reason) == gravity


def test_the_gravest_come_first() -> None:
    assert list(GRAVITIES) == ["telling", "unusual", "small"]
