"""First studies by kind of camera: each reads back, can be judged, and says where its limits come from."""

from __future__ import annotations

from dataclasses import replace
from math import cos, hypot, radians, sin

import pytest

from stationpoint.scene.types import Scene
from stationpoint.study.check import check_study
from stationpoint.study.file import study_from_text
from stationpoint.study.first.briefs import BRIEFS
from stationpoint.study.first.kinds import KINDS, kind_study, kind_text
from stationpoint.study.first.study import Asks
from stationpoint.study.sweep import expand
from study.scenes import node, quay_scene

SPOTS = [(1.0, 0.8, 1.5), (-2.0, 0.8, 1.5)]


def open_air(point: object, yaw_deg: float, pitch_deg: float) -> float:
    """A floor a metre under every middle, and nothing else."""
    return 1.0 if pitch_deg == -90 else 1e6


OPEN = Asks(open_air, lambda _at, _way, _but: 1e6)
SHUT = Asks(lambda _at, _yaw, _pitch: 2.0, lambda _at, _way, _but: 2.0)


@pytest.mark.parametrize("kind", sorted(KINDS))
@pytest.mark.parametrize("asks", [OPEN, SHUT])
def test_text_of_a_kind_reads_back_as_the_same_study_and_fits_its_scene(kind: str, asks: Asks) -> None:
    study = kind_study(kind, "quay.glb", quay_scene(), SPOTS, asks)
    text = kind_text(study, kind)
    assert study_from_text(text, "quay.study.toml") == study
    assert check_study(study, quay_scene()) == []
    assert len(expand(study)) >= 4
    assert text == kind_text(kind_study(kind, "quay.glb", quay_scene(), SPOTS, asks), kind)
    assert max(len(line) for line in text.splitlines()) <= 110


@pytest.mark.parametrize("kind", sorted(KINDS))
def test_every_limit_of_a_kind_has_its_reason_and_its_source(kind: str) -> None:
    study = kind_study(kind, "quay.glb", quay_scene(), SPOTS, OPEN)
    blocks = kind_text(study, kind).split("\n\n")
    limits = [block for block in blocks if "\n[[limit]]" in block and not block.startswith("# A ")]
    assert len(limits) == len(study.limit) >= 4
    for block, limit in zip(limits, study.limit, strict=True):
        assert limit.why
        remark, heading = block.splitlines()[:2]
        assert remark.startswith("# ")
        assert heading.startswith("[[limit]]")
        sources = ("(common practice)", "(geometry)", "ISO", "SMPTE")
        assert any(source in remark for source in sources), remark


@pytest.mark.parametrize("kind", sorted(KINDS))
def test_cautions_of_a_kind_leave_sickness_to_testing(kind: str) -> None:
    text = kind_text(kind_study(kind, "quay.glb", quay_scene(), SPOTS, OPEN), kind)
    assert "leave it to user\n# testing" in text


@pytest.mark.parametrize("kind", sorted(KINDS))
def test_what_can_be_added_to_a_kind_works_once_uncommented(kind: str) -> None:
    text = kind_text(kind_study(kind, "quay.glb", quay_scene(), SPOTS, OPEN), kind)
    at = text.rindex("take the # away")
    head, more = text[:at].rsplit("\n\n", 1)[0], text[at:].split("\n", 1)[1]
    more = more[more.index("#\n# [[") :] if "#\n# [[" in more else more
    study = study_from_text(head + "\n" + more.replace("\n# ", "\n"), "quay.study.toml")
    added = [study.gap, study.place, study.reserved]
    assert check_study(study, quay_scene()) == []
    assert any(added)


@pytest.mark.parametrize("kind", sorted(KINDS))
def test_scene_without_things_has_no_limit_on_targets_that_are_not_there(kind: str) -> None:
    bare = Scene((node("FLOOR", (-20, -0.1, -20), (20, 0, 20)),))
    study = kind_study(kind, "bare.glb", bare, [(0.0, 0.0, 0.0)], OPEN)
    roles = {target.role for target in study.target}
    assert study.limit
    assert all(limit.role is None or limit.role in roles for limit in study.limit)
    assert check_study(study, bare) == []


def test_first_person_always_has_a_target_and_two_subjects_none() -> None:
    bare = Scene((node("FLOOR", (-20, -0.1, -20), (20, 0, 20)),))
    (target,) = kind_study("first-person", "bare.glb", bare, [(0.0, 0.0, 0.0)], OPEN).target
    assert target.role == "primary"
    assert kind_study("two-subjects", "quay.glb", quay_scene(), SPOTS, OPEN).target == ()


def test_third_person_sweeps_lens_and_pitch_at_the_subjects_scale() -> None:
    study = kind_study("third-person", "quay.glb", quay_scene(), SPOTS, OPEN)
    assert set(study.sweep.rows) == {"pitch_deg"}
    assert set(study.sweep.columns) == {"focal_mm"}
    assert study.sweep.hold == "subject-scale"
    assert study.camera.blocked == "pull-in"


def test_first_person_asks_from_60_to_105_degrees_standing_and_crouching() -> None:
    study = kind_study("first-person", "quay.glb", quay_scene(), SPOTS, OPEN)
    assert study.camera.first_person
    assert study.sweep.columns == {"hfov_deg": (60.0, 75.0, 90.0, 105.0)}
    assert [place.name for place in study.places] == ["here", "crouching"]
    # a ball in the corner is 1.6 times as long as wide where cos(dfov / 2) = 1 / 1.6: 51.318 degrees
    (widest,) = [limit.max for limit in study.limit if limit.reading == "viewing.*.dfov_deg"]
    assert widest == pytest.approx(2 * 51.318, abs=0.05)


def test_side_on_looks_across_the_longer_way_and_the_subject_faces_right() -> None:
    long_x = kind_study("side-on", "quay.glb", quay_scene(), SPOTS, OPEN)  # 20 m by 12 m
    assert long_x.camera.yaw_deg in (0.0, 180.0)
    assert long_x.subject is not None
    assert (long_x.subject.heading_deg - long_x.camera.yaw_deg) % 360 == 270  # +X where the camera is at +Z
    assert "planes.front.worst_arcmin_per_m" in {limit.reading for limit in long_x.limit}
    long_z = Scene((node("hull", (-2, 0, -9), (2, 3, 9)), node("chair", (0, 0, 1), (0.5, 1, 1.5))))
    turned = kind_study("side-on", "hull.glb", long_z, [(0.0, 0.0, 0.0)], OPEN)
    assert turned.camera.yaw_deg in (90.0, -90.0)
    assert "planes.side.worst_arcmin_per_m" in {limit.reading for limit in turned.limit}


def test_overhead_of_a_closed_mesh_takes_its_ceiling_away_and_of_a_scene_file_does_not() -> None:
    room = replace(quay_scene(), nodes=(*quay_scene().nodes, node("CEILING_1", (-10, 3, -6), (10, 3.1, 6))))
    study = kind_study("overhead", "room.glb", room, SPOTS, SHUT)
    assert study.mesh is not None
    assert (study.mesh.backs, study.mesh.hide) == ("open", ("CEILING_1",))
    assert kind_study("overhead", "room.glb", room, SPOTS, OPEN).mesh is None
    assert kind_study("overhead", "room.toml", room, SPOTS, SHUT).mesh is None


def test_two_subjects_face_each_other_and_the_camera_is_held_to_both() -> None:
    study = kind_study("two-subjects", "quay.glb", quay_scene(), SPOTS, OPEN)
    one, other = study.subjects
    (x, y, z), (to_x, to_y, to_z) = (tuple(map(float, body.at or ())) for body in study.subjects)
    assert hypot(to_x - x, to_z - z) == pytest.approx(1.4 * 1.7, abs=0.05)
    assert y == to_y
    # a heading of h degrees looks along (-sin h, -cos h)
    ahead = (-sin(radians(one.heading_deg)), -cos(radians(one.heading_deg)))
    assert ahead == pytest.approx(((to_x - x) / 2.4, (to_z - z) / 2.4), abs=0.01)
    assert (other.heading_deg - one.heading_deg) % 360 == 180
    assert other.height_m == one.height_m
    assert study.sweep.hold == "all-in-frame"
    assert study.camera.margin_m == pytest.approx(0.3 * 1.7)
    bounded = {limit.reading for limit in study.limit}
    assert {"framing.limb_spread", "subjects.*.seen", "subjects.*.action_safe"} <= bounded


def test_the_other_one_has_a_name_of_its_own() -> None:
    taken = replace(quay_scene(), nodes=(*quay_scene().nodes, node("second subject", (5, 0, 5), (6, 1, 6))))
    (other,) = kind_study("two-subjects", "quay.glb", taken, SPOTS, OPEN).others
    assert other.name == "second subject 2"


def test_overhead_asks_how_far_round_a_body_of_a_persons_size_is_seen() -> None:
    study = kind_study("overhead", "quay.glb", quay_scene(), SPOTS, OPEN)
    assert study.awareness_m == pytest.approx(3 * 1.7)
    assert "framing.awareness_ring" in {limit.reading for limit in study.limit}
    # the ring lies 0.9 m above the foot: over the head of what half of a scene of 1 m makes a body of 0.5 m
    toy = Scene((node("FLOOR", (-0.5, -0.1, -0.5), (0.5, 0, 0.5)), node("cup", (0, 0, 0), (0.1, 0.1, 0.1))))
    small = kind_study("overhead", "toy.glb", toy, [(0.0, 0.0, 0.0)], OPEN)
    assert small.awareness_m is None
    assert "framing.awareness_ring" not in {limit.reading for limit in small.limit}


def test_kinds_of_the_command_are_those_of_the_room() -> None:
    from stationpoint.cli.options import KINDS as WORDS

    assert list(WORDS) == list(KINDS) == list(BRIEFS)
