"""Cameras for tests: the worked ones of published.py, and random ones of every projection."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from hypothesis import strategies as st
from numpy.typing import NDArray

from published import ANCHOR, CAMERAS
from stationpoint.camera.camera import Camera, unproject_pixels, windowed_camera
from stationpoint.camera.pose import backward_axis, look_at, turned_by, view_from
from stationpoint.camera.projection import oblique, orthographic, perspective

KINDS = ("perspective", "orthographic", "oblique")
Box = tuple[float, float, float, float]


@dataclass(frozen=True)
class Spec:
    """Everything that a camera is made from. box: window as fractions, pixels: of the window."""

    kind: str
    focal_over_width: float
    view_height_m: float
    whole_px: tuple[int, int]
    near_m: float
    reach_m: float
    eye_m: tuple[float, float, float]
    yaw_deg: float
    pitch_deg: float
    roll_deg: float
    offset: tuple[float, float]
    ratio: float
    angle_deg: float
    box: Box
    box_px: tuple[int, int]

    @property
    def aspect(self) -> float:
        return self.whole_px[0] / self.whole_px[1]

    @property
    def far_m(self) -> float:
        return self.near_m + self.reach_m


def whole(spec: Spec) -> Camera:
    """The camera of a spec, before its window."""
    near, far = spec.near_m, spec.far_m
    if spec.kind == "perspective":
        projection = perspective(spec.focal_over_width, spec.aspect, near, far, spec.offset)
    elif spec.kind == "orthographic":
        projection = orthographic(spec.view_height_m, spec.aspect, near, far, spec.offset)
    else:
        still = (near + far) / 2
        projection = oblique(
            spec.view_height_m, spec.aspect, near, far, spec.ratio, spec.angle_deg, still, spec.offset
        )
    view = view_from(spec.eye_m, turned_by(spec.yaw_deg, spec.pitch_deg, spec.roll_deg))
    return Camera(view, projection, spec.whole_px, spec.kind, near, far)


def windowed(spec: Spec) -> Camera:
    """The camera of a spec with its window."""
    return windowed_camera(whole(spec), box_in_px(spec), spec.box_px)


def box_in_px(spec: Spec) -> Box:
    """The spec's window in pixels of the whole picture."""
    (width, height), (left, top, right, bottom) = spec.whole_px, spec.box
    return left * width, top * height, right * width, bottom * height


def specs(kinds: tuple[str, ...] = KINDS) -> st.SearchStrategy[Spec]:
    """Specs of every projection with lens shift, roll and windows that reach outside the picture."""

    def between(low: float, high: float) -> st.SearchStrategy[float]:
        return st.floats(low, high, allow_subnormal=False)

    def sides(low: int, high: int) -> st.SearchStrategy[tuple[int, int]]:
        return st.tuples(st.integers(low, high), st.integers(low, high))

    return st.builds(
        Spec,
        kind=st.sampled_from(kinds),
        focal_over_width=between(0.25, 6.0),
        view_height_m=between(0.5, 80.0),
        whole_px=sides(64, 4000),
        near_m=between(0.02, 2.0),
        reach_m=between(5.0, 500.0),
        eye_m=st.tuples(*[between(-50.0, 50.0)] * 3),
        yaw_deg=between(-360.0, 360.0),
        pitch_deg=between(-90.0, 90.0),
        roll_deg=between(-180.0, 180.0),
        offset=st.tuples(between(-1.5, 1.5), between(-1.5, 1.5)),
        ratio=between(0.1, 1.5),
        angle_deg=between(-180.0, 180.0),
        box=st.tuples(between(-0.5, 0.4), between(-0.5, 0.4), between(0.6, 1.5), between(0.6, 1.5)),
        box_px=sides(16, 3000),
    )


def random_specs(seed: int, count: int, kinds: tuple[str, ...] = KINDS) -> list[Spec]:
    """The same `count` specs for the same seed, of moderate lenses and shifts."""
    rng = np.random.default_rng(seed)

    def at(low: float, high: float) -> float:
        return float(rng.uniform(low, high))

    return [
        Spec(
            kind=kinds[index % len(kinds)],
            focal_over_width=at(0.3, 4.0),
            view_height_m=at(1.0, 40.0),
            whole_px=(int(rng.integers(200, 3000)), int(rng.integers(200, 3000))),
            near_m=at(0.05, 1.0),
            reach_m=at(50.0, 300.0),
            eye_m=(at(-20, 20), at(-20, 20), at(-20, 20)),
            yaw_deg=at(-180, 180),
            pitch_deg=at(-90, 90),
            roll_deg=at(-180, 180),
            offset=(at(-0.6, 0.6), at(-0.6, 0.6)),
            ratio=at(0.25, 1.0),
            angle_deg=at(0, 90),
            box=(at(-0.3, 0.3), at(-0.3, 0.3), at(0.6, 1.3), at(0.6, 1.3)),
            box_px=(int(rng.integers(100, 2000)), int(rng.integers(100, 2000))),
        )
        for index in range(count)
    ]


def seen_points(
    camera: Camera, seed: int, count: int = 12
) -> tuple[NDArray[np.float64], NDArray[np.float64], NDArray[np.float64]]:
    """Pixels (n, 2), depths (n,) and the world points (n, 3) there, between near and far.

    Pixels reach a quarter of the picture beyond its edges.
    """
    rng = np.random.default_rng(seed)
    pixels = rng.uniform(-0.25, 1.25, (count, 2)) * camera.pixels
    depth_m = rng.uniform(camera.near_m, camera.far_m, count)
    return pixels, depth_m, unproject_pixels(camera, pixels, depth_m)


def worked(name: str) -> Camera:
    """One of the worked cameras C1..C5 of published.py."""
    given = CAMERAS[name]
    if given.eye is not None and given.to is not None:
        eye = np.array(given.eye, dtype=float)
        yaw, pitch, _ = look_at(given.eye, given.to)
    else:
        yaw, pitch = given.yaw_deg, given.pitch_deg
        eye = np.array(ANCHOR) + given.distance_m * backward_axis(yaw, pitch)
    aspect = given.pixels[0] / given.pixels[1]
    if given.kind == "perspective":
        projection = perspective(given.lens / 36.0, aspect, given.near_m, given.far_m, given.offset)
    else:
        projection = orthographic(given.lens, aspect, given.near_m, given.far_m, given.offset)
    view = view_from(eye, turned_by(yaw, pitch))
    return Camera(view, projection, given.pixels, given.kind, given.near_m, given.far_m)


def level_camera(
    eye_m: tuple[float, float, float] = (0, 0, 0),
    pitch_deg: float = 0.0,
    roll_deg: float = 0.0,
    offset: tuple[float, float] = (0.0, 0.0),
) -> Camera:
    """A square picture of 1000 px with a focal length of 1000 px."""
    view = view_from(eye_m, turned_by(0, pitch_deg, roll_deg))
    return Camera(view, perspective(1.0, 1.0, 0.1, 100, offset), (1000, 1000), "perspective", 0.1, 100)
