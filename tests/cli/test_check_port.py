"""`check-port` names what a port mistook. The port here is OpenCV's projectPoints and scipy's rotations with
the numbers of the study; nothing of the package draws a pixel of it."""

from __future__ import annotations

import csv
import re
from collections.abc import Callable
from pathlib import Path
from typing import Any

import cv2
import numpy as np
import pytest
from numpy.typing import NDArray
from scipy.spatial.transform import Rotation

from cli_calls import call, done, refused, yard

Points = NDArray[np.float64]

WIDTH, HEIGHT, FOCAL_MM, NEAR = 1920, 1080, 28.0, 0.1
FOOT, OVER, AWAY, YAW, PITCH, SHIFT = np.array([1.5, 0.2, -2.0]), 0.9, 8.0, 33.0, 21.0, (0.11, -0.07)
HALF_H, HALF_V = np.arctan(18 / FOCAL_MM), np.arctan(18 / FOCAL_MM * HEIGHT / WIDTH)
STUDY = f"""
title = "To be ported"
scene = "yard.toml"
[subject]
name = "hopper"
at = {FOOT.tolist()}
[camera]
focal_mm = {FOCAL_MM}
distance_m = {AWAY}
yaw_deg = {YAW}
pitch_deg = {PITCH}
roll_deg = 0
anchor_height_m = {OVER}
offset = {list(SHIFT)}
offset_by = "shift"
aspect = "16:9"
far_m = 120
"""


def pose(yaw: float = YAW, pitch: float = PITCH, over: float = OVER) -> tuple[Points, Points]:
    """Eye (3,) and axes (right, up, back as columns): heading turned left by yaw, then tipped down."""
    turn = Rotation.from_euler("YX", [yaw, -pitch], degrees=True).as_matrix()
    return FOOT + [0, over, 0] + AWAY * turn[:, 2], turn


def drawn(
    points: Points,
    where: tuple[Points, Points] | None = None,
    half_h: float = HALF_H,
    half_v: float = HALF_V,
    shift: tuple[float, float] = SHIFT,
    size: tuple[float, float] = (WIDTH, HEIGHT),
) -> Points:
    """Pixels (n, 2) by OpenCV, whose camera has x right, y down, z ahead."""
    eye, turn = where or pose()
    to_cv = np.diag([1.0, -1.0, -1.0]) @ turn.T
    k = np.array(
        [
            [size[0] / 2 / np.tan(half_h), 0, size[0] * (0.5 + shift[0])],
            [0, size[1] / 2 / np.tan(half_v), size[1] * (0.5 - shift[1])],
            [0, 0, 1],
        ]
    )
    pixels, _ = cv2.projectPoints(points, cv2.Rodrigues(to_cv)[0], -to_cv @ eye, k, None)
    return np.asarray(pixels, dtype=np.float64).reshape(-1, 2)


def depth(points: Points) -> Points:
    eye, turn = pose()
    return -(points - eye) @ turn[:, 2]


def matrices(far: float = 120.0) -> tuple[Points, Points]:
    """View and projection, (4, 4) each, from the formulas of glTF 2.0, 3.10, and the off-axis frustum."""
    eye, turn = pose()
    view = np.eye(4)
    view[:3, :3], view[:3, 3] = turn.T, -turn.T @ eye
    n = NEAR
    projection = np.array(
        [
            [1 / np.tan(HALF_H), 0, -2 * SHIFT[0], 0],
            [0, 1 / np.tan(HALF_V), -2 * SHIFT[1], 0],
            [0, 0, (far + n) / (n - far), 2 * far * n / (n - far)],
            [0, 0, -1, 0],
        ]
    )
    return view, projection


def by_matrix(points: Points, whole: Points) -> Points:
    clip = np.column_stack([points, np.ones(len(points))]) @ whole.T
    ndc = clip[:, :2] / clip[:, 3:]
    return np.column_stack([(ndc[:, 0] + 1) / 2 * WIDTH, (1 - ndc[:, 1]) / 2 * HEIGHT])


def transposed(points: Points) -> Points:
    view, projection = matrices()
    return by_matrix(points, (projection @ view).T)


def turned(points: Points, columns: tuple[int, ...], signs: tuple[int, ...]) -> Points:
    return points[:, list(columns)] * signs


@pytest.fixture(scope="module")
def handed(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder with the hand-off of the study."""
    folder = tmp_path_factory.mktemp("port")
    done("handoff", yard(folder, STUDY), "-o", "camera.json", cwd=folder)
    return folder


def points_of(folder: Path) -> tuple[list[str], Points]:
    rows = list(csv.DictReader((folder / "camera.points.csv").read_text().splitlines()))
    return [row["name"] for row in rows], np.array([[float(row[axis]) for axis in "xyz"] for row in rows])


def engine(folder: Path, px: Points, deep: Points | None = None) -> str:
    """The port's table, written."""
    names, _ = points_of(folder)
    assert len(names) == 8
    lines = ["name,x_px,y_px" + ("" if deep is None else ",depth")]
    for k, name in enumerate(names):
        values = [*px[k], *([] if deep is None else [deep[k]])]
        lines.append(",".join([name, *(f"{value:.6g}" for value in values)]))
    (folder / "engine.csv").write_text("\n".join(lines) + "\n")
    return "engine.csv"


def checked(folder: Path, px: Points, deep: Points | None = None, code: int = 1) -> str:
    result = call("check-port", engine(folder, px, deep), "camera.json", cwd=folder)
    assert result.code == code, (result.text, result.err)
    return result.text


def test_a_right_port_agrees_in_pixels_and_in_depth(handed: Path) -> None:
    _, points = points_of(handed)
    said = checked(handed, drawn(points), depth(points), code=0)
    assert "A1: agrees within 0.00" in said
    assert "in depth too" in said
    off = drawn(points)
    off[3] += (0.15, 0.0)
    assert "agrees within 0.15" in checked(handed, off, code=0)


# What is wrong, made by OpenCV with the wrong number -> the words that name it.
MISTAKES: dict[str, tuple[Callable[[Points], Points], str]] = {
    "mirrored x": (lambda p: drawn(p) * (-1, 1) + (WIDTH, 0), "mirrored left to right"),
    "y flipped": (lambda p: drawn(p) * (1, -1) + (0, HEIGHT), "upside down"),
    "transposed matrix": (transposed, "is transposed"),
    "transposed view": (
        lambda p: by_matrix(p, matrices()[1] @ matrices()[0].T),
        "the view matrix is transposed",
    ),
    "inverse view": (
        lambda p: by_matrix(p, matrices()[1] @ np.linalg.inv(matrices()[0])),
        "without being inverted",
    ),
    "degrees for radians": (
        lambda p: drawn(
            p,
            half_v=np.degrees(HALF_V),
            half_h=np.arctan(WIDTH / HEIGHT * np.tan(np.degrees(HALF_V))),
        ),
        "angle of view is in degrees where radians",
    ),
    "degrees for radians in the pose": (
        lambda p: drawn(p, pose(np.degrees(YAW), np.degrees(PITCH))),
        "yaw and pitch are in degrees where radians",
    ),
    "vertical for horizontal": (
        lambda p: drawn(p, half_h=HALF_V, half_v=np.arctan(np.tan(HALF_V) * HEIGHT / WIDTH)),
        "vertical angle of view is used as the horizontal",
    ),
    "horizontal for vertical": (
        lambda p: drawn(p, half_v=HALF_H, half_h=np.arctan(np.tan(HALF_H) * WIDTH / HEIGHT)),
        "horizontal angle of view is used as the vertical",
    ),
    "gate by height": (
        lambda p: drawn(p, half_v=np.arctan(12 / FOCAL_MM), half_h=np.arctan(12 / FOCAL_MM * WIDTH / HEIGHT)),
        "matched to the gate's height",
    ),
    "wrong hand": (lambda p: drawn(turned(p, (0, 1, 2), (1, 1, -1))), "wrong hand: z is mirrored"),
    "wrong up axis": (lambda p: drawn(turned(p, (0, 2, 1), (1, -1, 1))), "wrong up axis"),
    "y and z exchanged": (
        lambda p: drawn(turned(p, (0, 2, 1), (1, 1, 1))),
        "wrong up axis, and the wrong hand",
    ),
    "centimetres": (lambda p: drawn(p * 100), "100 times too long"),
    "millimetres": (lambda p: drawn(p / 1000), "1000 times too short"),
    "pitch sign": (
        lambda p: drawn(p, pose(pitch=-PITCH)),
        "pitch has the wrong sign: the camera stands below",
    ),
    "pitch sign in place": (
        lambda p: drawn(p, (pose()[0], pose(pitch=-PITCH)[1])),
        "pitch has the wrong sign: the camera looks up",
    ),
    "yaw sign": (
        lambda p: drawn(p, pose(yaw=-YAW)),
        "yaw has the wrong sign: the camera stands on the other",
    ),
    "yaw from another axis": (lambda p: drawn(p, pose(yaw=YAW + 90)), "yaw counts from another direction"),
    "shift forgotten": (lambda p: drawn(p, shift=(0, 0)), "the lens shift is forgotten"),
    "shift sign in y": (
        lambda p: drawn(p, shift=(SHIFT[0], -SHIFT[1])),
        "lens shift has the wrong sign in y",
    ),
    "half a pixel": (lambda p: drawn(p) - 0.5, "half a pixel off (x by -0.5 px and y by -0.5 px)"),
    "half a pixel in y": (lambda p: drawn(p) + np.array([0, 0.5]), "half a pixel off (y by +0.5 px)"),
    "resolution": (lambda p: drawn(p, size=(1280, 720)), "another resolution: 1280 x 720 px"),
    "anchor height": (lambda p: drawn(p, pose(over=0.0)), "the anchor's height is forgotten"),
    "fractions": (lambda p: drawn(p) / (WIDTH, HEIGHT), "are fractions of the picture"),
    "stretched": (lambda p: drawn(p, size=(1920, 1200)), "stretched to another aspect: 1920 x 1200 px"),
}


FAR_OFF = ("centimetres", "wrong up axis")  # points fall a million pixels off


@pytest.mark.parametrize("name", MISTAKES)
def test_a_planted_mistake_is_named_and_no_other(name: str, handed: Path) -> None:
    made, words = MISTAKES[name]
    _, points = points_of(handed)
    said = checked(handed, made(points))
    assert words in said
    assert "cannot tell apart" not in said
    assert "; and " not in said  # one mistake, not two
    assert re.search("all 8 points fit within 0.0", said) or name in FAR_OFF


PAIRS: dict[str, tuple[Callable[[Points], Points], tuple[str, str]]] = {
    "pitch sign, upside down": (
        lambda p: drawn(p, pose(pitch=-PITCH)) * (1, -1) + (0, HEIGHT),
        ("upside down", "pitch has the wrong sign"),
    ),
    "unit and yaw sign": (
        lambda p: drawn(p * 100, pose(yaw=-YAW)),
        ("yaw has the wrong sign", "100 times too long"),
    ),
    "up axis and mirrored": (
        lambda p: drawn(turned(p, (0, 2, 1), (1, -1, 1))) * (-1, 1) + (WIDTH, 0),
        ("mirrored left to right", "up axis"),
    ),
    "shift forgotten in another resolution": (
        lambda p: drawn(p, shift=(0, 0), size=(1280, 720)),
        ("the lens shift is forgotten", "another resolution"),
    ),
}


@pytest.mark.parametrize("name", PAIRS)
def test_two_likely_mistakes_at_once_are_named(name: str, handed: Path) -> None:
    made, words = PAIRS[name]
    _, points = points_of(handed)
    said = checked(handed, made(points))
    assert all(word in said for word in words), said


def clip_z(points: Points, of_one: bool, is_reversed: bool) -> Points:
    """Depth after the divide, from near and far: reference formulas of a 0..1 and a -1..1 range."""
    n, f, z = NEAR, 120.0, depth(points)
    found = (f / (f - n)) * (1 - n / z)  # 0 at n, 1 at f
    found = 1 - found if is_reversed else found
    return found if of_one else 2 * found - 1


DEPTHS: dict[str, tuple[Callable[[Points], Points], str]] = {
    "0..1": (lambda p: clip_z(p, True, False), "the clip range is 0..1, not -1..1"),
    "reversed": (lambda p: clip_z(p, False, True), "it is reversed"),
    "0..1 reversed": (lambda p: clip_z(p, True, True), "range is 0..1, not -1..1 and it is reversed"),
    "straight": (lambda p: np.linalg.norm(p - pose()[0], axis=1), "straight distance from the eye"),
    "negative": (lambda p: -depth(p), "wrong sign"),
    "centimetres": (lambda p: depth(p) * 100, "centimetres for metres"),
}  # fmt: skip


@pytest.mark.parametrize("name", DEPTHS)
def test_a_mistake_in_depth_alone_is_named(name: str, handed: Path) -> None:
    made, words = DEPTHS[name]
    _, points = points_of(handed)
    said = checked(handed, drawn(points), made(points))
    assert "agrees within" in said
    assert words in said
    assert "agrees within" in checked(handed, drawn(points), clip_z(points, False, False), code=0)


def test_a_port_that_is_wrong_in_no_known_way_is_told_so(handed: Path) -> None:
    _, points = points_of(handed)
    noise = np.random.default_rng(3).uniform(-40, 40, (8, 2))
    assert "No mistake that is known here explains it" in checked(handed, drawn(points) + noise)


def test_a_port_that_draws_all_in_one_spot_has_no_resolution(handed: Path) -> None:
    assert "No mistake that is known here explains it" in checked(handed, np.zeros((8, 2)))


# A parallel view: view height 6 m, so 180 px a metre. Its axes by scipy, its pixels by hand.
PARALLEL: dict[str, tuple[float, str]] = {  # pixels a metre, and the words that name what is wrong
    "whole for half": (90, "half as large"),
    "half for whole": (360, "twice as large"),
    "height for width": (320, "the view height is taken as its width"),
    "oblique forgotten": (180, "the view is drawn straight, not oblique"),
}


@pytest.mark.parametrize("name", PARALLEL)
def test_a_mistake_in_a_parallel_view_is_named(name: str, tmp_path: Path) -> None:
    scale, words = PARALLEL[name]
    oblique = name == "oblique forgotten"
    kind = "oblique" if oblique else "orthographic"
    study = STUDY.replace("[camera]", f'[camera]\nprojection = "{kind}"\nview_height_m = 6')
    study = study.replace(f"focal_mm = {FOCAL_MM}\n", "").replace(f"offset = {list(SHIFT)}\n", "")
    done(
        "handoff",
        yard(tmp_path, study.replace('offset_by = "shift"\n', "")),
        "-o",
        "camera.json",
        cwd=tmp_path,
    )
    _, points = points_of(tmp_path)
    eye, turn = pose()
    away = (points - eye) @ turn
    px = np.column_stack([WIDTH / 2 + scale * away[:, 0], HEIGHT / 2 - scale * away[:, 1]])
    said = checked(tmp_path, px)
    assert words in said
    assert "cannot tell apart" not in said


def test_mistakes_that_draw_alike_are_both_named(tmp_path: Path) -> None:
    # Straight behind the subject on the plane x = 0: a mirrored world is a mirrored picture.
    study = STUDY
    for key, old, new in (
        ("at", FOOT.tolist(), [0, 0, 0]),
        ("yaw_deg", YAW, 0),
        ("offset", list(SHIFT), [0, 0]),
    ):
        study = study.replace(f"{key} = {old}", f"{key} = {new}")
    done("handoff", yard(tmp_path, study), "-o", "camera.json", cwd=tmp_path)
    rows = list(csv.DictReader((tmp_path / "camera.points.csv").read_text().splitlines()))
    px = np.array([[WIDTH - float(row["x_px"]), float(row["y_px"])] for row in rows])
    said = checked(tmp_path, px)
    assert "cannot tell apart" in said
    assert "mirrored left to right" in said
    assert "x is mirrored" in said


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("name,x_px\np1,3\n", "no column y_px"),
        ("name,x_px,y_px\np1,3,4\np1,3,4\n", 'the point "p1" comes twice'),
        ("name,x_px,y_px\nq1,3,4\n", 'no point "q1"; there are p1, p2'),
        ("name,x_px,y_px\np1,left,4\n", 'line 2: x_px is "left", must be a number'),
        ("name,x_px,y_px\np1,3,4\np2,3,4\n", "give 4 at least"),
        ("name,x_px,y_px\n", "holds no points"),
        ("name,x_px,y_px\np1,,\np2,nan,nan\n", "no pixel of any check point"),
        ("", "no column name, x_px and y_px"),
    ],
)
def test_a_table_that_is_wrong_ends_with_a_sentence(text: str, words: str, handed: Path) -> None:
    (handed / "wrong.csv").write_text(text)
    assert words in refused("check-port", "wrong.csv", "camera.json", cwd=handed)


@pytest.mark.parametrize(
    ("change", "words"),
    [
        (lambda text: text[:200], "is not JSON"),
        (lambda text: '{"tool": {"name": "stationpoint"}}', "is JSON but no hand-off"),
        (
            lambda text: text.replace('"0..1"', '"0..2"').replace('"clip_z": "-1..1"', '"clip_z": "?"'),
            "at clip_z",
        ),
        (lambda text: text.replace('"view"', '"vista"'), "at variants[0].matrices.view, which is missing"),
        (lambda text: re.sub(r'("px": \[\s*)[-\d.]+', r"\g<1>1e308", text, count=1), "out of all measure"),
    ],
)
def test_a_hand_off_that_is_wrong_ends_with_a_sentence(change: Any, words: str, handed: Path) -> None:
    (handed / "wrong.json").write_text(change((handed / "camera.json").read_text()))
    assert words in refused("check-port", "camera.points.csv", "wrong.json", cwd=handed)
    assert "cannot be read: no such file" in refused(
        "check-port", "camera.points.csv", "none.json", cwd=handed
    )


def test_pixels_that_a_port_leaves_blank_are_left_out(handed: Path) -> None:
    _, points = points_of(handed)
    name = engine(handed, drawn(points))
    lines = (handed / name).read_text().splitlines()
    lines[3] = lines[3].split(",")[0] + ",,"
    (handed / name).write_text("\n".join(lines))
    assert "at 7 points" in done("check-port", name, "camera.json", cwd=handed).text
