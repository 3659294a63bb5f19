"""Looking at the package, or asking for help, loads nothing heavy."""

from __future__ import annotations

import re
import subprocess
import sys

import pytest

HEAVY = {"numpy", "pandas", "scipy", "matplotlib", "seaborn", "statsmodels", "jinja2"}


def loaded_by(*arguments: str) -> set[str]:
    """Return the top-level packages that a fresh interpreter imports on the way."""
    done = subprocess.run(
        [sys.executable, "-X", "importtime", *arguments],
        capture_output=True,
        text=True,
        check=True,
        encoding="utf-8",
    )
    names = re.findall(r"^import time:.*\|\s*(\S+)$", done.stderr, re.MULTILINE)
    return {name.partition(".")[0] for name in names}


def test_importing_the_package_is_light() -> None:
    loaded = loaded_by("-c", "import yieldwright")
    assert "yieldwright" in loaded
    assert not loaded & HEAVY


@pytest.mark.parametrize(
    "command", [[], ["check"], ["taste"], ["bag"], ["steady"], ["weekend"], ["export"]]
)
def test_asking_for_help_is_light(command: list[str]) -> None:
    loaded = loaded_by("-m", "yieldwright", *command, "--help")
    assert "argparse" in loaded
    assert not loaded & HEAVY


def test_the_glossary_is_light() -> None:
    assert not loaded_by("-c", "import yieldwright.glossary") & HEAVY
