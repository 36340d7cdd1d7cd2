"""Size, texture, height, drop line, convergence, parallax: where each reads, is weak, absent, misleads."""

from __future__ import annotations

import numpy as np
import pytest

from readings.cues.shown import (
    ARCMIN_PX,
    CELL,
    DECKS,
    EVERY_AID,
    FOCAL_PX,
    FROM,
    QUAY_FLAT,
    ahead,
    cues,
    hop,
    pinhole,
)
from readings.made import COUCH, block, camera, case
from stationpoint.readings.cues.form import directions
from stationpoint.scene.edit import moved_scene
from stationpoint.scene.types import Node, Scene

LEVEL = camera(pitch=0, anchor=(0, 1, 0))  # eye (0, 1, 8)


@pytest.mark.parametrize(("far", "grade"), [(8.2, "absent"), (8.5, "weak"), (9.0, "reads")])
def test_size_is_graded_by_the_logarithm_of_the_depths(far: float, grade: str) -> None:
    # ln(8.2 / 8) 2.5 %, ln(8.5 / 8) 6.1 %, ln(9 / 8) 11.8 %; T 3 %, three times T 9 %.
    found = cues(hop(ahead(far)))["relative_size"]
    assert found.value == pytest.approx(100 * np.log(far / 8))
    assert found.grade == grade


def _posts(near: float, far: float, like: tuple[str, ...]) -> dict[str, object]:
    """A post as the subject 8 m from the eye, another as the target at 12 m, of given heights."""
    posts = (block("own", (-1, 0, 0), (0.3, near, 0.3)), block("other", (1, 0, -4), (0.3, far, 0.3)))
    target = [{"name": "post", "node": "other", "like": like}]
    return {"nodes": posts, "target": target, "subject": {"node": "own"}}


def _of_posts(near: float, far: float, *like: str) -> dict[str, object]:
    said = _posts(near, far, like)
    return cues(case(LEVEL, *said.pop("nodes"), cell=CELL, **said), "target:post")  # type: ignore[misc, return-value]


def test_size_of_things_not_known_to_be_alike_is_weak_at_most() -> None:
    assert _of_posts(1.0, 1.0)["relative_size"].value == pytest.approx(100 * np.log(12 / 8))
    assert _of_posts(1.0, 1.0)["relative_size"].grade == "weak"
    assert _of_posts(1.0, 1.0, "own")["relative_size"].grade == "reads"


def test_size_misleads_where_the_farther_one_of_two_alike_is_drawn_larger() -> None:
    # 1 m at 8 m is drawn .125 F high, h at 12 m h / 12 F: the same for h = 1.5, 3 % more for 1.545. The
    # near sides are 0.15 m nearer than the feet: the same for 1.5 x (11.85 / 12) / (7.85 / 8) = 1.509.
    assert _of_posts(1.0, 1.53, "own")["relative_size"].grade == "reads"
    assert _of_posts(1.0, 1.60, "own")["relative_size"].grade == "misleads"
    assert _of_posts(1.0, 1.60)["relative_size"].grade == "weak"


def test_size_and_its_lies_are_absent_in_a_parallel_view() -> None:
    said = _posts(1.0, 3.0, ("own",))
    view = camera("orthographic", pitch=0, anchor=(0, 1, 0))
    found = cues(case(view, *said.pop("nodes"), cell=CELL, **said), "target:post")  # type: ignore[misc]
    assert (found["relative_size"].value, found["relative_size"].grade) == (0.0, "absent")


@pytest.mark.parametrize(("far", "grade"), [(8.5, "absent"), (9.6, "weak"), (11.0, "reads")])
def test_texture_is_graded_like_a_density(far: float, grade: str) -> None:
    # 6.1 %, 18.2 %, 31.8 %; T 10 %.
    found = cues(hop(ahead(far), aids=["ground-texture"]))["texture_gradient"]
    assert found.value == pytest.approx(100 * np.log(far / 8))
    assert found.grade == grade


def test_texture_is_absent_without_the_aid_and_where_it_is_too_fine() -> None:
    assert cues(hop(ahead(11.0)))["texture_gradient"] == (0.0, "absent", None, "%")
    # A metre is under 2' (2.48 px) where F / z is less, and under 3 px first: beyond 622 m.
    for far, grade in ((600.0, "reads"), (650.0, "absent")):
        view = camera(anchor=FROM, pitch=3)
        to = (4.2, 0.8, -3.0 - (far - 8) / np.cos(np.radians(3)))
        assert cues(hop(to, view=view, aids=["ground-texture"]))["texture_gradient"].grade == grade


def test_texture_tells_nothing_of_what_hangs_in_the_air() -> None:
    floor = block("floor", (0, -1, 0), (60, 1, 60))
    said = {
        "subject": {"at": (0, 0, 0)},
        "target": [{"name": "t", "node": "crate"}],
        "aids": ["ground-texture"],
    }
    for up, grade in ((0.0, "reads"), (0.2, "absent")):
        crate = block("crate", (1, up, -5), (1, 1, 1))
        found = cues(case(camera(), floor, crate, cell=CELL, **said), "target:t")
        assert found["texture_gradient"].grade == grade


@pytest.mark.parametrize(("far", "grade"), [(8.03, "absent"), (8.15, "weak"), (8.5, "reads")])
def test_height_in_the_field_is_an_angle_at_the_seat(far: float, grade: str) -> None:
    # F tan 20 (1 - 8 / z): 2.5 px 2.1', 12.5 px 10.1', 40 px 32'.
    found = cues(hop(ahead(far)))["height_in_field"]
    up_px = 540 - pinhole([ahead(far)], FROM, 8, 20)[0, 1]
    assert found.value == pytest.approx(up_px * ARCMIN_PX, rel=2e-3)
    assert found.grade == grade


def test_height_counts_the_vertical_part_alone() -> None:
    to = (6.2, 0.8, -7.1)
    assert cues(hop(to, at=[COUCH]))["height_in_field"].value == pytest.approx(178.2, abs=0.2)


def test_height_needs_both_feet() -> None:
    wall = block("wall", (4.2, 0, -5), (4, 3, 0.2))  # between, over the sightline to the landing
    assert cues(hop(ahead(12), wall))["height_in_field"] == (0.0, "absent", None, "'")
    low = block("wall", (4.2, 0, -5), (4, 0.9, 0.2))  # the sightline passes 1.3 m up there
    assert cues(hop(ahead(12), low))["height_in_field"].grade == "reads"


def test_subject_on_its_way_does_not_hide_a_landing_from_its_own_gap() -> None:
    subject = block("own", FROM, (0.6, 1.8, 0.6))
    said = {"subject": {"node": "own"}}
    assert cues(hop(ahead(11.853), subject, **said))["height_in_field"].grade == "reads"
    # As a bystander the same block hides it.
    assert cues(hop(ahead(11.853), subject))["height_in_field"].grade == "absent"


def test_height_misleads_where_levels_differ_and_the_ground_reading_errs() -> None:
    # Landing 4.1 m away. Eye 2.736 m over the take-off, 7.518 m behind it: level h, it is read at
    # 7.518 + L' = (7.518 + 4.1) x 2.736 / (2.736 - h): 1 m up reads 10.79, 3 cm up 4.23 (3.2 %).
    for up, read_m, grade in ((1.0, 10.79, "misleads"), (0.03, 4.23, "reads"), (-1.0, 0.99, "misleads")):
        eye_up, eye_back = 8 * np.sin(np.radians(20)), 8 * np.cos(np.radians(20))
        assert (eye_back + 4.1) * eye_up / (eye_up - up) - eye_back == pytest.approx(read_m, abs=0.01)
        assert cues(hop((4.2, 0.8 + up, -7.1)))["height_in_field"].grade == grade, up


def test_height_misleads_in_a_parallel_view_even_if_nothing_is_drawn_higher() -> None:
    # 1 m away is drawn like tan 20 m down: two spots at one place of the picture, read as no gap at all.
    found = cues(hop((4.2, 0.8 - 4.1 * np.tan(np.radians(20)), -7.1), view=QUAY_FLAT))["height_in_field"]
    assert found.value == pytest.approx(0.0, abs=1e-6)
    assert found.grade == "misleads"


@pytest.mark.parametrize(("drop", "grade"), [(0.02, "absent"), (0.07, "weak"), (0.2, "reads")])
def test_drop_line_goes_from_the_foot_to_the_floor(drop: float, grade: str) -> None:
    # Upright at 8 m, pitch 20: 219.26 px a metre, 177'.
    floor = block("floor", (0, -1, 0), (60, 1, 60))
    crate = block("crate", (0, drop, 0), (1, 1, 1))
    target = {"target": [{"name": "t", "node": "crate"}], "subject": {"at": (2, 0, 0)}}
    found = cues(case(camera(), floor, crate, cell=CELL, aids=["drop-marker"], **target), "target:t")[
        "drop_line"
    ]
    ends = pinhole([(0, 0, 0), (0, drop, 0)], (0, 0, 0), 8, 20)
    assert found.value == pytest.approx(float(np.ptp(ends[:, 1])) * ARCMIN_PX, rel=2e-3)
    assert found.grade == grade
    unmarked = cues(case(camera(), floor, crate, cell=CELL, aids=["cast-shadow"], **target), "target:t")
    assert unmarked["drop_line"] == (0.0, "absent", None, "'")


def test_drop_line_over_a_void_has_no_floor() -> None:
    made = hop((4.2, 0.8, -7.1), *DECKS, aids=EVERY_AID)
    assert cues(made)["drop_line"] == (0.0, "absent", None, "'")


def _rails_deg(far: float) -> float:
    """Angle between the rails by OpenCV."""
    _, y, z = ahead(far)
    a, b, c, d = pinhole([(3.2, 0.8, -3), (3.2, y, z), (5.2, 0.8, -3), (5.2, y, z)], FROM, 8, 20)
    first, second = (np.arctan2(*(q - p)[::-1]) for p, q in ((a, b), (c, d)))
    return abs(float(np.degrees(first - second)))


@pytest.mark.parametrize("far", [8.1, 9.0, 20.0])
def test_rails_converge_as_opencv_draws_them(far: float) -> None:
    found = cues(hop(ahead(far), aids=["ground-texture"]))["convergence"]
    assert found.value == pytest.approx(_rails_deg(far), rel=1e-6)
    assert found.grade == "reads"


def test_rails_seen_from_high_above_converge_little() -> None:
    # From straight above rails on a level are parallel; a landing d lower spreads them: 1 m to either
    # side is F / 8 and F / (8 + d) px, over a gap of 3 m.
    view = camera(anchor=FROM, pitch=90, focal=14)
    focal = 1920 * 14 / 36
    for down, grade in ((0.1, "absent"), (0.25, "weak"), (0.5, "reads")):
        to = (4.2, 0.8 - down, -6.0)
        spread = focal / 8 - focal / (8 + down)
        angle = 2 * np.degrees(np.arctan(spread / (focal * 3.0 / (8 + down))))
        found = cues(hop(to, view=view, aids=["ground-texture"]))["convergence"]
        assert found.value == pytest.approx(angle)
        assert found.grade == grade, angle


def test_convergence_without_texture_needs_a_straight_edge_along_the_gap() -> None:
    to = (4.2, 0.8, -7.1)
    assert cues(hop(to, *DECKS))["convergence"] == (0.0, "absent", None, "deg")
    # A kerb beside the gap, 3 m of its 4.1 m long; its edges run with it.
    kerb = block("kerb", (5.2, 0.6, -5.2), (0.3, 0.3, 3.0))
    assert cues(hop(to, *DECKS, kerb))["convergence"].grade == "reads"
    for other in (
        block("kerb", (5.2, 0.6, -5.2), (0.3, 0.3, 1.5)),  # too short
        block("kerb", (8.2, 0.6, -5.2), (0.3, 0.3, 3.0)),  # 4 m aside
        _turned(kerb, 30.0),  # another way
    ):
        assert cues(hop(to, *DECKS, other))["convergence"].grade == "absent"
    assert cues(hop(to, *DECKS, _turned(kerb, 10.0)))["convergence"].grade == "reads"
    wall = block("wall", (5.2, 0.0, -2.5), (3, 3, 0.1))  # hides it
    assert cues(hop(to, *DECKS, kerb, wall))["convergence"].grade == "absent"


def test_two_rails_in_a_row_are_one_edge() -> None:
    kerbs = [block(f"kerb-{k}", (5.2, 0.6, -4.4 - 1.5 * k), (0.3, 0.3, 1.5)) for k in range(2)]
    joined = Node(
        "kerb",
        np.concatenate([kerb.vertices for kerb in kerbs]),
        np.concatenate([kerbs[0].faces, kerbs[1].faces + len(kerbs[0].vertices)]),
    )
    assert cues(hop((4.2, 0.8, -7.1), *DECKS, joined))["convergence"].grade == "reads"


def _turned(node: Node, degrees: float) -> Node:
    """The node turned about an upright line through its middle."""
    turn, middle = np.eye(4), node.bounds.mean(axis=0)
    c, s = np.cos(np.radians(degrees)), np.sin(np.radians(degrees))
    turn[:3, :3] = [[c, 0, s], [0, 1, 0], [-s, 0, c]]
    turn[:3, 3] = middle - turn[:3, :3] @ middle
    return moved_scene(Scene((node,)), {node.name: turn}).nodes[0]


@pytest.mark.parametrize(
    ("far", "grade"), [(8.5, "absent"), (10.0, "weak"), (12.0, "reads")], ids=["6 %", "20 %", "33 %"]
)
def test_parallax_is_graded_by_the_weaker_of_speed_and_share(far: float, grade: str) -> None:
    found = cues(hop(ahead(far)))["parallax"]
    assert found.value == pytest.approx(FOCAL_PX * (1 / 8 - 1 / far) * ARCMIN_PX, rel=1e-3)
    assert found.share == pytest.approx(1 - 8 / far)
    assert found.grade == grade


def test_parallax_of_far_things_fails_by_its_speed() -> None:
    # 600 and 1200 m: half the depth, 1.26'/s; 250 and 500 m: 3.0'/s; 60 and 120 m: 12.6'/s.
    for near, grade in ((600.0, "absent"), (250.0, "weak"), (60.0, "reads")):
        view = camera(anchor=(0, 0, 0), distance=near, pitch=5)
        gap = {"name": "hop", "from": (0, 0, 0), "to": (0, 0, -near / np.cos(np.radians(5)))}
        found = cues(case(view, cell=CELL, gap=[gap]))["parallax"]
        assert found.value == pytest.approx(FOCAL_PX / near / 2 * ARCMIN_PX, rel=1e-3)
        assert (found.share, found.grade) == (pytest.approx(0.5), grade)


def test_faces_of_a_large_open_sheet_look_to_both_sides() -> None:
    # By hand: 20 000 triangles in one slope of 3 up and 4 along: 0.8 up and 0.6 back, and the opposite.
    corners = np.float32([(0, 0, 0), (0, 0, 1), (4, 3, 0)])
    faces = np.int32([(0, 1, 2)] * 20_000)
    ways = directions([Node("sheet", corners, faces, closed=False)])
    assert np.allclose(ways[np.argsort(-ways[:, 1])], [(-0.6, 0.8, 0.0), (0.6, -0.8, 0.0)])
    assert len(directions([Node("solid", corners, faces)])) == 1
