"""One line of JSON to an object of single values, or the reason why it is none."""

from __future__ import annotations

import json
import re
from collections import Counter
from typing import NoReturn

from yieldwright.formatting import clip
from yieldwright.shotlog.findings import quoted
from yieldwright.shotlog.formats.texts import Figure

__all__ = ["MOST_NAMES", "UnfitLineError", "read_object", "text_of"]

#: Bytes, digits and names beyond which a line is no row of a log but an accident.
_LONGEST_LINE = 1_000_000
_LONGEST_NUMBER = 400
MOST_NAMES = 500

_EXAMPLE = 'such as {"shot": "1", "dose_g": 18.0}'
_TEXTS = frozenset({str, Figure})
_WORDS = {True: "yes", False: "no", None: ""}
_SPLIT_DECIMALS = re.compile(r"[0-9]\s*,\s*\Z")
_HALF = re.compile("[\ud800-\udfff]")


class UnfitLineError(Exception):
    """A line that cannot be a row.

    Parameters
    ----------
    problem : str
        Why not.
    suggestion : str
        What would mend it.
    """

    def __init__(self, problem: str, suggestion: str) -> None:
        super().__init__(problem)
        self.problem = problem
        self.suggestion = suggestion


def read_object(text: str) -> dict[str, str]:
    """Return the names and values of a line, every value as text.

    Parameters
    ----------
    text : str
        One physical line.

    Returns
    -------
    dict of str to str
        A number is a `Figure` of just the digits in the file; true and false are yes and
        no, null is an empty text.

    Raises
    ------
    UnfitLineError
        If the line is no object of single values.

    Examples
    --------
    >>> read_object('{"shot": "007", "dose_g": 18.10, "filtered": true, "notes": null}')
    {'shot': '007', 'dose_g': '18.10', 'filtered': 'yes', 'notes': ''}
    """
    found = _parsed(text)
    if type(found) is not dict:
        raise UnfitLineError("the line is no object of names and values", f"write one, {_EXAMPLE}")
    if not _TEXTS.issuperset(map(type, found.values())):
        found = {name: _cell(name, value) for name, value in found.items()}
    cells: dict[str, str] = found
    if len(cells) > MOST_NAMES or max(map(len, cells.values()), default=0) > _LONGEST_NUMBER:
        _refuse_excess(cells)
    if "\\u" in text:
        _refuse_half_characters(cells)
    return cells


def text_of(line: bytes) -> str:
    r"""Return a line as text.

    Parameters
    ----------
    line : bytes
        One physical line.

    Returns
    -------
    str

    Raises
    ------
    UnfitLineError
        If it is too long for a row, or not in UTF-8.

    Examples
    --------
    >>> text_of(b'{"bag": "caf\xc3\xa9"}')
    '{"bag": "café"}'
    """
    if len(line) > _LONGEST_LINE:
        raise UnfitLineError(
            f"the line is {len(line):,} bytes long, and one of {_LONGEST_LINE:,} is no row",
            "write one object a line, one for each row",
        )
    try:
        return line.decode("utf-8")
    except UnicodeDecodeError as problem:
        at = len(line[: problem.start].decode("utf-8")) + 1
        raise UnfitLineError(
            f"the line is not in UTF-8, first at character {at}", "save the file in UTF-8"
        ) from None


def _parsed(text: str) -> object:
    """Return what a line holds in JSON, numbers as their digits."""
    try:
        return _DECODER.decode(text)
    except json.JSONDecodeError as problem:
        raise _explained(text.rstrip(), problem) from None
    except RecursionError:
        raise UnfitLineError(
            "the line is nested too deeply to be read", "write one value a name"
        ) from None


def _once(pairs: list[tuple[str, object]]) -> dict[str, object]:
    """Return an object that has each name once."""
    names = dict(pairs)
    if len(names) < len(pairs):
        [(twice, _)] = Counter(name for name, _ in pairs).most_common(1)
        raise UnfitLineError(
            f"the line names {quoted(twice)} more than once", "keep the one that counts"
        )
    return names


def _no_number(word: str) -> NoReturn:
    raise UnfitLineError(f"{word} is no number in JSON", "write null where nothing was measured")


_DECODER = json.JSONDecoder(
    object_pairs_hook=_once, parse_float=Figure, parse_int=Figure, parse_constant=_no_number
)


def _cell(name: str, value: object) -> str:
    if isinstance(value, str):
        return value
    if value is None or isinstance(value, bool):
        return _WORDS[value]
    holds = "a list" if isinstance(value, list) else "an object"
    raise UnfitLineError(
        f"{quoted(name)} holds {holds}, not one value",
        "give each value a name of its own, such as tds_1_pct and tds_2_pct; tastings go to a "
        "table of their own",
    )


def _refuse_excess(cells: dict[str, str]) -> None:
    if len(cells) > MOST_NAMES:
        raise UnfitLineError(
            f"the line has {len(cells):,} names, and a row of more than {MOST_NAMES} is none",
            "write one object a line, one for each row",
        )
    for name, value in cells.items():
        if isinstance(value, Figure) and len(value) > _LONGEST_NUMBER:
            raise UnfitLineError(
                f"{quoted(name)} is a number of {len(value):,} characters",
                "write the digits that were measured",
            )


def _refuse_half_characters(cells: dict[str, str]) -> None:
    for name, value in cells.items():
        if _HALF.search(name) or _HALF.search(value):
            raise UnfitLineError(
                f"{quoted(name)} holds half a character, which no file can keep",
                r"write the character itself, or both of its \u codes",
            )


def _explained(text: str, problem: json.JSONDecodeError) -> UnfitLineError:
    """Return in our words why a line is no JSON, and what to do about it."""
    at, rest, before = problem.pos, text[problem.pos :], text[: problem.pos].rstrip()
    if text.startswith("\ufeff"):
        return UnfitLineError(
            "the line begins with a byte-order mark", "join the files without their marks"
        )
    if not text.startswith("{") and problem.msg != "Extra data":
        return UnfitLineError("the line is no JSON object", f"write one object a line, {_EXAMPLE}")
    if problem.msg == "Extra data":
        return _after_the_end(rest)
    if not rest or problem.msg.startswith("Unterminated string"):
        return UnfitLineError(
            "the line ends before its object does",
            r"complete it up to the }; a line break inside a text is written \n",
        )
    if problem.msg.startswith("Invalid control character"):
        return UnfitLineError(
            f"a text holds a raw tab or another control character at character {at + 1}",
            r"write a tab as \t and a line break as \n",
        )
    return _misspelt(at, before, rest)


def _after_the_end(rest: str) -> UnfitLineError:
    if rest.strip() == ",":
        return UnfitLineError("a comma stands after the object", "take the comma at the end away")
    if rest.startswith("{"):
        return UnfitLineError(
            "the line holds more than one object", "give each object a line of its own"
        )
    return UnfitLineError(
        f"the line goes on behind its end with {quoted(rest)}",
        "take away what stands behind the object",
    )


def _misspelt(at: int, before: str, rest: str) -> UnfitLineError:
    where = f"no JSON from character {at + 1} on, {quoted(clip(rest, 40))}"
    if rest.startswith("'"):
        return UnfitLineError(where, "put names and texts in double quotes")
    if rest.startswith("}") or re.match(r",\s*}", rest):
        return UnfitLineError(
            where, "take the comma in front of the } away, or complete the last value"
        )
    if rest[0].isdigit() and _SPLIT_DECIMALS.search(before):
        return UnfitLineError(where, "was it a decimal comma? write 18.5")
    if rest[0].isdigit() and before.endswith("0"):
        return UnfitLineError(
            where, "put a code such as 007 in double quotes, write a number without its 0"
        )
    return UnfitLineError(
        where,
        "write numbers bare, names and texts in double quotes, null where nothing was measured",
    )
