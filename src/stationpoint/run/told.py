"""Words for a picture whose camera stands in something, or that shows one thing alone: what the camera is in,
and what fills the picture."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from stationpoint.base.geometry.pixels import id_counts
from stationpoint.camera import Setup
from stationpoint.readings import Case, Path, Value
from stationpoint.run.setup_notes import UNDER_GROUND
from stationpoint.scene import Node, is_inside

FILLED_SHARE = 0.99  # of the picture's pixels
IN_BODY_M = 0.5  # over the foot, where the anchor is lower


def holds_body(node: Node, setup: Setup) -> bool:
    """Whether a closed solid holds the subject, too, as a room's shell does: its anchor, or a spot between
    that and the foot. In first person the anchor is the eye, which tells nothing."""
    x, y, z = setup.foot_m
    spots = [(x, y + max(setup.anchor_height_m / 2, IN_BODY_M), z)]
    return any(is_inside(node, spot) for spot in spots + ([] if setup.at_anchor else [setup.anchor_m]))


def stands_words(case: Case, values: dict[Path, Value]) -> str:
    """Such as "camera inside wall", of a closed solid that does not hold the subject as well; "" where it
    stands free, or among open meshes, where nobody can tell. values: with framing read."""
    if UNDER_GROUND in case.setup.notes:
        return "camera under the ground"
    name = values.get(("framing", "camera_inside"))
    if not isinstance(name, str) or holds_body(case.scene.node(name), case.setup):
        return ""
    return f"camera inside {name}"


def filled_words(case: Case, values: dict[Path, Value], ids: NDArray[np.uint32]) -> str:
    """Such as "only wall in the picture", of what fills 99 % of it while no target and no subject is seen; ""
    where there is more. ids: (h, w), of the picture."""
    if any(path[-1] == "seen" and isinstance(value, float) and value > 0 for path, value in values.items()):
        return ""
    counts = id_counts(ids, 1)
    most = int(counts.argmax())
    if counts[most] < FILLED_SHARE * ids.size:
        return ""
    return f"only {case.scene.nodes[most - 1].name} in the picture" if most else "nothing in the picture"
