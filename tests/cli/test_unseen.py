"""What cannot be seen never passes: a hidden body, a landing off the picture, a target under the interface.

Everything is worked by hand and asked through the command line.
"""

from __future__ import annotations

import json
from math import degrees
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from PIL import Image

from cli_calls import call, done
from scene.built import CUBE, CUBE_FACES, Built
from stationpoint.base.look import ROLE_TINT

RAYS = ("--renderer", "rays")
YARD = "[ground]\nsize = [60, 60]\n"
CAMERA = '\n[camera]\nfocal_mm = 36\ndistance_m = 8\npitch_deg = 0\nanchor_height_m = 0.9\naspect = "16:9"\n'
SUBJECT = 'scene = "yard.toml"\n[subject]\nname = "hopper"\nat = [0, 0, 0]\n'


def box(name: str, at: tuple[float, float, float], size: tuple[float, float, float]) -> str:
    return f'[[solid]]\nname = "{name}"\nshape = "box"\nsize = {list(size)}\nat = {list(at)}\n'


def limit(reading: str, bound: str) -> str:
    return f'\n[[limit]]\nreading = "{reading}"\n{bound}\n'


def written(folder: Path, scene: str, study: str) -> Path:
    (folder / "yard.toml").write_text(YARD + scene, "utf-8")
    (folder / "yard.study.toml").write_text(study, "utf-8")
    return folder


def measured(folder: Path, *words: str) -> Any:
    return done("measure", "yard.study.toml", *RAYS, *words, "--json", "-", cwd=folder).record["rows"][0]


def test_a_camera_that_wholly_hides_the_body_never_holds(tmp_path: Path) -> None:
    # The wall, 4 m across and 3 m high, stands 2 m before the body, 6 m from the eye; the body is less
    # than 1 m across and 1.7 m high at 8 m. The one limit is about a crate on top of a post that shows.
    scene = box("wall", (0, 0, 2), (4, 3, 0.2)) + box("crate", (3, 0, 0), (1, 1, 1))
    target = '[[target]]\nname = "crate"\nnode = "crate"\n'
    written(tmp_path, scene, SUBJECT + target + CAMERA + limit("targets.crate.in_frame", "min = 0.5"))
    judged = call("judge", "yard.study.toml", *RAYS, "--json", "j.json", cwd=tmp_path)
    assert judged.code == 1
    assert "fails: subject: seen 0 %, needs 25 %" in judged.text
    assert "0 of 1 variant holds." in judged.text
    whole = json.loads((tmp_path / "j.json").read_text("utf-8"))
    assert whole["verdicts"][0]["holds"] is False
    assert whole["verdicts"][0]["binds"]["reading"] == "subject.seen"
    done("sheet", "yard.study.toml", *RAYS, "--cell-width", "320", cwd=tmp_path)
    ticket = (tmp_path / "yard.txt").read_text("utf-8")
    assert "The camera does not hold the brief" in ticket
    assert "holds the brief" not in ticket


# The eye is 0.9 m over the ground and 8 m from the subject at +z, 36 mm: half the picture's width is half
# of the depth. Both ends stand on decks of one level.
DECKS = box("deck", (0, 0, 0), (2, 0.4, 2)) + box("landing", (0, 0, -4), (2, 0.4, 2))
HOP = '\n[[gap]]\nname = "hop"\nfrom = [0, 0.4, -1]\nto = [0, 0.4, -3]\nreach_m = 6\n'
ON_DECK = SUBJECT.replace("[0, 0, 0]", "[0, 0.4, 0]")


SIDEWAYS = CAMERA.replace("pitch_deg = 0", "pitch_deg = 20\nyaw_deg = 90")  # -z is right
SLID = 'offset = [0.4, 0]\noffset_by = "slide"\n'


@pytest.mark.parametrize("end", ["landing", "take-off"])
def test_an_end_off_the_picture_is_never_sure(tmp_path: Path, end: str) -> None:
    # From 16 m both ends are seen, 2 m apart within 6 m of reach: sure. From 4 m it sees |z| < 2, and the
    # landing's deck begins at -3; slid by .4 of its width it sees z from -.4 to 3.6, and not the take-off.
    written(tmp_path, DECKS, ON_DECK + HOP + SIDEWAYS.replace("= 8", "= 16"))
    assert measured(tmp_path)["gaps"]["hop"]["verdict"] == "sure"
    near = SIDEWAYS.replace("= 8", "= 4")
    hop = HOP
    if end == "take-off":
        near, hop = near + SLID, HOP.replace("0.4, -3]", "0.4, 0.5]")
    written(tmp_path, DECKS, ON_DECK + hop + near)
    found = measured(tmp_path)["gaps"]["hop"]
    assert (found["verdict"], found["reachable"]) == ("unseen", True)
    across = {"landing": found["to_xy"][0], "take-off": found["from_xy"][0]}
    assert [name for name, x in across.items() if not 0 <= x <= 1] == [end]
    judged = limit("gaps.hop.verdict", 'is = "sure"')
    written(tmp_path, DECKS, ON_DECK + hop + near + judged)
    assert call("judge", "yard.study.toml", *RAYS, cwd=tmp_path).code == 1


def test_an_orthographic_camera_of_a_gltf_draws_and_measures_twice_its_ymag(tmp_path: Path) -> None:
    # ymag 3: the picture is 6 m high and, 16:9, 10.667 m wide. A cube of 2 m, its middle 1 m to the right
    # and 1 m under the camera's axis: 1/3 of the height, from y = 0 to 2 m below the middle.
    built = Built()
    built.node(name="crate", mesh=built.mesh(CUBE, CUBE_FACES), translation=[1, 1, 0])
    built.tables["cameras"] = [
        {"type": "orthographic", "orthographic": {"xmag": 3 * 16 / 9, "ymag": 3, "znear": 0.1, "zfar": 50}}
    ]
    built.node(name="front", camera=0, translation=[0, 2, 10])
    built.glb(tmp_path / "level.glb")
    (tmp_path / "yard.study.toml").write_text(
        'scene = "level.glb"\n[[target]]\nname = "crate"\nnode = "crate"\nrole = "secondary"\n'
        '[camera]\nfrom = "level.glb#front"\naspect = "16:9"\n',
        "utf-8",
    )
    words = ("--cell-width", "1600", "--alone", "--mode", "silhouette", "-o", "flat.png")
    row = measured(tmp_path)
    whole = done("measure", "yard.study.toml", *RAYS, "--json", "-", cwd=tmp_path).record
    assert whole["variants"][0]["settings"]["view_height_m"] == 6
    assert whole["variants"][0]["settings"]["projection"] == "orthographic"
    crate = row["targets"]["crate"]
    assert crate["screen_xy"] == pytest.approx([0.5 + 1 / (6 * 16 / 9), 0.5 + 1 / 6], abs=1e-6)
    assert crate["size_px"]["desk"] == pytest.approx([2 / 6 * 1080] * 2, abs=0.01)
    assert crate["screen_share"] == pytest.approx(2 * 2 / (6 * 6 * 16 / 9), rel=0.01)
    assert row["axes"]["y"]["px_per_m"] == pytest.approx(1080 / 6, abs=1e-3)
    # and so it is drawn: 1600 px are 10.667 m, the cube is 300 px wide, within it a line where it hides sky
    done("sheet", "yard.study.toml", *RAYS, *words, cwd=tmp_path)
    assert longest_run(tmp_path / "flat.png", ROLE_TINT["secondary"]) == pytest.approx(300, abs=5)


def longest_run(sheet: Path, tint: tuple[int, int, int]) -> int:
    """The most pixels of a flat tint beside each other in a row of a sheet."""
    is_tint = (np.asarray(Image.open(sheet).convert("RGB")) == tint).all(axis=2)
    steps = np.diff(np.pad(is_tint, ((0, 0), (1, 1))).astype(np.int8), axis=1)
    starts, ends = np.nonzero(steps == 1)[1], np.nonzero(steps == -1)[1]
    return int((ends - starts).max(initial=0))


PLATE = box("plate", (-3.2, 0, 0), (1, 1, 0.2))
PLATED = SUBJECT + '[[target]]\nname = "plate"\nnode = "plate"\n' + CAMERA
COVER = '\n[[reserved]]\nname = "map"\nrect = [0, 0.3, 0.35, 1]\n'


def test_a_target_under_opaque_interface_is_not_seen_and_fails_its_limits(tmp_path: Path) -> None:
    # Level, 36 mm, 8 m: the picture is 8 m wide; the plate spans -3.7 to -2.7 m, .0375 to .1625 of the
    # width, and 0 to 1 m of height, .9 m below the eye to .1 m above it: rows .478 to .7: all under the map.
    brief = limit("targets.plate.seen", "min = 0.1") + limit("targets.plate.piece_arcmin", "min = 16")
    written(tmp_path, PLATE, PLATED + COVER + brief)
    plate = measured(tmp_path)["targets"]["plate"]
    assert (plate["seen"], plate["in_frame"], plate["reserved_cover"]) == (0, 1, 1)
    assert plate["piece_arcmin"] == {"desk": 0}
    judged = call("judge", "yard.study.toml", *RAYS, cwd=tmp_path)
    assert judged.code == 1
    assert "fails: plate: seen 0 %" in judged.text
    assert "[targets.plate.piece_arcmin.desk]" in judged.text
    # half see-through it is seen, and its whole side of 1 m at 8 m is 240 px on the desk, 381'
    written(tmp_path, PLATE, PLATED + COVER + "opacity = 0.4\n" + brief)
    plate = measured(tmp_path)["targets"]["plate"]
    assert plate["seen"] == 1
    assert plate["piece_arcmin"]["desk"] > 300
    assert call("judge", "yard.study.toml", *RAYS, cwd=tmp_path).code == 0


def test_a_piece_ends_where_opaque_interface_begins(tmp_path: Path) -> None:
    # A map over all right of .1 of the width: of the plate .0375 to .1 is left, half of it: 120 px wide on
    # the desk, whose pixel is 24 in x .0254 / hypot(16, 9) x 16 / 1920 = .2767 mm, at .6 m: at x from -888
    # to -768 px off the middle.
    cover = '\n[[reserved]]\nname = "map"\nrect = [0.1, 0, 1, 1]\n'
    written(tmp_path, PLATE.replace("1, 1, 0.2", "1, 1, 0.0001"), PLATED + cover)
    plate = measured(tmp_path)["targets"]["plate"]
    pitch_m = 24 * 0.0254 / np.hypot(16, 9) * 16 / 1920
    across = degrees(np.arctan(888 * pitch_m / 0.6) - np.arctan(768 * pitch_m / 0.6)) * 60
    assert plate["seen"] == pytest.approx(0.5, abs=0.02)
    assert plate["piece_arcmin"]["desk"] == pytest.approx(across, rel=0.03)


@pytest.mark.parametrize("why", ["hidden", "off", "behind"])
def test_an_unseen_target_has_a_piece_of_nothing_which_fails_its_min(tmp_path: Path, why: str) -> None:
    at = {"hidden": (0, 0, -5), "off": (30, 0, -5), "behind": (0, 0, 20)}[why]
    scene = box("crate", at, (1, 1, 1)) + (box("wall", (0, 0, -3), (6, 4, 0.2)) if why == "hidden" else "")
    target = '[[target]]\nname = "crate"\nnode = "crate"\n'
    written(tmp_path, scene, SUBJECT + target + CAMERA + limit("targets.*.piece_arcmin", "min = 16"))
    crate = measured(tmp_path)["targets"]["crate"]
    assert (crate["seen"], crate["piece_arcmin"]) == (0, {"desk": 0})
    judged = call("judge", "yard.study.toml", *RAYS, cwd=tmp_path)
    assert judged.code == 1
    assert "[targets.crate.piece_arcmin.desk]" in judged.text
