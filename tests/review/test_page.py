from __future__ import annotations

import re
from pathlib import Path

import pytest

from tests.review.logs import HEADER, read, rows, without
from tests.review.markup import Page, parsed
from yieldwright.review import render_page, review_weekend


@pytest.fixture(scope="module")
def text(tmp_path_factory: pytest.TempPathFactory) -> str:
    """Return the page of an ordinary log."""
    log = read(tmp_path_factory.mktemp("ordinary"), rows(40))
    return render_page(review_weekend(log))


@pytest.fixture(scope="module")
def page(text: str) -> Page:
    """Return the same page as its elements."""
    return parsed(text)


def page_of(folder: Path, lines: list[str], *, header: str = HEADER) -> Page:
    return parsed(render_page(review_weekend(read(folder, lines, header=header))))


def test_every_element_is_closed_in_order(page: Page) -> None:
    assert (page.unclosed, page.wrongly_closed) == ([], [])


def test_the_page_says_its_language_title_and_encoding(page: Page) -> None:
    assert page.all("html")[0]["lang"] == "en"
    assert page.count("title") == 1
    assert page.all("meta")[0] == {"charset": "utf-8"}


def test_the_policy_lets_nothing_load_and_nothing_run(page: Page) -> None:
    policies = [each["content"] for each in page.all("meta") if "http-equiv" in each]
    assert policies == ["default-src 'none'; style-src 'unsafe-inline'; img-src data:"]


def test_nothing_is_referred_to_outside_the_file(text: str, page: Page) -> None:
    without_names = re.sub(r'xmlns(:xlink)?="http://www\.w3\.org/[^"]*"', "", text)
    assert re.findall(r"https?://|//[a-z]|@import|url\((?!#)", without_names) == []
    targets = [
        value
        for _, attributes in page.tags
        for name, value in attributes.items()
        if name in ("src", "href", "xlink:href", "action", "srcset", "poster", "data")
    ]
    assert [each for each in targets if not each.startswith(("#", "data:image/png"))] == []


def test_there_is_no_script_and_no_handler(page: Page) -> None:
    assert page.count("script") == 0
    names = {name for _, attributes in page.tags for name in attributes}
    assert [name for name in names if name.startswith("on")] == []


def test_headings_start_at_one_and_skip_no_level(page: Page) -> None:
    assert page.headings[0] == 1
    assert page.headings.count(1) == 1
    steps = zip(page.headings, page.headings[1:], strict=False)
    assert all(later - earlier <= 1 for earlier, later in steps)


def test_every_table_has_a_caption_and_every_head_a_scope(page: Page) -> None:
    assert page.count("table") == page.count("caption") > 0
    assert {each.get("scope") for each in page.all("th")} == {"col", "row"}


def test_every_figure_says_in_words_what_it_shows(page: Page) -> None:
    pictures = [each for each in page.all("svg") if "aria-hidden" not in each]
    assert len(pictures) == page.count("figure") == 3
    assert all(each["role"] == "img" and len(each["aria-label"]) > 20 for each in pictures)


def test_ids_are_unique_though_three_figures_share_the_page(page: Page) -> None:
    ids = [attributes["id"] for _, attributes in page.tags if "id" in attributes]
    assert len(ids) == len(set(ids))


def test_every_inner_reference_has_its_target(page: Page, text: str) -> None:
    ids = {attributes["id"] for _, attributes in page.tags if "id" in attributes}
    used = set(re.findall(r'(?:href="#|url\(#)([^")]+)', text))
    assert used <= ids


def test_the_lines_read_add_up_on_the_page(page: Page) -> None:
    found = re.search(
        r"(\d+) lines read = (\d+) accepted \+ (\d+) set aside \+ (\d+) listed",
        next(each["aria-label"] for each in page.all("p") if "aria-label" in each),
    )
    assert found is not None
    read_, *parts = map(int, found.groups())
    assert read_ == sum(parts) == 41


def test_the_same_findings_give_the_same_bytes(tmp_path: Path) -> None:
    first, second = (render_page(review_weekend(read(tmp_path, rows(20)))) for _ in range(2))
    assert first == second


def test_reviewed_and_fitted_shots_are_both_counted(page: Page) -> None:
    assert re.search(r"\d+ of 40 accepted", page.text)
    assert re.search(r"Fitted are all \d+ comparable shots of bag-7 on mill-1", page.text)


@pytest.mark.parametrize(
    "hostile",
    [
        "<script>alert(1)</script>",
        "$^$",
        "=1+1",
        "{{ 7*7 }}",
        "</td></table>",
        "a\x1b[31m",
        "&amp;",
    ],
)
def test_hostile_text_is_shown_and_not_obeyed(tmp_path: Path, hostile: str) -> None:
    lines = [
        line.replace("sweet", f'"{hostile}"').replace("bag-7", f'"{hostile}"') for line in rows(16)
    ]
    shown = page_of(tmp_path, lines)
    assert shown.count("script") == 0
    assert shown.unclosed == []
    assert shown.wrongly_closed == []
    assert hostile.replace("\x1b", r"\x1b") in shown.text


def test_a_hostile_header_is_listed_and_not_obeyed(tmp_path: Path) -> None:
    header = HEADER.replace("notes", "<script>alert(1)</script>")
    assert page_of(tmp_path, rows(16), header=header).count("script") == 0


def test_an_endless_note_neither_floods_nor_breaks_the_page(tmp_path: Path) -> None:
    lines = [line.replace("sweet", "x" * 10_000) for line in rows(4)]
    text = render_page(review_weekend(read(tmp_path, lines)))
    assert "x" * 300 not in text


def test_a_page_without_strength_says_so(tmp_path: Path) -> None:
    header, lines = without("tds_pct", rows(16))
    shown = page_of(tmp_path, lines, header=header)
    assert "No shot has both a strength and a yield" in shown.text
    assert "No shot can be used for the extraction yield" in shown.text


def test_a_page_without_taste_says_so(tmp_path: Path) -> None:
    header, lines = without("overall", rows(16))
    assert (
        "No shot can be used for the overall score" in page_of(tmp_path, lines, header=header).text
    )


def test_a_page_of_one_shot_says_what_an_effect_needs(tmp_path: Path) -> None:
    shown = page_of(tmp_path, rows(1))
    assert "Only 1 shot can be used" in shown.text
    assert "1 shot in 1 session" in shown.text


def test_a_page_of_shots_all_alike_claims_nothing(tmp_path: Path) -> None:
    cells = rows(1)[0].split(",")
    lines = [
        ",".join([f"s{n}", cells[1].replace("18:00", f"18:{n:02d}"), *cells[2:]]) for n in range(8)
    ]
    shown = page_of(tmp_path, lines)
    assert "The log cannot say yet what any setting does." in shown.text
    assert "no effect" not in shown.text


def test_a_log_with_every_row_set_aside_gives_a_page_that_says_why(tmp_path: Path) -> None:
    lines = ["a,,,,,900,36,36,12,,,,,9,,,", "b,,,,,900,36,36,12,,,,,9,,,"]
    shown = page_of(tmp_path, lines)
    assert "No shot is under review" in shown.text
    assert "2 set aside" in shown.text
    assert "Set aside: line 2" in shown.text


def test_an_empty_log_gives_a_page_that_says_so(tmp_path: Path) -> None:
    shown = page_of(tmp_path, [])
    assert "No shot is under review" in shown.text
    assert "No shot can be compared with another yet." in shown.text


def test_a_huge_log_gives_a_page_of_bounded_size(tmp_path: Path) -> None:
    text = render_page(review_weekend(read(tmp_path, rows(1500)), everything=True))
    assert len(text) < 1_500_000


def test_no_sentence_claims_that_there_is_no_effect(page: Page) -> None:
    assert not re.search(r"no (significant )?effect|does not (matter|change)", page.text)
