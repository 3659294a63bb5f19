"""The checkout holds what it is agreed to hold, and nothing of one person's machine."""

from __future__ import annotations

import re
import subprocess
from pathlib import Path

import pytest

AGREED = {
    ".ci",
    ".gitignore",
    "DEVELOPERS.md",
    "README.md",
    "analysis",
    "datasets",
    "notebooks",
    "pyproject.toml",
    "tests",
}
TEXT = {".py", ".md", ".toml", ".txt", ".ipynb", ".j2", ".css", ".csv", ".json", ""}
MACHINE_PATH = re.compile(r"(?<![\w.<])/(?:home|Users|root|work|tmp)/\w")
VAGUE = {"utils", "helpers", "common", "core", "base", "misc"}


@pytest.fixture(scope="module")
def tracked(root: Path) -> list[Path]:
    """Return the files under version control."""
    if not (root / ".git").exists():
        pytest.skip("not a checkout: no list of files to go by")
    done = subprocess.run(
        ["git", "-c", "safe.directory=*", "ls-files", "-z"],
        cwd=root,
        capture_output=True,
        check=True,
    )
    names = done.stdout.decode().split("\0")
    return [root / name for name in names if name and (root / name).is_file()]


def test_the_top_level_holds_only_agreed_entries(root: Path, tracked: list[Path]) -> None:
    assert {path.relative_to(root).parts[0] for path in tracked} <= AGREED


def test_no_file_names_a_path_of_one_machine(root: Path, tracked: list[Path]) -> None:
    texts = [path for path in tracked if path.suffix in TEXT]
    told = {
        str(path.relative_to(root))
        for path in texts
        if MACHINE_PATH.search(path.read_text(encoding="utf-8", errors="replace"))
    }
    assert told == set()


def test_no_module_has_a_vague_name(tracked: list[Path]) -> None:
    assert {path.stem for path in tracked if path.suffix == ".py"} & VAGUE == set()


def test_constraints_hold_versions_and_no_address(root: Path) -> None:
    lines = (root / ".ci" / "constraints.txt").read_text(encoding="utf-8").splitlines()
    pinned = re.compile(r"[a-z0-9][a-z0-9._-]*==[\w.!+]+( ; [\w. <>=\"']+)?", re.IGNORECASE)
    assert lines
    assert [line for line in lines if not pinned.fullmatch(line)] == []
