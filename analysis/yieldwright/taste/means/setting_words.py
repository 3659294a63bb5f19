"""How means at settings and their differences are told in sentences."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from yieldwright.formatting import count, interval, listing, number, p_words, sentence_case
from yieldwright.glossary import quantity
from yieldwright.taste.columns.roles import attribute_of
from yieldwright.taste.words.wording import ResponseWords, column_label, level_words, signed_span

if TYPE_CHECKING:
    from collections.abc import Hashable, Mapping, Sequence

    from yieldwright.models.contrasts.comparisons import Comparisons, Difference
    from yieldwright.taste.columns.predictors import Question

__all__ = [
    "mean_sentence",
    "pair_sentences",
    "told_mean",
    "told_measure",
    "told_noun",
    "told_unit",
]

#: Corrected p-values up to this set two levels apart.
SIGNIFICANT = 0.05

#: Pairs without a verdict that one sentence lists.
TOLD_PAIRS = 3

#: Values that one sentence lists; of more it tells the ends and the middle.
LISTED = 4


def mean_sentence(question: Question, column: str, rows: Sequence[Mapping[Hashable, Any]]) -> str:
    """Return the means of one setting, each with its interval and number of shots.

    Parameters
    ----------
    question : Question
        What was asked.
    column : str
        The setting.
    rows : sequence of mapping
        Its rows of the table of means.

    Returns
    -------
    str
    """
    told = rows if len(rows) <= LISTED else [rows[0], rows[len(rows) // 2], rows[-1]]
    parts = [
        f"{told_mean(question, row['estimate'], row['ci_low'], row['ci_high'])}, "
        f"{count(row['n_shots'], 'shot')}) at {level_words(column, row['value'])}"
        for row in told
    ]
    others = len(rows) - len(told)
    more = f" ({count(others, 'value')} between them in the table)" if others else ""
    return f"The {told_noun(question)} averages {listing(parts)}{more}."


def pair_sentences(words: ResponseWords, column: str, found: Comparisons) -> tuple[str, ...]:
    """Return which levels stand apart, and of which that cannot be told.

    Parameters
    ----------
    words : ResponseWords
        How the response is talked about.
    column : str
        The setting.
    found : Comparisons
        Its levels compared.

    Returns
    -------
    tuple of str
        One sentence per pair that stands apart, and one about all others.

    Examples
    --------
    >>> import numpy as np
    >>> from yieldwright.models.contrasts.comparisons import compare_means
    >>> from yieldwright.models.contrasts.contrasts import contrast
    >>> from yieldwright.models.linear.model import fit_least_squares
    >>> matrix = np.column_stack([np.ones(6), [0.0, 0.0, 0.0, 1.0, 1.0, 1.0]])
    >>> fit = fit_least_squares(matrix, np.array([36.0, 37.0, 38.0, 31.0, 32.0, 33.0]))
    >>> means = {"low": np.array([1.0, 0.0]), "high": np.array([1.0, 1.0])}
    >>> found = compare_means(means, lambda sums, term: contrast(fit, sums, term=term))
    >>> pair_sentences(ResponseWords("shot time", "took", "s"), "temp_band", found)
    ('The high band took 5.0 s less than the low band (2.7 to 7.3 s less; p = 0.004).',)
    """
    unsure = [each for each in found.differences if not _stands_apart(each)]
    apart = [each for each in found.differences if each not in unsure]
    n_pairs = len(found.differences)
    sentences = [_apart(words, column, each, n_pairs) for each in apart]
    return (*sentences, *([_unsure(words, column, unsure, n_pairs)] if unsure else []))


def told_mean(question: Question, mean: float, low: float, high: float) -> str:
    """Return a mean with its unit, and its limits in a bracket still open.

    Parameters
    ----------
    question : Question
        What was asked.
    mean, low, high : float
        The mean and its limits. [unit of the response]

    Returns
    -------
    str
        Of an attribute that is best in the middle, the distance from it.
    """
    if _from_middle(question):
        mean, low, high = -mean, -high, -low
    unit = f" {told_unit(question)}"
    return f"{number(mean, (high - low) / 2)}{unit} ({interval(low, high)}"


def told_measure(question: Question) -> str:
    """Return what the numbers of a fit are of, with their unit: for a table or an axis.

    Parameters
    ----------
    question : Question
        What was asked.

    Returns
    -------
    str
    """
    label, response = column_label(question.response), question.response
    if _from_middle(question):
        return f"Minus the {told_noun(question)} [points]"
    unit = "points" if attribute_of(response) else quantity(response).unit
    return f"{sentence_case(label)} [{unit}]"


def told_noun(question: Question) -> str:
    """Return what a response is, where its values are told and not differences.

    Parameters
    ----------
    question : Question
        What was asked.

    Returns
    -------
    str
    """
    label = column_label(question.response)
    if _from_middle(question):
        return f"distance of the {label} from the middle of its scale"
    return label


def told_unit(question: Question) -> str:
    """Return the unit that values of the response are told in.

    Parameters
    ----------
    question : Question
        What was asked.

    Returns
    -------
    str
    """
    response = question.response
    return "points" if attribute_of(response) else quantity(response).unit.partition(" ")[0]


def _from_middle(question: Question) -> bool:
    name = attribute_of(question.response)
    return name is not None and question.bench.attribute(name).better == "middle"


def _stands_apart(each: Difference) -> bool:
    exact = each.estimate.std_error == 0 and each.estimate.estimate != 0
    return exact or each.p_tukey <= SIGNIFICANT


def _apart(words: ResponseWords, column: str, each: Difference, n_pairs: int) -> str:
    found = each.estimate
    amount = words.amount(found.estimate, (each.joint_high - each.joint_low) / 2)
    over = f" by Tukey over {n_pairs} pairs" if n_pairs > 1 else ""
    return (
        f"{sentence_case(level_words(column, each.second))} {words.verb} {amount} than "
        f"{level_words(column, each.first)} ({words.span(each.joint_low, each.joint_high)}; "
        f"{p_words(each.p_tukey)}{over})."
    )


def _unsure(words: ResponseWords, column: str, pairs: Sequence[Difference], n_pairs: int) -> str:
    """Return pairs that the log cannot set apart, with the limits of each."""
    parts = [
        f"{level_words(column, each.first)} and {level_words(column, each.second)} "
        f"({signed_span(each.joint_low, each.joint_high)} {words.unit})"
        for each in pairs
    ]
    if len(pairs) > TOLD_PAIRS:
        widest = max(max(abs(each.joint_low), abs(each.joint_high)) for each in pairs)
        return (
            f"{len(pairs)} of {n_pairs} pairs of {column_label(column)} are not set apart by this "
            f"log: differences of up to {number(widest, figures=2)} {words.unit} either way "
            "remain possible (for all pairs at once)."
        )
    at_once = f" (limits for all {n_pairs} pairs at once)" if n_pairs > 1 else ""
    return f"Not set apart by this log: {'; '.join(parts)}{at_once}."
