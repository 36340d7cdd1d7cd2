"""OpenGL and rays draw the same picture: two programs that share no drawing code."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from numpy.typing import NDArray

from stationpoint.base import look
from stationpoint.camera.shot import Frame, Shot
from stationpoint.render import open_renderer
from stationpoint.scene.types import Scene

from .made import KINDS, box, camera, drum, ground, moved_by

EVERYTHING = frozenset({"colour", "depth", "ids", "whole"})


def crowd() -> Scene:
    """Boxes and drums at random, some gridded, some with open backs, some tinted."""
    rng = np.random.default_rng(11)
    nodes = [ground()]
    for k in range(60):
        x, z = rng.uniform(-12, 12, 2)
        wide, tall = rng.uniform(0.3, 1.2), rng.uniform(0.3, 3.0)
        tint = list(look.ROLE_TINT.values())[k % 4] if k % 5 == 0 else look.CLAY
        if k % 3:
            low, high = (x - wide, 0, z - wide), (x + wide, tall, z + wide)
            nodes.append(box(f"n{k}", low, high, tint=tint, gridded=k % 2 == 0, backs_open=k % 7 == 0))
        else:
            node = drum(f"n{k}", wide, tall, 20, tint=tint)
            nodes.append(replace(node, vertices=node.vertices + np.array([x, 0, z], dtype=np.float32)))
    return Scene(tuple(nodes))


def both(scene: Scene, shot: Shot) -> tuple[Frame, Frame]:
    with open_renderer("gl", scene) as gl, open_renderer("rays", scene) as rays:
        return gl.draw(shot), rays.draw(shot)


def away_from_edges(ids: NDArray[np.uint32]) -> NDArray[np.bool_]:
    """Pixels whose eight neighbours show the same node."""
    inner = np.zeros(ids.shape, dtype=bool)
    middle = ids[1:-1, 1:-1]
    around = [
        ids[1 + y : ids.shape[0] - 1 + y, 1 + x : ids.shape[1] - 1 + x]
        for y in (-1, 0, 1)
        for x in (-1, 0, 1)
    ]
    inner[1:-1, 1:-1] = np.all([part == middle for part in around], axis=0)
    return inner


@pytest.mark.usefixtures("needs_gl")
@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize(("yaw", "about_m"), [(25.0, None), (160.0, None), (25.0, (0.0, 1.0, 0.0))])
def test_gl_and_rays_agree(kind: str, yaw: float, about_m: tuple[float, float, float] | None) -> None:
    view = camera(kind, pixels=(320, 180), yaw=yaw, pitch=25, distance=15, height=14, offset=(0.06, -0.04))
    shot = Shot(
        view,
        EVERYTHING,
        moves=(("n9", moved_by(1.0, 1.5, -1.0)),),
        whole=tuple((f"n{k}",) for k in range(12)),
        towards_light=(-0.373, 0.746, 0.552),
        about_m=about_m,
    )
    gl, rays = both(crowd(), shot)
    assert gl.ids is not None
    assert rays.ids is not None
    assert gl.depth_m is not None
    assert rays.depth_m is not None
    assert gl.colour is not None
    assert rays.colour is not None
    assert len(np.unique(gl.ids)) > 30
    assert (gl.ids == rays.ids).mean() > 0.995
    assert np.mean(gl.whole == rays.whole) > 0.995
    plain = away_from_edges(gl.ids) & (gl.ids == rays.ids) & (gl.ids > 0)
    assert plain.sum() > 20_000
    assert np.abs(gl.depth_m[plain] / rays.depth_m[plain] - 1.0).max() < 1e-3
    apart = np.abs(gl.colour.astype(int) - rays.colour.astype(int)).max(axis=2)
    assert apart.mean() < 3.0  # of 255
    assert (apart > 24).mean() < 0.01


@pytest.mark.usefixtures("needs_gl")
def test_gl_and_rays_agree_inside_a_solid() -> None:
    # The eye stands inside a box: both draw its inner walls, unlit.
    scene = Scene((ground(), box("room", (-2, -1, -2), (2, 3, 2))))
    view = camera(anchor=(0, 1, 0), distance=1.0, pitch=10, pixels=(64, 36))
    gl, rays = both(scene, Shot(view, EVERYTHING, towards_light=(-0.373, 0.746, 0.552)))
    assert gl.ids is not None
    assert rays.ids is not None
    assert gl.colour is not None
    assert rays.colour is not None
    assert (gl.ids == 2).mean() > 0.5
    assert np.array_equal(gl.ids, rays.ids)
    apart = np.abs(gl.colour.astype(int) - rays.colour.astype(int)).max(axis=2)
    assert apart[gl.ids == 2].mean() < 1.5
