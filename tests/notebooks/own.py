"""A notebook opened on a log of one's own, and what it then prints."""

from __future__ import annotations

import csv
from collections.abc import Collection
from pathlib import Path

import nbformat

from tests.conftest import ROOT

__all__ = ["DEMO", "opened_on", "printed", "with_columns"]

DEMO = ROOT / "datasets" / "evening-class"


def opened_on(log: Path, notebook: Path) -> nbformat.NotebookNode:
    """Return a notebook with the path of another log."""
    book = nbformat.read(notebook, as_version=4)
    (asked,) = [cell for cell in book.cells if "parameters" in cell.metadata.get("tags", [])]
    assert asked.source.startswith("LOG = ")
    asked.source = f"LOG = {str(log)!r}"
    return book


def printed(book: nbformat.NotebookNode) -> str:
    """Return what the cells printed, as one line of words."""
    outputs = [output for cell in book.cells for output in cell.get("outputs", [])]
    texts = [output.text for output in outputs if output.output_type == "stream"]
    return " ".join("".join(texts).split())


def with_columns(path: Path, wanted: Collection[str]) -> Path:
    """Write the demo's shots with some of their columns to one file, and return it."""
    with (DEMO / "shots.csv").open(encoding="utf-8", newline="") as file:
        header, *shots = [row for row in csv.reader(file) if row]
    places = [place for place, name in enumerate(header) if name in wanted]
    whole = [row for row in shots if len(row) == len(header) and row[0].startswith("s")]
    with path.open("w", encoding="utf-8", newline="") as file:
        table = [header, *whole]
        csv.writer(file).writerows([[row[place] for place in places] for row in table])
    return path
