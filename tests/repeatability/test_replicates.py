"""How much shots pulled alike differ."""

from __future__ import annotations

import json
import math
from pathlib import Path

import numpy as np
import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st

from yieldwright.errors import UnknownNameError
from yieldwright.repeatability import SAME, replicate_spread


def test_the_pooled_spread_equals_the_reference(reference: Path) -> None:
    # Davies and Goldsmith's dyestuff, 6 batches of 5: residual variance 2451.25 in closed form.
    folder = reference / "stats" / "mixed_dyestuff"
    values = json.loads((folder / "expected.json").read_text())["expected"]["exact_optimum"]
    data = pd.read_csv(folder / "data.csv").rename(columns={"Batch": "bag", "Yield": "ey_pct"})
    found = replicate_spread(data.astype({"ey_pct": float}), "ey_pct")
    assert found.sd**2 == pytest.approx(values["closed_form_REML"]["residual"], rel=1e-12)
    assert found.df == 24


def test_ten_alike_give_the_known_interval() -> None:
    # χ² tables, 9 degrees of freedom: 0.69 to 1.83 times the standard deviation.
    values = np.arange(10.0)
    found = replicate_spread(pd.DataFrame({"ey_pct": values}), "ey_pct")
    assert found.sd == pytest.approx(values.std(ddof=1))
    assert found.low / found.sd == pytest.approx(0.69, abs=0.005)
    assert found.high / found.sd == pytest.approx(1.83, abs=0.005)


def table(**columns: object) -> pd.DataFrame:
    return pd.DataFrame({"time_s": [30.0, 32.0, 40.0, 42.0, 50.0, 52.0], **columns})


@pytest.mark.parametrize("column", ["bag", "grinder", "session", "temp_band", "time_from"])
def test_shots_that_differ_in_a_name_are_not_alike(column: str) -> None:
    found = replicate_spread(table(**{column: list("aabbcc")}), "time_s")
    assert found.df == 3
    assert found.sd == pytest.approx(math.sqrt(2))


def test_shots_that_differ_in_grind_are_not_alike() -> None:
    found = replicate_spread(table(grind_setting=[8.0, 8, 9, 9, 10, 10]), "time_s")
    assert found.sd == pytest.approx(math.sqrt(2))


def test_tapers_within_the_same_bar_are_alike() -> None:
    found = replicate_spread(table(taper_bar=[1.9, 2.1, 3.0, 3.4, 4.2, 4.4]), "time_s")
    assert found.df == 3
    assert found.groups["taper_bar"].tolist() == [2.0, 3.0, 4.0]


def test_a_shot_with_a_gap_is_like_no_other() -> None:
    found = replicate_spread(table(bag=["a", "a", "a", "a", None, None]), "time_s")
    assert found.n_shots == 4
    assert str(found.dropped[0]) == "2 shots without a like"


def test_a_column_nobody_filled_in_sets_nothing_apart() -> None:
    found = replicate_spread(table(paper=[None] * 6, bag=list("aabbcc")), "time_s")
    assert found.df == 3


def test_shots_without_the_value_are_counted_out() -> None:
    found = replicate_spread(table().assign(time_s=[30.0, np.nan, 31, 33, 35, 31]), "time_s")
    assert str(found.dropped[0]) == "1 shot without shot time"


def test_too_few_repeats_of_a_yield_borrow_a_labelled_assumption() -> None:
    # Policy: 0.3–0.8 points, an assumption with no source, until there are 3 repeats.
    found = replicate_spread(pd.DataFrame({"ey_pct": [19.0, 20.0, 19.5]}), "ey_pct")
    assert found.assumed
    assert (found.low, found.high) == (0.3, 0.8)
    assert math.isnan(found.sd)
    assert "0.3 to 0.8 points is assumed, with no source" in found.sentences[0]


def test_too_few_repeats_of_anything_else_are_not_known() -> None:
    found = replicate_spread(pd.DataFrame({"time_s": [19.0, 20.0]}), "time_s")
    assert not found.assumed
    assert math.isnan(found.low)
    assert found.sentences[0] == (
        "How much like shots differ in shot time is not known: 1 repeat of like shots, and 3 are "
        "needed."
    )


def test_a_spread_is_told_with_interval_repeats_and_sets() -> None:
    found = replicate_spread(table(bag=list("aaabbb")), "time_s")
    assert "(standard deviation; 95 % interval " in found.sentences[0]
    assert "4 repeats in 2 sets of like shots" in found.sentences[0]


def test_scores_are_told_in_points() -> None:
    found = replicate_spread(pd.DataFrame({"score:overall": [5.0, 6, 7, 8]}), "score:overall")
    assert "differ in overall score by 1.3 points" in found.sentences[0]


def test_an_unknown_column_is_refused_by_name() -> None:
    with pytest.raises(UnknownNameError, match="no column ey_pct"):
        replicate_spread(table(), "ey_pct")


@given(
    st.lists(st.floats(10, 30), min_size=4, max_size=20),
    st.floats(-5, 5),
    st.floats(0.1, 10),
)
def test_a_shift_changes_nothing_and_a_scale_scales(
    values: list[float], shift: float, scale: float
) -> None:
    frame = pd.DataFrame({"ey_pct": values})
    plain = replicate_spread(frame, "ey_pct").sd
    moved = replicate_spread(scale * frame + shift, "ey_pct").sd
    assert moved == pytest.approx(scale * plain, rel=1e-6, abs=1e-9)


def test_what_must_agree_can_be_chosen() -> None:
    frame = table(session=list("ababab"))
    assert replicate_spread(frame, "time_s", same=()).df == 5
    assert replicate_spread(frame, "time_s", same=SAME).df == 4


def test_the_result_shows_itself() -> None:
    found = replicate_spread(table(bag=list("aaabbb")), "time_s")
    assert found.title == "How much shots pulled alike differ in shot time"
    assert "n_shots" in found.summary()
