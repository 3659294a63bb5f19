"""The response at each value of each setting, and which levels stand apart."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, field
from types import MappingProxyType
from typing import TYPE_CHECKING, ClassVar

import numpy as np
import pandas as pd

from yieldwright.cautions import Caution
from yieldwright.formatting import interval, listing, number, sentence_case, visible
from yieldwright.models.contrasts.comparisons import DIFFERENCE_COLUMNS, Comparisons, compare_means
from yieldwright.results import Result
from yieldwright.taste.confounding.entangling import entangled_pairs
from yieldwright.taste.means.setting_words import mean_sentence, pair_sentences, told_measure
from yieldwright.taste.means.shot_spread import next_shot_limits, whose_shot
from yieldwright.taste.strata.weights import level_weights, mean_weights
from yieldwright.taste.words.wording import column_label, level_words

if TYPE_CHECKING:
    from collections.abc import Hashable, Iterator, Mapping

    import numpy.typing as npt

    from yieldwright.taste.columns.predictors import Predictor
    from yieldwright.taste.findings import Findings
    from yieldwright.taste.strata.judging import Judged
    from yieldwright.taste.strata.stratum_fits import StratumFit

__all__ = ["MEAN_COLUMNS", "PAIR_COLUMNS", "SettingMeans", "compare_settings", "value_weights"]

#: Columns of a table of means.
MEAN_COLUMNS = (
    "setting",
    "value",
    "n_shots",
    "estimate",
    "std_error",
    "df",
    "ci_low",
    "ci_high",
    "shot_low",
    "shot_high",
    "stratum",
)

#: Columns of a table of differences between levels.
PAIR_COLUMNS = ("setting", "first", "second", *DIFFERENCE_COLUMNS)

#: Values of a number that are told one by one; of more, the quartiles tried stand for all.
MOST_VALUES = 7


@dataclass(frozen=True, kw_only=True, eq=False, repr=False)
class SettingMeans(Result):
    """The mean response at each level and value of the settings, everything else alike.

    Attributes
    ----------
    response : str
        Column explained.
    bag, grinder : str
        Codes, empty where the log names none.
    means : DataFrame
        One row per level, and per value tried of a number: setting, value, n_shots at it,
        the mean with its t interval, the limits of the next shot (`shot_low`,
        `shot_high`), and the stratum that judged.
    pairs : DataFrame
        One row per pair of levels: setting, first, second, then the difference with its
        single interval, p by Holm and by Tukey, and limits that hold for all pairs of
        the setting at once (`joint_low`, `joint_high`).
    entangled : mapping of str to str
        Settings whose means may be the doing of another column, and of which.
    measure : str
        What the means are of, with its unit.
    next_shot : str
        Which next shot the limits are of.
    """

    drawing: ClassVar[str] = "setting_means"

    response: str
    bag: str = ""
    grinder: str = ""
    means: pd.DataFrame = field(default_factory=lambda: pd.DataFrame(columns=list(MEAN_COLUMNS)))
    pairs: pd.DataFrame = field(default_factory=lambda: pd.DataFrame(columns=list(PAIR_COLUMNS)))
    entangled: Mapping[str, str] = field(default_factory=lambda: MappingProxyType({}))
    measure: str = ""
    next_shot: str = ""

    @property
    def title(self) -> str:
        """Response, bag and grinder."""
        where = visible(", ".join(filter(None, (self.bag, self.grinder))))
        what = f"{sentence_case(column_label(self.response))} at each setting"
        return f"{what} ({where})" if where else what

    @property
    def settings(self) -> tuple[str, ...]:
        """Columns told, in their order."""
        return tuple(dict.fromkeys(self.means["setting"].tolist()))

    def to_frame(self) -> pd.DataFrame:
        """Return the means at full precision."""
        return self.means

    def display_frame(self) -> pd.DataFrame:
        """Return the means as text.

        Returns
        -------
        DataFrame
            One row per level or value: what it is, shots, mean, interval, next shot.
        """
        rows = [
            {
                "At": level_words(row["setting"], row["value"]),
                "Shots": str(row["n_shots"]),
                "Mean": number(row["estimate"], (row["ci_high"] - row["ci_low"]) / 2),
                "95 % interval": interval(row["ci_low"], row["ci_high"]),
                "Next shot": interval(row["shot_low"], row["shot_high"]),
            }
            for row in self.means.to_dict("records")
        ]
        return pd.DataFrame(rows)


def compare_settings(findings: Findings) -> SettingMeans | None:
    """Return the mean response at each level and value of each setting that was judged.

    Parameters
    ----------
    findings : Findings
        Verdicts of each stratum.

    Returns
    -------
    SettingMeans or None
        None where no setting has a verdict.

    Notes
    -----
    Means and differences come from the fit that gives the effects, everything else at
    the mean of the shots fitted: a difference of neighbours is the effect printed.
    Nothing is told between or beyond the values tried. Where sessions are blocks, a mean
    from within sessions is that of the sessions in the log, and its interval leaves out
    that others would differ; the limits of the next shot hold that too.

    Examples
    --------
    >>> from yieldwright.bench import Bench
    >>> from yieldwright.taste.columns.comparable import ComparableSet
    >>> from yieldwright.taste.findings import Findings
    >>> from yieldwright.taste.strata.judging import judge_strata
    >>> from yieldwright.taste.columns.predictors import Question, prepare
    >>> shots = pd.DataFrame(
    ...     {
    ...         "temp_band": ["low", "low", "low", "high", "high", "high"],
    ...         "time_s": [40.1, 37.8, 38.2, 35.7, 34.1, 35.8],
    ...     }
    ... )
    >>> question = Question("time_s", Bench(), ("temp_band",), ())
    >>> one = ComparableSet("", "", shots)
    >>> prepared = prepare(one, question)
    >>> found = compare_settings(Findings(question, one, prepared, judge_strata(prepared)))
    >>> print(found.sentences[1])
    The high band took 3.5 s less than the low band (1.0 to 6.0 s less; p = 0.018).
    """
    told = [(judged, each) for judged in findings.judged for each in _settings(judged)]
    if not told:
        return None
    means = [row for judged, each in told for row in _mean_rows(findings, judged, each)]
    compared = {each.column: _compared(judged, each) for judged, each in told if each.levels}
    pairs = [row for column, found in compared.items() for row in _pair_rows(column, found)]
    table = pd.DataFrame(means, columns=list(MEAN_COLUMNS))
    mute = _mute(findings)
    return SettingMeans(
        response=findings.question.response,
        bag=findings.comparable.bag,
        grinder=findings.comparable.grinder,
        n_shots=len(findings.inside.layout.frame),
        means=table,
        pairs=pd.DataFrame(pairs, columns=list(PAIR_COLUMNS)),
        entangled=mute,
        measure=told_measure(findings.question),
        next_shot=whose_shot(findings),
        sentences=tuple(_sentences(findings, table, compared, mute)),
        cautions=(*_entangled(mute, table), *_lone_levels(findings, table)),
    )


def value_weights(
    fit: StratumFit, predictor: Predictor, value: Hashable
) -> npt.NDArray[np.float64]:
    """Return the weights of the mean at one level or value, everything else at its mean.

    Parameters
    ----------
    fit : StratumFit
        The fit.
    predictor : Predictor
        One of its predictors.
    value : hashable
        A level, or a number tried. [unit of the column]

    Returns
    -------
    ndarray
        One weight per coefficient.
    """
    if predictor.levels:
        return level_weights(fit, predictor, value)
    weights = mean_weights(fit)
    weights[fit.design.place(predictor.column)] = fit.design.term(predictor.column).at(value)
    return weights


def _settings(judged: Judged) -> tuple[Predictor, ...]:
    return tuple(each for each in judged.decided if each.kind == "setting")


def _mean_rows(
    findings: Findings, judged: Judged, predictor: Predictor
) -> Iterator[tuple[object, ...]]:
    column, fit = predictor.column, judged.fit
    if fit is None:
        return
    counts = Counter(findings.prepared.frame[column].tolist())
    for value in predictor.levels or _values(counts):
        mean = fit.estimate(value_weights(fit, predictor, value), column)
        shot = next_shot_limits(findings, mean, {column: value}, stratum=judged.stratum)
        figures = (mean.estimate, mean.std_error, mean.df, mean.ci_low, mean.ci_high)
        yield (column, value, counts[value], *figures, shot.low, shot.high, judged.stratum)


def _values(counts: Mapping[float, int]) -> list[float]:
    """Return the values tried, or those at the quartiles of all shots where they are many."""
    values = sorted(counts)
    if len(values) <= MOST_VALUES:
        return values
    every = np.repeat(values, [counts[value] for value in values])
    chosen = np.quantile(every, [0, 0.25, 0.5, 0.75, 1], method="nearest")
    return sorted(set(chosen.tolist()))


def _compared(judged: Judged, predictor: Predictor) -> Comparisons:
    fit = judged.fit
    if fit is None:
        return Comparisons({}, ())
    weights = {level: value_weights(fit, predictor, level) for level in predictor.levels}
    return compare_means(weights, fit.estimate)


def _pair_rows(column: str, found: Comparisons) -> Iterator[tuple[object, ...]]:
    rows = found.table().itertuples(index=False)
    for each, row in zip(found.differences, rows, strict=True):
        yield (column, each.first, each.second, *row)


def _mute(findings: Findings) -> dict[str, str]:
    """Return settings whose means must not be read as their own, and what they go with."""
    pairs = [pair for pair in entangled_pairs(findings) if pair.forbids_verdict]
    both = [(pair.first, pair.second) for pair in reversed(pairs)]  # the worst wins
    return dict([(second, first) for first, second in both] + both)


def _sentences(
    findings: Findings,
    means: pd.DataFrame,
    compared: Mapping[str, Comparisons],
    mute: Mapping[str, str],
) -> Iterator[str]:
    for column, rows in means.groupby("setting", sort=False):
        if column in mute:
            continue
        yield mean_sentence(findings.question, str(column), rows.to_dict("records"))
        if column in compared:
            yield from pair_sentences(findings.words, str(column), compared[str(column)])
    if means["shot_low"].notna().any():
        yield (
            "Brackets hold 95 % intervals of the mean, everything else as these shots and "
            f"sessions had it on average; {whose_shot(findings)} is expected within the wider "
            "limits of the table (95 %)."
        )


def _entangled(mute: Mapping[str, str], means: pd.DataFrame) -> tuple[Caution, ...]:
    shown = set(means["setting"])
    return tuple(
        Caution(
            code="means-entangled",
            severity="stop",
            sentence=(
                f"What the values of {column_label(first)} show may be the doing of "
                f"{column_label(second)}: this log cannot tell them apart."
            ),
            about=(first, second),
        )
        for first, second in mute.items()
        if first in shown
    )


def _lone_levels(findings: Findings, means: pd.DataFrame) -> tuple[Caution, ...]:
    """Return a caution for levels of one shot; a line draws on the shots at other values."""
    levels = [each.column for judged in findings.judged for each in judged.decided if each.levels]
    lone = means[(means["n_shots"] == 1) & means["setting"].isin(levels)]
    if lone.empty:
        return ()
    pairs = zip(lone["setting"].tolist(), lone["value"].tolist(), strict=True)
    names = [level_words(column, value) for column, value in pairs]
    alone = len(names) == 1
    told = (
        "The mean at {} rests on a single shot."
        if alone
        else "The means at {} rest on a single shot each."
    )
    return (
        Caution(
            code="one-shot-levels",
            severity="care",
            sentence=told.format(listing(names)),
            remedy="Repeat before trusting the mean.",
            about=tuple(dict.fromkeys(lone["setting"].tolist())),
        ),
    )
