"""Small logs with one trap each, and what must become of them.

Most are the mess to expect of a log kept by hand: separators, decimals, notes, units,
spreadsheets that know better.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

HEAD = "shot,dose_g,beverage_g,time_s,notes\n"


@dataclass(frozen=True)
class Trap:
    """One small log, and what must become of it.

    Attributes
    ----------
    name : str
        What the trap is.
    content : str or bytes
        The file.
    shots : str
        Accepted shots, separated by blanks.
    cells : dict
        Expected values by shot and column.
    aside : tuple
        Line, part of the reason and part of the suggestion of each row set aside.
    flags : tuple
        Shot, column and part of the reason of each flag.
    listed : dict
        Kinds of listed records and how many, the header left out.
    remark : str
        Part of a remark.
    """

    name: str
    content: str | bytes
    shots: str = ""
    cells: dict[tuple[str, str], Any] = field(default_factory=dict)
    aside: tuple[tuple[int, str, str], ...] = ()
    flags: tuple[tuple[str, str, str], ...] = ()
    listed: dict[str, int] = field(default_factory=dict)
    remark: str = ""


def one(column: str, text: str) -> str:
    """Return a log of one shot with one more column."""
    return f"shot;{column}\n1;{text}\n"


def number(column: str, text: str, value: float, *flags: str) -> Trap:
    """Return a trap in which one cell is a number after all."""
    return Trap(
        f"{column} {text}",
        one(column, text),
        "1",
        {("1", column): value},
        flags=tuple(("1", column, part) for part in flags),
    )


def refused(column: str, text: str, reason: str, suggestion: str) -> Trap:
    """Return a trap in which one cell spoils its row."""
    return Trap(f"{column} {text}", one(column, text), aside=((2, reason, suggestion),))


DELIMITERS = (
    Trap(
        "semicolons with decimal commas",
        "shot;dose_g;tds_pct\na;18,2;9,4\n",
        "a",
        {("a", "dose_g"): 18.2, ("a", "tds_pct"): 9.4},
        remark="separated by semicolons, decimals after a comma",
    ),
    Trap(
        "tabs",
        "shot\tdose_g\na\t18.2\n",
        "a",
        {("a", "dose_g"): 18.2},
        remark="separated by tabs, decimals after a point",
    ),
    Trap(
        "decimal commas in quotes between commas",
        'shot,dose_g\na,"18,2"\n',
        "a",
        {("a", "dose_g"): 18.2},
        remark="separated by commas, decimals after a comma",
    ),
    Trap(
        "one number with the other decimal mark",
        "shot;dose_g\na;18.1\nb;18.2\nc;18,3\n",
        "a b",
        aside=((4, "decimal comma in a file written with a point", "18,3 → 18.3?"),),
        remark="1 number with the other mark",
    ),
    Trap(
        "thousands",
        "shot;beverage_g\na;36.1\nb;1,036.2\n",
        "a",
        aside=((3, "beverage_g is 1036 g, outside", ""),),
    ),
    Trap(
        "unquoted comma in a note",
        HEAD + "a,18,36,30,sweet, long\nb,18,36.5,31,thin\n",
        "b",
        aside=((2, "6 cells where the header has 5", "in double quotes"),),
    ),
    Trap(
        "unquoted decimal comma",
        HEAD + "a,18,5,36,30,sweet\nb,18,36,30,thin\n",
        "b",
        aside=((2, "6 cells where the header has 5", "decimal comma"),),
    ),
    Trap(
        "short row",
        HEAD + "a,18,36\nb,18,36,30,\n",
        "b",
        aside=((2, "3 cells where the header has 5", "add 2 commas"),),
    ),
    Trap(
        "trailing comma",
        HEAD + "a,18,36,30,sweet,\nb,18,36,30,thin\n",
        "b",
        aside=((2, "6 cells where the header has 5", "remove the comma at the end"),),
    ),
)

LINES = (
    Trap("blank lines", HEAD + "\n  \na,18,36,30,\n,,,,\n\n", "a", listed={"blank": 4}),
    Trap("comments", "# mine\n" + HEAD + "# note\na,18,36,30,\n", "a", listed={"comment": 2}),
    Trap(
        "a shot that looks like a comment",
        HEAD + "#1,18,36,30,\n2,18,36,30,\n",
        "2",
        listed={"comment": 1},
        remark="1 comment line with as many cells as a row",
    ),
    Trap(
        "comment with a lone quote",
        HEAD + '# say "when\na,18,36,30,\n',
        "a",
        listed={"comment": 1},
    ),
    Trap(
        "title rows", "My log,,,,\nspring,,,,\n" + HEAD + "a,18,36,30,\n", "a", listed={"title": 2}
    ),
    Trap(
        "repeated header",
        HEAD + "a,18,36,30,\n" + HEAD + "b,18,37,30,\n",
        "a b",
        listed={"repeated header": 1},
    ),
    Trap("row of units", HEAD + ",g,g,s,\na,18,36,30,\n", "a", listed={"units": 1}),
    Trap(
        "row of units in brackets",
        HEAD + ",[g],(g),s,text\na,18,36,30,\n",
        "a",
        listed={"units": 1},
    ),
    Trap(
        "note over three lines",
        HEAD + 'a,18,36,30,"one\ntwo\n\nfour"\nb,18,37,30,x\n',
        "a b",
        {("a", "notes"): "one\ntwo\n\nfour", ("a", "line_count"): 4, ("b", "line"): 6},
    ),
    Trap(
        "note with doubled quotes",
        HEAD + 'a,18,36,30,"she said ""sweet, long"""\n',
        "a",
        {("a", "notes"): 'she said "sweet, long"'},
    ),
    Trap(
        "quote behind a blank",
        HEAD + 'a,18,36,30, "sweet, long"\n',
        "a",
        {("a", "notes"): "sweet, long"},
    ),
    Trap("inch mark", HEAD + 'a,18,36,30,4" tray\n', "a", {("a", "notes"): '4" tray'}),
    Trap(
        "lone quote at the end",
        HEAD + 'a,18,36,30,"sweet\nb,18,37,30,thin\nc,18,38,30,thin\n',
        "b c",
        aside=((2, "not properly closed", "close the quote"),),
    ),
    Trap(
        "two lone quotes in one column",
        HEAD + 'a,18,36,30,"sweet\nb,18,37,30,thin\nc,18,38,30,dull"\nd,18,39,30,\n',
        "d",
        aside=((2, "look like rows of their own", "close the quote on line 2"),),
    ),
    Trap(
        "note over two lines in a short row",
        HEAD + 'a,18,"sweet\nand long"\nb,18,37,30,\n',
        "b",
        aside=((2, "3 cells where the header has 5", ""),),
    ),
)

ENCODINGS = (
    Trap(
        "byte-order mark",
        b"\xef\xbb\xbf" + HEAD.encode() + b"a,18,36,30,\n",
        "a",
        remark="UTF-8 with a byte-order mark",
    ),
    Trap(
        "UTF-16",
        (HEAD + "a,18,36,30,süß\n").encode("utf-16"),
        "a",
        {("a", "notes"): "süß"},
        remark="UTF-16",
    ),
    Trap(
        "Windows-1252",
        (HEAD + "a,18,36,30,süß\n").encode("cp1252"),
        "a",
        {("a", "notes"): "süß"},
        remark="Windows-1252",
    ),
    Trap(
        "carriage returns alone",
        (HEAD + "a,18,36,30,x\n").replace("\n", "\r"),
        "a",
        {("a", "dose_g"): 18},
    ),
    Trap(
        "carriage returns and line feeds",
        (HEAD + 'a,18,36,30,"x\ny"\n').replace("\n", "\r\n"),
        "a",
        {("a", "notes"): "x\ny"},
    ),
    Trap("NUL in a note", HEAD + "a,18,36,30,x\0y\n", "a", {("a", "notes"): "x\0y"}),
    Trap(
        "no-break spaces",
        HEAD + "a,\u00a018\u202f,36\u00a0g,30,\n",
        "a",
        {("a", "dose_g"): 18, ("a", "beverage_g"): 36},
    ),
    Trap(
        "a line separator inside a note",
        HEAD + "a,18,36,30,x\u2028y\x0bz\n",
        "a",
        {("a", "notes"): "x\u2028y\x0bz"},
    ),
)

TEXTS = (
    Trap(
        "text stays text",
        "shot,bag\n007,NA\n1E5,None\nnan,007\n3,1E5\nNULL,-\n",
        "007 1E5 nan 3 NULL",
        {
            ("007", "bag"): "NA",
            ("1E5", "bag"): "None",
            ("nan", "bag"): "007",
            ("3", "bag"): "1E5",
            ("NULL", "bag"): "-",
        },
    ),
    Trap("blank text is missing", "shot,bag\n1,  \n", "1", {("1", "bag"): None}),
)

NUMBERS = (
    number("time_s", "0:36", 36.0),
    number("time_s", "1:02", 62.0, "62 s, outside the usual 15–60 s"),
    number("time_s", "0:36.5", 36.5),
    refused("time_s", "0:36:00", "may be hours or minutes", "0:36:00 → 36?"),
    refused("time_s", "0:75", "is no number", ""),
    number("time_s", "36 s", 36.0),
    number("time_s", "0.5 min", 30.0),
    number("grind_setting", "\u22123.5", -3.5),
    number("grind_setting", "+3.5", 3.5),
    number("dose_g", "~18", 18.0, "approximate"),
    number("dose_g", "ca. 18 g", 18.0, "approximate"),
    number("dose_g", "18±0.1", 18.0, "half-width 0.1"),
    number("dose_g", "18 +/- 0.1 g", 18.0, "half-width 0.1 g"),
    number("temp_c", "90-92", 91.0, "taken as 91, half-width 1"),
    number("temp_c", "90–92 °C", 91.0, "half-width 1 °C"),
    number("temp_c", "194 °F", 90.0),
    number("temp_c", "93 C", 93.0),
    number("temp_c", "365.15 K", 92.0),
    number("dose_g", "0.018 kg", 18.0),
    number("tds_pct", "10%", 10.0),
    number("tds_pct", "9.4 % w/w", 9.4),
    number("tds_pct", "11.76 °Bx", 9.996),
    refused("tds_pct", "0.094", "outside 0.5–25 % by mass", "0.094 → 9.4?"),
    refused("beverage_g", "36 mL", "is a volume", "weigh it"),
    refused("dose_g", "180", "dose_g is 180 g, outside 5–30 g", "180 → 18.0?"),
    refused("dose_g", "1.8", "outside 5–30 g", "1.8 → 18.0?"),
    refused("dose_g", "-18", "outside 5–30 g", ""),
    refused("dose_g", "18 clicks", "has a unit we do not convert", "18?"),
    refused("dose_g", "eighteen", "“eighteen” is no number", "write one number"),
    refused("dose_g", "18.2.1", "is no number", ""),
    refused("dose_g", "1 8", "is no number", ""),
    number("dose_g", "١٨", 18.0),
    number("dose_g", "１８．５", 18.5),
    refused("dose_g", "1_8", "is no number", ""),
    refused("dose_g", "0x12", "is no number", ""),
    refused(
        "grind_setting", "18-May", "is no number", "made a date by a spreadsheet? 18-May → 18.5?"
    ),
    refused("grind_setting", "2026-05-18", "is no number", "2026-05-18 → 18.5?"),
    refused("position", "2.5", "is no whole number", "2?"),
    number("dose_g", "n/a", float("nan"), "taken as missing"),
    number("dose_g", "-", float("nan"), "taken as missing"),
    number("dose_g", "inf", float("nan"), "taken as missing"),
    number("dose_g", "-inf", float("nan"), "taken as missing"),
    number("dose_g", "NaN", float("nan"), "taken as missing"),
    number("dose_g", "1e400", float("nan"), "taken as missing"),
    number("dose_g", "9" * 400, float("nan"), "taken as missing"),
    number("dose_g", "1.8e1", 18.0),
    Trap(
        "an empty number",
        "shot,dose_g\n1,\n2,18\n",
        "1 2",
        {("1", "dose_g"): None},
        remark="Empty cells in 2 rows: dose_g 1.",
    ),
)

RATIOS = (
    number("brew_ratio", "1:2", 2.0),
    number("brew_ratio", "1/2", 2.0),
    number("brew_ratio", "1 : 2.5", 2.5),
    number("brew_ratio", "2.0x", 2.0),
    number("brew_ratio", "x2", 2.0),
    number("brew_ratio", "2.0", 2.0),
    refused("brew_ratio", "01:02", "time of day", "01:02 → 1:2?"),
    refused("brew_ratio", "01:02:00", "time of day", "01:02:00 → 1:2?"),
    refused("brew_ratio", "2:1", "is no number", "2:1 → 1:2?"),
)

WORDS = (
    Trap(
        "flags",
        "shot,filtered\n1,Yes\n2,no\n3,TRUE\n4,0\n5,\n",
        "1 2 3 4 5",
        {
            ("1", "filtered"): True,
            ("2", "filtered"): False,
            ("3", "filtered"): True,
            ("4", "filtered"): False,
            ("5", "filtered"): None,
        },
    ),
    refused("filtered", "maybe", "neither yes nor no", "write yes or no"),
    Trap(
        "choices",
        "shot,stage,time_from\n1,Warm-up,first drip\n2,warm up,LEVER\n",
        "1 2",
        {("1", "stage"): "warm_up", ("1", "time_from"): "first_drip", ("2", "time_from"): "lever"},
    ),
    refused("fate", "chocked", "is none of pulled, choked", "choked?"),
    refused("roast_level", "bright", "is none of dark, medium or light", ""),
)

DATES = (
    Trap(
        "a day over 12 proves the order",
        "shot,roasted_on\n1,03/04/2026\n2,13/04/2026\n",
        "1 2",
        {("1", "roasted_on"): "2026-04-03", ("2", "roasted_on"): "2026-04-13"},
    ),
    Trap(
        "a month that comes first",
        "shot,roasted_on\n1,03/04/2026\n2,04/13/2026\n",
        "1 2",
        {("1", "roasted_on"): "2026-03-04", ("2", "roasted_on"): "2026-04-13"},
    ),
    Trap(
        "nothing proves the order",
        "shot,roasted_on\n1,03/04/2026\n2,05/05/2026\n",
        "2",
        aside=((2, "may be 2026-04-03 or 2026-03-04", "write 2026-04-03 or 2026-03-04"),),
    ),
    Trap(
        "both orders are proven",
        "shot,roasted_on\n1,13/04/2026\n2,04/13/2026\n3,03/04/2026\n",
        "1 2",
        aside=((4, "may be 2026-04-03 or 2026-03-04", ""),),
    ),
    Trap(
        "year first with slashes",
        "shot,roasted_on\n1,2026/04/03\n",
        "1",
        {("1", "roasted_on"): "2026-04-03"},
    ),
    refused("roasted_on", "03/04/26", "its year has two digits", "write 2026-04-03, 2026-03-04"),
    refused("roasted_on", "2026-02-30", "a day no calendar has", ""),
    refused("roasted_on", "46103", "is no date we read", "46103 → 2026-03-22?"),
    refused("pulled_at", "1998-03-07T10:00", "before 2000", ""),
    refused("pulled_at", "2026-03-07T25:00", "no time of day", "2026-03-07T10:25"),
    Trap(
        "a moment with its offset",
        "shot,pulled_at\n1,2026-03-07T00:25+01:00\n",
        "1",
        {
            ("1", "pulled_at"): "2026-03-06T23:25Z",
            ("1", "pulled_on"): "2026-03-07",
            ("1", "session"): "2026-03-07",
        },
    ),
    Trap(
        "a moment without its time",
        "shot,pulled_at\n1,2026-03-07\n",
        "1",
        {("1", "pulled_at"): None, ("1", "pulled_on"): "2026-03-07"},
    ),
)

HEADERS = (
    Trap(
        "case and blanks",
        "SHOT, Dose g ,TDS (%)\n1,18,9.4\n",
        "1",
        {("1", "dose_g"): 18, ("1", "tds_pct"): 9.4},
    ),
    Trap(
        "labels with their unit", "Shot,Beverage mass [g]\n1,36\n", "1", {("1", "beverage_g"): 36}
    ),
    Trap("unknown column", "shot,doseg\n1,18\n", "1", remark="“doseg” may be dose_g"),
    Trap("a header without a name", "shot,dose_g,\n1,18,x\n", "1", {("1", "dose_g"): 18}),
)

DUPLICATES = (
    Trap(
        "an exact copy",
        HEAD + "a,18,36,30,x\nb,18,37,30,\na,18,36,30,x\n",
        "a b",
        aside=((4, "an exact copy of the row at line 2", "delete one"),),
    ),
    Trap(
        "an id used twice",
        HEAD + "a,18,36,30,x\na,18,37,30,\n",
        "a",
        aside=((3, "shot “a” is already the row at line 2", "an id of its own"),),
    ),
    Trap(
        "an id used again after its row was set aside",
        HEAD + "a,180,36,30,x\na,18.0,36,30,x\n",
        "a",
        aside=((2, "dose_g is 180 g", "18.0?"),),
    ),
    Trap(
        "two within a minute",
        "shot,pulled_at,dose_g,beverage_g\na,2026-03-07T10:00,18,36\nb,2026-03-07T10:01,18,36\n",
        "a b",
        flags=(("b", "pulled_at", "within a minute of shot “a”"),),
    ),
    Trap(
        "equal rows that nothing tells apart",
        "dose_g,beverage_g\n18,36\n18,36\n",
        "1 2",
        flags=(("2", "shot", "an exact copy of the row at line 2: one shot twice?"),),
    ),
    Trap(
        "a row that does not name its shot",
        HEAD + ",18,36,30,x\n",
        aside=((2, "does not name its shot", ""),),
    ),
)

TRAPS = (
    *DELIMITERS,
    *LINES,
    *ENCODINGS,
    *TEXTS,
    *NUMBERS,
    *RATIOS,
    *WORDS,
    *DATES,
    *HEADERS,
    *DUPLICATES,
)
