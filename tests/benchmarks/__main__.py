"""Measure everything and print one table; the exit code tells whether each bound is kept."""

from __future__ import annotations

import sys

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


def main() -> int:
    """Print one line per finding."""
    findings = [
        *formulas.findings(),
        *processes.findings(),
        *memory.findings(),
        *reading.findings(),
        *mixed.findings(),
        *ordinal.findings(),
        *bootstrap.findings(),
        *trend.findings(),
    ]
    for finding in findings:
        verdict = "kept" if finding.kept else "BROKEN"
        print(f"{finding.name}\n    {finding.measured}; {finding.bound}: {verdict}")
    return 0 if all(finding.kept for finding in findings) else 1


if __name__ == "__main__":
    sys.exit(main())
