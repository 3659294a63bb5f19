"""Which files of a folder are one log, and what is said about those that are not."""

from __future__ import annotations

import os
import sys
from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from yieldwright.errors import UnreadableLogError
from yieldwright.shotlog.formats.files import READABLE_ENDINGS, LogFiles, find_files

posix = pytest.mark.skipif(os.name != "posix", reason="needs links and pipes of POSIX")


@dataclass(frozen=True)
class Trap:
    """The files of a folder, and which of them are the log.

    Attributes
    ----------
    name : str
        What the trap is.
    holds : str
        Names in the folder, separated by bars.
    shots, tastings : str
        Names that are read, in order, separated by bars.
    remarks : tuple of str
        Part of each remark.
    """

    name: str
    holds: str
    shots: str = "shots.csv"
    tastings: str = ""
    remarks: tuple[str, ...] = ()


TRAPS = (
    Trap("shots alone", "shots.csv"),
    Trap("shots and tastings", "shots.csv|tastings.csv", tastings="tastings.csv"),
    *(Trap(f"shots{ending}", f"shots{ending}", f"shots{ending}") for ending in READABLE_ENDINGS),
    Trap("capital letters", "SHOTS.CSV|Tastings.Tsv", "SHOTS.CSV", "Tastings.Tsv"),
    Trap("tastings in another format", "shots.xlsx|tastings.csv", "shots.xlsx", "tastings.csv"),
    Trap(
        "several files are one log",
        "shots-march.csv|shots-april.csv",
        "shots-april.csv|shots-march.csv",
        remarks=("shots-april.csv and shots-march.csv are read as one table of shots.",),
    ),
    Trap(
        "several formats are one log",
        "shots-2025.xlsx|shots_2026.csv|shots.parquet",
        "shots.parquet|shots-2025.xlsx|shots_2026.csv",
        remarks=("shots.parquet, shots-2025.xlsx and shots_2026.csv are read as one",),
    ),
    Trap(
        "nine comes before ten",
        "shots-10.csv|shots-9.csv|shots-09b.csv",
        "shots-9.csv|shots-09b.csv|shots-10.csv",
        remarks=("shots-9.csv, shots-09b.csv and shots-10.csv are read",),
    ),
    Trap(
        "several files of tastings",
        "shots.csv|tastings-a.csv|tastings-b.csv",
        tastings="tastings-a.csv|tastings-b.csv",
        remarks=("are read as one table of tastings",),
    ),
    Trap("files of other names", "shots.csv|spring.csv|bench.md|page.html|screenshots.txt"),
    Trap("other files of that name", "shots.csv|shots.png|shots.csv.part|shots.csv~|shots.bak"),
    Trap("an open workbook", "shots.xlsx|~$shots.xlsx", "shots.xlsx"),
    Trap("an open sheet", "shots.csv|.~lock.shots.csv#"),
    Trap("a hidden twin of another system", "shots.csv|._shots.csv|.shots.xlsx"),
    Trap(
        "a backup",
        "shots.csv|shots-backup.csv",
        remarks=(
            (
                "shots-backup.csv is not read: it is named like a copy; if it belongs to the "
                "log, name it shots-more.csv."
            ),
        ),
    ),
    Trap(
        "a copy with a number",
        "shots.csv|shots - Copy (2).csv",
        remarks=("shots - Copy (2).csv is not read: it is named like a copy",),
    ),
    Trap(
        "a second download",
        "shots.csv|shots (1).csv",
        remarks=("shots (1).csv is not read: if it belongs to the log, name it shots-more.csv",),
    ),
    Trap(
        "a word in front",
        "shots.csv|Copy of tastings.csv",
        remarks=("Copy of tastings.csv is not read: if it belongs to the log, name it tastings",),
    ),
    Trap(
        "a word that only sounds like a copy",
        "shots-old-grinder.csv|shots-scopy.csv",
        "shots-old-grinder.csv|shots-scopy.csv",
        remarks=("are read as one",),
    ),
    Trap(
        "rows set aside before",
        "shots.csv|set-aside-shots.csv",
        remarks=("holds rows set aside; once corrected, name it shots-corrected.csv",),
    ),
    Trap(
        "tastings set aside before",
        "shots.csv|tastings-set-aside.xlsx|set-aside.csv",
        remarks=("set-aside.csv is not", "name it tastings-corrected.xlsx"),
    ),
    Trap(
        "rows set aside and corrected",
        "shots.csv|shots-corrected.csv",
        "shots.csv|shots-corrected.csv",
        remarks=("are read as one",),
    ),
    Trap(
        "an old workbook beside",
        "shots.csv|tastings.xls",
        remarks=("tastings.xls is not read: save it as .xlsx.",),
    ),
    Trap(
        "a workbook with macros beside",
        "shots.csv|shots-may.XLSM",
        remarks=("shots-may.XLSM is not read: save it as .xlsx, without macros.",),
    ),
    Trap(
        "plain JSON beside",
        "shots.csv|tastings.json",
        remarks=("tastings.json is not read: write one object a line, and call it .jsonl.",),
    ),
    Trap(
        "an ending that is not shown",
        "shots.csv|bench.toml.txt|tastings.csv.txt",
        remarks=(
            "bench.toml.txt is not read: the bench is described in bench.toml, so take the .txt",
            "tastings.csv.txt is not read: if it belongs to the log, name it tastings-more.txt",
        ),
    ),
    Trap("a folder inside", "shots.csv|spring/shots.csv"),
    Trap(
        "a folder named like a file",
        "shots.csv|tastings.csv/page.html",
        remarks=("tastings.csv is not read: it is a folder.",),
    ),
)

REFUSED = {
    "an empty folder": ("", r"holds no shots\.csv; name the log so, or shots\.xlsx, .* the path"),
    "a log by another name": ("spring.csv", r"holds no shots\.csv \(it holds spring\.csv\); name"),
    "many tables": (
        "a.csv|b.tsv|c.txt|d.csv|e.xlsx",
        r"it holds a\.csv, b\.tsv, c\.txt and 2 more",
    ),
    "tastings alone": ("tastings.csv", r"holds no shots\.csv \(it holds tastings\.csv\)"),
    "one shot": (
        "shot.csv",
        r"shot\.csv is not read: if it belongs to the log, name it shots-more",
    ),
    "an old workbook": ("shots.xls", r"\(shots\.xls is not read: save it as \.xlsx\)"),
    "an open document": ("Shots.ods", r"Shots\.ods is not read: save it as \.xlsx or \.csv"),
    "a zipped file": ("shots.zip", r"shots\.zip is not read: unpack it"),
    "a copy alone": ("shots-copy.csv", r"shots-copy\.csv is not read: it is named like a copy"),
    "a log in a folder inside": (
        "spring/shots.csv|notes/a.md",
        r"the folder spring in it has shots",
    ),
    "a folder for a file": ("shots.csv/a", r"shots\.csv is not read: it is a folder"),
    "one table in two formats": ("shots.csv|shots.xlsx", r"holds shots\.csv and shots\.xlsx: one"),
    "two spellings of one name": (
        "shots-may.csv|shots_May.tsv",
        r"one table saved twice\? Move all",
    ),
    "tastings in two formats": (
        "shots.csv|tastings.csv|tastings.tsv",
        r"such as tastings-march and",
    ),
}

every_trap = pytest.mark.parametrize("trap", TRAPS, ids=lambda trap: trap.name)


def lay_out(folder: Path, holds: str) -> Path:
    """Make the files that a folder holds."""
    for name in filter(None, holds.split("|")):
        path = folder / name
        path.parent.mkdir(exist_ok=True)
        path.touch()
    return folder


def names(paths: Iterable[Path]) -> str:
    return "|".join(path.name for path in paths)


@every_trap
def test_the_files_of_the_log_are_found_in_order(trap: Trap, tmp_path: Path) -> None:
    files = find_files(lay_out(tmp_path, trap.holds))
    assert (names(files.shots), names(files.tastings)) == (trap.shots, trap.tastings)


@every_trap
def test_what_is_joined_or_left_out_is_told(trap: Trap, tmp_path: Path) -> None:
    remarks = find_files(lay_out(tmp_path, trap.holds)).remarks
    assert len(remarks) == len(trap.remarks)
    for remark, part in zip(remarks, trap.remarks, strict=True):
        assert part in remark
        assert remark.endswith(".")


@pytest.mark.parametrize("name", REFUSED)
def test_a_folder_that_is_no_single_log_is_refused(name: str, tmp_path: Path) -> None:
    holds, message = REFUSED[name]
    with pytest.raises(UnreadableLogError, match=message) as refusal:
        find_files(lay_out(tmp_path, holds))
    assert "\n" not in str(refusal.value)


def test_no_two_traps_share_a_name() -> None:
    every = [*(trap.name for trap in TRAPS), *REFUSED]
    assert len(every) == len(set(every)) >= 20


@pytest.mark.parametrize("name", ["bench.toml", "Bench.TOML"])
def test_the_bench_of_a_folder_is_found(name: str, tmp_path: Path) -> None:
    assert find_files(lay_out(tmp_path, f"shots.csv|{name}")).bench == tmp_path / name


def test_a_bench_in_small_letters_comes_first(tmp_path: Path) -> None:
    lay_out(tmp_path, "shots.csv|BENCH.toml|bench.toml|bench.tomL")
    if len(list(tmp_path.iterdir())) < 4:
        pytest.skip("this disk takes small and capital letters for the same")
    assert find_files(tmp_path).bench == tmp_path / "bench.toml"


def test_a_folder_without_a_bench_has_none(tmp_path: Path) -> None:
    assert find_files(lay_out(tmp_path, "shots.csv|bench.toml/a")).bench is None


@pytest.mark.parametrize("name", ["spring.csv", "set-aside-shots.csv", "shots.odd"])
def test_a_single_file_is_read_by_any_name_with_the_bench_beside_it(
    name: str, tmp_path: Path
) -> None:
    lay_out(tmp_path, f"{name}|shots.csv|tastings.csv|bench.toml")
    path = tmp_path / name
    assert find_files(path) == LogFiles((path,), (), tmp_path / "bench.toml")


def test_a_single_file_without_a_bench(tmp_path: Path) -> None:
    path = lay_out(tmp_path, "spring.csv") / "spring.csv"
    assert find_files(path) == LogFiles((path,), (), None)


def sheets(path: Path) -> list[str]:
    """Stand in for the reader of workbooks: the names follow the mark, a line each."""
    return path.read_bytes()[4:].decode().split("\n")


@pytest.mark.parametrize("name", ["shots.xlsx", "spring.odd"])
def test_a_workbook_with_a_sheet_of_tastings_is_read_for_both(name: str, tmp_path: Path) -> None:
    path = tmp_path / name
    path.write_bytes(b"PK\x03\x04shots\n Tastings ")
    files = find_files(path, sheet_names=sheets)
    assert files.tastings == (path,)
    assert files.remarks == (f"The sheet “tastings” of {name} is read, too.",)


def test_sheets_of_tastings_come_behind_the_files_of_tastings(tmp_path: Path) -> None:
    lay_out(tmp_path, "tastings.csv|shots.csv")
    (tmp_path / "shots-may.xlsx").write_bytes(b"PK\x03\x04tastings")
    files = find_files(tmp_path, sheet_names=sheets)
    assert names(files.tastings) == "tastings.csv|shots-may.xlsx"


def test_only_workbooks_are_asked_for_sheets(tmp_path: Path) -> None:
    (tmp_path / "shots.csv").write_bytes(b"tastings\n")
    assert find_files(tmp_path, sheet_names=sheets).tastings == ()


def test_a_workbook_without_such_a_sheet(tmp_path: Path) -> None:
    (tmp_path / "shots.xlsx").write_bytes(b"PK\x03\x04shots\ntastings of May")
    assert find_files(tmp_path, sheet_names=sheets).tastings == ()


@pytest.mark.parametrize("name", ["elsewhere", "a\0b"])
def test_a_path_that_is_not_there(name: str, tmp_path: Path) -> None:
    with pytest.raises(UnreadableLogError, match=r"there is no .*; check the path, or let"):
        find_files(tmp_path / name)


@posix
def test_a_path_no_disk_can_hold(tmp_path: Path) -> None:
    with pytest.raises(UnreadableLogError, match=r"cannot be looked into \(.+\); check the path"):
        find_files(tmp_path / ("x" * 5000))


@posix
def test_a_link_to_a_file_is_followed(tmp_path: Path) -> None:
    (tmp_path / "spring.csv").touch()
    (tmp_path / "shots.csv").symlink_to("spring.csv")
    assert names(find_files(tmp_path).shots) == "shots.csv"


@posix
def test_two_names_of_one_file_are_read_once(tmp_path: Path) -> None:
    (tmp_path / "shots.csv").touch()
    (tmp_path / "shots-may.csv").symlink_to("shots.csv")
    files = find_files(tmp_path)
    assert names(files.shots) == "shots.csv"
    assert files.remarks == ("shots-may.csv is not read: it is the same file as shots.csv.",)


@posix
@pytest.mark.parametrize("target", ["nowhere.csv", "shots-may.csv"])
def test_a_link_to_nothing_is_told(target: str, tmp_path: Path) -> None:
    (tmp_path / "shots.csv").touch()
    (tmp_path / "shots-may.csv").symlink_to(target)
    assert find_files(tmp_path).remarks == ("shots-may.csv is not read: it is a link to nothing.",)


@posix
@pytest.mark.skipif(sys.platform == "win32", reason="no pipes by name there")
def test_a_pipe_is_not_waited_for(tmp_path: Path) -> None:
    os.mkfifo(tmp_path / "shots.csv")
    with pytest.raises(UnreadableLogError, match=r"shots\.csv is not read: it is no ordinary"):
        find_files(tmp_path)


@posix
def test_a_name_that_would_steer_a_terminal_is_shown_as_codes(tmp_path: Path) -> None:
    lay_out(tmp_path, "shots.csv|shots-\x1b[2J.csv")
    assert "shots-\\x1b[2J.csv" in find_files(tmp_path).remarks[0]


PARTS = ["shots", "-", "_", "tastings", "copy", "set-aside", ".csv", ".xlsx", "1", "10"]
NAMES = st.lists(st.sampled_from(PARTS), min_size=1, max_size=4).map("".join)


@posix
@given(holds=st.sets(NAMES, max_size=6))
def test_any_folder_is_a_log_or_refused_and_no_table_is_passed_over(
    holds: set[str], tmp_path_factory: pytest.TempPathFactory
) -> None:
    folder = lay_out(tmp_path_factory.mktemp("folder"), "|".join(holds))
    try:
        files = find_files(folder)
    except UnreadableLogError:
        return
    told = " ".join(files.remarks)
    read = {path.name for path in (*files.shots, *files.tastings)}
    tables = {name for name in holds if name.startswith("shots") and name.endswith(".csv")}
    assert [name for name in tables - read if name not in told] == []
