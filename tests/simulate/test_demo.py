"""Writing a demo: the same bytes for the same seed, and every shot among the mess."""

from __future__ import annotations

import csv
import hashlib
import subprocess
import sys
from pathlib import Path

import pytest

from yieldwright.bench.reading import read_bench
from yieldwright.errors import BenchFileError, NotWritableError
from yieldwright.simulate import Truth, read_demo_truth, write_demo
from yieldwright.simulate.mess import MESSY_LINES

SEED = 7


@pytest.fixture(scope="module")
def demo(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Path]:
    folder = tmp_path_factory.mktemp("demo")
    return {path.name: path for path in write_demo(folder, SEED)}


def test_the_same_seed_writes_the_same_bytes(demo: dict[str, Path], tmp_path: Path) -> None:
    again = {path.name: path for path in write_demo(tmp_path, SEED)}
    assert {name: path.read_bytes() for name, path in again.items()} == {
        name: path.read_bytes() for name, path in demo.items()
    }


def test_another_seed_writes_another_log(demo: dict[str, Path], tmp_path: Path) -> None:
    write_demo(tmp_path, SEED + 1)
    assert (tmp_path / "shots.csv").read_bytes() != demo["shots.csv"].read_bytes()


def test_lines_are_header_shots_and_mess(demo: dict[str, Path]) -> None:
    lines = demo["shots.csv"].read_text(encoding="utf-8").splitlines()
    assert len(lines) == 1 + 60 + sum(MESSY_LINES.values())


def test_all_sixty_shots_are_there(demo: dict[str, Path]) -> None:
    with demo["shots.csv"].open(encoding="utf-8", newline="") as file:
        names = {row[0] for row in csv.reader(file) if row}
    assert {f"s{number:02d}" for number in range(1, 61)} <= names


def test_the_bench_file_states_the_instruments_of_the_truth(demo: dict[str, Path]) -> None:
    bench, truth = read_bench(demo["bench.toml"]), Truth()
    assert bench.refractometer == truth.refractometer
    assert bench.dose_scale == truth.dose_scale
    assert bench.grinders == (truth.grinder,)
    assert bench.attributes == truth.attributes


def test_every_set_temperature_lies_in_its_band(demo: dict[str, Path]) -> None:
    bench = read_bench(demo["bench.toml"])
    with demo["shots.csv"].open(encoding="utf-8", newline="") as file:
        shots = [row for row in csv.DictReader(file) if row["shot"].startswith("s")]
    bands = {row["temp_band"]: bench.band_of(float(row["temp_c"].split()[0])) for row in shots}
    assert bands == {"low": "low", "medium": "medium", "high": "high"}


def test_the_truth_comes_back(demo: dict[str, Path]) -> None:
    known = read_demo_truth(demo["truth.json"])
    assert (known.seed, known.truth, len(known.shots)) == (SEED, Truth(), 60)


def test_a_file_that_is_no_truth_is_refused(demo: dict[str, Path], tmp_path: Path) -> None:
    for path in (demo["bench.toml"], tmp_path / "absent.json"):
        with pytest.raises(BenchFileError, match="is not the truth of a demo"):
            read_demo_truth(path)


def test_a_folder_that_cannot_be_made_is_named(tmp_path: Path) -> None:
    (tmp_path / "taken").write_text("a file", encoding="utf-8")
    with pytest.raises(NotWritableError, match="taken"):
        write_demo(tmp_path / "taken", SEED)


def test_the_command_prints_what_it_wrote(tmp_path: Path) -> None:
    done = subprocess.run(
        [sys.executable, "-m", "yieldwright.simulate", tmp_path, "--seed", str(SEED)],
        capture_output=True,
        text=True,
        check=True,
    )
    digest = hashlib.sha256((tmp_path / "shots.csv").read_bytes()).hexdigest()
    assert f"{digest}  shots.csv" in done.stdout.splitlines()
