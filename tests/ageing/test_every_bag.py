"""The drift of every bag in one table: each as if alone, and said where there is none."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from tests.evidence.bags import BENCH, bag_logs, case_of, many_bags
from yieldwright.ageing.compared.every_bag import EveryBag, every_bag
from yieldwright.errors import UnknownNameError
from yieldwright.models.mixed.contrasts import mixed_contrast
from yieldwright.models.mixed.groups import grouping
from yieldwright.models.mixed.model import fit_mixed
from yieldwright.shotlog import ShotLog, read_log


def logged(shots: pd.DataFrame, folder: Path) -> ShotLog:
    """Return shots as a log that was read."""
    shots.to_csv(folder / "shots.csv", index=False)
    return read_log(folder / "shots.csv")


def told(shots: pd.DataFrame, folder: Path) -> EveryBag:
    """Return the drift of the time in every bag."""
    return every_bag(logged(shots, folder), "time_s", bench=BENCH)


def test_each_bag_is_fitted_as_if_it_were_alone(tmp_path: Path) -> None:
    shots = many_bags(case_of("line"), 3, np.random.default_rng(4))
    found = told(shots, tmp_path).bags.set_index("bag")
    for name, own in shots.groupby("bag"):
        rows = own.reset_index(drop=True)
        columns = rows[["roast_age_d", "grind_setting", "dose_g"]].to_numpy(dtype=float)
        matrix = np.column_stack([np.ones(len(rows)), columns])
        fit = fit_mixed(matrix, rows["time_s"].to_numpy(), [grouping(rows, "session")])
        alone = mixed_contrast(fit, [0.0, 1.0, 0.0, 0.0], df="kenward_roger")
        row = found.loc[name]
        assert row["per_day"] == pytest.approx(alone.estimate, rel=1e-6)
        assert (row["ci_low"], row["ci_high"]) == pytest.approx(
            (alone.ci_low, alone.ci_high), rel=1e-6
        )


def test_a_bag_with_too_few_sessions_says_so(tmp_path: Path) -> None:
    long, short = bag_logs("line", 2, np.random.default_rng(4))
    found = told(pd.concat([long, short.head(6)]), tmp_path)
    assert found.bags["per_day"].isna().tolist() == [False, True]
    assert found.bags["why_not"].tolist()[1]
    assert found.display_frame()["95 % interval"].tolist()[1] == "too few sessions"


@pytest.mark.parametrize(
    ("lost", "why"),
    [("roast_age_d", "without a roast age"), ("time_s", "without what is followed")],
)
def test_without_ages_or_times_no_bag_is_told_and_said_why(
    lost: str, why: str, tmp_path: Path
) -> None:
    shots = pd.concat(bag_logs("line", 2, np.random.default_rng(4)))
    if lost == "roast_age_d":
        shots = shots.drop(columns="roasted_on")  # or the age is worked out
    for unlogged in (shots.drop(columns=lost), shots.assign(**{lost: np.nan})):
        found = told(unlogged, tmp_path)
        assert (len(found.bags), found.n_shots) == (0, 0)
        assert "no shot of this grinder is left" in found.sentences[0]
        assert f"{len(shots)} shots {why}" in found.sentences[0]
        assert ("roasted_on" in found.sentences[-1]) is (lost == "roast_age_d")


def test_shots_without_a_grind_are_left_out_and_counted(tmp_path: Path) -> None:
    (shots,) = bag_logs("line", 1, np.random.default_rng(4))
    grind = shots["grind_setting"].where(np.arange(len(shots)) >= 3)
    found = told(shots.assign(grind_setting=grind), tmp_path)
    assert found.n_shots == len(shots) - 3
    assert [each.count for each in found.dropped] == [3]
    assert "without its grind setting" in found.dropped[0].reason


def test_a_grind_that_never_changed_in_one_bag_spoils_no_other(tmp_path: Path) -> None:
    first, second = bag_logs("line", 2, np.random.default_rng(4))
    found = told(pd.concat([first, second.assign(grind_setting=12.0)]), tmp_path)
    assert found.bags["per_day"].notna().all()


def test_the_sentence_names_the_bags_in_which_it_falls(tmp_path: Path) -> None:
    shots = many_bags(case_of("line"), 2, np.random.default_rng(4))
    (sentence,) = told(shots, tmp_path).sentences
    assert "shot time falls clearly in bag-0001 and bag-0002" in sentence


def test_shots_without_an_age_are_counted_and_left_out(tmp_path: Path) -> None:
    shots = many_bags(case_of("line"), 2, np.random.default_rng(4))
    ageless = shots.assign(
        roasted_on=shots["roasted_on"].where(shots["bag"] != "bag-0001"),
        roast_age_d=shots["roast_age_d"].where(shots["bag"] != "bag-0001"),
    )
    found = told(ageless, tmp_path)
    assert found.bags["bag"].tolist() == ["bag-0002"]
    assert any(each.count == 36 for each in found.dropped)


def test_an_unknown_grinder_is_refused(tmp_path: Path) -> None:
    log = logged(bag_logs("line", 1, np.random.default_rng(4))[0], tmp_path)
    with pytest.raises(UnknownNameError, match="mill"):
        every_bag(log, "time_s", grinder="mall", bench=BENCH)
