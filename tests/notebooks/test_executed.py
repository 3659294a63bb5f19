"""Every notebook runs from top to bottom in this interpreter, a warning being an error."""

from __future__ import annotations

from pathlib import Path

import nbformat
import pytest

from tests.conftest import ROOT
from tests.notebooks.conftest import Run

NOTEBOOKS = sorted((ROOT / "notebooks").rglob("*.ipynb"))


@pytest.mark.notebook
@pytest.mark.parametrize("path", NOTEBOOKS, ids=lambda path: path.name)
def test_it_runs_without_a_warning(path: Path, run: Run) -> None:
    book = run(nbformat.read(path, as_version=4), path.parent)
    assert all(cell.execution_count for cell in book.cells if cell.cell_type == "code")
