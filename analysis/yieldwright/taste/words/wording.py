"""How responses, settings and their steps are said in plain sentences."""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import pairwise
from typing import TYPE_CHECKING

from yieldwright.formatting import interval, number, sentence_case, signed, visible
from yieldwright.glossary import quantity
from yieldwright.taste.columns.roles import attribute_of
from yieldwright.taste.words.phrases import column_noun, level_phrase, step_phrase

if TYPE_CHECKING:
    from collections.abc import Hashable

    from yieldwright.bench import Bench
    from yieldwright.taste.columns.predictors import Predictor

__all__ = [
    "ResponseWords",
    "StepWords",
    "column_label",
    "effect_interval",
    "level_words",
    "response_words",
    "signed_span",
    "step_words",
]


@dataclass(frozen=True, slots=True)
class ResponseWords:
    """How one response is talked about.

    Attributes
    ----------
    noun : str
        What it is: "shot time".
    verb : str
        What a setting did to it: "took".
    unit : str
        Unit of a difference: "s".
    more, less : str
        Directions, after the unit.
    tail : str
        What closes a difference, after its direction: " on overall".
    """

    noun: str
    verb: str
    unit: str
    more: str = "more"
    less: str = "less"
    tail: str = ""

    def amount(self, value: float, u: float) -> str:
        """Return a difference with its direction: `2.1 s less`.

        Parameters
        ----------
        value : float
            The difference. [unit of the response]
        u : float
            Half-width of its interval. [unit of the response]

        Returns
        -------
        str
        """
        direction = self.more if value > 0 else self.less
        return f"{number(abs(value), u)} {self.unit} {direction}{self.tail}"

    def span(self, low: float, high: float) -> str:
        """Return an interval on one side of zero with its direction, or with signs.

        Parameters
        ----------
        low, high : float
            Its ends. [unit of the response]

        Returns
        -------
        str
        """
        if low * high <= 0:
            return f"{signed_span(low, high)} {self.unit}"
        near, far = sorted((abs(low), abs(high)))
        direction = self.more if low > 0 else self.less
        u = _telling(near, far - near)
        return f"{number(near, u)} to {number(far, u)} {self.unit} {direction}"


@dataclass(frozen=True, slots=True)
class StepWords:
    """How one practical step is talked about.

    Attributes
    ----------
    step : str
        In a table: "one setting coarser", "low → medium".
    subject : str
        At the head of a sentence: "One setting coarser", "The medium band".
    clause : str
        Inside one: "one setting coarser", "the medium band in place of the low band".
    than : str
        What closes the comparison: " than the low band", or nothing.
    """

    step: str
    subject: str
    clause: str
    than: str = ""


_MEASURED = {
    "time_s": ResponseWords("shot time", "took", "s"),
    "first_drip_s": ResponseWords("time to the first drip", "took", "s"),
    "ey_pct": ResponseWords("extraction yield", "gave", "points of yield"),
    "tds_pct": ResponseWords("strength", "gave", "points of strength"),
}


def column_label(column: str) -> str:
    """Return how a column is called inside a sentence.

    Parameters
    ----------
    column : str
        Canonical name, or `score:` and an attribute.

    Returns
    -------
    str

    Examples
    --------
    >>> column_label("grind_setting"), column_label("score:overall")
    ('grind setting', 'overall score')
    """
    attribute = attribute_of(column)
    if attribute is not None:
        return f"{attribute} score"
    return column_noun(column)


def response_words(response: str, bench: Bench) -> ResponseWords:
    """Return how a response is talked about.

    Parameters
    ----------
    response : str
        Column explained.
    bench : Bench
        Whose attributes say which way is good.

    Returns
    -------
    ResponseWords

    Examples
    --------
    >>> from yieldwright.bench import Bench
    >>> response_words("time_s", Bench()).amount(-2.14, 0.9)
    '2.1 s less'
    """
    attribute = attribute_of(response)
    if attribute is None:
        plain = ResponseWords(column_label(response), "gave", quantity(response).unit)
        return _MEASURED.get(response, plain)
    better = bench.attribute(attribute).better
    if better == "middle":
        noun = f"nearness of the {attribute} score to the middle of its scale"
        tail = f" the middle of the {attribute} scale"
        return ResponseWords(noun, "came", "points", "nearer", "farther off", tail)
    tail = f" on {attribute}{' (where lower is better)' if better == 'less' else ''}"
    return ResponseWords(column_label(response), "scored", "points", "higher", "lower", tail)


def step_words(predictor: Predictor, step: str) -> StepWords:
    """Return how one step of a predictor is talked about.

    Parameters
    ----------
    predictor : Predictor
        A column of a fit.
    step : str
        The column itself for a number, `low → medium` for a pair of levels.

    Returns
    -------
    StepWords

    Examples
    --------
    >>> from yieldwright.taste.columns.predictors import Predictor
    >>> step_words(Predictor("temp_band", "setting", levels=("low", "high")), "low → high").than
    ' than the low band'
    """
    column = predictor.column
    if not predictor.levels:
        clause = step_phrase(column, abs(predictor.step))
        return StepWords(_bare(clause), sentence_case(clause), clause)
    return _level_step(column, *_neighbours(predictor, step))


def level_words(column: str, level: Hashable) -> str:
    """Return how one value of a column is talked about.

    Parameters
    ----------
    column : str
        Canonical name.
    level : hashable
        A number or a level.

    Returns
    -------
    str

    Examples
    --------
    >>> level_words("temp_band", "low"), level_words("grind_setting", 12.0)
    ('the low band', 'setting 12')
    """
    return level_phrase(column, level)


def signed_span(low: float, high: float) -> str:
    """Return the ends of an interval with their signs, never a zero for what is none.

    Parameters
    ----------
    low, high : float
        Its ends, on both sides of zero.

    Returns
    -------
    str

    Examples
    --------
    >>> signed_span(-6.1, 0.3), signed_span(-0.4123, 0.6)
    ('−6.1 to +0.3', '−0.41 to +0.60')
    """
    u = _telling(min(abs(low), abs(high)), high - low)
    return f"{signed(low, u)} to {signed(high, u)}"


def effect_interval(low: float, high: float) -> str:
    """Return the interval of an effect, no end of it shown as zero that is none.

    Parameters
    ----------
    low, high : float
        Its ends; infinite where it is unbounded.

    Returns
    -------
    str

    Examples
    --------
    >>> effect_interval(0.03, 0.76), effect_interval(-0.3, 0.5)
    ('0.03 to 0.76', '−0.3 to 0.5')
    """
    if not (math.isfinite(low) and math.isfinite(high)):
        return interval(low, high)
    u = _telling(min(abs(low), abs(high)), high - low)
    return f"{number(low, u)} to {number(high, u)}"


def _telling(near: float, width: float) -> float:
    """Return the uncertainty to round the ends of an interval to, so that its sides show."""
    return min(width / 2, max(2 * near, width / 20))


def _neighbours(predictor: Predictor, step: str) -> tuple[Hashable, Hashable]:
    """Return the two levels a step goes between, whatever signs their names hold."""
    pairs = pairwise(predictor.levels)
    found = (pair for pair in pairs if f"{pair[0]} → {pair[1]}" == step)
    lower, _, upper = step.partition(" → ")
    return next(found, (lower, upper))


def _level_step(column: str, lower: Hashable, upper: Hashable) -> StepWords:
    """Return how the step from one level to another is talked about."""
    before, after = (level_phrase(column, level) for level in (lower, upper))
    clause = f"{after} in place of {before}"
    if before == f"no {after.removeprefix('a ')}":
        before, clause = "none", f"{after} in place of none"
    if column == "service_stretch":
        service = after.removeprefix("the shots since ")
        subject, than = sentence_case(after), " than the shots before it"
        return StepWords(service.removeprefix("the "), subject, service, than)
    shown = f"{visible(str(lower))} → {visible(str(upper))}"
    named = column == "temp_band" or shown.startswith(f"{column_noun(column)}: ")
    step = shown if named else f"{column_noun(column)}: {shown}"
    return StepWords(step, sentence_case(after), clause, f" than {before}")


def _bare(clause: str) -> str:
    """Return a step for a table: `hold 1 bar higher`."""
    return clause.removeprefix("a ").removeprefix("an ").removeprefix("coffee ")
