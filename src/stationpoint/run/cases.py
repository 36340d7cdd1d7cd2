"""Every case of a study: a variant at a place in a picture shape, with its camera solved."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from functools import partial
from itertools import product
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from stationpoint.base.errors import StudyWrong
from stationpoint.base.look import CELL_WIDTH_PX
from stationpoint.camera import (
    Seat,
    Setup,
    Shape,
    aim_camera,
    aspect_of,
    resized_camera,
    seat_at,
    with_notes,
)
from stationpoint.readings import Case, asked_fields, pulled
from stationpoint.run.prepare import Prepared
from stationpoint.run.setup_notes import unlikely_settings
from stationpoint.run.spots import shifts_at
from stationpoint.scene import Scene, SceneCamera, moved_scene
from stationpoint.study import (
    ALL_IN_FRAME,
    Place,
    Study,
    Sweep,
    Variant,
    Viewing,
    aspect_ratio,
    at_options,
    body_height_m,
    expand,
)

Moves = tuple[tuple[str, NDArray[np.float64]], ...]
SAME_ASPECT = 0.002  # pictures this near in aspect share one shape (1366 x 768 is a 16:9 screen)
MOST_SIDE_PX = 16384


class Picture(NamedTuple):
    """A picture's shape, its pixels of record (the first seat's), and the seats that see it so."""

    shape: Shape
    pixels: tuple[int, int]
    seats: tuple[Seat, ...]


class Scenes:
    """A study's scene as it stands at each place, arranged once."""

    def __init__(self, prepared: Prepared) -> None:
        self._study, self._scene = as_judged(prepared), prepared.scene
        self._arranged: dict[str, tuple[Moves, Scene]] = {}

    def at(self, place: Place) -> tuple[Moves, Scene]:
        """What a place moves, and the scene with it moved."""
        if place.name not in self._arranged:
            moves = moves_at(place, self._study, self._scene)
            scene = moved_scene(self._scene, dict(moves)) if moves else self._scene
            self._arranged[place.name] = (moves, scene)
        return self._arranged[place.name]


def cases(
    prepared: Prepared,
    cell_width: int,
    scenes: Scenes | None = None,
    widest: float | None = None,
    marked: bool = True,
    by_place: bool = False,
    only: frozenset[str] | None = None,
) -> Iterator[Case]:
    """Every case of a study: variant by variant, place by place, as it is and as players may set it,
    shape by shape. by_place: place by place first, so that a renderer arranges each scene once.

    scenes: of the same study and scene, to be used again. widest: aspect that fills a cell's width, of the
    variants' own if None. marked: whether marks are drawn of them. only: which readings are asked of them, as
    in Wants.
    """
    fields = asked_fields(only)
    study = as_judged(prepared)
    scenes = scenes or Scenes(prepared)
    widest = widest_aspect(prepared) if widest is None else widest
    every = product(prepared.variants, study.places)
    if by_place:
        every = ((variant, place) for place in study.places for variant in prepared.variants)  # type: ignore[assignment]
    shown: dict[str, list[Picture]] = {}
    for variant, place in every:
        if variant.place not in (None, place.name):
            continue
        moves, scene = scenes.at(place)
        if variant.label not in shown:
            shown[variant.label] = pictures_of(variant, prepared, cell_width, widest)
        pictures = shown[variant.label]
        aim = partial(_aimed, prepared=prepared, place=place, study=study, scene=scene)
        held = _solved(aim(variant, pictures[0])) if study.options.ends else {}
        ends = at_options(variant, study, held)
        for one, picture in product((variant, *ends), pictures):
            setup, words = aim(one, picture), picture.shape.words
            case = pulled(Case(study, scene, one, place, setup, picture.seats, words, moves, marked, fields))
            notes = unlikely_settings(case)
            yield replace(case, setup=with_notes(case.setup, notes)) if notes else case


def asked_cases(prepared: Prepared) -> Iterator[Case]:
    """Each variant at its first place in its own picture, its camera where it is asked to be: not pulled in.
    The camera's pixels are the player's."""
    study = as_judged(prepared)
    scenes = Scenes(prepared)
    for variant in prepared.variants:
        place = next(place for place in study.places if variant.place in (None, place.name))
        moves, scene = scenes.at(place)
        picture = pictures_of(variant, prepared, CELL_WIDTH_PX)[0]
        setup = _aimed(variant, picture, prepared, place, study, scene)
        setup = replace(setup, camera=resized_camera(setup.camera, setup.pixels))
        yield Case(study, scene, variant, place, setup, picture.seats, picture.shape.words, moves)


def _aimed(
    variant: Variant, picture: Picture, prepared: Prepared, place: Place, study: Study, scene: Scene
) -> Setup:
    return aim_camera(variant, place, study, scene, picture.shape, picture.pixels, prepared.cameras)


def _solved(setup: Setup) -> dict[str, float | None]:
    """What `hold` may have given a camera, by the study's keys."""
    return {
        "distance_m": setup.distance_m,
        "focal_mm": setup.focal_mm,
        "view_height_m": setup.view_height_m,
    }


def as_judged(prepared: Prepared) -> Study:
    """The study as its cases have it: a subject whose node is not in the scene, since the camera is at its
    eyes, stands where that node did and is as high."""
    study, body = prepared.study, prepared.body
    if study.subject is None or body is None:
        return study
    x, y, z = body.foot.tolist()
    low, high = body.bounds[:, 1].tolist()
    found: dict[str, object] = {"node": None, "name": body.name, "at": (x, y, z)}
    if "height_m" not in study.subject.model_fields_set:
        found["height_m"] = high - low
    return study.model_copy(update={"subject": study.subject.model_copy(update=found)})


def with_height(prepared: Prepared) -> Study:
    """The study as sheets tell it: a subject that is a node and gives no height is as high as that node."""
    study = as_judged(prepared)
    subject = prepared.study.subject
    if subject is None or "height_m" in subject.model_fields_set:
        return prepared.study
    told = subject.model_copy(update={"height_m": body_height_m(study, prepared.scene)})
    return prepared.study.model_copy(update={"subject": told})


def cases_count(prepared: Prepared) -> int:
    """How many cases a study has."""
    study = prepared.study
    count = 0
    for variant in prepared.variants:
        several = 1 + sum(1 for _ in at_options(variant, study, {}))
        places = 1 if variant.place else len(study.places)
        count += several * places * len(pictures_of(variant, prepared, 100))
    return count


def moves_at(place: Place, study: Study, scene: Scene) -> Moves:
    """World matrices (4, 4) of the nodes that a place moves, in scene order."""
    by_name = shifts_at(place, scene)
    subject = study.subject
    if subject is not None and (place.at, place.heading_deg, place.height_m) != (None, None, None):
        name = subject.name if subject.node is None else subject.node
        if name in scene:
            foot = scene.node(name).foot if subject.at is None else np.array(subject.at, dtype=float)
            to = foot + by_name.get(name, np.eye(4))[:3, 3]
            if place.at is not None:
                to = np.array(place.at, dtype=float)
            heading = subject.heading_deg if place.heading_deg is None else place.heading_deg
            turn = np.radians(heading - subject.heading_deg)
            matrix = np.eye(4)
            matrix[0, 0] = matrix[2, 2] = np.cos(turn)
            matrix[0, 2], matrix[2, 0] = np.sin(turn), -np.sin(turn)
            if place.height_m is not None:  # a stand-in is as wide as ever
                matrix[1, 1] = place.height_m / body_height_m(study, scene)
            matrix[:3, 3] = to - matrix[:3, :3] @ foot
            by_name[name] = matrix
    return tuple((node.name, by_name[node.name]) for node in scene.nodes if node.name in by_name)


def _shift(by: tuple[float, float, float]) -> NDArray[np.float64]:
    matrix = np.eye(4)
    matrix[:3, 3] = by
    return matrix


def seat_of(viewing: Viewing, aspect: float | None = None) -> Seat:
    """The seat of a viewing; with an aspect, the picture is the largest of that aspect in its part."""
    left, top, right, bottom = viewing.part
    if aspect is not None:
        width, height = (right - left) * viewing.drawn_px[0], (bottom - top) * viewing.drawn_px[1]
        share = aspect * height / width
        across, down = min(share, 1.0), min(1.0 / share, 1.0)
        middle_x, middle_y = (left + right) / 2, (top + bottom) / 2
        half_x, half_y = (right - left) * across / 2, (bottom - top) * down / 2
        left, top, right, bottom = middle_x - half_x, middle_y - half_y, middle_x + half_x, middle_y + half_y
    part = (left, top, right, bottom)
    return seat_at(viewing.name, viewing.diagonal_in, viewing.drawn_px, viewing.eye_distance_m, part)


def aspect_words(aspect: float) -> str:
    """An aspect as people write it: "16:9" for 1.7778, else the nearest small ratio or a number."""
    for down in range(1, 33):
        across = round(aspect * down)
        if across > 0 and abs(across / down / aspect - 1.0) < SAME_ASPECT / 4:
            return f"{across}:{down}"
    return f"{aspect:.4g}"


def widest_aspect(prepared: Prepared) -> float:
    """The widest aspect of the variants' own pictures: that one fills its cell's width."""
    return max(_own_aspect(variant, prepared) for variant in prepared.variants)


def _own_aspect(variant: Variant, prepared: Prepared) -> float:
    swept = dict(variant.changes).get("aspect")
    if swept is not None:
        return aspect_ratio(swept)
    return aspect_of(variant, prepared.study, prepared.cameras)


def cell_px(cell_width: int, aspect: float, widest: float) -> tuple[int, int]:
    """Width and height of a picture on a sheet whose widest picture fills its cell's width: all have the same
    area, so that none has more to see than another. Worked: 544, 16:9 alone: 544 x 306; 9:16 beside it:
    544 x 9 / 16 = 306 wide, 544 high."""
    share = min(aspect / widest, 1.0) ** 0.5
    return max(1, round(cell_width * share)), max(1, round(cell_width * share / aspect))


def pictures_of(
    variant: Variant, prepared: Prepared, cell_width: int, widest: float | None = None
) -> list[Picture]:
    """The picture shapes of a variant, its own first. widest: aspect that fills the cell's width, the
    variant's own if None; a narrower picture has the area of that.

    The study's own aspect is drawn whatever its viewings are, on the first one between bars where none
    has it; viewings whose picture has that aspect share the first shape; another aspect makes further
    rows. A swept aspect, and that of a study which names no viewing, is the picture's on every screen,
    between bars; a swept viewing is drawn as it is.
    """
    study = prepared.study
    viewings = [v for v in study.viewings if variant.viewing in (None, v.name)]
    swept = dict(variant.changes).get("aspect")
    own = _own_aspect(variant, prepared)
    letterboxed = not study.viewing or swept is not None
    groups: list[tuple[float, list[Seat]]] = [(own, [])]
    for viewing in viewings:
        at = seat_of(viewing, own if letterboxed else None)
        for aspect, seats in groups:
            if abs(at.aspect / aspect - 1.0) < SAME_ASPECT:
                seats.append(at)
                break
        else:
            groups.append((at.aspect, [at]))
    if not groups[0][1] and variant.viewing is None:
        groups[0][1].append(seat_of(viewings[0], own))
    pictures = []
    for aspect, seats in groups:
        if not seats:
            continue
        written = variant.camera.aspect
        words = written if written and ":" in written and aspect == own else aspect_words(aspect)
        cell = cell_px(cell_width, aspect, widest if widest is not None and aspect <= widest else aspect)
        if max(cell) > MOST_SIDE_PX:
            raise StudyWrong(
                f"A picture of aspect {words} that is {cell[0]} px wide would be {cell[1]} px high; "
                f"at most {MOST_SIDE_PX} px are drawn. Draw it with a smaller --cell-width."
            )
        pixels = (max(1, round(seats[0].picture_px[0])), max(1, round(seats[0].picture_px[1])))
        pictures.append(Picture(Shape(words, aspect, cell), pixels, tuple(seats)))
    return pictures


def own_setup(prepared: Prepared) -> Setup:
    """The set-up of the study's own camera, unswept, at its first place, in its first picture."""
    study = prepared.study
    hold = study.sweep.hold if study.sweep.hold == ALL_IN_FRAME else "nothing"  # others keep what it has
    place = study.place[: 0 if study.here else 1]
    plain = study.model_copy(update={"sweep": Sweep(hold=hold), "place": place})
    return next(cases(replace(prepared, study=plain, variants=expand(plain)[:1]), CELL_WIDTH_PX)).setup


def file_camera(prepared: Prepared, name: str = "study camera") -> SceneCamera:
    """The study's own camera as one that a GLB can hold; StudyWrong where it cannot be one."""
    setup = own_setup(prepared)
    if setup.projection == "oblique" or (setup.offset_by == "shift" and any(setup.offset or ())):
        raise StudyWrong(
            "camera: a GLB holds no oblique view and no lens shift; write the scene file's own GLB, "
            "or give the study another camera."
        )
    near_m = setup.camera.near_m
    return SceneCamera(
        name=name,
        view=setup.camera.view,
        vfov_deg=setup.vfov_deg,
        aspect=setup.aspect,
        view_height_m=setup.view_height_m,
        near_m=max(near_m, 0.0) if setup.camera.parallel else near_m,
        far_m=setup.camera.far_m,
    )
