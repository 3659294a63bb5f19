"""How often is a setting that does nothing said to do something?"""

from __future__ import annotations

from tests.evidence import coverage


def run(logs: int, seed: int) -> int:
    """Print the study of false alarms and return 0 where every promise was kept."""
    return coverage.run(logs, seed, alarms=True)
