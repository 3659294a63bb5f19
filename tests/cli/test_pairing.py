"""`yieldwright bag --paired-with`: two halves in the same sessions, told, drawn and as JSON."""

from __future__ import annotations

import json
from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from tests.evidence.paired_logs import SCORE, PairedCase, paired_log
from yieldwright.cli.program import main

CASE = PairedCase("halves", sessions=10, difference=0.6, per_day=0.06)


def written(folder: Path, case: PairedCase = CASE) -> str:
    """Return the path of a log of two halves, the first frozen in portions."""
    shots = paired_log(case, np.random.default_rng(6)).shots
    frozen = shots["frozen_d"] > 0
    days = {"frozen_on": shots["pulled_on"].min(), "thawed_on": shots["pulled_on"]}
    told = {name: pd.Series(day, shots.index).where(frozen) for name, day in days.items()}
    kept = shots.drop(columns=["pulled_on", "frozen_d", "roast_age_d"]).assign(**told)
    path = folder / "shots.csv"
    kept.rename(columns={SCORE: "overall"}).to_csv(path, index=False, date_format="%Y-%m-%dT%H:%M")
    return str(path)


def said(capsys: pytest.CaptureFixture[str], *typed: str) -> str:
    assert main(["bag", *typed]) == 0
    return capsys.readouterr().out


def test_the_other_half_has_a_section_of_its_own(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    written(tmp_path)
    monkeypatch.chdir(tmp_path)
    text = said(capsys, "shots.csv", "bag-7a", "--paired-with", "bag-7b")
    flat = " ".join(text.split())
    assert "Beside the other bag: overall score" in text
    assert "bag-7a and bag-7b are halves of one roast" in flat
    assert "beside bag-7a, bag-7b lost" in flat
    own = [line for line in text.splitlines() if not line.startswith("  yieldwright")]
    assert max(map(len, own)) <= 80


def test_a_bag_pulled_in_the_same_sessions_is_pointed_out(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = written(tmp_path)
    text = said(capsys, path, "bag-7b")
    assert "Pulled in the same sessions: bag-7a." in text
    assert f"yieldwright bag {path} bag-7b --paired-with bag-7a" in text
    asked = said(capsys, path, "bag-7b", "--paired-with", "bag-7a")
    assert "Pulled in the same sessions" not in asked


def test_the_object_holds_estimates_sessions_and_what_went_along(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    case = PairedCase("finer", sessions=6, each=(4, 4), finer=1.0)
    path = Path(written(tmp_path, case))
    shots = pd.read_csv(path).sort_values(["session", "bag"], kind="stable")
    place = shots.groupby("session").cumcount() + 1
    shots = shots.assign(position=place, pulled_at=shots["pulled_at"].str[:11] + "10:" +
                         (9 + 5 * place).astype(str).str.zfill(2))  # fmt: skip
    shots.to_csv(path, index=False)
    found = json.loads(said(capsys, str(path), "bag-7a", "--paired-with", "bag-7b", "--json"))
    part = found["parts"]["paired"]
    assert part["bags"] == ["bag-7a", "bag-7b"]
    assert part["kind"] == "two halves"
    assert part["together"] == ["grind_setting"]
    assert len(part["sessions"]) == 6
    assert part["estimates"][0]["term"] == "bag-7a − bag-7b"
    assert {each["code"] for each in part["cautions"]} >= {"bag-with-setting"}


def test_without_the_option_the_object_says_null(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    found = json.loads(said(capsys, written(tmp_path), "bag-7a", "--json"))
    assert found["parts"]["paired"] is None


def test_the_figure_is_written(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    folder = tmp_path / "figures"
    said(capsys, written(tmp_path), "bag-7a", "--paired-with", "bag-7b", "--figures", str(folder))
    assert (folder / "paired-bags.svg").read_text(encoding="utf-8").startswith("<")


def test_a_bag_that_is_not_there_is_refused_by_name(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["bag", written(tmp_path), "bag-7a", "--paired-with", "bag-9"]) == 2
    assert "bag-9" in capsys.readouterr().err


@pytest.mark.parametrize(
    "asked",
    [
        ("bag-7a", "--paired-with", "bag-7a"),
        ("bag-7a", "--against", "bag-7a"),
        ("bag-7a", "--against", "bag-7a", "bag-7a"),
    ],
)
def test_a_bag_is_never_compared_with_itself(
    asked: tuple[str, ...], tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["bag", written(tmp_path), *asked]) == 2
    printed = capsys.readouterr()
    assert printed.out == ""
    assert "bag-7a cannot be compared with itself" in printed.err
    assert f"{asked[1]} takes another bag, such as 'bag-7b'" in printed.err


def test_a_bag_named_beside_others_is_compared_with_those(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    text = said(capsys, written(tmp_path), "bag-7a", "--against", "bag-7a", "bag-7b")
    assert "Bags at equal roast age" in text


def test_one_session_with_both_is_refused_with_what_to_pull(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = written(tmp_path, PairedCase("once", sessions=1))
    flat = " ".join(said(capsys, path, "bag-7a", "--paired-with", "bag-7b").split())
    assert "pulled together in 1 session only" in flat
    assert "Pull two shots of each in the same session" in flat


def test_full_shows_the_table(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    text = said(capsys, written(tmp_path), "bag-7a", "--paired-with", "bag-7b", "--full")
    assert "bag-7b by itself, per day" in text
