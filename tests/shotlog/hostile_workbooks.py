"""Workbooks that mean harm, are damaged, or are none: each must be refused with its remedy."""

from __future__ import annotations

import struct
import zipfile
from collections.abc import Callable, Mapping
from dataclasses import dataclass

from tests.shotlog.workbooks import (
    HEAD,
    SHOTS,
    packed,
    parts,
    relations_xml,
    several,
    sheet_xml,
    types_xml,
    workbook,
)


@dataclass(frozen=True)
class Refusal:
    """A file that must not be read, with parts of the reason and of the remedy."""

    name: str
    build: Callable[[], bytes]
    reason: str
    remedy: str


LAUGHS = "".join(
    f'<!ENTITY l{n} "{f"&l{n - 1};" * 10}">' if n else '<!ENTITY l0 "ha">' for n in range(10)
)
DOCTYPES = {
    "entities that multiply": (f"<!DOCTYPE x [{LAUGHS}]>", "&l9;"),
    "an entity from a file": ('<!DOCTYPE x [<!ENTITY f SYSTEM "file:///etc/passwd">]>', "&f;"),
    "an entity from the network": (
        '<!DOCTYPE x SYSTEM "http://example.org/x.dtd" [<!ENTITY % p SYSTEM "y"> %p;]>',
        "",
    ),
    "a document type without entities": ("<!DOCTYPE x>", ""),
}
XML_PARTS = (
    "[Content_Types].xml",
    "_rels/.rels",
    "xl/workbook.xml",
    "xl/styles.xml",
    "xl/sharedStrings.xml",
    "xl/worksheets/sheet1.xml",
    "docProps/core.xml",
)


def adding(name: str, data: str | bytes = b"x") -> Callable[[], bytes]:
    """Return a builder of the plain workbook with one part more."""
    return lambda: packed(parts(sheet_xml(SHOTS)) | {name: data})


def with_type(part: str, doctype: str, entity: str) -> Callable[[], bytes]:
    """Return a builder of the plain workbook with a document type in one part."""

    def build() -> bytes:
        content = parts(sheet_xml(SHOTS)) | {"docProps/core.xml": "<x></x>"}
        xml = str(content[part])
        head, _, rest = xml.partition("?>") if xml.startswith("<?xml") else ("", "", xml)
        opened, tag, inside = rest.partition(">")
        declared = f"{head}?>" if head else ""
        return packed(content | {part: f"{declared}{doctype}{opened}{tag}{entity}{inside}"})

    return build


def linked(
    kind: str, target: str = "x", where: str = "xl/theme/_rels/theme1.xml.rels"
) -> Callable[[], bytes]:
    """Return a builder of the plain workbook with a part that is tied to the outside."""
    return adding(where, relations_xml(("z", kind, target), outside=True))


def bomb() -> bytes:
    """Return a workbook whose sheet is 90 MB of nothing."""
    return adding("xl/worksheets/sheet1.xml", b" " * 90_000_000)()


def large_in_sum() -> bytes:
    """Return a workbook whose parts are plausible one by one and 120 MB together."""
    noise = b"".join(f"{n * n:09}".encode() for n in range(1_000))
    content = noise * (12_000_000 // len(noise))
    return packed(parts(sheet_xml(SHOTS)) | {f"xl/media/{n}.png": content for n in range(10)})


def lying_directory() -> bytes:
    """Return a workbook whose directory says a part of 50 MB has 100 bytes."""
    raw = bytearray(adding("xl/worksheets/sheet1.xml", b" " * 50_000_000)())
    for mark, at in ((b"PK\x01\x02", 24), (b"PK\x03\x04", 22)):
        start = raw.find(mark)
        while start >= 0:
            if struct.unpack_from("<I", raw, start + at)[0] == 50_000_000:
                struct.pack_into("<I", raw, start + at, 100)
            start = raw.find(mark, start + 4)
    return bytes(raw)


def flagged_encrypted() -> bytes:
    """Return a workbook whose parts are marked as encrypted."""
    raw = bytearray(workbook(SHOTS))
    for mark, at in ((b"PK\x01\x02", 8), (b"PK\x03\x04", 6)):
        start = raw.find(mark)
        while start >= 0:
            raw[start + at] |= 1
            start = raw.find(mark, start + 4)
    return bytes(raw)


def old_file(inside: bytes) -> Callable[[], bytes]:
    """Return a builder of a file in the old container format."""
    return lambda: b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" + b"\0" * 1000 + inside


def doubled_part() -> bytes:
    """Return a workbook with two sheets under one name, told apart by case only."""
    return adding("XL/Worksheets/Sheet1.xml", sheet_xml(SHOTS))()


def nested_deep() -> bytes:
    """Return a sheet whose elements stand inside one another ten thousand deep."""
    names = [f"n{n % 97}" for n in range(10_000)]
    opened = "".join(f"<{name}>" for name in names)
    closed = "".join(f"</{name}>" for name in reversed(names))
    return adding("xl/worksheets/sheet1.xml", f"<worksheet>{opened}{closed}</worksheet>")()


def sheet_of(rows: str) -> Callable[[], bytes]:
    """Return a builder of a workbook with these rows, as XML."""
    return adding(
        "xl/worksheets/sheet1.xml", f"<worksheet><sheetData>{rows}</sheetData></worksheet>"
    )


def zipped(content: Mapping[str, str | bytes]) -> Callable[[], bytes]:
    """Return a builder of a zipped file that is no workbook."""
    return lambda: packed(content)


def typed(kind: str) -> Callable[[], bytes]:
    """Return a builder of the plain workbook that calls itself another kind of file."""
    return adding("[Content_Types].xml", types_xml(f"application/vnd.{kind}"))


HOSTILE = (
    *(
        Refusal(
            f"{what} in {part}",
            with_type(part, *DOCTYPES[what]),
            "declares XML entities",
            "save it again",
        )
        for what in DOCTYPES
        for part in XML_PARTS
    ),
    Refusal(
        "a file of 21 MB",
        lambda: workbook(SHOTS) + b"\0" * 21_000_000,
        "21.0 MB, over the 20 MB",
        "as CSV",
    ),
    Refusal("90 MB of nothing", bomb, "over 300 times its size", "as CSV"),
    Refusal("120 MB in ten parts", large_in_sum, "would unpack to 120 MB", "as CSV"),
    Refusal("a directory that lies", lying_directory, "is damaged", "save it again"),
    Refusal(
        "three thousand parts",
        lambda: packed(parts(sheet_xml(SHOTS)) | {f"xl/media/{n}.png": b"" for n in range(3000)}),
        "over 2,000 parts",
        "save it again",
    ),
    Refusal("an encrypted part", flagged_encrypted, "is encrypted", "take the password off"),
    Refusal(
        "an unusual packing",
        lambda: packed(parts(sheet_xml(SHOTS)), zipfile.ZIP_BZIP2),
        "packed in a way",
        "save it again",
    ),
    Refusal("a part outside", adding("../../evil.xml"), "leads elsewhere", "save it again"),
    Refusal("a part at the root", adding("/etc/passwd"), "leads elsewhere", "save it again"),
    Refusal("a part on a drive", adding("C:evil.xml"), "leads elsewhere", "save it again"),
    Refusal(
        "a part with backslashes", adding("xl\\..\\evil.xml"), "leads elsewhere", "save it again"
    ),
    Refusal("two parts of one name", doubled_part, "two parts of one name", "save it again"),
    Refusal(
        "an archive inside",
        adding("xl/media/image1.png", workbook(SHOTS)),
        "another archive",
        "delete what is embedded",
    ),
    Refusal("macros", adding("xl/vbaProject.bin"), "holds macros", "save it as .xlsx"),
    Refusal("macros in capitals", adding("XL/VBAPROJECT.BIN"), "holds macros", "save it as .xlsx"),
    Refusal(
        "a workbook for macros",
        typed("ms-excel.sheet.macroEnabled.main+xml"),
        "holds macros",
        "save it as .xlsx",
    ),
    Refusal(
        "a template for macros",
        typed("ms-excel.template.macroEnabled.main+xml"),
        "holds macros",
        "save it as .xlsx",
    ),
    Refusal(
        "a sheet of macros",
        adding("xl/macrosheets/sheet1.xml", "<x/>"),
        "holds macros",
        "save it as .xlsx",
    ),
    Refusal(
        "a dialogue sheet",
        adding("xl/dialogsheets/sheet1.xml", "<x/>"),
        "holds macros",
        "save it as .xlsx",
    ),
    Refusal(
        "a link to a workbook",
        adding("xl/externalLinks/externalLink1.xml", "<x/>"),
        "from other files",
        "by their values",
    ),
    Refusal(
        "a relationship to a workbook",
        linked("externalLinkPath", "file:///c:/b.xlsx"),
        "from other files",
        "by their values",
    ),
    Refusal(
        "a relationship to a picture outside",
        linked("image", "http://example.org/x.png"),
        "tied to something outside it (http://example.org/x.png)",
        "by their values",
    ),
    Refusal(
        "a template outside",
        linked("attachedTemplate", "http://example.org/t", "xl/worksheets/_rels/sheet1.xml.rels"),
        "tied to something outside",
        "by their values",
    ),
    Refusal(
        "a connection", adding("xl/connections.xml", "<x/>"), "fetches data", "by their values"
    ),
    Refusal(
        "a query",
        adding("xl/queryTables/queryTable1.xml", "<x/>"),
        "fetches data",
        "by their values",
    ),
    Refusal(
        "an embedded file",
        adding("xl/embeddings/oleObject1.bin"),
        "objects of other programs",
        "delete what is embedded",
    ),
    Refusal(
        "a control",
        adding("xl/activeX/activeX1.xml", "<x/>"),
        "objects of other programs",
        "delete what is embedded",
    ),
    Refusal(
        "a relationship to an embedded package",
        linked("package"),
        "objects of other programs",
        "delete what is embedded",
    ),
    Refusal(
        "a row far below",
        sheet_of('<row r="1100001"><c r="A1100001"><v>1</v></c></row>'),
        "a row 1,100,001",
        "save the sheet as CSV",
    ),
    Refusal(
        "a value at the end of the sheet",
        sheet_of(
            '<row r="1"><c r="A1"><v>1</v></c></row>'
            '<row r="1048576"><c r="A1048576"><v>1</v></c></row>'
        ),
        "1,048,574 empty rows before row 1,048,576",
        "delete them",
    ),
    Refusal(
        "a value in the last column",
        sheet_of('<row r="1"><c r="XFD1"><v>1</v></c></row>'),
        "column XFD, row 1",
        "delete it",
    ),
    Refusal(
        "rows out of their order",
        sheet_of('<row r="2"/><row r="1"/>'),
        "row 1 follows row 2",
        "save it again",
    ),
    Refusal(
        "a row inside a row",
        sheet_of('<row r="1"><row r="2"/></row>'),
        "stands inside it",
        "save it again",
    ),
    Refusal(
        "a cell inside a cell",
        sheet_of('<row r="1"><c r="A1"><c r="B1"/></c></row>'),
        "inside one another",
        "save it again",
    ),
    Refusal(
        "a cell outside the rows",
        sheet_of('<c r="A1"><v>1</v></c>'),
        "outside the rows",
        "save it again",
    ),
    Refusal(
        "a cell of another row",
        sheet_of('<row r="1"><c r="A2"><v>1</v></c></row>'),
        "says it is 'A2'",
        "save it again",
    ),
    Refusal(
        "two cells of one place",
        sheet_of('<row r="1"><c r="A1"><v>1</v></c><c r="A1"><v>2</v></c></row>'),
        "two cells say they are A1",
        "save it again",
    ),
    Refusal(
        "a text that is not there",
        sheet_of('<row r="1"><c r="A1" t="s"><v>5</v></c></row>'),
        "a text that is not there",
        "save it again",
    ),
    Refusal("elements ten thousand deep", nested_deep, "inside one another", "save it again"),
    Refusal(
        "merged ranges that overlap",
        lambda: workbook([HEAD, *[["a", 1]] * 2000], merges=["A1:A2000"] * 2000),
        "ranges that overlap",
        "unmerge",
    ),
    Refusal(
        "countless merged ranges",
        lambda: workbook(SHOTS, merges=["E2:F2"] * 10_001),
        "over 10,000 merged ranges",
        "unmerge",
    ),
    Refusal(
        "one name over two filled columns",
        lambda: workbook([["shot", "tds_pct"], ["a", 9.1, 9.2]], merges=["B1:C1"]),
        "“tds_pct” is merged over B1:C1",
        "give each column its own",
    ),
    Refusal(
        "XML that breaks off",
        adding("xl/worksheets/sheet1.xml", "<worksheet><sheetData>"),
        "no proper XML",
        "save it again",
    ),
    Refusal(
        "a missing sheet",
        lambda: packed({k: v for k, v in parts(sheet_xml(SHOTS)).items() if "sheet1" not in k}),
        "lacks its part",
        "save it again",
    ),
    Refusal("no sheets", lambda: packed(parts({})), "without sheets", "save it again"),
    Refusal("half a file", lambda: workbook(SHOTS)[:900], "is damaged", "save it again"),
    Refusal(
        "an empty sheet", lambda: workbook([]), "“Sheet1” is empty", "its first row must name"
    ),
    Refusal(
        "only empty sheets",
        lambda: several({"May": [], "June": []}),
        "shows no filled sheet: it holds “May” and “June”",
        'sheet = "…"',
    ),
    Refusal(
        "several filled sheets",
        lambda: several({"May": SHOTS, "June": SHOTS}),
        "several filled sheets: it holds “May” and “June”",
        'sheet = "…"',
    ),
    Refusal(
        "only hidden sheets",
        lambda: several({"May": SHOTS}, May="hidden"),
        "hides “May”",
        'sheet = "…"',
    ),
    Refusal(
        "a text document",
        zipped({"[Content_Types].xml": "<x/>", "word/document.xml": "<x/>"}),
        "is a text document",
        "save it as .xlsx or as CSV",
    ),
    Refusal(
        "slides",
        zipped({"[Content_Types].xml": "<x/>", "ppt/presentation.xml": "<x/>"}),
        "is a set of slides",
        "save it as .xlsx or as CSV",
    ),
    Refusal(
        "an OpenDocument sheet",
        zipped({"mimetype": "application/vnd.oasis.opendocument.spreadsheet"}),
        "is an OpenDocument file",
        "save it as .xlsx or as CSV",
    ),
    Refusal("a zipped log", zipped({"shots.csv": "shot"}), "without a workbook in it", "unzip it"),
    Refusal(
        "a binary workbook",
        typed("ms-excel.sheet.binary.macroEnabled.main"),
        "is a binary workbook",
        "save it as .xlsx or as CSV",
    ),
    Refusal(
        "another kind of package",
        typed("other"),
        "holds no workbook",
        "save it as .xlsx or as CSV",
    ),
    Refusal(
        "an old workbook", old_file(b""), "is an old workbook (.xls)", "save it as .xlsx or as CSV"
    ),
    Refusal(
        "a workbook with a password",
        old_file("EncryptedPackage".encode("utf-16-le")),
        "protected by a password",
        "take the password off",
    ),
    Refusal(
        "a text",
        lambda: b"shot,dose_g\n1,18\n",
        "is no workbook, whatever its name says",
        "save it as .xlsx or as CSV",
    ),
)
