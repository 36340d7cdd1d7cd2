"""`measure --json -`: the worked cameras, and three jobs with the numbers of a hand calculation."""

from __future__ import annotations

import csv
import io
import json
from math import asin, atan2, degrees, hypot
from pathlib import Path
from typing import Any
from unittest.mock import patch

import pytest

from cli_calls import call, done, yard
from published import CAMERA_AXES, CAMERA_DEPTHS_M, CAMERA_PX, CAMERAS, GAPS, POINTS, Worked

COUCH = '[[viewing]]\nname = "couch"\ndiagonal_in = 55\npixels = [1920, 1080]\neye_distance_m = 2.7\n'
RAYS = ("--renderer", "rays", "--quiet")
HALF_PX, HALF_PERCENT = 0.5, 0.005  # what the three jobs allow


def measured(folder: Path, study: str, scene: str, *words: str) -> dict[str, Any]:
    yard(folder, study, scene)
    return done("measure", "yard.study.toml", *RAYS, *words, "--json", "-", cwd=folder).record


# ---- the worked cameras --------------------------------------------------------------------------


def worked_study(name: str, camera: Worked) -> str:
    """A worked camera as a study; one given by two points becomes distance, pitch and yaw."""
    anchor, distance, pitch, yaw = POINTS[0], camera.distance_m, camera.pitch_deg, camera.yaw_deg
    if camera.eye is not None and camera.to is not None:
        anchor = camera.to
        x, y, z = (e - t for e, t in zip(camera.eye, camera.to, strict=True))
        distance = hypot(x, y, z)
        pitch, yaw = degrees(asin(y / distance)), degrees(atan2(x, z))
    width, height = camera.pixels
    lens = "view_height_m" if camera.kind == "orthographic" else "focal_mm"
    lines = [
        'scene = "yard.toml"',
        f"subject = {{ name = 'me', at = [{anchor[0]}, 0, {anchor[2]}], height_m = 1.8 }}",
        "[camera]",
        f'projection = "{camera.kind}"',
        f"{lens} = {camera.lens}",
        f"distance_m = {distance!r}",
        f"pitch_deg = {pitch!r}",
        f"yaw_deg = {yaw!r}",
        f"anchor_height_m = {anchor[1]}",
        f"near_m = {camera.near_m}",
        f"far_m = {camera.far_m}",
        f'aspect = "{width}:{height}"',
    ]
    if any(camera.offset):
        lines += [f"offset = {list(camera.offset)}", 'offset_by = "shift"']
    lines += ["[[viewing]]", 'name = "screen"', "diagonal_in = 24", f"pixels = [{width}, {height}]"]
    lines += ["eye_distance_m = 0.6"]
    for k, point in enumerate(POINTS, 1):
        lines += ["[[target]]", f'name = "p{k}"', f"at = {list(point)}"]
    for k, gap in enumerate(GAPS):
        if gap.camera == name:
            lines += ["[[gap]]", f'name = "g{k}"', "from = [0, 0, 0]", f"to = {list(gap.to)}"]
            lines += [f"reach_m = {gap.reach_m}"]
    return "\n".join(lines) + "\n"


@pytest.mark.parametrize("name", list(CAMERAS))
def test_worked_cameras_are_measured_to_a_hundredth_pixel(name: str, tmp_path: Path) -> None:
    camera = CAMERAS[name]
    record = measured(tmp_path, worked_study(name, camera), "[ground]\nsize = [60, 60]\n")
    (row,) = record["rows"]
    width, height = camera.pixels
    for k, (pixel, depth) in enumerate(zip(CAMERA_PX[name], CAMERA_DEPTHS_M[name], strict=True), 1):
        target = row["targets"][f"p{k}"]
        x, y = target["screen_xy"]
        assert (x * width, y * height) == pytest.approx(pixel, abs=0.01)
        assert target["depth_m"] == pytest.approx(depth, abs=1e-5)


@pytest.mark.parametrize("name", list(CAMERA_AXES))
def test_worked_cameras_give_the_published_axes(name: str, tmp_path: Path) -> None:
    record = measured(tmp_path, worked_study(name, CAMERAS[name]), "[ground]\nsize = [60, 60]\n")
    axes = record["rows"][0]["axes"]
    px, size = CAMERA_AXES[name]
    if name == "C1":  # its own anchor is not p1, where the table stands
        px, size = (233.3333, 233.3333, 0.0), (0.0, 0.0, 12.5)
    assert [axes[axis]["px_per_m"] for axis in "xyz"] == pytest.approx(px, abs=2e-3)
    assert [axes[axis]["size_pct_per_m"] for axis in "xyz"] == pytest.approx(size, abs=5e-3)


@pytest.mark.parametrize("name", sorted({gap.camera for gap in GAPS} - {"C1"}))
def test_worked_cameras_give_the_published_gaps(name: str, tmp_path: Path) -> None:
    record = measured(tmp_path, worked_study(name, CAMERAS[name]), "[ground]\nsize = [60, 60]\n")
    gaps = record["rows"][0]["gaps"]
    assert gaps
    for k, gap in enumerate(GAPS):
        if gap.camera != name:
            continue
        found = gaps[f"g{k}"]
        width, height = CAMERAS[name].pixels
        (x0, y0), (x1, y1) = found["from_xy"], found["to_xy"]
        assert hypot((x1 - x0) * width, (y1 - y0) * height) == pytest.approx(gap.screen_px, abs=0.01)
        assert found["true_span_m"] == pytest.approx(gap.true_span_m, abs=1e-5)
        assert found["flat_span_m"] == pytest.approx(gap.flat_span_m, abs=2e-5)
        assert found["scale_ratio"] == pytest.approx(gap.scale_ratio, abs=1e-5)


# ---- a hop over a harbour ------------------------------------------------------------------------

HOP_SCENE = """
[[solid]]
name = "here"
shape = "box"
size = [2, 0.8, 2]
at = [4.2, 0, -3]
[[solid]]
name = "there"
shape = "box"
size = [2, 0.8, 2]
at = [4.2, 0, -7.1]
"""
HOP = f"""
scene = "yard.toml"
aids = ["ground-texture"]
subject = {{ name = "hopper", at = [4.2, 0.8, -3] }}
[[gap]]
name = "hop"
from = [4.2, 0.8, -3]
to = [4.2, 0.8, -7.1]
reach_m = 3.4
[camera]
focal_mm = 35
distance_m = 8
pitch_deg = 20
aspect = "16:9"
{COUCH}
"""


def test_hop_over_the_harbour_has_the_numbers_of_the_hand_calculation(tmp_path: Path) -> None:
    # z_B = 8 + 4.1 cos 20 = 11.853; up = 4.1 sin 20; F = 35 / 36 x 1920; d(extent)/dL = F sin 20 x 8 / z_B^2
    words = ("--rows", "projection=perspective,orthographic", "--hold", "subject-scale")
    record = measured(tmp_path, HOP, HOP_SCENE, *words)
    lens, parallel = (row["gaps"]["hop"] for row in record["rows"])
    assert record["variants"][1]["settings"]["view_height_m"] == pytest.approx(4.6286, abs=1e-4)
    x, y = lens["to_xy"]
    assert (x * 1920, y * 1080) == pytest.approx((960, 319.16), abs=HALF_PX)
    assert lens["from_xy"][1] * 1080 - y * 1080 == pytest.approx(220.84, abs=HALF_PX)
    assert (parallel["from_xy"][1] - parallel["to_xy"][1]) * 1080 == pytest.approx(327.2, abs=HALF_PX)
    expected = {
        "true_span_m": (4.1, 4.1),
        "flat_span_m": (0.9465, 1.4023),
        "ground_span_m": (4.1, 4.1),
        "scale_ratio": (1.4816, 1.0),
        "arcmin_per_m": (29.28, 79.8 * 0.8074 * 0.9941),  # cos^2 of 4.39 degrees off the centre
    }
    for name, values in expected.items():
        assert (lens[name], parallel[name]) == pytest.approx(values, rel=HALF_PERCENT), name
    assert lens["tell_m"] == pytest.approx(0.183, rel=0.01)
    assert lens["decidable"] is True
    assert lens["reachable"] is False
    assert (lens["verdict"], parallel["verdict"]) == ("needs a cue", "needs a cue")


# ---- a dimetric dig ------------------------------------------------------------------------------

DIG = f"""
scene = "yard.toml"
subject = {{ name = "digger", at = [0, 0, 0] }}
[camera]
projection = "orthographic"
view_height_m = 18
distance_m = 30
pitch_deg = 30
yaw_deg = 45
aspect = "16:9"
{COUCH}
"""


def test_dimetric_dig_has_the_numbers_of_the_hand_calculation(tmp_path: Path) -> None:
    # 1080 px over 18 m: 60 px/m. A level metre at 45 degrees: 60 sqrt((1 + sin^2 30) / 2) = 47.43,
    # under atan(sin 30) = 26.565 degrees; a metre up: 60 cos 30 = 51.96; ground: 60 and 60 sin 30.
    record = measured(tmp_path, DIG, "[ground]\nsize = [60, 60]\n", "--only", "axes,framing")
    (row,) = record["rows"]
    axes, pairs = row["axes"], row["pairs"]
    lengths = [axes[axis]["px_per_m"] for axis in "xyz"]
    assert lengths == pytest.approx([47.43, 51.96, 47.43], rel=HALF_PERCENT)
    slopes = [abs(90 - abs(90 - abs(axes[axis]["direction_deg"]))) for axis in "xz"]
    assert slopes == pytest.approx([26.565, 26.565], abs=0.01)
    assert axes["y"]["direction_deg"] == pytest.approx(90)
    assert pairs["up-away"]["swap_m"] == pytest.approx(1.732, abs=1e-3)
    assert pairs["up-away"]["apart_deg"] == pytest.approx(0, abs=1e-3)
    assert pairs["x-z"]["apart_deg"] == pytest.approx(53.13, abs=0.01)
    assert pairs["x-y"]["apart_deg"] == pytest.approx(63.43, abs=0.01)
    assert row["planes"]["ground"]["worst_arcmin_per_m"] == pytest.approx(24.2, rel=HALF_PERCENT)
    away = row["planes"]["ground"]["worst_dir"]
    assert [abs(part) for part in away] == pytest.approx([0.7071, 0, 0.7071], abs=1e-3)
    assert row["framing"]["stick_error_deg"] == pytest.approx({"camera": 18.4, "world": 63.4}, abs=0.05)


# ---- sizes on three screens ----------------------------------------------------------------------

SIZES = """
scene = "yard.toml"
subject = { name = "walker", at = [0, 0, 0], height_m = 1.7 }
[[target]]
name = "post"
at = [0, 0, 0]
size = [0.5, 1.7, 0]
[camera]
hfov_deg = 70
distance_m = 12
pitch_deg = 0
anchor_height_m = 0.85
aspect = "16:9"
[[viewing]]
name = "couch"
diagonal_in = 55
pixels = [1920, 1080]
eye_distance_m = 2.7
[[viewing]]
name = "half"
diagonal_in = 55
pixels = [1920, 1080]
eye_distance_m = 2.7
part = [0, 0, 1, 0.5]
[[viewing]]
name = "hand"
diagonal_in = 7
pixels = [1280, 720]
eye_distance_m = 0.35
"""


@pytest.mark.parametrize(
    ("policy", "half_px", "half_hfov"), [("height", 97.1, 108.94), ("width", 194.2, 70.0)]
)
def test_sizes_on_three_screens_are_those_of_the_hand_calculation(
    policy: str, half_px: float, half_hfov: float, tmp_path: Path
) -> None:
    # F = 960 / tan 35 = 1371.0 px on 1920; 1.7 m at 12 m: 194.2 px. Height policy on the upper half:
    # the same angle over 540 px, half of it. 1280 px wide: two thirds.
    study = SIZES.replace('aspect = "16:9"', f'aspect = "16:9"\naspect_policy = "{policy}"')
    record = measured(tmp_path, study, "[ground]\nsize = [60, 60]\n")
    whole, half = record["rows"]
    assert (whole["picture"], half["picture"]) == ("16:9", "32:9")
    heights = {seat: size[1] for seat, size in whole["targets"]["post"]["size_px"].items()}
    assert heights == pytest.approx({"couch": 194.2, "hand": 129.5}, abs=HALF_PX)
    minutes = {seat: size[1] for seat, size in whole["targets"]["post"]["size_arcmin"].items()}
    assert minutes == pytest.approx({"couch": 156.8, "hand": 154.0}, rel=HALF_PERCENT)
    assert half["targets"]["post"]["size_px"]["half"][1] == pytest.approx(half_px, abs=HALF_PX)
    assert half["viewing"]["half"]["hfov_deg"] == pytest.approx(half_hfov, abs=0.01)
    if policy == "height":
        assert half["targets"]["post"]["size_arcmin"]["half"][1] == pytest.approx(78.4, rel=HALF_PERCENT)
    else:
        assert half["viewing"]["half"]["vfov_deg"] == pytest.approx(22.28, abs=0.01)


PLATE = """
scene = "yard.toml"
subject = { name = "driver", at = [0, 0, -40] }
[[target]]
name = "plate"
node = "plate"
[camera]
focal_mm = 35
distance_m = 50
pitch_deg = 0
[[reserved]]
name = "map"
rect = [0, 0.78, 0.25, 1]
"""


def test_plate_under_a_map_is_flagged_though_inside_every_safe_area(tmp_path: Path) -> None:
    # F 1866.67 px on 1920, the plate 10 m away (the eye is at z 10): 186.67 px, its centre 480 px left of and
    # 378 px under the middle, at (.25, .85). The map ends at its middle and covers .905 of its height: .452.
    x, y = -480 * 10 / 1866.667, -378 * 10 / 1866.667
    scene = (
        f'[[solid]]\nname = "plate"\nshape = "box"\nsize = [1, 1, 0.001]\nat = [{x}, {y - 0.5}, -0.0005]\n'
    )
    (row,) = measured(tmp_path, PLATE, scene)["rows"]
    plate = row["targets"]["plate"]
    assert plate["reserved_cover"] == pytest.approx(0.5 * 0.905, abs=0.003)
    assert (plate["action_safe"], plate["title_safe"]) == (1, 1)
    words = done("sheet", "yard.study.toml", *RAYS, "--cell-width", "544", "-o", "a.png", cwd=tmp_path)
    assert words.out == b""
    assert "plate 45 % under map" in (tmp_path / "a.txt").read_text("utf-8")


# ---- what it writes ------------------------------------------------------------------------------


def test_record_goes_to_standard_output_unless_files_are_named(tmp_path: Path) -> None:
    yard(tmp_path)
    piped = done("measure", "yard.study.toml", *RAYS, cwd=tmp_path)
    filed = done("measure", "yard.study.toml", *RAYS, "--json", "a.json", "--csv", "a.csv", cwd=tmp_path)
    assert filed.out == b""
    assert (tmp_path / "a.json").read_bytes() == piped.out
    rows = list(csv.reader(io.StringIO((tmp_path / "a.csv").read_bytes().decode(), newline="")))
    assert [row[0] for row in rows] == ["variant", "A1", "A2"]
    table = done("measure", "yard.study.toml", *RAYS, "--csv", "-", cwd=tmp_path)
    assert table.out == (tmp_path / "a.csv").read_bytes()


def test_only_reads_the_groups_that_are_named(tmp_path: Path) -> None:
    yard(tmp_path)
    record = done("measure", "yard.study.toml", *RAYS, "--only", "gaps, axes", cwd=tmp_path).record
    groups = set(record["rows"][0]) - {"variant", "place", "picture", "matrices"}
    assert groups == {"gaps", "axes", "pairs", "planes"}  # pairs and planes of axes come with them


def test_nothing_is_drawn_for_readings_that_need_no_picture(tmp_path: Path) -> None:
    yard(tmp_path)

    def never(*given: object) -> None:
        raise AssertionError("a renderer was opened")

    with patch("stationpoint.run.sweep.open_renderer", never):
        record = done("measure", "yard.study.toml", "--only", "axes,pairs", cwd=tmp_path).record
        assert call("measure", "yard.study.toml", "--only", "targets", cwd=tmp_path).code != 0
    assert record["renderer"] is None
    assert len(record["rows"]) == 2


def test_brief_is_not_judged_where_what_it_bounds_was_not_measured(tmp_path: Path) -> None:
    limit = '\n[[limit]]\nreading = "targets.*.seen"\nmax = 0.01\n'
    study = yard(tmp_path).read_text("utf-8") + limit
    whole = measured(tmp_path, study, (tmp_path / "yard.toml").read_text("utf-8"))
    assert [verdict["holds"] for verdict in whole["verdicts"]] == [False, False]
    part = done("measure", "yard.study.toml", "--only", "axes", cwd=tmp_path).record
    assert part["verdicts"] == []


def test_overrides_reach_every_part_of_the_study(tmp_path: Path) -> None:
    yard(tmp_path)
    words = (
        "--set",
        "camera.pitch_deg=33",
        "--set",
        "gap.hop.reach_m=1.5",
        "--set",
        "target.crate.role=tertiary",
    )
    record = done("measure", "yard.study.toml", *RAYS, *words, "--columns", "", cwd=tmp_path).record
    assert record["variants"][0]["settings"]["pitch_deg"] == 33
    assert record["rows"][0]["gaps"]["hop"]["reach_m"] == 1.5
    assert record["rows"][0]["targets"]["crate"]["role"] == "tertiary"


def test_record_names_no_folder_host_or_time(tmp_path: Path) -> None:
    yard(tmp_path)
    absolute = yard(tmp_path).read_text("utf-8").replace("yard.toml", str(tmp_path / "yard.toml"))
    yard(tmp_path, absolute)
    done("sheet", "yard.study.toml", "--renderer", "rays", "--cell-width", "320", cwd=tmp_path)
    from stationpoint.record.png import read_png_texts

    texts = json.dumps(read_png_texts(tmp_path / "yard.png"))
    assert str(tmp_path) not in texts
    assert tmp_path.name not in texts
