"""Loading libraries that stay until the program ends."""

from __future__ import annotations

import gc
import sys
from collections.abc import Iterator
from contextlib import contextmanager

__all__ = ["libraries"]


@contextmanager
def libraries() -> Iterator[None]:
    """Keep what is imported meanwhile out of the collector's rounds.

    The libraries make about a million objects that live until the program ends; each
    round of the garbage collector would visit them all, a tenth of the time of a page.
    A process that has them already is somebody else's, and is left as it is.

    Yields
    ------
    None

    Examples
    --------
    >>> with libraries():
    ...     import json
    """
    if "pandas" in sys.modules or not gc.isenabled():
        yield
        return
    gc.disable()
    try:
        yield
    finally:
        gc.freeze()
        gc.enable()
