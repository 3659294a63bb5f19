"""JSON lines: each line is a row just as it was written, or it says why it is none."""

from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import dataclass, field
from pathlib import Path

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from yieldwright.bench import Bench
from yieldwright.errors import UnreadableLogError
from yieldwright.shotlog.formats import json_lines
from yieldwright.shotlog.formats.json_lines import read_json_lines
from yieldwright.shotlog.formats.source import Grid
from yieldwright.shotlog.formats.texts import Figure

GOOD = '{"shot": "1", "dose_g": 18.1}'
GOOD_CELLS = ["1", "18.1"]
HALF = "\ud83d"


@dataclass(frozen=True)
class Trap:
    """One small file, and what must become of each of its lines.

    Attributes
    ----------
    name : str
        What the trap is.
    content : str or bytes
        The file.
    rows : dict
        Cells by line.
    damaged : dict
        Part of the problem and part of the suggestion by line.
    listed : dict
        Kind by line.
    header : list of str
        The columns.
    remark : str
        Part of a remark.
    """

    name: str
    content: str | bytes
    rows: dict[int, list[str]] = field(default_factory=dict)
    damaged: dict[int, tuple[str, str]] = field(default_factory=dict)
    listed: dict[int, str] = field(default_factory=dict)
    header: Sequence[str] = ("shot", "dose_g")
    remark: str = ""


def cell(name: str, value: str, text: str) -> Trap:
    """Return a trap in which one value is a cell with this text."""
    return Trap(name, f'{{"shot": {value}}}', {1: [text]}, header=["shot"])


def bad(name: str, line: str | bytes, problem: str, suggestion: str) -> Trap:
    """Return a trap in which one line is set aside, and the rows around it are read."""
    raw = line if isinstance(line, bytes) else line.encode()
    return Trap(
        name,
        b"\n".join([GOOD.encode(), raw, GOOD.encode()]),
        {1: GOOD_CELLS, 3: GOOD_CELLS},
        {2: (problem, suggestion)},
    )


CELLS = (
    cell("a number keeps its last zero", "18.10", "18.10"),
    cell("a whole number gets no point", "36", "36"),
    cell("a whole number keeps its point", "36.0", "36.0"),
    cell("an exponent stays one", "1E5", "1E5"),
    cell("a number beyond all floats", "1e400", "1e400"),
    cell(
        "more digits than a float holds",
        "0.1234567890123456789012345",
        "0.1234567890123456789012345",
    ),
    cell("minus zero", "-0", "-0"),
    cell("a text of digits keeps its zeros", '"007"', "007"),
    cell("a bag called NA", '"NA"', "NA"),
    cell("a bag called null", '"null"', "null"),
    cell("true is yes", "true", "yes"),
    cell("false is no", "false", "no"),
    cell("an escape is the character", r'"caf\u00e9 \"x\" \ud83d\ude00"', 'café "x" 😀'),
    cell("an escaped slash", r'"1\/2"', "1/2"),
    cell("a line break in a text", r'"two\nlines"', "two\nlines"),
    cell("a line separator in a text", '"two\u2028lines"', "two\u2028lines"),
    cell("outer blanks of a text", '" a "', " a "),
    cell("a formula in a text", '"=1+1"', "=1+1"),
)

LINES = (
    Trap("null is an empty cell", '{"shot": "1", "dose_g": null}', {1: ["1", ""]}),
    Trap(
        "a name that a line leaves out",
        GOOD + '\n{"shot": "2"}\n',
        {1: GOOD_CELLS, 2: ["2", ""]},
        remark="names left out, the cells taken as empty: “dose_g” in 1 of 2 rows",
    ),
    Trap(
        "a name that comes late",
        '{"shot": "1"}\n{"dose_g": 18, "shot": "2"}\n',
        {1: ["1", ""], 2: ["2", "18"]},
    ),
    Trap(
        "blank lines",
        f"\n{GOOD}\n \t\n\n",
        {2: GOOD_CELLS},
        listed={1: "blank", 3: "blank", 4: "blank"},
    ),
    Trap("no line break at the end", GOOD, {1: GOOD_CELLS}),
    Trap("an empty object", GOOD + "\n{}", {1: GOOD_CELLS}, listed={2: "blank"}),
    Trap(
        "an object of nulls",
        GOOD + '\n{"shot": null, "dose_g": ""}',
        {1: GOOD_CELLS},
        listed={2: "blank"},
    ),
    Trap("a comment", f"# mine\n{GOOD}\n", {2: GOOD_CELLS}, listed={1: "comment"}),
    Trap("Windows line ends", f"{GOOD}\r\n{GOOD}\r\n", {1: GOOD_CELLS, 2: GOOD_CELLS}),
    Trap(
        "line ends of old",
        f"{GOOD}\r\r{GOOD}",
        {1: GOOD_CELLS, 3: GOOD_CELLS},
        listed={2: "blank"},
    ),
    Trap("a byte-order mark", b"\xef\xbb\xbf" + GOOD.encode(), {1: GOOD_CELLS}),
    Trap("UTF-16", f"{GOOD}\n\n".encode("utf-16"), {1: GOOD_CELLS}, listed={2: "blank"}),
    Trap("UTF-16 the other way", b"\xfe\xff" + GOOD.encode("utf-16-be"), {1: GOOD_CELLS}),
    Trap("UTF-32", GOOD.encode("utf-32"), {1: GOOD_CELLS}),
)

SET_ASIDE = (
    bad("cut short", GOOD[:-3], "ends before its object does", "complete it up to the }"),
    bad("cut short in a text", '{"shot": "1', "ends before its object does", r"written \n"),
    bad("cut short before a value", '{"shot":', "ends before its object does", "complete"),
    bad(
        "a name twice", '{"shot": "1", "shot": "2"}', "names “shot” more than once", "keep the one"
    ),
    bad(
        "a name twice in other letters", r'{"shot": 1, "\u0073hot": 1}', "“shot” more than", "keep"
    ),
    bad("a name twice with blanks", '{"shot" : 1, "shot": 2}', "“shot” more than once", "keep"),
    bad("a list in a cell", '{"tds_pct": [9.1, 9.3]}', "“tds_pct” holds a list", "tds_1_pct and"),
    bad(
        "an empty list in a cell", '{"tds_pct": []}', "“tds_pct” holds a list", "a name of its own"
    ),
    bad(
        "tastings under a shot",
        '{"tastings": {"sweet": 7}}',
        "holds an object",
        "table of their own",
    ),
    bad("not a number", '{"shot": "1", "dose_g": NaN}', "NaN is no number", "null where nothing"),
    bad("infinity", '{"dose_g": -Infinity}', "-Infinity is no number", "null where nothing"),
    bad("too deep", "[" * 100_000, "nested too deeply", "one value a name"),
    bad("too deep inside", '{"a":' * 100_000, "nested too deeply", "one value a name"),
    bad(
        "half a character",
        r'{"notes": "\ud83d"}',
        "“notes” holds half a character",
        r"both of its \u",
    ),
    bad("half a character in a name", r'{"\udc00": 1}', "half a character", "itself"),
    bad(
        "a mark between joined files",
        b"\xef\xbb\xbf" + GOOD.encode(),
        "byte-order mark",
        "join the",
    ),
    bad("Windows-1252", b'{"bag": "caf\xe9"}', "not in UTF-8, first at character 13", "in UTF-8"),
    bad(
        "a list of values", '["1", 18.1]', "no object of names and values", "write one, such as {"
    ),
    bad("a bare number", "18.1", "no object of names and values", "write one"),
    bad("a bare null", "null", "no object of names and values", "write one"),
    bad("a row of another format", "1,18.1", "goes on behind its end", "take away"),
    bad("a header of another format", "shot,dose_g", "is no JSON object", "one object a line"),
    bad("a comma behind", GOOD + ",", "a comma stands after the object", "take the comma"),
    bad("two objects", GOOD + GOOD, "more than one object", "a line of its own"),
    bad("words behind", GOOD + " // mine", "goes on behind its end with “// mine”", "take away"),
    bad("single quotes", "{'shot': '1'}", "no JSON from character 2", "in double quotes"),
    bad(
        "a comma too many", '{"shot": "1",}', "no JSON from character 1", "comma in front of the }"
    ),
    bad(
        "a decimal comma",
        '{"dose_g": 18,5}',
        "no JSON from character 15 on",
        "decimal comma? write 18.5",
    ),
    bad("a leading zero", '{"bag": 007}', "no JSON from character 10", "007 in double quotes"),
    bad(
        "a word of Python",
        '{"filtered": True}',
        "no JSON from character 14 on, “True",
        "write numbers bare",
    ),
    bad("a raw tab in a text", '{"notes": "a\tb"}', "raw tab or another control", r"a tab as \t"),
    bad("a NUL in a text", '{"notes": "a\0b"}', "control character at character 13", r"as \t"),
    bad("a hard blank around", f"\u00a0{GOOD}", "is no JSON object", "one object a line"),
    bad(
        "digits without end",
        f'{{"dose_g": {"1" * 401}}}',
        "a number of 401 characters",
        "measured",
    ),
    bad(
        "a line without end",
        f'{{"notes": "{"x" * 1_000_000}"}}',
        "1,000,013 bytes long",
        "one object",
    ),
    bad(
        "names without end",
        json.dumps({f"n{i}": 1 for i in range(501)}),
        "has 501 names",
        "one object",
    ),
)

TRAPS = (*CELLS, *LINES, *SET_ASIDE)

REFUSED = {
    "nothing": (b"", "^shots.jsonl is empty; write one object a line, such as"),
    "blanks": (b"\n \n", "is empty"),
    "a mark alone": (b"\xef\xbb\xbf", "is empty"),
    "comments alone": (b"# none\n", "is empty"),
    "objects without names": (b"{}\n{}\n", "is empty"),
    "a list on one line": (b'[{"shot": 1}, {"shot": 2}]', "one list over the whole file"),
    "a list over lines": (b'[\n{"shot": 1},\n{"shot": 2}\n]\n', r"without the \[ \] around them"),
    "an object over lines": (
        b'{\n  "shot": 1\n}\n',
        "no line that is a row by itself, first line 1",
    ),
    "another format": (b"shot,dose_g\n1,18\n", "first line 1: the line is no JSON object"),
    "UTF-16 cut short": (b"\xff\xfe{\x00\x00", "not proper UTF-16; save it in UTF-8"),
    "UTF-16 without its mark": ('{"shot": 1}'.encode("utf-16-le"), "full of zero bytes"),
}

every_trap = pytest.mark.parametrize("trap", TRAPS, ids=lambda trap: trap.name)


def read(folder: Path, content: str | bytes) -> Grid:
    path = folder / "shots.jsonl"
    path.write_bytes(content if isinstance(content, bytes) else content.encode())
    return read_json_lines(path, Bench())


def kinds(grid: Grid, *kind: str) -> dict[int, str]:
    return {record.first_line: record.kind for record in grid.records if record.kind in kind}


@every_trap
def test_rows_hold_just_what_was_written(trap: Trap, tmp_path: Path) -> None:
    grid = read(tmp_path, trap.content)
    rows = {record.first_line: record.cells for record in grid.records if record.kind == "row"}
    assert rows == trap.rows


@every_trap
def test_the_names_are_the_header(trap: Trap, tmp_path: Path) -> None:
    header = read(tmp_path, trap.content).header
    assert header is not None
    assert (header.first_line, header.line_count) == (0, 0)
    assert header.cells == list(trap.header)


@every_trap
def test_lines_are_set_aside_with_reason_and_remedy(trap: Trap, tmp_path: Path) -> None:
    damaged = [r for r in read(tmp_path, trap.content).records if r.kind == "damaged"]
    assert [record.first_line for record in damaged] == list(trap.damaged)
    for record, (problem, suggestion) in zip(damaged, trap.damaged.values(), strict=True):
        assert problem in record.problem
        assert suggestion in record.suggestion


@every_trap
def test_lines_that_hold_no_row_are_listed(trap: Trap, tmp_path: Path) -> None:
    assert kinds(read(tmp_path, trap.content), "blank", "comment") == trap.listed


@every_trap
def test_what_was_left_out_is_remarked(trap: Trap, tmp_path: Path) -> None:
    remarks = " ".join(read(tmp_path, trap.content).remarks)
    assert trap.remark in remarks


@pytest.mark.parametrize("name", REFUSED)
def test_a_file_without_a_row_is_refused_with_a_remedy(name: str, tmp_path: Path) -> None:
    content, message = REFUSED[name]
    with pytest.raises(UnreadableLogError, match=message) as refusal:
        read(tmp_path, content)
    assert "\n" not in str(refusal.value)


def test_a_missing_file_is_refused(tmp_path: Path) -> None:
    with pytest.raises(UnreadableLogError, match=r"there is no .*shots\.jsonl; check the path"):
        read_json_lines(tmp_path / "shots.jsonl", Bench())


def test_no_two_traps_share_a_name() -> None:
    names = [*(trap.name for trap in TRAPS), *REFUSED]
    assert len(names) == len(set(names)) >= 25


def test_only_numbers_of_the_file_are_figures(tmp_path: Path) -> None:
    grid = read(tmp_path, '{"a": 18.5}\n{"a": "18.5"}\n{"a": "18,5"}\n{"a": true}\n{"a": null}\n')
    is_figure = [isinstance(record.cells[0], Figure) for record in grid.records[:4]]
    assert is_figure == [True, False, False, False]


@pytest.mark.parametrize(
    ("content", "words"),
    [
        (GOOD.encode(), "JSON lines, UTF-8"),
        (b"\xef\xbb\xbf" + GOOD.encode(), "JSON lines, UTF-8 with a byte-order mark"),
        (GOOD.encode("utf-16"), "JSON lines, UTF-16"),
    ],
)
def test_the_encoding_is_told(content: bytes, words: str, tmp_path: Path) -> None:
    assert read(tmp_path, content).document.encoding == words


def test_objects_of_nulls_alone_name_columns_without_rows(tmp_path: Path) -> None:
    grid = read(tmp_path, '{"shot": null}\n{"dose_g": ""}\n')
    assert grid.header is not None
    assert grid.header.cells == ["shot", "dose_g"]
    assert [record.kind for record in grid.records] == ["blank", "blank"]


def test_columns_beyond_the_limit_set_their_line_aside(tmp_path: Path) -> None:
    lines = [json.dumps({f"n{line}_{at}": 1 for at in range(300)}) for line in range(2)]
    grid = read(tmp_path, "\n".join(lines))
    assert [record.kind for record in grid.records] == ["row", "damaged"]
    assert "adds “n1_0” to a table of 500 columns" in grid.records[1].problem


@pytest.mark.parametrize("at", [0, 1, 2])
def test_a_slip_in_a_name_sets_its_line_aside_and_makes_no_second_column(
    at: int, tmp_path: Path
) -> None:
    lines = [GOOD] * 3
    lines[at] = '{"shot": "2", "Dose g": 18}'
    grid = read(tmp_path, "\n".join(lines))
    assert grid.header is not None
    assert grid.header.cells == ["shot", "dose_g"]
    damaged = [record for record in grid.records if record.kind == "damaged"]
    assert [record.first_line for record in damaged] == [at + 1]
    assert "names “Dose g”, where others name “dose_g”" in damaged[0].problem
    assert grid.remarks == ()


def test_a_slip_without_a_value_costs_no_line(tmp_path: Path) -> None:
    grid = read(tmp_path, f'{GOOD}\n{{"shot": "2", "Dose g": null}}\n')
    assert [record.cells for record in grid.records] == [GOOD_CELLS, ["2", ""]]


@pytest.mark.parametrize("names", ["a+ a-", "dose_g DOSE"])
def test_names_that_differ_in_more_are_columns_of_their_own(names: str, tmp_path: Path) -> None:
    one, other = names.split()
    grid = read(tmp_path, f'{{"{one}": 1}}\n{{"{other}": 2}}\n')
    assert [record.cells for record in grid.records] == [["1", ""], ["", "2"]]


def test_two_spellings_on_one_line_are_two_columns(tmp_path: Path) -> None:
    grid = read(tmp_path, '{"dose_g": 1, "Dose g": 2}\n{"Dose g": 3, "dose_g": 4}\n')
    assert [record.cells for record in grid.records] == [["1", "2"], ["4", "3"]]


def test_a_line_of_many_names_cannot_blow_the_table_up(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(json_lines, "MOST_CELLS", 2_000)
    wide = json.dumps({f"n{at}": 1 for at in range(100)})
    with pytest.raises(UnreadableLogError, match=r"has 100 names .* more than 2,000 cells"):
        read(tmp_path, "\n".join([wide, *['{"n0": 1}'] * 30]))


def test_a_name_that_comes_in_a_later_block_is_empty_before(tmp_path: Path) -> None:
    lines = ['{"shot": 1}'] * 4_001 + ['{"shot": 2, "bag": "x"}']
    grid = read(tmp_path, "\n".join(lines))
    assert [record.cells for record in grid.records[-2:]] == [["1", ""], ["2", "x"]]


def assert_every_line_is_one_record(grid: Grid) -> None:
    """Check that the records are the physical lines, in order, and rows fit the header."""
    assert [record.first_line for record in grid.records] == [
        *range(1, grid.document.line_count + 1)
    ]
    assert {record.line_count for record in grid.records} == {1}
    assert grid.header is not None
    width = len(grid.header.cells)
    assert all(len(record.cells) == width for record in grid.records if record.kind == "row")


def lines_of(raw: bytes) -> int:
    """Return the number of physical lines, whichever way they end."""
    return len(raw.splitlines())


SCRAPS = st.sampled_from([GOOD.encode(), b"{}", b"[1]", b'{"a":1', b"\n", b"\r\n", b"\r", b"\xff"])
ANY_BYTES = st.one_of(
    st.binary(max_size=200),
    st.lists(st.one_of(SCRAPS, st.binary(max_size=4))).map(b"".join),
)


@given(raw=ANY_BYTES)
@example(raw=GOOD.encode() + b"\x00\n\x85\n\x1c\n\x0b\x0c")
def test_any_bytes_are_read_line_by_line_or_refused(
    raw: bytes, tmp_path_factory: pytest.TempPathFactory
) -> None:
    folder = tmp_path_factory.getbasetemp()
    try:
        grid = read(folder, raw)
    except UnreadableLogError:
        return
    assert_every_line_is_one_record(grid)
    if not raw.startswith((b"\xff\xfe", b"\xfe\xff")):
        assert grid.document.line_count == lines_of(raw)


TEXTS = st.text(st.characters(exclude_categories=["Cs"]), max_size=8)
NUMBERS = st.decimals(allow_nan=False, allow_infinity=False, places=3).map("{:f}".format)
ROWS = st.lists(st.tuples(TEXTS.filter(str.strip), TEXTS, NUMBERS), min_size=1, max_size=6)


@given(rows=ROWS, escaped=st.booleans())
def test_a_log_written_as_json_lines_is_read_cell_by_cell(
    rows: list[tuple[str, str, str]], escaped: bool, tmp_path_factory: pytest.TempPathFactory
) -> None:
    lines = [
        f'{{"shot": {json.dumps(shot, ensure_ascii=escaped)}, '
        f'"notes": {json.dumps(notes, ensure_ascii=escaped)}, "dose_g": {dose}}}'
        for shot, notes, dose in rows
    ]
    grid = read(tmp_path_factory.getbasetemp(), "\n".join(lines))
    assert [record.cells for record in grid.records] == [list(row) for row in rows]


@given(rows=ROWS, at=st.integers(0, 500), byte=st.binary(min_size=1, max_size=2))
def test_damage_to_one_line_leaves_the_others_alone(
    rows: list[tuple[str, str, str]],
    at: int,
    byte: bytes,
    tmp_path_factory: pytest.TempPathFactory,
) -> None:
    lines = [
        json.dumps({"shot": shot, "notes": notes, "dose_g": float(dose)}).encode()
        for shot, notes, dose in rows
    ]
    clean = read(tmp_path_factory.getbasetemp(), b"\n".join(lines))
    at %= len(lines[0])
    byte = byte.translate(None, b"\r\n")
    hurt = [lines[0][:at] + byte + lines[0][at + 1 :], *lines[1:]]
    try:
        grid = read(tmp_path_factory.getbasetemp(), b"\n".join(hurt))
    except UnreadableLogError:
        return
    assert grid.header is not None
    names = grid.header.cells
    told = [dict(zip(names, record.cells, strict=False)) for record in grid.records[1:]]
    kept = [
        dict(zip(["shot", "notes", "dose_g"], r.cells, strict=True)) for r in clean.records[1:]
    ]
    assert [{name: row.get(name) for name in kept[0]} for row in told] == kept
