"""Every notebook runs from top to bottom in this interpreter, a warning being an error."""

from __future__ import annotations

import json
import sys
from pathlib import Path

import nbformat
import pytest
from nbclient import NotebookClient

from tests.conftest import ROOT

NOTEBOOKS = sorted((ROOT / "notebooks").rglob("*.ipynb"))
SECONDS = 60
KERNEL = "this-interpreter"
STRICT = """import warnings
warnings.simplefilter("error")
# The kernel's own housekeeping is not the lesson's.
warnings.filterwarnings("default", module="ipykernel")"""


@pytest.fixture
def kernel(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> str:
    """Return the name of a kernel that is the interpreter running the tests."""
    folder = tmp_path / "kernels" / KERNEL
    folder.mkdir(parents=True)
    command = [sys.executable, "-m", "ipykernel_launcher", "-f", "{connection_file}"]
    spec = {"argv": command, "display_name": KERNEL, "language": "python"}
    (folder / "kernel.json").write_text(json.dumps(spec), encoding="utf-8")
    monkeypatch.setenv("JUPYTER_PATH", str(tmp_path))
    return KERNEL


@pytest.mark.notebook
@pytest.mark.parametrize("path", NOTEBOOKS, ids=lambda path: path.name)
def test_it_runs_without_a_warning(path: Path, kernel: str) -> None:
    book = nbformat.read(path, as_version=4)
    book.cells.insert(0, nbformat.v4.new_code_cell(STRICT))
    where = {"metadata": {"path": str(path.parent)}}
    NotebookClient(book, kernel_name=kernel, timeout=SECONDS, resources=where).execute()
    assert all(cell.execution_count for cell in book.cells if cell.cell_type == "code")
