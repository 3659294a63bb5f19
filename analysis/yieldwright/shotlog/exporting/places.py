"""Where an export may be written: never over the log, nor where it would be read as part of it."""

from __future__ import annotations

import re
from collections.abc import Iterable
from pathlib import Path

from yieldwright.errors import NotWritableError
from yieldwright.formatting import clip, listing, visible
from yieldwright.shotlog.formats.files import READABLE_ENDINGS

__all__ = [
    "EXPORT_ENDINGS",
    "is_file_name",
    "make_folder",
    "refuse_place",
    "refuse_strangers",
    "refuse_what_is_there",
]

#: Endings of the files a log can be exported to; anything without one is a folder.
EXPORT_ENDINGS = (".csv", ".tsv", ".xlsx", ".parquet")

_OF_A_LOG = re.compile(r"(?:shots|tastings)(?:[-_].*)?", re.IGNORECASE | re.DOTALL)


def is_file_name(out: str | Path) -> bool:
    """Return whether a path names a file to write; else it names a folder.

    Parameters
    ----------
    out : str or Path
        Where to write.

    Returns
    -------
    bool

    Raises
    ------
    NotWritableError
        If it has an ending that we do not write.

    Examples
    --------
    >>> is_file_name("log.csv"), is_file_name("log")
    (True, False)
    """
    ending = Path(out).suffix.lower()
    if Path(out).is_dir() or str(out).endswith(("/", "\\")) or not ending:
        return False
    if ending not in EXPORT_ENDINGS:
        endings = listing(EXPORT_ENDINGS, last="or")
        raise NotWritableError(
            f"{visible(str(out))} ends in {visible(ending)}, which is not written; end it in "
            f"{endings}, or give a folder (with a / behind it where its name has a dot)"
        )
    return True


def refuse_place(out: str | Path, sources: Iterable[Path], log_folder: Path | None) -> None:
    """Refuse to write where the log itself is kept, or where it would be read as part of it.

    Parameters
    ----------
    out : str or Path
        Where to write.
    sources : iterable of Path
        The files of the log.
    log_folder : Path or None
        Its folder, where the whole folder is the log.

    Raises
    ------
    NotWritableError
        With the remedy.

    Examples
    --------
    >>> refuse_place("copy.csv", [Path("shots.csv")], None)
    """
    place = Path(out)
    if any(_is_same(place, source) for source in sources):
        raise NotWritableError(
            f"{visible(str(out))} is a file of the log itself, which is never changed; choose "
            "another name"
        )
    if log_folder is None:
        return
    if not is_file_name(out) and _is_same(place, log_folder):
        raise NotWritableError(
            f"{visible(str(out))} is the folder of the log itself; choose another folder"
        )
    if (
        is_file_name(out)
        and _is_same(place.parent, log_folder)
        and _OF_A_LOG.fullmatch(place.stem)
    ):
        raise NotWritableError(
            f"{visible(str(out))} would be read as part of the log: put it elsewhere, or give it "
            "another name"
        )


def make_folder(folder: Path) -> None:
    """Make a folder where it is missing.

    Parameters
    ----------
    folder : Path
        With those above it.

    Raises
    ------
    NotWritableError
        If it cannot be made.

    Examples
    --------
    >>> from tempfile import TemporaryDirectory
    >>> with TemporaryDirectory() as folder:
    ...     make_folder(Path(folder, "new"))
    ...     Path(folder, "new").is_dir()
    True
    """
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except (OSError, ValueError) as problem:
        reason = getattr(problem, "strerror", None) or problem
        raise NotWritableError(
            f"the folder {folder} cannot be made ({reason}); name another"
        ) from None


def refuse_strangers(folder: Path, names: Iterable[str]) -> None:
    """Refuse a folder with other files that would be read together with ours.

    Parameters
    ----------
    folder : Path
        Where an export is to be written.
    names : iterable of str
        The files of the export.

    Raises
    ------
    NotWritableError
        With the remedy.

    Examples
    --------
    >>> refuse_strangers(Path("nowhere"), ["shots.csv"])
    """
    if not folder.is_dir():
        return
    ours = frozenset(names)
    strangers = [
        clip(visible(path.name), 60)
        for path in sorted(folder.iterdir())
        if path.name not in ours
        and path.suffix.lower() in READABLE_ENDINGS
        and _OF_A_LOG.fullmatch(path.stem)
    ]
    if strangers:
        raise NotWritableError(
            f"{visible(str(folder))} holds {listing(strangers[:3])}, which would be read together "
            "with the export; choose an empty folder"
        )


def refuse_what_is_there(paths: Iterable[Path], *, replace: bool) -> None:
    """Refuse to write over files that are there, unless that was asked for.

    Parameters
    ----------
    paths : iterable of Path
        Files to be written.
    replace : bool
        Whether they may be replaced.

    Raises
    ------
    NotWritableError
        With the remedy.

    Examples
    --------
    >>> refuse_what_is_there([Path("nowhere", "copy.csv")], replace=False)
    """
    there = [path.name for path in paths if path.exists() or path.is_symlink()]
    if there and not replace:
        verb = "is" if len(there) == 1 else "are"
        raise NotWritableError(
            f"{listing(list(map(visible, there)))} {verb} there already and nothing was written; "
            "choose another place, or say --replace"
        )


def _is_same(one: Path, other: Path) -> bool:
    try:
        return one.samefile(other)
    except (OSError, ValueError):
        return False
