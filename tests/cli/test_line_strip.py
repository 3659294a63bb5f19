"""Each line of a file has its sign, and nothing bad is hidden by what is good."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from yieldwright.cli.line_strip import line_strip

Strip = Callable[..., list[str]]


@pytest.fixture
def strip(tmp_path: Path) -> Strip:
    """Return a way to the strip of the text of a log."""

    def made(text: str, width: int = 60) -> list[str]:
        from yieldwright.shotlog import read_log

        path = tmp_path / "shots.csv"
        path.write_text(text, encoding="utf-8")
        log = read_log(path)
        return line_strip(log.reading.files[0], log, width)

    return made


def test_each_line_has_the_sign_of_what_became_of_it(strip: Strip) -> None:
    assert strip("shot,dose_g\n1,18\n\n# two\n2,180\n3,23\n4,18\n") == ["_.__X?."]


def test_a_record_of_several_lines_has_as_many_signs(strip: Strip) -> None:
    assert strip('shot,dose_g,notes\n1,180,"two\nlines"\n2,18,\n') == ["_XX."]


def test_where_all_is_well_there_is_no_strip(strip: Strip) -> None:
    assert strip("shot,dose_g\n1,18\n2,18\n") == []


def test_of_very_many_lines_there_is_no_strip(strip: Strip) -> None:
    rows = "".join(f"{n},{180 if n == 1500 else 18}\n" for n in range(1, 2001))
    assert strip(f"shot,dose_g\n{rows}", 40) == []


def test_one_bad_line_among_hundreds_is_seen(strip: Strip) -> None:
    rows = "".join(f"{n},{180 if n == 700 else 18}\n" for n in range(1, 1001))
    *signs, scale = strip(f"shot,dose_g\n{rows}", 50)
    assert [len(row) for row in signs] == [50, 41]
    assert "".join(signs).count("X") == 1
    assert scale == "a sign for 11 lines, the gravest of them"
