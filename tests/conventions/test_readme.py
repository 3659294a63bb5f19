"""What the README tells people to type exists, and is understood."""

from __future__ import annotations

import re
import shlex
from pathlib import Path

import pytest

from tests.conftest import ROOT
from tests.conventions.picture import picture
from yieldwright.cli.arguments import parse

README = (ROOT / "README.md").read_text(encoding="utf-8")
PROGRAM = re.compile(r"^.*\.venv/bin/yieldwright (.+)$", re.MULTILINE)
BLOCK = r"<!-- command: {} -->\n```sh\n([^\n]+)\n```\n"


def one_line(name: str) -> str:
    """Return the command that the gate runs under this name."""
    (command,) = re.findall(BLOCK.format(name), README)
    return command


@pytest.mark.parametrize("name", ["page", "test"])
def test_each_command_is_one_line_in_an_environment_of_its_own(name: str) -> None:
    made, *used = re.findall(r"\.venv[\w-]*", one_line(name))
    assert set(used) == {made}


def test_the_two_commands_do_not_share_an_environment() -> None:
    page, tests = (re.search(r"-m venv (\S+)", one_line(name)) for name in ("page", "test"))
    assert page
    assert tests
    assert page[1] != tests[1]


@pytest.mark.parametrize("name", ["page", "test"])
def test_windows_has_the_same_command(name: str) -> None:
    posix = one_line(name).replace("python3 -m venv", "py -m venv").replace("'", '"')
    windows = posix.replace("/bin/", "/Scripts/").replace("/", "\\")
    assert windows in README


@pytest.mark.parametrize("line", PROGRAM.findall(README))
def test_the_program_understands_each_line(line: str) -> None:
    arguments = shlex.split(line)
    assert parse(arguments).command == arguments[0]


def test_the_demo_that_the_page_is_made_of_exists(root: Path) -> None:
    log = re.search(r"weekend (\S+)", one_line("page"))
    assert log
    assert (root / log[1] / "shots.csv").is_file()


@pytest.mark.parametrize("name", ["README.md", "DEVELOPERS.md"])
def test_every_file_that_is_named_exists(root: Path, name: str) -> None:
    text = (root / name).read_text(encoding="utf-8")
    named = re.findall(r"`((?:notebooks|datasets|tests|analysis|\.ci)/[\w./-]*)`", text)
    assert [path for path in named if not (root / path).exists()] == []


def test_the_picture_is_the_chart_of_the_demo() -> None:
    (shown,) = re.findall(r"<!-- picture -->\n```text\n(.*?)```\n", README, re.DOTALL)
    assert shown == picture()
