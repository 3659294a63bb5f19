"""Logs as they come: unfinished, mistaken and hostile. Each is the text of a shots.csv."""

from __future__ import annotations

HEADER = (
    "shot,pulled_at,bag,roasted_on,dose_g,grinder,grind_setting,purged_g,temp_band,hold_bar,"
    "end_bar,time_s,beverage_g,tds_pct,overall,notes\n"
)


def row(number: int, **cells: str) -> str:
    """Return one plausible shot; what is told replaces what is plausible."""
    plain = {
        "shot": f"s{number}",
        "pulled_at": f"2026-03-{1 + number // 8:02d}T10:{5 * (number % 8):02d}+01:00",
        "bag": "bag-1",
        "roasted_on": "2026-02-14",
        "dose_g": f"{18 + 0.05 * (number % 3):.2f}",
        "grinder": "g1",
        "grind_setting": str(11 + number % 3),
        "purged_g": "3",
        "temp_band": ("low", "medium", "high")[number // 2 % 3],
        "hold_bar": "8.5",
        "end_bar": str(5 + 0.5 * (number * 5 % 4)),
        "time_s": str(33 + number * 7 % 9),
        "beverage_g": f"{35.5 + 0.2 * (number * 3 % 5):.1f}",
        "tds_pct": f"{9.2 + 0.1 * (number * 11 % 8):.1f}",
        "overall": str(5 + number * 3 % 4),
        "notes": "",
    }
    return ",".join((plain | cells).values()) + "\n"


def without(*names: str) -> str:
    """Return a fair log in which some columns are missing."""
    dropped = [HEADER.strip().split(",").index(name) for name in names]
    lines = [HEADER, *(row(n) for n in range(1, 17))]
    kept = [
        [cell for place, cell in enumerate(line.strip().split(",")) if place not in dropped]
        for line in lines
    ]
    return "".join(",".join(cells) + "\n" for cells in kept)


HOSTILE = (
    HEADER.replace("notes", '"notes","<script>alert(1)</script>","$^$","=1+1"')
    + "".join(
        row(n, notes=f'{note},"<img src=x onerror=alert(2)>","$\\frac{{1}}$","=cmd()"')
        for n, note in enumerate(
            (
                '"<script>alert(3)</script>"',
                '"$^$"',
                '"=1+1"',
                '"\x1b[31mred\x1b[0m \u202e reversed"',
                '"two\nlines"',
                f'"{"x" * 10_000}"',
                '"{{ 7 * 7 }} {% raw %} </style></svg>"',
            ),
            start=1,
        )
    )
    + row(9, shot='"<b>s9</b>"', bag='"../../etc/passwd"')
)

READABLE = {
    "one shot": HEADER + row(1),
    "all alike": HEADER
    + "".join(
        row(1).replace("s1,2026-03-01T10:05", f"s{n},2026-03-01T1{n % 10}:05")
        for n in range(1, 10)
    ),
    "a year mistyped": HEADER + row(1) + row(2, pulled_at="3026-03-01T10:15+01:00"),
    "no strength": without("tds_pct"),
    "no taste": without("overall"),
    "weights only": without(
        *("pulled_at", "bag", "roasted_on", "grinder", "grind_setting", "purged_g"),
        *("temp_band", "hold_bar", "end_bar", "time_s", "tds_pct", "overall", "notes"),
    ),
    "hostile": HOSTILE,
    "only failures": HEADER.replace("notes", "notes,fate")
    + "".join(row(n, notes=",choked") for n in range(1, 5)),
}
ALL_SET_ASIDE = HEADER + "".join(row(n, dose_g="180") for n in range(1, 6))
UNREADABLE = {
    "empty": "",
    "blank": "\n\n \n",
    "another delimiter": HEADER.replace(",", "|") + row(1).replace(",", "|"),
    "prose": "We pulled six shots on Sunday.\nThe second one was best.\n",
}
