"""What players may change of a camera, each range judged at both of its ends."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Annotated, Any, Literal

from pydantic import Field

from stationpoint.base.complaints import quoted_value
from stationpoint.base.words import DEGREE, plain
from stationpoint.study.camera_keys import Angle, CameraFields
from stationpoint.study.table import Given, Number, Positive, Table, numbers, value_of

Shoulder = Literal["left", "right"]
RANGES = ("hfov_deg", "distance_m", "anchor_height_m")
SHOULDER = "shoulder"
SIGNS = {"left": 1.0, "right": -1.0}  # over the right shoulder the subject stands left of the middle
AT_EYES = ("distance_m", SHOULDER)  # what a camera at the subject's eyes has no use for
WORDS = {
    "hfov_deg": "at {}" + DEGREE + " wide",
    "distance_m": "{} m away",
    "anchor_height_m": "with the anchor {} m up",
    SHOULDER: "over the {} shoulder",
}


class Options(Table):
    """What players may change: the least and the most of a camera's key, and over which shoulder it looks:
    the sign of its offset's x."""

    hfov_deg: tuple[Angle, Angle] | None = None
    distance_m: tuple[Positive, Positive] | None = None
    anchor_height_m: tuple[Number, Number] | None = None
    shoulder: Annotated[tuple[Shoulder, ...], Field(min_length=1, max_length=2)] | None = None

    @classmethod
    def rules(cls, given: Given) -> Iterator[str]:
        for key in RANGES:
            ends = numbers(given.get(key), 2)
            if ends and ends[0] >= ends[1]:
                yield f"{key} is {quoted_value(ends)} (least, most), least must be below most"
        sides = given.get(SHOULDER)
        if isinstance(sides, list | tuple) and len(sides) == 2 and sides[0] == sides[1]:
            yield f"shoulder names {quoted_value(sides[0])} twice; left and right are judged"

    @property
    def ends(self) -> tuple[OptionEnd, ...]:
        """Each end of each range, in the order of the keys."""
        keys = (*RANGES, SHOULDER)
        return tuple(OptionEnd(key, value) for key in keys for value in getattr(self, key) or ())


@dataclass(frozen=True, slots=True)
class OptionEnd:
    """One end of what players may change."""

    key: str
    value: float | str

    @property
    def words(self) -> str:
        """Where the camera is then: "at 110° wide"."""
        return WORDS[self.key].format(plain(self.value, 2) if isinstance(self.value, float) else self.value)

    @property
    def said(self) -> str:
        """As the record has it: "hfov_deg=110"."""
        return f"{self.key}={format(self.value, '.6g') if isinstance(self.value, float) else self.value}"

    def changes(self, camera: CameraFields) -> Mapping[str, Any] | None:
        """What it changes of a camera; None where that is as it is already, or has no such thing."""
        if self.key != SHOULDER:
            is_lens = self.key == "hfov_deg" and camera.projection != "perspective"
            return None if is_lens or getattr(camera, self.key) == self.value else {self.key: self.value}
        x, y = camera.offset
        moved = SIGNS[str(self.value)] * abs(x)
        return None if moved == x else {"offset": (moved, y)}


def options_rules(options: object, camera: object, swept: frozenset[str]) -> Iterator[str]:
    """What is wrong with options beside the study's camera, as sentences; both are data or made already.
    swept: fields on the axes."""
    said = [key for key in AT_EYES if value_of(options, key) is not None]
    if value_of(camera, "first_person") is True and said:
        yield (
            f"[options] {said[0]} means nothing beside first_person = true, which puts the eye at the "
            "subject's; take it out"
        )
        return
    offset = numbers(value_of(camera, "offset") or (0.0, 0.0), 2)
    if SHOULDER in said and offset and offset[0] == 0 and "offset" not in swept:
        yield "[options] shoulder is the sign of the offset's x, which is 0; give [camera] an offset"
