"""What looks odd in a camera's set-up: legal, drawn, and most likely not what was meant."""

from __future__ import annotations

from collections.abc import Collection, Iterator
from functools import lru_cache
from itertools import product

import numpy as np
from numpy.typing import NDArray

from stationpoint.base.allowed import quoted_value
from stationpoint.base.words import listed, plain
from stationpoint.camera import depths, frontal_px_per_m, resized_camera, to_clip
from stationpoint.readings import Case, body_m, measures_colours
from stationpoint.scene import Scene
from stationpoint.study import Study

LEVEL_M = 1e-4  # a camera this little under the ground stands on it
UNDER_GROUND = "the camera is under the ground"
MOST_PICTURES = 20.0  # times as high as the picture: a subject drawn larger is worth a note
FAR_BODIES = 100.0  # heights of the subject: a camera farther off is worth a note
MOST_NAMES = 6
SMALL_SHARE = 0.02  # of the picture's height, where the subject is also drawn smaller than that


def unlikely_settings(case: Case) -> tuple[str, ...]:
    """Warnings about a set-up that no reading tells, in plain words."""
    return (*_under_ground(case), *_odd_scale(case), *_far_away(case), *_nothing_shown(case))


def _under_ground(case: Case) -> Iterator[str]:
    camera = case.setup.camera
    if camera.parallel:
        return
    x, y, z = camera.eye_m.tolist()
    for (left, _, back), (right, top, front) in _grounds(case.scene):
        if y < top - LEVEL_M and left <= x <= right and back <= z <= front:
            yield UNDER_GROUND
            return


def _odd_scale(case: Case) -> Iterator[str]:
    """A thing of the subject's height, at the anchor, under a pixel high or far larger than the picture."""
    setup, tall_m = case.setup, body_m(case)
    if setup.at_anchor:
        return
    if case.study.subject is None:
        tall_m = min(tall_m, float(np.ptp(_extent(case.scene), axis=0).max()))
    scale = float(frontal_px_per_m(resized_camera(setup.camera, setup.pixels), setup.anchor_m)[0])
    if tall_m * scale < 1.0:
        yield f"where the camera aims, {plain(tall_m, 6)} m is drawn less than a pixel high"
    elif tall_m * scale > MOST_PICTURES * setup.pixels[1] and (setup.distance_m or 0.0) >= tall_m:
        yield f"where the camera aims, the picture is only {setup.pixels[1] / scale:.2g} m high"


def _far_away(case: Case) -> Iterator[str]:
    """A camera so far from its subject that one of the two lengths is likely in another unit."""
    setup, tall_m = case.setup, body_m(case)
    away = setup.distance_m or 0.0
    if case.study.subject is None or setup.camera.parallel or away < FAR_BODIES * tall_m:
        return
    scale = float(frontal_px_per_m(resized_camera(setup.camera, setup.pixels), setup.anchor_m)[0])
    share = tall_m * scale / setup.pixels[1]
    if tall_m * scale >= 1.0 and share < SMALL_SHARE:  # below a pixel it is told anyway
        yield (
            f"the camera is {plain(away, 1)} m from a subject {plain(tall_m, 2)} m high, "
            f"{plain(100 * share, 1)} % of the picture's height; come nearer, or say "
            f"{plain(away / 100, 3)} if that was in centimetres"
        )


def _nothing_shown(case: Case) -> Iterator[str]:
    """A box round all but the subject that lies beyond one side of what the camera sees."""
    camera = case.setup.camera
    corners = _corners(case.scene)
    clip, z_m = to_clip(camera, corners), depths(camera, corners)
    xy, w = clip[:, :2], clip[:, 3:4]
    aside = (xy > w).all(axis=0).any() or (xy < -w).all(axis=0).any()
    if aside or (z_m > camera.far_m).all() or (z_m < camera.near_m).all():
        yield "nothing of the scene is in the picture"


def colour_notes(study: Study, scene: Scene, only: Collection[str] | None = None) -> tuple[str, ...]:
    """Why contrast and prominence are null, or what of them is no colour of the level's own: sentences.

    scene: as drawn, the stand-in subject included. only: names of groups or kinds of readings, None for all.
    """
    bare = [node.name for node in scene.nodes if node.own is None]
    if len(bare) == len(scene.nodes):
        return (
            "Contrast and prominence are null: the level has no colours of its own; give solids a colour, or "
            "use a mesh with materials.",
        )
    if not measures_colours(study, scene, only):
        return (
            "Contrast and prominence are null: nothing asks for them; name one in --only, bound one in a "
            'limit, or give the level\'s mesh materials = "own".',
        )
    if not bare:
        return ()
    more = len(bare) - MOST_NAMES
    named = [quoted_value(name) for name in bare[:MOST_NAMES]] + ([f"{more} more"] if more > 0 else [])
    return (f"Contrast and prominence take {listed(named)} in clay, for want of colours of their own.",)


@lru_cache(maxsize=16)
def _extent(scene: Scene) -> NDArray[np.float64]:
    """Lowest and highest corner, (2, 3), of all but the subject (of the subject where it is alone)."""
    return scene.bounds([node.name for node in scene.nodes if node.kind != "subject"] or None)


@lru_cache(maxsize=16)
def _corners(scene: Scene) -> NDArray[np.float64]:
    """The corners, (8, 3), of that box."""
    return np.array(list(product(*_extent(scene).T)))


@lru_cache(maxsize=16)
def _grounds(scene: Scene) -> list[list[list[float]]]:
    """Lowest and highest corner of each ground."""
    return [node.bounds.tolist() for node in scene.nodes if node.kind == "ground"]
