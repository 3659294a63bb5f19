"""Asking a command from a test: a log as text or by its path in, what is printed out."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from yieldwright.cli import main

Ask = Callable[..., tuple[int, str, str]]


def asking(command: str, folder: Path, monkeypatch: pytest.MonkeyPatch, printed: Any) -> Ask:
    """Return a way to ask the text of a log, or a log by its path: code, stdout, stderr.

    What has several lines, or none, is the text of a log; it is written as `shots.csv` into the
    folder, which becomes the working directory. `printed` is pytest's `capsys`.
    """
    monkeypatch.setenv("COLUMNS", "80")
    monkeypatch.chdir(folder)

    def ask(log: str, *options: str) -> tuple[int, str, str]:
        path = log
        if "\n" in log or not log:
            path = "shots.csv"
            Path(path).write_text(log, encoding="utf-8", newline="")
        code = main([command, path, *options])
        said = printed.readouterr()
        return code, said.out, said.err

    return ask


def flat(text: str) -> str:
    """Return printed text with its lines and indents undone."""
    return " ".join(text.split())


def widest(out: str) -> int:
    """Return the length of the longest line but for commands, which are copied whole."""
    lines = out.splitlines()
    return max(len(line) for line in lines if not line.startswith("  yieldwright "))


def account(ask: Ask, log: str, *options: str) -> dict[str, Any]:
    """Return the account as a strict reader of JSON sees it."""

    def refuse(word: str) -> None:
        raise AssertionError(f"{word} is not JSON")

    _, out, _ = ask(log, *options, "--json")
    loaded: dict[str, Any] = json.loads(out, parse_constant=refuse)
    return loaded
