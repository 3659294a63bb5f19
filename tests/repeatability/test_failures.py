"""How many shots failed, by setting."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st

from yieldwright.errors import UnknownNameError
from yieldwright.repeatability import failure_rate


def shots(**columns: object) -> pd.DataFrame:
    return pd.DataFrame({"fate": ["pulled"] * 9 + ["choked"], **columns})


def test_the_interval_is_wilsons() -> None:
    # Agresti and Coull 1998, and any table of Wilson's interval: 1 of 10 gives 0.018 to 0.404.
    rates = failure_rate(shots()).rates.iloc[0]
    assert rates["rate"] == 0.1
    assert (rates["ci_low"], rates["ci_high"]) == pytest.approx((0.018, 0.404), abs=0.0005)


def test_no_failure_still_leaves_an_interval() -> None:
    # Wilson's upper limit of 0 of n is z² / (n + z²): 3.84 / 13.84 for ten shots.
    rates = failure_rate(shots().assign(fate="pulled")).rates.iloc[0]
    assert rates["ci_low"] == 0
    assert rates["ci_high"] == pytest.approx(0.2775, abs=0.0005)


def test_rates_are_gathered_by_setting_in_order() -> None:
    found = failure_rate(shots(grind_setting=[12.0, 9.0] * 5), "grind_setting").rates
    assert found["grind_setting"].tolist() == [9.0, 12.0]
    assert found["n_failed"].tolist() == [1, 0]


def test_several_columns_make_one_setting() -> None:
    found = failure_rate(
        shots(grind_setting=[12.0, 9.0] * 5, temp_band=["low"] * 5 + ["high"] * 5),
        ["grind_setting", "temp_band"],
    ).rates
    assert len(found) == 4
    assert found["n_shots"].sum() == 10


def test_a_shot_without_the_setting_is_counted_apart() -> None:
    found = failure_rate(shots(grind_setting=[12.0] * 8 + [np.nan] * 2), "grind_setting").rates
    assert found["grind_setting"].tolist() == [12.0, "not logged"]
    assert found["n_failed"].tolist() == [0, 1]


def test_warm_ups_are_left_out_and_counted() -> None:
    found = failure_rate(shots(stage=["warm_up"] * 2 + ["counted"] * 8))
    assert found.n_shots == 8
    assert str(found.dropped[0]) == "2 shots pulled to warm up"


def test_the_fates_are_told() -> None:
    fates = ["pulled"] * 6 + ["choked", "gushed", "choked", "channelled"]
    sentence = failure_rate(shots().assign(fate=fates)).sentences[0]
    assert sentence.startswith("4 of 10 shots failed (40 %, 95 % interval 17 % to 69 %): ")
    assert "2 choked" in sentence


def test_a_log_without_fates_gives_no_rate_and_says_so() -> None:
    found = failure_rate(shots().drop(columns="fate"))
    assert found.rates["rate"].isna().all()
    assert not found.logged
    assert "does not say how its 10 shots ended" in found.sentences[0]


def test_a_missing_fate_among_others_means_pulled() -> None:
    found = failure_rate(shots().assign(fate=["choked", None] * 5))
    assert found.rates["n_failed"].tolist() == [5]


def test_an_empty_log_gives_no_rate() -> None:
    found = failure_rate(shots().iloc[:0])
    assert found.sentences == ("There is no shot whose end could be counted.",)
    assert found.rates["rate"].isna().all()


def test_an_unknown_setting_is_refused_by_name() -> None:
    with pytest.raises(UnknownNameError, match="no column grind_setting"):
        failure_rate(shots(), "grind_setting")


@given(st.lists(st.sampled_from(["pulled", "choked", "gushed"]), min_size=1, max_size=40))
def test_groups_add_up_to_the_whole(fates: list[str]) -> None:
    table = pd.DataFrame({"fate": fates, "grind_setting": np.arange(len(fates)) % 3 * 1.0})
    parts, whole = failure_rate(table, "grind_setting").rates, failure_rate(table).rates.iloc[0]
    assert parts["n_shots"].sum() == whole["n_shots"] == len(fates)
    assert parts["n_failed"].sum() == whole["n_failed"] == sum(fate != "pulled" for fate in fates)
    assert (parts["ci_low"] <= parts["rate"]).all()
    assert (parts["rate"] <= parts["ci_high"]).all()


def test_the_result_shows_itself() -> None:
    found = failure_rate(shots(grind_setting=12.0), "grind_setting")
    assert "12             10     1       10 %   2 % to 40 %" in found.summary()
    assert "<table>" in found._repr_html_()
