"""A hand-off that someone has changed: what is asked of it later is checked as it is read."""

from __future__ import annotations

import csv
import json
from pathlib import Path

import pytest

from cli_calls import STUDY, done, refused, yard

GONE = object()


@pytest.fixture(scope="module")
def handed(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder with a hand-off, and a port's table that is so far off that every mistake is tried."""
    folder = tmp_path_factory.mktemp("handed")
    path = yard(folder, STUDY.replace("[sweep]\ncolumns = { focal_mm = [24, 50] }", ""))
    done("handoff", path, "-o", "camera.json", cwd=folder)
    lines = list(csv.DictReader((folder / "camera.points.csv").read_text().splitlines()))
    rows = [f'"{row["name"]}",{1000 - float(row["x_px"])},{row["y_px"]}' for row in lines]
    (folder / "port.csv").write_text("\n".join(["name,x_px,y_px", *rows]))
    return folder


@pytest.mark.parametrize(
    ("where", "value", "words"),
    [
        ("pose.pitch_deg", GONE, "pose.pitch_deg, which is missing"),
        ("pose.pitch_deg", "20", "pose.pitch_deg, which must be a number"),
        ("pose.roll_deg", True, "pose.roll_deg, which must be a number"),
        ("pose.yaw_deg", float("nan"), "pose.yaw_deg, a number that is none"),
        ("pose.offset", 1e308, "pose.offset, which must be a list of 2"),
        ("pose.offset", [0.0], "pose.offset, which must be a list of 2"),
        ("pose.offset_by", "push", "pose.offset_by, which must be one of slide, turn, shift"),
        ("pose.distance", -8, "pose.distance, which must be more than 0"),
        ("pose.anchor", [0, 1], "pose.anchor, which must be a list of 3"),
        ("pose.anchor", [[0, 1, 2]], "pose.anchor, which must be a list of 3"),
        ("pose.anchor_over_foot", [], "pose.anchor_over_foot, which must be a number"),
        ("pose", [], "pose, which must be a table"),
        ("lens.pixels.0", float("inf"), "lens.pixels[0], a number that is none"),
        ("lens.pixels.0", 10**400, "lens.pixels[0], a number that is none, or out of all measure"),
        ("lens.pixels.1", 0.5, "lens.pixels[1], which must be a whole number, at least 1"),
        ("lens.pixels", "19", "lens.pixels, which must be a list of 2"),
        ("lens.shift", GONE, "lens.shift, which is missing"),
        ("lens.shift", [0, None], "lens.shift[1], which must be a number"),
        ("lens.gate_mm", [36.0, 0.0], "lens.gate_mm[1], which must be more than 0"),
        ("lens.focal_mm", "24", "lens.focal_mm, which must be a number"),
        ("lens.width_over_height", 0, "lens.width_over_height, which must be more than 0"),
        ("lens.far", 0.0, "lens.far, which must be before the camera and beyond near"),
        ("lens.projection", ["perspective"], "lens.projection, which must be one of perspective"),
        ("matrices.view", [[0.0] * 4] * 4, "matrices.view, which must turn and move"),
        ("matrices.view.1", [0.0] * 3, "matrices.view[1], which must be a list of 4"),
        ("matrices.projection", [[0.0] * 4] * 4, "matrices.projection, which must scale x and y"),
        ("points.2.px.1", True, "points[2].px[1], which must be a number"),
        ("points.2.xyz", [1, 2, 3, 4, 5, 6], "points[2].xyz, which must be a list of 3"),
        ("points.2.name", 5, "points[2].name, which must be text"),
        ("points", {}, "points, which must be a list"),
        ("id", None, "id, which is missing"),
    ],
)
def test_a_hand_off_says_which_of_its_values_is_wrong(
    where: str, value: object, words: str, handed: Path
) -> None:
    whole = json.loads((handed / "camera.json").read_text())
    *keys, last = [int(key) if key.isdigit() else key for key in where.split(".")]
    part = whole["variants"][0]
    for key in keys:
        part = part[key]
    if value is GONE:
        del part[last]
    else:
        part[last] = value
    (handed / "wrong.json").write_text(json.dumps(whole))
    said = refused("check-port", "port.csv", "wrong.json", cwd=handed)
    assert f"wrong.json is a hand-off that cannot be read, at variants[0].{words}" in said
    assert said.count("\n") == 1


def test_a_hand_off_whose_variants_or_points_are_one_another_is_refused(handed: Path) -> None:
    whole = json.loads((handed / "camera.json").read_text())
    one = whole["variants"][0]
    for variants, words in (
        ([one, one | {"points": one["points"][:4]}], "variants' id, of which two are"),
        (
            [one | {"points": [point | {"px": [point["px"][0], 7]} for point in one["points"]]}],
            "variants[0].points, whose px are all on one line",
        ),
        (
            [one | {"points": [point | {"name": "p"} for point in one["points"]]}],
            "points' name, of which two are",
        ),
        ([], "variants, of which there are none"),
        ({}, "variants, which must be a list"),
    ):
        (handed / "wrong.json").write_text(json.dumps(whole | {"variants": variants}))
        assert words in refused("check-port", "port.csv", "wrong.json", cwd=handed)
