"""The parts of a workbook file: a zipped folder of XML, read piece by piece in memory."""

from __future__ import annotations

import io
import struct
import zipfile
import zlib
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from typing import NamedTuple
from xml.parsers import expat

from yieldwright.errors import UnreadableLogError
from yieldwright.formatting import clip, visible

__all__ = ["SAVE_AGAIN", "Element", "Package", "StopWalking", "read_small", "walk"]

SAVE_AGAIN = "open it in a spreadsheet program and save it again"

#: Parts other than sheets and their texts; honest ones stay far below.
_LARGEST_SMALL = 10_000_000
_MOST_ELEMENTS = 200_000
_DEEPEST = 64
#: Pieces large enough that a very long token is not scanned over and over.
_PIECE = 4_000_000


class Element(NamedTuple):
    """The start of one XML element.

    Attributes
    ----------
    name, parent : str
        Without the prefix of their namespace; the root has no parent.
    attributes : dict of str to str
        As written.
    """

    name: str
    parent: str
    attributes: dict[str, str]


class StopWalking(Exception):  # noqa: N818 - a signal, no error
    """Raised by a handler that has seen enough of a part."""


class Package:
    """The parts of one workbook file; nothing is ever unpacked to disk.

    Parameters
    ----------
    raw : bytes
        Content of the file.
    file : str
        Its name, for messages.

    Raises
    ------
    UnreadableLogError
        If it is no zipped file, or a damaged one.
    """

    def __init__(self, raw: bytes, file: str) -> None:
        self.file = file
        with _unpacking(file):
            self._archive = zipfile.ZipFile(io.BytesIO(raw))
        self._parts = {entry.filename.casefold(): entry for entry in self.entries}

    @property
    def entries(self) -> Sequence[zipfile.ZipInfo]:
        """What the directory lists."""
        return self._archive.infolist()

    def __contains__(self, part: str) -> bool:
        """Return whether there is a part of this name, in whatever case."""
        return part.casefold() in self._parts

    def pieces(self, part: str) -> Iterator[bytes]:
        """Yield the content of a part, never more of it than the directory announced.

        Parameters
        ----------
        part : str
            Its name.

        Yields
        ------
        bytes

        Raises
        ------
        UnreadableLogError
            If it is missing or damaged.
        """
        if part not in self:
            raise UnreadableLogError(f"{self.file} lacks its part {_named(part)}; {SAVE_AGAIN}")
        with _unpacking(self.file), self._archive.open(self._parts[part.casefold()]) as stream:
            while piece := stream.read(_PIECE):
                yield piece

    def starts_with(self, part: str, *beginnings: bytes) -> bool:
        """Return whether a part begins in one of some ways.

        Parameters
        ----------
        part : str
            Its name.
        *beginnings : bytes
            What it may begin with.

        Returns
        -------
        bool
        """
        with _unpacking(self.file), self._archive.open(self._parts[part.casefold()]) as stream:
            return stream.read(max(map(len, beginnings))).startswith(beginnings)

    def refuse_longer(self, part: str, limit: int = _LARGEST_SMALL) -> None:
        """Raise where a part is longer than such parts are.

        Parameters
        ----------
        part : str
            Its name.
        limit : int
            Bytes, unpacked.

        Raises
        ------
        UnreadableLogError
            If it is longer.
        """
        if part in self and self._parts[part.casefold()].file_size > limit:
            raise UnreadableLogError(
                f"{self.file}: its part {_named(part)} is far too large; {SAVE_AGAIN}"
            )


def walk(
    package: Package,
    part: str,
    *,
    start: Callable[[str, dict[str, str]], None],
    end: Callable[[str], None] | None = None,
    text: Callable[[str], None] | None = None,
) -> None:
    """Call handlers for the elements of an XML part, which may declare no entities.

    Parameters
    ----------
    package : Package
        The workbook.
    part : str
        Name of the part.
    start, end, text : callable
        Handlers; any may raise `StopWalking`.

    Raises
    ------
    UnreadableLogError
        If the part is no proper XML, or has a document type, which could declare entities.
    """

    def refuse_type(*_: object) -> None:
        raise UnreadableLogError(
            f"{package.file} declares XML entities in {_named(part)}, which no honest workbook "
            f"does; if you trust where it comes from, {SAVE_AGAIN}"
        )

    parser = expat.ParserCreate()
    parser.buffer_text = True
    parser.StartDoctypeDeclHandler = refuse_type
    parser.StartElementHandler = start
    parser.EndElementHandler = end
    parser.CharacterDataHandler = text
    try:
        for piece in package.pieces(part):
            parser.Parse(piece, False)
        parser.Parse(b"", True)
    except StopWalking:
        return
    except (expat.ExpatError, LookupError) as problem:
        raise UnreadableLogError(
            f"{package.file} is damaged: {_named(part)} is no proper XML ({problem}); {SAVE_AGAIN}"
        ) from None


def read_small(package: Package, part: str, *wanted: str) -> list[Element]:
    """Return the elements of some names in a part that holds no cells.

    Parameters
    ----------
    package : Package
        The workbook.
    part : str
        Name of the part.
    *wanted : str
        Names of elements, without prefix.

    Returns
    -------
    list of Element

    Raises
    ------
    UnreadableLogError
        If the part is damaged, or larger than such parts are.
    """
    package.refuse_longer(part)
    found: list[Element] = []
    stack = [""]

    def start(name: str, attributes: dict[str, str]) -> None:
        local = name.rpartition(":")[2]
        if local in wanted:
            found.append(Element(local, stack[-1], attributes))
        stack.append(local)
        if len(stack) > _DEEPEST or len(found) > _MOST_ELEMENTS:
            package.refuse_longer(part, 0)

    def end(_: str) -> None:
        stack.pop()

    walk(package, part, start=start, end=end)
    return found


def _named(part: str) -> str:
    return clip(visible(part), 60)


@contextmanager
def _unpacking(file: str) -> Iterator[None]:
    """Turn whatever a broken archive raises into a sentence."""
    try:
        yield
    except (
        zipfile.BadZipFile,
        zlib.error,
        struct.error,
        NotImplementedError,
        EOFError,
        OSError,
        RuntimeError,
        LookupError,
        OverflowError,
        ValueError,
    ) as problem:
        raise UnreadableLogError(
            f"{file} is damaged and cannot be unpacked ({clip(visible(str(problem)), 80)}); "
            f"{SAVE_AGAIN}"
        ) from None
