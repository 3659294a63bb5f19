"""Codes in place of names, the same for the same person as long as the key is kept.

The key stands in a file of its own in the folder of the log and in no table. Without
it nobody can find a code by trying names; with it, each export gives the same codes.
"""

from __future__ import annotations

import dataclasses
import hashlib
import os
import re
import secrets
from collections import Counter
from collections.abc import Iterable, Mapping
from pathlib import Path
from typing import TYPE_CHECKING

from yieldwright.errors import NotWritableError, UnreadableLogError

if TYPE_CHECKING:
    import pandas as pd

    from yieldwright.shotlog.log import ShotLog

__all__ = ["KEY_FILE", "anonymous", "names_in_texts", "open_key", "person_codes"]

#: Name of the file that keeps the key.
KEY_FILE = ".yieldwright-key"

_TITLE = "yieldwright key 1"
_KEY_BYTES = 32
_LONGEST_FILE = 1000
_NOBODY = "unnamed"
_PURPOSE = b"yieldwright.name"  # sixteen bytes: what the hash is for
_SIGNS = "23456789abcdefghjkmnpqrstuvwxyz"
_LENGTH = 8
_SHORTEST_NAME = 3


def open_key(folder: Path) -> bytes:
    """Return the key of a log's folder, made where there is none yet.

    Parameters
    ----------
    folder : Path
        Where the log is kept.

    Returns
    -------
    bytes

    Raises
    ------
    UnreadableLogError
        If the file of the key is damaged: it is never replaced.
    NotWritableError
        If a new key cannot be kept.

    Examples
    --------
    >>> from tempfile import TemporaryDirectory
    >>> with TemporaryDirectory() as folder:
    ...     open_key(Path(folder)) == open_key(Path(folder))
    True
    """
    path = folder / KEY_FILE
    if not os.path.lexists(path):
        _keep(path, secrets.token_bytes(_KEY_BYTES))
    return _read(path)


def person_codes(names: Iterable[str], key: bytes) -> dict[str, str]:
    """Return a code for each name.

    Parameters
    ----------
    names : iterable of str
        Names as the log writes them; two spellings are two people.
    key : bytes
        From `open_key`.

    Returns
    -------
    dict of str to str
        What stands for nobody stays as it is.

    Notes
    -----
    A code is a keyed BLAKE2 digest of the name, shortened to eight signs: among a
    hundred people two share one with a chance below one in a hundred million, and both
    then get a longer code.

    Examples
    --------
    >>> codes = person_codes(["mia", "tom", "unnamed"], b"k" * 32)
    >>> codes["mia"] == person_codes(["mia"], b"k" * 32)["mia"], codes["unnamed"]
    (True, 'unnamed')
    """
    people = [name for name in dict.fromkeys(names) if name != _NOBODY]
    digests = {name: _digest(name, key) for name in people}
    length = _LENGTH
    codes = {name: f"p-{digest[:length]}" for name, digest in digests.items()}
    while shared := [code for code, times in Counter(codes.values()).items() if times > 1]:
        length += _LENGTH
        longer = {name: f"p-{digests[name][:length]}" for name in people if codes[name] in shared}
        codes |= longer
    return codes | {_NOBODY: _NOBODY}


def anonymous(log: ShotLog, key: bytes) -> ShotLog:
    r"""Return a log with codes in place of the names of baristas and tasters.

    Parameters
    ----------
    log : ShotLog
        A log that was read.
    key : bytes
        From `open_key`.

    Returns
    -------
    ShotLog
        Without the texts of the files: rows set aside, listed lines and flags, which
        hold names as they were typed. Notes, other text and columns that were not
        recognised are kept as they are.

    Examples
    --------
    >>> from tempfile import TemporaryDirectory
    >>> from yieldwright.shotlog import read_log
    >>> with TemporaryDirectory() as folder:
    ...     path = Path(folder, "shots.csv")
    ...     _ = path.write_text("shot,barista,overall\n1,mia,6\n", encoding="utf-8")
    ...     coded = anonymous(read_log(path), b"k" * 32)
    >>> coded.shots["barista"].tolist() == coded.tastings["taster"].tolist()
    True
    >>> "mia" in coded.shots["barista"].tolist()
    False
    """
    codes = person_codes(_people(log), key)
    shots, tastings = log.shots, log.tastings
    if "barista" in shots:
        shots = shots.assign(barista=_coded(shots["barista"], codes))
    return dataclasses.replace(
        log,
        shots=shots,
        tastings=tastings.assign(taster=_coded(tastings["taster"], codes)),
        set_aside=log.set_aside.iloc[:0],
        set_aside_cells=(),
        flags=log.flags.iloc[:0],
        listed=log.listed.iloc[:0],
    )


def names_in_texts(log: ShotLog) -> dict[str, int]:
    """Return the columns of free text in which a barista or taster is named.

    Parameters
    ----------
    log : ShotLog
        A log that was read, before names were replaced.

    Returns
    -------
    dict of str to int
        Column, and how many of its cells name somebody. A name of one or two letters is
        not looked for, and a name that the log does not know cannot be found.
    """
    people = sorted(name for name in _people(log) if len(name) >= _SHORTEST_NAME)
    if not people:
        return {}
    named = re.compile(rf"(?<!\w)(?:{'|'.join(map(re.escape, people))})(?!\w)", re.IGNORECASE)
    columns = {name: log.shots[name] for name in log.shots if log.shots[name].dtype == "str"}
    columns |= {f"tastings: {name}": texts for name, texts in log.tasting_extras.items()}
    columns |= {name: log.extras[name] for name in log.extras if name != "shot"}
    columns |= {name: log.tastings[name] for name in ("blind_code", "attribute")}
    found = {
        str(name): sum(named.search(text) is not None for text in column.dropna().tolist())
        for name, column in columns.items()
        if name not in ("barista", "file")
    }
    return {name: times for name, times in found.items() if times}


def _people(log: ShotLog) -> list[str]:
    baristas = log.shots["barista"].dropna().tolist() if "barista" in log.shots else []
    named = dict.fromkeys([*baristas, *log.tastings["taster"].dropna().tolist()])
    return [name for name in named if name != _NOBODY]


def _coded(names: pd.Series[str], codes: Mapping[str, str]) -> pd.Series[str]:
    return names.map(codes, "ignore").astype("str")


def _digest(name: str, key: bytes) -> str:
    raw = name.encode("utf-8", "surrogatepass")
    number = int.from_bytes(hashlib.blake2b(raw, key=key, person=_PURPOSE).digest(), "big")
    signs = []
    while number:
        number, rest = divmod(number, len(_SIGNS))
        signs.append(_SIGNS[rest])
    return "".join(signs)


def _keep(path: Path, key: bytes) -> None:
    """Write a new key whole, for its owner only; one that came meanwhile stays."""
    beside = path.with_name(f"{KEY_FILE}-{secrets.token_hex(6)}.part")
    content = f"{_TITLE}\n{key.hex()}\n{_checksum(key)}\n".encode("ascii")
    try:
        handle = os.open(beside, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
        with os.fdopen(handle, "wb") as file:
            file.write(content)
            file.flush()
            os.fsync(file.fileno())
        _put(beside, path)
    except OSError as problem:
        raise NotWritableError(
            f"the key for codes cannot be kept as {path} ({problem.strerror or problem}); the "
            "folder of the log must be open to writing"
        ) from None
    finally:
        beside.unlink(missing_ok=True)


def _put(beside: Path, path: Path) -> None:
    """Give a finished file its name unless another has it; some disks know no links."""
    try:
        os.link(beside, path)
    except FileExistsError:
        return
    except OSError:
        if not os.path.lexists(path):
            beside.replace(path)


def _read(path: Path) -> bytes:
    try:
        raw = path.read_bytes() if path.is_file() else b""
    except OSError as problem:
        raise UnreadableLogError(
            f"the key for codes, {path}, cannot be read ({problem.strerror}); open it to reading"
        ) from None
    lines = raw[:_LONGEST_FILE].decode("ascii", "replace").split()
    key = _hex(lines[-2]) if len(lines) == 5 and lines[:3] == _TITLE.split() else b""
    if len(key) != _KEY_BYTES or lines[-1] != _checksum(key):
        raise UnreadableLogError(
            f"the key for codes, {path}, is damaged, and with another one everybody would get a "
            "new code; put it back from a copy, or move it away to begin with new codes"
        )
    return key


def _hex(text: str) -> bytes:
    try:
        return bytes.fromhex(text)
    except ValueError:
        return b""


def _checksum(key: bytes) -> str:
    return hashlib.blake2b(key, digest_size=4).hexdigest()
