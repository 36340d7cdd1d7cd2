"""The geometry that flows: nodes and scenes, frozen; arrays are set read-only."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from fnmatch import fnmatchcase

import numpy as np
from numpy.typing import NDArray

from stationpoint.base.look import CLAY

GROUND_NAME = "ground"


@dataclass(frozen=True, slots=True, eq=False)
class Node:
    """One named piece of geometry.

    vertices: (n, 3) float32, metres, world. faces: (m, 3) int32, counterclockwise seen from
    outside. tint: 8-bit sRGB. walkable: its top can be stood on. closed: a closed solid (whether a
    point is inside it can be said). gridded: the metre grid is drawn on its level faces.
    backs_open: faces seen from behind are neither drawn nor block.
    kind: what it was made from ("box", "ramp", ..., "mesh", "ground", "subject").
    """

    name: str
    vertices: NDArray[np.float32]
    faces: NDArray[np.int32]
    tint: tuple[int, int, int] = CLAY
    walkable: bool = False
    closed: bool = True
    gridded: bool = False
    backs_open: bool = False
    kind: str = "mesh"
    _found: dict[str, NDArray[np.float64]] = field(default_factory=dict, init=False, repr=False)

    def __post_init__(self) -> None:
        for name, kind in (("vertices", np.float32), ("faces", np.int32)):
            array = np.ascontiguousarray(getattr(self, name), dtype=kind).reshape(-1, 3)
            array.flags.writeable = False
            object.__setattr__(self, name, array)

    @property
    def bounds(self) -> NDArray[np.float64]:
        """Lowest and highest corner, (2, 3), metres, world."""
        if "bounds" not in self._found:
            corners = np.array([self.vertices.min(axis=0), self.vertices.max(axis=0)], dtype=np.float64)
            corners.flags.writeable = False
            self._found["bounds"] = corners
        return self._found["bounds"]

    @property
    def foot(self) -> NDArray[np.float64]:
        """Bottom centre of the bounds, (3,)."""
        low, high = self.bounds
        return np.array([(low[0] + high[0]) / 2, low[1], (low[2] + high[2]) / 2])


@dataclass(frozen=True, slots=True, eq=False)
class SceneCamera:
    """A camera found in a scene file.

    name: the node's. view: (4, 4) world to camera, rigid (the node's scale is ignored, as glTF
    says). vfov_deg: vertical angle, or None if orthographic. aspect: width / height, or None.
    view_height_m: whole height, orthographic only. near_m, far_m: as given (far None: infinite).
    file: the name of the file that it came from, with no folder.
    """

    name: str
    view: NDArray[np.float64]
    vfov_deg: float | None
    aspect: float | None
    view_height_m: float | None
    near_m: float
    far_m: float | None
    file: str = ""


@dataclass(frozen=True, slots=True, eq=False)
class Scene:
    """All that is drawn. Node k has id k + 1; names are unique.

    digest: hex SHA-256 of the geometry and names (not of paths). notes: plain sentences about what
    was found odd on the way in (a lone line, an empty node), for a person.
    """

    nodes: tuple[Node, ...]
    digest: str = ""
    cameras: tuple[SceneCamera, ...] = ()
    notes: tuple[str, ...] = ()
    _index: dict[str, int] = field(default_factory=dict, repr=False)
    _found: dict[str, NDArray[np.float64]] = field(default_factory=dict, init=False, repr=False)

    def __post_init__(self) -> None:
        object.__setattr__(self, "_index", {node.name: k for k, node in enumerate(self.nodes)})

    def __contains__(self, name: str) -> bool:
        return name in self._index

    def node(self, name: str) -> Node:
        """The node of that name; KeyError if there is none."""
        return self.nodes[self._index[name]]

    def id_of(self, name: str) -> int:
        """Id of the node in frames: its place in the scene, counted from 1."""
        return self._index[name] + 1

    def matching(self, pattern: str) -> tuple[str, ...]:
        """Names that equal `pattern`, or else match it as a wildcard (*, ?), in scene order."""
        if pattern in self._index:
            return (pattern,)
        wild = pattern.replace("[", "[[]")  # a bracket is a letter of a name, as in "crate [2]"
        return tuple(node.name for node in self.nodes if fnmatchcase(node.name, wild))

    def bounds(self, names: Iterable[str] | None = None) -> NDArray[np.float64]:
        """Lowest and highest corner, (2, 3), of the named nodes (all if None)."""
        if names is None and "bounds" in self._found:
            return self._found["bounds"]
        nodes = self.nodes if names is None else [self.node(name) for name in names]
        every = np.array([node.bounds for node in nodes])
        corners = np.array([every[:, 0].min(axis=0), every[:, 1].max(axis=0)])
        if names is None:
            corners.flags.writeable = False
            self._found["bounds"] = corners
        return corners
