"""From the bytes of a file to physical lines of text, and what had to be assumed."""

from __future__ import annotations

import codecs
import hashlib
from dataclasses import dataclass
from pathlib import Path

from yieldwright.errors import UnreadableLogError

__all__ = ["Document", "read_bytes", "read_text"]

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
    """What is known of a file as a whole.

    Attributes
    ----------
    file : str
        Name without its folder.
    sha256 : str
        Digest of the bytes.
    encoding : str
        How the bytes were taken, in words.
    line_count : int
        Physical lines; rows of a sheet or of a table where the file has no lines.
    """

    file: str
    sha256: str
    encoding: str
    line_count: int


def read_bytes(path: Path) -> bytes:
    """Return the content of a file.

    Parameters
    ----------
    path : Path
        The file.

    Returns
    -------
    bytes

    Raises
    ------
    UnreadableLogError
        If it is missing, or may not be opened.

    Examples
    --------
    >>> from tempfile import TemporaryDirectory
    >>> with TemporaryDirectory() as folder:
    ...     path = Path(folder, "shots.csv")
    ...     _ = path.write_bytes(b"shot")
    ...     read_bytes(path)
    b'shot'
    """
    try:
        return path.read_bytes()
    except FileNotFoundError:
        raise UnreadableLogError(f"there is no {path}; check the path") from None
    except (OSError, ValueError) as problem:
        reason = getattr(problem, "strerror", None) or problem
        raise UnreadableLogError(
            f"{path} cannot be read ({reason}); check that it is a file and that you may open it"
        ) from None


def read_text(raw: bytes, file: str) -> tuple[Document, list[str]]:
    r"""Return the physical lines of a text, whichever way they end.

    Parameters
    ----------
    raw : bytes
        Content of a text file.
    file : str
        Its name.

    Returns
    -------
    document : Document
    lines : list of str
        Without their ends.

    Raises
    ------
    UnreadableLogError
        If it is empty or no text we can read.

    Examples
    --------
    >>> read_text(b"shot,dose_g\r1,18\n", "shots.csv")[1]
    ['shot,dose_g', '1,18']
    """
    encoding, text = _decoded(raw, file)
    if not text or text.isspace():
        raise UnreadableLogError(
            f"{file} is empty; its first line must name the columns, such as "
            "shot,pulled_at,dose_g,beverage_g,time_s,tds_pct"
        )
    lines = _lines(text)
    return Document(file, hashlib.sha256(raw).hexdigest(), encoding, len(lines)), lines


def _decoded(raw: bytes, file: str) -> tuple[str, str]:
    """Return how the bytes were taken, in words, and the text."""
    for start, kind in _NOT_TEXT.items():
        if raw.startswith(start):
            raise UnreadableLogError(f"{file} is {kind}, not text; {_SAVE_AS}")
    for mark, codec, words in _MARKS:
        if raw.startswith(mark):
            return words, _strictly(raw, codec, file, words)
    if unmarked := _unmarked_utf16(raw):
        return f"{_UTF16} without its mark", _strictly(raw, unmarked, file, _UTF16)
    if raw.count(0) > len(raw) // 4:
        raise UnreadableLogError(
            f"{file} is full of zero bytes and no text we can read; {_SAVE_AS}"
        )
    try:
        return "UTF-8", raw.decode("utf-8")
    except UnicodeDecodeError:
        return "Windows-1252", _strictly(raw, "cp1252", file, "UTF-8 nor Windows-1252")


def _unmarked_utf16(raw: bytes) -> str:
    """Return the codec of a UTF-16 text without its mark, empty where it is none.

    Of every two bytes of plain letters, figures and delimiters one is zero, always the same.
    """
    if b"\0" not in raw:
        return ""
    first, second = raw[0::2].count(0), raw[1::2].count(0)
    pairs = max(len(raw) // 2, 1)
    if len(raw) % 2 or max(first, second) < 0.6 * pairs or min(first, second) > 0.01 * pairs:
        return ""
    return "utf-16-le" if second > first else "utf-16-be"


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
    if "\r" in text:
        text = text.replace("\r\n", "\n").replace("\r", "\n")
    lines = text.split("\n")
    return lines[:-1] if lines[-1] == "" else lines
