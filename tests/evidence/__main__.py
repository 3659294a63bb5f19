"""Run one simulation study and print its table: `python -m tests.evidence NAME`."""

from __future__ import annotations

import argparse
import importlib
import sys

#: Name of a study and the module whose `run(logs, seed)` prints it and returns 0 if all holds.
STUDIES = {
    "ageing": "tests.evidence.ageing",
    "alarms": "tests.evidence.alarms",
    "breaks": "tests.evidence.breaks",
    "coverage": "tests.evidence.coverage",
    "demo": "tests.evidence.demo",
    "fuzz": "tests.evidence.fuzz",
    "mistakes": "tests.evidence.mistakes",
    "models": "tests.evidence.models",
    "ordinal": "tests.evidence.ordinal",
    "paired": "tests.evidence.paired",
    "people": "tests.evidence.people",
    "predictions": "tests.evidence.predictions",
    "refusal": "tests.evidence.refusal",
    "slips": "tests.evidence.slips",
    "steadiness": "tests.evidence.steadiness",
    "taste": "tests.evidence.taste",
    "trips": "tests.evidence.trips",
    "type1": "tests.evidence.type1",
}


def main(arguments: list[str] | None = None) -> int:
    """Return 0 where every interval of the study holds what it promises."""
    parser = argparse.ArgumentParser(prog="python -m tests.evidence", description=__doc__)
    parser.add_argument("study", choices=sorted(STUDIES))
    parser.add_argument("--logs", type=int, default=2000, help="simulated logs per line")
    parser.add_argument("--n", type=int, help="damaged logs in all, for fuzz")
    parser.add_argument("--seed", type=int, default=20_240_601)
    told = parser.parse_args(arguments)
    study = importlib.import_module(STUDIES[told.study])
    if told.n is not None:
        if not hasattr(study, "run_all"):
            parser.error(f"{told.study} counts its logs per line: give --logs")
        return int(study.run_all(told.n, told.seed))
    return int(study.run(told.logs, told.seed))


if __name__ == "__main__":
    sys.exit(main())
