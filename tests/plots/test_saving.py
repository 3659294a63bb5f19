"""Figures as markup and files: equal bytes, names that do not clash, nothing that runs."""

from __future__ import annotations

import base64
import re
import struct
from pathlib import Path
from xml.etree import ElementTree as ET

import matplotlib as mpl
import pandas as pd
import pytest
from matplotlib.figure import Figure

from tests.plots.conftest import invented_shots
from yieldwright.bench import Window
from yieldwright.chart import place_shots
from yieldwright.errors import NotWritableError
from yieldwright.plots import (
    figure_markup,
    png_data_uri,
    save_figures,
    strength_extraction,
    svg_text,
    timeline,
)
from yieldwright.plots.paper import figure_of
from yieldwright.plots.saving import MOST_VECTOR_MARKS, count_marks

SVG = "{http://www.w3.org/2000/svg}"
NAME = re.compile(r'\bid="([^"]+)"')
REFERENCE = re.compile(r'(?:href="#|url\(#)([^")]+)')


def parsed(markup: str) -> ET.Element:
    """Return markup as a tree; it fails where the markup is not well formed."""
    return ET.fromstring(markup)  # noqa: S314 - our own figure, not a stranger's file


def chart(table: pd.DataFrame | None = None) -> Figure:
    table = invented_shots() if table is None else table
    return figure_of(strength_extraction(place_shots(table, Window())))


@pytest.fixture(scope="module")
def drawn() -> str:
    """Return one chart as SVG."""
    return svg_text(chart(), salt="chart", alt='Two "dozen" <shots>')


def test_it_is_one_well_formed_element(drawn: str) -> None:
    assert parsed(drawn).tag == f"{SVG}svg"


def test_it_is_an_image_with_a_text_in_its_place(drawn: str) -> None:
    root = parsed(drawn)
    assert root.get("role") == "img"
    assert root.get("aria-label") == 'Two "dozen" <shots>'


def test_it_has_its_size_and_view(drawn: str) -> None:
    root = parsed(drawn)
    assert (root.get("width"), root.get("height")) == ("180.0mm", "105.0mm")
    # 72 points to the inch of 25.4 mm.
    assert [float(number) for number in root.get("viewBox", "").split()] == pytest.approx(
        [0, 0, 180 / 25.4 * 72, 105 / 25.4 * 72], abs=0.01
    )


@pytest.mark.parametrize("part", ["<?xml", "<!DOCTYPE", "<!--", "<metadata", "<style", "<script"])
def test_it_holds_nothing_but_shapes(drawn: str, part: str) -> None:
    assert part not in drawn


def test_it_asks_for_nothing_from_anywhere(drawn: str) -> None:
    addresses = re.findall(r'"(https?:[^"]*)"', drawn)
    assert {address.split("/")[2] for address in addresses} == {"www.w3.org"}
    assert not re.search(r'href="(?!#)', drawn)


def test_equal_figures_give_equal_bytes(drawn: str) -> None:
    assert svg_text(chart(), salt="chart", alt='Two "dozen" <shots>') == drawn


def test_drawing_twice_changes_nothing() -> None:
    figure = chart()
    first = svg_text(figure, salt="chart", alt="")
    assert svg_text(figure, salt="chart", alt="") == first


def test_every_name_is_used_and_every_reference_resolves(drawn: str) -> None:
    names = NAME.findall(drawn)
    assert len(names) == len(set(names))
    assert set(names) == set(REFERENCE.findall(drawn))


def test_names_of_two_figures_never_clash(drawn: str) -> None:
    other = svg_text(figure_of(timeline(invented_shots())), salt="timeline", alt="")
    assert not set(NAME.findall(drawn)) & set(NAME.findall(other))


def test_words_of_a_log_are_outlines_not_text(hostile_shots: pd.DataFrame) -> None:
    drawn = svg_text(chart(hostile_shots), salt="chart", alt="")
    assert "<b>" not in drawn
    assert "<text" not in drawn
    parsed(drawn)


def test_a_hostile_salt_cannot_leave_its_place() -> None:
    drawn = svg_text(chart(), salt='"><script>', alt="")
    assert "<script" not in drawn
    parsed(drawn)


def test_coordinates_are_given_to_a_hundredth_of_a_point(drawn: str) -> None:
    paths = re.findall(r' d="([^"]*)"', drawn)
    assert not [path for path in paths if re.search(r"\.\d{3}", path)]


def test_saving_changes_no_setting() -> None:
    figure = chart()
    before = dict(mpl.rcParams)
    svg_text(figure, salt="chart", alt="")
    png_data_uri(figure)
    assert dict(mpl.rcParams) == before


def test_a_global_style_changes_no_byte(drawn: str) -> None:
    figure = chart()
    with mpl.rc_context(
        {"savefig.bbox": "tight", "svg.fonttype": "none", "savefig.facecolor": "r"}
    ):
        again = svg_text(figure, salt="chart", alt='Two "dozen" <shots>')
    assert again == drawn


def png_size(data_uri: str) -> tuple[int, int]:
    raw = base64.b64decode(data_uri.removeprefix("data:image/png;base64,"))
    return struct.unpack(">II", raw[16:24])


def test_a_picture_has_the_dots_asked_for() -> None:
    # 180 × 105 mm at 100 dots an inch of 25.4 mm.
    assert png_size(png_data_uri(chart(), dpi=100)) == (708, 413)


def test_equal_figures_give_equal_pictures() -> None:
    assert png_data_uri(chart()) == png_data_uri(chart())


def test_few_marks_stay_vector() -> None:
    assert figure_markup(chart(), salt="chart", alt="").startswith("<svg")


def test_very_many_marks_become_a_picture_with_a_text_in_its_place() -> None:
    figure = chart(invented_shots(MOST_VECTOR_MARKS + 100))
    markup = figure_markup(figure, salt="chart", alt='A "cloud"')
    assert markup.startswith('<img src="data:image/png;base64,')
    assert 'alt="A &quot;cloud&quot;"' in markup


def test_marks_are_counted() -> None:
    assert count_marks(chart()) == len(invented_shots())


def test_files_are_written_for_each_figure_and_kind(tmp_path: Path) -> None:
    written = save_figures(tmp_path, {"chart": chart(), "again": chart()})
    assert [path.name for path in written] == ["chart.svg", "chart.png", "again.svg", "again.png"]
    assert all(path.stat().st_size > 1000 for path in written)


def test_a_name_cannot_leave_the_folder(tmp_path: Path) -> None:
    (path,) = save_figures(tmp_path, {"../../Evil name": chart()}, formats=["svg"])
    assert path == tmp_path / "evil-name.svg"


def test_a_folder_that_is_not_there_is_refused(tmp_path: Path) -> None:
    with pytest.raises(NotWritableError, match="missing"):
        save_figures(tmp_path / "missing", {"chart": chart()})
