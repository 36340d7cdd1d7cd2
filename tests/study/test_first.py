"""A first study for a scene alone."""

from __future__ import annotations

import os
import subprocess
import sys
from dataclasses import replace

import numpy as np
import pytest

from stationpoint.scene.types import Scene, SceneCamera
from stationpoint.study.check import check_study
from stationpoint.study.file import study_from_text
from stationpoint.study.first.study import default_study, start_text
from stationpoint.study.first.targets import eye_of, likely_targets
from stationpoint.study.sweep import expand
from study.scenes import node, quay_scene


def test_default_sweeps_pitch_and_lens_at_the_subjects_scale() -> None:
    study = default_study("quay.glb", quay_scene(), [(1.0, 0.8, 1.5)])
    assert study.title == "Which lens and pitch suit quay?"
    assert study.scene == "quay.glb"
    assert study.subject is not None
    assert (study.subject.at, study.subject.height_m) == ((1.0, 0.8, 1.5), 1.7)
    assert study.sweep.rows == {"pitch_deg": (12.0, 35.0)}
    assert study.sweep.columns == {"focal_mm": (24.0, 35.0, 50.0, 85.0)}
    assert study.sweep.hold == "subject-scale"
    assert len(expand(study)) == 8
    assert check_study(study, quay_scene()) == []


def test_default_has_no_cells_that_are_equal_by_construction() -> None:
    # A parallel view at the subject's scale is one picture whatever the lens: none is swept across lenses.
    study = default_study("quay.glb", quay_scene(), [(1.0, 0.8, 1.5)])
    assert {variant.camera.projection for variant in expand(study)} == {"perspective"}


def test_default_targets_are_things_near_the_subject_and_no_walls_or_floors() -> None:
    study = default_study("quay.glb", quay_scene(), [(1.0, 0.8, 1.5)])
    # Middles: barge-2 (1, 1.5), barge-1 (-2, 1.5), plinth-3 (4.75, 1.25), barge-3 (5, 1.5).
    assert [target.name for target in study.target] == ["barge-2", "barge-1", "plinth-3", "barge-3"]
    assert {target.role for target in study.target} == {"secondary"}


def test_default_camera_stands_where_there_is_most_room_and_within_it() -> None:
    # A room 4 m wide, 10 m deep from z = -2 to 8; the subject at z = 0 has 8 m on its +Z side.
    room = Scene((node("hull", (-2, 0, -2), (2, 3, 8)), node("chair", (0, 0, 1), (0.5, 1, 1.5))))
    camera = default_study("room.glb", room, [(0.0, 0.0, 0.0)]).camera
    assert camera.yaw_deg == 0
    assert camera.distance_m == pytest.approx(0.8 * 8 / 0.9781, abs=0.06)  # cos 12 degrees = 0.9781
    turned = default_study("room.glb", room, [(0.0, 0.0, 7.0)])
    assert turned.camera.yaw_deg == 180
    assert turned.subject is not None
    assert turned.subject.heading_deg == 180  # seen from behind: a heading counts as a yaw does


def test_default_of_a_small_model_has_a_small_subject() -> None:
    toy = Scene((node("toy", (0, 0, 0), (0.1, 0.2, 0.1)),))
    study = default_study("toy.stl", toy, [(0.05, 0.0, 0.05)])
    assert study.subject is not None
    assert study.subject.height_m == pytest.approx(0.1)
    assert study.camera.distance_m is not None
    assert 0.1 < study.camera.distance_m < 1
    assert study.target == ()


def test_default_picks_no_targets_among_very_many_or_nameless_nodes() -> None:
    crowd = Scene(tuple(node(f"crate {k}", (k, 0, 0), (k + 0.5, 0.5, 0.5)) for k in range(2001)))
    assert default_study("crowd.glb", crowd, [(0, 0, 0)]).target == ()
    nameless = Scene(tuple(node(f"part-{k}", (k, 0, 0), (k + 0.5, 0.5, 0.5)) for k in range(5)))
    assert default_study("x.glb", nameless, [(0, 0, 0)]).target == ()


def test_subject_takes_a_name_that_the_scene_has_not() -> None:
    scene = Scene((node("subject", (0, 0, 0), (1, 1, 1)), node("stand-in", (2, 0, 0), (3, 1, 1))))
    study = default_study("x.glb", scene, [(0, 0, 0)])
    assert study.subject is not None
    assert study.subject.name == "stand-in 2"
    assert check_study(study, scene) == []


def yard_camera(name: str, at: tuple[float, float, float], vfov_deg: float | None) -> SceneCamera:
    """A camera of the file that looks along -Z from a point."""
    view = np.eye(4)
    view[:3, 3] = [-x for x in at]
    return SceneCamera(name, view, vfov_deg, 16 / 9, None if vfov_deg else 6.0, 0.1, 100.0, "yard.glb")


def test_files_own_camera_comes_first_with_its_own_lens_and_the_subject_before_it() -> None:
    scene = replace(quay_scene(), cameras=(yard_camera("shot", (1, 1.8, 8), 33.0),))
    study = default_study("levels/yard.glb", scene, [(-9.0, 0.0, 2.0), (1.0, 0.8, 1.5)])
    assert study.camera.from_ == "levels/yard.glb#shot"
    assert study.sweep.columns["vfov_deg"][0] == 33.0
    assert study.subject is not None
    assert study.subject.at == (1.0, 0.8, 1.5)  # the other spot is 45 degrees and more off its sightline


def test_files_cameras_of_several_lenses_are_drawn_as_they_are() -> None:
    own = (yard_camera("near", (1, 1.8, 8), 33.0), yard_camera("plan", (1, 1.8, 9), None))
    study = default_study("yard.glb", replace(quay_scene(), cameras=own), [(1.0, 0.8, 1.5)])
    assert study.sweep.columns == {"from": ("yard.glb#near", "yard.glb#plan")}
    assert study.sweep.rows == {}


def test_targets_are_things_that_the_first_camera_sees_of_different_kinds() -> None:
    nodes = [node(f"crate {k}", (k, 0, -6), (k + 0.6, 0.6, -5.6)) for k in (-2, -1, 0, 1)]
    nodes += [
        node("lamp", (1, 1, -9), (1.5, 1.8, -8.5)),
        node("behind me", (0, 0, 20), (1, 1, 21)),
        node("hidden", (-1, 0, -12), (0, 1, -11)),
        node("Cube.003", (0.5, 0, -4), (1, 0.5, -3.5)),
        node("FLOOR", (-20, -0.1, -20), (20, 0, 25)),
        node("WALL_2", (-3, 0, -10), (1, 2, -9.8)),
    ]
    hides = {"hidden": 5.0}
    eye = eye_of((0, 1, 0), 0, 0, 5, 24)
    found = likely_targets(nodes, (0, 0, 0), eye, lambda _at, _way, name: hides.get(name, 1e9))
    names = [one.name for one in found]
    assert "lamp" in names
    assert len(names) == 4
    assert not {"hidden", "behind me", "Cube.003", "FLOOR", "WALL_2"} & set(names)


def test_start_text_is_commented_and_reads_back_as_the_same_study() -> None:
    study = default_study("quay.glb", quay_scene(), [(1.0, 0.8, 1.5)])
    text = start_text(study)
    assert study_from_text(text, "quay.study.toml") == study
    for key in ("scene", "focal_mm", "distance_m", "pitch_deg", "hold"):
        (line,) = [line for line in text.splitlines() if line.startswith(f"{key} = ")]
        assert " # " in line
    assert max(len(line) for line in text.splitlines()) <= 100


def test_examples_at_the_end_of_a_first_study_work_once_uncommented() -> None:
    text = start_text(default_study("quay.glb", quay_scene(), [(1.0, 0.8, 1.5)]))
    head, more = text.split("take the # away to use it.\n")
    study = study_from_text(head + more.replace("\n# ", "\n"), "quay.study.toml")
    assert (len(study.gap), len(study.viewing), len(study.limit)) == (1, 1, 1)


def test_study_room_is_read_without_numpy() -> None:
    rooms = [
        "models",
        "file",
        "sweep",
        "check",
        "toml",
        "first.study",
        "first.view",
        "first.targets",
        "changes",
    ]
    code = "import sys\n" + "".join(f"import stationpoint.study.{room}\n" for room in rooms)
    code += "print([name for name in ('numpy', 'trimesh', 'PIL') if name in sys.modules])"
    paths = {"PYTHONPATH": os.pathsep.join(sys.path)}
    shown = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True, check=True, env=paths
    )
    assert shown.stdout.strip() == "[]"
