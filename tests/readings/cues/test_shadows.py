"""Cast shadow: a crate that hangs 2 m over a floor; light from straight above unless said."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from readings.cues.shown import CELL, cues, floor_square, hanging, lean, lit, patch_arcmin2, pinhole
from readings.made import block, camera, case, reading
from stationpoint.readings.kinds import wanted
from stationpoint.readings.types import Case
from stationpoint.scene.types import Node


@pytest.mark.parametrize(("side", "grade"), [(0.12, "absent"), (0.2, "weak"), (1.0, "reads")])
def test_shadow_is_as_large_as_its_patch_of_floor(side: float, grade: str) -> None:
    # 186.67 px a metre, half of it along the sightline: 17 400 px or 11 360 sq ' a square metre.
    made = hanging(side)
    found = cues(made, "target:t")["cast_shadow"]
    assert found.value == pytest.approx(patch_arcmin2(floor_square(side)), rel=0.08)
    assert found.grade == grade
    # Small ones are looked at through a window of their own.
    assert (("shadow", "crate") in wanted(made, ["cues"])) is (side < 0.5)


def test_shadow_under_a_high_light_tells_the_amount() -> None:
    read = reading(hanging(1.0), ["cues"]).values
    assert (read["cues", "target:t", "cast_shadow", "off_m"]) == pytest.approx(0.0)
    # 12 degrees off: 0.43 m aside, still overhead. The crate covers the floor as well: that is order.
    tilted = reading(lit(hanging(1.0), np.tan(np.radians(12)), 1.0, 0.0), ["cues"]).values
    assert tilted["cues", "target:t", "cast_shadow", "off_m"] == pytest.approx(2 * np.tan(np.radians(12)))
    for found in (read, tilted):
        assert found["cues", "target:t", "cast_shadow", "grade"] == "reads"
        assert (found["cues", "target:t", "order"], found["cues", "target:t", "amount"]) == (2, 1)
        assert found["cues", "target:t", "occlusion", "grade"] == "reads"


def test_shadow_of_a_hanging_thing_that_falls_aside_misleads() -> None:
    # Light 45 degrees up from +X: 2 m down, 2 m to -X.
    made = lit(hanging(1.0), 1.0, 1.0, 0.0)
    read = reading(made, ["cues"])
    assert read.values["cues", "target:t", "cast_shadow", "off_m"] == pytest.approx(2.0)
    assert read.values["cues", "target:t", "cast_shadow", "grade"] == "misleads"
    ends = pinhole([(0, 2, 0), (-2, 0, 0)], (0, 0, 0), 10, 30) / 6
    assert read.extras["cue", "target:t", "cast_shadow"] == pytest.approx(ends, abs=0.01)
    # 1 m of side casts 2 m of shadow along x: from the near low edge to the far high one.
    patch = [(-3.5, 0, -0.5), (-1.5, 0, -0.5), (-1.5, 0, 0.5), (-3.5, 0, 0.5)]
    assert read.values["cues", "target:t", "cast_shadow", "value"] == pytest.approx(
        patch_arcmin2(patch), rel=0.08
    )


def test_shadow_of_a_standing_thing_falls_aside_and_does_not_mislead() -> None:
    made = lit(hanging(1.0, up=0.0), 1.0, 1.0, 0.0)
    found = reading(made, ["cues"])
    assert found.values["cues", "target:t", "cast_shadow", "off_m"] == 0.0
    assert found.values["cues", "target:t", "cast_shadow", "grade"] == "reads"
    # It gives order only: 45 degrees up is not overhead.
    assert found.values["cues", "target:t", "order"] == 1
    assert found.values["cues", "target:t", "amount"] == 0
    far = found.extras["cue", "target:t", "cast_shadow"][1]
    assert far[0] == pytest.approx(pinhole([(-1.5, 0, 0)], (0, 0, 0), 10, 30)[0, 0] / 6, abs=1.5)


def test_shadow_is_absent_without_the_aid_in_the_shade_and_over_a_void() -> None:
    assert cues(hanging(1.0, aids=("drop-marker",)), "target:t")["cast_shadow"] == (
        0.0,
        "absent",
        None,
        "sq '",
    )
    # Under a roof nothing darkens when the crate casts.
    assert cues(hanging(1.0, roof=True), "target:t")["cast_shadow"].value == 0.0
    made = hanging(1.0)
    bare = replace(made, scene=replace(made.scene, nodes=made.scene.nodes[1:]))
    assert cues(bare, "target:t")["cast_shadow"].value == 0.0


def test_each_shadow_counts_for_its_own_thing() -> None:
    # Two crates, one three times as wide; one picture without both shadows serves both.
    floor = block("floor", (0, -1, 0), (40, 1, 40))
    crates = block("a", (-2, 2, 0), (1, 1, 1)), block("b", (2, 2, 0), (2, 1, 1))
    target = [{"name": name, "node": name} for name in "ab"]
    view = camera(pitch=30, distance=10)
    made = case(
        view, floor, *crates, cell=CELL, aids=["cast-shadow"], subject={"at": (0, 0, 0)}, target=target
    )
    assert set(wanted(made, ["cues"])) == {("main",), ("plain",), ("uncast",)}
    read = reading(made, ["cues"]).values
    for name, x, wide in (("a", -2.0, 1.0), ("b", 2.0, 2.0)):
        h = wide / 2
        patch = [(x - h, 0, -0.5), (x + h, 0, -0.5), (x + h, 0, 0.5), (x - h, 0, 0.5)]
        area = read["cues", f"target:{name}", "cast_shadow", "value"]
        assert area == pytest.approx(patch_arcmin2(patch), rel=0.08), name


def test_gap_and_target_of_one_node_have_the_same_shadow() -> None:
    slab, floor = block("slab", (0, 2, 0), (1, 0.5, 1)), block("floor", (0, -1, 0), (40, 1, 40))
    gap = {"name": "hop", "from": (2, 0, 0), "to": (0, 2.5, 0), "reach_m": 3}
    made = case(
        camera(pitch=30, distance=10), floor, slab, cell=CELL, aids=["cast-shadow"], gap=[gap],
        subject={"at": (2, 0, 0)}, target=[{"name": "t", "node": "slab"}],
    )  # fmt: skip
    read = reading(made, ["cues"]).values
    assert read["cues", "gap:hop", "cast_shadow", "value"] == read["cues", "target:t", "cast_shadow", "value"]
    assert read["cues", "gap:hop", "cast_shadow", "grade"] == "reads"
    assert read["cues", "gap:hop", "cast_shadow", "off_m"] == pytest.approx(0.0)


def _one_mesh(*nodes: Node) -> Node:
    """Nodes as a scan has them: one mesh, open."""
    starts = np.cumsum([0] + [len(node.vertices) for node in nodes[:-1]])
    faces = np.concatenate([node.faces + start for node, start in zip(nodes, starts, strict=True)])
    return Node("scan", np.concatenate([node.vertices for node in nodes]), faces, closed=False)


def _scan(*more: Node, **study: object) -> Case:
    """A floor and two tables of one mesh, a gap from the one to the other, and more of that mesh."""
    tables = block("", (-2, 0, 0), (1, 0.8, 1)), block("", (1, 0, 0), (1, 0.8, 1))
    scan = _one_mesh(block("", (0, -1, 0), (40, 1, 40)), *tables, *more)
    gap = {"name": "hop", "from": (-2, 0.8, 0), "to": (1, 0.8, 0), "reach_m": 3}
    crate = block("crate", (2.5, 0.5, 0), (0.5, 0.5, 0.5))
    return case(
        camera(pitch=30, distance=10), scan, crate, cell=CELL, aids=["cast-shadow"], gap=[gap], **study
    )


def test_a_landing_on_the_mesh_of_its_take_off_has_no_shadow_of_its_own() -> None:
    # The mesh's wall shades the crate beside the landing: that is no shadow of the landing.
    made = lit(_scan(block("", (3.5, 0, 0), (0.2, 4, 4))), 1.0, 1.0, 0.0)
    assert cues(made)["cast_shadow"] == (0.0, "absent", None, "sq '")
    assert reading(made, ["cues"]).values["cues", "gap:hop", "cast_shadow", "off_m"] is None


def test_light_tells_the_form_of_what_lies_round_a_landing_on_the_mesh_of_its_take_off() -> None:
    # By light from straight above: the table's top, as light as the floor, and its sides, alike in the dark.
    # The wall of that mesh, half as light, leans 5 m farther back.
    leaning = lean("", 8, (0, 8), -5)
    for more in ((), (leaning,)):
        assert cues(lit(_scan(*more), 0.0, 1.0, 0.0))["light_on_form"].value == 2
