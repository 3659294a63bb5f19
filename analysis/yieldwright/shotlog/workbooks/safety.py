"""What in a workbook file could act instead of being read, refused with its remedy."""

from __future__ import annotations

import re
import zipfile
from pathlib import Path

from yieldwright.errors import UnreadableLogError
from yieldwright.formatting import clip, visible
from yieldwright.shotlog.formats.encoding import read_bytes
from yieldwright.shotlog.workbooks.package import (
    SAVE_AGAIN,
    Package,
    StopWalking,
    read_small,
    walk,
)

__all__ = ["open_package"]

_MEGABYTE = 1_000_000
_LARGEST_FILE = 20 * _MEGABYTE
_LARGEST_UNPACKED = 100 * _MEGABYTE
_MOST_PARTS = 2_000
#: An honest sheet packs 5 to 30 times; deflate reaches 1,000 on mere repetition.
_STEEPEST = 300

_ZIPPED = b"PK\x03\x04"
_OLD = b"\xd0\xcf\x11\xe0"
_LOCKED = "EncryptedPackage".encode("utf-16-le")
_DIRECTORY_MARK = b"PK\x01\x02"
_TYPES = "[Content_Types].xml"
_PLAIN_NAME = re.compile(r"[^/\\:\x00-\x1f]+(?:/[^/\\:\x00-\x1f]+)*/?")
_SAVE = "save it as .xlsx or as CSV and read that"
_NO_MACROS = "save it as .xlsx, which keeps no macros, or as CSV"
_NO_LINKS = "replace the links by their values and save it again, or save the sheet as CSV"
_NO_OBJECTS = "delete what is embedded and save it again, or save the sheet as CSV"

#: What acts, by name of part, content type or kind of relationship.
_ACTING = (
    (re.compile(r"vba|macro|dialogsheet"), "holds macros", _NO_MACROS),
    (re.compile(r"externallink|ddelink"), "takes values from other files", _NO_LINKS),
    (re.compile(r"connections|querytable"), "fetches data from elsewhere", _NO_LINKS),
    (
        re.compile(r"activex|oleobject|embeddings|relationships/(?:package|control)$"),
        "holds objects of other programs",
        _NO_OBJECTS,
    ),
)
_OTHER_FILES = (
    ("word/document.xml", "a text document"),
    ("ppt/presentation.xml", "a set of slides"),
    ("index/document.iwa", "a file of another program"),
)
_BOOK_TYPE = re.compile(r"spreadsheetml\.(?:sheet|template)\.main\+xml")
_BINARY_TYPE = re.compile(r"sheet\.binary")


def open_package(path: Path) -> tuple[Package, bytes]:
    """Return the parts of a workbook, or say why it is not read.

    Parameters
    ----------
    path : Path
        The file; only ever opened for reading.

    Returns
    -------
    package : Package
    raw : bytes
        Content of the file.

    Raises
    ------
    UnreadableLogError
        If it is no workbook, is too large packed or unpacked, is encrypted, or holds macros,
        links to other files, embedded objects, another archive or XML entities.
    """
    _refuse_large(path)
    raw = read_bytes(path)
    if raw.startswith(_OLD):
        raise UnreadableLogError(f"{path.name} {_old_kind(raw)}")
    if not raw.startswith(_ZIPPED):
        raise UnreadableLogError(f"{path.name} is no workbook, whatever its name says; {_SAVE}")
    if raw.count(_DIRECTORY_MARK) > _MOST_PARTS:
        raise UnreadableLogError(f"{path.name} has over {_MOST_PARTS:,} parts; {SAVE_AGAIN}")
    package = Package(raw, path.name)
    _refuse_packing(package)
    _refuse_other_kinds(package)
    _refuse_acting(package)
    for entry in package.entries:
        _refuse_inside(package, entry.filename)
    return package, raw


def _refuse_large(path: Path) -> None:
    try:
        size = path.stat().st_size
    except (OSError, ValueError):
        return  # reading will say why
    if size > _LARGEST_FILE:
        raise UnreadableLogError(
            f"{path.name} is {size / _MEGABYTE:,.1f} MB, over the {_LARGEST_FILE // _MEGABYTE} MB "
            "read from a workbook; save the sheet as CSV, which may be of any size"
        )


def _old_kind(raw: bytes) -> str:
    if _LOCKED in raw:
        return "is protected by a password; take the password off and save it again"
    return f"is an old workbook (.xls) or another old file; {_SAVE}"


def _refuse_packing(package: Package) -> None:
    """Raise where the directory of the archive announces what no honest workbook needs."""
    for entry in package.entries:
        if problem := _packing_problem(entry):
            shown = clip(visible(entry.orig_filename), 60)
            raise UnreadableLogError(f"{package.file}: its part {shown} {problem}")
    names = {entry.filename.casefold() for entry in package.entries}
    if len(names) < len(package.entries):
        raise UnreadableLogError(f"{package.file} holds two parts of one name; {SAVE_AGAIN}")
    unpacked = sum(entry.file_size for entry in package.entries)
    if unpacked > _LARGEST_UNPACKED:
        raise UnreadableLogError(
            f"{package.file} would unpack to {unpacked / _MEGABYTE:,.0f} MB, over the "
            f"{_LARGEST_UNPACKED // _MEGABYTE} MB read from a workbook; save the sheet as CSV"
        )


def _packing_problem(entry: zipfile.ZipInfo) -> str:
    if entry.flag_bits & 0x41:
        return "is encrypted; take the password off and save it again"
    if entry.compress_type not in (zipfile.ZIP_STORED, zipfile.ZIP_DEFLATED):
        return f"is packed in a way workbooks are not; {SAVE_AGAIN}"
    steps = entry.orig_filename.split("/")
    if not _PLAIN_NAME.fullmatch(entry.orig_filename) or ".." in steps or "." in steps:
        return f"has a name that leads elsewhere; {SAVE_AGAIN}"
    if entry.file_size > _MEGABYTE and entry.file_size > _STEEPEST * entry.compress_size:
        return (
            f"unpacks to over {_STEEPEST} times its size, as no honest sheet does; delete what "
            "repeats endlessly, or save the sheet as CSV"
        )
    return ""


def _refuse_other_kinds(package: Package) -> None:
    """Raise where the archive is something else than a workbook."""
    if "mimetype" in package and package.starts_with("mimetype", b"application/vnd.oasis"):
        raise UnreadableLogError(f"{package.file} is an OpenDocument file; {_SAVE}")
    for part, kind in _OTHER_FILES:
        if part in package:
            raise UnreadableLogError(f"{package.file} is {kind}, no workbook; {_SAVE}")
    if _TYPES not in package:
        raise UnreadableLogError(
            f"{package.file} is a zipped file without a workbook in it; unzip it and read the "
            "log that it holds"
        )


def _refuse_acting(package: Package) -> None:
    """Raise where a name or a type tells of macros, links or objects."""
    types = read_small(package, _TYPES, "Default", "Override")
    kinds = [each.attributes.get("ContentType", "") for each in types]
    if any(map(_BINARY_TYPE.search, kinds)):
        raise UnreadableLogError(f"{package.file} is a binary workbook (.xlsb); {_SAVE}")
    for sign in [*(entry.filename for entry in package.entries), *kinds]:
        _refuse_sign(package, sign)
    if not any(map(_BOOK_TYPE.search, kinds)):
        raise UnreadableLogError(f"{package.file} holds no workbook; {_SAVE}")


def _refuse_sign(package: Package, sign: str) -> None:
    for pattern, what, remedy in _ACTING:
        if pattern.search(sign.casefold()):
            shown = clip(visible(sign), 80)
            raise UnreadableLogError(f"{package.file} {what} ({shown}); {remedy}")


def _refuse_inside(package: Package, part: str) -> None:
    """Raise where a part links elsewhere, declares entities or is itself an archive."""
    ending = part.rpartition(".")[2].casefold()
    if ending == "rels":
        _refuse_links(package, part)
    elif ending in ("xml", "vml"):
        walk(package, part, start=_stop)
    elif package.starts_with(part, _ZIPPED, _OLD):
        shown = clip(visible(part), 60)
        raise UnreadableLogError(f"{package.file} holds another archive ({shown}); {_NO_OBJECTS}")


def _refuse_links(package: Package, part: str) -> None:
    """Raise where a part is tied to something outside; a plain hyperlink is only text."""
    for link in read_small(package, part, "Relationship"):
        kind = link.attributes.get("Type", "")
        _refuse_sign(package, kind)
        is_outside = link.attributes.get("TargetMode", "").casefold() == "external"
        if is_outside and not kind.endswith("/hyperlink"):
            target = clip(visible(link.attributes.get("Target", "")), 60)
            raise UnreadableLogError(
                f"{package.file} is tied to something outside it ({target}); {_NO_LINKS}"
            )


def _stop(*_: object) -> None:
    raise StopWalking
