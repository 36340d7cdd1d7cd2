"""Variants of a sweep: how many, in which order, what they are called, what is in them."""

from __future__ import annotations

import time
from collections import Counter

import pytest

from stationpoint.base.errors import StudyWrong
from stationpoint.study.models import CameraFields, Light, Study, Sweep
from stationpoint.study.sweep import Variant, axis_headings, expand, row_letters
from study.samples import QUAY, quay


def by_settings(variants: tuple[Variant, ...]) -> dict[object, str]:
    """What is swept -> key."""
    return {tuple(sorted(variant.changes)): variant.key for variant in variants}


def test_study_without_a_sweep_is_one_variant() -> None:
    (variant,) = expand(quay(rows="", columns=""))
    assert (variant.label, variant.changes, variant.page, variant.row, variant.column) == ("A1", (), 0, 0, 0)
    assert variant.camera == quay().camera


def test_rows_are_letters_and_columns_numbers() -> None:
    variants = expand(quay())
    assert [variant.label for variant in variants] == ["A1", "A2", "A3", "A4", "B1", "B2", "B3", "B4"]
    b3 = variants[6]
    assert b3.changes == (("projection", "orthographic"), ("focal_mm", 50.0))
    assert (b3.camera.projection, b3.camera.focal_mm, b3.camera.distance_m) == ("orthographic", 50.0, 8.0)
    assert (b3.row, b3.column, b3.hold) == (1, 2, "subject-scale")


def test_pages_come_first_in_order_and_label() -> None:
    variants = expand(quay(pages="pitch_deg=10,30"))
    assert len(variants) == 16
    assert [variants[0].label, variants[8].label, variants[15].label] == ["1-A1", "2-A1", "2-B4"]
    assert variants[15].changes[-1] == ("pitch_deg", 30.0)
    assert expand(quay(pages="pitch_deg=10"))[0].label == "A1"


def test_row_letters_go_on_after_z() -> None:
    assert [row_letters(row) for row in (0, 25, 26, 27, 51, 52, 701, 702)] == [
        "A", "Z", "AA", "AB", "AZ", "BA", "ZZ", "AAA",
    ]  # fmt: skip


def test_fields_on_one_axis_move_together() -> None:
    variants = expand(quay(rows="", columns="pitch_deg=10,20+yaw_deg=0,45"))
    assert [variant.changes for variant in variants] == [
        (("pitch_deg", 10.0), ("yaw_deg", 0.0)),
        (("pitch_deg", 20.0), ("yaw_deg", 45.0)),
    ]


def test_keys_stay_when_the_sweep_grows_or_turns() -> None:
    small = by_settings(expand(quay(columns="focal_mm=35,50")))
    grown = by_settings(expand(quay(columns="focal_mm=24,35,50,85,100")))
    turned = by_settings(expand(quay(columns="projection=perspective,orthographic", rows="focal_mm=35,50")))
    assert len(small) == 4
    assert len(set(small.values())) == 4
    assert small.items() <= grown.items()
    assert turned == small
    # A page whose first value is what the camera was before: the old variants are still there.
    paged = {variant.key for variant in expand(quay(columns="focal_mm=35,50", pages="pitch_deg=20,40"))}
    assert set(small.values()) <= paged


def test_keys_differ_by_all_that_makes_the_picture() -> None:
    base = quay(rows="", columns="")
    light = Light(yaw_deg=30)
    others = [
        base,
        quay("camera.pitch_deg=21", rows="", columns=""),
        quay("camera.near_m=0.1", rows="", columns=""),  # as by default, but fixed
        quay(rows="", columns="place=high tide"),
        quay(rows="", columns="viewing=couch"),
        quay(rows="", columns="light_yaw_deg=30"),
        base.model_copy(update={"light": light.model_copy(update={"pitch_deg": 20.0})}),
        base.model_copy(update={"sweep": Sweep(hold="subject-height")}),
    ]
    keys = [expand(study)[0].key for study in others]
    assert len(set(keys)) == len(keys) == 8
    assert all(len(key) == 6 and int(key, 16) >= 0 for key in keys)
    assert expand(quay("title=Another?", rows="", columns=""))[0].key == keys[0]


def test_alike_short_keys_grow_until_they_differ() -> None:
    variants = expand(quay(rows="yaw_deg=0:149:1", columns="pitch_deg=0:19.8:0.2"))
    assert len(variants) == 15_000
    keys = [variant.key for variant in variants]
    # 15 000 of 16 777 216: about 15 000 ** 2 / (2 * 16 ** 6) = 6.7 pairs are alike in six digits.
    assert len(set(keys)) == 15_000
    assert any(len(key) > 6 for key in keys)
    alike = Counter(key[:6] for key in keys)
    assert all((len(key) > 6) == (alike[key[:6]] > 1) for key in keys)


def test_swept_lens_replaces_the_lens_of_the_study() -> None:
    study = quay("camera.hfov_deg=60", columns="")
    (variant, _) = expand(study.model_copy(update={"sweep": Sweep(columns={"focal_mm": (24, 35)})}))
    assert (variant.camera.focal_mm, variant.camera.hfov_deg) == (24.0, None)
    text = QUAY.replace("focal_mm = 35", "focal_mm = 35\nview_height_m = 5")
    heights = expand(quay(text=text, rows="view_height_m=4,6", columns="", hold="nothing"))
    assert [variant.camera.view_height_m for variant in heights] == [4.0, 6.0]
    assert [variant.camera.focal_mm for variant in heights] == [35.0, 35.0]


def test_hold_starts_from_the_camera_before_lens_projection_and_distance_changed() -> None:
    variants = expand(quay(pages="pitch_deg=10,30"))
    last = variants[-1]
    assert (last.camera.projection, last.camera.focal_mm, last.camera.pitch_deg) == (
        "orthographic",
        85.0,
        30.0,
    )
    assert (last.base.projection, last.base.focal_mm, last.base.pitch_deg) == ("perspective", 35.0, 30.0)


def test_place_viewing_and_light_are_swept_beside_the_camera() -> None:
    variants = expand(
        quay(
            rows="place=here,high tide",
            columns="light_yaw_deg=0,90+light_pitch_deg=30,60",
            pages="viewing=couch",
        )
    )
    assert [(variant.place, variant.viewing) for variant in variants[1:3]] == [
        ("here", "couch"),
        ("high tide", "couch"),
    ]
    assert variants[3].light == Light(yaw_deg=90, pitch_deg=60)
    assert variants[3].camera == quay().camera
    pitched = expand(quay("light.yaw_deg=12", rows="light_pitch_deg=30", columns=""))
    assert pitched[0].light == Light(yaw_deg=12, pitch_deg=30)


def test_fields_that_do_not_matter_to_a_projection_are_no_mistake() -> None:
    assert len(expand(quay("camera.projection=orthographic", rows=""))) == 4


def test_variants_whose_fields_do_not_stand_together_are_named() -> None:
    with pytest.raises(StudyWrong) as caught:
        expand(quay(rows="offset=[0,0],[0.1,0]", columns="near_m=0.1,3+far_m=1,2"))
    assert caught.value.message.splitlines() == [
        "sweep: variant A2 (offset [0, 0], near_m 3, far_m 2): far_m is 2, must be above near_m, which is 3.",
        "sweep: variant B1 (offset [0.1, 0], near_m 0.1, far_m 1): offset is other than zero and needs "
        'offset_by = "slide", "turn" or "shift".',
    ]


def test_value_out_of_range_that_got_past_the_file_is_named_with_its_variant() -> None:
    sweep = Sweep.model_construct(rows={"pitch_deg": (10.0, 95.0)}, columns={}, pages={}, hold="nothing")
    study = Study(scene="q", camera=CameraFields()).model_copy(update={"sweep": sweep})
    with pytest.raises(
        StudyWrong, match=r"^sweep: variant B1 \(pitch_deg 95\): pitch_deg is 95, must be at most 90\.$"
    ):
        expand(study)


def test_million_variants_are_refused_at_once_with_their_number() -> None:
    study = quay(rows="yaw_deg=0:999:1", columns="pitch_deg=-50:49.9:0.1")
    before = time.process_time()
    with pytest.raises(StudyWrong) as caught:
        expand(study)
    assert time.process_time() - before < 0.5
    assert caught.value.message == (
        "sweep: 1000 rows × 1000 columns × 1 page make 1000000 variants, "
        "at most 20000 a call; take values off an axis."
    )


def test_heads_are_the_pairs_of_each_step() -> None:
    heads = axis_headings(quay(pages="pitch_deg=10,30+yaw_deg=0,45"))
    assert heads.rows == ((("projection", "perspective"),), (("projection", "orthographic"),))
    assert [step[0][1] for step in heads.columns] == [24.0, 35.0, 50.0, 85.0]
    assert heads.pages[1] == (("pitch_deg", 30.0), ("yaw_deg", 45.0))
    assert heads.count == 16
    assert axis_headings(quay(rows="", columns="")).rows == ((),)


def test_lists_in_a_study_are_swept_as_points() -> None:
    text = QUAY.replace("rows = {", 'rows = { offset = [[0, 0], [0, 0.1]], offset_by = ["slide", "turn"], ')
    assert expand(quay(text=text))[4].changes[0] == ("offset", (0.0, 0.1))
