"""One table of a bench file: hands out checked values and gathers what is wrong with them."""

from __future__ import annotations

import difflib
import json
import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from datetime import date

from yieldwright.glossary import Span

_LONGEST_SHOWN = 40
_ANY_NUMBER = Span()


def nearest(word: str, known: Iterable[str]) -> str:
    """Return a hint that offers the known word nearest to a mistyped one."""
    near = difflib.get_close_matches(word, list(known), n=1, cutoff=0.5)
    return f"; did you mean {near[0]}?" if near else ""


def shown(value: object) -> str:
    """Return a value as the file may show it, on one line and short."""
    if isinstance(value, Mapping):
        return "a table"
    if isinstance(value, date):
        return f"a date, {value.isoformat()}"
    if not isinstance(value, str | bool | int | float | list):
        return "a time"
    try:
        text = json.dumps(value, ensure_ascii=False, default=str)
    except ValueError:  # a whole number of more digits than Python turns into text
        return "a number of very many digits"
    return text if len(text) <= _LONGEST_SHOWN else f"{text[: _LONGEST_SHOWN - 1]}…"


@dataclass
class Entries:
    """The entries of one table, read one by one; a wrong one leaves the default in place.

    Every method names an entry. Asking for it makes it known, so that `refuse_others`
    can tell a mistyped name from a known one.

    Attributes
    ----------
    table : mapping
        The table as the TOML reader gives it.
    where : str
        How a complaint says where it is, such as "[scales.dose] "; empty at the top.
    complaints : list of str
        One sentence for each wrong entry; shared by all tables of one file.
    """

    table: Mapping[str, object]
    where: str = ""
    complaints: list[str] = field(default_factory=list)
    _asked: dict[str, None] = field(default_factory=dict)

    def complain(self, sentence: str) -> None:
        """Add one sentence to the complaints, preceded by where it belongs."""
        self.complaints.append(f"{self.where}{sentence}")

    def number(self, key: str, default: float, *, span: Span = _ANY_NUMBER) -> float:
        """Return a number, or the default where the entry is absent or wrong."""
        value = self.value(key, default)
        number = _as_number(value)
        if number is None or not span.holds(number):
            wanted = "a number" if span == _ANY_NUMBER else f"a number, {span}"
            self.refuse(key, value, f"{wanted}{_number_remedy(key, value)}")
            return default
        return number

    def number_or_any(self, key: str, default: float, *, span: Span) -> float | None:
        """Return a number, None where the file says "any", or the default."""
        if self.value(key, default) == "any":
            return None
        return self.number(key, default, span=span)

    def text(self, key: str, default: str | None) -> str:
        """Return a text, stripped of outer blanks; without a default it must be there."""
        value = self.value(key, default)
        if isinstance(value, str) and (value.strip() or default is not None):
            return value.strip()
        if value is None:
            self.complain(f'{key} is missing; write {key} = "…"')
        else:
            self.refuse(key, value, f'a text in quotes, such as {key} = "…"')
        return default or ""

    def word(self, key: str, default: str, *, choices: tuple[str, ...]) -> str:
        """Return one of a few words, or the default where the entry is absent or wrong."""
        value = self.value(key, default)
        if value in choices or value == default:
            return str(value)
        hint = nearest(value, choices) if isinstance(value, str) else ""
        self.refuse(key, value, " or ".join(f'"{choice}"' for choice in choices) + hint)
        return default

    def texts(self, key: str) -> tuple[str, ...]:
        """Return a list of texts, empty where the entry is absent or wrong."""
        value = self.value(key, [])
        if isinstance(value, list) and all(isinstance(item, str) for item in value):
            return tuple(item.strip() for item in value)
        self.refuse(key, value, f'a list of texts, such as {key} = ["session", "brew"]')
        return ()

    def span(self, key: str) -> Span | None:
        """Return a range written as two numbers, None where it is absent or wrong."""
        value = self.value(key, None)
        if value is None:
            return None
        ends = [_as_number(end) for end in value] if isinstance(value, list) else []
        low, high = ends if len(ends) == 2 else (None, None)
        if low is None or high is None or low >= high:
            self.refuse(key, value, f"two numbers, the lower first, such as {key} = [5, 300]")
            return None
        return Span(low, high)

    def inner(self, key: str) -> Entries:
        """Return the table of a name, without entries where it is absent or wrong."""
        value = self.value(key, {})
        name = f"{self.where.strip('[] ')}.{key}".lstrip(".")
        if not isinstance(value, Mapping):
            self.refuse(key, value, f"a table, headed by a line [{name}]")
            value = {}
        return Entries(value, f"[{name}] ", self.complaints)

    def repeated(self, key: str) -> list[Entries]:
        """Return the tables of a name that may stand several times, in the file's order."""
        value = self.value(key, [])
        if not (isinstance(value, list) and all(isinstance(item, Mapping) for item in value)):
            self.refuse(key, value, f"tables, each headed by a line [[{key}]]")
            return []
        return [
            Entries(item, f"[[{key}]] number {number}: ", self.complaints)
            for number, item in enumerate(value, start=1)
        ]

    def others(self) -> list[str]:
        """Return the entries nobody has asked for yet."""
        return [key for key in self.table if key not in self._asked]

    def refuse_others(self) -> None:
        """Complain of each entry nobody has asked for, with the nearest known name."""
        for key in self.others():
            hint = nearest(key, self._asked) or f"; known here: {', '.join(self._asked)}"
            self.complain(f"there is no entry {shown(key)}{hint}")

    def value(self, key: str, default: object = None) -> object:
        """Return an entry as it stands, or the default where it is absent."""
        self._asked[key] = None
        return self.table.get(key, default)

    def refuse(self, key: str, value: object, wanted: str) -> None:
        """Complain of an entry, and say what is wanted in its place."""
        self.complain(f"{key} is {shown(value)}; wanted is {wanted}")


def _as_number(value: object) -> float | None:
    if isinstance(value, bool) or not isinstance(value, int | float):
        return None
    try:
        number = float(value)
    except OverflowError:
        return None
    return number if math.isfinite(number) else None


def _number_remedy(key: str, value: object) -> str:
    """Return how to write a number that was typed as text, where it is one."""
    try:
        number = float(value.replace(",", ".")) if isinstance(value, str) else math.nan
    except ValueError:
        return ""
    return f": write {key} = {number:g}, without quotes" if math.isfinite(number) else ""
