"""The study file as frozen pydantic models; keys that are not known are forbidden."""

from __future__ import annotations

from typing import Annotated, Any, Literal

from pydantic import BaseModel, ConfigDict, Field

Vec2 = tuple[float, float]
Vec3 = tuple[float, float, float]
Role = Literal["primary", "secondary", "tertiary"]
Positive = Annotated[float, Field(gt=0, le=1e6)]


class Strict(BaseModel):
    """Frozen, no unknown keys, no NaN or infinity."""

    model_config = ConfigDict(
        extra="forbid", frozen=True, populate_by_name=True, allow_inf_nan=False, strict=False
    )


class Subject(Strict):
    """What the player controls. Its foot is `at`, or the foot of `node`."""

    name: str = "subject"
    at: Vec3 | None = None
    node: str | None = None
    height_m: Annotated[float, Field(gt=0, le=1000)] = 1.7
    heading_deg: float = 0.0


class Target(Strict):
    """A named thing to be read: one node, several (`nodes`, wildcards), a point, or a box."""

    name: str
    node: str | None = None
    nodes: str | tuple[str, ...] | None = None
    at: Vec3 | None = None
    size: Vec3 | None = None
    role: Role = "primary"
    like: tuple[str, ...] = ()
    with_: tuple[str, ...] = Field(default=(), alias="with")


class Jump(Strict):
    """A ballistic jump: level speed, apex height, gravity."""

    speed_mps: Positive
    apex_m: Positive
    gravity_mps2: Positive = 9.81


class Gap(Strict):
    """A take-off, a landing, and how far the player gets (one of reach_m, reach, jump, or none)."""

    name: str
    from_: Vec3 = Field(alias="from")
    to: Vec3
    reach_m: Positive | None = None
    reach: tuple[Vec2, ...] | None = None
    jump: Jump | None = None
    landing: str | None = None


class Place(Strict):
    """Where the subject stands and what has moved."""

    name: str
    at: Vec3 | None = None
    heading_deg: float | None = None
    move: dict[str, Vec3] = {}


class CameraFields(Strict):
    """A camera as the study writes it."""

    projection: Literal["perspective", "orthographic", "oblique"] = "perspective"
    focal_mm: Annotated[float, Field(gt=0, le=10000)] | None = None
    hfov_deg: Annotated[float, Field(gt=0, lt=180)] | None = None
    vfov_deg: Annotated[float, Field(gt=0, lt=180)] | None = None
    dfov_deg: Annotated[float, Field(gt=0, lt=180)] | None = None
    view_height_m: Positive | None = None
    gate_mm: tuple[Positive, Positive] = (36.0, 24.0)
    fit: Literal["width", "height", "diagonal"] = "width"
    distance_m: Positive | None = None
    pitch_deg: Annotated[float, Field(ge=-90, le=90)] = 20.0
    yaw_deg: float = 0.0
    roll_deg: float = 0.0
    anchor_height_m: float = 0.0
    offset: Vec2 = (0.0, 0.0)
    offset_by: Literal["slide", "turn", "shift"] | None = None
    oblique_ratio: Literal["cavalier", "cabinet"] | Annotated[float, Field(ge=0, le=10)] = "cabinet"
    oblique_angle_deg: float = 45.0
    aspect: str | None = None
    aspect_policy: Literal["height", "width", "diagonal"] = "height"
    near_m: Positive = 0.1
    far_m: Positive | None = None
    from_: str | None = Field(default=None, alias="from")


class Light(Strict):
    """Where the one light comes from: yaw as a camera's (0 from +Z), pitch above the horizon."""

    yaw_deg: float
    pitch_deg: Annotated[float, Field(gt=0, le=90)] = 50.0


class Sweep(Strict):
    """Axis -> field -> values; several fields on one axis move together."""

    rows: dict[str, tuple[Any, ...]] = {}
    columns: dict[str, tuple[Any, ...]] = {}
    pages: dict[str, tuple[Any, ...]] = {}
    hold: Literal["nothing", "subject-scale", "subject-height"] = "nothing"


class Viewing(Strict):
    """A screen, a seat and the part of the screen that the picture fills."""

    name: str
    diagonal_in: Positive
    pixels: tuple[Annotated[int, Field(gt=0, le=16384)], Annotated[int, Field(gt=0, le=16384)]]
    eye_distance_m: Positive
    part: tuple[float, float, float, float] = (0.0, 0.0, 1.0, 1.0)


class Reserved(Strict):
    """Interface that will cover the picture; rect is left, top, right, bottom."""

    name: str
    rect: tuple[float, float, float, float]
    opacity: Annotated[float, Field(ge=0, le=1)] = 1.0


class Limit(Strict):
    """One line of the brief."""

    reading: str
    min: float | None = None
    max: float | None = None
    is_: Any = Field(default=None, alias="is")
    not_: Any = Field(default=None, alias="not")
    one_of: tuple[Any, ...] | None = None
    role: Role | None = None
    viewing: str | None = None
    place: str | None = None
    level: Literal["must", "should"] = "must"
    if_absent: Literal["fail", "skip"] = "fail"
    why: str = ""


Aid = Literal["ground-texture", "cast-shadow", "drop-marker"]

DESK = Viewing(name="desk", diagonal_in=24, pixels=(1920, 1080), eye_distance_m=0.6)


class Study(Strict):
    """A whole study file."""

    title: str = ""
    scene: str
    here: bool = True
    aids: tuple[Aid, ...] = ()
    subject: Subject | None = None
    target: tuple[Target, ...] = ()
    gap: tuple[Gap, ...] = ()
    place: tuple[Place, ...] = ()
    camera: CameraFields = CameraFields()
    light: Light | None = None
    sweep: Sweep = Sweep()
    viewing: tuple[Viewing, ...] = ()
    reserved: tuple[Reserved, ...] = ()
    limit: tuple[Limit, ...] = ()

    @property
    def viewings(self) -> tuple[Viewing, ...]:
        """The study's viewings, or the desk where it names none."""
        return self.viewing or (DESK,)

    @property
    def places(self) -> tuple[Place, ...]:
        """The places to judge: the study as it stands ("here", unless here = false), then others."""
        here = (Place(name="here"),) if self.here or not self.place else ()
        return here + self.place
