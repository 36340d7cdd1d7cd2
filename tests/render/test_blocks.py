"""OpenGL draws a mesh in blocks, and leaves out those that nobody sees: faster, and the same picture."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from typing import NamedTuple

import numpy as np
import pytest
from numpy.typing import NDArray

from stationpoint.base.look import ROLE_TINT
from stationpoint.camera.camera import Camera
from stationpoint.camera.shot import Frame, Shot
from stationpoint.render import open_renderer
from stationpoint.render.surface import surface_of
from stationpoint.render.tiles import reached
from stationpoint.scene.types import Node, Scene

from .made import KINDS, box, camera, ground, moved_by

PLANES = frozenset({"colour", "depth", "ids", "whole"})
LIGHT = (-0.571, 0.746, 0.343)

pytestmark = pytest.mark.usefixtures("needs_gl")


def hills(cells: int = 60, size_m: float = 40.0, seed: int = 3) -> Node:
    """A rough field of 2 cells^2 triangles round the origin, as a scanner leaves it, row by row."""
    rng = np.random.default_rng(seed)
    along = np.linspace(-size_m / 2.0, size_m / 2.0, cells + 1)
    x, z = np.meshgrid(along, along, indexing="ij")
    y = 1.5 * np.sin(x / 3.0) * np.cos(z / 4.0) + rng.normal(0.0, 0.05, x.shape)
    k = np.arange((cells + 1) ** 2).reshape(cells + 1, cells + 1)
    a, b, c, d = k[:-1, :-1].ravel(), k[:-1, 1:].ravel(), k[1:, 1:].ravel(), k[1:, :-1].ravel()
    faces = np.concatenate([np.column_stack([a, b, c]), np.column_stack([a, c, d])])
    return Node("hills", np.column_stack([x.ravel(), y.ravel(), z.ravel()]), faces, closed=False)


def field() -> Scene:
    return Scene((hills(), box("hut", (2, 0, 2), (4, 3, 4)), box("box", (-3, 1, 1), (-2, 2, 2))))


def cameras() -> Iterator[Camera]:
    """Of every projection, with eyes over the field, in it, under it and off it, looking any way."""
    rng = np.random.default_rng(8)
    for k in range(18):
        anchor = rng.uniform((-20, -1, -20), (20, 3, 20))
        pitch, yaw = float(rng.uniform(-60, 80)), float(rng.uniform(-180, 180))
        yield camera(KINDS[k % 3], anchor=anchor, distance=float(rng.uniform(0.5, 45)), pitch=pitch, yaw=yaw)


def shots() -> Iterator[Shot]:
    for view in cameras():
        yield Shot(view, PLANES, whole=(("hut",), ("hills",)), towards_light=LIGHT)
        yield Shot(view, PLANES - {"whole"}, towards_light=LIGHT, about_m=(-2.5, 1.5, 1.5))


def same(one: Frame, other: Frame) -> bool:
    names = ("colour", "depth_m", "ids", "whole")
    pairs = [(getattr(one, name), getattr(other, name)) for name in names]
    return all(np.array_equal(a, b) for a, b in pairs if a is not None)


def frames(scene: Scene, some: list[Shot]) -> list[Frame]:
    with open_renderer("gl", scene) as gl:
        return [gl.draw(shot) for shot in some]


def test_what_is_left_out_of_a_view_changes_no_pixel(monkeypatch: pytest.MonkeyPatch) -> None:
    from stationpoint.render.gl import upload

    some, scene, kept = list(shots()), field(), list[float]()

    def counted(*terms: NDArray[np.float64]) -> NDArray[np.bool_]:
        inside = reached(*terms)
        kept.append(float(inside.mean()))
        return inside

    monkeypatch.setattr(upload, "reached", counted)
    drawn = frames(scene, some)
    monkeypatch.setattr(upload, "reached", lambda to_clip, low, high: np.ones(len(low), dtype=bool))
    whole = frames(scene, some)
    assert all(map(same, drawn, whole))
    assert sum(frame.ids is not None and bool((frame.ids == 1).any()) for frame in whole) > len(whole) / 3
    assert min(kept) < 0.5  # blocks are left out: a row of the field is 40 m long and 0.7 m wide
    assert float(np.mean(kept)) < 0.9


def test_blocks_are_short_and_together_all_triangles_in_their_order() -> None:
    # Mesa's software driver goes through a whole run again each time that it has clipped a part of it: a run
    # of 64 000 triangles took a third longer than a thousand of 64.
    from stationpoint.render.gl import context, upload

    context.current_context()
    nodes = [hills(), box("hut", (2, 0, 2), (4, 3, 4)), Node("nothing", np.zeros((0, 3)), np.zeros((0, 3)))]
    mesh = upload.Mesh(surface_of(nodes, [1, 2, 3], np.zeros(3)), upload.Palette())
    firsts, counts, _ = mesh.runs(np.ones(3, dtype=bool))
    assert counts.max() <= 3 * upload.BLOCK
    assert np.array_equal(np.concatenate([[0], np.cumsum(counts)]), np.append(firsts, 3 * (7200 + 12)))
    assert mesh.runs(np.array([False, True, False]))[0].tolist() == [3 * 7200]
    mesh.delete()


def test_runs_of_one_normal_a_triangle_are_told_from_those_that_bend() -> None:
    # By hand: every side of a box is flat; the hills bend by less than 30 degrees all over.
    from stationpoint.render.gl import context, upload

    context.current_context()
    mesh = upload.Mesh(
        surface_of([hills(), box("hut", (2, 0, 2), (4, 3, 4))], [1, 2], np.zeros(3)), upload.Palette()
    )
    assert not mesh.runs(np.array([True, False]))[2].any()
    assert mesh.runs(np.array([False, True]))[2].tolist() == [True]
    mesh.delete()


class Drawn(NamedTuple):
    """A set of shadow maps. whole: whether all that casts is in it. clear: whether it began empty."""

    whole: bool
    clear: bool


@pytest.fixture
def drawn(monkeypatch: pytest.MonkeyPatch) -> list[Drawn]:
    """The sets of shadow maps that are drawn from now on."""
    from stationpoint.render.gl import shadows

    found: list[Drawn] = []
    draw = shadows._draw

    def noted(maps: shadows.ShadowMaps, *terms: object, clear: bool) -> None:
        found.append(Drawn(maps.whole, clear))
        draw(maps, *terms, clear=clear)  # type: ignore[arg-type]

    monkeypatch.setattr(shadows, "_draw", noted)
    return found


def cleared(drawn: list[Drawn]) -> int:
    return sum(one.clear for one in drawn)


def test_large_nodes_are_drawn_once_for_all_stages_of_a_light(
    drawn: list[Drawn], monkeypatch: pytest.MonkeyPatch
) -> None:
    from stationpoint.render.gl import shadows

    view = camera(distance=30.0, pitch=40.0)
    stages = [(), (("box", moved_by(1, 0, 0)),), (("hut", moved_by(-2, 0, 1)),)]
    some = [Shot(view, frozenset({"colour"}), moves=moves, towards_light=LIGHT) for moves in stages]
    shared = frames(field(), some)
    assert cleared(drawn) == 1
    monkeypatch.setattr(shadows, "LARGE", 1_000_000)
    drawn.clear()
    alone = [frames(field(), [shot])[0] for shot in some]
    assert cleared(drawn) == 3
    assert all(map(same, shared, alone))


def test_what_has_no_role_is_drawn_once_for_all_stages_of_a_light(drawn: list[Drawn]) -> None:
    # Where every node has a role nothing is shared, and without tints the pictures are the same.
    crates = [
        box(f"crate {k} {z}", (3 * k - 9, 0, z), (3 * k - 8, 3, z + 1)) for k in range(7) for z in (-6, 5)
    ]
    mark, figure = box("mark", (0, 0, 0), (1, 2, 1)), box("figure", (-4, 0, 1), (-3, 1.8, 2))
    subject = ROLE_TINT["subject"]
    scene = Scene((ground(), *crates, replace(mark, tint=subject), replace(figure, tint=subject)))
    names = tuple(node.name for node in scene.nodes)
    view = camera(distance=30.0, pitch=40.0)
    plain = Shot(view, frozenset({"colour"}), towards_light=LIGHT, tinted=False)
    some = [
        plain,
        replace(plain, moves=(("figure", moved_by(2, 0, 1)),)),
        replace(plain, casters=tuple(name for name in names if name != "mark")),
        replace(plain, show=tuple(name for name in names if name != "figure")),
    ]
    shared = frames(scene, some)
    assert cleared(drawn) == 1
    drawn.clear()
    alone = frames(Scene((ground(), *(replace(node, tint=subject) for node in scene.nodes[1:]))), some)
    assert cleared(drawn) == 4
    assert all(map(same, shared, alone))


def test_soft_shadow_maps_of_a_small_scene_serve_every_place(drawn: list[Drawn]) -> None:
    # 1536 texels of 4.5 cm reach over 69 m: over crates 40 m apart, not over crates 200 m apart.
    shot = Shot(camera(), frozenset({"colour"}), towards_light=LIGHT)
    shots = [replace(shot, about_m=(x, 0.0, 0.0)) for x in (0.0, 8.0)]
    for apart_m, near in ((40, 0), (200, 2)):
        crates = [box(f"crate {x}", (x, 0, 0), (x + 1, 1, 1)) for x in (-apart_m // 2, 0, 8, apart_m // 2)]
        drawn.clear()
        frames(Scene((ground(400.0), *crates)), shots)
        assert sum(not one.whole for one in drawn) == near
        assert near or len(drawn) == 1
