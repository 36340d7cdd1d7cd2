"""First person and the body's height at a place, through the command line; numbers by hand.

The eye is 0.94 of the body's height over the foot: 1.692 m of 1.8 m, 1.034 m of 1.1 m. At 90 degrees across
1920 px a lens has F = 960 px.
"""

from __future__ import annotations

from pathlib import Path
from typing import Any

import numpy as np
import pytest

from cli_calls import call, done, refused, yard

RAYS = ("--renderer", "rays", "--quiet")
SCREENS = """
[[viewing]]
name = "desk"
diagonal_in = 24
pixels = [1920, 1080]
eye_distance_m = 0.6

[[viewing]]
name = "couch"
diagonal_in = 55
pixels = [1920, 1080]
eye_distance_m = 2.7
"""
# A glasshouse: a bench, a pot on it, a duct 1.3 m over the floor, and a square sign whose face is 25 m off.
HOUSE = """
[ground]
size = [80, 80]

[[solid]]
name = "bench"
shape = "box"
size = [1.2, 0.9, 6]
at = [-2, 0, -6]

[[solid]]
name = "pot"
shape = "cylinder"
size = [0.5, 0.6, 0.5]
at = [-2, 0.9, -7]

[[solid]]
name = "duct"
shape = "box"
size = [4, 0.3, 3]
at = [5, 1.3, -2]

[[solid]]
name = "sign"
shape = "box"
size = [0.3, 0.3, 0.1]
at = [0, 1.542, -25.05]

[[solid]]
name = "gardener"
shape = "box"
size = [0.5, 2, 0.5]
at = [0, 0, 6]
"""
EYES = "[camera]\nfirst_person = true\nhfov_deg = 90\npitch_deg = 0\n"
ME = '[subject]\nname = "me"\nat = [0, 0, 0]\nheight_m = 1.8\n'
SIGN = '[[target]]\nname = "sign"\nnode = "sign"\n'
DUCT = '[[place]]\nname = "under the duct"\nat = [5, 0, -2]\n'
HEAD = 'scene = "yard.toml"\n'


def measured(folder: Path, study: str, *words: str) -> dict[str, Any]:
    yard(folder, HEAD + study, HOUSE)
    return done("measure", "yard.study.toml", *RAYS, *words, "--json", "-", cwd=folder).record


def said(folder: Path, study: str) -> list[str]:
    """What `check` warns of."""
    yard(folder, HEAD + study, HOUSE)
    text = done("check", "yard.study.toml", cwd=folder)
    return [line for line in (text.out.decode() + text.err).splitlines() if "free above" in line]


def test_square_across_a_glasshouse_has_the_arc_minutes_of_a_hand_calculation(tmp_path: Path) -> None:
    """0.3 m at 25 m: 0.3 x 960 / 25 = 11.52 px; 1.5855' a pixel at the desk, 0.8074' on the couch."""
    (row,) = measured(tmp_path, ME + SIGN + EYES + SCREENS)["rows"]
    sign = row["targets"]["sign"]
    assert sign["size_px"]["desk"] == pytest.approx([11.52, 11.52], abs=0.01)
    assert sign["piece_arcmin"]["desk"] == pytest.approx(18.3, abs=0.05)
    assert sign["piece_arcmin"]["couch"] == pytest.approx(9.3, abs=0.05)
    assert sign["seen"] == 1


def test_eye_is_at_the_eyes_and_what_is_as_high_lies_on_the_middle_row(tmp_path: Path) -> None:
    """The sign's middle is 1.542 + 0.15 = 1.692 m up."""
    record = measured(tmp_path, ME + SIGN + EYES)
    (row,) = record["rows"]
    view = np.array(row["matrices"]["view"])
    assert -view[:3, :3].T @ view[:3, 3] == pytest.approx([0, 1.692, 0], abs=1e-6)
    assert record["variants"][0]["settings"]["distance_m"] == 0
    assert row["targets"]["sign"]["screen_xy"] == pytest.approx([0.5, 0.5], abs=1e-6)
    assert row["framing"]["horizon_y"] == pytest.approx(0.5, abs=1e-6)


def test_pitch_and_yaw_turn_the_view_about_the_eye(tmp_path: Path) -> None:
    """Looking 20 degrees down, what is level lies tan 20 x 960 px over the middle: 349.41 of 1080 px."""
    study = ME + SIGN + EYES.replace("pitch_deg = 0", "pitch_deg = 20\nyaw_deg = 0")
    (row,) = measured(tmp_path, study)["rows"]
    assert row["framing"]["horizon_y"] == pytest.approx(0.5 - 349.411 / 1080, abs=1e-6)
    (row,) = measured(tmp_path, study.replace("yaw_deg = 0", "yaw_deg = 30"))["rows"]
    view = np.array(row["matrices"]["view"])
    assert -view[:3, :3].T @ view[:3, 3] == pytest.approx([0, 1.692, 0], abs=1e-6)
    assert row["targets"]["sign"]["screen_xy"][0] > 0.5  # the heading has turned left


def test_own_eye_height_counts_even_if_it_is_nought(tmp_path: Path) -> None:
    for written, y in (("1.5", 1.5), ("0", 0.0)):
        record = measured(tmp_path, ME + SIGN + EYES + f"anchor_height_m = {written}\n")
        assert record["variants"][0]["settings"]["anchor_m"] == [0, y, 0]


def test_subject_is_in_no_picture_and_has_no_readings(tmp_path: Path) -> None:
    """Nothing at the anchor has a place or a direction in the picture that is taken from there."""
    limit = '[[limit]]\nreading = "targets.sign.seen"\nmin = 0.5\n'
    record = measured(tmp_path, ME + SIGN + EYES + limit)
    (row,) = record["rows"]
    assert row["subject"] is None
    assert row["framing"]["subject_xy"] is None
    assert row["framing"]["headroom"] is None
    assert set(row["framing"]["stick_error_deg"].values()) == {None}
    assert {value for axis in row["axes"].values() for value in axis.values()} == {None}
    assert {value for pair in row["pairs"].values() for value in pair.values()} == {None}
    cues = row["cues"]["target:sign"]
    assert {cue["grade"] for cue in cues.values() if isinstance(cue, dict)} == {"absent"}
    done("judge", "yard.study.toml", *RAYS, cwd=tmp_path)  # no must is assumed of what cannot be seen


def test_body_that_is_a_node_is_taken_out_of_the_picture(tmp_path: Path) -> None:
    """2 m high: the eye is 1.88 m up. From the middle of that box all would be dark."""
    study = '[subject]\nname = "me"\nnode = "gardener"\n' + SIGN + EYES
    record = measured(tmp_path, study)
    (row,) = record["rows"]
    assert record["variants"][0]["settings"]["anchor_m"] == [0, 1.88, 6]
    assert (row["subject"], row["framing"]["camera_inside"]) == (None, None)
    assert row["targets"]["sign"]["seen"] == 1
    place = '[[place]]\nname = "low"\nat = [1, 0, 2]\nheight_m = 1.1\n'
    low = measured(tmp_path, study + place, "--place", "low")
    assert low["variants"][0]["settings"]["anchor_m"] == pytest.approx([1, 1.034, 2])


def test_nothing_odd_is_said_of_a_plain_view(tmp_path: Path) -> None:
    yard(tmp_path, HEAD + ME + SIGN + EYES, HOUSE)
    result = call("measure", "yard.study.toml", *RAYS, "--json", "out.json", cwd=tmp_path)
    assert (result.code, result.err) == (0, "")


def test_who_crouches_sees_from_lower_and_fits_under_a_duct(tmp_path: Path) -> None:
    record = measured(tmp_path, ME + SIGN + EYES + DUCT + "height_m = 1.1\n", "--place", "under the duct")
    assert record["variants"][0]["settings"]["anchor_m"] == pytest.approx([5, 1.034, -2])
    assert said(tmp_path, ME + DUCT + "height_m = 1.1\n") == []
    (line,) = said(tmp_path, ME + DUCT)
    assert '"me" at "under the duct" is 1.8 m high, and 1.3 m is free above its foot, under "duct"' in line


def test_floor_of_a_place_is_one_with_room_for_the_body_there(tmp_path: Path) -> None:
    low = DUCT.replace("[5, 0, -2]", '[5, "floor", -2]')
    record = measured(tmp_path, ME + EYES + low + "height_m = 1.1\n", "--place", "under the duct")
    assert record["variants"][0]["settings"]["anchor_m"][1] == pytest.approx(1.034)
    record = measured(tmp_path, ME + EYES + low, "--place", "under the duct")
    assert record["variants"][0]["settings"]["anchor_m"][1] == pytest.approx(1.6 + 1.692)  # on the duct


def test_stand_in_is_as_high_as_its_place_says(tmp_path: Path) -> None:
    """A level parallel view 9 m high, 1080 px: 1.8 m are 216 px, 1.1 m are 132 px; it stays 0.5 m wide."""
    camera = '[camera]\nprojection = "orthographic"\nview_height_m = 9\npitch_deg = 0\n'
    place = '[[place]]\nname = "low"\nheight_m = 1.1\nheading_deg = 90\n'
    here, low = measured(tmp_path, ME + 'shape = "capsule"\n' + camera + place)["rows"]
    assert here["subject"]["size_px"]["desk"] == pytest.approx([60, 216], abs=0.01)
    assert low["subject"]["size_px"]["desk"] == pytest.approx([60, 132], abs=0.01)


def test_hold_of_the_drawn_height_is_that_of_the_body_at_its_place(tmp_path: Path) -> None:
    """Level from 8 m at 35 mm, feet on the axis: 1.1 m draw 1.1 x 35 / 36 / 8 picture widths: 256.667 px."""
    camera = "[camera]\npitch_deg = 0\n[sweep]\ncolumns = { focal_mm = [35, 70] }\nhold = 'subject-height'\n"
    rows = measured(tmp_path, ME + camera + DUCT + "height_m = 1.1\n", "--place", "under the duct")["rows"]
    y = [row["matrices"]["view"][2][3] for row in rows]
    assert [row["framing"]["subject_xy"] for row in rows] == [[0.5, 0.5]] * 2
    assert y[1] - y[0] == pytest.approx(-8, abs=1e-4)  # twice the lens, twice as far


@pytest.mark.parametrize(
    ("study", "says"),
    [
        (ME + EYES + "distance_m = 3\n", "so distance_m means nothing; take it out"),
        (
            ME + EYES + 'offset = [0.1, 0]\noffset_by = "slide"\n',
            "so offset and offset_by mean nothing; take them out",
        ),
        (ME + EYES + 'from = "level.glb#Eye"\n', "so from means nothing; take it out"),
        (ME + EYES + 'projection = "orthographic"\n', 'needs projection = "perspective"'),
        (
            ME + EYES + "[sweep]\ncolumns = { distance_m = [3, 4] }\nhold = 'subject-scale'\n",
            "so distance_m and hold in [sweep] mean nothing; take them out",
        ),
        (
            ME + EYES + "[sweep]\ncolumns = { projection = ['perspective', 'oblique'] }\n",
            "[sweep] has parallel projections; take them out",
        ),
        (ME + "[sweep]\ncolumns = { first_person = [true, false] }\n", "first_person cannot be swept"),
        (
            ME + EYES + '[[limit]]\nreading = "subject.seen"\nmin = 0.5\n',
            "the camera is at the subject's eyes, so there is no such reading; take this out",
        ),
        (
            '[subject]\nnode = "gardener"\n' + DUCT + "height_m = 1.1\n",
            'place "under the duct": height_m is that of a stand-in',
        ),
        (
            '[subject]\nnode = "gardener"\n' + EYES + '[[target]]\nname = "hand"\nnode = "gardener"\n',
            '"gardener" is the subject, at whose eyes the camera is',
        ),
    ],
)
def test_what_means_nothing_there_is_refused_in_a_sentence(tmp_path: Path, study: str, says: str) -> None:
    yard(tmp_path, HEAD + study, HOUSE)
    assert says in refused("measure", "yard.study.toml", *RAYS, "--json", "-", cwd=tmp_path)


def test_first_person_is_set_on_the_command_line(tmp_path: Path) -> None:
    record = measured(tmp_path, ME + SIGN, "--set", "camera.first_person=true")
    assert record["variants"][0]["settings"]["anchor_m"] == [0, 1.692, 0]
    yard(tmp_path, HEAD + ME + "[camera]\ndistance_m = 3\n", HOUSE)
    words = ("measure", "yard.study.toml", *RAYS, "--set", "camera.first_person=true", "--json", "-")
    assert "distance_m means nothing" in refused(*words, cwd=tmp_path)
