"""What is printed can be read: wrapped, uncoloured in a pipe, in any encoding."""

from __future__ import annotations

import io
import re
import shlex
import sys

import pytest

from yieldwright.cli.streams import (
    complain,
    console,
    progress,
    say,
    say_command,
    say_in_any_encoding,
    say_pairs,
    share_of,
)


class Terminal(io.StringIO):
    """A stream that says a person reads it."""

    encoding = "utf-8"

    def isatty(self) -> bool:
        return True


@pytest.fixture
def terminal(monkeypatch: pytest.MonkeyPatch) -> Terminal:
    """Return a terminal of eighty columns in colour."""
    for name in ("NO_COLOR", "FORCE_COLOR", "TTY_COMPATIBLE"):
        monkeypatch.delenv(name, raising=False)
    monkeypatch.setenv("TERM", "xterm-256color")
    monkeypatch.setenv("COLUMNS", "80")
    return Terminal()


def test_a_pipe_gets_no_escape_codes() -> None:
    pipe = io.StringIO()
    say(console(pipe), "two shots", style="bold")
    assert pipe.getvalue() == "two shots\n"


def test_a_terminal_gets_emphasis(terminal: Terminal) -> None:
    say(console(terminal), "two shots", style="bold")
    assert "\x1b[1m" in terminal.getvalue()


def test_no_color_means_no_escape_codes(
    terminal: Terminal, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("NO_COLOR", "1")
    say(console(terminal), "two shots", style="bold")
    assert terminal.getvalue() == "two shots\n"


def test_text_is_never_taken_for_markup() -> None:
    pipe = io.StringIO()
    say_pairs(console(pipe), [("[red]left", "[link=x]right[/] :coffee:")])
    assert pipe.getvalue() == "  [red]left  [link=x]right[/] :coffee:\n"


def test_the_second_column_wraps_under_itself(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("COLUMNS", "40")
    pipe = io.StringIO()
    say_pairs(console(pipe), [("shot 1", "a reason that is quite a bit too long for one line")])
    lines = pipe.getvalue().splitlines()
    assert len(lines) == 2
    assert lines[1].startswith(" " * len("  shot 1  ") + "too")
    assert max(map(len, lines)) <= 40


@pytest.mark.parametrize("length", range(60, 80))
def test_no_line_ends_between_a_figure_and_its_percent_sign(
    length: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("COLUMNS", "80")
    pipe = io.StringIO()
    say_pairs(console(pipe), [("-", f"{'x' * length} 95 % interval")])
    assert "95 %" in pipe.getvalue()
    assert max(map(len, pipe.getvalue().splitlines())) <= 80


def test_a_word_without_end_stays_inside_the_width(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("COLUMNS", "80")
    pipe = io.StringIO()
    say_pairs(console(pipe), [("x" * 300, "y" * 300)])
    assert max(map(len, pipe.getvalue().splitlines())) <= 80


def test_a_command_stays_on_one_line(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("COLUMNS", "80")
    pipe = io.StringIO()
    say_command(console(pipe), ["yieldwright", "check", "a very long path/" * 9])
    assert len(pipe.getvalue().splitlines()) == 1


def test_no_line_of_a_pipe_ends_in_blanks() -> None:
    pipe = io.StringIO()
    say_pairs(console(pipe), [("one", "word"), ("two", "a good many words " * 9)])
    assert [line for line in pipe.getvalue().splitlines() if line != line.rstrip()] == []


def test_a_complaint_is_wrapped_for_a_terminal(
    terminal: Terminal, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(sys, "stderr", terminal)
    complain("one word " * 30)
    assert max(map(len, terminal.getvalue().splitlines())) <= 80


def test_a_complaint_in_a_pipe_is_one_line(capsys: pytest.CaptureFixture[str]) -> None:
    complain("one word " * 30)
    assert len(capsys.readouterr().err.splitlines()) == 1


def test_progress_is_for_terminals_only(capsys: pytest.CaptureFixture[str]) -> None:
    with progress("reading") as turn_to:
        turn_to("fitting")
    assert capsys.readouterr() == ("", "")


def test_progress_says_what_is_being_done(
    terminal: Terminal, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(sys, "stderr", terminal)
    with progress("reading the log"):
        pass
    assert "reading the log" in terminal.getvalue()


def test_progress_shows_the_share_that_is_done(
    terminal: Terminal, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("NO_COLOR", "1")
    monkeypatch.setattr(sys, "stderr", terminal)
    with progress("reading the log") as turn_to:
        turn_to("checking cells", 0.42)
    assert " 42% checking cells" in " ".join(terminal.getvalue().split())


def test_progress_leaves_nothing_behind(
    terminal: Terminal, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(sys, "stderr", terminal)
    with progress("reading the log"):
        pass
    assert terminal.getvalue().endswith("\x1b[2K")  # the line is wiped


def test_progress_cannot_be_steered_and_stays_on_its_line(
    terminal: Terminal, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(sys, "stderr", terminal)
    with progress("reading") as turn_to:
        turn_to("reading \x1b]0;title\x07[red]{0} " + "x" * 200, 0.1)
    shown = terminal.getvalue()
    assert "\x07" not in shown
    assert "[red]{0}" in shown
    assert "x" * 80 not in shown


@pytest.mark.parametrize(
    ("share", "told"), [(0.0, 0.5), (0.5, 0.75), (1.0, 1.0), (-3.0, 0.5), (7.0, 1.0)]
)
def test_a_part_of_the_work_moves_its_part_of_the_bar(share: float, told: float) -> None:
    heard: list[tuple[str, float | None]] = []

    def turn_to(step: str, share: float | None = None) -> None:
        heard.append((step, share))

    share_of(turn_to, start=0.5, end=1.0)(share, "reading")
    assert heard == [("reading", told)]


@pytest.mark.parametrize("encoding", ["ascii", "cp1252", "cp437"])
def test_signs_an_encoding_lacks_get_plain_ones(
    encoding: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    raw = io.BytesIO()
    monkeypatch.setattr(sys, "stdout", io.TextIOWrapper(raw, encoding=encoding))
    say_in_any_encoding()
    sys.stdout.write("19.8 ± 0.2 %, −1 … 豆")
    sys.stdout.flush()
    shown = raw.getvalue().decode(encoding)
    assert shown.replace("+/-", "±").replace("...", "…") == "19.8 ± 0.2 %, -1 … ?"


@pytest.mark.parametrize(
    "word", ["$(touch harmed)", "`id`", "a;b", "it's", "two words", 'say "x"']
)
def test_a_word_of_a_command_stays_one_word_to_a_shell(word: str) -> None:
    pipe = io.StringIO()
    say_command(console(pipe), ["yieldwright", "bag", "my-bench", word])
    assert shlex.split(pipe.getvalue()) == ["yieldwright", "bag", "my-bench", word]
    # Between double quotes a shell would still run what stands behind $ or in backticks.
    assert not re.search(r'"[^"]*[$`]', pipe.getvalue())
