"""From the bytes of a file to physical lines of text, and what had to be assumed."""

from __future__ import annotations

import codecs
import hashlib
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from yieldwright.errors import UnreadableLogError

__all__ = ["Document", "read_document"]

_UTF8_MARK = "UTF-8 with a byte-order mark"
_UTF16 = "UTF-16"
_MARKS = (
    (codecs.BOM_UTF8, "utf-8-sig", _UTF8_MARK),
    (codecs.BOM_UTF32_LE, "utf-32", "UTF-32"),
    (codecs.BOM_UTF32_BE, "utf-32", "UTF-32"),
    (codecs.BOM_UTF16_LE, "utf-16", _UTF16),
    (codecs.BOM_UTF16_BE, "utf-16", _UTF16),
)
_NOT_TEXT = {
    b"PK\x03\x04": "a workbook or another zipped file",
    b"\xd0\xcf\x11\xe0": "an old workbook",
    b"PAR1": "a Parquet file",
    b"%PDF": "a PDF",
    b"\x1f\x8b": "a compressed file",
    b"\x89PNG": "a picture",
    b"\xff\xd8\xff": "a picture",
}
_SAVE_AS = "save it as CSV in UTF-8 and read that"


@dataclass(frozen=True, slots=True)
class Document:
    """A text file, line by line.

    Attributes
    ----------
    file : str
        Name without its folder.
    sha256 : str
        Digest of the bytes.
    encoding : str
        How the bytes were taken as text, in words.
    lines : sequence of str
        Physical lines, without their ends.
    """

    file: str
    sha256: str
    encoding: str
    lines: Sequence[str]


def read_document(path: Path) -> Document:
    r"""Return a file as physical lines, whichever way its lines end.

    Parameters
    ----------
    path : Path
        A text file.

    Returns
    -------
    Document

    Raises
    ------
    UnreadableLogError
        If the file is missing, empty or no text we can read.

    Examples
    --------
    >>> from tempfile import TemporaryDirectory
    >>> with TemporaryDirectory() as folder:
    ...     path = Path(folder, "shots.csv")
    ...     _ = path.write_bytes(b"shot,dose_g\r1,18\n")
    ...     read_document(path).lines
    ['shot,dose_g', '1,18']
    """
    raw = _bytes(path)
    encoding, text = _decoded(raw, path.name)
    if not text.strip():
        raise UnreadableLogError(
            f"{path.name} is empty; its first line must name the columns, such as "
            "shot,pulled_at,dose_g,beverage_g,time_s,tds_pct"
        )
    return Document(path.name, hashlib.sha256(raw).hexdigest(), encoding, _lines(text))


def _bytes(path: Path) -> bytes:
    try:
        return path.read_bytes()
    except FileNotFoundError:
        raise UnreadableLogError(f"there is no {path}; check the path") from None
    except OSError as problem:
        raise UnreadableLogError(
            f"{path} cannot be read ({problem.strerror}); check that it is a file and that "
            "you may open it"
        ) from None


def _decoded(raw: bytes, file: str) -> tuple[str, str]:
    """Return how the bytes were taken, in words, and the text."""
    for start, kind in _NOT_TEXT.items():
        if raw.startswith(start):
            raise UnreadableLogError(f"{file} is {kind}, not text; {_SAVE_AS}")
    for mark, codec, words in _MARKS:
        if raw.startswith(mark):
            return words, _strictly(raw, codec, file, words)
    if raw.count(0) > len(raw) // 4:
        raise UnreadableLogError(
            f"{file} is full of zero bytes: UTF-16 without its mark, or no text; {_SAVE_AS}"
        )
    try:
        return "UTF-8", raw.decode("utf-8")
    except UnicodeDecodeError:
        return "Windows-1252", _strictly(raw, "cp1252", file, "UTF-8 nor Windows-1252")


def _strictly(raw: bytes, codec: str, file: str, words: str) -> str:
    try:
        return raw.decode(codec)
    except UnicodeDecodeError as problem:
        line = raw[: problem.start].count(b"\n") + 1
        neither = "neither " if " nor " in words else "not proper "
        raise UnreadableLogError(
            f"{file} is {neither}{words}, first at line {line}; {_SAVE_AS}"
        ) from None


def _lines(text: str) -> list[str]:
    lines = text.replace("\r\n", "\n").replace("\r", "\n").split("\n")
    return lines[:-1] if lines[-1] == "" else lines
