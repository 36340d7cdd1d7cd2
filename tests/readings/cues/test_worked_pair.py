"""The worked pair and its parallel twin; what marks get; what is drawn and what is not."""

from __future__ import annotations

import numpy as np
import pytest

from readings.cues.shown import (
    CELL,
    DECKS,
    EVERY_AID,
    FOCAL_PX,
    FROM,
    HOP,
    QUAY,
    QUAY_FLAT,
    cues,
    hop,
    pinhole,
    reads,
)
from readings.made import COUCH, block, body, camera, case, reading, values
from stationpoint.readings.cues.rules import CUE_NAMES, CUE_RULES
from stationpoint.readings.kinds import FIELDS, wanted

SUBJECT = {"subject": {"at": FROM}}


def test_quay_in_perspective_is_told_by_the_cues_of_the_worked_pair() -> None:
    # 35 mm, 8 m, pitch 20, 4.1 m ahead: z_B = 8 + 4.1 cos 20.
    sin20, cos20 = np.sin(np.radians(20)), np.cos(np.radians(20))
    far = 8 + 4.1 * cos20
    found = cues(
        case(QUAY, *DECKS, body(FROM), gap=[HOP], at=[COUCH], cell=CELL, aids=["ground-texture"], **SUBJECT)
    )
    assert (
        found["relative_size"].value == pytest.approx(100 * np.log(far / 8)) == pytest.approx(39.3, abs=0.05)
    )
    assert found["texture_gradient"].value == pytest.approx(39.3, abs=0.05)
    assert found["height_in_field"].value == pytest.approx(178.2, abs=0.1)
    # Rails 1 m to either side: 233.33 px and F / z_B px from the middle, 220.84 px apart in height.
    slope = (FOCAL_PX / 8 - FOCAL_PX / far) / (FOCAL_PX * 4.1 * sin20 / far)
    angle = 2 * np.degrees(np.arctan(slope))
    assert found["convergence"].value == pytest.approx(angle) == pytest.approx(37.9, abs=0.05)
    assert found["parallax"].value == pytest.approx(75.8 * 0.8074, rel=1e-3)
    assert found["parallax"].share == pytest.approx(0.325, abs=5e-4)
    # Horizon: F tan 20 over the middle, row -139.4: out of the picture.
    assert 540 - FOCAL_PX * np.tan(np.radians(20)) == pytest.approx(-139.4, abs=0.05)
    assert found["horizon"] == (0.0, "absent", None, "%")
    assert reads(found) == {"relative_size", "height_in_field", "texture_gradient", "convergence", "parallax"}
    assert all(found[name].grade == "absent" for name in ("occlusion", "drop_line", "cast_shadow"))


def test_parallel_twin_has_height_in_the_field_and_nothing_else() -> None:
    made = case(QUAY_FLAT, *DECKS, body(FROM), gap=[HOP], at=[COUCH], cell=CELL, aids=EVERY_AID, **SUBJECT)
    found = cues(made)
    drawn_px = FOCAL_PX / 8 * 4.1 * np.sin(np.radians(20))
    assert drawn_px == pytest.approx(327.2, abs=0.05)
    angle = np.degrees(np.arctan(drawn_px * COUCH.pixel_m / COUCH.eye_distance_m)) * 60
    assert found["height_in_field"].value == pytest.approx(angle)
    assert reads(found) == {"height_in_field"}
    for name in ("relative_size", "texture_gradient", "convergence", "horizon", "parallax"):
        assert (found[name].value, found[name].grade) == (0.0, "absent"), name
    assert found["parallax"].share == 0.0
    read = reading(made, ["cues"]).values
    assert (read["cues", "gap:hop", "order"], read["cues", "gap:hop", "amount"]) == (1, 1)


def test_sums_count_what_reads_and_amount_tells_order_too() -> None:
    made = hop(HOP["to"], *DECKS, aids=["ground-texture"])  # type: ignore[arg-type]
    read = reading(made, ["cues"]).values
    assert (read["cues", "gap:hop", "order"], read["cues", "gap:hop", "amount"]) == (5, 5)


def test_factor_of_the_study_moves_what_reads() -> None:
    # 39.3 % is 13.1 times 3 %, 32.5 % is 3.25 times 10 %.
    found = cues(hop(HOP["to"], *DECKS, aids=["ground-texture"], glance_factor=3.5))  # type: ignore[arg-type]
    assert found["relative_size"].grade == "reads"
    assert (found["parallax"].grade, found["texture_gradient"].grade) == ("weak", "reads")
    found = cues(hop(HOP["to"], *DECKS, aids=["ground-texture"], glance_factor=4))  # type: ignore[arg-type]
    assert found["texture_gradient"].grade == "weak"
    assert found["height_in_field"].grade == "reads"


def test_every_value_has_one_field_and_a_unit_of_its_rule() -> None:
    made = case(
        QUAY, *DECKS, body(FROM), gap=[HOP], cell=CELL, aids=EVERY_AID,
        target=[{"name": "three", "node": "barge-3"}, {"name": "a", "node": "barge-2", "role": "tertiary"}],
        **SUBJECT,
    )  # fmt: skip
    read = values(made, ["cues"])
    pairs = {path[1] for path in read}
    assert pairs == {"gap:hop", "target:three"}
    assert len(read) == 2 * (10 * 4 + 4)
    known = {field.path for field in FIELDS}
    for path in read:
        assert ("cues", "*", *path[2:]) in known, path
    assert tuple(CUE_RULES) == CUE_NAMES
    assert "".join(rule.letter for rule in CUE_RULES.values()) == "OSHDCTVZPL"
    assert {read["cues", "gap:hop", name, "unit"] for name in CUE_NAMES} == {
        rule.unit for rule in CUE_RULES.values()
    }


def test_study_without_a_pair_wants_no_shot_and_other_groups_want_none_of_theirs() -> None:
    assert wanted(case(QUAY, *DECKS), ["cues"]) == {}
    made = case(QUAY, *DECKS, gap=[HOP], aids=EVERY_AID)
    assert set(wanted(made, ["cues"])) == {("main",), ("plain",), ("uncast",)}
    assert wanted(made, ["axes", "viewing"]) == {}
    assert set(wanted(case(QUAY, *DECKS, gap=[HOP]), ["cues"])) == {("main",), ("plain",)}
    first, second = wanted(made), wanted(made)
    assert all(first[name] is second[name] for name in first)


def test_plain_picture_shows_only_what_the_game_ships() -> None:
    shot = wanted(case(QUAY, *DECKS, gap=[HOP], aids=["ground-texture"]), ["cues"])["plain",]
    assert (shot.tinted, shot.grid, shot.shadow) == (False, True, False)
    shot = wanted(case(QUAY, *DECKS, gap=[HOP], aids=["cast-shadow"]), ["cues"])["plain",]
    assert (shot.tinted, shot.grid, shot.shadow) == (False, False, True)


def test_landing_off_the_picture_can_be_compared_with_nothing() -> None:
    found = cues(hop((40.0, 0.8, -7.1), *DECKS, aids=["ground-texture"]))
    for name in set(CUE_NAMES) - {"horizon"}:
        assert (found[name].value, found[name].grade) == (None, "absent"), name
    behind = cues(hop((4.2, 0.8, 20.0), *DECKS))
    assert behind["relative_size"].value is None


def test_thing_in_the_picture_whose_foot_is_behind_the_eye_cannot_be_compared() -> None:
    # Eye at z 8; the wall runs from z 2 to 16, so its middle is behind it.
    wall, crate = block("wall", (3.5, 0, 9), (1, 1, 14)), block("crate", (0, 0, -3), (1, 1, 1))
    made = case(
        camera(pitch=0, anchor=(0, 1, 0)), wall, crate, cell=CELL, aids=EVERY_AID,
        subject={"node": "wall"}, target=[{"name": "t", "node": "crate", "like": ["wall"]}],
    )  # fmt: skip
    read = reading(made, ["cues"])
    for name in set(CUE_NAMES) - {"horizon"}:
        assert read.values["cues", "target:t", name, "value"] is None, name
        assert read.values["cues", "target:t", name, "grade"] == "absent", name


def test_marks_get_points_of_the_cell() -> None:
    made = case(
        QUAY,
        *DECKS,
        block("sea", (0, -1.2, 0), (60, 1, 60)),
        gap=[HOP],
        at=[COUCH],
        cell=CELL,
        aids=EVERY_AID,
    )
    extras = reading(made, ["cues"]).extras
    sixth = CELL[0] / 1920
    feet = pinhole([HOP["from"], HOP["to"]], FROM, 8, 20) * sixth  # type: ignore[list-item]
    assert extras["cue", "gap:hop", "height_in_field"] == pytest.approx(feet)
    posts = pinhole([(4.2, 0.8, -3), (4.2, 1.8, -3), (4.2, 0.8, -7.1), (4.2, 1.8, -7.1)], FROM, 8, 20) * sixth
    assert extras["cue", "gap:hop", "relative_size"] == pytest.approx(posts)
    rails = pinhole([(3.2, 0.8, -3), (3.2, 0.8, -7.1), (5.2, 0.8, -3), (5.2, 0.8, -7.1)], FROM, 8, 20) * sixth
    assert extras["cue", "gap:hop", "convergence"] == pytest.approx(rails)
    # One metre a second for a quarter of one: 0.25 m to the left.
    slides = (
        pinhole([(4.2, 0.8, -3), (3.95, 0.8, -3), (4.2, 0.8, -7.1), (3.95, 0.8, -7.1)], FROM, 8, 20) * sixth
    )
    assert extras["cue", "gap:hop", "parallax"] == pytest.approx(slides)
    # The sea's top lies 0.2 m under the barges' base: the line goes from the deck down to it.
    line = pinhole([(4.2, 0.8, -7.1), (4.2, -0.2, -7.1)], FROM, 8, 20) * sixth
    assert extras["cue", "gap:hop", "drop_line"] == pytest.approx(line)
    faces = extras["cue", "gap:hop", "light_on_form"]
    assert faces.shape == (4, 2)
    assert ("cue", "gap:hop", "horizon") not in extras


def test_ticks_of_texture_lie_a_metre_apart_on_open_ground() -> None:
    floor = block("floor", (0, -1, 0), (60, 1, 60))
    made = case(camera(), floor, gap=[{"name": "hop", "from": (0, 0, 0), "to": (0, 0, -4)}], cell=CELL,
                aids=["ground-texture"])  # fmt: skip
    rows = reading(made, ["cues"]).extras["cue", "gap:hop", "texture_gradient"]
    part = int(np.flatnonzero(np.isnan(rows[:, 0]))[0])
    near, far = rows[:part], rows[part + 1 :]
    assert len(near) >= 2
    assert len(far) >= 2
    # A metre at 8 m is 233.33 px of 1920, a sixth of it in the cell; farther by 8 / (8 + 4 cos 20).
    assert np.diff(near[:, 0]) == pytest.approx(FOCAL_PX / 8 / 6)
    assert np.diff(far[:, 0]) == pytest.approx(FOCAL_PX / (8 + 4 * np.cos(np.radians(20))) / 6)
    assert np.ptp(near[:, 1]) == pytest.approx(0.0, abs=1e-9)
