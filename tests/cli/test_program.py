"""Every error ends in one paragraph and an exit code, never in a traceback."""

from __future__ import annotations

import argparse
from collections.abc import Callable

import pytest

from yieldwright.cli import main, program
from yieldwright.errors import (
    BenchFileError,
    NotWritableError,
    UnknownNameError,
    UnreadableLogError,
)

Fail = Callable[[BaseException], None]


@pytest.fixture
def fail_with(monkeypatch: pytest.MonkeyPatch) -> Fail:
    """Return a way to make any command end in an error."""

    def arrange(problem: BaseException) -> None:
        def command(arguments: argparse.Namespace) -> int:
            raise problem

        monkeypatch.setattr(program, "_command", lambda name: command)

    return arrange


@pytest.mark.parametrize(
    ("problem", "code"),
    [
        (UnreadableLogError("shots.csv is empty; write a header"), 3),
        (BenchFileError("bench.toml: step is 0"), 3),
        (FileNotFoundError(2, "No such file", "shots.csv"), 3),
        (NotWritableError("page.html is a folder; name a file in it"), 4),
        (UnknownNameError("there is no bag 'b9'"), 2),
        (ZeroDivisionError("division by zero"), 5),
        (MemoryError(), 5),
        (KeyboardInterrupt(), 130),
    ],
    ids=lambda value: type(value).__name__ if isinstance(value, BaseException) else str(value),
)
def test_an_error_is_one_paragraph_and_a_code(
    problem: BaseException, code: int, fail_with: Fail, capsys: pytest.CaptureFixture[str]
) -> None:
    fail_with(problem)
    assert main(["check", "log"]) == code
    printed = capsys.readouterr()
    assert printed.out == ""
    assert len(printed.err.splitlines()) == 1
    assert str(problem) in printed.err


def test_an_unexpected_error_asks_for_a_report(
    fail_with: Fail, capsys: pytest.CaptureFixture[str]
) -> None:
    fail_with(ZeroDivisionError("division by zero"))
    main(["check", "log"])
    printed = capsys.readouterr().err
    assert "ZeroDivisionError: division by zero" in printed
    assert "report" in printed
    assert "--traceback" in printed


def test_a_traceback_is_given_to_those_who_ask(fail_with: Fail) -> None:
    fail_with(ZeroDivisionError("division by zero"))
    with pytest.raises(ZeroDivisionError):
        main(["check", "log", "--traceback"])


def test_a_message_cannot_steer_the_terminal(
    fail_with: Fail, capsys: pytest.CaptureFixture[str]
) -> None:
    fail_with(UnreadableLogError("no column \x1b]0;title\x07 here\r\nsecond line"))
    main(["check", "log"])
    printed = capsys.readouterr().err
    assert "\x1b" not in printed
    assert len(printed.splitlines()) == 1
