"""Scores from either file: one row per shot, taster and attribute, and their means."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.shotlog.conftest import Reader
from yieldwright.bench import Attribute, Bench
from yieldwright.shotlog import read_log, score_table

LONG = (
    "shot,taster,attribute,score\n1,t1,overall,6\n1,t2,overall,8\n1,t1,bitter,3\n2,t1,overall,5\n"
)
SHOTS = "shot,barista\n1,b1\n2,b2\n3,b1\n"


def test_a_shot_is_the_mean_of_its_tasters(read: Reader) -> None:
    table = score_table(read(SHOTS, tastings=LONG))
    assert table["overall"].fillna(-1).tolist() == [7.0, 5.0, -1.0]
    assert table["bitter"].fillna(-1).tolist() == [3.0, -1.0, -1.0]
    assert table["n_tasters"].tolist() == [2, 1, 0]


def test_a_taster_who_scores_twice_counts_once(read: Reader) -> None:
    log = read(SHOTS, tastings="shot,taster,overall\n1,t1,4\n1,t1,6\n1,t2,9\n")
    assert score_table(log)["overall"].iloc[0] == 7.0
    assert log.flags["reason"].tolist() == ["scored twice by one taster; the mean counts"]


def test_attributes_of_the_bench_stand_first(read: Reader) -> None:
    bench = Bench(attributes=(Attribute("sweet"), Attribute("bitter")))
    content = "shot,taster,attribute,score\n1,t1,acid,5\n1,t1,bitter,5\n1,t1,Sweet,5\n"
    table = score_table(read(SHOTS, tastings=content, bench=bench))
    assert table.columns.tolist() == ["shot", "sweet", "bitter", "acid", "n_tasters"]


def test_a_column_per_attribute_is_read_as_well(read: Reader) -> None:
    log = read(SHOTS, tastings="shot,taster,overall,score_bitter\n1,t1,6,3\n2,t1,,4\n")
    assert log.tastings[["shot", "attribute", "score"]].to_numpy().tolist() == [
        ["1", "overall", 6.0],
        ["1", "bitter", 3.0],
        ["2", "bitter", 4.0],
    ]


def test_scores_in_the_table_of_shots_are_those_of_the_barista(read: Reader) -> None:
    log = read("shot,barista,overall\n1,b1,6\n2,,7\n3,b1,\n")
    assert log.tastings[["shot", "taster", "score"]].to_numpy().tolist() == [
        ["1", "b1", 6.0],
        ["2", "unnamed", 7.0],
    ]


def test_scores_of_both_files_are_put_together(read: Reader) -> None:
    log = read("shot,barista,overall\n1,b1,6\n", tastings="shot,taster,overall\n1,t1,8\n")
    assert score_table(log).loc[0].tolist() == ["1", 7.0, 2]


def test_lines_of_both_files_add_up(read: Reader) -> None:
    log = read(SHOTS, tastings=LONG + "\n9,t1,overall,5\n1,t3\n")
    assert [file.adds_up for file in log.reading.files] == [True, True]
    assert log.reading.lines_read == 4 + 8
    assert log.reading.lines_set_aside == 2


@pytest.mark.parametrize(
    ("row", "reason"),
    [
        ("9,t1,overall,5", "no shot of the log is named “9”"),
        ("4,t1,overall,5", "shot “4” is set aside: dose_g is 180 g, outside 5–30 g (line 5)"),
        ("1,t1,overall,11", "score is 11, outside 0–10"),
        ("1,t1,,5", "the row does not say what was scored"),
        ("1,t1,overall,good", "score: “good” is no number"),
        (",t1,overall,5", "the row does not name its shot"),
    ],
)
def test_a_tasting_that_cannot_stand_is_set_aside(row: str, reason: str, read: Reader) -> None:
    shots = "shot,dose_g\n1,18\n2,18\n3,18\n4,180\n"
    log = read(shots, tastings=f"shot,taster,attribute,score\n{row}\n1,t1,overall,6\n")
    aside = log.set_aside[log.set_aside["file"] == "tastings.csv"]
    assert aside["reason"].tolist() == [reason]
    assert log.tastings["score"].tolist() == [6.0]


def test_a_copied_tasting_is_set_aside(read: Reader) -> None:
    log = read(SHOTS, tastings="shot,taster,overall\n1,t1,6\n1,t1,6\n")
    assert log.set_aside["reason"].tolist() == ["an exact copy of the row at line 2"]


def test_a_scale_of_the_bench_is_used(read: Reader) -> None:
    bench = Bench(attributes=(Attribute("overall", 0, 100, 1, stated=True),))
    log = read(SHOTS, tastings="shot,taster,attribute,score\n1,t1,Overall,85\n", bench=bench)
    assert log.tastings[["attribute", "score"]].to_numpy().tolist() == [["overall", 85.0]]


def test_an_assumed_scale_is_remarked(read: Reader) -> None:
    said = " ".join(read(SHOTS, tastings=LONG).reading.remarks)
    assert "bitter 0 to 10, more is better; overall 0 to 10, more is better." in said


def test_a_scale_stated_in_part_is_remarked_as_it_is_used(read: Reader) -> None:
    bench = Bench(attributes=(Attribute("overall", 1, 5, 1, better="less"),))
    log = read(SHOTS, tastings="shot,taster,attribute,score\n1,t1,overall,3\n", bench=bench)
    said = " ".join(log.reading.remarks)
    assert "Scales not stated in full are taken as: overall 1 to 5, less is better." in said


def test_a_score_without_attribute_is_the_headline(read: Reader) -> None:
    log = read(SHOTS, tastings="shot,taster,score\n1,t1,6\n")
    assert log.tastings["attribute"].tolist() == ["overall"]
    assert "each score is taken as overall" in " ".join(log.reading.remarks)


def test_order_code_and_swallowed_are_kept(read: Reader) -> None:
    content = (
        "shot,taster,tasting_order,blind_code,attribute,score,swallowed\n1,t1,2,007,overall,6,no\n"
    )
    (row,) = read(SHOTS, tastings=content).tastings.itertuples()
    assert (row.tasting_order, row.blind_code, row.swallowed) == (2.0, "007", False)


def test_tastings_name_shots_by_their_parts(read: Reader) -> None:
    bench = Bench(shot_id=("session", "brew"))
    shots = "session,brew,dose_g\na,1,18\nb,1,18\n"
    log = read(shots, tastings="session,brew,taster,overall\nb,1,t1,6\n", bench=bench)
    assert log.tastings["shot"].tolist() == ["b/1"]


def test_a_log_without_any_score_has_an_empty_table_of_tastings(read: Reader) -> None:
    tastings = read(SHOTS).tastings
    assert tastings.empty
    assert tastings.columns.tolist() == [
        "shot",
        "taster",
        "tasting_order",
        "blind_code",
        "attribute",
        "score",
        "swallowed",
    ]


def test_a_single_file_is_read_with_the_bench_beside_it_and_no_tastings(tmp_path: Path) -> None:
    (tmp_path / "mine.csv").write_text(SHOTS, encoding="utf-8")
    (tmp_path / "tastings.csv").write_text(LONG, encoding="utf-8")
    (tmp_path / "bench.toml").write_text('name = "b"\n', encoding="utf-8")
    log = read_log(tmp_path / "mine.csv")
    assert log.bench.name == "b"
    assert log.tastings.empty
    assert "bench.toml beside mine.csv" in log.reading.remarks[0]


def test_without_a_bench_file_it_is_said_that_defaults_are_assumed(read: Reader) -> None:
    assert read(SHOTS).reading.remarks[0].startswith("No bench.toml: instruments")


def test_what_is_not_recognised_in_tastings_is_kept_beside_them(read: Reader) -> None:
    tastings = "shot,taster,overall,sweet,mood\n1,t1,6,5,calm\n9,t1,6,5,lost\n1,t2,7,,\n"
    bench = Bench(attributes=(Attribute("overall"), Attribute("sweet")))
    log = read("shot,overall\n1,8\n", tastings=tastings, bench=bench)
    assert log.tastings["score"].tolist() == [8.0, 6.0, 5.0, 7.0]
    moods = log.tasting_extras["mood"]
    assert moods.isna().tolist() == [True, False, False, True]
    assert moods.dropna().unique().tolist() == ["calm"]
