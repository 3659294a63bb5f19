"""What may happen to a file between the bench and the reader, at random."""

from __future__ import annotations

import io
import re
import zipfile
from collections.abc import Callable, Sequence

import numpy as np

from tests.evidence.sound_logs import parquet_bytes, parquet_table

__all__ = [
    "JSON_DAMAGE",
    "PARQUET_DAMAGE",
    "TEXT_DAMAGE",
    "WORKBOOK_DAMAGE",
    "Damage",
    "sheet_of",
]

Damage = Callable[[bytes, np.random.Generator], bytes]

_PIECES = (b'"', b'""', b",", b";", b"\t", b"\n", b"\r", b"#", b"\0", b"\xff", b"9", b"-", b" ")
_ENDS = (b"\n", b"\r", b"\r\n", b"\n\r", b"\n\n", b"\x0b", b"\x0c", b"\xe2\x80\xa8", b"")
_STRAYS = (
    b"\xe9",
    b"\x81",
    b"\0",
    b"\xc2\xa0",
    b"\xe2\x80\x8b",
    b"\xef\xbb\xbf",
    b"\xf0\x9f",
    b"\xfe\xff",
)
_MARKUP = (
    *(b"<", b">", b"&", b'"', b"</c>", b"<c>", b"<v>1</v>", b"<row>", b"</row>", b"9", b"A", b" "),
    *(b"&#0;", b"&lt;", b"<!--", b"-->", b"<f>1+1</f>", b' t="s"', b' t="b"', b' r="A1"', b"\0"),
)
_SHEET = "xl/worksheets/sheet1.xml"


def _put(raw: bytes, rng: np.random.Generator, pieces: Sequence[bytes], cut: int = 8) -> bytes:
    """Return bytes with one piece put in, and a few bytes cut out behind it."""
    at = int(rng.integers(len(raw) + 1))
    return raw[:at] + pieces[rng.integers(len(pieces))] + raw[at + int(rng.integers(cut)) :]


def with_pieces(raw: bytes, rng: np.random.Generator) -> bytes:
    """Return a file with pieces cut out and others put in."""
    for _ in range(rng.integers(1, 8)):
        raw = _put(raw, rng, _PIECES)
    return raw


def with_quotes(raw: bytes, rng: np.random.Generator) -> bytes:
    """Return a file with quotes strewn over it."""
    for _ in range(rng.integers(1, 12)):
        raw = _put(raw, rng, (b'"', b'""', b'"""'), cut=1)
    return raw


def with_lines(raw: bytes, rng: np.random.Generator) -> bytes:
    """Return a file with lines lost, repeated and put elsewhere, the header mostly there."""
    header, *lines = raw.splitlines(keepends=True) or [raw]
    if not lines:
        return header
    drawn = rng.integers(len(lines), size=int(rng.integers(1, 2 * len(lines))))
    kept = [header] if rng.random() < 0.9 else []
    return b"".join([*kept, *(lines[at] for at in drawn)])


def cut_short(raw: bytes, rng: np.random.Generator) -> bytes:
    """Return the beginning of a file."""
    return raw[: int(rng.integers(len(raw)))]


def with_ends(raw: bytes, rng: np.random.Generator) -> bytes:
    """Return a file some of whose lines end in another way, or not at all."""
    lines = re.split(rb"(\r\n|\r|\n)", raw)
    for at in rng.choice(len(lines), size=int(rng.integers(1, 5))).tolist():
        if at % 2:
            lines[at] = _ENDS[rng.integers(len(_ENDS))]
    return b"".join(lines)


def with_strays(raw: bytes, rng: np.random.Generator) -> bytes:
    """Return a file with bytes of another encoding, and signs that take no room."""
    for _ in range(rng.integers(1, 4)):
        raw = _put(raw, rng, _STRAYS, cut=2)
    return raw


def with_slips(raw: bytes, rng: np.random.Generator) -> bytes:
    """Return a file with neighbouring bytes exchanged, doubled or left out."""
    for _ in range(rng.integers(1, 6)):
        at = int(rng.integers(max(len(raw) - 1, 1)))
        pair = raw[at : at + 2]
        slips = (pair[::-1], pair[:1] * 2 + pair[1:], pair[1:])
        raw = raw[:at] + slips[rng.integers(3)] + raw[at + 2 :]
    return raw


def with_delimiters(raw: bytes, rng: np.random.Generator) -> bytes:
    """Return a file with some delimiters lost, doubled or exchanged for others."""
    marks = (b",", b";", b"\t", b"|", b"", b",,", b";;")
    found = [at.start() for at in re.finditer(rb"[,;\t]", raw)]
    for at in sorted(
        rng.choice(found, size=min(len(found), int(rng.integers(1, 6)))), reverse=True
    ):
        raw = raw[:at] + marks[rng.integers(len(marks))] + raw[at + 1 :]
    return raw


def noise(raw: bytes, rng: np.random.Generator) -> bytes:
    """Return random characters below a sound header, bytes that are no text among them."""
    header = raw.split(b"\n", 1)[0]
    drawn = rng.integers(len(_PIECES), size=int(rng.integers(1, 400)))
    rest = b"".join(_PIECES[at] for at in drawn)
    return header + b"\n" + rest + (rng.bytes(4) if rng.random() < 0.2 else b"")


def _in_sheet(change: Callable[[bytes, np.random.Generator], bytes]) -> Damage:
    """Return a damage that is done to the sheet inside a workbook."""

    def damage(raw: bytes, rng: np.random.Generator) -> bytes:
        return _with_part(raw, _SHEET, change(sheet_of(raw), rng))

    return damage


def sheet_of(raw: bytes) -> bytes:
    """Return the XML of the first sheet of a workbook."""
    with zipfile.ZipFile(io.BytesIO(raw)) as archive:
        return archive.read(_SHEET)


def _with_part(raw: bytes, name: str, content: bytes) -> bytes:
    packed = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(raw)) as old, zipfile.ZipFile(packed, "w") as new:
        for entry in old.namelist():
            new.writestr(entry, content if entry == name else old.read(entry))
    return packed.getvalue()


def _with_markup(xml: bytes, rng: np.random.Generator) -> bytes:
    for _ in range(rng.integers(1, 3)):
        xml = _put(xml, rng, _MARKUP, cut=2)
    return xml


def _with_elements(xml: bytes, rng: np.random.Generator) -> bytes:
    """Return a sheet with cells or rows lost, doubled or exchanged; it stays well formed."""
    pattern = rb"<c .*?(?:/>|</c>)" if rng.random() < 0.7 else rb"<row .*?</row>"
    for _ in range(rng.integers(1, 5)):
        found = [each.span() for each in re.finditer(pattern, xml, re.DOTALL)]
        if not found:
            return xml
        start, end = found[rng.integers(len(found))]
        first, last = found[rng.integers(len(found))]
        pieces = (b"", xml[start:end] * 2, xml[first:last])
        xml = xml[:start] + pieces[rng.integers(3)] + xml[end:]
    return xml


def _with_attributes(xml: bytes, rng: np.random.Generator) -> bytes:
    """Return a sheet with types, styles and places of cells exchanged for others."""
    values = (b"s", b"n", b"b", b"e", b"d", b"str", b"inlineStr", b"x", b"0", b"-1", b"99", b"A1")
    values += (b"C3", b"B5", b"ZZZ9", b"A1048576", b"A99999999999", b"7", b"1000000", b"", b"1e5")
    for _ in range(rng.integers(1, 4)):
        found = [each.span(1) for each in re.finditer(rb'[rst]="([^"]*)"', xml)]
        start, end = found[rng.integers(len(found))]
        xml = xml[:start] + values[rng.integers(len(values))] + xml[end:]
    return xml


def _with_values(xml: bytes, rng: np.random.Generator) -> bytes:
    """Return a sheet with other contents in some cells; it stays well formed."""
    texts = (
        b"",
        b"9",
        b"-",
        b"&lt;",
        b'"',
        b"0:36",
        b"1e400",
        b"46088",
        b"&#10;",
        b"180",
        b"=1+1",
    )
    for _ in range(rng.integers(1, 8)):
        found = [each.span(1) for each in re.finditer(rb"<(?:v|t)[^>]*>([^<]*)</", xml)]
        start, end = found[rng.integers(len(found))]
        first, last = found[rng.integers(len(found))]
        pieces = (texts[rng.integers(len(texts))], xml[first:last], xml[start:end] * 2)
        xml = xml[:start] + pieces[rng.integers(3)] + xml[end:]
    return xml


def _without_rows(xml: bytes, rng: np.random.Generator) -> bytes:
    """Return a sheet with rows lost and cells emptied; all others keep their places."""
    for pattern in (rb"<row .*?</row>", rb"<c .*?(?:/>|</c>)", rb"<c .*?(?:/>|</c>)"):
        found = [each.span() for each in re.finditer(pattern, xml, re.DOTALL)]
        start, end = found[rng.integers(len(found))]
        xml = xml[:start] + xml[end:]
    return xml


def _with_other_part(raw: bytes, rng: np.random.Generator) -> bytes:
    """Return a workbook damaged anywhere but in its sheet."""
    with zipfile.ZipFile(io.BytesIO(raw)) as archive:
        names = [name for name in archive.namelist() if name != _SHEET]
        name = names[rng.integers(len(names))]
        content = archive.read(name)
    return _with_part(raw, name, _with_markup(content, rng))


def _with_cells(raw: bytes, rng: np.random.Generator) -> bytes:
    """Return a Parquet table with cells, rows or names of columns exchanged for others."""
    header, rows = parquet_table(raw)
    for _ in range(rng.integers(1, 5)):
        at, to = rng.integers(len(rows), size=2)
        column, other = rng.integers(len(header), size=2)
        way = rng.integers(4)
        if way == 0:
            rows[at][column] = rows[to][other]
        elif way == 1:
            cell = _put(rows[at][column].encode(), rng, _PIECES, cut=3)
            rows[at][column] = cell.decode("utf-8", errors="replace")
        elif way == 2:
            rows.insert(int(to), list(rows[at]))
        elif rng.random() < 0.3:
            header[column] += "x"
    return parquet_bytes(header, rows)


def with_bytes(raw: bytes, rng: np.random.Generator) -> bytes:
    """Return a file with some bytes of any value, or cut short."""
    if rng.random() < 0.2:
        return cut_short(raw, rng)
    changed = bytearray(raw)
    for at in rng.integers(len(raw), size=int(rng.integers(1, 6))):
        changed[at] = int(rng.integers(256))
    return bytes(changed)


TEXT_DAMAGE: dict[str, Damage] = {
    "pieces cut and put in": with_pieces,
    "quotes strewn": with_quotes,
    "lines shuffled": with_lines,
    "cut short": cut_short,
    "line ends changed": with_ends,
    "stray bytes": with_strays,
    "keys slipped": with_slips,
    "delimiters changed": with_delimiters,
    "random characters": noise,
}
JSON_DAMAGE: dict[str, Damage] = {
    "pieces cut and put in": with_pieces,
    "lines shuffled": with_lines,
    "line ends changed": with_ends,
    "stray bytes": with_strays,
    "keys slipped": with_slips,
}
WORKBOOK_DAMAGE: dict[str, Damage] = {
    "markup broken": _in_sheet(_with_markup),
    "cells and rows moved": _in_sheet(_with_elements),
    "attributes changed": _in_sheet(_with_attributes),
    "contents changed": _in_sheet(_with_values),
    "rows and cells lost": _in_sheet(_without_rows),
    "other parts broken": _with_other_part,
    "bytes changed": with_bytes,
}
PARQUET_DAMAGE: dict[str, Damage] = {
    "cells and rows moved": _with_cells,
    "bytes changed": with_bytes,
}
