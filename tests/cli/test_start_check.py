"""`start`, `check` and `mesh`: a first study for a level, what was understood of it, its GLB."""

from __future__ import annotations

import json
import tomllib
from pathlib import Path

import pytest

from cli_calls import DATA, SCENE, SMALL, STUDY, done, listing, refused, yard
from stationpoint.scene.file import read_scene


def test_start_writes_a_study_that_draws_at_once(tmp_path: Path) -> None:
    (tmp_path / "yard.toml").write_text(SCENE, "utf-8")
    said = done("start", "yard.toml", cwd=tmp_path).text
    assert said == "Wrote yard.study.toml. Draw it with: stationpoint sheet yard.study.toml\n"
    study = tomllib.loads((tmp_path / "yard.study.toml").read_text("utf-8"))
    assert study["scene"] == "yard.toml"
    assert study["sweep"]["hold"] == "subject-scale"
    done("sheet", "yard.study.toml", *SMALL, cwd=tmp_path)
    alone = done("sheet", "yard.toml", *SMALL, "-o", "alone.png", cwd=tmp_path)
    assert alone.err.endswith("alone.txt.\n")
    rows = [json.loads((tmp_path / name).read_bytes())["rows"] for name in ("yard.json", "alone.json")]
    assert rows[0] == rows[1]


def test_start_names_the_scene_from_the_study_s_own_folder(tmp_path: Path) -> None:
    yard(tmp_path / "levels" / "one")
    (tmp_path / "studies").mkdir()
    done("start", "levels/one/yard.toml", "-o", "studies", cwd=tmp_path)
    path = tmp_path / "studies" / "yard.study.toml"
    assert tomllib.loads(path.read_text("utf-8"))["scene"] == "../levels/one/yard.toml"
    done("sheet", "studies/yard.study.toml", *SMALL, cwd=tmp_path)
    done("start", "levels/one/yard.toml", "-o", "studies", "--force", cwd=tmp_path)


@pytest.mark.parametrize("room", ["office.glb", "meeting_room.glb"])
def test_first_study_of_a_real_room_stands_on_its_floor_and_looks_within(room: str, tmp_path: Path) -> None:
    if not (DATA / room).is_file():
        pytest.skip(f"{room} is not at hand")
    path = (DATA / room).resolve()
    scene = read_scene(path)
    floor, table = scene.node("FLOOR.01").bounds, scene.node("TABLE_plane.01").bounds
    done("start", path, "-o", "room.study.toml", cwd=tmp_path)
    study = tomllib.loads((tmp_path / "room.study.toml").read_text("utf-8"))
    x, y, z = study["subject"]["at"]
    assert y == pytest.approx(floor[0][1], abs=0.05)
    (left, _, back), (right, _, front) = table
    assert not (left <= x <= right and back <= z <= front)
    assert study["target"]
    said = done("check", "room.study.toml", cwd=tmp_path).text
    assert "the camera is inside" not in said
    done("sheet", "room.study.toml", *SMALL, cwd=tmp_path)
    rows = json.loads((tmp_path / "room.json").read_bytes())["rows"]
    assert len(rows) == 8
    low, high = scene.bounds()
    for row in rows:  # the eye: minus the transposed rotation times the last column
        view = row["matrices"]["view"]
        eye = [-sum(view[k][axis] * view[k][3] for k in range(3)) for axis in range(3)]
        assert all(low[axis] < eye[axis] < high[axis] for axis in range(3))


HALL = [  # a shell 10 x 8 x 3 m, seen from within, and a door of 2.1 m in it, in centimetres, Z up
    ("shell", (-500, -400, 0), (500, 400, 300)),
    ("door", (-45, 395, 0), (45, 399, 210)),
]


def hall(folder: Path) -> Path:
    lines: list[str] = []
    for count, (name, low, high) in enumerate(HALL):
        corners = [(x, y, z) for x in (low[0], high[0]) for y in (low[1], high[1]) for z in (low[2], high[2])]
        lines += [f"o {name}", *(f"v {x} {y} {z}" for x, y, z in corners)]
        sides = ((1, 2, 4, 3), (5, 7, 8, 6), (1, 5, 6, 2), (3, 4, 8, 7), (1, 3, 7, 5), (2, 6, 8, 4))
        lines += ["f " + " ".join(str(k + 8 * count) for k in reversed(side)) for side in sides]
    (folder / "hall.obj").write_text("\n".join(lines), "utf-8")
    return folder / "hall.obj"


SAID = "hall.obj: 1000 × 800 × 300: taken as Z up, centimetres (10 × 8 × 3 m)"


def test_start_says_and_writes_down_how_a_mesh_is_taken_and_it_draws_the_same(tmp_path: Path) -> None:
    hall(tmp_path)
    said = done("start", "hall.obj", cwd=tmp_path)
    assert SAID in said.err
    study = tomllib.loads((tmp_path / "hall.study.toml").read_text("utf-8"))
    assert study["mesh"] == {"up": "z", "scale": 0.01}
    x, y, z = study["subject"]["at"]
    assert y == 0  # on the floor, within the walls
    assert abs(x) < 5
    assert abs(z) < 4
    checked = done("check", "hall.study.toml", cwd=tmp_path)
    assert "10 × 3 × 8 m" in checked.text
    assert SAID not in checked.err  # inside a study nothing is guessed
    done("sheet", "hall.study.toml", *SMALL, cwd=tmp_path)
    alone = done("sheet", "hall.obj", *SMALL, "-o", "alone.png", cwd=tmp_path)
    assert SAID in alone.err
    records = [json.loads((tmp_path / name).read_bytes()) for name in ("hall.json", "alone.json")]
    assert records[0]["rows"] == records[1]["rows"]
    again = done("inspect", "alone.png", "--redraw", "again.png", cwd=tmp_path)
    assert "has changed" not in again.err
    assert (tmp_path / "again.png").read_bytes() == (tmp_path / "alone.png").read_bytes()


def test_guess_is_changed_by_what_a_person_says(tmp_path: Path) -> None:
    hall(tmp_path)
    said = done("start", "hall.obj", "--set", "mesh.scale=0.02", "--set", "camera.roll_deg=3", cwd=tmp_path)
    assert "0.02 m a unit (20 × 16 × 6 m)" in said.err
    study = tomllib.loads((tmp_path / "hall.study.toml").read_text("utf-8"))
    assert study["mesh"]["scale"] == 0.02
    assert study["camera"]["roll_deg"] == 3
    assert "20 × 6 × 16 m" in done("check", "hall.obj", "--set", "mesh.scale=0.02", cwd=tmp_path).text


def test_mesh_keys_stand_with_a_mesh_only(tmp_path: Path) -> None:
    yard(tmp_path, STUDY + '\n[mesh]\nup = "z"\n')
    assert "[mesh] says how a mesh file is taken" in refused("check", "yard.study.toml", cwd=tmp_path)


def test_check_says_what_was_understood_of_a_study(tmp_path: Path) -> None:
    limit = '\n[[limit]]\nreading = "targets.*.seen"\nmin = 0.6\nrole = "primary"\n'
    yard(tmp_path, STUDY + limit)
    before = listing(tmp_path)
    said = done("check", "yard.study.toml", "--rows", "pitch_deg=10,30", cwd=tmp_path).text
    assert listing(tmp_path) == before
    lines = said.splitlines()
    assert lines[0] == "Does the crate show?"
    told = {line[2:12].strip(): line[13:] for line in lines[1:]}
    assert told["Subject"] == "hopper, a figure 1.7 m high, foot at (0, 0, 0)"
    assert told["Targets"] == 'crate (primary): node "crate"'
    assert told["Gaps"] == "hop: 2.8 m straight, 2.8 m level; level reach 3.0 m; lands on ground"
    assert told["Camera"].startswith("perspective, 35 mm (54.4 × 32.3, 61.1°), 8.0 m away, pitch 20°")
    assert told["Rows"] == "pitch_deg: 10, 30"
    assert told["Columns"] == "focal_mm: 24, 50"
    assert told["Makes"] == "4 variants, 4 rows of readings"
    assert told["Viewings"].startswith("desk: 24 in, 1920 × 1080, from 0.6 m")
    assert "assumed" in said
    assert told["Brief"] == "primary targets: seen at least 60 %"


def test_check_says_what_is_in_a_scene_or_mesh(tmp_path: Path) -> None:
    yard(tmp_path)
    done("mesh", "yard.study.toml", "-o", "yard.glb", cwd=tmp_path)
    for file, cameras in (("yard.toml", False), ("yard.glb", True)):
        said = done("check", file, cwd=tmp_path).text
        assert "3 nodes, 26 triangles" in said  # two of the ground, twelve a box
        assert "40 × 2 × 40 m" in said
        assert "ground, crate, wall" in said
        assert ("study camera" in said) == cameras


def test_check_warns_of_a_camera_in_a_solid_but_not_in_the_room_it_films(tmp_path: Path) -> None:
    wall = '\n[[solid]]\nname = "block"\nshape = "box"\nsize = [4, 9, 4]\nat = [0, 0, 8]\n'
    yard(tmp_path, scene=SCENE + wall)
    said = done("check", "yard.study.toml", cwd=tmp_path).text
    assert 'Both variants: the camera is inside "block".' in said
    hall = '\n[[solid]]\nname = "hall"\nshape = "box"\nsize = [30, 9, 30]\nat = [0, -1, 0]\n'
    yard(tmp_path, scene=SCENE + hall)
    assert "inside" not in done("check", "yard.study.toml", cwd=tmp_path).text


def test_mesh_of_a_scene_reads_back_as_the_same_geometry(tmp_path: Path) -> None:
    yard(tmp_path)
    said = done("mesh", "yard.toml", cwd=tmp_path).text
    assert said == "Wrote yard.glb.\n"
    written, made = read_scene(tmp_path / "yard.toml"), read_scene(tmp_path / "yard.glb")
    assert [node.name for node in made.nodes] == ["ground", "crate", "wall"]
    for old, new in zip(written.nodes, made.nodes, strict=True):
        assert new.bounds == pytest.approx(old.bounds, abs=1e-6)
