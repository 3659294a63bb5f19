"""Running a notebook as its reader would: in this interpreter, a warning being an error."""

from __future__ import annotations

import json
import sys
from collections.abc import Callable
from pathlib import Path

import nbformat
import pytest
from nbclient import NotebookClient

SECONDS = 60
KERNEL = "this-interpreter"
STRICT = """import warnings
warnings.simplefilter("error")
# The kernel's own housekeeping is not the lesson's.
warnings.filterwarnings("default", module="ipykernel")"""

Run = Callable[[nbformat.NotebookNode, Path], nbformat.NotebookNode]


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


@pytest.fixture
def run(kernel: str) -> Run:
    """Return what executes a notebook in its folder, every warning an error."""

    def execute(book: nbformat.NotebookNode, folder: Path) -> nbformat.NotebookNode:
        book.cells.insert(0, nbformat.v4.new_code_cell(STRICT))
        where = {"metadata": {"path": str(folder)}}
        NotebookClient(book, kernel_name=kernel, timeout=SECONDS, resources=where).execute()
        return book

    return execute
