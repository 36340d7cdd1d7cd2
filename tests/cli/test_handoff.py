"""`handoff`: cameras in any convention, as JSON, glTF and USD; read back by `from`.

Pixels are made again from what the file states, by a few lines of numpy that know nothing of the package.
"""

from __future__ import annotations

import csv
import json
from importlib.util import find_spec
from itertools import product
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy.spatial.transform import Rotation

from cli_calls import call, done, refused, yard

Points = NDArray[np.float64]

# Story: take-off (4.2, 0.8, -3), landing (4.2, 0.8, -7.1), anchor at the take-off; 35 mm, 8 m, pitch 20.
PIER_SCENE = """
[ground]
size = [60, 60]
[[solid]]
name = "barge-2"
shape = "box"
size = [3, 0.8, 3]
at = [4.2, 0, -2]
[[solid]]
name = "barge-3"
shape = "box"
size = [3, 0.8, 3]
at = [4.2, 0, -8.2]
"""
PIER = """
title = "Which lens lets a couch player judge the hop?"
scene = "yard.toml"
[subject]
name = "hopper"
at = [4.2, 0.8, -3]
[[gap]]
name = "two to three"
from = [4.2, 0.8, -3]
to = [4.2, 0.8, -7.1]
reach_m = 3.4
[camera]
focal_mm = 35
distance_m = 8
pitch_deg = 20
aspect = "16:9"
[sweep]
rows = { projection = ["orthographic", "perspective"] }
columns = { focal_mm = [24, 35, 50] }
hold = "subject-scale"
"""
OTHER = ("--handed", "left", "--up", "z", "--unit", "cm", "--clip", "0..1", "--reversed")
BASE = """
title = "Any camera"
scene = "yard.toml"
[subject]
name = "hopper"
at = [1.5, 0.2, -2]
[camera]
distance_m = 8
yaw_deg = 33
pitch_deg = 21
roll_deg = 7
anchor_height_m = 0.9
aspect = "16:9"
"""


def handed(folder: Path, *words: str, study: str = PIER) -> dict[str, Any]:
    """The hand-off of a study."""
    path = yard(folder, study, PIER_SCENE)
    done("handoff", path, *words, "-o", "camera.json", "--force", cwd=folder)
    found: dict[str, Any] = json.loads((folder / "camera.json").read_text())
    return found


def by_matrices(variant: dict[str, Any], convention: dict[str, Any]) -> tuple[Points, Points, Points]:
    """Pixels (n, 2), depth after the divide (n,) and w (n,) of its points, as its matrices draw them."""
    matrix = {name: np.array(rows) for name, rows in variant["matrices"].items()}
    if convention["matrix_order"] == "column":
        matrix = {name: rows.T for name, rows in matrix.items()}
    whole = matrix["projection"] @ matrix["view"]
    assert whole == pytest.approx(matrix["view_projection"], rel=1e-9, abs=1e-9)
    assert matrix["view"] @ matrix["camera_to_world"] == pytest.approx(np.eye(4), abs=1e-7)
    xyz = np.array([point["xyz"] for point in variant["points"]])
    clip = np.column_stack([xyz, np.ones(len(xyz))]) @ whole.T
    ndc = clip[:, :3] / clip[:, 3:]
    down = ndc[:, 1] if convention["clip_y"] == "down" else -ndc[:, 1]
    width, height = variant["lens"]["pixels"]
    return np.column_stack([(ndc[:, 0] + 1) / 2 * width, (down + 1) / 2 * height]), ndc[:, 2], clip[:, 3]


def by_numbers(variant: dict[str, Any]) -> tuple[Points, Points]:
    """Pixels (n, 2) and depth (n,) of its points from eye, axes, angles and shift alone."""
    lens, pose = variant["lens"], variant["pose"]
    away = np.array([point["xyz"] for point in variant["points"]]) - pose["eye"]
    x, y, depth = (away @ np.array(pose[name]) for name in ("right", "up", "ahead"))
    if lens["projection"] == "perspective":
        across = x / depth / np.tan(np.radians(lens["hfov_deg"]) / 2)
        over = y / depth / np.tan(np.radians(lens["vfov_deg"]) / 2)
    else:
        if lens["projection"] == "oblique":  # the anchor's depth is drawn as it is
            beyond = depth - (np.array(pose["anchor"]) - pose["eye"]) @ np.array(pose["ahead"])
            turn = np.radians(lens["oblique_angle_deg"])
            x = x + lens["oblique_ratio"] * beyond * np.cos(turn)
            y = y + lens["oblique_ratio"] * beyond * np.sin(turn)
        across, over = x / lens["half_width"], y / lens["half_height"]
    width, height = lens["pixels"]
    shift_x, shift_y = lens["shift"]
    return np.column_stack([(across / 2 + 0.5 + shift_x) * width, (0.5 - over / 2 - shift_y) * height]), depth


def px_of(variant: dict[str, Any]) -> Points:
    assert len(variant["points"]) == 8
    return np.array([point["px"] for point in variant["points"]])


# ---- the story of the pier ----------------------------------------------------------------------


def test_the_chosen_lens_is_handed_off_with_the_numbers_of_a_hand_calculation(tmp_path: Path) -> None:
    found = handed(tmp_path, "--variant", "B2")
    (variant,) = found["variants"]
    assert (variant["id"], variant["aspect_policy"]) == ("B2", "height")
    lens = variant["lens"]
    # 2 atan(36 / 70), 2 atan(20.25 / 70), 2 atan(41.304 / 70)
    assert [lens[key] for key in ("hfov_deg", "vfov_deg", "dfov_deg")] == pytest.approx(
        [54.43, 32.27, 61.09], abs=5e-3
    )
    projection = variant["matrices"]["projection"]
    assert (projection[0][0], projection[1][1]) == pytest.approx((1.9444, 3.4568), abs=1e-4)
    landing = next(point for point in variant["points"] if point["name"] == "two to three: landing")
    assert landing["px"] == pytest.approx([960, 319.16], abs=0.01)
    assert landing["depth"] == pytest.approx(8 + 4.1 * np.cos(np.radians(20)), abs=1e-5)
    assert variant["boom"]["length"] == pytest.approx(8)
    twin = handed(tmp_path, "--variant", "A2")["variants"][0]["lens"]  # 8 m x 20.25 / 35
    assert (twin["view_height"], twin["half_height"]) == pytest.approx((4.6286, 2.3143), abs=1e-4)


def test_another_convention_has_the_same_pixels(tmp_path: Path) -> None:
    plain = handed(tmp_path, "--variant", "B2")
    other = handed(tmp_path, "--variant", "B2", *OTHER)
    said = other["convention"]
    assert (said["handed"], said["up"], said["unit"], said["clip_z"], said["reversed"]) == (
        *("left", "z", "cm", "0..1"),
        True,
    )
    for found in (plain, other):
        px, clip_z, _ = by_matrices(found["variants"][0], found["convention"])
        assert np.abs(px - px_of(plain["variants"][0])).max() < 0.01
        assert clip_z == pytest.approx(
            [point["clip_z"] for point in found["variants"][0]["points"]], abs=1e-8
        )
    # x stays, y and z are exchanged, and a metre is a hundred.
    spots = [np.array([p["xyz"] for p in one["variants"][0]["points"]]) for one in (plain, other)]
    assert spots[1] == pytest.approx(spots[0][:, [0, 2, 1]] * 100)
    assert done("check-port", "camera.points.csv", "camera.json", cwd=tmp_path).text.startswith("B2: agrees")


def test_points_are_a_table_beside_the_file(tmp_path: Path) -> None:
    found = handed(tmp_path, "--variant", "B2")
    text = (tmp_path / "camera.points.csv").read_text()
    assert text.splitlines()[0] == "name,x,y,z,x_px,y_px,depth"
    rows = list(csv.DictReader(text.splitlines()))
    points = found["variants"][0]["points"]
    assert len(rows) == len(points) == 8
    for row, point in zip(rows, points, strict=True):
        numbers = [float(row[key]) for key in ("x", "y", "z", "x_px", "y_px", "depth")]
        assert (row["name"], numbers) == (point["name"], [*point["xyz"], *point["px"], point["depth"]])


def test_points_are_spread_and_no_turn_or_mirror_brings_them_together(tmp_path: Path) -> None:
    variant = handed(tmp_path, "--variant", "B2")["variants"][0]
    at = px_of(variant) / variant["lens"]["pixels"]
    assert at.min() > 0.04
    assert at.max() < 0.96
    assert np.ptp(at, axis=0).min() > 0.7
    deep = np.array([point["depth"] for point in variant["points"]])
    assert deep.max() / deep.min() > 4
    alike = [at * (-1, 1) + (1, 0), at * (1, -1) + (0, 1), 1 - at, at[:, ::-1]]
    for other in alike:
        assert np.abs(other - at).max() > 0.5


# ---- conventions --------------------------------------------------------------------------------

LENSES = {
    "plain": "focal_mm = 28",
    "shifted": 'focal_mm = 28\noffset = [0.11, -0.07]\noffset_by = "shift"',
    "slid": 'focal_mm = 28\noffset = [0.11, -0.07]\noffset_by = "slide"',
    "turned": 'focal_mm = 28\noffset = [0.11, -0.07]\noffset_by = "turn"',
    "orthographic": 'projection = "orthographic"\nview_height_m = 6',
    "orthographic, shifted": (
        'projection = "orthographic"\nview_height_m = 6\noffset = [0.11, -0.07]\noffset_by = "shift"'
    ),
    "oblique": (
        'projection = "oblique"\nview_height_m = 6\noblique_ratio = "cavalier"\noblique_angle_deg = 30'
    ),
    "oblique, shifted": (
        'projection = "oblique"\nview_height_m = 6\noffset = [0.11, -0.07]\noffset_by = "shift"'
    ),
}
AXES = [
    ("--handed", "right", "--up", "y"),
    ("--handed", "right", "--up", "z", "--unit", "mm"),
    ("--handed", "left", "--up", "y", "--clip", "0..1"),
    ("--handed", "left", "--up", "z", "--unit", "cm", "--clip", "0..1", "--reversed"),
    ("--axes=-z,x,y", "--camera-looks", "+x", "--clip-y", "down", "--matrix-order", "column"),
    ("--axes", "y,z,x", "--reversed", "--yaw", "right", "--pitch", "up"),
]


@pytest.mark.parametrize("lens", LENSES)
def test_every_convention_draws_every_camera_alike(lens: str, tmp_path: Path) -> None:
    study = BASE + LENSES[lens]
    plain = px_of(handed(tmp_path, study=study)["variants"][0])
    for words in AXES:
        found = handed(tmp_path, *words, study=study)
        said, (variant,) = found["convention"], found["variants"]
        px, clip_z, w = by_matrices(variant, said)
        again, depth = by_numbers(variant)
        assert np.abs(px_of(variant) - plain).max() == 0
        assert np.abs(px - plain).max() < 0.01
        assert np.abs(again - plain).max() < 0.01
        given = np.array([point["depth"] for point in variant["points"]])
        assert depth == pytest.approx(given, rel=1e-5)
        if variant["lens"]["projection"] == "perspective":
            assert w == pytest.approx(given, rel=1e-6)
        low = 0 if said["clip_z"] == "0..1" else -1
        assert low < clip_z.min() < clip_z.max() < 1
        order = np.argsort(given) if not said["reversed"] else np.argsort(-given)
        assert np.all(np.diff(clip_z[order]) > 0)
        # Right x up is back to the viewer in a right-handed world, ahead in a left-handed one.
        right, up, ahead = (np.array(variant["pose"][name]) for name in ("right", "up", "ahead"))
        assert np.cross(right, up) == pytest.approx(-ahead if said["handed"] == "right" else ahead, abs=1e-8)


@pytest.mark.parametrize(("yaw", "pitch"), [*product(("left", "right"), ("down", "up"))])
def test_angles_have_the_signs_asked_for(yaw: str, pitch: str, tmp_path: Path) -> None:
    pose = handed(tmp_path, "--yaw", yaw, "--pitch", pitch, study=BASE)["variants"][0]["pose"]
    assert pose["yaw_deg"] == pytest.approx(33 if yaw == "left" else -33)
    assert pose["pitch_deg"] == pytest.approx(21 if pitch == "down" else -21)
    # 33 degrees to the left, 21 down, rolled clockwise seen from behind: what the axes must be.
    turn = Rotation.from_euler("YXZ", [33, -21, -7], degrees=True).as_matrix()
    assert pose["right"] == pytest.approx(turn[:, 0], abs=1e-8)
    assert pose["ahead"] == pytest.approx(-turn[:, 2], abs=1e-8)
    assert pose["eye"] == pytest.approx(np.array([1.5, 1.1, -2]) + 8 * turn[:, 2], abs=1e-5)


def test_what_is_kept_on_other_aspects_is_said(tmp_path: Path) -> None:
    for policy, angle in (("height", "vertical"), ("width", "horizontal"), ("diagonal", "diagonal")):
        found = handed(tmp_path, study=BASE + f'aspect_policy = "{policy}"')
        assert found["convention"]["angle_kept"] == angle
        assert found["variants"][0]["aspect_policy"] == policy


def test_axes_that_contradict_the_hand_are_refused(tmp_path: Path) -> None:
    path = yard(tmp_path, PIER, PIER_SCENE)
    said = refused("handoff", path, "--axes", "x,y,z", "--handed", "left", cwd=tmp_path)
    assert "right-handed, and --handed says left" in said
    assert "name the three axes" in refused("handoff", path, "--axes", "x,x,z", cwd=tmp_path)


@pytest.mark.parametrize("words", AXES)
def test_mistakes_are_named_in_the_terms_of_the_convention(words: tuple[str, ...], tmp_path: Path) -> None:
    """A port with the file's own matrices: one transposed, or points of the wrong unit, hand or up axis."""
    found = handed(tmp_path, *words, study=BASE + LENSES["shifted"])
    said, (variant,) = found["convention"], found["variants"]
    whole = np.array(variant["matrices"]["view_projection"])
    whole = whole if said["matrix_order"] == "row" else whole.T
    xyz = np.array([point["xyz"] for point in variant["points"]])
    up = "xyz".index(said["up"][-1])
    level = [k for k in range(3) if k != up]
    mirrored, raised = xyz.copy(), xyz.copy()
    mirrored[:, level[0]] *= -1
    raised[:, up], raised[:, level[1]] = xyz[:, level[1]], xyz[:, up]
    for matrix, points, name in (
        (whole.T, xyz, "is transposed"),
        (whole, xyz * 100, "100 times too long"),
        (whole, mirrored, f"wrong hand: {'xyz'[level[0]]} is mirrored"),
        (whole, raised, "wrong up axis, and the wrong hand"),
    ):
        clip = np.column_stack([points, np.ones(8)]) @ matrix.T
        ndc = clip[:, :2] / clip[:, 3:] * (1, 1 if said["clip_y"] == "down" else -1)
        lines = [
            f"{point['name']},{x:.9g},{y:.9g}"
            for point, (x, y) in zip(variant["points"], (ndc + 1) / 2 * (1920, 1080), strict=True)
        ]
        (tmp_path / "engine.csv").write_text("\n".join(["name,x_px,y_px", *lines]))
        result = call("check-port", "engine.csv", "camera.json", cwd=tmp_path)
        assert (result.code, name in result.text) == (1, True), result.text
        assert "cannot tell apart" not in result.text


# ---- which variants -----------------------------------------------------------------------------


def test_the_chosen_one_is_handed_off_and_without_a_choice_all(tmp_path: Path) -> None:
    found = handed(tmp_path)
    assert [one["id"] for one in found["variants"]] == ["A1", "A2", "A3", "B1", "B2", "B3"]
    names = [point["name"] for one in found["variants"] for point in one["points"]]
    assert len(set(names)) == 48
    assert "B2: agrees" in done("check-port", "camera.points.csv", "camera.json", cwd=tmp_path).text
    key = found["variants"][4]["key"]
    found = handed(tmp_path, study=PIER + f'[decision]\nchosen = "{key}"\n')
    assert [one["id"] for one in found["variants"]] == ["B2"]
    said = refused(
        "handoff", yard(tmp_path, PIER + '[decision]\nchosen = "abcdef"\n', PIER_SCENE), cwd=tmp_path
    )
    assert 'no variant of the sweep has the key "abcdef"' in said


def test_the_same_study_gives_the_same_bytes(tmp_path: Path) -> None:
    handed(tmp_path)
    first = (tmp_path / "camera.json").read_bytes(), (tmp_path / "camera.points.csv").read_bytes()
    handed(tmp_path / "elsewhere")
    again = tmp_path / "elsewhere"
    assert first == ((again / "camera.json").read_bytes(), (again / "camera.points.csv").read_bytes())
    assert str(tmp_path).encode() not in first[0]


def test_a_boom_is_handed_off_as_long_as_asked_for_where_a_wall_pulls_it_in(tmp_path: Path) -> None:
    wall = PIER_SCENE + '[[solid]]\nname = "wall"\nshape = "box"\nsize = [20, 8, 0.5]\nat = [4, 0, 1]\n'
    wall += '[[solid]]\nname = "glass"\nshape = "box"\nsize = [1, 1, 1]\nat = [-9, 0, 1]\n'
    study = PIER.replace("pitch_deg = 20", 'pitch_deg = 20\nblocked = "pull-in"\npasses = ["glass*"]')
    done("handoff", yard(tmp_path, study, wall), "--variant", "B2", "-o", "c.json", cwd=tmp_path)
    boom = json.loads((tmp_path / "c.json").read_text())["variants"][0]["boom"]
    assert boom["length"] == pytest.approx(8)
    assert (boom["blocked"], boom["passes"]) == ("pull-in", ["glass*"])
    # near sqrt(1 + tan2(h / 2) + tan2(v / 2)), 0.1 m: 18 / 35 and 10.125 / 35
    assert boom["probe_radius"] == pytest.approx(
        0.1 * np.sqrt(1 + (18 / 35) ** 2 + (10.125 / 35) ** 2), abs=1e-6
    )


def test_other_endings_and_places_are_refused(tmp_path: Path) -> None:
    path = yard(tmp_path, PIER, PIER_SCENE)
    assert "handed off as JSON, glTF or USD" in refused("handoff", path, "-o", "camera.txt", cwd=tmp_path)
    assert "a convention of its own" in refused("handoff", path, "--up", "z", "-o", "c.glb", cwd=tmp_path)
    assert "holds no level" in refused("handoff", path, "--with-level", "-o", "c.json", cwd=tmp_path)
    (tmp_path / "mine.json").write_text("[1]")
    assert "would be lost" in refused("handoff", path, "-o", "mine.json", cwd=tmp_path)
    assert call("handoff", path, "-o", "-", cwd=tmp_path).record["variants"][0]["id"] == "A1"


# ---- glTF and USD, and back ---------------------------------------------------------------------


def needs_usd() -> None:
    if find_spec("pxr") is None:
        pytest.skip("usd-core is not installed")


def measured(folder: Path, study: str, name: str) -> tuple[Points, Points]:
    """View and projection, (4, 4) each, of a study's first row."""
    (folder / name).write_text(study)
    done("measure", name, "--only", "axes", "--json", "out.json", "--force", cwd=folder)
    matrices = json.loads((folder / "out.json").read_text())["rows"][0]["matrices"]
    return np.array(matrices["view"]), np.array(matrices["projection"])


HELD = {
    "camera.json": set(LENSES),
    "camera.glb": {"plain", "slid", "turned", "orthographic"},
    "camera.gltf": {"plain", "slid", "turned", "orthographic"},
    "camera.usda": set(LENSES) - {"oblique", "oblique, shifted"},
}


@pytest.mark.parametrize(("file", "lens"), [(file, lens) for file in HELD for lens in LENSES])
def test_there_and_back_is_the_same_camera(file: str, lens: str, tmp_path: Path) -> None:
    if file.endswith("usda"):
        needs_usd()
    path = yard(tmp_path, BASE + LENSES[lens], PIER_SCENE)
    if lens not in HELD[file]:
        said = refused("handoff", path, "-o", file, cwd=tmp_path)
        assert "of A1 none is left" in said
        return
    words = OTHER if file.endswith("json") else ()
    done("handoff", path, *words, "-o", file, cwd=tmp_path)
    before = measured(tmp_path, BASE + LENSES[lens], "before.study.toml")
    study = BASE[: BASE.index("[camera]")] + f'[camera]\nfrom = "{file}#A1"\nanchor_height_m = 0.9\n'
    after = measured(tmp_path, study, "after.study.toml")
    assert after[0] == pytest.approx(before[0], abs=1e-6)
    assert after[1] == pytest.approx(before[1], rel=1e-6, abs=1e-6)
    # Of a subject elsewhere the camera stays where it is, shifted lens and receding lines included.
    moved = measured(tmp_path, study.replace("[1.5, 0.2, -2]", "[0.5, 0, -3.5]"), "moved.study.toml")
    spots = np.random.default_rng(5).uniform(-3, 3, (6, 3)) + np.array([1.5, 1, -2])
    whole = [projection @ view for view, projection in (before, moved)]
    px = [(clip := np.column_stack([spots, np.ones(6)]) @ m.T)[:, :2] / clip[:, 3:] for m in whole]
    assert px[1] == pytest.approx(px[0], abs=1e-6)


def test_a_shifted_camera_from_a_file_is_handed_off_again_as_it_is(tmp_path: Path) -> None:
    for lens in ("shifted", "oblique, shifted"):
        first = handed(tmp_path, study=BASE + LENSES[lens])["variants"][0]
        head = BASE[: BASE.index("[camera]")].replace("[1.5, 0.2, -2]", "[0.5, 0, -3.5]")
        study = head + '[camera]\nfrom = "camera.json#A1"\n'
        done("handoff", yard(tmp_path, study, PIER_SCENE), "-o", "again.json", "--force", cwd=tmp_path)
        (again,) = json.loads((tmp_path / "again.json").read_text())["variants"]
        assert again["matrices"]["projection"][0] == pytest.approx(
            first["matrices"]["projection"][0], abs=1e-9
        )
        assert np.abs(by_numbers(again)[0] - px_of(again)).max() < 0.01
        assert again["pose"]["distance"] is None
        assert "agrees" in done("check-port", "again.points.csv", "again.json", cwd=tmp_path).text
        swept = study + "[sweep]\ncolumns = { pitch_deg = [10, 20] }\n"
        said = refused("measure", yard(tmp_path / "swept", swept, PIER_SCENE), cwd=tmp_path / "swept")
        assert "camera.json: there is no such file" in said
        said = refused("measure", yard(tmp_path, swept, PIER_SCENE), cwd=tmp_path)
        assert "is not on the axis of that camera, whose lens is shifted" in said


def test_names_of_any_kind_are_found_again_in_the_table(tmp_path: Path) -> None:
    study = PIER.replace('"two to three"', '" a, \\"b\\"\\nc "')
    found = handed(tmp_path, "--variant", "B2", study=study)
    assert any("\n" in point["name"] for point in found["variants"][0]["points"])
    assert "at 8 points" in done("check-port", "camera.points.csv", "camera.json", cwd=tmp_path).text


def test_a_key_names_a_camera_of_a_hand_off_as_a_label_does(tmp_path: Path) -> None:
    variant = handed(tmp_path, study=BASE)["variants"][0]
    study = BASE[: BASE.index("[camera]")] + '[camera]\nfrom = "camera.json#{}"\nanchor_height_m = 0.9\n'
    by_label = measured(tmp_path, study.format("A1"), "a.study.toml")
    by_key = measured(tmp_path, study.format(variant["key"]), "b.study.toml")
    assert np.array_equal(by_label[0], by_key[0])
    (tmp_path / "c.study.toml").write_text(study.format("Z9"))
    assert 'camera.json has no camera "Z9"' in refused("measure", "c.study.toml", cwd=tmp_path)


def test_shifted_and_oblique_cameras_are_left_out_by_name(tmp_path: Path) -> None:
    study = BASE + LENSES["shifted"] + '\n[sweep]\ncolumns = { offset_by = ["shift", "slide", "turn"] }\n'
    result = done("handoff", yard(tmp_path, study, PIER_SCENE), "-o", "c.gltf", cwd=tmp_path)
    assert "Left out: A1; glTF holds no shifted lens and no oblique view." in result.err
    nodes = json.loads((tmp_path / "c.gltf").read_text())["nodes"]
    assert [node["name"] for node in nodes] == ["A2", "A3"]
