"""What stands at the cameras of plan and side view."""

from __future__ import annotations

from collections.abc import Sequence

from stationpoint.base.words import plain
from stationpoint.readings import Result


def camera_labels(results: Sequence[Result], swept: frozenset[str]) -> tuple[dict[str, str], str]:
    """What stands at the plan's cameras, and what it means: the values of one axis where the other
    moves no perspective camera, else the variants' labels."""
    solid = [result for result in results if not result.setup.camera.parallel] or list(results)
    dashed = any(result.setup.camera.parallel for result in results)
    note = "dashed: parallel view" if dashed else ""
    moving = {field for result in solid for field, _ in result.variant.changes if field in swept}
    values = {field: {repr(dict(t.variant.changes).get(field)) for t in solid} for field in moving}
    moving = {field for field in moving if len(values[field]) > 1}
    units = {
        "focal_mm": "lens, mm",
        "distance_m": "distance, m",
        "pitch_deg": "pitch, degrees down",
        "yaw_deg": "yaw, degrees left",
    }
    if len(moving) == 1 and moving <= set(units):
        field = next(iter(moving))
        labels = {t.variant.label: plain(float(dict(t.variant.changes)[field]), 1) for t in solid}
        return labels, "; ".join(part for part in (units[field], note) if part)
    is_one_page = len({t.variant.page for t in results}) == 1
    return {t.variant.label: t.variant.label.rsplit("-", is_one_page)[-1] for t in solid}, note
