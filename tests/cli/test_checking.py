"""`check` accounts for every line, for people and for programs, whatever it is given."""

from __future__ import annotations

import json
import re
from collections.abc import Callable
from itertools import combinations
from pathlib import Path
from typing import Any

import pytest

from tests.cli.odd_logs import ALL_SET_ASIDE, HEADER, HOSTILE, READABLE, UNREADABLE, row
from yieldwright.cli import main
from yieldwright.glossary import SHOT_QUANTITIES

KEYS = [
    *("format", "log", "verdict", "error", "as_of", "counts"),
    *("files", "remarks", "set_aside", "flags", "listed"),
]
Check = Callable[..., tuple[int, str, str]]


@pytest.fixture
def check(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> Check:
    """Return a way to check the text of a log: code, stdout, stderr."""
    monkeypatch.setenv("COLUMNS", "80")
    monkeypatch.chdir(tmp_path)

    def run(text: str, *options: str) -> tuple[int, str, str]:
        Path("shots.csv").write_text(text, encoding="utf-8", newline="")
        code = main(["check", "shots.csv", *options])
        printed = capsys.readouterr()
        return code, printed.out, printed.err

    return run


def account(check: Check, text: str, *options: str) -> dict[str, Any]:
    """Return the account as a strict reader of JSON sees it."""

    def refuse(word: str) -> None:
        raise AssertionError(f"{word} is not JSON")

    _, out, _ = check(text, "--json", *options)
    loaded: dict[str, Any] = json.loads(out, parse_constant=refuse)
    return loaded


@pytest.mark.parametrize("text", READABLE.values(), ids=READABLE)
def test_a_log_that_can_be_read_is_told_within_eighty_columns(check: Check, text: str) -> None:
    code, out, err = check(text)
    assert code == (1 if "Set aside" in out else 0)
    assert err == ""
    assert max(map(len, out.splitlines())) <= 80


@pytest.mark.parametrize("text", UNREADABLE.values(), ids=UNREADABLE)
def test_a_log_that_cannot_be_read_gets_one_paragraph(check: Check, text: str) -> None:
    code, out, err = check(text)
    assert (code, out) == (3, "")
    assert len(err.splitlines()) == 1
    assert "shots.csv" in err


def test_a_missing_file_gets_one_paragraph(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["check", str(tmp_path / "nowhere.csv")]) == 3
    assert "nowhere.csv" in capsys.readouterr().err


def test_a_folder_without_a_log_gets_one_paragraph(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["check", str(tmp_path)]) == 3
    assert "shots.csv" in capsys.readouterr().err


def part(out: str, title: str) -> list[str]:
    """Return the lines below a title, up to the next empty one."""
    lines = out.splitlines()
    at = lines.index(title)
    return lines[at + 1 : lines.index("", at)]


def test_a_row_set_aside_is_shown_with_reason_remedy_and_the_cell_in_question(
    check: Check,
) -> None:
    code, out, _ = check(HEADER + row(1) + row(2, dose_g="180"))
    assert code == 1
    assert part(out, "Set aside in shots.csv: 1 row") == [
        "  line 3      dose_g is 180 g, outside 5–30 g",
        "              Try: 180 → 18.0?",
        "              s2,2026-03-01T10:10+01:00,bag-1,2026-02-14,180,g1,13,3,medium,8.5…",
        "                                                         ^^^",
    ]


def test_rows_set_aside_for_one_reason_are_told_once(check: Check) -> None:
    doses = [(n, "180" if n % 2 else "18.1") for n in range(1, 8)]
    _, out, _ = check(HEADER + "".join(row(n, dose_g=dose) for n, dose in doses))
    assert part(out, "Set aside in shots.csv: 4 rows")[:2] == [
        "  4 rows      dose_g is 180 g, outside 5–30 g – lines 2, 4, 6 and 8",
        "              Try: 180 → 18.0?",
    ]


def test_what_keeps_most_rows_out_comes_first(check: Check) -> None:
    many = "".join(row(n, time_s="abc") for n in range(2, 5))
    _, out, _ = check(HEADER + row(1, dose_g="180") + many)
    places = [line[2:12].strip() for line in part(out, "Set aside in shots.csv: 4 rows")]
    assert list(filter(None, places)) == ["3 rows", "line 2"]


def test_rows_wrong_in_many_ways_are_told_under_each_reason(check: Check) -> None:
    names = ("dose_g", "purged_g", "hold_bar", "end_bar", "time_s", "tds_pct")
    pairs = combinations([(name, "x") for name in names], 2)
    rows = "".join(row(n, **dict(pair)) for n, pair in enumerate(pairs, start=1))
    _, out, _ = check(HEADER + rows)
    title = "Set aside in shots.csv: 15 rows, told under each of their reasons"
    told = [line[2:12].strip() for line in part(out, title)]
    assert list(filter(None, told)) == ["5 rows"] * 6


def test_the_lines_of_the_file_are_drawn_where_some_need_care(check: Check) -> None:
    _, out, _ = check(HEADER + row(1) + row(2, dose_g="180") + row(3, dose_g="23") + row(4))
    assert out.splitlines()[:3] == [
        "  shots.csv  5 lines read = 3 accepted + 1 set aside + 1 listed (1 header)",
        "             _.X?.",
        "             . accepted   ? flagged   X set aside   _ no row",
    ]


def test_lines_that_hold_no_row_are_counted_by_kind(check: Check) -> None:
    _, out, _ = check("shot,dose_g\n,g\n\n# one\n# two\n1,18\n")
    listed = out.replace("\n", " ").split("(")[1].split(")")[0]
    assert " ".join(listed.split()) == "1 header, 1 row of units, 1 blank and 2 comments"


def test_a_flag_alone_is_no_failure(check: Check) -> None:
    code, out, _ = check(HEADER + row(1) + row(2, dose_g="23"))
    assert code == 0
    assert part(out, "Kept but flagged as unusual: 1 flag") == [
        "  shot s2     dose_g is 23 g, outside the usual 14–22 g"
    ]


def test_a_long_name_of_a_shot_keeps_its_distance(check: Check) -> None:
    _, out, _ = check(HEADER + row(1, dose_g="23", tds_pct="", shot="evening-class-12"))
    assert part(out, "Kept but flagged as unusual: 1 flag") == [
        "  shot evening-class-12  dose_g is 23 g, outside the usual 14–22 g"
    ]


def test_one_flag_on_forty_shots_is_told_once(check: Check) -> None:
    heavy = "".join(row(n, dose_g="22.5", tds_pct="") for n in range(1, 41))
    _, out, _ = check(HEADER + heavy)
    assert part(out, "Kept but flagged as unusual: 40 flags") == [
        "  40 shots    dose_g is 22.5 g, outside the usual 14–22 g – shots s1–s40"
    ]


def test_what_may_change_a_conclusion_comes_before_what_is_unusual(check: Check) -> None:
    _, out, _ = check(HEADER + row(1, dose_g="23") + row(2, tds_pct="17"))
    assert out.index("may change what the log says: 1 flag") < out.index("as unusual")
    assert "that water can dissolve" in " ".join(out.split())


def test_what_to_do_next_can_be_copied(check: Check) -> None:
    _, out, _ = check(HEADER + row(1) + row(2, dose_g="180"))
    assert out.splitlines()[-6:] == [
        "Next",
        "Correct the rows set aside in shots.csv, or widen a range in bench.toml where",
        "your bench rightly goes beyond it. Then",
        "  yieldwright check shots.csv",
        "Or go on without them; the page counts them, and uses what was accepted:",
        "  yieldwright weekend shots.csv --out weekend.html",
    ]


def test_many_rows_set_aside_may_have_a_file_of_their_own(check: Check) -> None:
    _, few, _ = check(HEADER + "".join(row(n, dose_g="180") for n in range(1, 5)))
    _, many, _ = check(HEADER + "".join(row(n, dose_g="180") for n in range(1, 6)))
    command = "  yieldwright export shots.csv --set-aside --out set-aside-shots.csv"
    assert (command in few.splitlines(), command in many.splitlines()) == (False, True)


def test_every_row_set_aside_leaves_nothing_to_review(check: Check) -> None:
    code, out, _ = check(ALL_SET_ASIDE)
    assert code == 1
    assert "No shot was accepted." in out
    assert "widen a range in bench.toml" in out


def test_a_header_alone_asks_for_rows(check: Check) -> None:
    code, out, _ = check(HEADER)
    assert code == 0
    assert "add a row for each shot" in " ".join(out.split())


def test_long_lists_say_how_to_get_the_rest(check: Check) -> None:
    names = [entry.name for entry in SHOT_QUANTITIES if entry.kind == "number"][:14]
    rows = ["".join(",x" if at == n else "," for at in range(14)) for n in range(14)]
    header = ",".join(["shot", *names])
    _, out, _ = check(header + "".join(f"\ns{n}{cells}" for n, cells in enumerate(rows)))
    assert "and 2 rows for 2 other reasons: --json lists every one" in out


def test_the_log_is_judged_as_on_the_day_asked_for(check: Check) -> None:
    _, out, _ = check(HEADER + row(1), "--as-of", "2026-03-31")
    assert "judged as on 2026-03-31" in out


def test_hostile_text_cannot_steer_the_terminal(check: Check) -> None:
    _, out, _ = check(HOSTILE + row(8, dose_g="\x1b]0;x\x07"))
    assert not {"\x1b", "\x07", "\u202e"} & set(out)


def test_hostile_text_cannot_steer_a_reader_of_json(check: Check) -> None:
    _, out, _ = check(HOSTILE, "--json")
    assert out.isascii()
    assert "\x1b" not in out


def test_the_bench_a_command_wrote_is_read_back(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    main(["start", str(tmp_path / "bench")])
    capsys.readouterr()
    assert main(["check", str(tmp_path / "bench"), "--json"]) == 0
    told = json.loads(capsys.readouterr().out)
    assert {line["kind"] for line in told["listed"]} == {"header", "comment"}
    assert told["counts"]["lines_listed"] == 4
    assert told["counts"]["shots"] == 0


def test_a_wrong_bench_file_is_told(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (tmp_path / "shots.csv").write_text(HEADER + row(1), "utf-8")
    (tmp_path / "bench.toml").write_text("[recipe]\ndose_g = -1\n", "utf-8")
    assert main(["check", str(tmp_path)]) == 3
    assert "[recipe] dose_g is -1" in capsys.readouterr().err


class TestJson:
    @pytest.mark.parametrize("text", READABLE.values(), ids=READABLE)
    def test_it_is_strict_and_its_keys_stay(self, check: Check, text: str) -> None:
        assert list(account(check, text)) == KEYS

    def test_an_unreadable_log_has_the_same_keys(self, check: Check) -> None:
        told = account(check, "")
        assert list(told) == KEYS
        assert told["verdict"] == "unreadable"
        assert "empty" in told["error"]

    @pytest.mark.parametrize("text", [*READABLE.values(), ALL_SET_ASIDE])
    def test_its_lines_add_up(self, check: Check, text: str) -> None:
        counts = account(check, text)["counts"]
        assert counts["adds_up"]
        assert counts["lines_read"] == (
            counts["lines_accepted"] + counts["lines_set_aside"] + counts["lines_listed"]
        )

    def test_the_verdict_is_that_of_the_exit_code(self, check: Check) -> None:
        clean = HEADER + row(1) + row(2)
        verdicts = [
            account(check, text)["verdict"]
            for text in (clean, clean + row(3, dose_g="25"), clean + row(3, dose_g="180"))
        ]
        assert verdicts == ["clean", "flagged", "rows set aside"]

    def test_the_keys_are_told_in_the_help(self, capsys: pytest.CaptureFixture[str]) -> None:
        main(["check", "--help"])
        printed = capsys.readouterr().out
        assert [key for key in KEYS if key not in printed] == []

    @pytest.mark.parametrize("part", ["counts", "files", "set_aside", "flags", "listed"])
    def test_the_keys_of_each_part_are_those_of_the_help(
        self, check: Check, part: str, capsys: pytest.CaptureFixture[str]
    ) -> None:
        told = account(check, HEADER + row(1, dose_g="180") + row(2, dose_g="23"))[part]
        main(["check", "--help"])
        described = re.search(
            rf"^  {part} +((?:.+\n {{13}})*.+)$", capsys.readouterr().out, re.MULTILINE
        )
        assert described
        keys = described[1].removeprefix("a list: ").replace(",", " ").split()
        assert keys == list(told if isinstance(told, dict) else told[0])


def test_published_batch_brews_are_all_accepted(
    reference: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Cotter, Ristenpart and Guinard, Dryad, doi 10.25338/B8993H: 162 batches, one above 30 %."""
    published = reference / "brews" / "cotter_162_brews.csv"
    (tmp_path / "shots.csv").write_bytes(published.read_bytes())
    (tmp_path / "bench.toml").write_text(
        '[columns]\nshot_id = ["session", "brew"]\nprinted_ey_pct = "ey_pct"\n'
        "[ranges.dose_g]\nhard = [5, 300]\nsoft = [14, 300]\n"
        "[ranges.beverage_g]\nhard = [5, 4000]\nsoft = [25, 4000]\n"
        "[ranges.brew_ratio]\nhard = [0.5, 30]\nsoft = [1, 30]\n"
        "[ranges.tds_pct]\nsoft = [0.5, 14]\n",
        "utf-8",
    )
    assert main(["check", str(tmp_path), "--json"]) == 0
    told = json.loads(capsys.readouterr().out)
    assert (told["counts"]["shots"], told["counts"]["set_aside"]) == (162, 0)
    above = [flag for flag in told["flags"] if "dissolve" in flag["reason"]]
    assert len(above) == 1
    assert "36.6" in above[0]["reason"]
