"""`weekend` ends in a page or in one paragraph, whatever log and place it is given."""

from __future__ import annotations

import os
import re
from collections.abc import Callable
from html.parser import HTMLParser
from pathlib import Path
from xml.etree import ElementTree as ET

import pytest

from tests.cli.odd_logs import ALL_SET_ASIDE, HEADER, HOSTILE, READABLE, UNREADABLE, row
from yieldwright.cli import main

FAIR = HEADER + "".join(row(n) for n in range(1, 25))
Weekend = Callable[..., tuple[int, str, str]]


@pytest.fixture
def weekend(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> Weekend:
    """Return a way to review the text of a log: code, stdout, stderr."""
    monkeypatch.setenv("COLUMNS", "80")
    monkeypatch.chdir(tmp_path)

    def run(text: str, *options: str, out: str = "page.html") -> tuple[int, str, str]:
        Path("shots.csv").write_text(text, encoding="utf-8", newline="")
        code = main(["weekend", "shots.csv", "--out", out, *options])
        printed = capsys.readouterr()
        return code, printed.out, printed.err

    return run


class Tags(HTMLParser):
    """The tags of a page, and the attributes that could run or load something."""

    def __init__(self, source: str) -> None:
        super().__init__()
        self.tags: set[str] = set()
        self.active: list[str] = []
        self.feed(source)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.add(tag)
        self.active += [name for name, _ in attrs if name.startswith("on")]


def page() -> str:
    return Path("page.html").read_text(encoding="utf-8")


@pytest.mark.parametrize(
    "text", [*READABLE.values(), ALL_SET_ASIDE, HEADER], ids=[*READABLE, "aside", "header"]
)
def test_a_log_that_can_be_read_becomes_a_page(weekend: Weekend, text: str) -> None:
    code, out, err = weekend(text)
    assert (code, err) == (0, "")
    assert "page.html" in out
    assert page().rstrip().endswith("</html>")


@pytest.mark.parametrize("text", UNREADABLE.values(), ids=UNREADABLE)
def test_a_log_that_cannot_be_read_gets_one_paragraph(weekend: Weekend, text: str) -> None:
    code, out, err = weekend(text)
    assert (code, out) == (3, "")
    assert len(err.splitlines()) == 1
    assert not Path("page.html").exists()


def test_the_report_says_where_the_page_is_and_what_it_rests_on(weekend: Weekend) -> None:
    _, out, _ = weekend(FAIR + row(30, dose_g="180"))
    told = " ".join(out.split())
    assert "Page page.html" in told
    assert "26 lines = 24 accepted + 1 set aside + 1 listed" in told
    assert "yieldwright check shots.csv" in told
    assert max(map(len, out.splitlines())) <= 80


def test_the_conclusion_printed_is_the_one_on_the_page(weekend: Weekend) -> None:
    _, out, _ = weekend(FAIR)
    told = re.search(r"Conclusion(.*?)\n  \w", out, re.DOTALL)
    assert told is not None
    conclusion = " ".join(told[1].split())
    assert len(conclusion) > 20
    assert conclusion in " ".join(page().split())


def test_no_strength_is_said_on_the_page(weekend: Weekend) -> None:
    weekend(READABLE["no strength"])
    assert "without a strength reading" in page()


def test_hostile_text_is_shown_and_never_run(weekend: Weekend) -> None:
    _, out, _ = weekend(HOSTILE, "--all")
    found = Tags(page())
    assert "script" not in found.tags
    assert found.active == []
    assert not {"\x1b", "\u202e"} & set(page() + out)


def test_the_days_before_a_day_are_left_out(weekend: Weekend) -> None:
    _, every, _ = weekend(FAIR, "--all")
    _, since, _ = weekend(FAIR, "--since", "2026-03-04")
    assert "24 shots" in every
    assert "1 shot " in since


def test_a_bag_that_is_not_in_the_log_is_named_with_those_that_are(weekend: Weekend) -> None:
    code, _, err = weekend(FAIR, "--bag", "bag-2")
    assert code == 2
    assert "bag-2" in err
    assert "bag-1" in err


def test_figures_are_written_as_files_of_their_own(weekend: Weekend) -> None:
    code, out, _ = weekend(FAIR, "--figures", "deep/figures")
    paths = sorted(Path("deep/figures").iterdir())
    assert code == 0
    assert [path.name for path in paths] == ["chart.svg", "effects.svg", "timeline.svg"]
    assert [path.name for path in paths if path.name not in out] == []
    roots = [ET.parse(path).getroot().tag for path in paths]  # noqa: S314  # our own
    assert roots == ["{http://www.w3.org/2000/svg}svg"] * 3


def test_a_folder_for_a_page_is_refused_before_any_work(
    weekend: Weekend, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def too_late(*arguments: object, **options: object) -> None:
        raise AssertionError("the log was read first")

    monkeypatch.setattr("yieldwright.shotlog.read_log", too_late)
    code, _, err = weekend(FAIR, out=str(tmp_path))
    assert code == 4
    assert "is a folder; name a file in it" in err


def test_a_missing_folder_is_named(weekend: Weekend) -> None:
    code, _, err = weekend(FAIR, out="nowhere/page.html")
    assert code == 4
    assert "there is no folder" in err


@pytest.mark.parametrize("name", ["shots.csv", "bench.toml", "notes.txt"])
def test_a_page_never_replaces_a_file_that_is_no_page(weekend: Weekend, name: str) -> None:
    Path(name).write_text("", "utf-8")
    code, _, err = weekend(FAIR, out=name)
    assert code == 4
    assert "is no page" in err
    assert Path(name).read_text("utf-8") == (FAIR if name == "shots.csv" else "")


def test_a_page_replaces_the_page_before(weekend: Weekend) -> None:
    Path("page.html").write_text("the page before", "utf-8")
    code, _, _ = weekend(FAIR)
    assert code == 0
    assert "the page before" not in page()


def test_a_file_in_place_of_the_figures_folder_is_told(weekend: Weekend) -> None:
    code, _, err = weekend(FAIR, "--figures", "shots.csv")
    assert code == 4
    assert "for the figures cannot be made" in err


@pytest.mark.skipif(
    not hasattr(os, "geteuid") or os.geteuid() == 0, reason="the superuser may write anywhere"
)
def test_a_folder_closed_to_writing_is_told(weekend: Weekend, tmp_path: Path) -> None:
    (tmp_path / "closed").mkdir(mode=0o500)
    code, _, err = weekend(FAIR, out="closed/page.html")
    assert code == 4
    assert "choose a folder you may write to" in err


def test_the_same_log_gives_the_same_page(weekend: Weekend) -> None:
    weekend(FAIR)
    first = page()
    weekend(FAIR)
    assert page() == first
