"""What `check --nodes` lists: nodes by name, with their sizes, heights, and the floors under them."""

from __future__ import annotations

from collections.abc import Iterator

from stationpoint.base.allowed import quoted_value
from stationpoint.base.complaints import unknown_word
from stationpoint.base.errors import StudyWrong
from stationpoint.base.words import TIMES, columns_wide, plain
from stationpoint.scene import Node, Scene, floor_under

HEADS = ("name", "size x, y, z (m)", "bottom (m)", "top (m)", "floor under it (m)")
SAME_M = 0.005  # what stands so near above a surface stands on it


def node_table(scene: Scene, pattern: str) -> list[str]:
    """The lines of a table of the nodes that a name or pattern matches, in the scene's order.

    The floor under a node is the highest level surface of another node under the middle of its base.
    StudyWrong where nothing matches.
    """
    names = scene.matching(pattern)
    if not names:
        if "*" in pattern or "?" in pattern:
            raise StudyWrong(f"--nodes: {quoted_value(pattern)} matches no node of the scene.")
        known = [node.name for node in scene.nodes]
        raise StudyWrong(f"--nodes: {unknown_word(pattern, known, 'a node of the scene')}")
    rows = [HEADS, *(_row(scene, scene.node(name)) for name in names)]
    widths = [max(columns_wide(row[k]) for row in rows) for k in range(len(HEADS))]
    return [
        "  ".join(
            cell + " " * (width - columns_wide(cell)) for cell, width in zip(row, widths, strict=True)
        ).rstrip()
        for row in rows
    ]


def _row(scene: Scene, node: Node) -> tuple[str, ...]:
    low, high = node.bounds
    size = f" {TIMES} ".join(plain(extent, 2) for extent in (high - low).tolist())
    return (node.name, size, plain(float(low[1]), 2), plain(float(high[1]), 2), _floor(scene, node))


def _floor(scene: Scene, node: Node) -> str:
    best: tuple[float, str] | None = None
    for other in _near(scene, node):
        height = floor_under(scene, node.foot, [other])
        if height is not None and (best is None or height > best[0]):
            best = (height, other)
    if best is None:
        return "none"
    over = float(node.foot[1]) - best[0]
    return f"{plain(best[0], 2)} {best[1]}" + ("" if over <= SAME_M else f", {plain(over, 2)} below it")


def _near(scene: Scene, node: Node) -> Iterator[str]:
    """Names of other nodes whose bounds the middle of a node's base is over."""
    x, y, z = node.foot
    for other in scene.nodes:
        low, high = other.bounds
        if other is not node and low[0] <= x <= high[0] and low[2] <= z <= high[2] and low[1] <= y + SAME_M:
            yield other.name
