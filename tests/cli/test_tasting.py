"""`taste` answers, or says what is missing, whatever log and question it is given."""

from __future__ import annotations

import re
from pathlib import Path
from xml.etree import ElementTree as ET

import pandas as pd
import pytest

from tests.cli.asking import Ask, account, asking, flat, widest
from tests.cli.odd_logs import ALL_SET_ASIDE, HEADER, HOSTILE, READABLE, UNREADABLE, row
from tests.conftest import ROOT
from tests.review.logs import HEADER as REVIEW_HEADER
from tests.review.logs import full_marks_rows, two_camps
from yieldwright.cli import main
from yieldwright.cli.taste_excerpt import NOT_TOLD
from yieldwright.results import Result
from yieldwright.shotlog import read_log
from yieldwright.taste.asking import fit

DEMO = str(ROOT / "datasets" / "evening-class")
FAIR = HEADER + "".join(row(n) for n in range(1, 25))
TWO_BAGS = FAIR + "".join(row(n + 40, bag="bag-2") for n in range(1, 25))
KEYS = [
    *("format", "log", "error", "as_of", "verdict", "missing", "response", "unit", "bag"),
    *("grinder", "settings", "allowed_for", "model", "why", "counts", "sentences", "cautions"),
    "parts",
]
PARTS = [
    *("effects", "means", "turning", "spreads", "steps", "random_tasters", "tasters", "shares"),
    *("sensitivity", "surface", "prediction"),
]


@pytest.fixture
def taste(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> Ask:
    """Return a way to ask the text of a log, or a log by its path: code, stdout, stderr."""
    return asking("taste", tmp_path, monkeypatch, capsys)


@pytest.mark.parametrize(
    "text", [*READABLE.values(), ALL_SET_ASIDE, HEADER], ids=[*READABLE, "aside", "header"]
)
def test_a_log_that_can_be_read_gets_an_answer_within_eighty_columns(
    taste: Ask, text: str
) -> None:
    code, out, err = taste(text)
    assert (code, err) == (0, "")
    assert "cannot tell" in out
    assert widest(out) <= 80


@pytest.mark.parametrize("text", UNREADABLE.values(), ids=UNREADABLE)
def test_a_log_that_cannot_be_read_gets_one_paragraph(taste: Ask, text: str) -> None:
    code, out, err = taste(text)
    assert (code, out) == (3, "")
    assert len(err.splitlines()) == 1


def test_the_demo_is_told_on_two_screens_with_what_could_have_been_found(taste: Ask) -> None:
    code, out, err = taste(DEMO)
    lines = out.splitlines()
    assert (code, err) == (0, "")
    assert widest(out) <= 80
    assert len(lines) <= 100
    assert "Could find" in out
    titles = ["What the shots say", "How firm that is", "Read with care"]
    assert sorted(titles, key=out.index) == titles


def test_no_line_ends_between_a_figure_and_its_percent_sign(taste: Ask) -> None:
    _, out, _ = taste(DEMO)
    assert re.search(r"^\s+% ", out, re.MULTILINE) is None


def test_everything_is_told_within_eighty_columns_too(taste: Ask) -> None:
    code, out, _ = taste(DEMO, "--full")
    assert code == 0
    assert widest(out) <= 80
    assert "taster by taster" in out
    assert "Surface of" in out


@pytest.mark.parametrize("options", [(), ("--full",), ("--surface", "--by-taster")])
def test_nothing_is_told_twice(taste: Ask, options: tuple[str, ...]) -> None:
    _, out, _ = taste(DEMO, "--bag", "bag-17", *options)
    points = [flat(part) for part in re.split(r"\n  (?:-|stop|care|note)  |\n\n", out)]
    told = [part for part in points if len(part) > 60]
    assert len(told) == len(set(told))
    assert flat(out).count("cannot be told apart in this log") == 1


def test_an_effect_that_cannot_be_told_apart_has_no_number(taste: Ask) -> None:
    _, out, _ = taste(DEMO, "--bag", "bag-17")
    (line,) = [line for line in out.splitlines() if line.startswith("  low → medium")]
    assert NOT_TOLD in line
    assert "7 to" not in line


def test_camps_of_tasters_come_first_and_with_each_tasters_effects(
    taste: Ask, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (tmp_path / "camps").mkdir()
    two_camps(tmp_path / "camps")
    assert main(["taste", "camps"]) == 0
    out = capsys.readouterr().out
    points = flat(out).partition("What the shots say - ")[2]
    assert points.startswith("Tasters fall into two camps over one setting coarser")
    assert out.count("two camps") == 1
    assert re.search(r"one setting coarser +D ", out)


def test_where_scores_are_read_as_steps_the_line_has_no_interval(taste: Ask) -> None:
    full = "\n".join([REVIEW_HEADER, *full_marks_rows(40)]) + "\n"
    _, out, _ = taste(full)
    told = account(taste, full)
    line = pd.DataFrame(told["parts"]["effects"]["effects"])
    assert flat(out).count("Read the odds: ") == 1
    assert "Odds, times" in out
    assert "at each setting, everything else alike" not in out
    shown = re.search(r"one setting coarser +(\S+) +\S+ to \S+ +\S+ +(\S+)$", out, re.MULTILINE)
    assert shown is not None
    assert float(shown[2].replace("−", "-")) == pytest.approx(line["estimate"][0], abs=0.05)
    assert len(shown[2]) <= 5


def test_another_grinder_is_offered_with_the_options_that_choose_it(taste: Ask) -> None:
    other = "".join(row(n + 40, grinder="g2") for n in range(1, 13))
    _, out, _ = taste(FAIR + other)
    assert "Also in this log: bag-1 on g1." in out
    assert "yieldwright taste shots.csv --bag bag-1 --grinder g1" in out


def test_commands_offered_at_the_end_ask_the_same_question(taste: Ask) -> None:
    _, out, _ = taste(DEMO, "--response", "time_s", "--bag", "bag-18")
    assert f"yieldwright taste {DEMO} --response time_s --bag bag-17" in out
    assert f"yieldwright taste {DEMO} --response time_s --bag bag-18 --full" in out


def test_a_command_offered_at_the_end_keeps_what_was_typed(taste: Ask) -> None:
    asked = ["--pool-bags", "--settings", "grind_setting", "--allow-for", "nothing"]
    _, out, _ = taste(TWO_BAGS, "--as-of", "2026-04-01", *asked, "--model", "blocks")
    kept = f"yieldwright taste shots.csv --as-of 2026-04-01 {' '.join(asked)} --model blocks"
    assert f"  {kept} --full\n" in out
    assert f"  {kept} --response ey_pct\n" in out


def test_each_tasters_own_effects_are_shown_to_those_who_ask(taste: Ask) -> None:
    _, plain, _ = taste(DEMO)
    _, asked, _ = taste(DEMO, "--by-taster")
    assert "taster by taster" not in plain
    assert re.search(r"^  one setting coarser +t2 ", asked, re.MULTILINE)


def test_what_was_measured_has_no_tasters(taste: Ask) -> None:
    _, out, _ = taste(DEMO, "--by-taster", "--response", "time_s")
    assert "the shot time is measured, not tasted" in out


def test_a_shot_is_predicted_where_settings_were_tried(taste: Ask) -> None:
    _, out, _ = taste(DEMO, "--response", "time_s", "--shot-at", "grind_setting=9,temp_band=high")
    assert "At setting 9 and the high band the shot time averages" in flat(out)
    assert "The next shot, in another session, is expected between" in flat(out)


def test_no_shot_is_predicted_where_nothing_was_tried(taste: Ask) -> None:
    _, out, _ = taste(DEMO, "--response", "time_s", "--shot-at", "grind_setting=30")
    told = account(taste, DEMO, "--response", "time_s", "--shot-at", "grind_setting=30")
    assert "tried from 8 to 10" in flat(out)
    assert told["parts"]["prediction"]["mean"] is None
    assert "tried from 8 to 10" in told["parts"]["prediction"]["refused"]


def test_a_column_may_be_named_by_a_header_of_ones_own(taste: Ask) -> None:
    bench = Path("bench.toml")
    bench.write_text('[columns]\n"Mahlgrad" = "grind_setting"\n', encoding="utf-8")
    own = FAIR.replace("grind_setting", "Mahlgrad", 1)
    told = account(taste, own, "--settings", "Mahlgrad", "--response", "time")
    assert (told["settings"], told["response"]) == (["grind_setting"], "time_s")


def test_what_is_allowed_for_can_be_named_or_left_out(taste: Ask) -> None:
    named = account(taste, FAIR, "--allow-for", "position")
    nothing = account(taste, FAIR, "--allow-for", "nothing")
    assert named["allowed_for"] == ["position"]
    assert nothing["allowed_for"] == []


def test_all_bags_can_stand_in_one_fit(taste: Ask) -> None:
    alone = account(taste, TWO_BAGS, "--bag", "bag-2")
    pooled = account(taste, TWO_BAGS, "--pool-bags")
    assert alone["counts"]["shots"] == 24
    assert pooled["counts"]["shots"] == 48


def test_the_model_can_be_asked_for(taste: Ask) -> None:
    told = [account(taste, FAIR, "--model", name)["why"] for name in ("blocks", "mixed")]
    assert told[0] != told[1]


@pytest.mark.parametrize(
    ("options", "parts"),
    [
        (["--settings", "time_s"], ["time_s is an outcome", "cannot explain"]),
        (["--settings", "grnd_setting"], ["'grnd_setting'", "did you mean 'grind_setting'?"]),
        (["--settings", "moon"], ["'moon'", "'grind_setting'"]),
        (["--settings", "soak_min"], ["soak_min is not in this log", "grind_setting"]),
        (["--allow-for", "session"], ["allowed for without being asked"]),
        (["--response", "ovrall"], ["'ovrall'", "did you mean 'overall'?"]),
        (["--response", "grind_setting"], ["not an outcome"]),
        (["--bag", "bag-9"], ["no bag 'bag-9'", "'bag-1'"]),
        (["--grinder", "g9"], ["no grinder 'g9'", "'g1'"]),
        (["--shot-at", "temp_band=hot"], ["'hot'", "'low', 'medium' and 'high'"]),
        (["--shot-at", "time_s=30"], ["none of the columns asked about"]),
        (["--shot-at", "grind_setting"], ["is no pair", "grind_setting=11.5"]),
        (["--shot-at", "grind_setting=11,5"], ["'5' is no pair", "decimals after a point"]),
        (["--shot-at", "dose_g=18,dose_g=19"], ["stated twice"]),
        (["--settings", " , "], ["names no column"]),
        (["--bag", "bag-1", "--pool-bags"], ["not allowed with"]),
        (["--by-tastr"], ["did you mean --by-taster?"]),
    ],
)
def test_a_question_that_cannot_be_asked_gets_a_remedy(
    taste: Ask, options: list[str], parts: list[str]
) -> None:
    code, out, err = taste(FAIR, *options)
    assert (code, out) == (2, "")
    assert [part for part in parts if part not in err] == []
    assert len(err.splitlines()) == 1


@pytest.mark.parametrize(
    "text", [*READABLE.values(), ALL_SET_ASIDE, FAIR], ids=[*READABLE, "aside", "fair"]
)
def test_the_account_is_one_strict_object_with_the_same_keys(taste: Ask, text: str) -> None:
    told = account(taste, text)
    assert list(told) == KEYS
    assert list(told["parts"]) == PARTS


def test_every_part_of_an_answer_is_in_the_account(taste: Ask) -> None:
    told = account(taste, DEMO)
    found = fit(read_log(DEMO))
    beside = {name for name, each in vars(found).items() if isinstance(each, Result)} - {"line"}
    named = {name for name, part in told["parts"].items() if part is not None}
    assert named == beside | {"effects"}
    assert found.means is not None
    rows = told["parts"]["means"]["means"]
    assert [each["estimate"] for each in rows] == found.means.means["estimate"].tolist()


def test_a_refusal_is_an_object_with_the_same_keys(taste: Ask) -> None:
    told = account(taste, FAIR, "--bag", "bag-9")
    assert list(told) == KEYS
    assert told["verdict"] == "error"
    assert "bag-9" in told["error"]


def test_every_key_is_explained_by_the_help(capsys: pytest.CaptureFixture[str]) -> None:
    main(["taste", "--help"])
    printed = capsys.readouterr().out
    assert [name for name in (*KEYS, *PARTS) if name not in printed] == []


def test_effects_in_the_account_are_those_of_the_fit_to_the_last_digit(taste: Ask) -> None:
    told = account(taste, DEMO, "--response", "time_s")
    found = fit(read_log(DEMO), "time_s").effects
    rows = pd.DataFrame(told["parts"]["effects"]["effects"])
    for name in ("estimate", "std_error", "df", "ci_low", "ci_high", "p_value", "detectable"):
        assert rows[name].tolist() == found[name].tolist()


def test_cautions_in_the_account_have_code_severity_and_remedy(taste: Ask) -> None:
    told = account(taste, FAIR)["cautions"]
    assert told
    assert {tuple(each) for each in told} == {("code", "severity", "sentence", "remedy", "about")}


def test_no_text_of_a_log_can_steer_the_terminal(taste: Ask) -> None:
    text = HOSTILE.replace("bag-1", "\x1b]0;t\x07<b>")
    for options in ((), ("--full",), ("--json",)):
        _, out, err = taste(text, *options)
        assert not {"\x1b", "\x07", "\u202e"} & set(out + err)


def test_figures_are_written_as_files_of_their_own(taste: Ask) -> None:
    code, out, _ = taste(DEMO, "--figures", "deep/figures")
    paths = sorted(Path("deep/figures").iterdir())
    assert code == 0
    assert {path.stem for path in paths} >= {"effects", "setting-means", "taster-lanes"}
    assert [path.name for path in paths if path.name not in out] == []
    roots = {ET.parse(path).getroot().tag for path in paths}  # noqa: S314  # our own
    assert roots == {"{http://www.w3.org/2000/svg}svg"}


def test_a_file_in_place_of_the_figures_folder_is_told_before_any_work(
    taste: Ask, monkeypatch: pytest.MonkeyPatch
) -> None:
    def too_late(*arguments: object, **options: object) -> None:
        raise AssertionError("the log was read first")

    monkeypatch.setattr("yieldwright.shotlog.read_log", too_late)
    code, _, err = taste(FAIR, "--figures", "shots.csv")
    assert code == 4
    assert "for the figures cannot be made" in err


def test_a_folder_for_figures_without_a_name_is_refused(taste: Ask) -> None:
    code, out, err = taste(FAIR, "--figures", "")
    assert (code, out) == (4, "")
    assert "write one after --figures" in err


def test_the_same_question_gets_the_same_answer(taste: Ask) -> None:
    assert taste(DEMO) == taste(DEMO)
