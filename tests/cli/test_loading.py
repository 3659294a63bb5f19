"""Libraries that stay are kept out of the collector's rounds, and only where they are ours."""

from __future__ import annotations

import gc
import subprocess
import sys

import pandas as pd

from yieldwright.cli.loading import libraries

FRESH = """
import gc
from yieldwright.cli.loading import libraries
with libraries():
    during = gc.isenabled()
    import decimal
print(during, gc.isenabled(), gc.get_freeze_count() > 0)
"""


def test_a_fresh_process_collects_again_once_its_libraries_are_kept_aside() -> None:
    done = subprocess.run(
        [sys.executable, "-c", FRESH], capture_output=True, text=True, check=True
    )
    assert done.stdout.split() == ["False", "True", "True"]


def test_a_process_with_libraries_of_its_own_is_left_alone() -> None:
    assert pd.__name__ in sys.modules
    before = gc.get_freeze_count()
    with libraries():
        assert gc.isenabled()
    assert gc.get_freeze_count() == before
