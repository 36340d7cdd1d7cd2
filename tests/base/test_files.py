"""Files whole or not at all; sentences for what goes wrong."""

from __future__ import annotations

import errno
import os
import signal
import subprocess
import sys
from pathlib import Path

import pytest

from stationpoint.base import files
from stationpoint.base.errors import MachineLacks, StudyWrong
from stationpoint.base.files import make_folder, write_all


def names(folder):
    return sorted(path.name for path in folder.iterdir())


def test_files_are_written_and_replaced(tmp_path):
    write_all({tmp_path / "a": b"old"})
    write_all({tmp_path / "a": b"new", tmp_path / "b": lambda file: file.write(b"called")})
    assert (tmp_path / "a").read_bytes() == b"new"
    assert (tmp_path / "b").read_bytes() == b"called"
    assert names(tmp_path) == ["a", "b"]


def test_written_file_has_the_rights_of_any_new_file(tmp_path):
    (tmp_path / "plain").write_bytes(b"")
    write_all({tmp_path / "ours": b""})
    assert (tmp_path / "ours").stat().st_mode == (tmp_path / "plain").stat().st_mode


def test_link_is_followed_not_replaced(tmp_path):
    (tmp_path / "real").write_bytes(b"old")
    (tmp_path / "link").symlink_to("real")
    write_all({tmp_path / "link": b"new"})
    assert (tmp_path / "link").is_symlink()
    assert (tmp_path / "real").read_bytes() == b"new"


def test_what_a_killed_call_left_is_in_nobodys_way(tmp_path):
    # as a call of this very process's number leaves it: in a container numbers come again
    for left in (f".a.{os.getpid()}.part", ".a.part", f".stationpoint-{os.getpid()}.part"):
        (tmp_path / left).write_bytes(b"half")
    write_all({tmp_path / "a": b"whole", tmp_path / "b": b"too"})
    assert (tmp_path / "a").read_bytes() == b"whole"
    assert len(names(tmp_path)) == 5


def test_longest_name_that_a_disk_takes_is_written(tmp_path):
    name = "蔵" * 83 + ".json"  # 254 bytes in UTF-8, of 255
    write_all({tmp_path / name: b"x"})
    assert names(tmp_path) == [name]


KILLED = """
import os, signal, sys
from stationpoint.base import files

steps = 0
def killing(real):
    def step(*words):
        global steps
        steps += 1
        if steps == int(sys.argv[1]):
            os.kill(os.getpid(), signal.SIGKILL)
        return real(*words)
    return step

def fill(file, content):
    for k in range(0, len(content), 40000):
        killing(file.write)(content[k : k + 40000])
        file.flush()

files._fill = fill
files.os.replace = killing(os.replace)
files.write_all({"a": b"A" * 100000, "b": b"B" * 100000})
"""


@pytest.mark.skipif(not hasattr(signal, "SIGKILL"), reason="no SIGKILL here")
@pytest.mark.parametrize("step", range(1, 10))
def test_kill_at_any_moment_leaves_whole_files_or_none(tmp_path, step):
    (tmp_path / "a").write_bytes(b"old")
    source = str(Path(files.__file__).parents[2])
    words = [sys.executable, "-c", KILLED, str(step)]
    ended = subprocess.run(words, cwd=tmp_path, env={**os.environ, "PYTHONPATH": source}, check=False)
    assert ended.returncode == (-signal.SIGKILL if step <= 8 else 0)  # 2 files: 3 writes each, 2 renamings
    assert (tmp_path / "a").read_bytes() in (b"old", b"A" * 100000)
    assert not (tmp_path / "b").exists() or (tmp_path / "b").read_bytes() == b"B" * 100000
    write_all({tmp_path / "a": b"new", tmp_path / "b": b"new"})
    assert (tmp_path / "a").read_bytes() == (tmp_path / "b").read_bytes() == b"new"


@pytest.mark.parametrize("linked", [True, False])
@pytest.mark.parametrize("number", [1, 2, 3])
def test_a_renaming_that_fails_gives_those_before_their_old_contents_back(
    tmp_path, monkeypatch, number, linked
):
    (tmp_path / "a").write_bytes(b"old a")
    (tmp_path / "a").chmod(0o640)
    (tmp_path / "c").write_bytes(b"old c")
    renamed, real = [], os.replace

    def failing(old, new):
        renamed.append(new)
        if len(renamed) == number:
            raise OSError(errno.EACCES, os.strerror(errno.EACCES))
        real(old, new)

    monkeypatch.setattr(files.os, "replace", failing)
    if not linked:
        monkeypatch.setattr(files.os, "link", lambda *_: os.stat(tmp_path / "no links here"))
    with pytest.raises(StudyWrong, match="may not write"):
        write_all({tmp_path / "a": b"new", tmp_path / "b": b"new", tmp_path / "c": b"new"})
    assert names(tmp_path) == ["a", "c"]
    assert (tmp_path / "a").read_bytes() == b"old a"
    assert (tmp_path / "c").read_bytes() == b"old c"
    assert (tmp_path / "a").stat().st_mode & 0o777 == 0o640


def test_a_stop_between_two_renamings_waits_for_both(tmp_path, monkeypatch):
    real = os.replace

    def stopped(old, new):
        real(old, new)
        os.kill(os.getpid(), signal.SIGINT)

    monkeypatch.setattr(files.os, "replace", stopped)
    with pytest.raises(KeyboardInterrupt):
        write_all({tmp_path / "a": b"new", tmp_path / "b": b"new"})
    assert names(tmp_path) == ["a", "b"]


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
        write_all({"/dev/full": b"x" * 100000})
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
        write_all({tmp_path / "a": b"x"})


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
