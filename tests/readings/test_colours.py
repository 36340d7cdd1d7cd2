"""Contrast and prominence of made pictures in every renderer: numbers by hand, or from a published table."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from stationpoint.base.colour import linear_light
from stationpoint.camera.camera import Camera
from stationpoint.camera.seat import Seat, seat_at
from stationpoint.camera.shot import IDS, MEASURED
from stationpoint.readings.colours.contrast import band_px, bands
from stationpoint.readings.colours.saliency import glances, reduced, saliency
from stationpoint.readings.kinds import read, wanted
from stationpoint.readings.types import Case, Path, Value
from stationpoint.render import open_renderer
from stationpoint.scene.materials import Material, OwnColours
from stationpoint.scene.types import Node

from .made import camera, case, square

ENGINES = ["gl", "rays"]
RGB = tuple[int, int, int]
GREY: RGB = (128, 128, 128)
SEAT = seat_at("desk", 24, (640, 360), 0.6)  # 4.8' a pixel


def painted(node: Node, colour: RGB, unlit: bool = True) -> Node:
    """The node in one sRGB colour of its own."""
    red, green, blue = linear_light(colour).tolist()
    own = OwnColours(
        (Material((red, green, blue, 1.0), unlit=unlit),), np.zeros(len(node.faces), dtype=np.int32)
    )
    return replace(node, own=own, shows_own=True)


def plate(name: str, box_px: Sequence[float], colour: RGB, z: float = 0.0, unlit: bool = True) -> Node:
    """A rectangle that fills left, top, right, bottom pixels of a picture of 640 x 360."""
    left, top, right, bottom = box_px
    x, y = ((left - 320) / 40, (right - 320) / 40), ((180 - bottom) / 40, (180 - top) / 40)
    return painted(square(name, x, y, z), colour, unlit)


def disc(name: str, centre_px: tuple[float, float], radius_px: float, colour: RGB, z: float = 0.5) -> Node:
    """A disc of 256 corners."""
    turn = 2.0 * np.pi * np.arange(256) / 256
    x, y = (centre_px[0] - 320) / 40, (180 - centre_px[1]) / 40
    rim = np.column_stack(
        [x + radius_px / 40 * np.cos(turn), y + radius_px / 40 * np.sin(turn), np.full(256, z)]
    )
    faces = np.column_stack([np.zeros(254), np.arange(1, 255), np.arange(2, 256)]).astype(np.int32)
    return painted(Node(name, rim.astype(np.float32), faces, closed=False), colour)


def view() -> Camera:
    """640 x 360 pixels, 40 to the metre, straight on."""
    return camera("orthographic", pitch=0.0, height=9.0, pixels=(640, 360))


def picture(*nodes: Node, **study: Any) -> Case:
    study.setdefault("target", [{"name": "mark", "node": "mark", "role": "primary"}])
    made = case(view(), *nodes, at=[SEAT], **study)
    return replace(made, setup=replace(made.setup, towards_light=(0.0, 3.0**0.5, 1.0)))


def readings(engine: str, made: Case, only: set[str] | None = None) -> dict[Path, Value]:
    return whole(engine, made, only).values


def whole(engine: str, made: Case, only: set[str] | None = None) -> Any:
    only = {"contrast", "prominence"} if only is None else only
    with open_renderer(engine, made.scene) as renderer:
        return read(made, {key: renderer.draw(shot) for key, shot in wanted(made, only).items()}, only)


WALL = plate("wall", (-40, -40, 680, 400), (255, 255, 255), z=-1.0)


@pytest.mark.parametrize("engine", ENGINES)
@pytest.mark.parametrize(
    ("colour", "expected"),
    [((0x77, 0x77, 0x77), 4.47809), ((0, 0, 0), 21.0), ((255, 0, 0), 3.99848), ((0, 0, 255), 8.59247)],
)
def test_the_ratio_of_two_unlit_plates_is_wcags(engine: str, colour: RGB, expected: float) -> None:
    # Published examples of the ratio on white, see tests/base/test_colour.py.
    found = readings(engine, picture(WALL, plate("mark", (200, 100, 300, 200), colour)))
    assert found["targets", "mark", "contrast", "ratio"] == pytest.approx(expected, abs=0.01)


@pytest.mark.parametrize("engine", ENGINES)
def test_a_lit_plate_counts_with_the_lights_factor(engine: str) -> None:
    """Light at 60 degrees: .45 + .55 / 2 = .725 of a linear .5, .3625, on white: 1.05 / .4125 = 2.54545."""
    grey = plate("mark", (200, 100, 300, 200), (188, 188, 188), unlit=False)
    level = linear_light(188) * 0.725
    found = readings(engine, picture(WALL, grey))
    assert found["targets", "mark", "contrast", "ratio"] == pytest.approx(1.05 / (level + 0.05), abs=0.01)


@pytest.mark.parametrize("engine", ENGINES)
def test_equal_luminance_is_told_by_hue_and_not_by_every_eye(engine: str) -> None:
    # #e69f00 on #56b4e9: ratio 1.02451. CIEDE2000 of the pair and of its simulations: colour-science.
    import colour as science

    blue = plate("wall", (-40, -40, 680, 400), (0x56, 0xB4, 0xE9), z=-1.0)
    found = readings(engine, picture(blue, plate("mark", (200, 100, 300, 200), (0xE6, 0x9F, 0))))
    path = ("targets", "mark", "contrast")
    assert found[*path, "ratio"] == pytest.approx(1.02451, abs=0.01)
    pair = linear_light([(0xE6, 0x9F, 0), (0x56, 0xB4, 0xE9)])
    kinds = {"delta_e": None, "protan": "Protanomaly", "deutan": "Deuteranomaly", "tritan": "Tritanomaly"}
    for name, kind in kinds.items():
        seen = pair
        if kind is not None:
            seen = np.clip(pair @ science.blindness.matrix_cvd_Machado2009(kind, 1.0).T, 0, 1)
        labs = science.XYZ_to_Lab(science.RGB_to_XYZ(seen, "sRGB"))
        expected = float(science.delta_E(*labs, method="CIE 2000"))
        assert found[*path, name] == pytest.approx(expected, rel=5e-3), name


@pytest.mark.parametrize("engine", ENGINES)
def test_what_lies_beside_another_target_is_not_counted(engine: str) -> None:
    """Half of the outline runs along a white neighbour; the rest along black."""
    black = plate("wall", (-40, -40, 680, 400), (0, 0, 0), z=-1.0)
    mark = plate("mark", (200, 100, 300, 200), (0x77, 0x77, 0x77))
    beside = plate("beside", (300, 80, 420, 220), (255, 255, 255))
    grey_on_black = (0.184475 + 0.05) / 0.05  # #777777: .184475
    targets = [{"name": "mark", "node": "mark"}, {"name": "beside", "node": "beside"}]
    found = readings(engine, picture(black, mark, beside, target=targets))
    assert found["targets", "mark", "contrast", "ratio"] == pytest.approx(grey_on_black, abs=0.01)
    found = readings(engine, picture(black, mark, beside))
    assert found["targets", "mark", "contrast", "ratio"] < grey_on_black - 0.5  # type: ignore[operator]


@pytest.mark.parametrize("engine", ENGINES)
def test_of_several_pieces_the_worst_large_one_counts(engine: str) -> None:
    """A bar parts the mark: its left piece on black, its right one on white, a sliver on its own grey."""
    black = plate("left", (-40, -40, 320, 400), (0, 0, 0), z=-1.0)
    white = plate("right", (320, -40, 680, 400), (255, 255, 255), z=-1.0)
    pale = plate("pale", (480, -40, 680, 400), (0x80, 0x80, 0x80), z=-0.5)
    bar = plate("bar", (300, 90, 340, 210), (255, 255, 0), z=1.0)
    mark = plate("mark", (200, 100, 440, 200), (0x77, 0x77, 0x77))
    nodes = [black, white, pale, bar, mark]
    study = {"target": [{"name": "mark", "nodes": ["mark", "sliver"]}]}
    found = readings(engine, picture(*nodes, **{"target": [{"name": "mark", "node": "mark"}]}))
    alone = found["targets", "mark", "contrast", "ratio"]
    assert alone < 4.47809 + 0.01  # type: ignore[operator]
    sliver = plate("sliver", (500, 100, 502, 200), (0x7F, 0x7F, 0x7F))  # 2 px: 9.7'
    found = readings(engine, picture(*nodes, sliver, **study))
    assert found["targets", "mark", "contrast", "ratio"] == pytest.approx(alone, abs=1e-3)


def test_bands_are_as_wide_as_they_say_and_end_at_the_pictures_edge() -> None:
    own = np.zeros((40, 40), dtype=bool)
    own[10:30, 10:30] = True
    none = np.zeros_like(own)
    inside, outside = bands(own, own, none, 3.0)
    assert inside.sum() == 20 * 20 - 14 * 14
    assert outside[8, 20]
    assert outside[7, 20]
    assert not outside[6, 20]
    edge = np.zeros((40, 40), dtype=bool)
    edge[:, :20] = True
    inside, outside = bands(edge, edge, none, 3.0)
    assert inside.sum() == outside.sum() == 3 * 40
    assert bands(~none, ~none, none, 3.0)[0].sum() == 0
    assert band_px(1.58) == 3.0
    assert band_px(0.5) == 4.0


DISCS = [  # centre, radius, colour; mean saliency over it: worked from Achanta et al. 2009, within 1 %
    [((160, 180), 20, (64, 64, 64), 25.308), ((480, 180), 60, (220, 40, 40), 76.096)],
    [((160, 180), 20, (240, 220, 60), 80.125), ((480, 180), 60, (120, 120, 128), 5.602)],
]


def inside_disc(centre: tuple[int, int], radius: int) -> np.ndarray:
    y, x = np.mgrid[0:360, 0:640] + 0.5
    found: np.ndarray = (x - centre[0]) ** 2 + (y - centre[1]) ** 2 <= radius**2
    return found


@pytest.mark.parametrize("discs", DISCS)
def test_saliency_of_discs_is_as_worked(discs: list) -> None:
    coded = np.full((360, 640, 3), 128.0)
    for centre, radius, colour, _ in discs:
        coded[inside_disc(centre, radius)] = colour
    found = saliency(linear_light(coded))
    for centre, radius, _, expected in discs:
        assert found[inside_disc(centre, radius)].mean() == pytest.approx(expected, rel=0.01)


def test_saliency_is_that_of_opencvs_blur_and_lab() -> None:
    import cv2

    coded = np.random.default_rng(7).integers(0, 256, (48, 64, 3)).astype(np.float32) / 255.0
    coded = cv2.GaussianBlur(coded, (0, 0), 4.0)
    kernel = np.array([1, 4, 6, 4, 1]) / 16.0
    blurred = cv2.sepFilter2D(coded, -1, kernel, kernel, borderType=cv2.BORDER_REFLECT_101)
    theirs = cv2.cvtColor(coded, cv2.COLOR_RGB2Lab).mean(axis=(0, 1)) - cv2.cvtColor(
        blurred, cv2.COLOR_RGB2Lab
    )
    ours = saliency(linear_light(coded * 255.0))
    np.testing.assert_allclose(ours, np.linalg.norm(theirs, axis=2), atol=0.5)


@pytest.mark.parametrize("size", [(1080, 1920), (720, 1280), (500, 1000), (90, 160)])
def test_a_picture_is_made_smaller_by_area_in_linear_light(size: tuple[int, int]) -> None:
    light = np.random.default_rng(3).random((*size, 3)).astype(np.float32)
    small = reduced(light)
    across = min(640, size[1])
    assert small.shape == (round(size[0] * across / size[1]), across, 3)
    assert small.mean() == pytest.approx(float(light.mean(dtype=np.float64)), rel=1e-9)
    import cv2

    theirs = cv2.resize(light, (across, small.shape[0]), interpolation=cv2.INTER_AREA)
    np.testing.assert_allclose(small, theirs, atol=2e-3)


@pytest.mark.parametrize("engine", ENGINES)
@pytest.mark.parametrize("discs", DISCS)
def test_prominence_of_drawn_discs_is_saliency_times_the_root_of_their_share(
    engine: str, discs: list
) -> None:
    """Up to a share of .02: pi 20^2 / 230400 = .005454, the large one .0491."""
    (small, large) = discs
    nodes = [plate("wall", (-40, -40, 680, 400), GREY, z=-1.0)]
    nodes += [disc(name, *one[:3]) for name, one in (("mark", small), ("poster", large))]
    found = readings(engine, picture(*nodes))
    quiet = small[3] * np.sqrt(np.pi * 20**2 / 230400)
    loud = large[3] * np.sqrt(0.02)
    assert found["targets", "mark", "prominence"] == pytest.approx(quiet, rel=0.02)
    assert found["targets", "mark", "prominence_rank"] == (1 if quiet > loud else 2)
    assert found["framing", "outshouted_by"] == (() if quiet > loud else ("poster",))
    # The wall fills over a quarter, and has no rank; the mark is whole and 40 px wide, 190'.
    assert found["framing", "role_order_holds"] is True


@pytest.mark.parametrize("engine", ENGINES)
def test_roles_out_of_order_are_told_with_who_outshouts_whom(engine: str) -> None:
    nodes = [
        plate("wall", (-40, -40, 680, 400), GREY, z=-1.0),
        disc("mark", (160, 180), 30, (110, 110, 110)),
        disc("second", (480, 180), 30, (250, 30, 30)),
        disc("stool", (320, 60), 25, (30, 30, 250)),
    ]
    roles = [{"name": "mark", "node": "mark", "role": "primary"}]
    roles += [{"name": "second", "node": "second", "role": "secondary"}]
    found = whole(engine, picture(*nodes, target=roles))
    assert found.values["framing", "role_order_holds"] is False
    assert found.values["framing", "outshouted_by"] == ("stool",)
    ranks = [found.values["targets", name, "prominence_rank"] for name in ("mark", "second")]
    assert ranks[0] == 3
    assert ranks[1] in (1, 2)
    assert found.causes["framing", "role_order_holds"] == "second (secondary) out-shouts mark (primary)"
    assert found.causes["framing", "outshouted_by"] == "stool out-shouts mark"


@pytest.mark.parametrize("engine", ENGINES)
def test_a_primary_that_is_mostly_hidden_breaks_the_order(engine: str) -> None:
    nodes = [
        plate("wall", (-40, -40, 680, 400), GREY, z=-1.0),
        disc("mark", (160, 180), 30, (250, 30, 30)),
        plate("screen", (150, 100, 400, 250), GREY, z=1.0),
    ]
    found = whole(engine, picture(*nodes))
    assert found.values["framing", "role_order_holds"] is False
    assert found.causes["framing", "role_order_holds"].startswith("mark is seen ")
    assert found.causes["framing", "role_order_holds"].endswith("needs 80 %")


@pytest.mark.parametrize("engine", ENGINES)
def test_the_first_glance_lands_on_the_discs_the_loudest_first(engine: str) -> None:
    nodes = [
        plate("wall", (-40, -40, 680, 400), GREY, z=-1.0),
        disc("mark", (160, 180), 30, (90, 90, 90)),
        disc("poster", (480, 120), 30, (250, 30, 30)),
    ]
    found = readings(engine, picture(*nodes))["framing", "first_glance"]
    assert isinstance(found, tuple)
    first, second = found[0], found[1]
    assert first["node"] == "poster"
    assert first["role"] is None
    assert second["node"] == "mark"
    assert second["role"] == "primary"
    np.testing.assert_allclose(first["xy"], (480 / 640, 120 / 360), atol=0.005)  # type: ignore[call-overload, index]
    np.testing.assert_allclose(second["xy"], (160 / 640, 180 / 360), atol=0.005)  # type: ignore[call-overload, index]


def test_two_glances_are_a_degree_apart_and_a_blank_picture_has_none() -> None:
    seat = Seat("made", (200.0, 100.0), 0.001, 0.6, (100.0, 50.0))  # 5.73' a pixel: a degree is 10.5 px
    found = np.zeros((100, 200))
    assert glances(found, seat) == []
    found[50, 100], found[50, 108], found[20, 30] = 1e4, 9e3, 5e3
    spots = glances(found, seat)
    assert len(spots) == 2
    assert spots[0][0] == pytest.approx(100.5 / 200, abs=0.02)  # the two near ones blur into one
    assert spots[1] == pytest.approx((30.5 / 200, 20.5 / 100))


def test_without_colours_all_is_null_and_nothing_is_drawn() -> None:
    made = picture(square("mark", (-1, 1), (-1, 1), 0.0))
    assert not set(wanted(made, {"contrast", "prominence"}))
    found = read(made, {}, {"contrast", "prominence"}).values
    assert found["targets", "mark", "contrast", "ratio"] is None
    assert found["framing", "first_glance"] is None
    assert found["framing", "outshouted_by"] is None


def test_the_measured_frame_is_drawn_only_where_it_is_asked_for() -> None:
    nodes = [
        replace(WALL, shows_own=False),
        replace(plate("mark", (200, 100, 300, 200), GREY), shows_own=False),
    ]
    limit = {"reading": "targets.*.contrast.ratio", "min": 3}
    assert ("colours",) not in wanted(picture(*nodes))
    assert ("colours",) not in wanted(picture(*nodes), {"targets"})
    assert ("colours",) in wanted(picture(*nodes), {"contrast"})
    assert ("colours",) in wanted(picture(*nodes, limit=[limit]), {"targets"})
    asking = picture(*nodes)
    assert ("colours",) in wanted(replace(asking, scene=replace(asking.scene, in_colour=True)))


@pytest.mark.parametrize("aids", [["cast-shadow"], ["ground-texture"], []])
def test_the_measured_frame_has_the_shadows_that_the_game_ships_and_no_grid(aids: list[str]) -> None:
    made = picture(WALL, plate("mark", (200, 100, 300, 200), GREY), aids=aids)
    shot = wanted(made, {"contrast"})["colours",]
    assert shot.planes == {MEASURED, IDS}
    assert shot.shadow is ("cast-shadow" in aids)
    assert shot.camera.pixels == (640, 360)
