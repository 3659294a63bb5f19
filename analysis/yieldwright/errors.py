"""What can go wrong, as types: each refines the built-in kind a reader would expect."""

from __future__ import annotations

__all__ = [
    "AliasedColumnsError",
    "BenchFileError",
    "MisalignedError",
    "NotWritableError",
    "OutOfRangeError",
    "RoleError",
    "TooFewShotsError",
    "UnknownNameError",
    "UnreadableLogError",
    "YieldwrightError",
]


class YieldwrightError(Exception):
    """Anything this package refuses to do, with the remedy in its text."""


class OutOfRangeError(YieldwrightError, ValueError):
    """A value lies outside what its quantity can be."""


class MisalignedError(YieldwrightError, ValueError):
    """Columns that should describe the same shots carry different indexes."""


class UnknownNameError(YieldwrightError, KeyError):
    """A name stands in no list we keep; the text offers the nearest ones."""

    def __str__(self) -> str:
        """Return the sentence itself: KeyError would show it in quotes."""
        return str(self.args[0]) if self.args else ""


class UnreadableLogError(YieldwrightError, ValueError):
    """A log cannot be read at all, as opposed to single rows of it."""


class BenchFileError(YieldwrightError, ValueError):
    """The description of a bench is wrong; the text names the entry and the remedy."""


class AliasedColumnsError(YieldwrightError, ValueError):
    """Columns of a design that no data of this shape can tell apart.

    Attributes
    ----------
    columns : tuple of str
        The columns that stand for one another.
    """

    def __init__(self, message: str, *, columns: tuple[str, ...] = ()) -> None:
        super().__init__(message)
        self.columns = columns


class TooFewShotsError(YieldwrightError, ValueError):
    """The question needs more shots than the log holds."""


class RoleError(YieldwrightError, ValueError):
    """A column is asked to play a part it cannot play, such as an outcome as a cause."""


class NotWritableError(YieldwrightError, OSError):
    """A file cannot be written where it was asked for."""
