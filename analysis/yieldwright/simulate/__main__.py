"""Write the demo log: ``python -m yieldwright.simulate FOLDER [--seed N]``."""

from __future__ import annotations

import argparse
import hashlib
import sys

from yieldwright.errors import YieldwrightError
from yieldwright.simulate.demo import DEMO_SEED, write_demo


def _main() -> int:
    parser = argparse.ArgumentParser(prog="python -m yieldwright.simulate", description=__doc__)
    parser.add_argument("folder", help="where to write; files of the same names are replaced")
    parser.add_argument("--seed", type=int, default=DEMO_SEED, help="default: the shipped demo's")
    asked = parser.parse_args()
    try:
        paths = write_demo(asked.folder, asked.seed)
    except YieldwrightError as error:
        sys.stderr.write(f"{error}\n")
        return 3
    for path in paths:
        sys.stdout.write(f"{hashlib.sha256(path.read_bytes()).hexdigest()}  {path.name}\n")
    return 0


if __name__ == "__main__":
    sys.exit(_main())
