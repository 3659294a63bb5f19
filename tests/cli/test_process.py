"""The commands as a shell runs them: exit codes, pipes, and terminals of little means."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest

from tests.cli.odd_logs import HEADER, row


def run(
    *words: str, cwd: Path, environment: dict[str, str] | None = None
) -> subprocess.CompletedProcess[bytes]:
    """Run the program in a process of its own."""
    return subprocess.run(
        [sys.executable, "-m", "yieldwright", *words],
        cwd=cwd,
        env={**os.environ, "COLUMNS": "80", **(environment or {})},
        capture_output=True,
        check=False,
        timeout=120,
    )


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """Return a folder with one log, one of its rows to be set aside."""
    text = HEADER + row(1) + row(2, dose_g="180") + row(3, notes="19 ± 1 °C")
    (tmp_path / "shots.csv").write_text(text, "utf-8")
    return tmp_path


@pytest.mark.parametrize(
    ("words", "code"),
    [
        (["--version"], 0),
        (["check", "shots.csv"], 1),
        (["chekc", "shots.csv"], 2),
        (["check", "nowhere.csv"], 3),
        (["taste", "shots.csv"], 0),
        (["taste", "shots.csv", "--settings", "time_s"], 2),
        (["taste", "nowhere.csv"], 3),
        (["taste", "shots.csv", "--figures", "shots.csv"], 4),
        (["weekend", "shots.csv", "--out", "page.html"], 0),
        (["weekend", "shots.csv", "--out", "."], 4),
        (["start", "."], 4),
    ],
)
def test_a_shell_sees_the_exit_code(words: list[str], code: int, folder: Path) -> None:
    done = run(*words, cwd=folder)
    assert done.returncode == code
    assert b"Traceback" not in done.stderr


@pytest.mark.parametrize("encoding", ["ascii", "cp1252", "utf-8"])
def test_any_encoding_of_stdout_will_do(encoding: str, folder: Path) -> None:
    environment = {"PYTHONIOENCODING": encoding, "PYTHONUTF8": "0"}
    done = run("check", "shots.csv", cwd=folder, environment=environment)
    assert (done.returncode, done.stderr) == (1, b"")
    assert "outside 5" in done.stdout.decode(encoding)


def test_colour_is_left_out_where_it_is_not_wanted(folder: Path) -> None:
    environment = {"NO_COLOR": "1", "FORCE_COLOR": "1", "TERM": "xterm-256color"}
    done = run("taste", "shots.csv", cwd=folder, environment=environment)
    assert b"\x1b" not in done.stdout


def test_a_reader_that_goes_away_is_no_error(folder: Path) -> None:
    reading, writing = os.pipe()
    os.close(reading)
    with os.fdopen(writing, "wb") as gone:
        done = subprocess.run(
            [sys.executable, "-m", "yieldwright", "check", "shots.csv"],
            cwd=folder,
            stdout=gone,
            stderr=subprocess.PIPE,
            check=False,
            timeout=120,
        )
    assert (done.returncode, done.stderr) == (141, b"")
