"""What every test may ask for: the folder of reference figures, and repeatable examples."""

from __future__ import annotations

import os
from pathlib import Path

import pytest
from hypothesis import HealthCheck, settings

ROOT = Path(__file__).resolve().parent.parent
NO_REFERENCE = "no folder of reference figures: set YIELDWRIGHT_REFERENCE"

settings.register_profile(
    "ci", derandomize=True, deadline=None, suppress_health_check=[HealthCheck.too_slow]
)
settings.register_profile("search", deadline=None, max_examples=1000)
settings.load_profile(os.environ.get("HYPOTHESIS_PROFILE", "ci"))


def reference_folder() -> Path:
    """Return where published figures are looked for: beside the checkout unless told."""
    told = os.environ.get("YIELDWRIGHT_REFERENCE")
    return Path(told) if told else ROOT.parent / "shared" / "reference"


@pytest.fixture(scope="session")
def reference() -> Path:
    """Return the folder of published figures, or skip the test for want of it."""
    folder = reference_folder()
    if not folder.is_dir():
        pytest.skip(NO_REFERENCE)
    return folder


@pytest.fixture(scope="session")
def root() -> Path:
    """Return the top of the checkout."""
    return ROOT


def pytest_terminal_summary(terminalreporter: pytest.TerminalReporter) -> None:
    """Say how many tests had no reference figures to compare with."""
    skipped = terminalreporter.stats.get("skipped", [])
    count = sum(NO_REFERENCE in str(report.longrepr) for report in skipped)
    terminalreporter.write_line(f"reference tests skipped: {count}")
