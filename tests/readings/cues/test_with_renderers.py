"""Cues through the program's own renderers: soft light, antialiased colour, all shots of a whole case."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from readings.cues.shown import (
    ARCMIN_PX,
    CELL,
    EVERY_AID,
    EYE,
    FOCAL_PX,
    cues_in,
    floor_square,
    hanging,
    lean,
    patch_arcmin2,
)
from readings.made import block, camera, case, square
from stationpoint.base import look
from stationpoint.base.errors import MachineLacks
from stationpoint.readings.kinds import read, wanted
from stationpoint.readings.types import Case, Reading
from stationpoint.render import open_renderer
from stationpoint.scene.solids import solid
from stationpoint.scene.types import Node

ENGINES = ("rays", "gl")


def _read(made: Case, engine: str) -> Reading:
    try:
        with open_renderer(engine, made.scene) as renderer:
            frames = {name: renderer.draw(shot) for name, shot in wanted(made, ["cues"]).items()}
    except MachineLacks as lack:
        pytest.skip(str(lack))
    return read(made, frames, ["cues"])


@pytest.mark.parametrize("engine", ENGINES)
@pytest.mark.parametrize(("side", "grade"), [(0.2, "weak"), (1.0, "reads")])
def test_soft_shadow_has_about_the_area_of_a_hard_one(engine: str, side: float, grade: str) -> None:
    # Its top is 3 m up at most: there the light's disc blurs by 2 x 3 tan 3 = 0.31 m.
    found = cues_in(_read(hanging(side), engine), "target:t")["cast_shadow"]
    hard, wide = (patch_arcmin2(floor_square(side + blur)) for blur in (0.0, 0.31))
    assert 0.9 * hard <= (found.value or 0.0) <= 1.05 * wide
    assert found.grade in (grade, "reads")


@pytest.mark.parametrize("engine", ENGINES)
def test_border_is_measured_on_antialiased_colour(engine: str) -> None:
    nodes = (square("front", (-1, 1), (-1, 1), 0), lean("back", 8, (-6, 8), -4))
    said = {"subject": {"node": "front"}, "target": [{"name": "t", "node": "back"}]}
    found = cues_in(_read(case(EYE, *nodes, cell=CELL, **said), engine), "target:t")["occlusion"]
    assert found.value == pytest.approx(4 * 2 * FOCAL_PX / 8 * ARCMIN_PX, rel=0.03)


@pytest.mark.parametrize("engine", ENGINES)
@pytest.mark.parametrize("turn", [25.0, 70.0])
def test_box_in_the_programs_light_shows_two_shades(engine: str, turn: float) -> None:
    # Turned by 25 degrees its front faces the camera: top .98 and front .78 of clay, L* 57.4 and 52.0.
    # Turned by 45 more, three sides are seen, .98, .94 and .44: L* 57.4, 56.4 (too near) and 40.
    vertices, faces = solid("box", (1, 1, 1), (0, 0, -2), turn)
    box = Node("box", vertices.astype(np.float32), faces)
    made = case(
        camera(anchor=(0, 0, -2), pitch=20, yaw=25, distance=7), box, cell=CELL, aids=EVERY_AID,
        subject={"at": (0, 0, 3)}, target=[{"name": "t", "node": "box"}],
    )  # fmt: skip
    towards = look.LIGHT_TOWARDS
    made = replace(made, setup=replace(made.setup, towards_light=towards))
    found = cues_in(_read(made, engine), "target:t")
    assert found["light_on_form"] == (2.0, "weak", None, "faces")


@pytest.mark.parametrize("engine", ENGINES)
@pytest.mark.parametrize("back", [3.5, 9.0])
@pytest.mark.parametrize("aids", [(), EVERY_AID])
@pytest.mark.parametrize("subject", ["wall", "post-0"])
def test_cues_look_at_no_colour_that_was_not_asked_for(
    engine: str, back: float, aids: tuple[str, ...], subject: str
) -> None:
    # Things before and on each other, some partly out of the picture or beside the eye: each number is the
    # same where all of the picture is drawn, and where nothing but what was asked for is (else 255).
    floor, deck = block("floor", (0, -1, 0), (60, 1, 60)), block("deck", (2, 0, -4), (3, 0.7, 2))
    posts = [block(f"post-{k}", (2 * k - 3, 0.7 * (k == 2), -3 * k), (0.8, 1.2, 0.8)) for k in range(3)]
    wall = block(
        "wall", (0, 0, -9), (30, 4, 0.5)
    )  # as light as the posts' fronts, which no border then tells
    made = case(
        camera(pitch=15, yaw=20, distance=back), floor, deck, *posts, wall, cell=CELL, aids=aids,
        gap=[{"name": "hop", "from": (0, 0, 2), "to": (2, 0.7, -4), "reach_m": 4}],
        subject={"node": subject}, target=[{"name": f"p{k}", "node": f"post-{k}"} for k in (1, 2)],
    )  # fmt: skip
    made = replace(made, setup=replace(made.setup, towards_light=(-0.5, 1.0, 0.74)))
    shots = wanted(made, ["cues"])
    whole = {key: replace(shot, parts_px=None) for key, shot in shots.items()}
    try:
        with open_renderer(engine, made.scene) as renderer:
            some, every = ({key: renderer.draw(one) for key, one in each.items()} for each in (shots, whole))
    except MachineLacks as lack:
        pytest.skip(str(lack))
    for key, shot in shots.items():
        if shot.parts_px is not None:
            colour = np.full_like(every[key].colour, 255)
            for left, top, right, bottom in shot.parts_px:
                colour[top:bottom, left:right] = some[key].colour[top:bottom, left:right]
            some[key] = replace(some[key], colour=colour)
    read_of = [read(made, frames, ["cues"]) for frames in (some, every)]
    assert read_of[0].values == read_of[1].values
    assert any(value for path, value in read_of[0].values.items() if path[2:] == ("light_on_form", "value"))


def test_only_the_second_ones_part_of_the_picture_is_lit() -> None:
    # A box 1 m wide, 8 m away before a 35 mm lens: 311 / 8 = 39 px of 320 x 180 a metre, so a few % of them.
    near = block("near", (-2, 0, 0), (1, 1, 1))
    made = case(
        camera(anchor=(0, 0, 0), pitch=10, distance=8), block("floor", (0, -1, 0), (60, 1, 60)), near,
        block("far", (2, 0, 0), (1, 1, 1)), cell=CELL,
        subject={"node": "near"}, target=[{"name": "t", "node": "far"}],
    )  # fmt: skip
    ((left, top, right, bottom),) = wanted(made, ["cues"])["plain",].parts_px or ()
    assert 39 * 39 < (right - left) * (bottom - top) < 0.08 * 320 * 180


def test_both_renderers_agree_on_a_whole_row() -> None:
    floor = block("floor", (0, -1, 0), (60, 1, 60))
    posts = [block(f"post-{k}", (3 * k - 3, 0.5 * (k == 2), -2 * k), (0.8, 1.2, 0.8)) for k in range(3)]
    gap = {"name": "hop", "from": (0, 0, 2), "to": (0, 1.2, -2), "reach_m": 4}
    made = case(
        camera(pitch=25, distance=9), floor, *posts, cell=CELL, aids=EVERY_AID, gap=[gap],
        subject={"at": (0, 0, 2)}, target=[{"name": f"p{k}", "node": f"post-{k}"} for k in range(3)],
    )  # fmt: skip
    made = replace(made, setup=replace(made.setup, towards_light=(-0.5, 1.0, 0.74)))
    first, second = (_read(made, engine).values for engine in ENGINES)
    assert first.keys() == second.keys()
    counted = [path for path in first if path[-1] == "value" and path[2] in ("occlusion", "cast_shadow")]
    assert len(counted) == 8
    for path, value in first.items():
        if path in counted:
            assert second[path] == pytest.approx(value, rel=0.1, abs=3.0), path
        elif isinstance(value, float):
            assert second[path] == pytest.approx(value, rel=1e-4, abs=1e-6), path
        else:
            assert second[path] == value, path
