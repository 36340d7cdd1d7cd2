"""What a terminal gets: names shown as they are, and none obeyed."""

from __future__ import annotations

import io
import json
import re
import sys
from pathlib import Path
from unittest.mock import patch

import numpy as np
import pytest

from cli_calls import SMALL, Result, call, yard
from scene.built import CUBE, CUBE_FACES, Built
from stationpoint import cli
from stationpoint.base.errors import StudyWrong
from stationpoint.base.words import visible
from stationpoint.cli.actions.outputs import SHEET, Outputs, print_bytes
from stationpoint.record.png import png_bytes, read_png_texts

SOURCE = Path(cli.__file__).parents[1]
CLEAR, TITLE, BELL, CSI, TURN = "\x1b[2J", "\x1b]0;t\x07", "\x07", "\x9b31m", "\u202e"
ODD = [f"a{CLEAR}", f"b{TITLE}", f"c{CSI}", f"d{TURN}gnp.exe", "e\rf", "g\nh", "\x7f\x00\x08"]
OBEYED = re.compile(r"[\x00-\x09\x0b-\x1f\x7f-\x9f\u202a-\u202e\u2066-\u2069]")


def quoted(words: str) -> str:
    """A text as TOML writes it."""
    return json.dumps(words).replace("\x7f", "\\u007f")


@pytest.fixture
def odd(tmp_path: Path) -> Path:
    """A study in which every name is one that a terminal would obey."""
    built = Built()
    mesh = built.mesh(CUBE * 0.4, CUBE_FACES)
    for k, name in enumerate(ODD):
        built.node(name=name, mesh=mesh, translation=[2.0 * k, 0, 0])
    built.glb(tmp_path / "odd.glb")
    one = quoted("".join(ODD))
    targets = "".join(f"[[target]]\nname = {quoted(name)}\nnode = {quoted(name)}\n" for name in ODD)
    text = f"""
title = {one}
scene = "odd.glb"
subject = {{ name = {one}, at = [0, 0.5, 3] }}
{targets}
[[gap]]
name = {one}
from = [0, 0, 0]
to = [2, 0, 0]
[[place]]
name = {one}
[[viewing]]
name = {one}
diagonal_in = 24
pixels = [1920, 1080]
eye_distance_m = 0.6
[[limit]]
reading = "targets.*.seen"
min = 0.99
why = {one}
[camera]
distance_m = 8
pitch_deg = 89
[sweep]
columns = {{ focal_mm = [24, 200] }}
"""
    (tmp_path / "odd.study.toml").write_text(text, "utf-8")
    return tmp_path


def unobeyed(result: Result) -> str:
    """All that a call said, which holds nothing that a terminal would obey."""
    said = result.out.decode("utf-8") + result.err
    assert said.strip()
    assert OBEYED.findall(said) == []
    assert "fault of its own" not in said
    return said


def test_every_command_shows_names_and_obeys_none(odd: Path) -> None:
    study = ("odd.study.toml", "--renderer", "rays")
    said = unobeyed(call("check", "odd.study.toml", cwd=odd))
    for shown in (
        r"a\x1b[2J",
        r"b\x1b]0;t\x07",
        r"c\x9b31m",
        r"d\u202egnp.exe",
        r"e\rf",
        r"g\nh",
        r"\x7f\x00",
    ):
        assert shown in said
    assert r"a\x1b[2J" in unobeyed(call("check", "odd.glb", cwd=odd))
    assert r"\x1b[2J" in unobeyed(call("judge", *study, cwd=odd))
    assert r"\x1b[2J" in unobeyed(call("sheet", *study, "--cell-width", "320", cwd=odd))
    assert r"\x1b[2J" in unobeyed(call("inspect", "odd.png", cwd=odd))
    unobeyed(call("start", "odd.glb", "-o", "new.toml", cwd=odd))
    unobeyed(call("twins", *study, "--target", "x", cwd=odd))
    unobeyed(call("chart", *study, "--reading", f"targets.{CLEAR}.seen", cwd=odd))
    unobeyed(call("sheet", *study, "--place", CLEAR, cwd=odd))


@pytest.mark.parametrize(
    "words", [(CLEAR,), ("sheet", CLEAR), ("sheet", "a", CLEAR), (f"--{CLEAR}",), ("demo", CLEAR)]
)
def test_words_of_the_command_line_are_shown_too(words: tuple[str, ...], tmp_path: Path) -> None:
    said = unobeyed(call(*words, cwd=tmp_path))
    assert r"\x1b[2J" in said.replace("\\\\", "\\")


def test_a_sheet_that_lies_about_its_version_is_shown(tmp_path: Path) -> None:
    yard(tmp_path)
    assert call("sheet", "yard.study.toml", *SMALL, "--alone", cwd=tmp_path).code == 0
    texts = read_png_texts(tmp_path / "yard.png")
    record = json.loads(texts["stationpoint record"])
    record["tool"]["version"] = CLEAR + TITLE
    texts["stationpoint record"] = json.dumps(record)
    (tmp_path / "lie.png").write_bytes(png_bytes(np.zeros((4, 4, 3), dtype=np.uint8), texts))
    assert r"Drawn by stationpoint \x1b[2J\x1b]0;t\x07" in unobeyed(call("inspect", "lie.png", cwd=tmp_path))
    unobeyed(call("inspect", "lie.png", "--redraw", "y.png", cwd=tmp_path))


class Terminal(io.TextIOWrapper):
    def isatty(self) -> bool:
        return True


def test_a_table_on_a_terminal_is_shown_and_in_a_pipe_it_is_as_it_is() -> None:
    data = f"a{CLEAR},b\r\nc,d\r\n".encode()
    for stream, wanted in ((Terminal, b"a\\x1b[2J,b\nc,d\n"), (io.TextIOWrapper, data)):
        out = io.BytesIO()
        with patch.object(sys, "stdout", stream(out, "utf-8")):
            print_bytes(data)
            sys.stdout.flush()
            assert out.getvalue() == wanted


def test_a_picture_is_not_thrown_at_a_terminal() -> None:
    terminal = patch.object(sys, "stdout", Terminal(io.BytesIO(), "utf-8"))
    with terminal, pytest.raises(StudyWrong, match="which no terminal shows; name a file"):
        Outputs().claim("-", SHEET)


@pytest.mark.parametrize(
    ("words", "shown"),
    [
        ("Kürbis – 蔵 🎃", "Kürbis – 蔵 🎃"),
        ("a\x1b[2J", r"a\x1b[2J"),
        ("a\tb\nc\r", r"a\tb\nc\r"),
        ("\x9b\u202e\u2028", r"\x9b\u202e\u2028"),
        (r"a\n", r"a\n"),
    ],
)
def test_visible_shows_what_a_terminal_obeys(words: str, shown: str) -> None:
    assert visible(words) == shown


def test_one_door_for_all_that_is_said_and_one_for_all_that_is_read() -> None:
    """Names reach a terminal through cli.tell and cli.say; files are read through inputs."""
    says = {"cli/__init__.py"}
    # what is written, looked at before it is written over, or part of the package or its docs
    opens = {"base/inputs.py", "base/files.py", "record/ours.py", "cli/actions/outputs.py", "ink/typecase.py"}
    opens |= {"record/review/page.py"}
    opens |= {"run/cache.py", "record/kept.py"}  # what we kept, read before it is written over
    opens |= {"run/workers/processes.py"}  # how much memory the machine has left
    opens |= {"render/gl/upload.py", "scene/materials.py"}  # the latter: pictures in memory, by Pillow
    files = {path.relative_to(SOURCE).as_posix(): path.read_text("utf-8") for path in SOURCE.rglob("*.py")}
    assert len(files) > 100
    found = {name for name, text in files.items() if re.search(r"\bclick\.(echo|secho)\(|\bprint\(", text)}
    assert found == says
    reading = re.compile(r"\.read_bytes\(|\.read_text\(|(?<![\w.])open\(|(?<!os)\.open\(")
    assert {name for name, text in files.items() if reading.search(text)} == opens
