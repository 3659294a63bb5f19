from __future__ import annotations

from pathlib import Path

import pytest

from tests.conftest import ROOT
from tests.review import browser
from tests.review.logs import full_marks_rows, long_winded_rows, read, rows, two_camps
from yieldwright.review import render_page, review_weekend
from yieldwright.shotlog import ShotLog, read_log

pytestmark = pytest.mark.browser

DEMO = ROOT / "datasets" / "evening-class"
PAGES = ("demo", "ordinary", "crowded", "long-winded", "odds", "camps", "empty")


def log_of(name: str, folder: Path) -> ShotLog:
    """Return a log by the name of the page it makes."""
    if name == "demo":
        return read_log(DEMO)
    if name == "camps":
        return two_camps(folder)
    lines = {
        "ordinary": lambda: rows(40),
        "crowded": lambda: [line.replace("sweet", "W" * 500) for line in rows(400)],
        "long-winded": long_winded_rows,
        "odds": lambda: full_marks_rows(40),
        "empty": list,
    }
    return read(folder, lines[name]())


@pytest.fixture(scope="module", params=PAGES)
def page(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return the file of a page: the demo's, an ordinary one, two overfull ones, an empty one."""
    browser.executable()
    folder = tmp_path_factory.mktemp(request.param)
    log = log_of(request.param, folder)
    review = review_weekend(log, everything=request.param in ("crowded", "long-winded"))
    path = folder / "weekend.html"
    path.write_text(render_page(review), encoding="utf-8")
    return path


@pytest.mark.parametrize("width", [390, 1280])
def test_nothing_sticks_out_of_the_window(page: Path, width: int, tmp_path: Path) -> None:
    found = browser.measured(page, width, tmp_path)
    assert found["scroll"] <= found["client"]
    assert found["wide"] == []


def test_the_browser_has_nothing_to_complain_of(page: Path, tmp_path: Path) -> None:
    assert browser.complaints(page, tmp_path) == []


@pytest.mark.parametrize("paper", ["A4", "letter"])
def test_it_prints_on_two_sides_at_most(page: Path, paper: str, tmp_path: Path) -> None:
    assert 1 <= browser.printed_sides(page, paper, tmp_path) <= 2
