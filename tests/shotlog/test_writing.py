"""A file is written whole or not at all, and a refusal names path and remedy."""

from __future__ import annotations

import errno
import os
import stat
from pathlib import Path

import pytest

from yieldwright.errors import NotWritableError
from yieldwright.shotlog.writing import write_atomically


def contents(folder: Path) -> dict[str, str]:
    return {path.name: path.read_text("utf-8") for path in folder.iterdir() if path.is_file()}


def test_text_arrives_as_given(tmp_path: Path) -> None:
    write_atomically(tmp_path / "page.html", "19.8 ± 0.2 %\r\nnext\n")
    assert (tmp_path / "page.html").read_bytes() == "19.8 ± 0.2 %\r\nnext\n".encode()


def test_bytes_arrive_as_given(tmp_path: Path) -> None:
    write_atomically(tmp_path / "chart.png", b"\x89PNG\r\n\x00")
    assert (tmp_path / "chart.png").read_bytes() == b"\x89PNG\r\n\x00"


def test_an_old_file_is_replaced(tmp_path: Path) -> None:
    (tmp_path / "page.html").write_text("old", "utf-8")
    write_atomically(tmp_path / "page.html", "new")
    assert contents(tmp_path) == {"page.html": "new"}


def test_the_place_written_is_returned(tmp_path: Path) -> None:
    assert write_atomically(tmp_path / "page.html", "x") == (tmp_path / "page.html").resolve()


def test_a_half_character_is_written_as_its_escape(tmp_path: Path) -> None:
    write_atomically(tmp_path / "page.html", "note \udc80")
    assert contents(tmp_path) == {"page.html": "note \\udc80"}


@pytest.mark.parametrize("stop", [KeyboardInterrupt(), OSError(errno.ENOSPC, "No space left")])
def test_an_interruption_leaves_the_old_file(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, stop: BaseException
) -> None:
    (tmp_path / "page.html").write_text("old", "utf-8")

    def interrupted(number: int) -> None:
        raise stop

    monkeypatch.setattr(os, "fsync", interrupted)
    with pytest.raises((KeyboardInterrupt, NotWritableError)):
        write_atomically(tmp_path / "page.html", "new")
    assert contents(tmp_path) == {"page.html": "old"}


def test_a_full_disk_is_told_with_the_remedy(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def full(number: int) -> None:
        raise OSError(errno.ENOSPC, "No space left on device")

    monkeypatch.setattr(os, "fsync", full)
    with pytest.raises(NotWritableError, match=r"page\.html .*No space left.*disk has room"):
        write_atomically(tmp_path / "page.html", "new")


def test_a_folder_is_no_file(tmp_path: Path) -> None:
    with pytest.raises(NotWritableError, match="is a folder; name a file in it"):
        write_atomically(tmp_path, "x")


@pytest.mark.parametrize("parent", ["missing", "file"])
def test_a_missing_folder_is_named(tmp_path: Path, parent: str) -> None:
    (tmp_path / "file").write_text("not a folder", "utf-8")
    with pytest.raises(NotWritableError, match=f"there is no folder .*{parent}; make it first"):
        write_atomically(tmp_path / parent / "page.html", "x")


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="no pipes in the file system here")
def test_a_pipe_is_left_alone(tmp_path: Path) -> None:
    os.mkfifo(tmp_path / "pipe")
    with pytest.raises(NotWritableError, match="ordinary file"):
        write_atomically(tmp_path / "pipe", "x")


def test_a_path_with_a_null_in_it_is_refused(tmp_path: Path) -> None:
    with pytest.raises(NotWritableError, match="no usable path"):
        write_atomically(tmp_path / "a\0b", "x")


def test_a_name_too_long_is_refused(tmp_path: Path) -> None:
    with pytest.raises(NotWritableError, match=r"no usable path|cannot be written"):
        write_atomically(tmp_path / ("n" * 300), "x")
    assert contents(tmp_path) == {}


@pytest.mark.skipif(
    not hasattr(os, "geteuid") or os.geteuid() == 0, reason="the superuser may write anywhere"
)
def test_a_file_closed_to_writing_stays(tmp_path: Path) -> None:
    (tmp_path / "page.html").write_text("old", "utf-8")
    (tmp_path / "page.html").chmod(0o444)
    with pytest.raises(NotWritableError, match="closed to writing"):
        write_atomically(tmp_path / "page.html", "new")


@pytest.mark.skipif(os.name == "nt", reason="rights are told otherwise there")
def test_rights_of_the_old_file_are_kept(tmp_path: Path) -> None:
    (tmp_path / "page.html").write_text("old", "utf-8")
    (tmp_path / "page.html").chmod(0o600)
    write_atomically(tmp_path / "page.html", "new")
    assert (tmp_path / "page.html").stat().st_mode & 0o777 == 0o600


@pytest.mark.skipif(os.name == "nt", reason="links need a privilege there")
def test_a_link_keeps_pointing_where_it_points(tmp_path: Path) -> None:
    folder = tmp_path / "far"
    folder.mkdir()
    (folder / "page.html").write_text("old", "utf-8")
    (tmp_path / "page.html").symlink_to(folder / "page.html")
    write_atomically(tmp_path / "page.html", "new")
    assert (tmp_path / "page.html").is_symlink()
    assert contents(folder) == {"page.html": "new"}


def test_the_folder_is_forced_to_the_disk_after_the_file(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    forced = []

    def note(number: int) -> None:
        forced.append(stat.S_ISDIR(os.fstat(number).st_mode))

    monkeypatch.setattr(os, "fsync", note)
    write_atomically(tmp_path / "page.html", "x")
    assert forced == [False, True]


def killed_while_writing(path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Return the unfinished file that a run leaves which is killed outright."""
    with monkeypatch.context() as killed:
        killed.setattr(Path, "replace", lambda self, target: (_ for _ in ()).throw(SystemExit))
        killed.setattr(Path, "unlink", lambda self, missing_ok=False: None)
        with pytest.raises(SystemExit):
            write_atomically(path, "half")
    (rest,) = path.parent.glob(".*.part")
    return rest


def test_what_a_killed_run_left_an_hour_ago_is_cleared(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    rest = killed_while_writing(tmp_path / "page.html", monkeypatch)
    os.utime(rest, (0, 0))
    write_atomically(tmp_path / "page.html", "whole")
    assert contents(tmp_path) == {"page.html": "whole"}


@pytest.mark.parametrize(("target", "age"), [("page.html", None), ("other.html", 0)])
def test_what_another_run_may_be_writing_is_left_alone(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, target: str, age: int | None
) -> None:
    rest = killed_while_writing(tmp_path / "page.html", monkeypatch)
    if age is not None:
        os.utime(rest, (age, age))
    write_atomically(tmp_path / target, "whole")
    assert rest.read_text("utf-8") == "half"
