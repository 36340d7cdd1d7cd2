"""The geometry that flows: nodes and scenes, frozen; arrays are set read-only."""

from __future__ import annotations

from collections.abc import Iterable, KeysView
from dataclasses import dataclass, field, fields

import numpy as np
from numpy.typing import NDArray

from stationpoint.base.geometry.nearest import TriangleBlocks, faces_meeting, triangle_blocks
from stationpoint.base.look import CLAY
from stationpoint.base.words import matching_names
from stationpoint.scene.materials import OwnColours

GROUND_NAME = "ground"


@dataclass(frozen=True, slots=True, eq=False)
class Node:
    """One named piece of geometry.

    vertices: (n, 3) float32, metres, world. faces: (m, 3) int32, counterclockwise seen from
    outside. tint: 8-bit sRGB. walkable: its top can be stood on. closed: a closed solid (whether a
    point is inside it can be said). gridded: the metre grid is drawn on its level faces.
    backs_open: faces seen from behind are neither drawn nor block.
    kind: what it was made from ("box", "ramp", ..., "mesh", "ground", "subject"). own: the colours that
    its file gives it, if any; shows_own: pictures in own colours show them, not the tint. stands_at: its
    foot, (3,) f64, metres, where that is not the bottom centre of its bounds.
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
    own: OwnColours | None = None
    shows_own: bool = False
    stands_at: NDArray[np.float64] | None = None
    _found: dict[str, NDArray[np.float64]] = field(default_factory=dict, init=False, repr=False)
    _index: list[TriangleBlocks] = field(default_factory=list, init=False, repr=False)

    def __reduce__(self) -> tuple[type[Node], tuple[object, ...]]:
        """What has been found of it stays behind: it is larger than the node, and found again."""
        return Node, tuple(getattr(self, one.name) for one in fields(self) if one.init)

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
    def is_sheer(self) -> bool:
        """Whether sight passes through any of it: cut-outs and glass."""
        return self.own is not None and bool(self.own.lets_through(self.faces).any())

    @property
    def blocks(self) -> TriangleBlocks:
        """Its faces as an index for rays and nearest points, made once: .3 s for a million."""
        if not self._index:
            self._index.append(triangle_blocks(self.vertices.astype(np.float64)[self.faces]))
        return self._index[0]

    def faces_within(self, low: NDArray[np.float64], high: NDArray[np.float64]) -> NDArray[np.float64]:
        """The corners, (n, 3, 3), of its faces whose bounds meet a box from low to high (3,), in order."""
        some = faces_meeting(self.blocks, low, high) if len(self.faces) else np.zeros(0, dtype=np.intp)
        return self.vertices[self.faces[some]].astype(np.float64)

    @property
    def foot(self) -> NDArray[np.float64]:
        """Where it stands, (3,): the bottom centre of the bounds, unless it is known better."""
        if self.stands_at is not None:
            return self.stands_at
        low, high = self.bounds
        return np.array([(low[0] + high[0]) / 2, low[1], (low[2] + high[2]) / 2])


@dataclass(frozen=True, slots=True, eq=False)
class SceneCamera:
    """A camera found in a scene file.

    name: the node's. view: (4, 4) world to camera, rigid (the node's scale is ignored, as glTF
    says). vfov_deg: vertical angle, or None if orthographic. aspect: width / height, or None.
    view_height_m: whole height, orthographic only. near_m, far_m: as given (far None: infinite).
    file: the name of the file that it came from, with no folder. shift: where the axis lands, fractions from
    the picture's centre, right and up; of an oblique camera, where depth 0 of the axis does. oblique: drawn
    over true length of receding lines, and their direction on screen in degrees; None if it is not.
    picture_mm: width and height of the picture on the gate, or None.
    """

    name: str
    view: NDArray[np.float64]
    vfov_deg: float | None
    aspect: float | None
    view_height_m: float | None
    near_m: float
    far_m: float | None
    file: str = ""
    shift: tuple[float, float] = (0.0, 0.0)
    oblique: tuple[float, float] | None = None
    picture_mm: tuple[float, float] | None = None

    @property
    def is_plain(self) -> bool:
        """Whether it is neither shifted nor oblique, so that any format holds it."""
        return self.oblique is None and self.shift == (0.0, 0.0)


@dataclass(frozen=True, slots=True, eq=False)
class Scene:
    """All that is drawn. Node k has id k + 1; names are unique.

    digest: hex SHA-256 of the geometry and names (not of paths). notes: plain sentences about what
    was found odd on the way in (a lone line, an empty node), for a person. in_colour: its files ask for own
    colours to be shown, whatever a drawing shows.
    """

    nodes: tuple[Node, ...]
    digest: str = ""
    cameras: tuple[SceneCamera, ...] = ()
    notes: tuple[str, ...] = ()
    in_colour: bool = False
    _index: dict[str, int] = field(default_factory=dict, repr=False)
    _found: dict[str, NDArray[np.float64]] = field(default_factory=dict, init=False, repr=False)

    def __post_init__(self) -> None:
        object.__setattr__(self, "_index", {node.name: k for k, node in enumerate(self.nodes)})

    def __contains__(self, name: str) -> bool:
        return name in self._index

    @property
    def names(self) -> KeysView[str]:
        """The nodes' names, in scene order."""
        return self._index.keys()

    def node(self, name: str) -> Node:
        """The node of that name; KeyError if there is none."""
        return self.nodes[self._index[name]]

    def id_of(self, name: str) -> int:
        """Id of the node in frames: its place in the scene, counted from 1."""
        return self._index[name] + 1

    def matching(self, pattern: str) -> tuple[str, ...]:
        """Names that equal `pattern`, or else match it as a wildcard (*, ?), in scene order."""
        return matching_names(pattern, self.names)

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

    @property
    def node_bounds(self) -> NDArray[np.float64]:
        """Lowest and highest corner of every node, (n, 2, 3), in scene order."""
        if "each" not in self._found:
            each = np.array([node.bounds for node in self.nodes], dtype=np.float64).reshape(-1, 2, 3)
            each.flags.writeable = False
            self._found["each"] = each
        return self._found["each"]
