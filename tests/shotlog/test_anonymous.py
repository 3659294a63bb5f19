"""Codes stand for people: the same each time, and not to be found by trying names."""

from __future__ import annotations

import errno
import os
import stat
import sys
from collections.abc import Callable
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from yieldwright.errors import NotWritableError, UnreadableLogError
from yieldwright.shotlog import ShotLog
from yieldwright.shotlog.exporting.anonymous import (
    KEY_FILE,
    anonymous,
    names_in_texts,
    open_key,
    person_codes,
)

Reader = Callable[..., ShotLog]

KEY, OTHER = b"k" * 32, b"o" * 32
PEOPLE = "shot,barista,notes,overall,mood\n1,mia,with Tom,6,x\n2,tom,,7,tomato\n3,,,5,mia!\n"
TASTED = "shot,taster,overall\n1,tom,7\n2,mia,6\n2,=eva,6\n"


@given(st.lists(st.text(min_size=1), unique=True, max_size=20))
def test_each_person_has_one_code_and_no_two_share_it(names: list[str]) -> None:
    found = person_codes(names, KEY)
    assert len({found[name] for name in names}) == len(names)


def test_a_code_does_not_depend_on_who_else_is_there() -> None:
    alone, together = person_codes(["mia"], KEY), person_codes(["tom", "mia", "eva"], KEY)
    assert alone["mia"] == together["mia"]


def test_another_key_gives_other_codes() -> None:
    assert person_codes(["mia"], KEY)["mia"] != person_codes(["mia"], OTHER)["mia"]


def test_two_spellings_are_two_people() -> None:
    found = person_codes(["mia", "Mia"], KEY)
    assert found["mia"] != found["Mia"]


def test_people_whose_codes_collide_get_longer_ones(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(sys.modules[person_codes.__module__], "_LENGTH", 1)
    names = [f"person {at}" for at in range(60)]
    found = person_codes(names, KEY)
    assert len({found[name] for name in names}) == 60


def test_a_code_is_safe_in_a_spreadsheet() -> None:
    found = person_codes([f"person {at}" for at in range(200)], KEY)
    del found["unnamed"]
    assert all(code.startswith("p-") and code[2:].isalnum() for code in found.values())


def test_shots_and_tastings_name_a_person_alike(read: Reader) -> None:
    log = read(PEOPLE, tastings=TASTED)
    coded = anonymous(log, KEY)
    mia, tom = coded.shots["barista"].tolist()[:2]
    told = coded.tastings[["shot", "taster"]].to_numpy().tolist()
    assert ["1", tom] in told
    assert ["2", mia] in told
    assert {mia, tom}.isdisjoint({"mia", "tom"})


def test_who_is_not_named_stays_unnamed(read: Reader) -> None:
    coded = anonymous(read(PEOPLE), KEY)
    assert coded.shots["barista"].isna().tolist() == [False, False, True]
    assert coded.tastings["taster"].tolist()[-1] == "unnamed"


def test_the_log_itself_keeps_its_names(read: Reader) -> None:
    log = read(PEOPLE)
    anonymous(log, KEY)
    assert log.shots["barista"].tolist()[:2] == ["mia", "tom"]


def test_texts_of_the_files_are_left_behind(read: Reader) -> None:
    coded = anonymous(read("shot,barista,dose_g\n1,mia,180\n2,tom,~18\n"), KEY)
    assert coded.set_aside.empty
    assert coded.set_aside_cells == ()
    assert coded.flags.empty
    assert coded.listed.empty


def test_names_inside_other_text_are_counted_as_whole_words(read: Reader) -> None:
    assert names_in_texts(read(PEOPLE)) == {"notes": 1, "mood": 1}


def test_a_key_is_made_once_and_for_its_owner_only(tmp_path: Path) -> None:
    key = open_key(tmp_path)
    assert open_key(tmp_path) == key
    assert len(key) == 32
    assert [path.name for path in tmp_path.iterdir()] == [KEY_FILE]
    if os.name == "posix":
        assert stat.S_IMODE((tmp_path / KEY_FILE).stat().st_mode) == 0o600


def test_two_folders_have_different_keys(tmp_path: Path) -> None:
    (tmp_path / "a").mkdir()
    (tmp_path / "b").mkdir()
    assert open_key(tmp_path / "a") != open_key(tmp_path / "b")


@pytest.mark.parametrize(
    "spoil",
    [
        lambda text: "",
        lambda text: text[:-3],
        lambda text: text.replace("key 1", "key 2"),
        lambda text: text[:20] + ("1" if text[20] == "0" else "0") + text[21:],
        lambda text: text.replace("\n", "\n\n").upper(),
        lambda text: text * 2,
        lambda text: "\0" * 5000,
    ],
)
def test_a_damaged_key_is_refused_and_left_alone(
    tmp_path: Path, spoil: Callable[[str], str]
) -> None:
    open_key(tmp_path)
    path = tmp_path / KEY_FILE
    damaged = spoil(path.read_text("ascii"))
    path.write_text(damaged, "ascii")
    with pytest.raises(UnreadableLogError, match=r"is damaged.*put it back from a copy, or move"):
        open_key(tmp_path)
    assert path.read_text("ascii") == damaged


def test_a_link_to_nothing_is_no_key(tmp_path: Path) -> None:
    (tmp_path / KEY_FILE).symlink_to(tmp_path / "nowhere")
    with pytest.raises(UnreadableLogError, match="is damaged"):
        open_key(tmp_path)


def test_a_key_that_came_meanwhile_is_kept(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    first = open_key(tmp_path)
    monkeypatch.setattr(os.path, "lexists", lambda path: False)
    assert open_key(tmp_path) == first


def test_a_disk_without_links_keeps_a_key_all_the_same(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def no_links(*paths: Path) -> None:
        raise OSError(errno.EPERM, "Operation not permitted")

    monkeypatch.setattr(os, "link", no_links)
    assert open_key(tmp_path) == open_key(tmp_path)


def test_an_interruption_leaves_no_key_and_no_rest(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def full(number: int) -> None:
        raise OSError(errno.ENOSPC, "No space left on device")

    monkeypatch.setattr(os, "fsync", full)
    with pytest.raises(NotWritableError, match=r"No space left on device.*open to writing"):
        open_key(tmp_path)
    assert list(tmp_path.iterdir()) == []
