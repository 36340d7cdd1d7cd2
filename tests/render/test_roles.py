"""Roles are told apart in drawn pictures: medians over the pixels of a role, lit and shaded as they are.

Distances: of OKLab, as it is, in its lightness alone, and as eyes with one kind of cone missing see it, by
colour-science (Machado et al. 2009). The least is .10, the look's own limit. What parts clay and ground is
their grid and the shadows on it, not their tint.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from itertools import combinations
from pathlib import Path

import numpy as np
import pytest
from numpy.typing import NDArray

from cli_calls import DATA, done
from stationpoint.base import look
from stationpoint.base.colour import linear_light
from stationpoint.camera.shot import COLOUR, IDS, Frame, Shot
from stationpoint.readings import MAIN
from stationpoint.render import open_renderer
from stationpoint.run import Drawing, Wants, prepare_study
from stationpoint.run.cases import cases
from stationpoint.run.sheet import aids_drawn
from stationpoint.run.sweep import shots_of
from stationpoint.scene.types import Scene
from stationpoint.study import read_study

from .made import box, camera, drum, ground, oklab

LEAST = 0.10
SCENES = Path(__file__).parents[2] / "scenes"
DEMOS = ["quay", "greenhouse", "quarry", "rooftop"]
EYES = {"protan": "Protanomaly", "deutan": "Deuteranomaly", "tritan": "Tritanomaly"}
PLAIN = {look.CLAY: "clay", look.GROUND: "ground"}
FEWEST_PX, ENOUGH_PX = 40, 4000  # of a role in a picture: fewer tell nothing of how it looks

Colours = dict[str, NDArray[np.uint8]]


def role_of(tint: tuple[int, int, int]) -> str:
    return (
        next((role for role, its in look.ROLE_TINT.items() if its == tuple(tint)), "") or PLAIN[tuple(tint)]
    )


def pixels_by_role(scene: Scene, frame: Frame) -> Colours:
    """Pixels, (n, 3), of each role, clay and ground; of very many, evenly chosen ones."""
    assert frame.colour is not None
    assert frame.ids is not None
    roles = np.array(["", *(role_of(node.tint) for node in scene.nodes)])[frame.ids]
    found = {role: frame.colour[roles == role] for role in (*look.ROLE_TINT, *PLAIN.values())}
    return {
        role: pixels[:: 1 + len(pixels) // ENOUGH_PX]
        for role, pixels in found.items()
        if len(pixels) >= FEWEST_PX
    }


def cells(study: Path, engine: str) -> Iterator[Colours]:
    """The pixels by role of each variant of a study at its first place, in clay."""
    prepared = prepare_study(read_study(study), study.parent)
    grid, shadow = aids_drawn(prepared, Drawing())
    wants = Wants(cell_width=420, grid=grid, shadow=shadow, only=frozenset())
    done_with = set()
    with open_renderer(engine, prepared.scene) as renderer:
        for case in cases(prepared, 420):
            if case.variant.label not in done_with:
                done_with.add(case.variant.label)
                shot = replace(shots_of(case, wants, True)[MAIN], planes=frozenset({COLOUR, IDS}), own=False)
                yield pixels_by_role(prepared.scene, renderer.draw(shot))


def seen_by(pixels: NDArray[np.uint8], eye: str) -> NDArray[np.float64]:
    """Linear light, (n, 3), as one of EYES has it."""
    import colour as science

    matrix = science.blindness.matrix_cvd_Machado2009(EYES[eye], 1.0)
    return np.clip(linear_light(pixels) @ np.asarray(matrix).T, 0.0, 1.0)


def medians(pixels: NDArray[np.uint8]) -> dict[str, NDArray[np.float64]]:
    """The median's OKLab, (3,), as it is and for each of EYES."""
    kinds = {"": linear_light(pixels)} | {eye: seen_by(pixels, eye) for eye in EYES}
    return {name: np.median(oklab(light), axis=0) for name, light in kinds.items()}


def distances(colours: Colours) -> dict[tuple[str, str], dict[str, float]]:
    """Of every two roles, clay and ground: in "lightness" alone, in OKLab (""), and so for each of EYES."""
    found = {role: medians(pixels) for role, pixels in colours.items()}
    return {
        (one, two): {"lightness": float(abs(found[one][""][0] - found[two][""][0]))}
        | {eye: float(np.linalg.norm(found[one][eye] - found[two][eye])) for eye in found[one]}
        for one, two in combinations(found, 2)
    }


def pooled(pictures: list[Colours]) -> Colours:
    roles = [role for role in (*look.ROLE_TINT, *PLAIN.values()) if any(role in each for each in pictures)]
    return {role: np.concatenate([each[role] for each in pictures if role in each]) for role in roles}


def check_apart(found: dict[tuple[str, str], dict[str, float]]) -> None:
    """Roles and clay by tint, for all eyes; roles among themselves in lightness alone; the ground by tint."""
    for pair, apart in found.items():
        if pair == ("clay", "ground"):
            continue
        kinds = {"", *EYES} if "ground" not in pair else {""}
        kinds |= {"lightness"} if not {"clay", "ground"} & set(pair) else set()
        for kind in kinds:
            assert apart[kind] >= LEAST, (pair, kind, apart)


def row_of_roles(engine: str) -> Colours:
    """One capsule-like drum and one box of each role beside each other, seen as in look.py's light."""
    tints = [*look.ROLE_TINT.items(), ("clay", look.CLAY)]
    nodes = [ground()]
    for k, (name, tint) in enumerate(tints):
        if name == "subject":
            node = drum(name, 0.4, 1.8, 32, tint=tint)
            shift = np.array([2.0 * k - 4.0, 0.0, 0.0], dtype=np.float32)
            nodes.append(replace(node, vertices=node.vertices + shift))
        else:
            nodes.append(box(name, (2.0 * k - 4.6, 0, -0.6), (2.0 * k - 3.4, 1.0, 0.6), tint=tint))
    view = camera(pixels=(640, 360), pitch=17, yaw=25, distance=14, focal=35)
    towards = np.array(look.LIGHT_TOWARDS) / np.linalg.norm(look.LIGHT_TOWARDS)
    shot = Shot(view, frozenset({COLOUR, IDS}), towards_light=tuple(towards), about_m=(0.0, 0.0, 0.0))
    scene = Scene(tuple(nodes))
    with open_renderer(engine, scene) as renderer:
        return pixels_by_role(scene, renderer.draw(shot))


def test_roles_stay_apart_where_they_are_shaded(engine: str) -> None:
    found = distances(row_of_roles(engine))
    assert len(found) == 15  # of six
    check_apart(found)
    for pair, apart in found.items():
        if "ground" not in pair:
            assert apart["lightness"] >= LEAST, pair


@pytest.mark.parametrize("demo", DEMOS)
def test_roles_stay_apart_in_the_demos_pictures(engine: str, demo: str) -> None:
    pictures = list(cells(SCENES / f"{demo}.study.toml", engine))
    check_apart(distances(pooled(pictures)))
    for number, picture in enumerate(pictures):
        for pair, apart in distances(picture).items():
            if "subject" in pair:
                assert apart["lightness"] >= LEAST, (number, pair)


@pytest.mark.parametrize("room", ["office", "meeting_room"])
def test_roles_stay_apart_in_a_furnished_room(engine: str, room: str, tmp_path: Path) -> None:
    if not (DATA / f"{room}.glb").is_file():
        pytest.skip(f"{room}.glb is not at hand")
    (tmp_path / f"{room}.glb").write_bytes((DATA / f"{room}.glb").read_bytes())
    done("start", f"{room}.glb", cwd=tmp_path)
    pictures = list(cells(tmp_path / f"{room}.study.toml", engine))
    found = distances(pooled(pictures))
    assert ("subject", "secondary") in found
    check_apart(found)
