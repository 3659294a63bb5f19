"""One question asked of a log: what the settings did to taste, yield or time."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from yieldwright.cautions import gravest_first
from yieldwright.errors import TooFewShotsError, UnknownNameError
from yieldwright.formatting import listing
from yieldwright.models.wording import nearest, quoted
from yieldwright.taste.columns.comparable import comparable_sets, pooled_bags
from yieldwright.taste.columns.roles import SCORE_PREFIX, role_of
from yieldwright.taste.fitting import SETTINGS, find, told, unanswered
from yieldwright.taste.means.setting_means import compare_settings
from yieldwright.taste.sensitivity.sensitivity import sensitivity
from yieldwright.taste.spread_shares import spread_shares
from yieldwright.taste.spreads import spreads
from yieldwright.taste.steps.random_tasters import random_tasters
from yieldwright.taste.steps.scored_steps import scored_steps
from yieldwright.taste.steps.step_cautions import disagreements
from yieldwright.taste.surface.model import fit_surface
from yieldwright.taste.taste_fit import TasteFit
from yieldwright.taste.tasters.by_taster import taste_by_taster
from yieldwright.taste.turning import turning_point

if TYPE_CHECKING:
    from collections.abc import Sequence

    from yieldwright.bench import Bench
    from yieldwright.cautions import Caution
    from yieldwright.shotlog import ShotLog
    from yieldwright.taste.choosing import Model
    from yieldwright.taste.columns.comparable import ComparableSet
    from yieldwright.taste.effects_fit import EffectsFit
    from yieldwright.taste.findings import Findings
    from yieldwright.taste.steps.scored_steps import ScoredSteps

__all__ = ["fit", "fit_set", "named_response", "named_set"]

#: Where chance begins if a caller brings no generator: any number would do.
SEED = 20_261_129

#: What of a line reads as a verdict.
VERDICT_COLUMNS = (
    "ci_low", "ci_high", "p_value", "p_holm", "hc3_ci_low", "hc3_ci_high", "detectable",
)  # fmt: skip

#: Most logs bear no surface: that is told where a surface is looked at, and not of every fit.
NOT_ASKED = "surface-impossible"


def fit(
    log: ShotLog,
    response: str = "",
    *,
    settings: Sequence[str] = SETTINGS,
    adjusters: Sequence[str] | None = None,
    bag: str = "",
    grinder: str = "",
    pool_bags: bool = False,
    model: Model = "auto",
    rng: np.random.Generator | None = None,
) -> TasteFit:
    r"""Return what the settings did to one response of a log, and how sure that is.

    Parameters
    ----------
    log : ShotLog
        A log that was read.
    response : str
        An attribute that was scored, such as `overall`; or `ey_pct`, `time_s`, `tds_pct`.
        Empty for the first attribute scored.
    settings : sequence of str
        Columns asked about.
    adjusters : sequence of str or None
        Columns allowed for; None for those the log holds and can afford.
    bag, grinder : str
        Codes of the shots meant; empty for the bag that ends last in the log.
    pool_bags : bool
        Whether all bags of the grinder stand in one fit, compared within bags.
    model : {"auto", "blocks", "mixed"}
        What the structure of the log asks for, or what you ask for.
    rng : Generator or None
        Source of chance for permutations; None for one that begins the same each time.

    Returns
    -------
    TasteFit
        With sentences that say what is missing where nothing can be estimated.

    Raises
    ------
    UnknownNameError
        If the log has no such bag, grinder, attribute or column.
    RoleError
        If the response is no outcome, or a predictor is one.
    TooFewShotsError
        If the log holds no shots.

    Examples
    --------
    >>> from pathlib import Path
    >>> from tempfile import TemporaryDirectory
    >>> from yieldwright.shotlog import read_log
    >>> rows = [(10, 40), (11, 38), (12, 36), (10, 41), (11, 37), (12, 37), (11, 39), (10, 40)]
    >>> lines = [f"{n},counted,{grind},{time}" for n, (grind, time) in enumerate(rows)]
    >>> with TemporaryDirectory() as folder:
    ...     path = Path(folder, "shots.csv")
    ...     text = "\n".join(["shot,stage,grind_setting,time_s", *lines])
    ...     _ = path.write_text(text, encoding="utf-8")
    ...     found = fit(read_log(path), "time_s")
    >>> found.line.model, found.effects["estimate"].round(2).tolist()[:1]
    ('least squares', [-1.96])
    """
    if pool_bags:
        comparable = pooled_bags(log, grinder=grinder or named_set(log).grinder)
    else:
        comparable = named_set(log, bag=bag, grinder=grinder)
    name = named_response(response, comparable, bench=log.bench)
    return fit_set(
        comparable,
        name,
        bench=log.bench,
        settings=settings,
        adjusters=adjusters,
        model=model,
        rng=rng,
    )


def fit_set(
    comparable: ComparableSet,
    response: str,
    *,
    bench: Bench,
    settings: Sequence[str] = SETTINGS,
    adjusters: Sequence[str] | None = None,
    model: Model = "auto",
    rng: np.random.Generator | None = None,
) -> TasteFit:
    """Return what the settings did to one response of comparable shots, and how sure that is.

    Parameters
    ----------
    comparable : ComparableSet
        Shots of one grinder.
    response : str
        `ey_pct`, `time_s`, `tds_pct`, or `score:` and an attribute.
    bench : Bench
        Whose grinder step, bands and scales to use.
    settings : sequence of str
        Columns asked about.
    adjusters : sequence of str or None
        Columns allowed for; None for those the log holds and can afford.
    model : {"auto", "blocks", "mixed"}
        What the structure of the log asks for, or what you ask for.
    rng : Generator or None
        Source of chance for permutations; None for one that begins the same each time.

    Returns
    -------
    TasteFit

    Raises
    ------
    UnknownNameError
        If the glossary has no such column.
    RoleError
        If the response is no outcome, or a predictor is one.

    Examples
    --------
    >>> import pandas as pd
    >>> from yieldwright.bench import Bench
    >>> from yieldwright.taste.columns.comparable import ComparableSet
    >>> shots = pd.DataFrame({"grind_setting": [10.0, 11.0] * 4, "time_s": [40.0, 37.0] * 4})
    >>> shots["time_s"] += [0.3, -0.2, 0.1, 0.2, -0.3, 0.0, -0.1, 0.0]
    >>> found = fit_set(ComparableSet("", "", shots), "time_s", bench=Bench())
    >>> found.effects["estimate"].round(6).tolist()
    [-3.0]
    """
    findings = find(
        comparable, response, bench=bench, settings=settings, adjusters=adjusters, model=model
    )
    if not findings.judged:
        line = unanswered(findings)
        return _gathered(TasteFit(n_shots=line.n_shots, line=line))
    chance = np.random.default_rng(SEED) if rng is None else rng
    return _whole(findings, told(findings), chance)


def _whole(findings: Findings, line: EffectsFit, rng: np.random.Generator) -> TasteFit:
    steps = scored_steps(findings, rng=rng)
    bare = TasteFit(
        n_shots=line.n_shots,
        line=_as_number_alone(line, steps),
        means=compare_settings(findings),
        turning=turning_point(findings, rng=rng),
        spreads=spreads(findings),
        steps=steps,
        random_tasters=random_tasters(findings),
        tasters=taste_by_taster(findings),
        shares=spread_shares(findings),
        sensitivity=sensitivity(findings),
        surface=fit_surface(findings),
        findings=findings,
    )
    return _gathered(bare, disagreements(findings.effects, steps))


def _as_number_alone(line: EffectsFit, steps: ScoredSteps | None) -> EffectsFit:
    """Return the line without intervals where scores are to be read as steps and not as metres.

    Its numbers stay, to be compared with the odds; what would be read as a verdict goes.
    """
    if steps is None or not steps.chosen:
        return line
    effects = line.effects.copy()
    effects.loc[effects["kind"] == "setting", list(VERDICT_COLUMNS)] = np.nan
    told = [each for each in line.sentences if "95 %" not in each]
    return replace(line, effects=effects, sentences=(steps.why, *told))


def _gathered(bare: TasteFit, more: Sequence[Caution] = ()) -> TasteFit:
    """Return an answer with what all its parts say, the gravest caution first."""
    cautions = [*more, *(caution for part in bare.parts for caution in part.cautions)]
    cautions = [each for each in cautions if each.code != NOT_ASKED]
    sentences = [sentence for part in bare.parts for sentence in part.sentences]
    return replace(
        bare,
        dropped=bare.line.dropped,
        cautions=gravest_first(cautions),
        sentences=tuple(dict.fromkeys(sentences)),
    )


def named_set(log: ShotLog, *, bag: str = "", grinder: str = "") -> ComparableSet:
    """Return the comparable shots of a bag and grinder, the last ones pulled by default.

    Parameters
    ----------
    log : ShotLog
        A log that was read.
    bag, grinder : str
        Codes; empty for any.

    Returns
    -------
    ComparableSet

    Raises
    ------
    UnknownNameError
        If the log has no such bag or grinder.
    TooFewShotsError
        If the log holds no shots.
    """
    sets = comparable_sets(log)
    if log.shots.empty:
        raise TooFewShotsError("this log holds no shot that could be compared with another")
    for what, code in (("bag", bag), ("grinder", grinder)):
        known = {getattr(each, what) for each in sets}
        if code and code not in known:
            raise UnknownNameError(
                f"this log has no {what} {quoted(code)}; {nearest(code, sorted(known))}"
            )
    fitting = [s for s in sets if bag in ("", s.bag) and grinder in ("", s.grinder)]
    if not fitting:
        raise UnknownNameError(f"no shot of bag {quoted(bag)} was ground on {quoted(grinder)}")
    return fitting[0]


def named_response(name: str, comparable: ComparableSet, *, bench: Bench) -> str:
    """Return the column of a response that was asked for in a word.

    Parameters
    ----------
    name : str
        An attribute or a column; empty for the first attribute that was scored, or the
        yield where none was.
    comparable : ComparableSet
        Shots it is to be explained in.
    bench : Bench
        Whose attributes come first.

    Returns
    -------
    str
        Canonical name, or `score:` and an attribute.

    Raises
    ------
    UnknownNameError
        If there is no such outcome.

    Examples
    --------
    >>> import pandas as pd
    >>> from yieldwright.bench import Bench
    >>> from yieldwright.taste.columns.comparable import ComparableSet
    >>> shots = pd.DataFrame({"score:overall": [6.0], "ey_pct": [20.0]})
    >>> named_response("overall", ComparableSet("", "", shots), bench=Bench())
    'score:overall'
    """
    scored = _scored(comparable, bench)
    if not name:
        return f"{SCORE_PREFIX}{scored[0]}" if scored else "ey_pct"
    if name in scored:
        return f"{SCORE_PREFIX}{name}"
    if name.startswith(SCORE_PREFIX) and name.removeprefix(SCORE_PREFIX) not in scored:
        known = listing([quoted(each) for each in scored]) if scored else "none"
        raise UnknownNameError(f"no shot has a score for {quoted(name)}; scored were: {known}")
    try:
        role_of(name)
    except UnknownNameError:
        outcomes = [*scored, "ey_pct", "time_s", "tds_pct"]
        raise UnknownNameError(
            f"this log has no outcome {quoted(name)}; {nearest(name, outcomes)}"
        ) from None
    return name


def _scored(comparable: ComparableSet, bench: Bench) -> list[str]:
    """Return the attributes with at least one score, those of the bench first."""
    columns = [name for name in comparable.shots if str(name).startswith(SCORE_PREFIX)]
    found = [
        str(c).removeprefix(SCORE_PREFIX) for c in columns if comparable.shots[c].notna().any()
    ]
    named = [attribute.name for attribute in bench.attributes if attribute.name in found]
    return [*named, *(each for each in found if each not in named)]
