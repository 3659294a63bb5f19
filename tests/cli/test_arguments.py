"""Help teaches with examples, and a slip of the keys gets the word that was meant."""

from __future__ import annotations

import re
from datetime import date

import pytest

from yieldwright import __version__
from yieldwright.cli import main
from yieldwright.cli.arguments import parse

COMMANDS = ("start", "check", "taste", "bag", "steady", "weekend", "export")


@pytest.mark.parametrize("words", [["--help"], *([name, "--help"] for name in COMMANDS)])
def test_help_fits_eighty_columns_and_shows_an_example(
    words: list[str], capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("COLUMNS", "80")
    assert main(words) == 0
    printed = capsys.readouterr().out
    assert max(map(len, printed.splitlines())) <= 80
    assert "example" in printed


@pytest.mark.parametrize("name", COMMANDS)
def test_each_example_of_the_help_can_be_parsed(
    name: str, capsys: pytest.CaptureFixture[str]
) -> None:
    main([name, "--help"])
    shown = re.findall(r"^  yieldwright (.+)$", capsys.readouterr().out, re.MULTILINE)
    words = [line.partition(" > ")[0].split() for line in shown]
    assert words
    assert {parse(each).command for each in words} == {name}


def test_each_exit_code_is_told(capsys: pytest.CaptureFixture[str]) -> None:
    main(["check", "--help"])
    printed = " ".join(capsys.readouterr().out.split())
    assert "0 nothing set aside, 1 rows set aside, 2 wrong usage, 3 unreadable" in printed


def test_every_command_stands_in_the_overall_help(capsys: pytest.CaptureFixture[str]) -> None:
    main(["--help"])
    printed = capsys.readouterr().out
    assert [name for name in COMMANDS if f"\n  {name} " not in printed] == []


def test_columns_and_settings_are_taken_apart() -> None:
    words = [
        "taste",
        "log",
        "--settings",
        "grind_setting, dose_g",
        "--shot-at",
        "temp_band = high",
    ]
    arguments = parse([*words, "--allow-for", "nothing"])
    assert arguments.settings == ("grind_setting", "dose_g")
    assert arguments.shot_at == {"temp_band": "high"}
    assert arguments.allow_for == ()


def test_the_version_is_the_packages(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["--version"]) == 0
    assert capsys.readouterr().out.strip() == f"yieldwright {__version__}"


def test_no_words_at_all_get_help(capsys: pytest.CaptureFixture[str]) -> None:
    assert main([]) == 2
    assert "yieldwright start my-bench" in capsys.readouterr().out


@pytest.mark.parametrize(
    ("words", "parts"),
    [
        (["wekend", "log"], ["no command 'wekend'", "did you mean weekend?"]),
        (["zzz"], ["no command 'zzz'", "start, check, taste, bag, steady, weekend"]),
        (["--versoin"], ["no option '--versoin'", "did you mean --version?"]),
        (
            ["weekend", "log", "--out", "p.html", "--fugures", "d"],
            ["no option '--fugures'", "did you mean --figures?", "'yieldwright weekend --help'"],
        ),
        (["weekend", "log", "--ou=p.html"], ["no option '--ou'", "did you mean --out?"]),
        (["check", "log", "--all"], ["yieldwright check: there is no option '--all'"]),
        (["weekend", "log"], ["required: --out"]),
        (["weekend", "--out", "page.html"], ["required: LOG"]),
        (["check"], ["required: LOG"]),
        (
            ["check", "my", "bench"],
            ["unrecognized arguments: bench", "in quotes", "'yieldwright check --help'"],
        ),
        (["steady", "log", "--bag", "a", "--bag=b"], ["--bag is said twice; say it once"]),
        (["steady", "log", "--baseline", "-3"], ["'-3' is no number of shots", "10 or more"]),
        (["steady", "log", "-3"], ["unrecognized arguments: -3"]),
        (["bag", "log", "--bag", "bag-7"], ["no option '--bag'", "write the bag itself"]),
        (["taste", "log", "--of", "time_s"], ["did you mean --response?"]),
        (["steady", "log", "--response", "time_s"], ["did you mean --of?"]),
        (["check", "log", "--as-of", "03/04/2026"], ["'03/04/2026' is no day", "2026-03-08"]),
        (
            ["weekend", "log", "--out", "p.html", "--all", "--since", "2026-03-01"],
            ["--since", "not allowed with", "--all"],
        ),
    ],
)
def test_wrong_words_get_a_remedy(
    words: list[str], parts: list[str], capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(words) == 2
    printed = capsys.readouterr()
    assert printed.out == ""
    assert [part for part in parts if part not in printed.err] == []
    assert len(printed.err.splitlines()) == 1


def test_an_escape_code_in_a_word_stays_harmless(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["\x1b[31mweekend"]) == 2
    assert "\x1b" not in capsys.readouterr().err


def test_days_become_days() -> None:
    words = ["weekend", "log", "--out", "p.html", "--since", "2026-03-01", "--as-of=2026-03-08"]
    arguments = parse(words)
    assert (arguments.since, arguments.as_of) == (date(2026, 3, 1), date(2026, 3, 8))


def test_an_option_that_gathers_may_be_said_several_times() -> None:
    words = ["export", "log", "--out", "x", "--without", "notes", "--without", "barista"]
    assert parse(words).without == ["notes", "barista"]


def test_options_have_defaults_that_change_nothing() -> None:
    arguments = parse(["weekend", "log", "--out", "p.html"])
    left = (arguments.since, arguments.bag, arguments.everything, arguments.as_of)
    assert left == (None, None, False, None)
    assert arguments.figures is None


def test_a_log_whose_name_starts_with_a_dash_can_be_named() -> None:
    assert parse(["check", "--", "-log"]).log == "-log"
