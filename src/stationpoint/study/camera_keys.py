"""The camera and the light as a study writes them."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from math import isfinite
from typing import Annotated, Any, ClassVar, Literal

from pydantic import AfterValidator, BeforeValidator, Field, Strict

from stationpoint.base.allowed import written
from stationpoint.base.words import listed
from stationpoint.study.table import (
    Flag,
    Given,
    Name,
    NotNegative,
    NotTiny,
    Number,
    Positive,
    Table,
    Vec2,
    numbers,
)

LENS_KEYS = ("focal_mm", "hfov_deg", "vfov_deg", "dfov_deg")  # four ways to say one thing
POSE_FIELDS = ("distance_m", "pitch_deg", "yaw_deg", "roll_deg", "offset", "offset_by")
FILE_FIELDS = frozenset(
    {"projection", *LENS_KEYS, "view_height_m", "oblique_ratio", "oblique_angle_deg", *POSE_FIELDS}
)  # what a file's camera says
SLIPS = {  # words that people write -> the key
    **dict.fromkeys(("fov", "fov_deg", "field_of_view", "fov_x", "angle_of_view"), "hfov_deg"),
    **dict.fromkeys(("vertical_fov", "fov_y"), "vfov_deg"),
    **dict.fromkeys(("lens", "lens_mm", "focal_length"), "focal_mm"),
    **dict.fromkeys(("dist", "boom", "boom_m", "arm_length"), "distance_m"),
    **dict.fromkeys(("height", "height_m", "eye_height", "aim_height"), "anchor_height_m"),
    **dict.fromkeys(("tilt", "tilt_deg", "elevation", "elevation_deg"), "pitch_deg"),
    **dict.fromkeys(("pan", "pan_deg", "azimuth", "azimuth_deg", "heading_deg"), "yaw_deg"),
}
EYE_SHARE = 0.94
"""Height of the eyes over that of the body: common practice, a little more than people measure (medians of
stature and eye height of men in DIN 33402-2: 1750 and 1630 mm, 0.931). Of a body that crouches or sits it
is a guess. A game that knows its own writes anchor_height_m."""
AWAY_FROM_EYES = ("distance_m", "offset", "offset_by", "from")  # what a camera at the eyes has no use for
ASPECT_RULE = 'must be two numbers above 0 as in "16:9", or one number from 0.01 to 100'

Angle = Annotated[float, Strict(), Field(gt=0, lt=180), NotTiny]


def aspect_ratio(words: str) -> float:
    """Width over height, as written: aspect_ratio("21:9") is 7 / 3, aspect_ratio("1.85") is 1.85.

    Raises ValueError with the rule where the words are no aspect.
    """
    pieces = words.split(":")
    try:
        sides = [float(piece) for piece in pieces]
    except ValueError:
        raise ValueError(ASPECT_RULE) from None
    if len(sides) > 2 or not all(isfinite(side) and side > 0 for side in sides):
        raise ValueError(ASPECT_RULE)
    ratio = sides[0] / sides[1] if len(sides) == 2 else sides[0]
    if not 0.01 <= ratio <= 100:
        raise ValueError(ASPECT_RULE)
    return ratio


def _aspect_words(value: object) -> object:
    if isinstance(value, int | float) and not isinstance(value, bool):
        return written(value)
    return value


def _is_aspect(words: str) -> str:
    aspect_ratio(words)
    return words


def _names_camera(words: str) -> str:
    file, mark, camera = words.partition("#")
    if not (file and mark and camera):
        raise ValueError('must be a file and the name of a camera in it, as in "level.glb#Name"')
    return words


class CameraFields(Table):
    """A camera as the study writes it."""

    either: ClassVar[tuple[tuple[str, ...], ...]] = (LENS_KEYS,)
    slips: ClassVar[Mapping[str, str]] = SLIPS
    meant: ClassVar[tuple[str, ...]] = ("near_m",)  # else it comes as near as the scene does

    projection: Literal["perspective", "orthographic", "oblique"] = "perspective"
    focal_mm: Annotated[float, Strict(), Field(gt=0, le=10000), NotTiny] | None = None
    hfov_deg: Angle | None = None
    vfov_deg: Angle | None = None
    dfov_deg: Angle | None = None
    view_height_m: Positive | None = None
    gate_mm: tuple[Positive, Positive] = (36.0, 24.0)
    fit: Literal["width", "height", "diagonal"] = "width"
    distance_m: Positive | None = None
    margin_m: NotNegative = 0.0
    pitch_deg: Annotated[float, Strict(), Field(ge=-90, le=90)] = 20.0
    yaw_deg: Number = 0.0
    roll_deg: Number = 0.0
    anchor_height_m: Number = 0.0
    offset: Vec2 = (0.0, 0.0)
    offset_by: Literal["slide", "turn", "shift"] | None = None
    oblique_ratio: Literal["cavalier", "cabinet"] | Annotated[float, Strict(), Field(ge=0, le=10)] = "cabinet"
    oblique_angle_deg: Number = 45.0
    aspect: Annotated[str, BeforeValidator(_aspect_words), AfterValidator(_is_aspect)] | None = None
    aspect_policy: Literal["height", "width", "diagonal"] = "height"
    near_m: Positive = 0.1
    far_m: Positive | None = None
    blocked: Literal["show", "pull-in"] = "show"
    passes: tuple[Name, ...] = ()
    from_: Annotated[str, AfterValidator(_names_camera)] | None = Field(default=None, alias="from")
    first_person: Flag = False

    def said(self) -> dict[str, Any]:
        """What the table says. Beside `from`, what is written as by default says something, too; so does an
        anchor's height at the eyes."""
        beside = FILE_FIELDS & self.model_fields_set if self.from_ is not None else frozenset[str]()
        if self.first_person:
            beside |= {"anchor_height_m"} & self.model_fields_set
        written = self.model_dump(mode="json", by_alias=True, exclude_none=True, include=set(beside))
        return super().said() | written

    @classmethod
    def rules(cls, given: Given) -> Iterator[str]:
        offset = numbers(given.get("offset"), 2)
        if offset and any(offset) and not {"offset_by", "from_"} & given.keys():
            yield 'offset is other than zero and needs offset_by = "slide", "turn" or "shift"'
        if given.get("first_person") is True:
            yield from _eyes_rules(given)
        ends = numbers([given.get("near_m", 0.1), given.get("far_m")])
        if ends and 0 < ends[1] <= ends[0]:
            yield f"far_m is {ends[1]:g}, must be above near_m, which is {ends[0]:g}"


def eyes_rule(said: Sequence[str], where: str = "") -> str:
    """What is wrong with keys that mean nothing beside first_person = true."""
    them, mean = ("it", "means") if len(said) == 1 else ("them", "mean")
    return (
        f"first_person = true puts the eye at the subject's, so {listed(said)}{where} {mean} nothing; "
        f"take {them} out"
    )


def _eyes_rules(given: Given) -> Iterator[str]:
    said = [key for key in AWAY_FROM_EYES if {"from": "from_"}.get(key, key) in given]
    if said:
        yield eyes_rule(said)
    if given.get("projection", "perspective") != "perspective":
        yield 'first_person = true needs projection = "perspective": a parallel view has no eye'


class Light(Table):
    """Where the one light comes from: yaw as a camera's (0 from +Z), pitch above the horizon."""

    yaw_deg: Number
    pitch_deg: Annotated[float, Strict(), Field(gt=0, le=90), NotTiny] = 50.0


def camera_keys() -> dict[str, Any]:
    """The camera's keys as written in a file -> the name of the field."""
    return {field.alias or name: name for name, field in CameraFields.model_fields.items()}
