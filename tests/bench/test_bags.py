"""What a bench file says of bags: read whole, in order, and refused where no bag can be so."""

from __future__ import annotations

import dataclasses
import re
from collections.abc import Callable
from datetime import date, timedelta
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from yieldwright.bench import BagFacts, Bench, Freeze, bench_template, read_bench
from yieldwright.errors import BenchFileError

Read = Callable[[str], Bench]
HEAD = '[[bags]]\nname = "bag-17"\n'


@pytest.fixture
def read(tmp_path: Path) -> Read:
    """Return a reader of bench text, by way of a file."""

    def read_text(text: str) -> Bench:
        path = tmp_path / "bench.toml"
        path.write_text(text, encoding="utf-8")
        return read_bench(path)

    return read_text


def test_a_bag_is_read_with_all_its_days(read: Read) -> None:
    bench = read(
        f"{HEAD}roasted_on = 2026-10-16\nopened_on = 2026-10-19\nroast_level = 'medium'\n"
        "frozen = [[2026-11-09, 2026-11-12], [2026-10-20, 2026-11-02]]\n"
    )
    (bag,) = bench.bags
    assert bag == BagFacts(
        "bag-17",
        "medium",
        date(2026, 10, 16),
        date(2026, 10, 19),
        (
            Freeze(date(2026, 10, 20), date(2026, 11, 2)),
            Freeze(date(2026, 11, 9), date(2026, 11, 12)),
        ),
    )
    assert "bags" in bench.stated


def test_a_bag_may_still_be_in_the_freezer(read: Read) -> None:
    (bag,) = read(f"{HEAD}frozen = [[2026-11-20]]\n").bags
    assert bag.frozen == (Freeze(date(2026, 11, 20), None),)


def test_one_stay_may_begin_on_the_day_another_ends(read: Read) -> None:
    text = f"{HEAD}frozen = [[2026-11-01, 2026-11-05], [2026-11-05, 2026-11-09]]\n"
    assert len(read(text).bags[0].frozen) == 2


def test_a_bag_is_found_by_its_code_whatever_its_case(read: Read) -> None:
    bench = read(f"{HEAD}roasted_on = 2026-10-16\n")
    assert bench.bag(" BAG-17").roasted_on == date(2026, 10, 16)
    assert bench.bag("bag-18") == BagFacts("bag-18")


def test_bags_cannot_be_changed() -> None:
    with pytest.raises(dataclasses.FrozenInstanceError):
        BagFacts("a").name = "b"  # type: ignore[misc]


@pytest.mark.parametrize(
    ("text", "parts"),
    [
        ("[[bags]]\nroasted_on = 2026-10-16\n", ["[[bags]] number 1", "name is missing"]),
        (f"{HEAD}{HEAD}", ["more than one named 'bag-17'", "a code of its own"]),
        (f"{HEAD}roasted = 2026-10-16\n", ['"roasted"', "did you mean roasted_on?"]),
        (
            f'{HEAD}roasted_on = "2026-10-16"\n',
            ['roasted_on is "2026-10-16"', "without quotes, such as roasted_on = 2026-10-16"],
        ),
        (f'{HEAD}roasted_on = "16 Oct"\n', ['roasted_on is "16 Oct"', "year first"]),
        (f"{HEAD}opened_on = 2026-10-16T08:00:00\n", ["opened_on is", "opened_on = 2026-10-16"]),
        (f"{HEAD}roasted_on = 1026-10-16\n", ["1026-10-16", "from 2000 on"]),
        (f"{HEAD}roasted_on = 16\n", ["roasted_on is 16", "year first"]),
        (f'{HEAD}roast_level = "blond"\n', ['"blond"', '"dark" or "medium" or "light"']),
        (
            f"{HEAD}roasted_on = 2026-10-16\nopened_on = 2026-10-10\n",
            ["opened_on 2026-10-10 lies before roasted_on 2026-10-16", "correct one"],
        ),
        (f"{HEAD}frozen = 12\n", ["frozen is 12", "pairs of days"]),
        (f"{HEAD}frozen = [2026-10-20, 2026-11-02]\n", ["pairs of days"]),
        (f"{HEAD}frozen = [[]]\n", ["pairs of days"]),
        (f'{HEAD}frozen = [["2026-10-20", "2026-11-02"]]\n', ["pairs of days"]),
        (f"{HEAD}frozen = [[2026-10-20, 2026-11-02, 2026-11-03]]\n", ["pairs of days"]),
        (
            f"{HEAD}frozen = [[2026-11-02, 2026-10-20]]\n",
            ["thawed on 2026-10-20, but frozen later, on 2026-11-02", "swap"],
        ),
        (
            f"{HEAD}frozen = [[2026-10-20, 2026-11-02], [2026-11-01, 2026-11-05]]\n",
            ["frozen on 2026-11-01 while still frozen until 2026-11-02", "before the next"],
        ),
        (
            f"{HEAD}frozen = [[2026-11-20], [2026-11-25, 2026-11-28]]\n",
            ["frozen on 2026-11-25 again", "the freeze of 2026-11-20 ended"],
        ),
        (
            f"{HEAD}roasted_on = 2026-10-16\nfrozen = [[2026-10-10, 2026-10-20]]\n",
            ["frozen on 2026-10-10, before the roast on 2026-10-16", "correct one"],
        ),
        ('bags = "bag-17"\n', ["bags is", "[[bags]]"]),
    ],
)
def test_a_wrong_bag_is_named_with_the_remedy(read: Read, text: str, parts: list[str]) -> None:
    with pytest.raises(BenchFileError, match=r"bench\.toml") as caught:
        read(text)
    assert [part for part in parts if part not in str(caught.value)] == []


def test_the_template_shows_every_entry_of_a_bag(read: Read) -> None:
    shown = re.search(r"#\[\[bags\]\]\n(?:#.*\n)+.*\n", bench_template())
    assert shown is not None
    (bag,) = read(re.sub(r"^#(?=\S)", "", shown[0], flags=re.MULTILINE)).bags
    assert all(getattr(bag, field.name) for field in dataclasses.fields(BagFacts))


@settings(
    max_examples=40, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
@given(
    st.lists(st.integers(0, 30), min_size=1, max_size=5).flatmap(
        lambda gaps: st.tuples(st.just(gaps), st.permutations(range(len(gaps))))
    )
)
def test_the_order_of_stays_in_the_file_makes_no_difference(
    read: Read, drawn: tuple[list[int], list[int]]
) -> None:
    gaps, order = drawn
    day, stays = date(2026, 1, 1), []
    for gap in gaps:
        stays.append((day, day + timedelta(days=gap)))
        day += timedelta(days=gap + 1)
    listed = [stays, [stays[at] for at in order]]
    texts = [", ".join(f"[{first}, {last}]" for first, last in some) for some in listed]
    first, second = (read(f"{HEAD}frozen = [{text}]\n").bags for text in texts)
    assert first == second
    assert [(each.frozen_on, each.thawed_on) for each in first[0].frozen] == stays
