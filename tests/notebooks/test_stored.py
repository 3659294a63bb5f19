"""A notebook is stored without outputs, opens with its question, ends with what to remember."""

from __future__ import annotations

from pathlib import Path

import nbformat
import pytest

from tests.conftest import ROOT

NOTEBOOKS = sorted((ROOT / "notebooks").rglob("*.ipynb"))
LONGEST_CELL = 15

pytestmark = pytest.mark.parametrize("path", NOTEBOOKS, ids=lambda path: path.name)


def cells(path: Path, kind: str) -> list[nbformat.NotebookNode]:
    book = nbformat.read(path, as_version=4)
    return [cell for cell in book.cells if cell.cell_type == kind]


def test_no_output_is_stored(path: Path) -> None:
    code = cells(path, "code")
    assert all(cell.outputs == [] and cell.execution_count is None for cell in code)


def test_it_opens_with_a_title(path: Path) -> None:
    assert cells(path, "markdown")[0].source.startswith("# ")


def test_it_ends_with_what_to_remember(path: Path) -> None:
    assert "## What to remember" in cells(path, "markdown")[-1].source


def test_every_cell_fits_on_a_screen(path: Path) -> None:
    lengths = [len(cell.source.splitlines()) for cell in cells(path, "code")]
    assert max(lengths) <= LONGEST_CELL
