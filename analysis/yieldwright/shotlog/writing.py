"""Files are written whole or not at all, so that an interruption costs nothing."""

from __future__ import annotations

import contextlib
import hashlib
import os
import secrets
import shutil
import time
from pathlib import Path

from yieldwright.errors import NotWritableError

__all__ = ["writable_place", "write_atomically"]

#: After this time an unfinished file belongs to nobody.
_LEFT_OVER_S = 3600.0


def write_atomically(path: str | Path, content: str | bytes) -> Path:
    """Write a file whole, or leave what stood there untouched.

    The content goes to a new file in the same folder, is forced to the disk and then
    takes the place of the old one in a single step.

    Parameters
    ----------
    path : str or Path
        Where to write; the folder must exist. A link keeps pointing where it points.
    content : str or bytes
        Text is written in UTF-8 with the line ends it has; a half character, which
        damaged input can carry, is written as its escape.

    Returns
    -------
    Path
        The file written, links resolved.

    Raises
    ------
    NotWritableError
        If the place is no ordinary file, its folder is missing or closed to writing, or
        the disk refuses; the text names the path and the remedy.

    Examples
    --------
    >>> from tempfile import TemporaryDirectory
    >>> with TemporaryDirectory() as folder:
    ...     write_atomically(Path(folder, "page.html"), "<p>twelve shots</p>").read_text()
    '<p>twelve shots</p>'
    """
    target = writable_place(path)
    raw = content if isinstance(content, bytes) else content.encode("utf-8", "backslashreplace")
    _clear_left_over(target)
    beside = target.with_name(f"{_beside(target)}{secrets.token_hex(6)}.part")
    try:
        _write_through(beside, raw)
        if target.exists():
            shutil.copymode(target, beside)
        beside.replace(target)
        _settle(target.parent)
    except OSError as problem:
        raise NotWritableError(
            f"{path} cannot be written ({problem.strerror or problem}); "
            "choose a folder you may write to, and check that the disk has room"
        ) from None
    finally:
        with contextlib.suppress(OSError):
            beside.unlink(missing_ok=True)
    return target


def writable_place(path: str | Path) -> Path:
    """Return where a file may be put, links resolved, before any work is done for it.

    Parameters
    ----------
    path : str or Path
        Where a file is to be written.

    Returns
    -------
    Path

    Raises
    ------
    NotWritableError
        If the place is no ordinary file, or its folder is missing.

    Examples
    --------
    >>> from tempfile import TemporaryDirectory
    >>> with TemporaryDirectory() as folder:
    ...     writable_place(Path(folder, "page.html")).name
    'page.html'
    """
    path = Path(path)
    try:
        target = path.resolve()
        known = target.exists()
    except (OSError, RuntimeError, ValueError) as problem:
        raise NotWritableError(f"{path} is no usable path ({problem}); choose another") from None
    if target.is_dir():
        raise NotWritableError(f"{path} is a folder; name a file in it")
    if not target.parent.is_dir():
        raise NotWritableError(
            f"{path} cannot be written: there is no folder {target.parent}; "
            "make it first, or choose another"
        )
    if known and not target.is_file():
        raise NotWritableError(f"{path} is a device or a pipe; name an ordinary file")
    if known and not os.access(target, os.W_OK):
        raise NotWritableError(f"{path} is closed to writing; open it, or choose another name")
    return target


def _beside(target: Path) -> str:
    """Return how the names of unfinished files for one target begin."""
    return f".{hashlib.blake2b(os.fsencode(target.name), digest_size=4).hexdigest()}-"


def _clear_left_over(target: Path) -> None:
    """Take away unfinished files of runs that were killed, those of an hour ago and before."""
    oldest = time.time() - _LEFT_OVER_S
    with contextlib.suppress(OSError):
        for path in target.parent.glob(f"{_beside(target)}*.part"):
            if path.lstat().st_mtime < oldest:
                path.unlink()


def _settle(folder: Path) -> None:
    """Force the new name to the disk, on systems that let a folder be opened."""
    with contextlib.suppress(OSError):
        handle = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)


def _write_through(path: Path, raw: bytes) -> None:
    """Write a new file with the usual rights, and force it to the disk."""
    with path.open("xb") as file:
        file.write(raw)
        file.flush()
        os.fsync(file.fileno())
