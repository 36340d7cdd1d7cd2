"""Occlusion, horizon, light on form: counted in pictures made by rays in plain numpy."""

from __future__ import annotations

import numpy as np
import pytest
import shapely

from readings.cues.shown import ARCMIN_PX, CELL, EVERY_AID, EYE, FOCAL_PX, Shown, cues, lean, lit, sheet
from readings.made import AMBIENT, DIRECT, GREY, block, camera, case, reading, square
from stationpoint.scene.solids import solid
from stationpoint.scene.types import Node


def _before(front: Node, back: Node, cell: tuple[int, int] = CELL) -> Shown:
    """Occlusion between the subject in front and a target behind."""
    said = {"subject": {"node": front.name}, "target": [{"name": "t", "node": back.name}]}
    return cues(case(EYE, front, back, cell=cell, **said), "target:t")["occlusion"]


def test_border_round_a_square_before_a_wall_is_its_four_sides() -> None:
    # 2 m at 8 m: 466.67 px a side, 1866.7 px in all, 1507' (the screen's middle; 0.2 % less at its sides).
    found = _before(square("front", (-1, 1), (-1, 1), 0), lean("back", 8, (-6, 8), -4))
    assert found.value == pytest.approx(4 * 2 * FOCAL_PX / 8 * ARCMIN_PX, rel=0.03)
    assert found.grade == "reads"


def test_slanted_border_counts_with_its_slant() -> None:
    # A square on its corner: the same sides at 45 degrees, and at 30.
    for turn in (45.0, 30.0):
        c, s = np.cos(np.radians(turn)), np.sin(np.radians(turn))
        corners = [(x * c - y * s, x * s + y * c, 0.0) for x, y in ((-1, -1), (1, -1), (1, 1), (-1, 1))]
        found = _before(sheet("front", corners), lean("back", 8, (-6, 8), -4))
        assert found.value == pytest.approx(4 * 2 * FOCAL_PX / 8 * ARCMIN_PX, rel=0.04), turn


@pytest.mark.parametrize(("wide", "grade"), [(0.06, "absent"), (0.16, "weak"), (0.40, "reads")])
def test_short_border_is_weak(wide: float, grade: str) -> None:
    # A strip at 12 m (155.56 px a metre) that stands up from behind the square: 7.5', 20', 50'.
    # Its foot is drawn over the square's middle, so that the border is its width alone.
    back = lean("back", wide / 2, (0.5, 5), -4)
    found = _before(square("front", (-1, 1), (-1, 1), 0), back, (960, 540))
    z = 12 + 0.5 * 0.5  # where its leaning side passes over the square's top, about
    assert found.value == pytest.approx(wide * FOCAL_PX / z * ARCMIN_PX, rel=0.15)
    assert found.grade == grade


def test_two_that_touch_nowhere_do_not_cover_one_another() -> None:
    found = _before(square("front", (-2, -1), (-1, 1), 0), lean("back", 0.5, (0, 2), -4))
    assert found == (0.0, "absent", None, "'")


def test_border_that_no_light_tells_is_no_cue() -> None:
    found = _before(square("front", (-1, 1), (-1, 1), 0), square("back", (-8, 8), (-6, 6), -4))
    assert (found.value, found.grade) == (0.0, "absent")


@pytest.mark.parametrize(("step", "grade"), [(0.0, "absent"), (0.1, "absent"), (0.5, "reads")])
def test_fold_is_no_border_until_depth_jumps(step: float, grade: str) -> None:
    # A leaning sheet goes on where an upright one ends; 2 % of 8 m is 0.16 m.
    found = _before(square("front", (-1, 1), (-1, 1), 0), lean("back", 1, (1, 3), -step))
    assert found.grade == grade
    if step == 0.5:  # its foot is drawn 1 / 8 - 1 / 8.5 higher than it would be: hidden, so the edges touch
        back = lean("back", 1, (0.9, 3), -step)
        width = 2 * FOCAL_PX / 8 * ARCMIN_PX
        assert _before(square("front", (-1, 1), (-1, 1), 0), back).value == pytest.approx(width, rel=0.1)


def test_ground_seen_at_a_low_angle_is_no_step_from_what_stands_on_it() -> None:
    # Eye 1 m up, a crate 24 m off on a support of its own: a pixel of the cell is 2.4 m of ground there.
    view = camera(pitch=2, distance=24, anchor=(0, 0.2, 0))
    crate, pier = block("crate", (0, 0, 0), (3, 1, 3)), block("pier", (0, -1, 0), (40, 1, 80))
    gap = {"name": "hop", "from": (0, 0, 20), "to": (0, 1, 0)}
    made = case(view, crate, pier, cell=CELL, gap=[gap])
    found = cues(lit(made, 0.0, 1.0, 0.2))["occlusion"]
    # Its base, 249 px long, touches the pier and is no border. Beside it the pier is seen from the base's
    # row on to its own end, 64 m off; what lies over that is void.
    eye = 0.2 + 24 * np.sin(np.radians(2))
    beside = 2 * FOCAL_PX * eye * (1 / 22.5 - 1 / 64)
    assert found.value == pytest.approx(beside * ARCMIN_PX, rel=0.12)


def test_occlusion_misleads_where_the_near_end_of_the_far_one_covers() -> None:
    # One deck reaches from 4 m before the landing to 6 m behind it; the take-off is at its far end, so
    # that the landing, which it covers in part, is the nearer one.
    deck = _joined("deck", block("near", (0, -1, 2), (2, 1.5, 1)), block("far", (7, -1, -8), (1, 1.5, 6)))
    tower = Node(
        "tower", lean("tower", 3, (-1, 3), -2).vertices, np.array([(0, 1, 2), (0, 2, 3)]), closed=False
    )
    gap = {"name": "hop", "from": (7, 0.5, -9), "to": (0, 1, -4), "landing": "tower"}
    assert cues(case(EYE, deck, tower, cell=CELL, gap=[gap]))["occlusion"].grade == "misleads"
    honest = {**gap, "from": (0, 0.5, 2)}
    assert cues(case(EYE, deck, tower, cell=CELL, gap=[honest]))["occlusion"].grade == "reads"


def _joined(name: str, *parts: Node) -> Node:
    counts = np.cumsum([0] + [len(part.vertices) for part in parts])
    faces = [part.faces + count for part, count in zip(parts, counts, strict=False)]
    return Node(name, np.concatenate([part.vertices for part in parts]), np.concatenate(faces))


def test_what_both_stand_on_counts_for_neither() -> None:
    floor = block("floor", (0, -1, 0), (60, 1, 60))
    own, crate = block("own", (-3, 0, 0), (0.6, 1.7, 0.6)), block("crate", (3, 0, -2), (1, 1, 1))
    said = {"subject": {"node": "own"}, "target": [{"name": "t", "node": "crate"}]}
    found = cues(case(camera(), floor, own, crate, cell=CELL, **said), "target:t")["occlusion"]
    assert (found.value, found.grade) == (0.0, "absent")


def test_border_marks_lie_on_the_border_and_point_to_the_covered_side() -> None:
    said = {"subject": {"node": "front"}, "target": [{"name": "t", "node": "back"}]}
    nodes = (square("front", (-1, 1), (-1, 1), 0), lean("back", 8, (-6, 8), -4))
    rows = reading(case(EYE, *nodes, cell=CELL, **said), ["cues"]).extras["cue", "target:t", "occlusion"]
    spots, beside = np.split(rows, 2)
    half = FOCAL_PX / 8 / 6  # 1 m at 8 m, in the cell, from its middle
    ring = shapely.box(160 - half, 90 - half, 160 + half, 90 + half)
    assert len(spots) > 40
    assert shapely.distance(ring.exterior, shapely.points(spots)).max() < 2.0
    outside = shapely.distance(ring, shapely.points(spots + 4 * (beside - spots)))
    assert (outside > 0.5).all()


# --- Horizon.


def _over(*nodes: Node, pitch: float = 0.0, kind: str = "perspective") -> Shown:
    view = camera(kind, pitch=pitch, anchor=(0, 1, 0))
    gap = {"name": "hop", "from": (0, 0, 0), "to": (0, 0, -4)}
    return cues(case(view, *nodes, cell=CELL, gap=[gap]))["horizon"]


def test_horizon_is_the_open_share_of_its_row() -> None:
    # Eye 1 m up. A wall at z -12, depth 20: the picture is 20 x 36 / 35 = 20.571 m wide there.
    wide = 20 * 36 / 35
    for covered, grade in ((0.5, "reads"), (0.8, "weak"), (0.95, "absent")):
        wall = block("wall", (0, 0, -12.05), (covered * wide, 3, 0.1))
        found = _over(wall)
        assert found.value == pytest.approx(100 * (1 - covered), abs=0.7)
        assert found.grade == grade
    assert _over(block("low", (0, 0, -12), (wide, 0.9, 0.1))).value == 100.0


def test_far_hills_leave_the_horizon_open_and_a_row_out_of_the_picture_does_not_count() -> None:
    assert _over(block("hills", (0, 0, -150), (400, 20, 1))).value == 100.0
    assert _over(block("houses", (0, 0, -60), (400, 20, 1))).grade == "absent"
    # Half the vertical angle is 16.13 degrees.
    assert _over(pitch=16.0).grade == "reads"
    assert _over(pitch=16.3) == (0.0, "absent", None, "%")
    assert _over(kind="orthographic") == (0.0, "absent", None, "%")


def test_open_stretches_are_marked() -> None:
    wide = 20 * 36 / 35
    wall = block("wall", (0, 0, -12.05), (0.5 * wide, 3, 0.1))
    gap = {"name": "hop", "from": (0, 0, 0), "to": (0, 0, -4)}
    made = case(camera(pitch=0, anchor=(0, 1, 0)), wall, cell=CELL, gap=[gap])
    rows = reading(made, ["cues"]).extras["cue", "gap:hop", "horizon"]
    assert rows[:, 1] == pytest.approx(90.0)
    assert rows[:, 0] == pytest.approx([0, 80, 240, 320], abs=1.0)


# --- Light on form.

LIGHT = (0.5, 1.0, 0.4)


def _shaded(node: Node, *towards: float, view: float = 30.0, **study: object) -> Shown:
    said = {"subject": {"at": (0, 0, 3)}, "target": [{"name": "t", "node": node.name}]}
    made = case(camera(pitch=20, yaw=view, distance=6), node, cell=CELL, **said, **study)
    return cues(lit(made, *towards), "target:t")["light_on_form"]


def _lightness(*cosines: float) -> list[float]:
    """L* of the stand-in's grey at each cosine, by CIE's formula."""
    return [116 * (GREY * (AMBIENT + DIRECT * max(c, 0.0))) ** (1 / 3) - 16 for c in cosines]


@pytest.mark.parametrize(("light", "count"), [((0.5, 1.0, 0.4), 2), ((0.5, 1.0, 0.0), 3)])
def test_faces_of_a_box_are_counted_by_their_light(light: tuple[float, float, float], count: int) -> None:
    # Seen: right (+X), top, front (+Z). L* 66.7, 81.3, 63.1: right and front are too near to each other;
    # and 67.7, 82.8, 43.5.
    shades = sorted(_lightness(*(np.array(light) / np.linalg.norm(light))))
    steps = np.diff(shades)
    assert 1 + (steps >= 5.0).sum() == count
    box = block("box", (0, 0, 0), (1, 1, 1))
    assert _shaded(box, *light) == (float(count), "weak", None, "faces")
    assert _shaded(box, *light, glance_factor=1).grade == "reads"


def test_faces_in_one_shade_are_one() -> None:
    # Light from behind: front and right get none, the top a little.
    assert _shaded(block("box", (0, 0, 0), (1, 1, 1)), -1.0, 0.0, -1.0) == (1.0, "absent", None, "faces")


def test_round_thing_shades_off_in_many_steps() -> None:
    # L* runs from 43.5 (no light) to 85.8 (straight at the light): 8 steps of 5 at most.
    vertices, faces = solid("sphere", (1.5, 1.5, 1.5))
    ball = Node("ball", vertices.astype(np.float32), faces)
    found = _shaded(ball, *LIGHT)
    low, high = _lightness(0.0, 1.0)
    assert 6 <= (found.value or 0) <= (high - low) // 5 + 1
    assert found.grade == "reads"


def test_thing_without_faces_has_no_form() -> None:
    made = case(
        camera(), block("floor", (0, -1, 0), (9, 1, 9)), cell=CELL, aids=EVERY_AID,
        subject={"at": (1, 0, 0)}, target=[{"name": "t", "at": (0, 0, 0)}],
    )  # fmt: skip
    assert cues(made, "target:t")["light_on_form"] == (0.0, "absent", None, "faces")
