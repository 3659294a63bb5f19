"""What cannot be read at all is refused in one paragraph that carries the remedy."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.shotlog.conftest import Reader
from yieldwright.bench import Bench
from yieldwright.errors import BenchFileError, UnreadableLogError
from yieldwright.shotlog import read_log


@pytest.mark.parametrize(
    ("content", "message"),
    [
        (b"", r"^shots\.csv is empty; its first line must name the columns"),
        (b"\n \n", r"is empty"),
        (b"\xef\xbb\xbf", r"is empty"),
        (b"PK\x03\x04 and so on", r"^shots\.csv is damaged and cannot be unpacked"),
        (b"PAR1\x15\x04", r"^shots\.csv is .*Parquet"),
        (b"%PDF-1.7", r"is a PDF, not text"),
        (b"shot,dose_g\n" + bytes(30), r"full of zero bytes.*save it as CSV in UTF-8"),
        (b"shot,dose_g\n1,\x81\x8d\n", r"neither UTF-8 nor Windows-1252, first at line 2"),
        (b"\xff\xfes", r"not proper UTF-16"),
        (b"shot|dose_g\n1|18\n", r"names no column we know.*“shot\|dose_g”.*commas, semicolons"),
        (
            b"Vorname,Nachname\nx,18\n",
            r"names no column we know.*under \[columns\] in bench\.toml",
        ),
        (b"shot,dose_g,dose_g\n1,18,18\n", r"2 columns for dose_g: “dose_g” and “dose_g”.*rename"),
        (b"shot,Dose [g],dose_g\n1,18,18\n", r"2 columns for dose_g: “Dose \[g\]” and “dose_g”"),
        (b"shot,mood,mood\n1,a,b\n", r"2 columns for mood"),
        (
            b"shot,dose (g)\n,oz\n1,0.63\n",
            r"line 2: the row of units says oz for dose_g, and the header “dose \(g\)” another",
        ),
        ("shot,dose_g\n,°C\n1,18\n".encode(), r"says °C for dose_g, which has a unit"),
    ],
)
def test_a_file_that_is_no_log(content: bytes, message: str, read: Reader) -> None:
    with pytest.raises(UnreadableLogError, match=message) as refusal:
        read(content)
    assert "\n" not in str(refusal.value)


def test_a_path_that_is_not_there(tmp_path: Path) -> None:
    with pytest.raises(UnreadableLogError, match=r"there is no .*; check the path, or let"):
        read_log(tmp_path / "elsewhere")


def test_a_folder_without_shots(tmp_path: Path) -> None:
    (tmp_path / "spring.csv").write_text("shot\n1\n", encoding="utf-8")
    with pytest.raises(UnreadableLogError, match=r"holds no shots\.csv \(it holds spring\.csv\)"):
        read_log(tmp_path)


def test_a_folder_in_place_of_the_file(tmp_path: Path) -> None:
    (tmp_path / "shots.csv").mkdir()
    with pytest.raises(UnreadableLogError, match=r"holds no shots\.csv"):
        read_log(tmp_path)


def test_a_delimiter_forced_by_the_bench_and_not_in_the_file(read: Reader) -> None:
    with pytest.raises(UnreadableLogError, match="when split at tabs as the bench asks"):
        read("shot,dose_g\n1,18\n", bench=Bench(delimiter="tab"))


def test_a_composed_name_whose_columns_are_missing(read: Reader) -> None:
    bench = Bench(shot_id=("session", "brew"))
    with pytest.raises(
        UnreadableLogError, match=r"no column “brew”, of which bench\.toml composes"
    ):
        read("session,dose_g\n1,18\n", bench=bench)


def test_a_wrong_bench_file_is_told_as_such(tmp_path: Path) -> None:
    (tmp_path / "shots.csv").write_text("shot\n1\n", encoding="utf-8")
    (tmp_path / "bench.toml").write_text("[recipe]\ndose = 18\n", encoding="utf-8")
    with pytest.raises(BenchFileError, match="no entry"):
        read_log(tmp_path)


def test_tastings_that_cannot_be_read_are_refused_by_name(read: Reader) -> None:
    with pytest.raises(UnreadableLogError, match=r"^tastings\.csv names no column"):
        read("shot,dose_g\n1,18\n", tastings="who|what\n")


@pytest.mark.parametrize("content", ["shot,dose_g\n", "shot,dose_g", "shot,dose_g\n\n# none\n"])
def test_a_header_alone_is_a_log_without_shots(content: str, read: Reader) -> None:
    log = read(content)
    assert log.shots.empty
    assert log.reading.adds_up
    assert "holds no shots" in " ".join(log.reading.remarks)
    assert {"shot", "session", "position", "fate", "stage", "usable"} <= set(log.shots)
