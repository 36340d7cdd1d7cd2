"""How many processes of this machine pay for a study."""

from __future__ import annotations

from stationpoint.render import has_context
from stationpoint.run.cases import cases_count
from stationpoint.run.prepare import Prepared
from stationpoint.run.workers.processes import can_fork, free_bytes, processors

MOST_WORKERS = 8  # unless more are asked for
TAKES_PER_WORKER = 4
MANY_TRIANGLES = 300_000  # so many more cost each process as much time as three times the takes
TRIANGLE_BYTES = 1500  # that each process holds for itself


def workers_worth(prepared: Prepared) -> int:
    """How many processes pay for a study: each must be worth its start and its own copy of the scene."""
    if not (can_fork() and not has_context()):
        return 1
    triangles = sum(len(node.faces) for node in prepared.scene.nodes)
    takes = TAKES_PER_WORKER * (1 + 3 * (triangles // MANY_TRIANGLES))
    most = min(processors(), MOST_WORKERS, cases_count(prepared) // takes)
    if triangles >= MANY_TRIANGLES:
        most = min(most, free_bytes() // (TRIANGLE_BYTES * triangles))
    return max(1, most)


def may_share(prepared: Prepared) -> bool:
    """Whether little work on a study is shared with other processes unasked: they start at once, and its
    scene is not too large for a copy each."""
    triangles = sum(len(node.faces) for node in prepared.scene.nodes)
    return can_fork() and not has_context() and triangles <= MANY_TRIANGLES
