"""The demo rebuilds from its seed to the byte, and its README states the right sums."""

from __future__ import annotations

import hashlib
import re
from pathlib import Path

import pytest

from yieldwright.simulate import DEMO_SEED, Truth, read_demo_truth, write_demo

FILES = ("bench.toml", "shots.csv", "tastings.csv", "truth.json")


@pytest.fixture(scope="module")
def rebuilt(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("rebuilt")
    write_demo(folder, DEMO_SEED)
    return folder


@pytest.fixture(scope="module")
def readme(root: Path) -> str:
    return (root / "datasets" / "README.md").read_text(encoding="utf-8")


@pytest.mark.parametrize("name", FILES)
def test_it_rebuilds_to_the_byte(name: str, rebuilt: Path, root: Path) -> None:
    shipped = root / "datasets" / "evening-class" / name
    assert (rebuilt / name).read_bytes() == shipped.read_bytes()


@pytest.mark.parametrize("name", FILES)
def test_the_readme_states_the_sum_of_each_file(name: str, readme: str, root: Path) -> None:
    content = (root / "datasets" / "evening-class" / name).read_bytes()
    assert f"| `{name}` | `{hashlib.sha256(content).hexdigest()}` |" in readme


def test_the_readme_states_the_seed(readme: str) -> None:
    assert re.findall(r"--seed (\d+)", readme) == [str(DEMO_SEED)]


def test_the_readme_says_that_it_is_invented(readme: str) -> None:
    assert "**Everything here is invented**" in readme


def test_the_readme_states_the_sizes_of_the_truth(readme: str) -> None:
    truth = Truth()
    for sentence in (
        f"{truth.extraction.per_c_pct:g} points a degree",
        f"{truth.extraction.per_ratio_pct:g} points for each gram",
        f"falls by {100 * truth.flow.per_setting:g} % with each coarser setting",
        f"by {100 * truth.flow.per_c:g} % a degree",
        f"{truth.taste.peak_ey_pct:g} % yield and {truth.taste.peak_tds_pct:g} % strength",
        f"one bar more taper adds {truth.taste.per_taper_bar:g}",
        f"differ by {truth.extraction.shot_sd_pct:g} points from shot to shot",
    ):
        assert sentence in " ".join(readme.split()), sentence


def test_the_truth_beside_it_is_the_one_it_was_made_from(root: Path) -> None:
    known = read_demo_truth(root / "datasets" / "evening-class" / "truth.json")
    assert (known.seed, known.truth) == (DEMO_SEED, Truth())


def test_it_fails_as_often_as_a_class_does(root: Path) -> None:
    fates = read_demo_truth(root / "datasets" / "evening-class" / "truth.json").shots["fate"]
    assert fates.value_counts().to_dict() == {"pulled": 56, "channelled": 3, "choked": 1}
