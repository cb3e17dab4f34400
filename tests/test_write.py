"""Files are written whole or not at all."""

import os
import stat

import pytest

from scheduler.errors import InputError
from scheduler.write import write_all, write_folder, write_whole


def test_write_whole_writes_the_text_as_it_is(tmp_path):
    path = tmp_path / "table.md"

    write_whole(path, "½ in · 21 °C\r\nzone\n")

    assert path.read_bytes() == "½ in · 21 °C\r\nzone\n".encode()


def test_write_whole_writes_bytes_as_they_are(tmp_path):
    path = tmp_path / "plan.png"

    write_whole(path, b"\x89PNG\r\n\x1a\n\x00\xff")

    assert path.read_bytes() == b"\x89PNG\r\n\x1a\n\x00\xff"


def test_write_whole_replaces_what_was_there_and_leaves_nothing_beside_it(tmp_path):
    path = tmp_path / "table.csv"
    path.write_text("a longer text that was there before\n")

    write_whole(path, "new\n")

    assert path.read_text() == "new\n"
    assert os.listdir(tmp_path) == ["table.csv"]


def test_write_whole_gives_a_file_the_rights_of_any_new_file(tmp_path):
    usual = tmp_path / "usual"
    usual.touch()

    write_whole(tmp_path / "ours", "")

    ours = (tmp_path / "ours").stat().st_mode
    assert stat.S_IMODE(ours) == stat.S_IMODE(usual.stat().st_mode)


def test_write_whole_leaves_the_old_file_where_replacing_fails(tmp_path, monkeypatch):
    path = tmp_path / "table.csv"
    path.write_text("old\n")

    def no_room(*_):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "replace", no_room)
    with pytest.raises(InputError) as caught:
        write_whole(path, "new\n")

    assert str(caught.value) == (
        f"{path}: cannot be written: No space left on device\n"
        "  hint: choose a folder that exists and that you may write to"
    )
    assert path.read_text() == "old\n"
    assert os.listdir(tmp_path) == ["table.csv"]


def test_write_whole_leaves_no_part_behind_when_it_is_interrupted(
    tmp_path, monkeypatch
):
    def stop(*_):
        raise KeyboardInterrupt

    monkeypatch.setattr(os, "replace", stop)
    with pytest.raises(KeyboardInterrupt):
        write_whole(tmp_path / "table.csv", "new\n")

    assert os.listdir(tmp_path) == []


def test_write_whole_says_when_the_folder_is_missing(tmp_path):
    path = tmp_path / "none" / "table.csv"

    with pytest.raises(InputError) as caught:
        write_whole(path, "new\n")

    assert str(caught.value) == (
        f"{path}: cannot be written: No such file or directory\n"
        "  hint: choose a folder that exists and that you may write to"
    )
    assert os.listdir(tmp_path) == []


def test_write_whole_does_not_replace_a_folder(tmp_path):
    path = tmp_path / "table"
    path.mkdir()

    with pytest.raises(InputError, match="cannot be written: Is a directory"):
        write_whole(path, "new\n")

    assert os.listdir(tmp_path) == ["table"]
    assert path.is_dir()


# 255 bytes is the longest name that common file systems take.
def test_write_whole_takes_the_longest_name_that_a_file_may_have(tmp_path):
    path = tmp_path / ("x" * 255)

    write_whole(path, "new\n")

    assert os.listdir(tmp_path) == [path.name]


FILES = {"site.toml": 'units = "us"\n', "zones.csv": "zone,plant\n"}


def contents_of(folder):
    return {path.name: path.read_text() for path in folder.iterdir()}


def test_write_folder_makes_the_folder_with_all_its_files(tmp_path):
    write_folder(tmp_path / "new" / "home", FILES)

    assert contents_of(tmp_path / "new" / "home") == FILES


def test_write_folder_takes_a_folder_that_is_empty(tmp_path):
    write_folder(tmp_path, FILES)

    assert contents_of(tmp_path) == FILES


@pytest.mark.parametrize("inside", [True, False], ids=["folder", "file"])
def test_write_folder_leaves_alone_what_is_there_already(tmp_path, inside):
    taken = tmp_path / "home"
    if inside:
        taken.mkdir()
    (taken / "notes.txt" if inside else taken).write_text("mine\n")

    with pytest.raises(InputError) as caught:
        write_folder(taken, FILES)

    assert str(caught.value) == (
        f"{taken}: is there already\n"
        "  accepted: a folder that does not exist yet, or an empty one"
    )
    assert (taken / "notes.txt" if inside else taken).read_text() == "mine\n"
    assert [path.name for path in tmp_path.rglob("*.*")] == ["notes.txt"] * inside


@pytest.mark.parametrize("there", [True, False], ids=["empty", "new"])
def test_write_folder_leaves_nothing_where_one_file_fails(tmp_path, monkeypatch, there):
    folder = tmp_path / "home"
    if there:
        folder.mkdir()
    replace = os.replace

    def room_for_one(source, target):
        if target.name == "zones.csv":
            raise OSError(28, "No space left on device")
        replace(source, target)

    monkeypatch.setattr(os, "replace", room_for_one)
    with pytest.raises(InputError, match="cannot be written: No space left on device"):
        write_folder(folder, FILES)

    assert folder.exists() is there
    assert not any(tmp_path.rglob("*.*"))


@pytest.mark.parametrize("error", [InputError, KeyboardInterrupt])
def test_write_folder_leaves_no_folder_that_it_made(tmp_path, monkeypatch, error):
    folder, sync, synced = tmp_path / "sites" / "home", os.fsync, []

    def room_for_one(handle):
        synced.append(handle)
        if len(synced) == 2:
            raise error if error is KeyboardInterrupt else OSError(28, "No space left")
        sync(handle)

    monkeypatch.setattr(os, "fsync", room_for_one)
    with pytest.raises(error):
        write_folder(folder, FILES)

    assert list(tmp_path.iterdir()) == []


def test_write_folder_puts_nothing_in_place_before_every_file_is_written(
    tmp_path, monkeypatch
):
    sync, seen = os.fsync, []

    def look(handle):
        sync(handle)
        seen.append({path.suffix for path in tmp_path.rglob("*.*")})

    monkeypatch.setattr(os, "fsync", look)
    write_folder(tmp_path / "home", FILES)

    assert len(FILES) >= 2
    assert seen[: len(FILES)] == [{".part"}] * len(FILES)


def test_write_all_writes_every_file(tmp_path):
    write_all({tmp_path / "a.txt": "a\n", tmp_path / "b.png": b"\x89b"})

    assert (tmp_path / "a.txt").read_text() == "a\n"
    assert (tmp_path / "b.png").read_bytes() == b"\x89b"
    assert sorted(os.listdir(tmp_path)) == ["a.txt", "b.png"]


@pytest.mark.parametrize("where", ["none/b.txt", "folder"])
def test_write_all_writes_nothing_where_one_place_cannot_be_written(tmp_path, where):
    (tmp_path / "folder").mkdir()
    with pytest.raises(InputError, match="cannot be written"):
        write_all({tmp_path / "a.txt": "a\n", tmp_path / where: "b\n"})

    assert os.listdir(tmp_path) == ["folder"]
    assert os.listdir(tmp_path / "folder") == []


def test_a_file_written_anew_keeps_its_rights(tmp_path):
    path = tmp_path / "site.toml"
    path.write_text("old\n")
    path.chmod(0o600)

    write_whole(path, "new\n")

    assert path.read_text() == "new\n"
    assert stat.S_IMODE(path.stat().st_mode) == 0o600


def test_a_link_stays_a_link_to_the_file_that_is_written(tmp_path):
    (tmp_path / "kept").mkdir()
    real, link = tmp_path / "kept" / "real.csv", tmp_path / "link.csv"
    real.write_text("old\n")
    link.symlink_to("kept/real.csv")

    write_whole(link, "new\n")

    assert link.is_symlink()
    assert real.read_text() == "new\n"
    assert sorted(os.listdir(tmp_path)) == ["kept", "link.csv"]


@pytest.mark.parametrize("there", [True, False], ids=["old", "new"])
def test_a_first_file_is_undone_where_the_second_fails(tmp_path, monkeypatch, there):
    first, second = tmp_path / "a.txt", tmp_path / "b.txt"
    if there:
        first.write_text("old\n")
    replace = os.replace

    def room_for_one(source, target):
        if target == second:
            raise OSError(28, "No space left on device")
        replace(source, target)

    monkeypatch.setattr(os, "replace", room_for_one)
    with pytest.raises(InputError, match=r"b\.txt: cannot be written: No space left"):
        write_all({first: "new\n", second: "new\n"})

    assert contents_of(tmp_path) == ({"a.txt": "old\n"} if there else {})


# POSIX: a rename may reach the disk before the data of the file, unless it is synced.
def test_what_is_written_is_synced_before_it_is_renamed(tmp_path, monkeypatch):
    done, sync, replace = [], os.fsync, os.replace

    def synced(handle):
        done.append(("sync", os.fstat(handle).st_size))
        sync(handle)

    def renamed(source, target):
        done.append(("rename", os.stat(source).st_size))
        replace(source, target)

    monkeypatch.setattr(os, "fsync", synced)
    monkeypatch.setattr(os, "replace", renamed)
    write_whole(tmp_path / "a.txt", "five\n")

    assert done[:2] == [("sync", 5), ("rename", 5)]
