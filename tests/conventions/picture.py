"""The picture in the README: ``python -m tests.conventions.picture`` prints it anew."""

from __future__ import annotations

import sys

from tests.conftest import ROOT
from yieldwright.chart import place_shots, text_chart
from yieldwright.shotlog import read_log


def picture() -> str:
    """Return the chart of the demo's shots as text."""
    log = read_log(ROOT / "datasets" / "evening-class")
    return text_chart(place_shots(log.shots[log.shots["usable"]], log.bench.window))


if __name__ == "__main__":
    sys.stdout.reconfigure(encoding="utf-8")
    sys.stdout.write(picture())
