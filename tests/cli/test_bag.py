"""`bag` follows one bag, or says what is missing, whatever log and question it is given."""

from __future__ import annotations

import json
import re
from pathlib import Path
from xml.etree import ElementTree as ET

import numpy as np
import pytest

from tests.cli.asking import Ask, account, asking, flat, widest
from tests.cli.odd_logs import ALL_SET_ASIDE, HEADER, HOSTILE, READABLE, UNREADABLE, row, without
from tests.conftest import ROOT
from tests.evidence.bags import bag_logs
from yieldwright.ageing.best.best_day import BestDay
from yieldwright.ageing.following import follow
from yieldwright.cli import main
from yieldwright.cli.plain_values import NO_LOWER_END, UNKNOWN
from yieldwright.shotlog import read_log

DATASETS = {name: str(ROOT / "datasets" / name) for name in ("evening-class", "one-bag")}
KEYS = [
    *("format", "log", "error", "as_of", "verdict", "missing", "response", "unit", "bag"),
    *("grinder", "allowed_for", "counts", "sentences", "cautions", "entwined", "dates", "parts"),
]
PARTS = ["drift", "best", "lasting", "compensation", "breaks", "ages", "against", "paired", "next",
         "every"]  # fmt: skip
SCREEN = ["What age did", "When it is best", "How the grind must follow"]


@pytest.fixture
def ask(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> Ask:
    """Return a way to ask the text of a log, or a data set by name: code, stdout, stderr."""
    bag = asking("bag", tmp_path, monkeypatch, capsys)
    return lambda text, *options: bag(DATASETS.get(text, text), *options)


def followed(case: str, *, of: tuple[str, ...] = ("overall", "time_s")) -> str:
    """Return a simulated bag of known truth as the text of a log that a reader would keep."""
    (shots,) = bag_logs(case, 1, np.random.default_rng(5))
    kept = shots.rename(columns={"score:overall": "overall"}).drop(columns=["session", "stage"])
    # Purged grounds are what lets a shot right after a grind change count.
    kept = kept.assign(purged_g=3.0)
    unwanted = {"overall", "time_s", "ey_pct"} - set(of)
    return kept.drop(columns=[*unwanted, "ey_pct"], errors="ignore").to_csv(index=False)


def two_bags() -> str:
    """Return a log of two bags of one grinder that were pulled at the same ages."""
    first = "".join(row(n) for n in range(1, 49))
    second = "".join(row(n + 48, bag="bag-2", roasted_on="2026-02-20") for n in range(1, 49))
    return HEADER + first + second


@pytest.mark.parametrize("options", [(), ("--full", "--next", "--against")])
@pytest.mark.parametrize(
    "text", [*READABLE.values(), ALL_SET_ASIDE, HEADER], ids=[*READABLE, "aside", "header"]
)
def test_a_log_that_can_be_read_gets_an_answer_within_eighty_columns(
    ask: Ask, text: str, options: tuple[str, ...]
) -> None:
    code, out, err = ask(text, *options)
    assert (code, err) == (0, "")
    assert "annot tell" in flat(out) or "can be told" in flat(out)
    assert widest(out) <= 80


@pytest.mark.parametrize("text", UNREADABLE.values(), ids=UNREADABLE)
def test_a_log_that_cannot_be_read_gets_one_paragraph(ask: Ask, text: str) -> None:
    code, out, err = ask(text)
    assert (code, out) == (3, "")
    assert len(err.splitlines()) == 1


@pytest.mark.parametrize("name", DATASETS)
def test_a_data_set_is_told_on_about_one_screen(ask: Ask, name: str) -> None:
    code, out, err = ask(name)
    assert (code, err) == (0, "")
    assert widest(out) <= 80
    assert len(out.splitlines()) <= 50


def test_what_age_did_comes_first_and_the_grind_after_the_best_day(ask: Ask) -> None:
    _, out, _ = ask("one-bag")
    assert sorted(SCREEN, key=out.index) == SCREEN
    assert re.search(
        r"Roast age +4 to 36 days; .* frozen for 9 days, which add nothing", flat(out)
    )


def test_a_best_day_stands_on_the_screen_with_the_limits_of_the_account(ask: Ask) -> None:
    text = followed("curve with a peak inside")
    best = account(ask, text)["parts"]["best"]
    _, out, _ = ask(text)
    assert best["verdict"] == "told"
    limits = f"95 % limits day {best['low']:.0f} to {best['high']:.0f}"
    assert limits in flat(out)


def test_a_refused_best_day_reads_as_a_finding_with_the_shots_that_would_tell(ask: Ask) -> None:
    _, out, _ = ask(followed("flat"))
    told = flat(out).partition("When it is best - ")[2]
    assert told.startswith("No best day can be told")
    assert "Three shots each early, in the middle and late" in told


def test_a_grind_that_went_along_with_age_names_the_shot_that_would_separate_them(
    ask: Ask,
) -> None:
    text = followed("always ground finer")
    _, out, _ = ask(text)
    told = account(ask, text)
    (entry,) = told["entwined"]
    assert told["verdict"] == "as brewed"
    assert entry["column"] == "grind_setting"
    assert entry["remedy"].startswith("Pull setting")
    assert entry["remedy"] in flat(out)
    assert flat(out).count(entry["remedy"]) == 1
    assert "cannot be told as long as the grind setting and age go together" in flat(out)


def test_what_else_went_along_with_age_may_have_moved_the_time(ask: Ask) -> None:
    # The class brewed this bag at the low band while fresh, and at the medium band when old.
    _, out, _ = ask("evening-class", "bag-17")
    told = flat(out)
    assert "Temperature band and roast age went together" in told
    assert "may be the doing of the temperature band, which went along with age" in told


def test_a_bag_without_a_usable_shot_says_so_and_offers_the_others(ask: Ask) -> None:
    columns = HEADER.replace("notes", "notes,fate")
    failed = "".join(row(n + 48, bag="bag-2").strip() + ",choked\n" for n in range(1, 5))
    sound = "".join(row(n).strip() + ",pulled\n" for n in range(1, 25))
    code, out, err = ask(columns + sound + failed, "bag-2")
    assert (code, err) == (0, "")
    assert "no shot of bag-2 on g1 can be compared (4 shots not pulled)" in flat(out)
    assert "Also in this log: bag-1 on g1 (15 to 18 days)" in flat(out)
    assert "  yieldwright bag shots.csv bag-1\n" in out


def test_a_service_is_told_before_and_after(ask: Ask) -> None:
    _, out, _ = ask(followed("line with a service"))
    assert "\nBefore and after\n" in out
    assert "burrs cleaned" in out


def test_a_log_without_dates_says_what_to_write(ask: Ask) -> None:
    code, out, _ = ask(without("roasted_on", "pulled_at"))
    assert code == 0
    assert "The log cannot tell how the bag drifts" in flat(out)
    assert "Write roasted_on beside the shots" in flat(out)
    assert not [title for title in SCREEN[:2] if title in out]


def test_one_shot_is_too_few_and_says_so(ask: Ask) -> None:
    code, out, _ = ask(READABLE["one shot"])
    assert code == 0
    assert "The log cannot tell how the bag drifts" in flat(out)
    assert "Where to begin" in out
    assert widest(out) <= 80


def test_a_time_has_no_best_day(ask: Ask) -> None:
    _, out, _ = ask("one-bag", "--of", "time_s")
    assert "When it is best" not in out
    assert flat(out).count("faster with each day") + flat(out).count("faster each day") <= 1


def test_why_nothing_is_said_of_the_grind_is_told(ask: Ask) -> None:
    _, out, _ = ask(followed("line", of=("overall",)))
    assert "How the grind must follow - The log cannot tell" in flat(out)


def test_other_bags_are_listed_with_their_ages(ask: Ask) -> None:
    text = two_bags()
    _, out, _ = ask(text, "bag-1")
    assert "Also in this log: bag-2 on g1 (15 to 21 days)" in flat(out)
    assert "  yieldwright bag shots.csv bag-2\n" in out


def test_commands_offered_at_the_end_ask_the_same_question(ask: Ask) -> None:
    _, out, _ = ask(two_bags(), "bag-1", "--of", "time_s")
    assert "  yieldwright bag shots.csv bag-2 --of time_s\n" in out
    assert "  yieldwright bag shots.csv bag-1 --of time_s --against --next --every --full\n" in out
    _, narrow, _ = ask(two_bags(), "--allow-for", "nothing")
    assert (
        "  yieldwright bag shots.csv --allow-for nothing --against --next --every --full\n"
        in narrow
    )


@pytest.mark.parametrize("against", [(), ("bag-2",)])
def test_bags_are_compared_at_equal_age(ask: Ask, against: tuple[str, ...]) -> None:
    told = account(ask, two_bags(), "bag-1", "--against", *against)
    (pair,) = told["parts"]["against"]["pairs"]
    assert {pair["first"], pair["second"]} == {"bag-1", "bag-2"}
    _, out, _ = ask(two_bags(), "bag-1", "--against", *against)
    assert "Bags at equal roast age" in out


def test_a_starting_point_for_the_next_bag_is_told_to_those_who_ask(ask: Ask) -> None:
    _, plain, _ = ask("one-bag")
    _, out, _ = ask("one-bag", "--next")
    told = account(ask, "one-bag", "--next")["parts"]["next"]
    title = "Where to begin with the next medium bag"
    assert title not in plain
    assert title in out
    assert f"begin at {told['start']:g} for 36 s" in flat(out)


def test_no_starting_point_is_a_finding(ask: Ask) -> None:
    code, out, _ = ask(without("grind_setting"), "--next")
    assert code == 0
    assert "no shot times or grind settings" in flat(out) or "names no bag" in flat(out)


def test_every_part_is_shown_with_its_tables_to_those_who_ask(ask: Ask) -> None:
    code, out, _ = ask("one-bag", "--full")
    assert code == 0
    assert widest(out) <= 80
    for heading in ("Change per day", "AICc", "curve, Fieller", "Quantity", "with age", "What"):
        assert re.search(rf"^  .*{heading}", out, re.MULTILINE) or f"\n{heading}" in out


def test_the_needed_setting_is_told_at_whole_weeks_inside_what_was_tried(ask: Ask) -> None:
    _, out, _ = ask("one-bag", "--full")
    told = account(ask, "one-bag")["parts"]
    ages = [each["roast_age_d"] for each in told["compensation"]["by_week"]]
    assert ages == [7, 14, 21, 28, 35, 36]
    assert re.findall(r"^  (\d+) d, \d weeks? ", out, re.MULTILINE) == [
        "7",
        "14",
        "21",
        "28",
        "35",
    ]


def test_needed_settings_lie_on_those_of_the_fit(ask: Ask) -> None:
    weekly = account(ask, "one-bag")["parts"]["compensation"]["by_week"]
    found = follow(read_log(DATASETS["one-bag"])).compensation
    assert found is not None
    # A parabola through three of the ages reckoned holds from service to service: the need is one.
    for stretch, part in found.needed.groupby("service_stretch"):
        ends = part.iloc[[0, len(part) // 2, -1]]
        law = np.polyfit(ends["roast_age_d"], ends["setting"], 2)
        chosen = [each for each in weekly if each["service_stretch"] == stretch]
        expected = [np.polyval(law, each["roast_age_d"]) for each in chosen]
        assert [each["setting"] for each in chosen] == pytest.approx(expected, abs=0.01)
    assert {each["service_stretch"] for each in weekly} == set(found.needed["service_stretch"])


@pytest.mark.parametrize(
    "text",
    [*READABLE.values(), ALL_SET_ASIDE, *DATASETS],
    ids=[*READABLE, "aside", *DATASETS],
)
def test_the_account_is_one_strict_object_with_the_same_keys(ask: Ask, text: str) -> None:
    told = account(ask, text, "--next", "--against")
    assert list(told) == KEYS
    assert list(told["parts"]) == PARTS


def test_every_number_that_is_none_has_its_reason(ask: Ask) -> None:
    told = account(ask, followed("flat"))["parts"]["best"]
    assert told["low"] is None
    assert told["low_why"] in (UNKNOWN, NO_LOWER_END)
    assert all(each["monte_carlo_error_why"] == UNKNOWN for each in told["limits"])


def test_figures_in_the_account_are_those_of_the_parts_to_the_last_digit(ask: Ask) -> None:
    told = account(ask, "one-bag")["parts"]
    found = follow(read_log(DATASETS["one-bag"]))
    assert found.drift is not None
    assert isinstance(found.best, BestDay)
    frame = found.drift.to_frame()
    for name in ("estimate", "std_error", "df", "ci_low", "ci_high", "p_value"):
        assert [each[name] for each in told["drift"]["changes"]] == frame[name].tolist()
    assert told["best"]["limits"][0]["estimate"] == found.best.table["estimate"][0]


def test_a_refusal_is_an_object_with_the_same_keys(ask: Ask) -> None:
    told = account(ask, two_bags(), "bag-9")
    assert list(told) == KEYS
    assert told["verdict"] == "error"
    assert "bag-9" in told["error"]


def test_every_key_is_explained_by_the_help(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["bag", "--help"]) == 0
    printed = capsys.readouterr().out
    assert [name for name in (*KEYS, *PARTS) if name not in printed] == []
    assert max(map(len, printed.splitlines())) <= 80
    for column in ("roasted_on", "opened_on", "frozen_on", "thawed_on", "serviced"):
        assert column in printed


@pytest.mark.parametrize(
    ("options", "parts"),
    [
        (["bag-9"], ["no bag 'bag-9'", "'bag-1'"]),
        (["--grinder", "g9"], ["no grinder 'g9'", "'g1'"]),
        (["--of", "ovrall"], ["'ovrall'", "did you mean 'overall'?"]),
        (["--of", "grind_setting"], ["not an outcome"]),
        (["--allow-for", "moon"], ["'moon'"]),
        (["--allow-for", "time_s"], ["time_s is an outcome"]),
        (["--allow-for", " , "], ["names no column"]),
        (["--against", "bag-9"], ["'bag-9'", "bag-2"]),
        (["--agianst"], ["did you mean --against?"]),
        (["--of", "time_s", "bag-1"], ["unrecognized arguments: bag-1", "options last"]),
    ],
)
def test_a_question_that_cannot_be_asked_gets_a_remedy(
    ask: Ask, options: list[str], parts: list[str]
) -> None:
    code, out, err = ask(two_bags(), *options)
    assert (code, out) == (2, "")
    assert [part for part in parts if part not in err] == []
    assert len(err.splitlines()) == 1


def test_what_is_allowed_for_can_be_named_or_left_out(ask: Ask) -> None:
    text = followed("line")
    named = account(ask, text, "--allow-for", "grind_setting")
    nothing = account(ask, text, "--allow-for", "nothing")
    assert named["allowed_for"] == ["grind_setting"]
    assert nothing["allowed_for"] == []


HOSTILE_CODES = {
    "escapes": "\x1b]0;t\x07\u202ebag",
    "markup": "<script>alert(1)</script>",
    "shell": "$(touch harmed); `touch harmed`",
    "option": "--full",
    "path": "../../etc/passwd",
    "long": "x" * 5_000,
}


@pytest.mark.parametrize("code", HOSTILE_CODES.values(), ids=HOSTILE_CODES)
@pytest.mark.parametrize("followed_bag", ["bag-1", ""])
def test_no_code_of_a_bag_can_do_harm(ask: Ask, code: str, followed_bag: str) -> None:
    text = two_bags().replace("bag-2", f'"{code}"')
    for options in ((), ("--full", "--against", "--next"), ("--json",)):
        exit_code, out, err = ask(text, *filter(None, [followed_bag]), *options)
        assert exit_code == 0
        assert not {"\x1b", "\x07", "\u202e"} & set(out + err)
        commands = [line for line in out.splitlines() if line.startswith("  yieldwright ")]
        assert [line for line in commands if "$(" in line or "`" in line] == []
        if "--json" not in options:
            assert widest(out) <= 80


def test_no_text_of_a_log_can_steer_the_terminal(ask: Ask) -> None:
    for options in ((), ("--full",), ("--json",)):
        _, out, err = ask(HOSTILE, *options)
        assert not {"\x1b", "\x07", "\u202e"} & set(out + err)


def test_figures_are_written_as_files_of_their_own(ask: Ask) -> None:
    code, out, _ = ask("one-bag", "--against", "--figures", "deep/figures")
    paths = sorted(Path("deep/figures").iterdir())
    assert code == 0
    kinds = ("bag-trend", "bags-compared", "before-after", "needed-settings")
    wanted = [f"{kind}.svg" for kind in kinds]
    assert [path.name for path in paths] == wanted
    assert [path.name for path in paths if path.name not in out] == []
    roots = {ET.parse(path).getroot().tag for path in paths}  # noqa: S314  # our own
    assert roots == {"{http://www.w3.org/2000/svg}svg"}


def test_a_service_is_drawn_before_and_after(ask: Ask) -> None:
    ask(followed("line with a service"), "--figures", "figures")
    assert Path("figures/before-after.svg").is_file()


def test_nothing_is_drawn_where_nothing_was_found(ask: Ask) -> None:
    code, out, _ = ask(READABLE["one shot"], "--figures", "figures")
    assert code == 0
    assert list(Path("figures").iterdir()) == []
    assert "Figures" not in out


def test_a_file_in_place_of_the_figures_folder_is_told_before_any_work(
    ask: Ask, monkeypatch: pytest.MonkeyPatch
) -> None:
    def too_late(*arguments: object, **options: object) -> None:
        raise AssertionError("the log was read first")

    monkeypatch.setattr("yieldwright.shotlog.read_log", too_late)
    code, _, err = ask(two_bags(), "--figures", "shots.csv")
    assert code == 4
    assert "for the figures cannot be made" in err


def test_the_same_question_gets_the_same_answer(ask: Ask) -> None:
    assert ask("one-bag", "--full") == ask("one-bag", "--full")


def test_every_bag_stands_in_one_table_where_asked_for(
    capsys: pytest.CaptureFixture[str], root: Path
) -> None:
    log = str(root / "datasets" / "one-bag")
    assert main(["bag", log, "--of", "time_s", "--every"]) == 0
    out = capsys.readouterr().out
    assert "How the shot time drifts in every bag" in out
    assert all(code in out for code in ("bag-11", "bag-12", "bag-14", "bag-21"))
    assert main(["bag", log, "--of", "time_s", "--every", "--json"]) == 0
    bags = json.loads(capsys.readouterr().out)["parts"]["every"]["bags"]
    assert [each["bag"] for each in bags] == ["bag-11", "bag-12", "bag-14", "bag-21"]


def test_how_long_a_bag_stays_at_a_level_is_told_and_counted(ask: Ask) -> None:
    code, out, err = ask("one-bag", "--of", "ey_pct", "--at-least", "19")
    assert (code, err) == (0, "")
    assert widest(out) <= 80
    assert "How long it lasts" in out
    assert "is not seen to fall below 19 %" in flat(out)
    assert "--at-least 19" in out.splitlines()[-1]
    _, full, _ = ask("one-bag", "--of", "ey_pct", "--at-least", "19", "--full")
    assert "Mean and 19 %" in full
    assert widest(full) <= 80
    part = account(ask, "one-bag", "--of", "ey_pct", "--at-least", "19")["parts"]["lasting"]
    assert (part["at_least"], part["verdict"], part["high"]) == (19, "not yet", None)
    assert part["high_why"]
    assert part["first"] < part["low"] < part["last"]
    assert part["day_why"]
    assert [each["standing"] for each in part["stretches"]] == ["above", "open"]


def test_without_a_level_nothing_is_said_of_how_long_a_bag_lasts(ask: Ask) -> None:
    assert "How long it lasts" not in ask("one-bag")[1]
    assert account(ask, "one-bag")["parts"]["lasting"] is None


def test_a_level_that_cannot_be_told_says_why(ask: Ask) -> None:
    code, out, _ = ask("evening-class", "bag-17", "--of", "ey_pct", "--at-least", "19")
    assert code == 0
    assert "cannot be told: the temperature band and age went together" in flat(out)


@pytest.mark.parametrize("level", ["60", "-1", "6,5", "nan", "inf", "1e999", "six", ""])
def test_a_level_that_is_none_is_wrong_usage(ask: Ask, level: str) -> None:
    try:
        code, out, err = ask("one-bag", "--at-least", level)
    except SystemExit as left:  # as the parser of the command line does
        code, out, err = int(str(left.code)), "", "is no level"
    assert (code, out) == (2, "")
    assert "is no level" in err or "goes from 0 to 10" in err
