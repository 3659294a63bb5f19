"""What a bench begins with says what the glossary and the bench say, and nothing more."""

from __future__ import annotations

import csv
import re
import shutil
import subprocess
from html.parser import HTMLParser
from pathlib import Path

import pytest

from yieldwright.bench import Attribute, Band, Bench, Grinder, Recipe
from yieldwright.glossary import find_quantity
from yieldwright.safety import NOTICES
from yieldwright.shotlog.starting.templates import paper_sheet, shots_template

CROWDED = Bench(
    name="bench " * 20,
    machine="<script>alert(1)</script>",
    grinders=(Grinder("a grinder with quite a long name"),),
    attributes=tuple(Attribute(f"attribute {n} of a long name") for n in range(9)),
    bands=tuple(Band(f"a band of long name {n}", 80 + n, 81 + n) for n in range(9)),
    columns={"The dose <b>as I call it</b> in my own log": "dose_g"},
    shot_id=("session name", "brew number", "cup"),
)


def rows(text: str, *, delimiter: str = ",") -> list[list[str]]:
    return list(csv.reader(text.splitlines(), delimiter=delimiter))


class TestShotsTemplate:
    def test_the_header_holds_columns_of_the_glossary_and_the_tastes(self) -> None:
        header = rows(shots_template(Bench()))[0]
        assert {name for name in header if find_quantity(name) is None} == {"overall"}

    def test_nothing_computed_is_asked_for(self) -> None:
        header = rows(shots_template(Bench()))[0]
        entries = [find_quantity(name) for name in header]
        assert [entry.name for entry in entries if entry is not None and entry.computed] == []

    def test_every_line_below_the_header_is_a_comment(self) -> None:
        below = shots_template(CROWDED).splitlines()[1:]
        assert [line[:2] for line in below] == ["# "] * 3

    @pytest.mark.parametrize("bench", [Bench(), CROWDED], ids=["plain", "crowded"])
    def test_the_examples_fill_every_column(self, bench: Bench) -> None:
        header, _, first, second = rows(shots_template(bench))
        assert len(first) == len(second) == len(header)

    def test_the_examples_lie_in_the_usual_range(self) -> None:
        header, _, first, _ = rows(shots_template(Bench()))
        numbers = [
            (entry, float(cell))
            for name, cell in zip(header, first, strict=True)
            if (entry := find_quantity(name)) is not None and entry.is_numeric
        ]
        assert [entry.name for entry, value in numbers if not entry.soft.holds(value)] == []

    def test_a_failure_is_shown_with_its_unknowns_empty(self) -> None:
        header, _, _, choked = rows(shots_template(Bench()))
        cells = dict(zip(header, choked, strict=True))
        assert (cells["fate"], cells["tds_pct"], cells["overall"]) == ("choked", "", "")

    def test_headers_of_ones_own_are_used(self) -> None:
        bench = Bench(
            columns={"Coffee in": "dose_g", "Liking": "score:overall"}, shot_id=("day", "brew")
        )
        header = rows(shots_template(bench))[0]
        assert header[:2] == ["day", "brew"]
        assert {"Coffee in", "Liking"} <= set(header)
        assert not {"dose_g", "overall", "shot"} & set(header)

    def test_decimal_commas_go_with_semicolons(self) -> None:
        header, _, first, _ = rows(shots_template(Bench(decimal="comma")), delimiter=";")
        assert dict(zip(header, first, strict=True))["beverage_g"] == "36,2"

    def test_a_part_of_the_shots_name_stands_once(self) -> None:
        header = rows(shots_template(Bench(shot_id=("bag", "brew"))))[0]
        assert header.count("bag") == 1

    def test_the_bench_lends_its_words_to_the_example(self) -> None:
        bench = Bench(grinders=(Grinder("stone"),), bands=(Band("warm", 85, 90),))
        header, _, first, _ = rows(shots_template(bench))
        cells = dict(zip(header, first, strict=True))
        assert (cells["grinder"], cells["temp_band"]) == ("stone", "warm")


class Page(HTMLParser):
    """What stands on a page: tags by name, every attribute, and the text."""

    def __init__(self, source: str) -> None:
        super().__init__()
        self.tags: list[str] = []
        self.attributes: set[str] = set()
        self.text = ""
        self.feed(source)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append(tag)
        self.attributes |= {name for name, _ in attrs}

    def handle_data(self, data: str) -> None:
        self.text += data


class TestPaperSheet:
    def test_there_are_rows_to_write_on(self) -> None:
        assert Page(paper_sheet(Bench())).tags.count("tr") == 1 + 16

    def test_nothing_is_asked_of_the_network(self) -> None:
        page = Page(paper_sheet(CROWDED))
        assert not {"src", "href", "data", "action"} & page.attributes
        assert not re.search(r"url\(|@import|https?:", paper_sheet(CROWDED))

    def test_text_of_the_bench_is_shown_and_never_run(self) -> None:
        page = Page(paper_sheet(CROWDED))
        assert "script" not in page.tags
        assert "<script>alert" in page.text

    def test_every_safety_notice_is_there(self) -> None:
        text = Page(paper_sheet(Bench())).text
        assert [notice.topic for notice in NOTICES if notice.sentence not in text] == []

    def test_recipe_and_bands_are_those_of_the_bench(self) -> None:
        bench = Bench(recipe=Recipe(dose_g=17.5), bands=(Band("warm", 85, 90),))
        text = Page(paper_sheet(bench)).text
        assert "17.5 ± 0.3 g of dose" in text
        assert "warm 85–90 °C" in text

    def test_a_figure_not_aimed_at_is_left_out(self) -> None:
        text = Page(paper_sheet(Bench(recipe=Recipe(time_s=None)))).text
        assert "± 5 s" not in text

    def test_headers_to_type_under_are_the_benchs_own(self) -> None:
        bench = Bench(columns={"Coffee in": "dose_g"}, shot_id=("day", "brew"))
        text = Page(paper_sheet(bench)).text
        assert "Coffee in" in text
        assert "day + brew" in text

    def test_more_tastes_than_fit_are_said_to_be_left_to_the_notes(self) -> None:
        assert "4 more under notes" in Page(paper_sheet(CROWDED)).text

    @pytest.mark.browser
    @pytest.mark.parametrize("bench", [Bench(), CROWDED], ids=["plain", "crowded"])
    def test_it_prints_on_one_page(self, bench: Bench, tmp_path: Path) -> None:
        chromium = shutil.which("chromium") or shutil.which("chromium-browser")
        if chromium is None:
            pytest.skip("no headless Chromium to print with")
        (tmp_path / "sheet.html").write_text(paper_sheet(bench), "utf-8")
        subprocess.run(
            [
                *(chromium, "--headless", "--no-sandbox", "--disable-gpu"),
                *("--no-pdf-header-footer", f"--user-data-dir={tmp_path / 'profile'}"),
                *(f"--print-to-pdf={tmp_path / 'sheet.pdf'}", f"{tmp_path / 'sheet.html'}"),
            ],
            check=True,
            capture_output=True,
            timeout=120,
        )
        printed = (tmp_path / "sheet.pdf").read_bytes()
        assert len(re.findall(rb"/Type\s*/Page\b", printed)) == 1
