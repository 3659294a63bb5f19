"""Placing shots: regions with probability, what is dropped and why, and the sentences."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest
from scipy.stats import multivariate_normal, norm

from yieldwright.bench import Window
from yieldwright.chart import REGIONS, Placement, place_shots
from yieldwright.errors import OutOfRangeError

CODES = [each.code for each in REGIONS]
MISSING = float("nan")


def shots(**columns: list[float]) -> pd.DataFrame:
    """Return shots of 18 g to 36 g: u and covariance as the bench's budget gives them."""
    table = pd.DataFrame({"tds_pct": [10.0], "ey_pct": [20.0]} | columns)
    table["shot"] = [f"s{number}" for number in range(len(table))]
    known = {"u_tds_pct": 0.05, "u_ey_pct": 0.125, "cov_tds_ey": 0.005}
    return table.assign(**{name: u for name, u in known.items() if name not in table})


def placed(**columns: list[float]) -> Placement:
    return place_shots(shots(**columns), Window())


def test_the_region_is_where_the_point_lies() -> None:
    found = placed(tds_pct=[10.0, 7.0], ey_pct=[20.0, 23.0])
    assert found.placed["region"].tolist() == ["on_target", "weak_over"]


def test_the_probability_of_the_region_is_that_of_its_column() -> None:
    found = placed(tds_pct=[12.02], ey_pct=[21.9])
    assert found.placed["p_region"].item() == found.probabilities["strong"].item()


def test_nine_probabilities_equal_the_reference_engine() -> None:
    # scipy.stats.multivariate_normal.cdf with a lower limit.
    found = placed(tds_pct=[8.03], ey_pct=[18.1]).probabilities[CODES].to_numpy()[0].reshape(3, 3)
    normal = multivariate_normal([8.03, 18.1], [[0.0025, 0.005], [0.005, 0.125**2]])
    levels, edges = [-50, 8, 12, 80], [-50, 18, 22, 80]
    for row in range(3):
        for column in range(3):
            expected = normal.cdf(
                [levels[row + 1], edges[column + 1]], lower_limit=[levels[row], edges[column]]
            )
            assert found[row, column] == pytest.approx(expected, abs=1e-6)


def test_a_shot_on_a_border_is_torn_between_two_regions() -> None:
    found = placed(ey_pct=[22.0]).placed.iloc[0]
    assert (found["region"], found["next_region"]) == ("on_target", "over")
    assert found["p_region"] == pytest.approx(0.5)
    assert found["p_next"] == pytest.approx(0.5)


def test_a_shared_reading_makes_opposite_corners_unlikely() -> None:
    # Strength and yield err together: too weak and over-extracted at once needs opposite errors.
    corner = placed(tds_pct=[8.0], ey_pct=[22.0]).probabilities.iloc[0]
    apart = placed(tds_pct=[8.0], ey_pct=[22.0], cov_tds_ey=[0.0]).probabilities.iloc[0]
    assert apart["weak_over"] == pytest.approx(0.25)
    # Sheppard 1899 with rho = 0.005 / (0.05 * 0.125) = 0.8, mirrored.
    assert corner["weak_over"] == pytest.approx(0.25 - np.arcsin(0.8) / (2 * np.pi))


def test_a_covariance_not_given_follows_from_the_shared_reading() -> None:
    # cov = brew ratio × u_TDS²: 2 × 0.05² for 36 g from 18 g.
    found = place_shots(shots().drop(columns="cov_tds_ey"), Window())
    assert found.placed["cov_tds_ey"].item() == pytest.approx(0.005)


def test_an_exactly_known_shot_is_certain() -> None:
    found = placed(u_tds_pct=[0.0], u_ey_pct=[0.0], cov_tds_ey=[0.0]).placed.iloc[0]
    assert (found["p_region"], found["p_next"]) == (1.0, 0.0)


def test_without_a_reading_error_only_the_yield_is_uncertain() -> None:
    found = placed(ey_pct=[21.9], u_tds_pct=[0.0], cov_tds_ey=[0.0]).probabilities.iloc[0]
    assert found["over"] == pytest.approx(norm.sf(0.1 / 0.125))


def test_full_correlation_is_accepted() -> None:
    found = placed(u_tds_pct=[0.05], u_ey_pct=[0.1], cov_tds_ey=[0.005])
    assert found.probabilities[CODES].sum(axis=1).item() == pytest.approx(1)


def test_a_missing_uncertainty_leaves_region_without_probability() -> None:
    found = placed(u_ey_pct=[MISSING]).placed.iloc[0]
    assert found["region"] == "on_target"
    assert found[["p_region", "p_next", "next_region"]].isna().all()


def test_a_missing_uncertainty_is_a_caution() -> None:
    codes = {caution.code for caution in placed(u_ey_pct=[MISSING]).cautions}
    assert "unknown-uncertainty" in codes


def test_shots_without_a_reading_are_counted_as_such() -> None:
    found = placed(tds_pct=[10.0, MISSING, MISSING], ey_pct=[20.0, MISSING, MISSING])
    assert found.n_shots == 1
    assert [str(each) for each in found.dropped] == ["2 shots without a strength reading"]


def test_shots_without_a_yield_are_counted_apart() -> None:
    found = placed(tds_pct=[10.0, 9.0], ey_pct=[20.0, MISSING])
    assert [each.count for each in found.dropped] == [1]
    assert "dose or beverage mass is missing" in found.dropped[0].reason


def test_a_log_without_readings_gives_an_empty_chart_that_says_so() -> None:
    found = place_shots(pd.DataFrame({"shot": ["1"], "time_s": [30.0]}), Window())
    assert found.n_shots == 0
    assert found.sentences == ("No shot has both a strength and a yield: the chart stays empty.",)


def test_an_empty_log_is_an_empty_chart() -> None:
    assert place_shots(pd.DataFrame({"shot": pd.Series(dtype="str")}), Window()).n_shots == 0


def test_the_sentence_counts_hits_and_close_calls() -> None:
    found = placed(tds_pct=[10.0, 10.0, 10.0, 7.0], ey_pct=[20.0, 21.99, 22.01, 20.0])
    assert found.sentences[0] == (
        "2 of 4 shots with a strength reading lie on target; 2 sit so near a border that "
        "another region is about as likely."
    )


def test_the_sentence_counts_how_many_are_sure() -> None:
    found = placed(tds_pct=[10.0, 10.0], ey_pct=[20.0, 22.0])
    assert found.sentences[1].startswith("1 of 2 lies in the region shown with at least 95 %")


def test_one_shot_gets_the_singular() -> None:
    assert placed().sentences[0] == "1 of 1 shot with a strength reading lies on target."


def test_an_unstated_window_is_called_a_convention() -> None:
    assert "borrowed-window" in {caution.code for caution in placed().cautions}


def test_a_stated_window_needs_no_such_note() -> None:
    assert place_shots(shots(), Window(stated=True)).cautions == ()


def test_names_default_to_the_index() -> None:
    table = shots().drop(columns="shot").set_axis(["x"])
    assert place_shots(table, Window()).placed["shot"].tolist() == ["x"]


def test_the_table_joins_probabilities_to_places() -> None:
    frame = placed(tds_pct=[10.0, 7.0], ey_pct=[20.0, 23.0]).to_frame()
    assert frame.filter(like="p_in_").sum(axis=1).tolist() == pytest.approx([1, 1])


def test_the_table_for_reading_shows_half_widths_and_words() -> None:
    # 1.96 × 0.125 = 0.245 and 1.96 × 0.05 = 0.098, two figures where the first is 1 or 2.
    row = placed().display_frame().iloc[0].to_dict()
    assert row["yield"] == "20.00 ± 0.24 %"
    assert row["region"] == "on target"


def test_the_summary_fits_a_terminal() -> None:
    assert max(map(len, placed().summary().splitlines())) <= 80


def test_the_input_is_not_changed() -> None:
    table = shots()
    before = table.copy()
    place_shots(table, Window())
    pd.testing.assert_frame_equal(table, before)


def test_an_impossible_strength_is_refused_with_the_remedy() -> None:
    with pytest.raises(OutOfRangeError, match=r"tds_pct must lie in 0–100 .*divide by 100\?"):
        placed(tds_pct=[950.0])


def test_a_negative_uncertainty_is_refused() -> None:
    with pytest.raises(OutOfRangeError, match="u_tds_pct must be at least 0"):
        placed(u_tds_pct=[-0.1], cov_tds_ey=[0.0])


def test_a_covariance_beyond_its_uncertainties_is_refused() -> None:
    with pytest.raises(OutOfRangeError, match=r"first 0\.02 against 0\.00625 at row 0"):
        placed(cov_tds_ey=[0.02])


def test_a_window_turned_inside_out_is_refused() -> None:
    with pytest.raises(OutOfRangeError, match=r"swapped\?"):
        place_shots(shots(), Window(yield_low_pct=22, yield_high_pct=18))
