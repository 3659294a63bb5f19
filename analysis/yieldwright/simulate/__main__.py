"""Write a demo log: ``python -m yieldwright.simulate FOLDER [--demo NAME] [--seed N]``."""

from __future__ import annotations

import argparse
import hashlib
import sys

from yieldwright.errors import YieldwrightError
from yieldwright.simulate.demo import DEMO_SEED, write_demo
from yieldwright.simulate.one_bag import ONE_BAG_SEED, write_one_bag
from yieldwright.simulate.two_halves import TWO_HALVES_SEED, write_two_halves

#: What writes each demo, and the seed of the one that is shipped.
_DEMOS = {
    "evening-class": (write_demo, DEMO_SEED),
    "one-bag": (write_one_bag, ONE_BAG_SEED),
    "two-halves": (write_two_halves, TWO_HALVES_SEED),
}


def _main() -> int:
    parser = argparse.ArgumentParser(prog="python -m yieldwright.simulate", description=__doc__)
    parser.add_argument("folder", help="where to write; files of the same names are replaced")
    parser.add_argument(
        "--demo", choices=_DEMOS, default="evening-class", help="default: %(default)s"
    )
    parser.add_argument("--seed", type=int, help="default: that of the demo")
    asked = parser.parse_args()
    write, shipped = _DEMOS[asked.demo]
    try:
        paths = write(asked.folder, shipped if asked.seed is None else asked.seed)
    except YieldwrightError as error:
        sys.stderr.write(f"{error}\n")
        return 3
    for path in paths:
        sys.stdout.write(f"{hashlib.sha256(path.read_bytes()).hexdigest()}  {path.name}\n")
    return 0


if __name__ == "__main__":
    sys.exit(_main())
