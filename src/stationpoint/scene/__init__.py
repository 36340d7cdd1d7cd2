"""Scenes: geometry from TOML solids and imported meshes, and edited copies of it."""

from __future__ import annotations

from stationpoint.scene.edit import (
    box_node,
    in_own_colours,
    moved_node,
    moved_scene,
    own_colour_notes,
    stand_in,
    tinted_scene,
    with_node,
)
from stationpoint.scene.export import glb_bytes, gltf_bytes
from stationpoint.scene.file import read_cameras, read_scene
from stationpoint.scene.floors import standing_place, standing_spots
from stationpoint.scene.guess import Guess, read_bare
from stationpoint.scene.heights import Level, level_at, levels_at, top_at
from stationpoint.scene.materials import Material, Texture, of_one_colour
from stationpoint.scene.rays import blocked, free_distance_m, is_indoors, share_in_sight, turned_to
from stationpoint.scene.swept import first_touch, may_be_within, rectangle_cuts, solids_round
from stationpoint.scene.types import GROUND_NAME, Node, Scene, SceneCamera
from stationpoint.scene.under import Moved, all_under, drop_m, floor_under, is_inside, under
from stationpoint.scene.usda import usda_bytes

__all__ = [
    "GROUND_NAME",
    "Guess",
    "Level",
    "Material",
    "Moved",
    "Node",
    "Scene",
    "SceneCamera",
    "Texture",
    "all_under",
    "blocked",
    "box_node",
    "drop_m",
    "first_touch",
    "floor_under",
    "free_distance_m",
    "glb_bytes",
    "gltf_bytes",
    "in_own_colours",
    "is_indoors",
    "is_inside",
    "level_at",
    "levels_at",
    "may_be_within",
    "moved_node",
    "moved_scene",
    "of_one_colour",
    "own_colour_notes",
    "read_bare",
    "read_cameras",
    "read_scene",
    "rectangle_cuts",
    "share_in_sight",
    "solids_round",
    "stand_in",
    "standing_place",
    "standing_spots",
    "tinted_scene",
    "top_at",
    "turned_to",
    "under",
    "usda_bytes",
    "with_node",
]
