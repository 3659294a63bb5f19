"""Sentences that say one thing of many rows, told once."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import NamedTuple

__all__ = ["Alike", "Said", "gather_alike", "merged", "one_by_one", "place_list"]

#: What may differ between sentences that say one thing: quoted text, and numbers of any kind.
_VARIES = re.compile(r"(“[^”]*”|(?<![\w.])[+\-−]?[0-9](?:[0-9.,:/T+-]*[0-9])?(?![\w]))")
_NUMBER = re.compile(r"[+\-−]?[0-9][0-9,]*(?:\.[0-9]+)?")
_RUNNING = re.compile(r"(.*?)(0|[1-9][0-9]*)", re.DOTALL)
_BETWEEN = re.compile(r"; (?=[^”]*(?:“|$))")
_BEYOND = re.compile(r"and [0-9]+ more")
_TEXTS_NAMED = 2
_PLACES_NAMED = 6


class Said(NamedTuple):
    """One sentence about one row.

    Attributes
    ----------
    place : str
        The shot or line.
    about : str
        What the sentence is about, such as a column; sentences on two are never merged.
    sentence : str
        What is wrong or doubtful.
    remedy : str
        What to do.
    """

    place: str
    about: str
    sentence: str
    remedy: str = ""


@dataclass(frozen=True, slots=True)
class Alike:
    """What is said of one row or of many.

    Attributes
    ----------
    about : str
        What the sentence is about.
    sentence : str
        The sentence; where figures differ, from the lowest to the highest.
    remedy : str
        What to do; where it differs, that of the example.
    places : tuple of str
        The shots or lines, in order.
    example : int
        Number of the row that stands for all, in the order they were given: the first that
        has a remedy.
    remedy_differs : bool
        Whether other rows have another remedy.
    """

    about: str
    sentence: str
    remedy: str
    places: tuple[str, ...]
    example: int
    remedy_differs: bool


def gather_alike(said: Iterable[Said], *, by_remedy: bool = True) -> list[Alike]:
    """Return sentences that say one thing as one; the most frequent first.

    Parameters
    ----------
    said : iterable of Said
        In the order of the rows.
    by_remedy : bool
        Whether they must advise one thing, too.

    Returns
    -------
    list of Alike

    Examples
    --------
    >>> said = [Said("1", "dose_g", "dose_g is 23 g"), Said("4", "dose_g", "dose_g is 25 g")]
    >>> gather_alike(said)[0].sentence
    'dose_g is 23 to 25 g'
    """
    groups: dict[tuple[str, ...], list[tuple[int, Said]]] = {}
    for at, each in enumerate(said):
        remedy = _fixed(each.remedy) if by_remedy else []
        key = (each.about, *_fixed(each.sentence), "→", *remedy)
        groups.setdefault(key, []).append((at, each))
    found = [_as_one(group) for group in groups.values()]
    return sorted(found, key=lambda alike: (-len(alike.places), alike.example))


def merged(sentences: Sequence[str]) -> str:
    """Return sentences that differ in figures and quoted texts only as one.

    Parameters
    ----------
    sentences : sequence of str
        At least one; all with the same words between figures.

    Returns
    -------
    str

    Examples
    --------
    >>> merged(["“abc” is no number", "“x” is no number", "“y” is no number"])
    '“abc”, “x” … is no number'
    """
    columns = zip(*(_VARIES.split(sentence) for sentence in sentences), strict=True)
    return "".join(_merged_part(parts) for parts in columns)


def one_by_one(said: Said) -> list[Said]:
    """Return the parts of a sentence that tells several things, each with its remedy.

    Parameters
    ----------
    said : Said
        Its parts are joined by semicolons.

    Returns
    -------
    list of Said
        Where parts and remedies are not as many, a remedy goes to the part that holds the
        figure it starts from, and is left out where there is none.

    Examples
    --------
    >>> parts = one_by_one(Said("3", "", "dose_g is 180 g; time_s is 400 s", "18.0?; 40?"))
    >>> [(part.sentence, part.remedy) for part in parts]
    [('dose_g is 180 g', '18.0?'), ('time_s is 400 s', '40?')]
    """
    sentences = _parts(said.sentence)
    remedies = _parts(said.remedy)
    if len(remedies) != len(sentences):
        remedies = [_remedy_of(sentence, remedies) for sentence in sentences]
    return [
        said._replace(sentence=sentence, remedy=remedy)
        for sentence, remedy in zip(sentences, remedies, strict=True)
    ]


def place_list(places: Sequence[str], noun: str) -> str:
    """Return places as a sentence lists them: runs as ranges, the rest as a count.

    Parameters
    ----------
    places : sequence of str
        Shots or lines.
    noun : str
        For one of them.

    Returns
    -------
    str

    Examples
    --------
    >>> place_list(["3", "4", "5", "9"], "line")
    'lines 3–5 and 9'
    """
    different = list(dict.fromkeys(places))
    if len(different) == 1:
        return f"{noun} {different[0]}"
    runs = _runs(different)
    beyond = sum(len(run) for run in runs[_PLACES_NAMED:])
    shown = [_run_name(run) for run in runs[:_PLACES_NAMED]]
    last = f"{beyond:,} more" if beyond else shown.pop()
    return f"{noun}s {', '.join(shown)} and {last}" if shown else f"{noun}s {last}"


def _fixed(sentence: str) -> list[str]:
    """Return the words of a sentence between its figures and quoted texts."""
    return _VARIES.split(sentence)[::2]


def _remedy_of(sentence: str, remedies: Iterable[str]) -> str:
    """Return the remedy that starts from a figure of a sentence; empty where none does."""
    figures = {text.strip("“”") for text in _VARIES.split(sentence)[1::2]}
    return next((each for each in remedies if each.partition(" → ")[0] in figures), "")


def _parts(sentence: str) -> list[str]:
    """Return the parts of a sentence, less the count of those that were too many to tell."""
    parts = _BETWEEN.split(sentence)
    return parts[:-1] if len(parts) > 1 and _BEYOND.fullmatch(parts[-1]) else parts


def _as_one(group: Sequence[tuple[int, Said]]) -> Alike:
    example, said = next((each for each in group if each[1].remedy), group[0])
    return Alike(
        about=said.about,
        sentence=merged([each.sentence for _, each in group]),
        remedy=said.remedy,
        places=tuple(each.place for _, each in group),
        example=example,
        remedy_differs=any(each.remedy != said.remedy for _, each in group),
    )


def _merged_part(parts: Sequence[str]) -> str:
    """Return one part of several sentences: itself, a range, or the first few."""
    different = list(dict.fromkeys(parts))
    if len(different) == 1:
        return different[0]
    if all(map(_NUMBER.fullmatch, different)):
        return f"{min(different, key=_value)} to {max(different, key=_value)}"
    more = " …" if len(different) > _TEXTS_NAMED else ""
    return f"{', '.join(different[:_TEXTS_NAMED])}{more}"


def _value(text: str) -> float:
    return float(text.replace(",", "").replace("−", "-"))


def _runs(places: Iterable[str]) -> list[list[str]]:
    """Return places in runs that count up by one; two in a row are named each."""
    runs: list[list[str]] = []
    for place in places:
        if runs and place == _next_place(runs[-1][-1]):
            runs[-1].append(place)
        else:
            runs.append([place])
    return [part for run in runs for part in ([run] if len(run) > 2 else [[each] for each in run])]


def _next_place(place: str) -> str | None:
    """Return the place that counts up by one, None where the text does not end in a number."""
    found = _RUNNING.fullmatch(place)
    return f"{found[1]}{int(found[2]) + 1}" if found else None


def _run_name(run: Sequence[str]) -> str:
    return f"{run[0]}–{run[-1]}" if len(run) > 1 else run[0]
