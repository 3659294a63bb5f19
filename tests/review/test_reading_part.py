from __future__ import annotations

import re
from pathlib import Path

from tests.review.logs import read, rows
from yieldwright.review.reading_part import (
    doubt_sentences,
    line_sum,
    lines_sentence,
    remark_sentences,
    review_sentence,
)
from yieldwright.review.window import choose_shots
from yieldwright.shotlog import Reading


def too_heavy(line: str) -> str:
    """Return a row whose dose no basket holds."""
    return re.sub(r"(2026-02-20),[\d.]+", r"\1,180", line)


def test_the_parts_of_the_sum_are_the_whole(tmp_path: Path) -> None:
    lines = rows(6)
    log = read(tmp_path, [too_heavy(lines[0]), *lines[1:], "", "# a comment"])
    total, *parts = [int(number) for number, _ in line_sum(log.reading)]
    assert total == sum(parts) == 9
    assert parts[1] == 1


def test_the_sum_as_a_sentence_counts_lines_in_the_right_number() -> None:
    assert lines_sentence(Reading(files=())).startswith("0 lines read = 0 accepted")


def test_rows_set_aside_are_named_by_line_and_reason(tmp_path: Path) -> None:
    lines = rows(4)
    log = read(tmp_path, [lines[0], too_heavy(lines[1]), *lines[2:]])
    (aside,) = [line for line in doubt_sentences(log) if line.startswith("Set aside")]
    assert re.fullmatch(r"Set aside: line 3 \(.*180 g.*\)\.", aside)


def test_what_is_not_named_is_counted_and_where_it_is(tmp_path: Path) -> None:
    log = read(tmp_path, [too_heavy(line) for line in rows(5)])
    (aside,) = doubt_sentences(log)
    assert aside.count("line ") == 2
    assert aside.endswith("; 3 more rows; “yieldwright check” lists all.")


def test_flags_are_counted_by_shot_and_by_doubt(tmp_path: Path) -> None:
    line = rows(1)[0].replace(",12,3,", ",12,3,").replace(",8.5,", ",11.5,")
    log = read(tmp_path, [line])
    (kept,) = doubt_sentences(log)
    assert re.match(r"Kept with a flag: 1 shot, \d+ doubts? in all;", kept)


def test_a_clean_log_leaves_nothing_to_doubt(tmp_path: Path) -> None:
    assert doubt_sentences(read(tmp_path, rows(3))) == ()


def test_shots_outside_the_review_are_counted_with_their_reason(tmp_path: Path) -> None:
    log = read(tmp_path, rows(64))
    told = review_sentence(choose_shots(log.shots, as_of=log.as_of), n_accepted=64)
    assert re.search(r": 48 of 64 accepted; not reviewed: 16 shots before 2026-03-06\.$", told)


def test_remarks_beyond_the_first_are_counted() -> None:
    (told,) = remark_sentences(Reading(files=(), remarks=tuple(f"Remark {n}." for n in range(9))))
    assert "Remark 1." in told
    assert "Remark 2." not in told
    assert "7 more remarks" in told
