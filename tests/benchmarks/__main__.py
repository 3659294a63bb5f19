"""Measure what is named, or everything, and print each line as it is known.

The exit code tells whether each bound is kept.
"""

from __future__ import annotations

import argparse
import sys
from collections.abc import Callable, Iterable

from tests.benchmarks import (
    bootstrap,
    formulas,
    memory,
    mixed,
    ordinal,
    processes,
    reading,
    trend,
)
from tests.benchmarks.ratios import Finding

MEASURED: dict[str, Callable[[], Iterable[Finding]]] = {
    "formulas": formulas.findings,
    "processes": processes.findings,
    "memory": memory.findings,
    "reading": reading.findings,
    "mixed": mixed.findings,
    "ordinal": ordinal.findings,
    "bootstrap": bootstrap.findings,
    "trend": trend.findings,
}


def main() -> int:
    """Print two lines per finding."""
    parser = argparse.ArgumentParser(prog="python -m tests.benchmarks", description=__doc__)
    parser.add_argument("names", nargs="*", metavar="NAME", help=", ".join(MEASURED))
    names = parser.parse_args().names
    unknown = set(names).difference(MEASURED)
    if unknown:
        parser.error(f"nothing is measured under {', '.join(sorted(unknown))}")
    kept = True
    for name in names or MEASURED:
        for finding in MEASURED[name]():
            verdict = "kept" if finding.kept else "BROKEN"
            print(
                f"{finding.name}\n    {finding.measured}; {finding.bound}: {verdict}", flush=True
            )
            kept &= finding.kept
    return 0 if kept else 1


if __name__ == "__main__":
    sys.exit(main())
