"""The sweep: axes -> variants, labels, keys, pages. No scene, no optics."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from stationpoint.study.models import CameraFields, Light


@dataclass(frozen=True, slots=True)
class Variant:
    """One camera set-up of the sweep.

    label: "B3", or "2-B3" when there are pages. key: 6 hex digits made from its settings.
    page, row, column: counted from 0. changes: (field, value) pairs as swept, rows first.
    camera: the study's with the changes applied. place, viewing: names, where these are swept.
    light: where that is swept or given. held: the camera fields before this variant's changes of
    lens, which `hold` compares with (the study's own camera).
    """

    label: str
    key: str
    page: int
    row: int
    column: int
    changes: tuple[tuple[str, Any], ...]
    camera: CameraFields
    base: CameraFields
    hold: str = "nothing"
    place: str | None = None
    viewing: str | None = None
    light: Light | None = None
