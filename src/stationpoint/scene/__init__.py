"""Scenes: geometry from TOML solids and imported meshes, and edited copies of it."""

from __future__ import annotations

from stationpoint.scene.assemble import unique_names
from stationpoint.scene.edit import (
    box_node,
    floor_under,
    in_own_colours,
    is_inside,
    moved_node,
    moved_scene,
    own_colour_notes,
    stand_in,
    tinted_scene,
    with_node,
)
from stationpoint.scene.export import glb_bytes
from stationpoint.scene.file import read_scene
from stationpoint.scene.materials import Material, Texture
from stationpoint.scene.standing import free_distance_m, is_indoors, standing_place
from stationpoint.scene.types import GROUND_NAME, Node, Scene, SceneCamera

__all__ = [
    "GROUND_NAME",
    "Material",
    "Node",
    "Scene",
    "SceneCamera",
    "Texture",
    "box_node",
    "floor_under",
    "free_distance_m",
    "glb_bytes",
    "in_own_colours",
    "is_indoors",
    "is_inside",
    "moved_node",
    "moved_scene",
    "own_colour_notes",
    "read_scene",
    "stand_in",
    "standing_place",
    "tinted_scene",
    "unique_names",
    "with_node",
]
