"""What is alike is told once, and no sentence is bent on the way."""

from __future__ import annotations

import pytest

from yieldwright.cli.alike import Said, gather_alike, merged, one_by_one, place_list


def said(*sentences: str, about: str = "dose_g", remedy: str = "") -> list[Said]:
    return [Said(str(at), about, text, remedy) for at, text in enumerate(sentences, start=1)]


def test_figures_that_differ_become_a_range() -> None:
    (alike,) = gather_alike(said("dose_g is 25 g", "dose_g is 23.5 g", "dose_g is 24 g"))
    assert alike.sentence == "dose_g is 23.5 to 25 g"
    assert alike.places == ("1", "2", "3")


def test_figures_that_agree_stay() -> None:
    sentences = [f"dose_g is {dose} g, outside the usual 14–22 g" for dose in (23, 24)]
    assert merged(sentences) == "dose_g is 23 to 24 g, outside the usual 14–22 g"


def test_the_first_quoted_texts_stand_for_all() -> None:
    sentences = [f"time_s: “{text}” is no number" for text in ("abc", "x 1", "?", "abc")]
    assert merged(sentences) == "time_s: “abc”, “x 1” … is no number"


def test_other_words_are_another_thing() -> None:
    found = gather_alike(said("dose_g is 23 g", "dose_g comes to 23 g"))
    assert [alike.sentence for alike in found] == ["dose_g is 23 g", "dose_g comes to 23 g"]


def test_other_columns_are_another_thing() -> None:
    found = gather_alike([Said("1", "dose_g", "odd"), Said("1", "time_s", "odd")])
    assert [alike.about for alike in found] == ["dose_g", "time_s"]


def test_other_advice_is_another_thing() -> None:
    found = gather_alike([Said("1", "", "3 cells", "add 1"), Said("2", "", "5 cells", "take 1")])
    assert [alike.remedy for alike in found] == ["add 1", "take 1"]


def test_advice_that_differs_in_figures_is_that_of_the_first_row() -> None:
    (alike,) = gather_alike(
        [Said("2", "", "180 g", "180 → 18.0?"), Said("3", "", "181 g", "181 → 18.1?")]
    )
    assert (alike.remedy, alike.remedy_differs) == ("180 → 18.0?", True)


def test_advice_may_be_left_out_of_account() -> None:
    said_twice = [Said("1", "", "180 g"), Said("2", "", "181 g", "181 → 18.1?")]
    (alike,) = gather_alike(said_twice, by_remedy=False)
    assert (alike.remedy, alike.example, alike.places) == ("181 → 18.1?", 1, ("1", "2"))


def test_what_is_said_most_often_comes_first() -> None:
    found = gather_alike(said("a rare one", "dose_g is 23 g", "dose_g is 24 g"))
    assert [len(alike.places) for alike in found] == [2, 1]


@pytest.mark.parametrize("name", ["tds_1_pct", "tds_2_pct", "B2"])
def test_a_figure_inside_a_name_is_no_figure(name: str) -> None:
    assert merged([f"{name} is 94 %", f"{name} is 95 %"]) == f"{name} is 94 to 95 %"


def test_names_that_differ_in_a_figure_are_not_merged() -> None:
    assert len(gather_alike(said("tds_1_pct is 94 %", "tds_2_pct is 94 %"))) == 2


def test_thousands_are_one_number() -> None:
    assert merged(["9,500 characters", "10,200 characters"]) == "9,500 to 10,200 characters"


def test_days_are_listed_and_never_ordered_as_numbers() -> None:
    sentences = [f"write 2026-{month}-03" for month in ("04", "05", "06")]
    assert merged(sentences) == "write 2026-04-03, 2026-05-03 …"


def test_a_sentence_on_several_things_is_taken_apart_outside_quotes() -> None:
    parts = one_by_one(
        Said("3", "", "time_s: “a; b” is no number; dose_g is 180 g", "180 → 18.0?")
    )
    assert [(part.sentence, part.remedy) for part in parts] == [
        ("time_s: “a; b” is no number", ""),
        ("dose_g is 180 g", "180 → 18.0?"),
    ]


def test_the_count_of_reasons_left_out_is_no_reason() -> None:
    parts = one_by_one(Said("3", "", "dose_g is 180 g; time_s is 400 s; and 2 more"))
    assert [part.sentence for part in parts] == ["dose_g is 180 g", "time_s is 400 s"]


@pytest.mark.parametrize(
    ("places", "listed"),
    [
        (["7"], "line 7"),
        (["7", "7"], "line 7"),
        (["3", "4"], "lines 3 and 4"),
        (["3", "4", "5"], "lines 3–5"),
        (["s1", "s2", "s3", "s9"], "lines s1–s3 and s9"),
        (["09", "10", "11"], "lines 09, 10 and 11"),
        (["1", "3", "5", "7", "9", "11", "13", "15"], "lines 1, 3, 5, 7, 9, 11 and 2 more"),
    ],
)
def test_places_are_listed_short(places: list[str], listed: str) -> None:
    assert place_list(places, "line") == listed
