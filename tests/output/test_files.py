"""Files whole or not at all; sentences for what goes wrong."""

from __future__ import annotations

import errno
import os
from pathlib import Path

import pytest

from stationpoint.errors import MachineLacks, StudyWrong
from stationpoint.output.files import make_folder, write_all, write_whole


def names(folder):
    return sorted(path.name for path in folder.iterdir())


def test_files_are_written_and_replaced(tmp_path):
    write_whole(tmp_path / "a", b"old")
    write_all({tmp_path / "a": b"new", tmp_path / "b": lambda file: file.write(b"called")})
    assert (tmp_path / "a").read_bytes() == b"new"
    assert (tmp_path / "b").read_bytes() == b"called"
    assert names(tmp_path) == ["a", "b"]


def test_written_file_has_the_rights_of_any_new_file(tmp_path):
    (tmp_path / "plain").write_bytes(b"")
    write_whole(tmp_path / "ours", b"")
    assert (tmp_path / "ours").stat().st_mode == (tmp_path / "plain").stat().st_mode


def test_link_is_followed_not_replaced(tmp_path):
    (tmp_path / "real").write_bytes(b"old")
    (tmp_path / "link").symlink_to("real")
    write_whole(tmp_path / "link", b"new")
    assert (tmp_path / "link").is_symlink()
    assert (tmp_path / "real").read_bytes() == b"new"


@pytest.mark.parametrize("failure", [KeyboardInterrupt, MemoryError, ZeroDivisionError])
def test_interruption_leaves_nothing_of_several_files(tmp_path, failure):
    (tmp_path / "kept").write_bytes(b"old")

    def broken(file):
        file.write(b"half")
        raise failure

    with pytest.raises(failure):
        write_all({tmp_path / "kept": b"new", tmp_path / "b": broken})
    assert names(tmp_path) == ["kept"]
    assert (tmp_path / "kept").read_bytes() == b"old"


def test_full_disk_is_told_apart_and_leaves_nothing(tmp_path):
    def full(file):
        raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))

    with pytest.raises(MachineLacks, match="disk is full") as caught:
        write_all({tmp_path / "a": b"1", tmp_path / "b": full})
    assert caught.value.exit_code == 3
    assert names(tmp_path) == []


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="no /dev/full here")
def test_device_is_written_to_and_never_replaced():
    with pytest.raises(MachineLacks, match="disk is full"):
        write_whole("/dev/full", b"x" * 100000)
    assert Path("/dev/full").is_char_device()


@pytest.mark.parametrize(
    ("name", "words"),
    [
        ("missing/a.png", "folder does not exist"),
        ("file/a.png", "folder is a file"),
        ("folder", "is a folder"),
        ("", "is a folder"),
        ("x" * 300, "too long"),
        ("nul\0", "no name for a file"),
        ("loop/a", "links lead in a circle"),
    ],
)
def test_bad_place_is_one_sentence_and_writes_nothing(tmp_path, name, words):
    (tmp_path / "file").write_bytes(b"")
    (tmp_path / "folder").mkdir()
    (tmp_path / "loop").symlink_to("loop")
    before = names(tmp_path)
    with pytest.raises(StudyWrong, match=words) as caught:
        write_all({str(tmp_path / "first"): b"1", os.path.join(tmp_path, name): b"x"})
    assert caught.value.exit_code == 2
    assert "\n" not in caught.value.message
    assert names(tmp_path) == before


@pytest.mark.skipif(os.geteuid() == 0, reason="the superuser may write anywhere")
def test_folder_that_may_not_be_written_is_told(tmp_path):
    tmp_path.chmod(0o500)
    with pytest.raises(StudyWrong, match="may not write"):
        write_whole(tmp_path / "a", b"x")


def test_one_place_for_two_outputs_is_refused(tmp_path):
    with pytest.raises(StudyWrong, match="named twice"):
        write_all({tmp_path / "a": b"1", f"{tmp_path}/./a": b"2"})
    assert names(tmp_path) == []


def test_folders_are_made_or_refused(tmp_path):
    make_folder(tmp_path / "one" / "two")
    assert (tmp_path / "one" / "two").is_dir()
    (tmp_path / "file").write_bytes(b"")
    with pytest.raises(StudyWrong, match="cannot be written"):
        make_folder(tmp_path / "file" / "two")
