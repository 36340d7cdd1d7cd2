"""Small scenes of boxes, made by hand."""

from __future__ import annotations

import numpy as np

from stationpoint.scene.types import Node, Scene

FACES = np.array([[0, 1, 2]])


def node(
    name: str, low: tuple[float, float, float], high: tuple[float, float, float], kind: str = "box"
) -> Node:
    """A node with these corners; its one face is all that names and bounds need."""
    return Node(name, np.array([low, high, (low[0], high[1], low[2])], dtype=np.float32), FACES, kind=kind)


def quay_scene() -> Scene:
    """A quay 20 m x 12 m on its ground, three barges, a plinth and a crane without a name."""
    return Scene(
        (
            node("ground", (-30, 0, -30), (30, 0, 30), kind="ground"),
            node("wall", (-10, 0, -6), (10, 3, -5.8)),
            node("barge-1", (-3, 0, 0), (-1, 0.8, 3)),
            node("barge-2", (0, 0, 0), (2, 0.8, 3)),
            node("barge-3", (4, 0, 0), (6, 0.8, 3)),
            node("plinth-3", (4.5, 0.8, 1), (5, 1.2, 1.5)),
            node("part-1", (0, 0, -1), (0.5, 2, -0.5)),
            node("mat", (0, 0, -1), (1, 0.001, 0)),
            node("far end", (9.5, 0, 5.5), (10, 1, 6)),
        )
    )
