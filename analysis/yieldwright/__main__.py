"""Let ``python -m yieldwright`` do what the console script does."""

from __future__ import annotations

import sys

from yieldwright.cli import main

if __name__ == "__main__":
    sys.exit(main())
