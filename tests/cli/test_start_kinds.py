"""`start --kind`: each kind's first study is judged as it is, in the same bytes; a wrong word is answered."""

from __future__ import annotations

import json
import tomllib
from pathlib import Path

import pytest

from cli_calls import DATA, SCENE, call, done, refused
from stationpoint.cli.options import KINDS


@pytest.mark.parametrize("kind", KINDS)
def test_study_of_a_kind_is_judged_and_comes_out_in_the_same_bytes(kind: str, tmp_path: Path) -> None:
    (tmp_path / "yard.toml").write_text(SCENE, "utf-8")
    for name in ("one.toml", "two.toml"):
        done("start", "yard.toml", "--kind", kind, "-o", name, cwd=tmp_path)
    assert (tmp_path / "one.toml").read_bytes() == (tmp_path / "two.toml").read_bytes()
    judged = call("judge", "one.toml", "--renderer", "rays", "--json", "judged.json", cwd=tmp_path)
    assert judged.code in (0, 1), judged.err
    verdicts = json.loads((tmp_path / "judged.json").read_bytes())["verdicts"]
    assert len(verdicts) >= 4
    assert all(verdict["holds"] is not None for verdict in verdicts)


@pytest.mark.parametrize("room", ["office.glb", "meeting_room.glb"])
@pytest.mark.parametrize("kind", KINDS)
def test_study_of_a_kind_in_a_real_room_is_read(kind: str, room: str, tmp_path: Path) -> None:
    if not (DATA / room).is_file():
        pytest.skip(f"{room} is not at hand")
    done("start", (DATA / room).resolve(), "--kind", kind, "-o", "room.study.toml", cwd=tmp_path)
    said = done("check", "room.study.toml", cwd=tmp_path)
    assert "the camera is inside" not in said.text


@pytest.mark.parametrize("room", ["office.glb", "meeting_room.glb"])
@pytest.mark.parametrize("kind", ["side-on", "overhead"])
def test_primary_target_of_a_real_room_is_seen_from_the_kinds_own_camera(
    kind: str, room: str, tmp_path: Path
) -> None:
    if not (DATA / room).is_file():
        pytest.skip(f"{room} is not at hand")
    done("start", (DATA / room).resolve(), "--kind", kind, "-o", "room.study.toml", cwd=tmp_path)
    words = ("--rows", "", "--only", "targets.*.seen", "--renderer", "rays", "--json", "-")
    first = "pitch_deg=0,8" if kind == "side-on" else "pitch_deg=50,70"
    rows = done("measure", "room.study.toml", "--columns", first, *words, cwd=tmp_path).record["rows"]
    targets = tomllib.loads((tmp_path / "room.study.toml").read_text("utf-8"))["target"]
    (primary,) = (one["name"] for one in targets if one["role"] == "primary")
    seen = [row["targets"][primary]["seen"] for row in rows]
    assert len(seen) == 2
    assert min(seen) >= 0.5  # as the kinds' briefs ask


def _quad(name: str, *corners: tuple[float, float, float]) -> str:
    """A face that is seen where its corners run counterclockwise, for an OBJ file."""
    points = "".join(f"v {x} {y} {z}\n" for x, y, z in corners)
    return f"o {name}\n{points}f -4 -3 -2 -1\n"


def _box(name: str, low: tuple[float, float, float], high: tuple[float, float, float]) -> str:
    (a, b, c), (d, e, f) = low, high
    sides = [
        [(a, b, f), (d, b, f), (d, e, f), (a, e, f)],
        [(d, b, c), (a, b, c), (a, e, c), (d, e, c)],
        [(d, b, f), (d, b, c), (d, e, c), (d, e, f)],
        [(a, b, c), (a, b, f), (a, e, f), (a, e, c)],
        [(a, e, f), (d, e, f), (d, e, c), (a, e, c)],
        [(a, b, c), (d, b, c), (d, b, f), (a, b, f)],
    ]
    faces = "".join(_quad("", *side).removeprefix("o \n") for side in sides)
    return f"o {name}\n{faces}"


# A room of 8 x 3 x 6 m, its walls seen from within alone. A cupboard stands under a shelf 1.5 m up: a line
# that rises at 50 degrees or more from it meets the shelf at most 1.5 / tan 50 = 1.26 m on, and the
# shelf goes on for 1.3 m on each side. From within, below the shelf, all of it is seen.
CLOSED = (
    _quad("FLOOR", (-4, 0, 3), (4, 0, 3), (4, 0, -3), (-4, 0, -3))
    + _quad("CEILING", (-4, 3, -3), (4, 3, -3), (4, 3, 3), (-4, 3, 3))
    + _quad("WALL_A", (-4, 0, -3), (4, 0, -3), (4, 3, -3), (-4, 3, -3))
    + _quad("WALL_B", (4, 0, 3), (-4, 0, 3), (-4, 3, 3), (4, 3, 3))
    + _quad("WALL_C", (-4, 0, 3), (-4, 0, -3), (-4, 3, -3), (-4, 3, 3))
    + _quad("WALL_D", (4, 0, -3), (4, 0, 3), (4, 3, 3), (4, 3, -3))
    + _box("WALL_SHELF", (-3.8, 1.5, -1.6), (-0.2, 1.6, 1.6))
    + _box("cupboard", (-2.5, 0, -0.3), (-1.5, 0.8, 0.3))
)
CHAIR = _box("chair", (2.2, 0, -1.5), (2.8, 0.9, -0.9))


def test_overhead_into_a_closed_room_takes_what_is_seen_from_there_and_says_where_nothing_is(
    tmp_path: Path,
) -> None:
    (tmp_path / "room.obj").write_text(CLOSED + CHAIR, "utf-8")
    told = done("start", "room.obj", "--kind", "overhead", "-o", "room.study.toml", cwd=tmp_path)
    study = tomllib.loads((tmp_path / "room.study.toml").read_text("utf-8"))
    assert study["mesh"]["backs"] == "open"
    assert [(one["node"], one["role"]) for one in study["target"]] == [("chair", "primary")]
    assert "no target is named" not in told.err
    (tmp_path / "bare.obj").write_text(CLOSED, "utf-8")
    told = done("start", "bare.obj", "--kind", "overhead", "-o", "bare.study.toml", cwd=tmp_path)
    study = tomllib.loads((tmp_path / "bare.study.toml").read_text("utf-8"))
    assert "target" not in study
    assert not [one for one in study["limit"] if one["reading"].startswith("targets.")]
    assert "sees nothing that is likely a thing: no target is named; add a [[target]]." in told.err


def test_wrong_kind_names_the_nearest_one(tmp_path: Path) -> None:
    (tmp_path / "yard.toml").write_text(SCENE, "utf-8")
    said = refused("start", "yard.toml", "--kind", "third-persn", cwd=tmp_path)
    assert '"third-persn" is none; did you mean "third-person"?' in said
    said = refused("start", "yard.toml", "--kind", "drone", cwd=tmp_path)
    assert "there are third-person, first-person, side-on, overhead, two-subjects." in said
