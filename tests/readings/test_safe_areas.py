"""Safe areas and reserved areas: the published sizes, and a depot's map panel."""

from __future__ import annotations

import pytest

from published import SMPTE_SAFE_PX
from readings.made import COUCH, DESK, HANDHELD, camera, case, numbers, square, values
from stationpoint.camera.seat import seat_at
from stationpoint.readings.targets.safe_areas import ACTION, TITLE, safe_box

# A plate 1 x 1 m facing the camera at 10 m, F 1866.67, centre at (.25, .85) of the picture.
VIEW = camera(pitch=0, distance=10)
M = 10 / (1920 * 35 / 36)  # metres a pixel there
CENTRE = (-480 * M, -0.35 * 1080 * M)
PLATE = square("plate", (CENTRE[0] - 0.5, CENTRE[0] + 0.5), (CENTRE[1] - 0.5, CENTRE[1] + 0.5), 0)
MAP = {"name": "map", "rect": (0, 0.78, 0.25, 1)}
TARGET = [{"name": "t", "node": "plate"}]


@pytest.mark.parametrize("size", SMPTE_SAFE_PX)
def test_safe_areas_have_the_published_sizes(size: tuple[int, int]) -> None:
    made = case(camera(pixels=size))
    for share, (wide, high) in zip((ACTION, TITLE), SMPTE_SAFE_PX[size], strict=True):
        left, top, right, bottom = safe_box(made, share)
        assert (right - left, bottom - top) == pytest.approx((wide, high))
        assert (left + right, top + bottom) == pytest.approx(size)


@pytest.mark.parametrize("cell", [(544, 306), (960, 540)])
def test_map_panel_covers_a_plate_that_every_safe_area_holds(cell: tuple[int, int]) -> None:
    # By hand: the map ends at the plate's middle; from row 842.4 on it covers 168.9 of 186.67 px.
    share = 0.5 * ((0.85 - 0.78) * 1080 + 186.6667 / 2) / 186.6667
    assert share == pytest.approx(0.4525, abs=1e-4)
    found = values(case(VIEW, PLATE, target=TARGET, reserved=[MAP], cell=cell))
    assert found["targets", "t", "reserved_cover"] == pytest.approx(share, abs=0.003)
    assert found["targets", "t", "action_safe"] == 1.0
    assert found["targets", "t", "title_safe"] == 1.0
    assert found["targets", "t", "seen"] == pytest.approx(1 - share, abs=0.003)
    assert found["targets", "t", "in_frame"] == 1.0


def test_thin_interface_counts_by_its_opacity_and_hides_nothing() -> None:
    found = values(case(VIEW, PLATE, target=TARGET, reserved=[{**MAP, "opacity": 0.4}], cell=(544, 306)))
    assert found["targets", "t", "reserved_cover"] == pytest.approx(0.4 * 0.4525, abs=0.003)
    assert found["targets", "t", "seen"] == 1.0


def test_overlapping_areas_do_not_count_twice() -> None:
    both = [MAP, {"name": "more", "rect": (0, 0.78, 0.25, 1)}]
    found = values(case(VIEW, PLATE, target=TARGET, reserved=both, cell=(544, 306)))
    assert found["targets", "t", "reserved_cover"] == pytest.approx(0.4525, abs=0.003)


def test_square_across_a_safe_line_is_inside_by_its_area() -> None:
    # 36 mm, 10 m: half the width is 5 m; action-safe ends at 4.65, title-safe at 4.5.
    view = camera(pitch=0, distance=10, focal=36)
    found = values(case(view, square("plate", (4, 5), (0, 1), 0), target=TARGET, cell=(544, 306)))
    assert found["targets", "t", "action_safe"] == pytest.approx(0.65, abs=1e-5)
    assert found["targets", "t", "title_safe"] == pytest.approx(0.5, abs=1e-5)
    assert found["targets", "t", "in_frame"] == pytest.approx(1.0)


def test_sizes_on_other_screens_follow_their_pixels_and_seats() -> None:
    # A thing 1.7 m tall at 12 m, hfov 70 on 16:9: 194.2 px on the couch (156.8'), 129.5 on a handheld (154').
    view = camera(pitch=0, distance=12, focal=18 / 0.7002075382)
    post = square("plate", (-0.2, 0.2), (-0.85, 0.85), 0)
    found = values(case(view, post, target=TARGET, at=[COUCH, DESK, HANDHELD], cell=(544, 306)))
    size = {name: found["targets", "t", "size_px", name][1] for name in ("couch", "desk", "handheld")}  # type: ignore[index]
    assert size == {
        "couch": pytest.approx(194.2, abs=0.1),
        "desk": pytest.approx(194.2, abs=0.1),
        "handheld": pytest.approx(129.5, abs=0.1),
    }
    assert found["targets", "t", "size_arcmin", "couch"][1] == pytest.approx(156.8, rel=5e-3)  # type: ignore[index]
    assert found["targets", "t", "size_arcmin", "handheld"][1] == pytest.approx(154, rel=5e-3)  # type: ignore[index]
    assert numbers(case(view, at=[COUCH]), "viewing", "couch")["hfov_deg"] == pytest.approx(70, abs=1e-6)


def test_split_screen_sees_a_part_of_its_screen() -> None:
    # The upper half of the couch's screen, the vertical angle kept: hfov 108.94 at 32:9, 97.1 px, 78.4'.
    half = seat_at("couch", 55, (1920, 1080), 2.7, (0, 0, 1, 0.5))
    assert half.picture_px == (1920, 540)
    wide = 0.7002075382 * 2  # tan(35 deg) at 16:9, doubled at 32:9
    view = camera(pitch=0, distance=12, focal=18 / wide, pixels=(1920, 540))
    post = square("plate", (-0.2, 0.2), (-0.85, 0.85), 0)
    found = values(case(view, post, target=TARGET, at=[half], cell=(544, 153)))
    assert found["viewing", "couch", "hfov_deg"] == pytest.approx(108.94, abs=0.01)
    assert found["viewing", "couch", "picture_pixels"] == (1920, 540)
    assert found["targets", "t", "size_px", "couch"][1] == pytest.approx(97.1, abs=0.1)  # type: ignore[index]
    # By hand 97.1 x .8074 = 78.4'; it stands 270 px above the screen's centre: 0.4 % less.
    assert found["targets", "t", "size_arcmin", "couch"][1] == pytest.approx(78.4, rel=5e-3)  # type: ignore[index]


def test_nothing_visible_has_no_cover() -> None:
    made = case(
        VIEW, PLATE, square("wall", (-5, 5), (-5, 5), 5), target=TARGET, reserved=[MAP], cell=(544, 306)
    )
    assert values(made)["targets", "t", "reserved_cover"] is None
