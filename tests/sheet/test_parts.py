"""Captions, heads, wording, room, modes, plan: the parts of a sheet alone."""

from __future__ import annotations

import numpy as np
import pytest

from sheet.made import crosses, nodes, owners, plan, results, study
from stationpoint.base.look import ROLE_TINT
from stationpoint.ink.shapes import Line, Text
from stationpoint.ink.type import text_width
from stationpoint.sheet.caption import CaptionPart, fitted
from stationpoint.sheet.flag import Flag, flag_row
from stationpoint.sheet.header import _answer_lines, table_lines, title_lines
from stationpoint.sheet.headings import balanced
from stationpoint.sheet.marks.free_space import FreeSpace
from stationpoint.sheet.modes.depth import rounded
from stationpoint.sheet.modes.silhouette import silhouette
from stationpoint.sheet.modes.values import grey
from stationpoint.sheet.plan.data import axes_of, width_at_anchor_m
from stationpoint.sheet.plan.frame import Words, frame_plan
from stationpoint.sheet.plan.world import world_arrows
from stationpoint.sheet.scale import scale_for
from stationpoint.sheet.settings import common_settings
from stationpoint.sheet.wording import arcmin_words, column_number, row_letter, setting_words, span_pair

SCALE = scale_for(544)


@pytest.mark.parametrize(
    ("field", "value", "said"),
    [
        ("focal_mm", 35.0, "35 mm"),
        ("pitch_deg", -5.0, "pitch 5° up"),
        ("projection", "oblique", "oblique"),
        ("offset", (-0.16, -0.1), "16 % left, 10 % low"),
        ("offset_by", "shift", "by lens shift"),
        ("gate_mm", (24.89, 18.66), "gate 24.89 × 18.66 mm"),
        ("from", "level.glb#Crane view", "Crane view"),
        ("light_yaw_deg", 40.0, "light yaw 40°"),
        ("distance_m", 8.0, "8 m away"),
        ("vfov_deg", 32.27, "32.27° high"),
    ],
)
def test_swept_values_are_said_in_plain_words(field: str, value: object, said: str) -> None:
    assert setting_words(field, value) == said


def test_labels_come_apart_into_row_and_column() -> None:
    assert [(row_letter(one), column_number(one)) for one in ("B3", "2-AB13")] == [("B", "3"), ("AB", "13")]


def test_lengths_and_angles_are_rounded_to_what_they_mean() -> None:
    assert span_pair(4.1, 0.9465) == ("4.1 m", "0.9 m")
    assert span_pair(0.8, 0.386) == ("0.80 m", "0.39 m")
    assert (arcmin_words(178.2), arcmin_words(7.46)) == ("178 arcmin", "7.5 arcmin")


def test_caption_leaves_out_the_least_telling_first() -> None:
    parts = [
        CaptionPart("A1", "bold"),
        CaptionPart("24 mm, perspective", rank=3),
        CaptionPart("hop 4.1 m", rank=1),
    ]
    whole = sum(text_width(p.words, 17, p.weight) for p in parts) + 30
    assert fitted(parts, 17, whole, 15) == parts
    assert [p.words for p in fitted(parts, 17, whole - 1, 15)] == ["A1", "hop 4.1 m"]


def test_gap_takes_shorter_words_before_it_is_left_out() -> None:
    gap = CaptionPart(
        "drop to the scaffold 2.3 m looks 1.5 m, if level 4.3 m: ",
        rank=1,
        tail=(("needs a cue", "bold"),),
        shorter=("drop to the scaffold 2.3 m: ", "drop to the scaffold: "),
    )
    label, tail_px = (
        CaptionPart("A2", "bold"),
        text_width("needs a cue", 17, "bold") + text_width("A2", 17, "bold") + 15,
    )
    for words in (gap.words, *gap.shorter):
        kept = fitted([label, gap], 17, text_width(words, 17) + tail_px + 1, 15)
        assert [part.words for part in kept] == ["A2", words]
        assert kept[1].tail == gap.tail
    assert fitted([label, gap], 17, tail_px, 15) == [label]


def test_what_always_stays_takes_shorter_words_before_anything_is_cut() -> None:
    view = CaptionPart("54.4 × 32.3, diagonal 61.1°", shorter=("54.4 × 32.3°",))
    alike = CaptionPart("1 m up looks like 1.73 m away", "semibold")
    room = text_width("54.4 × 32.3°", 17) + text_width(alike.words, 17, "semibold") + 16
    assert [part.words for part in fitted([view, alike], 17, room, 15)] == ["54.4 × 32.3°", alike.words]


def test_title_shrinks_to_46_then_takes_two_lines() -> None:
    title = "Which lens lets a couch player judge the hop?"
    assert title_lines(title, 4000, 62, SCALE) == (62, (title,))
    at_50 = text_width(title, 50, "bold")
    assert title_lines(title, at_50, 62, SCALE) == (50, (title,))
    size, lines = title_lines(title, at_50 * 0.8, 62, SCALE)
    assert size == 46
    assert len(lines) == 2


def test_wrapped_lines_are_about_equally_long() -> None:
    words = "nearest limit: lifted stone: edge stretch 1.12, at most 1.2"
    within = text_width(words, 16, "semibold") - 4  # only the last word has no room
    first, second = balanced(words, 16, "semibold", within, 2)
    assert f"{first} {second}" == words
    assert text_width(second, 16, "semibold") > 0.6 * text_width(first, 16, "semibold")
    assert balanced("short", 16, "semibold", within, 2) == ("short",)


def test_table_keeps_a_number_and_its_unit_together() -> None:
    words = "subject 12 % left, 10 % low by lens shift"
    for width in range(90, 420, 7):
        lines = table_lines(words, 20, width)
        assert " ".join(lines) == words
        assert not any(line.endswith(("12", "10")) for line in lines)
    turned = "24 mm, pitch 17° down, yaw 38° right"
    assert not any(
        line.endswith(("pitch", "yaw")) for w in range(110, 300, 7) for line in table_lines(turned, 20, w)
    )
    seat = table_lines("at 0.6 m; 1.59 arcmin a pixel", 20, text_width("at 0.6 m; 1.59 arcmin a", 20) + 1)
    assert seat == ["at 0.6 m;", "1.59 arcmin a pixel"]


def test_answer_sets_its_second_sentence_smaller_and_then_breaks_between_the_two() -> None:
    said = ("A1 holds; most fail by crate (seen).", "Depth: near ones light.")
    whole = text_width(" ".join(said), 30, "semibold")
    assert _answer_lines(said, 30, whole + 1) == [[(" ".join(said), 30)]]
    (line,) = _answer_lines(said, 30, whole - 20)
    assert [words for words, _ in line] == list(said)
    assert line[0][1] == 30
    assert 18 <= line[1][1] < 30  # never under .6 of 30 px
    least = text_width(said[0], 30, "semibold") + 15 + text_width(said[1], 18, "semibold")
    assert _answer_lines(said, 30, least - 1) == [[(one, 30)] for one in said]


def test_room_is_taken_by_labels_lines_and_what_is_kept_clear() -> None:
    room = FreeSpace((200, 120))
    assert room.free((10, 10, 60, 30))
    room.occupy((20, 20, 40, 28))
    assert not room.free((10, 10, 60, 30))
    assert room.free((60, 60, 90, 80))
    room.keep_hull([(100, 40), (140, 40), (140, 90), (100, 90)])
    assert crosses(room, (80, 60), (180, 60))
    assert not crosses(room, (80, 110), (180, 110))
    room.keep_disc((30, 100), 8)
    assert not room.free((26, 96, 34, 104))


def test_calm_ground_is_free_and_near() -> None:
    room = FreeSpace((400, 200))
    room.occupy((0, 0, 200, 200))
    boxes = room.calm((60, 20), (190, 100), 300, 6)
    assert boxes
    assert all(box[0] >= 200 and room.inside(box, 4) for box in boxes)
    assert boxes[0][0] < 230
    room.occupy((0, 0, 400, 200))
    assert room.calm((60, 20), (190, 100), 300, 6) == []


def test_grey_keeps_luminance() -> None:
    # pure red: Y .2126, coded 1.055 x .2126^(1/2.4) - .055 = .4984 (WCAG's grey of red: 127)
    picture = np.array([[[255, 0, 0], [255, 255, 255], [0, 0, 0]]], dtype=np.uint8)
    assert grey(picture)[0].tolist() == [[127] * 3, [255] * 3, [0] * 3]


def test_silhouette_shows_roles_in_their_tints_and_all_else_flat() -> None:
    those = study()
    found = silhouette(np.array([[0, 1, 2, 3, 5]], dtype=np.uint32), owners(those))[0]
    assert tuple(found[2]) == ROLE_TINT["primary"]
    assert tuple(found[3]) == ROLE_TINT["secondary"]
    assert tuple(found[4]) == ROLE_TINT["subject"]
    assert len({tuple(one) for one in found}) == 5


@pytest.mark.parametrize(("metres", "round_m"), [(4.8, 5.0), (13.0, 12.0), (0.021, 0.02), (95.0, 100.0)])
def test_band_edges_are_rounded(metres: float, round_m: float) -> None:
    assert rounded(metres) == pytest.approx(round_m)


def test_plan_has_the_heading_to_the_right_and_every_cell_one_width() -> None:
    those = study()
    made = results(those)
    data = plan(those, made)
    # 35 mm on 36 mm at 8 m, and all that hold its scale: 8 x 36 / 35 = 8.2286 m
    assert width_at_anchor_m(made[0].setup) == pytest.approx(8.2286, abs=1e-4)
    assert data.bar_m == pytest.approx(8.2286, abs=1e-4)
    # yaw 0 heads along -Z: the landing 4.1 m along, nothing across
    jump = np.array(data.jumps[0].end) - np.array(data.jumps[0].start)
    assert jump == pytest.approx([4.1, 0.0, 0.0], abs=1e-9)
    assert axes_of(made[0].setup)[1] == pytest.approx([1.0, 0.0, 0.0])
    roles = [thing.role for thing in data.objects]
    assert roles == ["", "primary", "secondary", "tertiary", "subject"]
    assert len(nodes(those)) == 5


def test_edges_of_what_a_camera_sees_cross_at_the_bar() -> None:
    those = study()
    data = plan(those, results(those))
    solid = [camera for camera in data.cameras if not camera.parallel]
    assert len(solid) == 2
    for camera in solid:
        for side, across in ((0, -1.0), (1, 1.0)):
            way = camera.ways[side]
            # in the plan, the sightline through the edge's middle, followed to the anchor's plane
            depth = float((np.array(data.foot) - camera.at) @ camera.ways.mean(axis=0)) / float(
                way @ camera.ways.mean(axis=0)
            )
            spot = camera.at + way * depth
            assert data.bar_m is not None
            assert spot[1] - data.foot[1] == pytest.approx(across * data.bar_m / 2, abs=0.02)


def test_plan_and_side_share_one_axis_and_hold_all_cameras() -> None:
    those = study()
    data = plan(those, results(those))
    frame = frame_plan(data, 856, 448)
    assert frame.plan_height + frame.side_height + 11 == pytest.approx(448)
    for camera in data.cameras:
        if not camera.parallel:
            above = frame.plan(camera.at[None, :2])[0]
            beside = frame.side(camera.at[None, [0, 2]])[0]
            assert above[0] == pytest.approx(beside[0])
            assert 0 < above[0] < 856
            assert 0 < above[1] < frame.plan_height
            assert 12 < beside[1] < frame.side_height


def test_world_arrows_show_x_and_minus_z_as_the_heading_turns_them() -> None:
    # By hand, the heading to the right on the page: yaw 0 looks along -z, and x is at its right hand, down;
    # yaw 90 (turned left) looks along -x: x to the left, -z at its right hand, down.
    for yaw, ways in ((0, {"x": (0, 1), "−z": (1, 0)}), (90, {"x": (-1, 0), "−z": (0, 1)})):
        those = study(camera={"focal_mm": 35, "distance_m": 8, "pitch_deg": 20, "yaw_deg": yaw})
        x_way = plan(those, results(those)).x_way
        assert x_way is not None
        shapes = world_arrows(x_way, Words(400.0, 200.0, SCALE), [])
        shafts = [shape for shape in shapes if isinstance(shape, Line)]
        names = [shape.words for shape in shapes if isinstance(shape, Text)]
        assert names == list(ways)
        for shaft, way in zip(shafts, ways.values(), strict=True):
            start, end = np.array(shaft.points_px)
            assert (end - start) / np.hypot(*(end - start)) == pytest.approx(np.array(way), abs=1e-6)
        corner = np.array(shafts[0].points_px[0])
        assert (corner > (340, 140)).all()  # in the lower right corner
    full = Words(400.0, 200.0, SCALE)
    full.occupy((0.0, 0.0, 400.0, 200.0))
    assert world_arrows((1.0, 0.0), full, []) == []


def test_swept_viewings_keep_screen_and_seat_in_the_table() -> None:
    viewings = [
        {"name": "desk", "diagonal_in": 55, "pixels": (1920, 1080), "eye_distance_m": 2.7},
        {"name": "handheld", "diagonal_in": 7, "pixels": (1280, 720), "eye_distance_m": 0.35},
    ]
    those = study(viewing=viewings, sweep={"columns": {"viewing": ["handheld", "desk"]}})
    rows = common_settings(results(those), those, frozenset({"viewing"}))
    assert ("Viewings", "handheld: 7 in, 1280 × 720, at 0.35 m") in rows
    assert ("", "desk: 55 in, 1920 × 1080, at 2.7 m") in rows


def test_subject_without_a_name_of_its_own_is_named_once() -> None:
    for name, said in (("subject", "1.7 m high"), ("deckhand", "deckhand, 1.7 m")):
        those = study(subject={"name": name, "at": (0.0, 0.0, 0.0), "height_m": 1.7}, sweep={})
        rows = common_settings(results(those), those, frozenset())
        assert dict(rows)["Subject"].startswith(said)


@pytest.mark.parametrize(
    "name",
    [
        "the very long barge that lies along the eastern quay wall beside the sheds",
        "三番目の艀は東側の岸壁に沿って停泊している大型の運搬船である",
        "الصندل الثالث الكبير الراسي عند جدار الرصيف الشرقي قرب المخازن",
    ],
)
def test_long_name_beside_a_flag_is_cut_and_its_numbers_are_not(name: str) -> None:
    flag = Flag("fails", f"{name}: seen 61.9 %, needs 80 %", ("targets", name, "seen"))
    texts = [shape for shape in flag_row(flag, 300.0, 36.0, scale_for(300)) if isinstance(shape, Text)]
    lines = [text.words for text in texts[1:]]
    assert len(lines) == 2
    said = " ".join(lines)
    assert "…" in said.partition(":")[0]
    assert said.endswith("seen 61.9 %, needs 80 %")
    assert all(text.baseline_px[0] + text.width_px <= 300.0 for text in texts)


@pytest.mark.parametrize("name", ["barge three", "三番目の艀", "الصندل الثالث"])
def test_last_part_of_a_caption_loses_of_its_name_before_of_its_numbers(name: str) -> None:
    part = CaptionPart(f"{name} seen 90 %, 414 arcmin high", name=name)
    whole, numbers = text_width(part.words, 17), text_width("seen 90 %, 414 arcmin high", 17)
    for within in (whole - 10.0, whole - 25.0, numbers + 45.0):
        (kept,) = fitted([part], 17, within, 16.0)
        assert text_width(kept.words, 17) <= within
        assert kept.words.endswith(" seen 90 %, 414 arcmin high")
        assert "…" in kept.words
    (kept,) = fitted([part], 17, numbers - 10.0, 16.0)
    assert text_width(kept.words, 17) <= numbers - 10.0
