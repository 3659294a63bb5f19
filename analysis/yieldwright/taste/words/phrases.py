"""What one step of each setting and each adjuster is called, and what its levels are."""

from __future__ import annotations

from typing import TYPE_CHECKING

from yieldwright.formatting import clip, ratio, visible
from yieldwright.glossary import quantity

if TYPE_CHECKING:
    from collections.abc import Hashable

__all__ = ["column_noun", "level_phrase", "step_phrase"]

#: Characters of a word from a log that a sentence shows.
LONGEST_WORD = 40

#: One step of a number, as it stands inside a sentence; `{n}` is the step in its unit.
_STEPS = {
    "grind_setting": "one setting coarser",
    "roast_age_d": "coffee {n} older",
    "frozen_d": "coffee {n} longer frozen",
    "position": "{n} later in the session",
    "temp_c": "{n} hotter",
    "hold_bar": "a hold {n} higher",
    "peak_bar": "a peak {n} higher",
    "end_bar": "an end pressure {n} higher",
    "taper_bar": "{n} more taper",
    "taper_start_s": "a taper started {n} later",
    "prewet_s": "pre-wetting {n} longer",
    "preheat_min": "preheating {n} longer",
    "soak_min": "a heat soak {n} longer",
    "gap_min": "{n} more between shots",
    "dose_g": "{n} more dose",
    "dose_target_g": "aiming at {n} more dose",
    "beverage_g": "{n} more beverage",
    "beverage_target_g": "aiming at {n} more beverage",
    "brew_ratio": "a ratio longer by {n}",
    "retained_g": "{n} more grounds retained",
    "purged_g": "{n} more purged",
    "room_c": "a room {n} warmer",
    "humidity_pct": "a relative humidity {n} higher",
}

#: Units that a sentence spells out: for one, and for other numbers.
_SPELLED = {
    "roast_age_d": ("one day", "days"),
    "frozen_d": ("one day", "days"),
    "position": ("one shot", "shots"),
    "humidity_pct": ("one point", "points"),
    "brew_ratio": ("1", ""),
}

#: What a level stands for where the words yes and no alone would not read.
_PRESENT = {
    "puck_screen": "a puck screen",
    "paper": "paper",
    "distribution": "distribution",
    "tamp": "a tamp",
}
_YES, _NO = ("yes",), ("no", "none", "without", "nothing")


def column_noun(column: str) -> str:
    """Return how a column of the glossary is called inside a sentence.

    Parameters
    ----------
    column : str
        Canonical name.

    Returns
    -------
    str

    Examples
    --------
    >>> column_noun("hold_bar")
    'held pressure'
    """
    label = quantity(column).label
    return label[0].lower() + label[1:]


def step_phrase(column: str, step: float) -> str:
    """Return one step of a number as it stands inside a sentence.

    Parameters
    ----------
    column : str
        Canonical name.
    step : float
        The step. [unit of the column]

    Returns
    -------
    str

    Examples
    --------
    >>> step_phrase("temp_c", 1.0), step_phrase("roast_age_d", 1.0), step_phrase("dose_g", 0.1)
    ('1 °C hotter', 'coffee one day older', '0.1 g more dose')
    """
    if column in _SPELLED:
        one, several = _SPELLED[column]
        amount = one if step == 1 else f"{step:g} {several}".strip()
    else:
        amount = f"{step:g} {quantity(column).unit}"
    return _STEPS.get(column, f"{{n}} more {column_noun(column)}").format(n=amount)


def level_phrase(column: str, level: Hashable) -> str:
    """Return one value of a column as it stands inside a sentence.

    Parameters
    ----------
    column : str
        Canonical name.
    level : hashable
        A number or a level; what a log says in free words stands in quotation marks.

    Returns
    -------
    str

    Examples
    --------
    >>> level_phrase("puck_screen", "no"), level_phrase("paper", "bottom")
    ('no puck screen', 'paper “bottom”')
    >>> level_phrase("service_stretch", "since 2026-05-03")
    'the shots since the service on 2026-05-03'
    """
    if isinstance(level, float):
        return _number_phrase(column, level)
    word = clip(visible(str(level)).removeprefix(f"{column_noun(column)}: "), LONGEST_WORD)
    if column == "temp_band":
        return f"the {word} band"
    if column == "service_stretch":
        return _stretch_phrase(word)
    if column == "bag":
        return f"the coffee of {word if word.casefold().startswith('bag') else f'bag {word}'}"
    return _puck_phrase(column, word) if column in _PRESENT else f"{column_noun(column)} {word}"


def _number_phrase(column: str, value: float) -> str:
    if column == "grind_setting":
        return f"setting {value:g}"
    if column == "brew_ratio":
        return f"a ratio of {ratio(value)}"
    unit = quantity(column).unit
    if column == "gap_min":
        return f"a gap of {value:.4g} {unit}"
    return f"{column_noun(column)} {value:.4g} {unit if unit != '1' else ''}".strip()


def _stretch_phrase(word: str) -> str:
    """Return a stretch in words: `since 2026-05-03` and `since service 2` are its names."""
    side, _, when = word.partition(" ")
    return (
        f"the shots {side} {when}"
        if when.startswith("service")
        else (f"the shots {side} the service on {when}")
    )


def _puck_phrase(column: str, word: str) -> str:
    present = _PRESENT[column]
    if word.casefold() in _YES:
        return present
    bare = present.removeprefix("a ")
    return f"no {bare}" if word.casefold() in _NO else f"{bare} “{word}”"
