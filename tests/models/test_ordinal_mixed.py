"""Cumulative-link models with groups: against R ordinal, and whatever the scores."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd
import pytest
from hypothesis import given, settings
from scipy import integrate, special, stats

from tests.models.published import agreeing_digits, data, expected
from tests.models.test_ordinal import links, seeds
from yieldwright.errors import AliasedColumnsError, MisalignedError, OutOfRangeError, RoleError
from yieldwright.models.mixed.groups import grouping
from yieldwright.models.ordinal._mixed_search import in_groups
from yieldwright.models.ordinal.effects import ordinal_contrast, ordinal_estimates
from yieldwright.models.ordinal.mixed import OrdinalMixedFit, fit_ordinal_mixed
from yieldwright.models.ordinal.model import fit_ordinal
from yieldwright.models.ordinal.prediction import level_shares
from yieldwright.models.terms.design import build_design
from yieldwright.models.terms.terms import Factor, Numeric

#: Each example is one or two whole fits.
few = settings(max_examples=8)


def wine_fit(reference: Path, **options: Any) -> OrdinalMixedFit:
    """Bitterness of wine with a shift of each judge: Randall (1989), Biometrical J. 31, 781."""
    frame = data(reference, "ordinal_wine")
    terms = [Factor("temp", ("cold", "warm")), Factor("contact", ("no", "yes"))]
    groups = grouping(frame, "judge")
    return fit_ordinal_mixed(build_design(frame, terms), frame["rating"], groups, **options)


def tasted(seed: int, sd: float = 1.5, groups: int = 8, rows: int = 10) -> pd.DataFrame:
    """Return scores of several people who place the same cup higher or lower."""
    rng = np.random.default_rng(seed)
    taster = np.repeat(np.arange(groups), rows)
    grind = rng.choice([8.0, 9.0, 10.0, 11.0], len(taster))
    behind = 0.5 * (grind - 9.5) + rng.normal(0, sd, groups)[taster]
    behind += rng.logistic(size=len(taster))
    score = np.searchsorted([-1.5, 0.0, 1.5], behind) + 1
    return pd.DataFrame({"taster": taster, "grind": grind, "y": score})


def fit(frame: pd.DataFrame, **options: Any) -> OrdinalMixedFit:
    design = build_design(frame, [Numeric("grind")])
    return fit_ordinal_mixed(design, frame["y"], grouping(frame, "taster"), **options)


# The values called `laplace` and `agq_converged` are the optimum to a gradient of 1e-9; R
# ordinal 2022.11-16 (clmm), called `R_…`, stops some 5 digits into the parameters under
# Laplace and at the optimum under 25 nodes.
ENGINES = [(1, "laplace"), (15, "agq_converged"), (25, "R_agq25")]


@pytest.mark.parametrize(("nodes", "name"), ENGINES)
def test_wine_parameters(reference: Path, nodes: int, name: str) -> None:
    printed = expected(reference, "ordinal_wine")["clmm_logit"][name]
    found = wine_fit(reference, nodes=nodes)
    certified = [*printed["alpha"].values(), *printed["beta"].values()]
    assert agreeing_digits(found.params, certified) >= 8
    assert agreeing_digits([found.sd], [printed["sd_judge"]]) >= 8


@pytest.mark.parametrize(("nodes", "name"), [*ENGINES, (1, "R_laplace")])
def test_wine_likelihood(reference: Path, nodes: int, name: str) -> None:
    printed = expected(reference, "ordinal_wine")["clmm_logit"][name]
    found = wine_fit(reference, nodes=nodes)
    digits = 7 if name == "R_laplace" else 12
    assert agreeing_digits([found.log_likelihood], [printed["logLik"]]) >= digits


@pytest.mark.parametrize(("nodes", "name"), ENGINES[:2])
def test_wine_standard_errors(reference: Path, nodes: int, name: str) -> None:
    printed = expected(reference, "ordinal_wine")["clmm_logit"][name]
    found = wine_fit(reference, nodes=nodes)
    assert agreeing_digits(found.std_error, printed["se"].values()) >= 7
    assert agreeing_digits([found.sd_std_error / found.sd], [printed["se_log_sd"]]) >= 7


def test_wine_standard_errors_of_the_package(reference: Path) -> None:
    # R takes its second derivatives numerically, good to 6 digits.
    printed = expected(reference, "ordinal_wine")["clmm_logit"]["R_agq25"]
    found = wine_fit(reference, nodes=25)
    assert agreeing_digits(found.std_error, printed["se"].values()) >= 6
    assert found.aic == pytest.approx(printed["AIC"], rel=1e-12)


def test_wine_judges(reference: Path) -> None:
    printed = expected(reference, "ordinal_wine")["clmm_logit"]["R_agq25"]
    found = wine_fit(reference, nodes=25)
    assert agreeing_digits(found.effects, printed["ranef"]) >= 7
    # R's are given where its inner search stops; the next test checks ours by differences.
    assert agreeing_digits(found.effect_sd**2, printed["condVar"]) >= 4


def test_the_error_of_a_judge_is_the_bend_of_what_is_integrated(reference: Path) -> None:
    found = wine_fit(reference)
    rating = data(reference, "ordinal_wine")["rating"].to_numpy()
    cuts = np.concatenate([[-np.inf], found.params[:4], [np.inf]])
    line = found.design.matrix[:, 1:] @ found.params[4:]

    def height(shift: float, rows: np.ndarray) -> float:
        place = line[rows] + shift
        high, low = cuts[rating[rows]] - place, cuts[rating[rows] - 1] - place
        return np.log(special.expit(high) - special.expit(low)).sum() - (shift / found.sd) ** 2 / 2

    for judge, (mode, error) in enumerate(zip(found.effects, found.effect_sd, strict=True)):
        rows = np.flatnonzero(found.grouping.codes == judge)
        below, at, above = (height(mode + step, rows) for step in (-1e-4, 0.0, 1e-4))
        assert (above - below) / 2e-4 == pytest.approx(0, abs=1e-6)
        assert -(above - 2 * at + below) / 1e-8 == pytest.approx(error**-2, rel=1e-5)


def test_wine_with_a_normal_link(reference: Path) -> None:
    printed = expected(reference, "ordinal_wine")["clmm_probit_agq_converged"]
    found = wine_fit(reference, link="probit")
    certified = [*printed["alpha"].values(), *printed["beta"].values(), printed["sd_judge"]]
    assert agreeing_digits([*found.params, found.sd], certified) >= 9
    assert agreeing_digits([found.log_likelihood], [printed["logLik"]]) >= 12


@pytest.mark.parametrize(("link", "nodes"), [("logit", 1), ("logit", 7), ("probit", 7)])
def test_the_slopes_are_those_of_the_likelihood(link: Any, nodes: int) -> None:
    found = fit(tasted(2), link=link, nodes=nodes)
    grouped = in_groups(found.posing.likelihood(), found.grouping.codes, nodes)
    at = np.append(1.1 * found.highest.params, 0.8)
    steps = 1e-5 * np.eye(len(at))
    slopes = [(grouped.at(at + h).value - grouped.at(at - h).value) / 2e-5 for h in steps]
    assert grouped.at(at).slope == pytest.approx(slopes, rel=1e-6, abs=1e-6)


@pytest.mark.parametrize("link", ["logit", "probit"])
def test_the_likelihood_is_the_integral_over_shifts(link: Any) -> None:
    # Each group's integral by scipy's adaptive quadrature, which shares no code with ours.
    frame = tasted(9, groups=4, rows=6)
    found = fit(frame, link=link, nodes=40)
    assert found.sd > 0.5
    below = special.expit if link == "logit" else special.ndtr
    cuts = np.concatenate([[-np.inf], found.params[:3], [np.inf]])
    line = found.design.matrix[:, 1] * found.params[3]

    def density(shift: float, rows: np.ndarray) -> float:
        score = frame["y"].to_numpy()[rows]
        place = line[rows] + shift
        shares = below(cuts[score] - place) - below(cuts[score - 1] - place)
        return float(np.prod(shares) * stats.norm.pdf(shift, scale=found.sd))

    total = 0.0
    for taster in range(4):
        rows = np.flatnonzero(frame["taster"] == taster)
        total += np.log(integrate.quad(density, -12, 12, args=(rows,), epsabs=1e-14, limit=200)[0])
    assert found.log_likelihood == pytest.approx(total, rel=1e-9)


def test_groups_that_do_not_differ_have_a_spread_of_exactly_zero() -> None:
    # Every taster gives each score as often: there is less between them than by chance.
    frame = pd.DataFrame({"taster": np.repeat([*"abcd"], 6), "y": [1, 2, 2, 3, 3, 4] * 4})
    frame["grind"] = np.tile([8.0, 8, 10, 9, 10, 11], 4)
    found = fit(frame)
    plain = fit_ordinal(found.design, frame["y"])
    assert (found.sd, found.at_edge) == (0.0, True)
    assert np.isnan(found.sd_std_error)
    assert found.effects.tolist() == [0.0] * 4
    assert found.params == pytest.approx(plain.params, rel=1e-12)
    assert found.std_error == pytest.approx(plain.std_error, rel=1e-12)
    assert found.log_likelihood == pytest.approx(plain.log_likelihood, rel=1e-14)


def test_a_known_truth_is_recovered() -> None:
    found = fit(tasted(5, groups=150, rows=20))
    slope = ordinal_contrast(found, {"grind": 1 / 1.5}, limits="wald")
    assert slope.ci_low < 0.5 < slope.ci_high
    assert found.sd == pytest.approx(1.5, abs=3 * found.sd_std_error)
    assert found.params[:3] == pytest.approx([-1.5, 0.0, 1.5], abs=0.4)


@few
@given(seed=seeds, shuffle=seeds, link=links)
def test_the_order_of_rows_and_the_names_of_groups_do_not_matter(
    seed: int, shuffle: int, link: Any
) -> None:
    frame = tasted(seed)
    renamed = frame.assign(taster=(7 * frame["taster"] + 3) % 8)
    before = fit(frame, link=link)
    after = fit(renamed.sample(frac=1, random_state=shuffle), link=link)
    assert after.params == pytest.approx(before.params, rel=1e-6, abs=1e-7)
    assert after.sd == pytest.approx(before.sd, rel=1e-6, abs=1e-7)
    assert after.log_likelihood == pytest.approx(before.log_likelihood, rel=1e-11)


@few
@given(seed=seeds, link=links)
def test_mirrored_scores_turn_the_signs(seed: int, link: Any) -> None:
    frame = tasted(seed)
    before, after = fit(frame, link=link), fit(frame.assign(y=-frame["y"]), link=link)
    assert after.params[3] == pytest.approx(-before.params[3], rel=1e-6, abs=1e-7)
    assert after.effects == pytest.approx(-before.effects, rel=1e-5, abs=1e-6)
    assert after.sd == pytest.approx(before.sd, rel=1e-6, abs=1e-7)


@few
@given(seed=seeds)
def test_groups_never_lower_the_likelihood(seed: int) -> None:
    frame = tasted(seed, sd=0.3)
    found = fit(frame)
    plain = fit_ordinal(found.design, frame["y"])
    assert found.log_likelihood >= plain.log_likelihood - 1e-10


def test_the_profile_has_fallen_far_enough_at_a_limit() -> None:
    # Held at a limit, the slope is an offset: the likelihood of the rest, by a plain search.
    frame = tasted(4, groups=5, rows=8)
    found = fit(frame)
    slope = ordinal_estimates(found)[0]
    along = found.along(found.posing.back[3])
    for limit in (slope.ci_low, slope.ci_high):
        fall = found.log_likelihood - along.value(limit)
        assert fall == pytest.approx(stats.chi2.ppf(0.95, 1) / 2, rel=1e-7)
    assert slope.ci_low < slope.estimate < slope.ci_high


def test_the_profile_without_a_column_is_the_fit_without_it() -> None:
    frame = tasted(6)
    found = fit(frame)
    without = fit_ordinal_mixed(build_design(frame, []), frame["y"], grouping(frame, "taster"))
    ratio = ordinal_estimates(found)[0].statistic ** 2
    assert ratio == pytest.approx(2 * (found.log_likelihood - without.log_likelihood), rel=1e-7)


def test_a_setting_that_separates_gives_a_one_sided_limit_among_groups_too() -> None:
    frame = tasted(7).assign(band=lambda table: np.where(table["y"] == 4, "high", "low"))
    design = build_design(frame, [Factor("band", ("low", "high"))])
    found = fit_ordinal_mixed(design, frame["y"], grouping(frame, "taster"))
    assert found.unbounded["band = high"] == "up"
    band = ordinal_estimates(found)[0]
    assert (band.estimate, band.ci_high) == (np.inf, np.inf)
    assert 0 < band.ci_low < np.inf


def test_shares_are_those_of_a_group_in_the_middle() -> None:
    found = fit(tasted(1))
    shares = [each.estimate for each in level_shares(found, {"grind": 9.5})]
    assert np.cumsum(shares)[:3] == pytest.approx(special.expit(found.params[:3]), rel=1e-12)


def test_groups_that_share_no_level_are_refused() -> None:
    frame = pd.DataFrame({"taster": np.repeat([*"abc"], 5), "y": np.repeat([1, 2, 3], 5)})
    with pytest.raises(OutOfRangeError, match="the 3 groups differ beyond measure"):
        fit_ordinal_mixed(build_design(frame, []), frame["y"], grouping(frame, "taster"))


def test_groups_that_tilt_are_refused() -> None:
    frame = tasted(1)
    tilted = grouping(frame, "taster", slope="grind")
    with pytest.raises(RoleError, match="'taster' tilt along 'grind'"):
        fit_ordinal_mixed(build_design(frame, []), frame["y"], tilted)


def test_groups_of_other_rows_are_refused() -> None:
    frame = tasted(1)
    with pytest.raises(MisalignedError, match="cover 40 rows, the design 80"):
        fit_ordinal_mixed(build_design(frame, []), frame["y"], grouping(frame.head(40), "taster"))


def test_a_copied_column_is_refused_by_name() -> None:
    frame = tasted(1).assign(copy=lambda table: table["grind"])
    design = build_design(frame, [Numeric("grind"), Numeric("copy")])
    with pytest.raises(AliasedColumnsError, match="'grind' and 'copy' cannot be told apart"):
        fit_ordinal_mixed(design, frame["y"], grouping(frame, "taster"))


@pytest.mark.parametrize("nodes", [0, 101])
def test_a_number_of_nodes_that_cannot_be_is_refused(nodes: int) -> None:
    with pytest.raises(OutOfRangeError, match="nodes must lie in 1–100"):
        fit(tasted(1), nodes=nodes)
