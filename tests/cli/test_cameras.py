"""A record's cameras: variants alike but for place, viewing and light are judged as one, by the worst."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from cli_calls import SMALL, STUDY, call, done, yard

# Hand geometry: the camera stands on +z of the subject, level, so the crate, its middle at z = -2, lies as
# deep as the distance, and 2 m, and how far the subject has moved towards +z.
LEVEL = STUDY.replace("distance_m = 8", "distance_m = 8\npitch_deg = 0").partition("[sweep]")[0]
PLACES = '\n[[place]]\nname = "near"\nat = [0, 0, 0]\n[[place]]\nname = "far"\nat = [0, 0, 5]\n'
SCREENS = """
[[viewing]]
name = "desk"
diagonal_in = 24
pixels = [1920, 1080]
eye_distance_m = 0.6
[[viewing]]
name = "phone"
diagonal_in = 6
pixels = [{across}, 1080]
eye_distance_m = 0.3
"""
DEPTH = '\n[[limit]]\nreading = "targets.crate.depth_m"\nmax = 12\n'
ONLY = ("--renderer", "rays", "--only", "targets,subject,viewing", "--json", "-")


def cameras(folder: Path, study: str, *words: str) -> Any:
    path = yard(folder, "here = false\n" + study.lstrip() if "[[place]]" in study else study)
    return done("measure", path.name, *ONLY, *words, cwd=folder).record["cameras"]


def test_a_camera_at_two_places_on_two_screens_fails_where_its_worst_does(tmp_path: Path) -> None:
    swept = "\n[sweep]\ncolumns = { distance_m = [8, 14] }\n"
    study = LEVEL + swept + PLACES + SCREENS.format(across=1920) + DEPTH
    near, far = cameras(tmp_path, study)
    # 8 + 2 = 10 m and 15 m of at most 12; 16 m and 21 m of at most 12
    assert (near["head"], near["variants"], near["failed_at"], near["of"]) == ("A1", ["A1"], 2, 4)
    assert (near["holds"], near["score"]) == (False, pytest.approx(-3 / 12))
    assert near["binds"] == {
        "variant": "A1",
        "reading": "targets.crate.depth_m",
        "place": "far",
        "viewing": None,
        "value": 15.0,
        "limit": {"max": 12.0},
    }
    assert (far["failed_at"], far["of"], far["score"]) == (4, 4, pytest.approx(-9 / 12))


def test_a_limit_on_one_viewing_fails_at_that_one_alone(tmp_path: Path) -> None:
    study = LEVEL + PLACES + SCREENS.format(across=1920) + DEPTH + 'viewing = "phone"\n'
    (camera,) = cameras(tmp_path, study)
    assert (camera["failed_at"], camera["of"]) == (1, 4)


def test_a_picture_of_another_shape_fails_for_the_viewings_that_see_it(tmp_path: Path) -> None:
    # 35 mm: 2 atan(18 / 35) = 54.4 degrees at 16:9; at 20:9 of the same height 65.5: one of two screens
    limit = '\n[[limit]]\nreading = "viewing.*.hfov_deg"\nmin = 60\n'
    (camera,) = cameras(tmp_path, LEVEL + SCREENS.format(across=2400) + limit)
    assert (camera["head"], camera["failed_at"], camera["of"]) == ("A1", 1, 2)
    assert camera["binds"]["viewing"] == "desk"


def test_places_on_an_axis_are_pooled_and_the_head_is_the_rows(tmp_path: Path) -> None:
    swept = '\n[sweep]\nrows = { distance_m = [8, 14] }\ncolumns = { place = ["near", "far"] }\n'
    first, second = cameras(tmp_path, LEVEL + swept + PLACES + DEPTH)
    assert (first["head"], first["variants"], first["failed_at"], first["of"]) == ("A", ["A1", "A2"], 1, 2)
    assert (second["head"], second["variants"], second["failed_at"]) == ("B", ["B1", "B2"], 2)
    assert first["binds"]["variant"] == "A2"
    flipped = '\n[sweep]\ncolumns = { distance_m = [8, 14] }\nrows = { place = ["near", "far"] }\n'
    heads = [one["head"] for one in cameras(tmp_path, LEVEL + flipped + PLACES + DEPTH)]
    assert heads == ["1", "2"]


def test_lights_on_an_axis_are_pooled_and_pages_are_named(tmp_path: Path) -> None:
    swept = "\n[sweep]\npages = { distance_m = [8, 14] }\ncolumns = { light_yaw_deg = [0, 90, 180] }\n"
    found = cameras(tmp_path, LEVEL + swept + DEPTH)
    assert [(one["head"], one["failed_at"], one["of"]) for one in found] == [("1-A", 0, 3), ("2-A", 3, 3)]
    turned = "\n[sweep]\ncolumns = { distance_m = [8, 14] }\npages = { light_yaw_deg = [0, 90, 180] }\n"
    found = cameras(tmp_path, LEVEL + turned + DEPTH)
    assert [(one["head"], one["variants"]) for one in found] == [
        ("A1", ["1-A1", "2-A1", "3-A1"]),
        ("A2", ["1-A2", "2-A2", "3-A2"]),
    ]


def test_a_cameras_key_is_the_variants_where_nothing_else_is_swept(tmp_path: Path) -> None:
    swept = "\n[sweep]\nrows = { distance_m = [8, 14] }\n"
    path = yard(tmp_path, LEVEL + swept + DEPTH)
    plain = done("measure", path.name, *ONLY, cwd=tmp_path).record
    assert plain["cameras"] is None
    placed = cameras(tmp_path, LEVEL + swept.rstrip() + '\ncolumns = { place = ["near", "far"] }\n' + PLACES)
    assert [one["key"] for one in placed] == [one["key"] for one in plain["variants"]]
    # nothing is judged without a brief
    assert {(one["holds"], one["score"], one["binds"], one["failed_at"]) for one in placed} == {(None,) * 4}
    assert [one["of"] for one in placed] == [2, 2]


NOTES = """The study names no viewing: desk viewing is assumed, 24 in, 1920 x 1080, at 0.6 m.
The study has no brief, so nothing is judged.
The game is taken to ship no cast shadow, ground pattern or drop marker.""".splitlines()


def test_notes_say_what_is_assumed_odd_and_null_each_once_whatever_the_workers(tmp_path: Path) -> None:
    path = yard(tmp_path, STUDY.replace("reach_m = 3\n", "").replace("[24, 50]", "[24, 50, 500]"))
    texts = [
        done("measure", path.name, "--renderer", "rays", "--json", "-", "--workers", n, cwd=tmp_path)
        for n in ("1", "3")
    ]
    assert texts[0].out == texts[1].out
    notes = texts[0].record["notes"]
    assert notes[:3] == NOTES
    assert len(set(notes)) == len(notes)
    assert "No gap has a reach: false contacts are looked for within 2 m." in notes
    assert 'A3: "crate" is off the picture.' in notes
    (reach,) = [note for note in notes if "`gaps.*.reachable`" in note]
    assert reach.endswith("null in some rows: the study gives no reach.")


def test_notes_tell_the_assumed_must_only_where_there_is_one(tmp_path: Path) -> None:
    assumed = "No limit is about the subject: a must is assumed, subject.seen at least 0.25."
    for more, is_told in (("", True), ('\n[[limit]]\nreading = "subject.seen"\nmin = 0.5\n', False)):
        path = yard(tmp_path, LEVEL + DEPTH + more)
        notes = done("measure", path.name, *ONLY, cwd=tmp_path).record["notes"]
        assert (assumed in notes) == is_told


def test_a_bare_meshs_guess_is_noted_and_stays_when_its_sheet_is_drawn_again(tmp_path: Path) -> None:
    # a block of 10 x 10 x 3, written Z up: no name tells, its faces and its least extent do
    corners = [(x, y, z) for z in (0, 3) for y in (0, 10) for x in (0, 10)]
    quads = [(1, 3, 4, 2), (5, 6, 8, 7), (1, 2, 6, 5), (3, 7, 8, 4), (1, 5, 7, 3), (2, 4, 8, 6)]
    lines = [f"v {x} {y} {z}" for x, y, z in corners] + ["f " + " ".join(map(str, quad)) for quad in quads]
    (tmp_path / "slab.obj").write_text("\n".join(lines) + "\n", "utf-8")
    done("sheet", "slab.obj", *SMALL, "-o", "slab.png", cwd=tmp_path)
    told = done("inspect", "slab.png", "--json", "again.json", "--redraw", "again.png", cwd=tmp_path)
    assert told.err.count("Wrote") == 1
    assert (tmp_path / "again.png").read_bytes() == (tmp_path / "slab.png").read_bytes()
    text = call("inspect", "again.png", cwd=tmp_path).text
    assert "Note: slab.obj: 10 × 10 × 3: taken as Z up, metres; say up = or scale =" in text
    assert "Note: slab.obj has no study: subject, targets, camera and sweep are first guesses." in text
