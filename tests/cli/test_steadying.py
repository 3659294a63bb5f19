"""`steady` answers, or says what is missing, whatever log and question it is given."""

from __future__ import annotations

import re
from pathlib import Path
from xml.etree import ElementTree as ET

import numpy as np
import pytest

from tests.cli.asking import Ask, account, asking, flat, widest
from tests.cli.odd_logs import ALL_SET_ASIDE, HEADER, HOSTILE, READABLE, UNREADABLE, row, without
from tests.conftest import ROOT
from yieldwright.cli.steady_options import LEAST_BASELINE
from yieldwright.repeatability.charts.watched_series import LEAST

DEMO = str(ROOT / "datasets" / "evening-class")
KEYS = [
    *("format", "log", "error", "as_of", "verdict", "missing", "bag", "grinder", "counts"),
    *("sentences", "cautions", "parts"),
]
PARTS = ["steadiness", "failures", "failing", "watches", "moves", "people", "progress", "tasters"]

TIMES = [36, 38, 35, 37, 40, 36, 33, 37, 38, 35, 36, 34]
ALIKE = "shot,session,barista,time_s,beverage_g\n" + "".join(
    f"{n},m,p1,{time},{36 + n % 4 / 10}\n" for n, time in enumerate(TIMES, start=1)
)


@pytest.fixture
def ask(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> Ask:
    """Return a way to ask the text of a log, or a log by its path: code, stdout, stderr."""
    return asking("steady", tmp_path, monkeypatch, capsys)


@pytest.mark.parametrize(
    "text", [*READABLE.values(), ALL_SET_ASIDE, HEADER], ids=[*READABLE, "aside", "header"]
)
@pytest.mark.parametrize("options", [(), ("--full",)], ids=["screen", "full"])
def test_a_log_that_can_be_read_gets_an_answer_within_eighty_columns(
    ask: Ask, text: str, options: tuple[str, ...]
) -> None:
    code, out, err = ask(text, *options)
    assert (code, err) == (0, "")
    assert widest(out) <= 80
    assert "nan" not in out
    assert "inf" not in out.replace("information", "")


@pytest.mark.parametrize("text", UNREADABLE.values(), ids=UNREADABLE)
def test_a_log_that_cannot_be_read_gets_one_paragraph(ask: Ask, text: str) -> None:
    code, out, err = ask(text)
    assert (code, out) == (3, "")
    assert len(err.splitlines()) == 1


def test_ten_and_two_shots_of_one_setting_tell_the_spread_of_time(ask: Ask) -> None:
    code, out, _ = ask(ALIKE, "--of", "time_s")
    # χ² tables, 11 degrees of freedom: 21.92 and 3.816.
    sd = np.std(TIMES, ddof=1)
    low, high = sd * (11 / 21.92) ** 0.5, sd * (11 / 3.816) ** 0.5
    assert code == 0
    assert f"{sd:.1f} ({low:.1f} to {high:.1f})" in out
    assert "19 times in 20" in out
    assert "four times in five" in flat(out)


def test_the_demo_is_told_on_two_screens_the_spread_first(ask: Ask) -> None:
    code, out, err = ask(DEMO)
    assert (code, err) == (0, "")
    assert widest(out) <= 80
    assert len(out.splitlines()) <= 90
    titles = ["What the shots say", "Failures", "Does it stay so", "Do tasters", "Read with care"]
    assert sorted(titles, key=out.index) == titles


def test_everything_is_told_within_eighty_columns_too(ask: Ask) -> None:
    code, out, _ = ask(DEMO, "--bag", "bag-17", "--full")
    assert code == 0
    assert widest(out) <= 80
    tables = ["Smallest difference of two settings", "Shots at each of two settings", "Kappa"]
    assert [title for title in tables if title not in out] == []


def test_nothing_is_told_twice(ask: Ask) -> None:
    _, out, _ = ask(DEMO, "--bag", "bag-17")
    points = [flat(part) for part in out.replace("\n  -  ", "\n\n").split("\n\n")]
    told = [part for part in points if len(part) > 60]
    assert len(told) == len(set(told))


def test_people_are_shown_by_code_where_that_is_asked(ask: Ask) -> None:
    _, brief, _ = ask(DEMO, "--bag", "bag-17")
    _, out, _ = ask(DEMO, "--bag", "bag-17", "--by", "barista")
    assert out.count("\n  p") > brief.count("\n  p")
    assert "ranked by steadiness" in flat(out)


def test_a_log_without_times_has_no_word_on_time(ask: Ask) -> None:
    _, out, _ = ask(without("time_s"))
    assert "Shot time" not in out
    _, out, _ = ask(without("time_s"), "--of", "time_s")
    assert "no shot that may be compared has a shot time" in flat(out).lower()


def test_one_shot_is_told_what_would_be_needed(ask: Ask) -> None:
    _, out, _ = ask(HEADER + row(1))
    assert "Pull one setting six times in one session" in flat(out)


def test_few_repeats_get_an_interval_alone(ask: Ask) -> None:
    few = "\n".join(ALIKE.splitlines()[:4]) + "\n"
    _, out, _ = ask(few, "--of", "time_s")
    assert "2 repeats cannot tell" in flat(out)
    assert account(ask, few, "--of", "time_s")["verdict"] == "intervals only"


def test_a_hostile_log_stays_harmless_on_the_screen(ask: Ask) -> None:
    code, out, err = ask(HOSTILE, "--full", "--figures", "figures")
    assert (code, err) == (0, "")
    assert "\x1b" not in out


def test_a_taste_named_like_a_path_is_no_path(ask: Ask, tmp_path: Path) -> None:
    text = "shot,score:../../evil,score:<b>\n"
    text += "".join(f"{n},{5 + n % 3},{4 + n % 2}\n" for n in range(1, 15))
    code, _, err = ask(text, "--figures", "figures")
    assert (code, err) == (0, "")
    written = [path for path in tmp_path.rglob("*") if path.suffix == ".svg"]
    assert written
    assert {path.parent for path in written} == {tmp_path / "figures"}


def test_figures_are_written_and_named(ask: Ask) -> None:
    code, out, _ = ask(DEMO, "--bag", "bag-17", "--figures", "figures")
    names = {path.name for path in Path("figures").iterdir()}
    assert code == 0
    assert "steadiness-lanes.svg" in names
    assert "control-chart-time-s.svg" in names
    assert [name for name in names if name not in flat(out)] == []
    for path in Path("figures").iterdir():
        ET.parse(path)  # noqa: S314  # our own


def test_figures_that_cannot_be_written_are_said_before_anything(ask: Ask) -> None:
    Path("figures").write_text("a file", encoding="utf-8")
    code, out, err = ask(ALIKE, "--figures", "figures")
    assert (code, out) == (4, "")
    assert "figures" in err


@pytest.mark.parametrize(
    "text", [DEMO, ALIKE, HOSTILE, READABLE["only failures"], ALL_SET_ASIDE],
    ids=["demo", "alike", "hostile", "failures", "aside"],
)  # fmt: skip
def test_the_account_has_the_keys_of_the_help(ask: Ask, text: str) -> None:
    told = account(ask, text)
    assert list(told) == KEYS
    assert list(told["parts"]) == PARTS
    assert told["error"] is None


def test_the_account_of_the_demo_holds_every_figure(ask: Ask) -> None:
    told = account(ask, DEMO, "--bag", "bag-17")
    assert told["verdict"] == "spreads"
    table = told["parts"]["steadiness"]["table"]
    assert [each["quantity"] for each in table][:2] == ["ey_pct", "time_s"]
    for each in table:
        assert each["ci_low"] < each["sd"] < each["ci_high"]
        assert each["repeatability_limit"] == pytest.approx(2.8 * each["sd"])
    assert len(told["parts"]["watches"]) == len(told["parts"]["people"]) == 2
    assert told["parts"]["steadiness"]["shots_needed"]


def test_a_refusal_is_an_object_too(ask: Ask) -> None:
    told = account(ask, ALIKE, "--of", "grind_setting")
    assert told["verdict"] == "error"
    assert "not measured" in told["error"]
    assert list(told) == KEYS


@pytest.mark.parametrize(
    ("options", "words"),
    [
        (("--of", "tim_s"), "did you mean 'time_s'"),
        (("--of", "grind_setting"), "not measured"),
        (("--of", " , "), "names nothing"),
        (("--bag", "none"), "no bag 'none'"),
        (("--by", "taster"), "invalid choice"),
        (("--ful",), "did you mean --full?"),
    ],
)
def test_wrong_words_get_a_remedy(ask: Ask, options: tuple[str, ...], words: str) -> None:
    code, out, err = ask(ALIKE, *options)
    assert (code, out) == (2, "")
    assert words in err
    assert len(err.splitlines()) == 1


@pytest.mark.parametrize("typed", ["9", "-12", "1e2", "٣٠", "ten", "", "9" * 20, "9" * 5_000])
def test_a_baseline_that_bears_no_limits_is_refused_at_once(ask: Ask, typed: str) -> None:
    code, out, err = ask(ALIKE, f"--baseline={typed}")
    assert (code, out) == (2, "")
    assert "write a whole number, 10 or more" in flat(err)


def test_limits_rest_on_the_first_shots_where_that_is_asked(ask: Ask) -> None:
    told = account(ask, ALIKE, "--of", "time_s", "--baseline", "10")
    (chart,) = told["parts"]["watches"]
    # NIST/SEMATECH e-Handbook, 6.3.2.2: centre, and 3 mean moving ranges over 1.128 either way.
    ranges = np.abs(np.diff(TIMES[:10])).mean()
    assert chart["baseline"] == 10
    assert chart["center"] == pytest.approx(np.mean(TIMES[:10]))
    assert chart["reach"] == pytest.approx(3 * ranges / 1.128, rel=1e-3)
    assert LEAST_BASELINE == LEAST


def test_a_baseline_longer_than_the_log_costs_the_charts_alone(ask: Ask) -> None:
    code, out, _ = ask(ALIKE, "--baseline", "13")
    assert code == 0
    assert "Does it stay so? Limits must rest on 10 to 12 shots, not 13" in flat(out)
    assert "differ in shot time by" in flat(out)


def test_what_is_not_told_is_a_question_and_a_sentence(ask: Ask) -> None:
    _, out, _ = ask("shot,time_s\n1,36\n2,38\n3,35\n")
    told = flat(out).partition("Not told")[2]
    for question in ("Does it stay so", "Who is steady", "Do tasters agree"):
        assert re.search(rf"- {question}\? [A-Z3]", told), question
    assert "Do failures gather in a session? The log does not say how shots ended" in told


def test_a_column_can_be_named_as_the_trade_does(ask: Ask) -> None:
    _, out, _ = ask(ALIKE, "--of", "shot time")
    assert "shot time" in out


def test_other_bags_are_offered_as_commands_that_work(ask: Ask) -> None:
    _, out, _ = ask(DEMO)
    assert "--bag bag-17 --grinder mill-1" in out


def test_a_command_offered_at_the_end_keeps_what_was_typed(ask: Ask) -> None:
    asked = "--of time_s --baseline 10 --by barista"
    _, out, _ = ask(ALIKE, "--as-of", "2026-04-01", *asked.split())
    assert f"  yieldwright steady shots.csv --as-of 2026-04-01 {asked} --full\n" in out
