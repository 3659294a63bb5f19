"""The demos rebuild from their seeds to the byte, and their README states the right sums."""

from __future__ import annotations

import hashlib
import re
from pathlib import Path

import pytest

from yieldwright.simulate import (
    DEMO_SEED,
    ONE_BAG_SEED,
    Truth,
    one_bag_truth,
    read_demo_truth,
    write_demo,
    write_one_bag,
)

FILES = ("bench.toml", "shots.csv", "tastings.csv", "truth.json")
DEMOS = ("evening-class", "one-bag")
EVERY = [(demo, name) for demo in DEMOS for name in FILES]


@pytest.fixture(scope="module")
def rebuilt(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("rebuilt")
    write_demo(folder / "evening-class", DEMO_SEED)
    write_one_bag(folder / "one-bag", ONE_BAG_SEED)
    return folder


@pytest.fixture(scope="module")
def readme(root: Path) -> str:
    return (root / "datasets" / "README.md").read_text(encoding="utf-8")


def said_of(demo: str, readme: str) -> str:
    """Return what the README says of one demo."""
    return readme.partition(f"\n## {demo}\n")[2].partition("\n## ")[0]


@pytest.mark.parametrize(("demo", "name"), EVERY)
def test_it_rebuilds_to_the_byte(demo: str, name: str, rebuilt: Path, root: Path) -> None:
    shipped = root / "datasets" / demo / name
    assert (rebuilt / demo / name).read_bytes() == shipped.read_bytes()


@pytest.mark.parametrize(("demo", "name"), EVERY)
def test_the_readme_states_the_sum_of_each_file(
    demo: str, name: str, readme: str, root: Path
) -> None:
    content = (root / "datasets" / demo / name).read_bytes()
    line = f"| `{name}` | `{hashlib.sha256(content).hexdigest()}` |"
    assert line in said_of(demo, readme)


@pytest.mark.parametrize(
    ("demo", "seed"), [("evening-class", DEMO_SEED), ("one-bag", ONE_BAG_SEED)]
)
def test_the_readme_states_the_seed(demo: str, seed: int, readme: str) -> None:
    assert re.findall(r"--seed (\d+)", said_of(demo, readme)) == [str(seed)]


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


def test_the_readme_states_the_sizes_of_the_bag(readme: str) -> None:
    truth = one_bag_truth()
    rested = {bag.needs_setting for bag in truth.bags}
    (cleaned,) = truth.services
    for sentence in (
        f"a setting coarser takes {100 * truth.flow.per_setting:g} % off the time",
        f"run slowest at {truth.ageing.rest_d:g} days",
        f"before asks for {truth.ageing.fresh_per_d:g} settings coarser",
        f"after for {truth.ageing.old_per_d:g} finer",
        f"has a best age, {truth.taste.best_age_d:g} days",
        f"loses {truth.taste.per_age_squared:g} points with the square",
        f"takes {100 * cleaned.faster:g} % off the time and adds {cleaned.more_ey_pct:g} points",
        f"by {100 * truth.flow.shot_sd:g} % from shot to shot",
        f"by {100 * truth.flow.session_sd:g} % from evening",
        f"by {truth.taste.shot_sd:g} from cup to cup and {truth.taste.session_sd:g} from evening",
        *(f"{person.times_sd:g} times" for person in truth.people),
        *(f"{setting:g}" for setting in rested),
    ):
        assert sentence in " ".join(said_of("one-bag", readme).split()), sentence


def test_the_readme_states_where_the_bag_is_best(readme: str, root: Path) -> None:
    known = read_demo_truth(root / "datasets" / "one-bag" / "truth.json").following
    assert known is not None
    assert f"a little earlier: {known.best_at_fixed_setting_d:.1f} days" in " ".join(
        readme.split()
    )


def test_the_truth_of_the_bag_is_the_one_it_was_made_from(root: Path) -> None:
    known = read_demo_truth(root / "datasets" / "one-bag" / "truth.json")
    assert (known.seed, known.truth) == (ONE_BAG_SEED, one_bag_truth())


def test_the_truth_beside_it_is_the_one_it_was_made_from(root: Path) -> None:
    known = read_demo_truth(root / "datasets" / "evening-class" / "truth.json")
    assert (known.seed, known.truth) == (DEMO_SEED, Truth())


def test_it_fails_as_often_as_a_class_does(root: Path) -> None:
    fates = read_demo_truth(root / "datasets" / "evening-class" / "truth.json").shots["fate"]
    assert fates.value_counts().to_dict() == {"pulled": 56, "channelled": 3, "choked": 1}
