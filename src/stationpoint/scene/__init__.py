"""Scenes: geometry from TOML solids and imported meshes, and edited copies of it."""

from __future__ import annotations

from stationpoint.scene.edit import (
    box_node,
    floor_under,
    is_inside,
    moved_node,
    moved_scene,
    stand_in,
    tinted_scene,
    with_node,
)
from stationpoint.scene.export import glb_bytes
from stationpoint.scene.file import read_scene
from stationpoint.scene.standing import free_distance_m, is_indoors, standing_place
from stationpoint.scene.types import GROUND_NAME, Node, Scene, SceneCamera

__all__ = [
    "GROUND_NAME",
    "Node",
    "Scene",
    "SceneCamera",
    "box_node",
    "floor_under",
    "free_distance_m",
    "glb_bytes",
    "is_indoors",
    "is_inside",
    "moved_node",
    "moved_scene",
    "read_scene",
    "stand_in",
    "standing_place",
    "tinted_scene",
    "with_node",
]
