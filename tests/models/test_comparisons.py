"""Comparisons of means in pairs, against R emmeans 1.8.4 and R 4.2.2's TukeyHSD."""

from __future__ import annotations

from collections.abc import Iterable
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd
import pytest
from scipy.stats import tukey_hsd

from tests.models.mixed_examples import LEFT_OUT_OF_MACHINES, carried
from tests.models.published import column, data, expected
from tests.models.test_published_means import cars, cars_row, fibre, looms
from yieldwright.errors import OutOfRangeError, RoleError, TooFewShotsError, UnknownNameError
from yieldwright.models.contrasts.comparisons import Comparisons, compare_levels, compare_means
from yieldwright.models.contrasts.estimating import estimated, parameter_weights
from yieldwright.models.linear.model import LinearFit, fit_least_squares
from yieldwright.models.mixed.groups import grouping
from yieldwright.models.mixed.model import MixedFit, fit_mixed
from yieldwright.models.ordinal.model import OrdinalFit, fit_ordinal
from yieldwright.models.terms.design import build_design
from yieldwright.models.terms.terms import Blocks, Factor, Numeric

#: R prints the first less the second, ours is the second less the first: limits change places.
TUKEY = [
    ("estimate", "estimate", -1, 1e-9),
    ("SE", "std_error", 1, 1e-8),
    ("lower.CL", "joint_high", -1, 1e-5),
    ("upper.CL", "joint_low", -1, 1e-5),
    ("p.value", "p_tukey", 1, 1e-6),
]


def of_cars(reference: Path) -> Comparisons:
    figures, fit = expected(reference, "emmeans_mtcars"), cars(reference)
    rows = {c: cars_row(c, figures["mean_wt"]) for c in (4, 6, 8)}
    weights = {c: np.array(list(row.values())) for c, row in rows.items()}
    return compare_means(weights, lambda sums, term: estimated(fit, sums, term=term))


def of_looms(reference: Path, wools: str = "AB") -> Comparisons:
    fit = looms(reference)
    assert fit.design is not None
    cells = {
        tension: [fit.design.row({"cell": f"{wool}{tension}"}) for wool in wools]
        for tension in "LMH"
    }
    weights = {tension: np.mean(rows, axis=0) for tension, rows in cells.items()}
    return compare_means(weights, lambda sums, term: estimated(fit, sums, term=term))


@pytest.mark.parametrize(("printed", "ours", "sign", "tolerance"), TUKEY)
def test_fibre_strength_by_tukey(
    reference: Path, printed: str, ours: str, sign: int, tolerance: float
) -> None:
    target = column(expected(reference, "emmeans_fiber")["additive"]["pairs_tukey"], printed)
    found = compare_levels(fibre(reference), "machine").table()[ours]
    assert (sign * found).tolist() == pytest.approx(target, rel=tolerance)


@pytest.mark.parametrize(("printed", "ours", "sign", "tolerance"), TUKEY)
def test_an_unbalanced_interaction_by_tukey(
    reference: Path, printed: str, ours: str, sign: int, tolerance: float
) -> None:
    target = column(expected(reference, "emmeans_mtcars")["pairs_tukey"], printed)
    found = of_cars(reference).table()[ours]
    assert (sign * found).tolist() == pytest.approx(target, rel=tolerance)


@pytest.mark.parametrize("wool", ["A", "B"])
def test_one_factor_at_the_levels_of_another(reference: Path, wool: str) -> None:
    every = expected(reference, "emmeans_warpbreaks")["pairs_by_wool"]
    rows, found = [row for row in every if row["wool"] == wool], of_looms(reference, wool).table()
    for printed, ours, sign, tolerance in TUKEY:
        target = column(rows, printed)
        assert (sign * found[ours]).tolist() == pytest.approx(target, rel=tolerance)


@pytest.mark.parametrize(("printed", "ours", "sign", "tolerance"), TUKEY)
def test_one_factor_over_the_levels_of_another(
    reference: Path, printed: str, ours: str, sign: int, tolerance: float
) -> None:
    target = column(expected(reference, "emmeans_warpbreaks")["pairs_tension_tukey"], printed)
    found = of_looms(reference).table()[ours]
    assert (sign * found).tolist() == pytest.approx(target, rel=tolerance)


def test_holm_over_the_levels_of_another(reference: Path) -> None:
    target = column(expected(reference, "emmeans_warpbreaks")["pairs_tension_holm"], "p.value")
    assert of_looms(reference).table()["p_holm"].tolist() == pytest.approx(target, rel=1e-7)


def test_chick_weights_by_tukey_and_kramer(reference: Path) -> None:
    # R's ptukey is good to the 7 decimals its file states.
    frame, figures = data(reference, "multcomp_chickwts"), expected(reference, "multcomp_chickwts")
    fit = fit_least_squares(build_design(frame, [Factor("feed")]), frame["weight"])
    found = compare_levels(fit, "feed").table().set_index("term")
    for pair, printed in figures["tukey"].items():
        ours = found.loc[pair.replace("-", " − ")]
        assert ours["estimate"] == pytest.approx(printed["diff"], rel=1e-10)
        assert ours["joint_low"] == pytest.approx(printed["lwr"], rel=1e-5)
        assert ours["joint_high"] == pytest.approx(printed["upr"], rel=1e-5)
        assert ours["p_tukey"] == pytest.approx(printed["p"], abs=1e-7)


def tried_machines(reference: Path) -> MixedFit:
    """Score of workers on three machines, ten rows left out (Pinheiro and Bates)."""
    frame = carried("nlme", "Machines", reference, "mixed_machines_unbalanced")
    if len(frame) == 54:
        frame = frame.drop(index=[row - 1 for row in LEFT_OUT_OF_MACHINES])
    design = build_design(frame, [Factor("Machine", ("A", "B", "C"))])
    groups = [grouping(frame, "Worker", "Machine"), grouping(frame, "Worker")]
    return fit_mixed(design, frame["score"], groups)


# R 4.2.2, lmerTest 3.1-3, emmeans 1.8.4: f <- lmer(score ~ Machine + (1 | Worker/Machine));
# e <- emmeans(f, "Machine", lmer.df = "satterthwaite"); pairs(e, reverse = TRUE). lme4 stops
# at 7 digits of a variance, and limits of a small difference of large ones lose one more.
MACHINE_MEANS = {
    "estimate": [52.3540000940129, 60.3164454611314, 66.2722222222211],
    "std_error": [2.49061573880351, 2.48740707555609, 2.48260861952288],
    "df": [8.72000645876640, 8.67534888592464, 8.60890933517813],
    "ci_low": [46.6921379061073, 54.6572769730578, 60.6170389126556],
    "ci_high": [58.0158622819184, 65.9756139492049, 71.9274055317866],
}
MACHINE_PAIRS = {
    "estimate": [7.96244536711850, 13.91822212820825, 5.95577676108975],
    "std_error": [2.21469866749837, 2.20935598386433, 2.20573821306784],
    "df": [10.1980608627287, 10.1027831927473, 10.0375635577104],
    "ci_low": [3.04074912702749, 9.00225043969130, 1.04357765116177],
    "ci_high": [12.8841416072095, 18.8341938167252, 10.8679758710177],
    "joint_low": [1.9106097365353740, 7.8718266177086633, -0.0870900668439054],
    "joint_high": [14.0142809977016, 19.9646176387078, 11.9986435890234],
    "p_value": [4.73604298277985e-03, 8.51976193889424e-05, 2.22394259543201e-02],
    "p_tukey": [0.012011848876218423, 0.000228161431589768, 0.053339343999650568],
}


def test_means_of_a_mixed_model(reference: Path) -> None:
    found = compare_levels(tried_machines(reference), "Machine").means.values()
    for name, target in MACHINE_MEANS.items():
        assert [getattr(each, name) for each in found] == pytest.approx(target, rel=1e-6)


def test_pairs_of_a_mixed_model_each_with_its_degrees_of_freedom(reference: Path) -> None:
    found = compare_levels(tried_machines(reference), "Machine").table()
    for name, target in MACHINE_PAIRS.items():
        assert found[name].tolist() == pytest.approx(target, rel=2e-6, abs=1e-5)


def test_means_and_pairs_of_a_split_plot(reference: Path) -> None:
    # Same engines: f <- lmer(angle ~ recipe + temp + (1 | recipe:replicate), cake).
    frame = carried("lme4", "cake", reference, "mixed_cake")
    design = build_design(frame, [Factor("recipe"), Numeric("temp")])
    fit = fit_mixed(design, frame["angle"], [grouping(frame, "recipe", "replicate")])
    found = compare_levels(fit, "recipe")
    means = [each.estimate for each in found.means.values()]
    assert means == pytest.approx([33.1222222222218, 31.6444444444443, 31.6], rel=1e-9)
    assert found.means["A"].std_error == pytest.approx(1.73683339798868, rel=1e-7)
    assert [each.estimate.df for each in found.differences] == pytest.approx([42] * 3, rel=1e-6)
    target = [0.819987822397079, 0.810168848527443, 0.999819507973195]
    assert found.table()["p_tukey"].tolist() == pytest.approx(target, rel=1e-6)


def tasted_wine(reference: Path) -> OrdinalFit:
    frame = data(reference, "ordinal_wine")
    design = build_design(frame, [Factor("temp"), Factor("contact")])
    return fit_ordinal(design, frame["rating"])


def test_places_of_ordered_levels_on_the_line_behind_them(reference: Path) -> None:
    # R ordinal 2022.11-16, emmeans 1.8.4: f <- clm(rating ~ temp + contact, data = wine);
    # e <- emmeans(f, "temp", mode = "latent"); pairs(e, reverse = TRUE).
    found = compare_levels(tasted_wine(reference), "temp")
    places = [each.estimate for each in found.means.values()]
    assert places == pytest.approx([-1.33103030042641, 1.17207170747252], rel=1e-7)
    errors = [each.std_error for each in found.means.values()]
    assert errors == pytest.approx([0.362977320914927, 0.345449646865279], rel=1e-7)
    warmer = found.differences[0]
    assert warmer.estimate.estimate == pytest.approx(2.50310200789893, rel=1e-7)
    assert warmer.estimate.ci_low == pytest.approx(1.46690805093923, rel=1e-7)
    assert warmer.p_tukey == pytest.approx(2.19460512972895e-06, rel=1e-5)


def test_four_places_of_ordered_levels_by_tukey(reference: Path) -> None:
    # As above: e <- emmeans(f, ~ temp * contact, mode = "latent"); pairs(e, reverse = TRUE).
    fit = tasted_wine(reference)
    cells = [("cold", "no"), ("warm", "no"), ("cold", "yes"), ("warm", "yes")]
    rows = {cell: fit.design.row({"temp": cell[0], "contact": cell[1]}) for cell in cells}
    weights = {cell: parameter_weights(fit, row) for cell, row in rows.items()}
    found = compare_means(weights, lambda sums, term: estimated(fit, sums, term=term))
    printed = {
        (cells[0], cells[2]): (1.527797658095058, 0.30333897669075, 7.37322523651340e-03),
        (cells[1], cells[2]): (-0.975304349803869, -2.62109284391729, 4.23952193268369e-01),
        (cells[0], cells[3]): (4.030899665993985, 2.03606358427888, 1.24893410302640e-06),
    }
    ours = {(each.first, each.second): each for each in found.differences}
    for pair, (estimate, low, p_value) in printed.items():
        assert ours[pair].estimate.estimate == pytest.approx(estimate, rel=1e-7)
        assert ours[pair].joint_low == pytest.approx(low, rel=1e-5)
        assert ours[pair].p_tukey == pytest.approx(p_value, rel=1e-5)


def gearboxes(reference: Path) -> LinearFit:
    frame = data(reference, "emmeans_mtcars")
    return fit_least_squares(build_design(frame, [Factor("cyl"), Factor("am")]), frame["mpg"])


def test_means_over_levels_as_often_as_met(reference: Path) -> None:
    # emmeans of cyl x wt + am, weights = "proportional".
    figures, fit = expected(reference, "emmeans_mtcars"), cars(reference)
    share = float(data(reference, "emmeans_mtcars")["am"].mean())
    rows = {c: cars_row(c, figures["mean_wt"]) | {"am": share} for c in (4, 6, 8)}
    found = [estimated(fit, row) for row in rows.values()]
    target = figures["emm_cyl_prop"]
    assert [each.estimate for each in found] == pytest.approx(column(target, "emmean"), rel=1e-9)
    assert [each.std_error for each in found] == pytest.approx(column(target, "SE"), rel=1e-8)


def test_weighing_levels_as_met_gives_the_shares_of_the_rows(reference: Path) -> None:
    fit, share = gearboxes(reference), data(reference, "emmeans_mtcars")["am"].mean()
    alike = compare_levels(fit, "cyl").means[4].estimate
    met = compare_levels(fit, "cyl", averaging="as met").means[4].estimate
    slope = estimated(fit, {"am = 1": 1.0}).estimate
    assert met - alike == pytest.approx((share - 0.5) * slope, rel=1e-9)


def test_averages_do_not_move_differences(reference: Path) -> None:
    fit = gearboxes(reference)
    alike, met = (compare_levels(fit, "cyl", averaging=way) for way in ("alike", "as met"))
    assert alike.table()["estimate"].tolist() == pytest.approx(met.table()["estimate"].tolist())


def small(seed: int = 3) -> LinearFit:
    rng = np.random.default_rng(seed)
    frame = pd.DataFrame(
        {
            "band": list("aabbbccdd"),
            "age": [5.0, 9, 6, 8, 12, 5, 11, 7, 10],
            "day": list("uvuvuvuvu"),
            "y": rng.normal(size=9),
        }
    )
    terms = [Factor("band"), Numeric("age"), Blocks("day")]
    return fit_least_squares(build_design(frame, terms), frame["y"])


def test_one_way_comparisons_are_those_of_scipy() -> None:
    rng = np.random.default_rng(5)
    groups = [rng.normal(mean, 1.0, size) for mean, size in [(0, 4), (1, 6), (3, 5)]]
    names = np.repeat(["a", "b", "c"], [4, 6, 5])
    frame = pd.DataFrame({"band": names, "y": np.concatenate(groups)})
    fit = fit_least_squares(build_design(frame, [Factor("band")]), frame["y"])
    found, oracle = compare_levels(fit, "band").table(), tukey_hsd(*groups)
    target = [oracle.pvalue[0, 1], oracle.pvalue[0, 2], oracle.pvalue[1, 2]]
    assert found["p_tukey"].tolist() == pytest.approx(target, rel=1e-7)


def test_two_levels_need_no_correction() -> None:
    frame = pd.DataFrame({"band": list("aabb"), "y": [1.0, 2.0, 5.0, 9.0]})
    fit = fit_least_squares(build_design(frame, [Factor("band")]), frame["y"])
    row = compare_levels(fit, "band").table().iloc[0]
    assert row["p_tukey"] == pytest.approx(row["p_value"])
    assert row["p_holm"] == row["p_value"]
    assert (row["joint_low"], row["joint_high"]) == pytest.approx((row["ci_low"], row["ci_high"]))


def test_joint_limits_hold_the_single_ones() -> None:
    table = compare_levels(small(), "band").table()
    assert (table["joint_low"] < table["ci_low"]).all()
    assert (table["joint_high"] > table["ci_high"]).all()


def told(found: Comparisons) -> list[tuple[Any, Any]]:
    return [(each.first, each.second) for each in found.differences]


def test_neighbours_and_a_reference_are_pairs_of_the_same_family() -> None:
    every = {(d.first, d.second): d for d in compare_levels(small(), "band").differences}
    neighbours = compare_levels(small(), "band", pairs="neighbours")
    against = compare_levels(small(), "band", pairs="reference", reference="b")
    assert told(neighbours) == [("a", "b"), ("b", "c"), ("c", "d")]
    assert told(against) == [("b", "a"), ("b", "c"), ("b", "d")]
    for one in neighbours.differences:
        assert one.p_tukey == every[one.first, one.second].p_tukey
        assert one.p_holm <= every[one.first, one.second].p_holm


def test_where_the_rest_stands_moves_means_and_not_differences() -> None:
    young, old = (compare_levels(small(), "band", at={"age": age}) for age in (5.0, 12.0))
    slope = estimated(
        small(), small().design.row({"age": 12.0}) - small().design.row({"age": 5.0})
    )
    moved = [old.means[name].estimate - young.means[name].estimate for name in "abcd"]
    assert moved == pytest.approx([slope.estimate] * 4)
    assert old.table()["estimate"].tolist() == pytest.approx(young.table()["estimate"].tolist())


def names(found: Iterable[Any]) -> list[str]:
    return [str(each) for each in found]


def test_means_stand_in_the_order_of_the_levels() -> None:
    frame = pd.DataFrame({"band": ["low", "high", "low", "high"], "y": [1.0, 3.0, 2.0, 5.0]})
    fit = fit_least_squares(build_design(frame, [Factor("band", ("low", "high"))]), frame["y"])
    assert names(compare_levels(fit, "band").means) == ["low", "high"]


def test_separated_levels_give_one_sided_limits() -> None:
    frame = pd.DataFrame({"band": list("aaaabbbb"), "y": [1, 1, 2, 2, 3, 3, 3, 3]})
    fit = fit_ordinal(build_design(frame, [Factor("band")]), frame["y"])
    found = compare_levels(fit, "band").differences[0]
    assert found.estimate.estimate == np.inf
    assert np.isfinite(found.estimate.ci_low)
    assert found.estimate.ci_high == np.inf
    assert np.isnan(found.joint_high)


def test_numbers_have_no_levels_to_compare() -> None:
    with pytest.raises(RoleError, match="does not enter as a factor"):
        compare_levels(small(), "age")


def test_what_is_compared_is_not_held() -> None:
    with pytest.raises(RoleError, match="'band' is what is compared"):
        compare_levels(small(), "band", at={"band": "a"})


def test_no_comparison_outside_the_values_tried() -> None:
    with pytest.raises(OutOfRangeError, match="'age' was tried from 5 to 12; 20 lies outside"):
        compare_levels(small(), "band", at={"age": 20.0})


def test_an_unknown_reference_is_refused_with_the_nearest() -> None:
    with pytest.raises(UnknownNameError, match="'e' is none of the means"):
        compare_levels(small(), "band", pairs="reference", reference="e")


def test_words_for_pairs_and_averages_are_checked() -> None:
    with pytest.raises(OutOfRangeError, match="pairs must be"):
        compare_levels(small(), "band", pairs="some")  # type: ignore[arg-type]
    with pytest.raises(OutOfRangeError, match="averaging must be"):
        compare_levels(small(), "band", averaging="equal")  # type: ignore[arg-type]


def test_one_mean_is_compared_with_nothing() -> None:
    with pytest.raises(TooFewShotsError, match="at least two means"):
        compare_means({"a": np.ones(1)}, lambda sums, term: estimated(small(), sums, term=term))


def test_slopes_of_levels_are_compared_as_their_means_are(reference: Path) -> None:
    # emtrends(f, pairwise ~ cyl, var = "wt") of an unbalanced interaction.
    fit, printed = cars(reference), expected(reference, "emmeans_mtcars")["trends_pairs"]
    slopes = {4: {"wt": 1.0}, 6: {"wt": 1.0, "cyl6:wt": 1.0}, 8: {"wt": 1.0, "cyl8:wt": 1.0}}
    weights = {
        name: np.array([slope.get(each, 0.0) for each in fit.names])
        for name, slope in slopes.items()
    }
    found = compare_means(weights, lambda sums, term: estimated(fit, sums, term=term)).table()
    for name, ours, sign, tolerance in TUKEY:
        target = column(printed, name)
        assert (sign * found[ours]).tolist() == pytest.approx(target, rel=tolerance)


def test_trends_over_ordered_levels(reference: Path) -> None:
    # contrast(emmeans(f, "tension"), "poly"): low, medium, high weighed −1, 0, 1 and 1, −2, 1.
    fit, printed = looms(reference), expected(reference, "emmeans_warpbreaks")["poly"]
    assert fit.design is not None
    rows = [
        (fit.design.row({"cell": f"A{t}"}) + fit.design.row({"cell": f"B{t}"})) / 2 for t in "LMH"
    ]
    found = [estimated(fit, np.dot(each, rows)) for each in ([-1, 0, 1], [1, -2, 1])]
    assert [each.estimate for each in found] == pytest.approx(column(printed, "estimate"))
    assert [each.std_error for each in found] == pytest.approx(column(printed, "SE"), rel=1e-8)
    assert [each.p_value for each in found] == pytest.approx(column(printed, "p.value"), rel=1e-7)
