"""`check` accounts for every line, for people and for programs, whatever it is given."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from tests.cli.odd_logs import ALL_SET_ASIDE, HEADER, HOSTILE, READABLE, UNREADABLE, row
from yieldwright.cli import main

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


def test_rows_set_aside_are_shown_with_line_reason_and_text(check: Check) -> None:
    code, out, _ = check(HEADER + row(1) + row(2, dose_g="180"))
    assert code == 1
    assert "line 3" in out
    assert "outside 5–30 g" in out
    assert "  reads   s2," in out


def test_a_flag_alone_is_no_failure(check: Check) -> None:
    code, out, _ = check(HEADER + row(1) + row(2, dose_g="25"))
    assert code == 0
    assert "Flagged" in out
    assert "dose_g is 25 g" in out


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
    _, out, _ = check(HEADER + "".join(row(n, dose_g="180") for n in range(1, 51)))
    assert "and 10 more: --json lists every one" in out


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
    assert [line["kind"] for line in told["listed"]] == ["header", "comment", "comment", "comment"]
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
