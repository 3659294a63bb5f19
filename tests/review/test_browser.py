from __future__ import annotations

from pathlib import Path

import pytest

from tests.conftest import ROOT
from tests.review import browser
from tests.review.logs import read, rows
from yieldwright.review import render_page, review_weekend
from yieldwright.shotlog import read_log

pytestmark = pytest.mark.browser

DEMO = ROOT / "datasets" / "evening-class"
CROWDED = [
    line.replace("sweet", "W" * 500)
    .replace("bag-7", "B" * 200)
    .replace("s", "shot-with-a-long-name-", 1)
    for line in rows(200)
]


@pytest.fixture(scope="module", params=["demo", "ordinary", "crowded", "empty"])
def page(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return the file of a page: the demo's, an ordinary one, one of long texts, an empty one."""
    browser.executable()
    folder = tmp_path_factory.mktemp(request.param)
    lines = {"ordinary": rows(40), "crowded": CROWDED, "empty": []}
    log = read_log(DEMO) if request.param == "demo" else read(folder, lines[request.param])
    path = folder / "weekend.html"
    review = review_weekend(log, everything=request.param == "crowded")
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
