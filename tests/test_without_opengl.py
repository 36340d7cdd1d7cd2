"""Every command where OpenGL cannot be had: what draws nothing works, auto takes rays, gl is a lack."""

from __future__ import annotations

import json
from pathlib import Path
from unittest.mock import patch

import numpy as np
import pytest

from cli_calls import LAMP_SCENE, STUDY, Result, done, listing, process, yard
from stationpoint.cli import COMMANDS
from stationpoint.record.png import png_bytes, read_png_texts
from stationpoint.run.endings import DRAWING, RECORD

NO_OPENGL = {"__EGL_VENDOR_LIBRARY_FILENAMES": "/nowhere.json"}  # libEGL then finds no driver (libglvnd)
PACKAGES = "libegl1 libgl1 libegl-mesa0 libgl1-mesa-dri"
SMALL = ("--cell-width", "320")
SEEN = '\n[[limit]]\nreading = "targets.crate.seen"\nmin = 0\n'
AXES = '\n[[limit]]\nreading = "axes.x.px_per_m"\nmin = 0\n'

DRAW_NOTHING = {
    "check": ("check", "yard.study.toml"),
    "check of a scene": ("check", "yard.toml"),
    "start": ("start", "yard.toml", "-o", "first.study.toml"),
    "mesh": ("mesh", "yard.study.toml", "-o", "yard.glb"),
    "demo, listed": ("demo", "--list"),
    "inspect": ("inspect", "drawn.png", "--json", "-"),
    "handoff": ("handoff", "yard.study.toml", "-o", "again.json"),
    "check-port": ("check-port", "camera.points.csv", "camera.json"),
    "choose": ("choose", "seen.study.toml", "A1", "--because", "it shows the crate"),
}
DRAW = {
    "demo": ("demo", "rooftop", *SMALL, "-o", "."),
    "sheet": ("sheet", "yard.study.toml", *SMALL),
    "sheet of a scene": ("sheet", "yard.toml", *SMALL),
    "measure": ("measure", "yard.study.toml", "--only", "targets"),
    "judge": ("judge", "seen.study.toml"),
    "compare": ("compare", "yard.study.toml", "yard.study.toml", "--json", "-"),
    "solve": ("solve", "seen.study.toml", "--vary", "pitch_deg=15:25", "--most", "24"),
    "twins": ("twins", "lamp.study.toml", *SMALL),
    "chart": ("chart", "yard.study.toml", "--reading", "targets.crate.seen"),
    "page": ("page", "yard.study.toml", *SMALL),
    "inspect, redrawn": ("inspect", "drawn.png", "--redraw", "again.png"),
}
NEED_NO_PICTURE = {  # of commands that draw elsewhere
    "measure": ("measure", "yard.study.toml", "--only", "axes,viewing"),
    "judge": ("judge", "axes.study.toml"),
    "solve": ("solve", "axes.study.toml", "--vary", "pitch_deg=15:25", "--most", "24"),
    "compare": ("compare", "axes.study.toml", "axes.study.toml", "--reading", "axes.*.px_per_m"),
    "chart": ("chart", "yard.study.toml", "--reading", "framing.horizon_y"),
}


RAYS_DREW, GL_DREW = '"renderer": "rays"', '"renderer": "gl"'


@pytest.fixture(scope="module")
def sheet(tmp_path_factory: pytest.TempPathFactory) -> tuple[bytes, bytes]:
    """A sheet that rays drew, and the same made to say that OpenGL drew it."""
    folder = tmp_path_factory.mktemp("sheet")
    yard(folder)
    done("sheet", "yard.study.toml", *SMALL, "--renderer", "rays", "--alone", cwd=folder)
    texts = read_png_texts(folder / "yard.png")
    assert RAYS_DREW in texts[DRAWING]
    texts[DRAWING] = texts[DRAWING].replace(RAYS_DREW, GL_DREW)
    texts[RECORD] = texts[RECORD].replace(RAYS_DREW, GL_DREW)
    return (folder / "yard.png").read_bytes(), png_bytes(np.zeros((4, 4, 3), dtype=np.uint8), texts)


@pytest.fixture(scope="module")
def handed(tmp_path_factory: pytest.TempPathFactory) -> dict[str, bytes]:
    """The yard's cameras handed off, with their check points."""
    folder = tmp_path_factory.mktemp("handed")
    yard(folder)
    done("handoff", "yard.study.toml", "-o", "camera.json", cwd=folder)
    return {name: data for name, data in listing(folder).items() if name.startswith("camera.")}


@pytest.fixture
def folder(tmp_path: Path, sheet: tuple[bytes, bytes], handed: dict[str, bytes]) -> Path:
    """A folder with a study, the same with limits, one of a lamp that hangs, and a sheet that says that
    OpenGL drew it."""
    yard(tmp_path)
    (tmp_path / "seen.study.toml").write_text(STUDY + SEEN, "utf-8")
    (tmp_path / "axes.study.toml").write_text(
        STUDY.replace("[subject]", "[subject]\nmay_hide = true") + AXES, "utf-8"
    )
    lamp = STUDY.replace("yard.toml", "lamp.toml").replace('node = "crate"', 'node = "lamp"')
    (tmp_path / "lamp.study.toml").write_text(lamp, "utf-8")
    (tmp_path / "lamp.toml").write_text(LAMP_SCENE, "utf-8")
    for name, data in {"drawn.png": sheet[1], **handed}.items():
        (tmp_path / name).write_bytes(data)
    return tmp_path


def without(*words: str, cwd: Path) -> Result:
    """A call where OpenGL cannot be had; it shows no fault."""
    ended = process(*words, cwd=cwd, **NO_OPENGL)
    assert "Traceback" not in ended.err
    assert "fault of its own" not in ended.err
    return ended


def test_every_command_is_tried() -> None:
    assert {words[0] for words in (DRAW_NOTHING | DRAW).values()} == {*COMMANDS} - {"watch"}  # see below


def test_what_would_go_on_ends_where_nothing_can_be_drawn(folder: Path) -> None:
    pytest.importorskip("watchfiles", reason="watchfiles is not installed (extra watch)")
    ended = without("watch", "yard.study.toml", "--renderer", "gl", cwd=folder)
    assert ended.code == 3
    assert ended.err.startswith("OpenGL cannot be used here: ")


@pytest.mark.parametrize("call", list(DRAW_NOTHING))
def test_what_draws_nothing_wants_no_opengl(call: str, folder: Path) -> None:
    ended = without(*DRAW_NOTHING[call], cwd=folder)
    wrote = "Wrote again.json and again.points.csv.\n" if call == "handoff" else ""
    assert (ended.code, ended.err) == (0, wrote)


@pytest.mark.parametrize("call", list(NEED_NO_PICTURE))
def test_readings_that_need_no_picture_want_no_opengl(call: str, folder: Path) -> None:
    ended = without(*NEED_NO_PICTURE[call], "--renderer", "gl", "--quiet", cwd=folder)
    assert (ended.code, ended.err) == (0, "")


@pytest.mark.parametrize("call", list(DRAW))
def test_what_draws_takes_rays_and_says_so_once(call: str, folder: Path) -> None:
    before = listing(folder)
    ended = without(*DRAW[call], cwd=folder)
    assert ended.code == 0, ended.err
    assert ended.err.count("drawing with rays. For OpenGL install " + PACKAGES) == 1
    assert ended.out or len(listing(folder)) > len(before)


@pytest.mark.parametrize("call", list(DRAW))
def test_opengl_by_name_is_a_lack_that_says_what_to_install(call: str, folder: Path) -> None:
    before = listing(folder)
    ended = without(*DRAW[call], "--renderer", "gl", cwd=folder)
    assert ended.code == 3
    assert ended.err.startswith("OpenGL cannot be used here: ")
    assert f"apt-get install {PACKAGES}" in ended.err
    assert "--renderer rays" in ended.err
    assert ended.out == b""
    assert listing(folder) == before


@pytest.mark.parametrize("workers", ["1", "2"])
def test_rays_that_take_over_draw_in_every_process_and_are_recorded(workers: str, folder: Path) -> None:
    words = (*DRAW["sheet"], "--columns", "yaw_deg=0:70:10", "--workers", workers)
    ended = without(*words, cwd=folder)
    assert ended.code == 0, ended.err
    assert ended.err.count("drawing with rays") == 1
    assert json.loads((folder / "yard.json").read_text("utf-8"))["renderer"] == "rays"


def test_sheet_of_opengl_is_drawn_again_by_rays_as_rays_draw_it(
    folder: Path, sheet: tuple[bytes, bytes]
) -> None:
    ended = without(*DRAW["inspect, redrawn"], cwd=folder)
    assert "The sheet was drawn by gl; with rays its pixels differ." in ended.err
    assert (folder / "again.png").read_bytes() == sheet[0]


def test_check_opens_no_renderer(tmp_path: Path) -> None:
    def never(*given: object) -> None:
        raise AssertionError("a renderer was opened")

    yard(tmp_path)
    with patch("stationpoint.run.sweep.open_renderer", never):
        done("check", "yard.study.toml", cwd=tmp_path)
