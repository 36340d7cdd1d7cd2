"""The study file as frozen pydantic models; keys that are not known are forbidden."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from itertools import pairwise
from typing import Annotated, Any, ClassVar, Literal

from pydantic import Field, PrivateAttr, Strict, ValidationInfo, field_validator

from stationpoint.base.complaints import quoted_value
from stationpoint.study.axes import ALL_IN_FRAME, AXES, EVERY, HOLDING, NAMED, settled_axis, sweep_rules
from stationpoint.study.camera_keys import AWAY_FROM_EYES, CameraFields, Light, aspect_ratio, eyes_rule
from stationpoint.study.decision import Decision, Note
from stationpoint.study.options import Options, options_rules
from stationpoint.study.rig import Rig, rigs_rules
from stationpoint.study.subject import SPOT_SLIPS, BodyHeight, Subject, named_twice, names_in
from stationpoint.study.table import (
    Amount,
    Flag,
    Given,
    Name,
    NotNegative,
    NotTiny,
    Number,
    Positive,
    Share,
    Spot,
    Table,
    Vec2,
    Vec3,
    numbers,
    value_of,
)

__all__ = [
    "DESK",
    "HERE",
    "Aid",
    "CameraFields",
    "Gap",
    "Jump",
    "Light",
    "Limit",
    "MeshKeys",
    "Place",
    "Reserved",
    "Role",
    "Study",
    "Subject",
    "Sweep",
    "Target",
    "Vec2",
    "Vec3",
    "Viewing",
    "aspect_ratio",
]

HERE = "here"  # the study as it stands, as a place
FURTHER = "further subject"  # the alias of `others`: where a file's second and further [[subject]] go
TESTS = ("min", "max", "is", "not", "one_of")
MOST_PIXELS = 16384

Role = Literal["primary", "secondary", "tertiary"]
Aid = Literal["ground-texture", "cast-shadow", "drop-marker"]
Scalar = Flag | Amount | str
Pixels = Annotated[int, Strict(), Field(gt=0, le=MOST_PIXELS)]
Rect = tuple[Share, Share, Share, Share]
RenderScale = Annotated[float, Strict(), Field(ge=0.1, le=4)]
Axis = dict[str, tuple[Any, ...]]


class MeshKeys(Table):
    """How the mesh file that `scene` names is taken; the same keys as in a scene file's [[mesh]]."""

    up: Literal["y", "z"] = "y"
    scale: Positive = 1.0
    at: Vec3 = (0.0, 0.0, 0.0)
    hide: tuple[Name, ...] = ()
    walkable: Flag | tuple[Name, ...] = False
    backs: Literal["closed", "open"] | tuple[Name, ...] = "closed"
    materials: Literal["clay", "own"] = "clay"


class Target(Table):
    """A named thing to be read: one node, several (`nodes`, wildcards), a point, or a box."""

    either: ClassVar[tuple[tuple[str, ...], ...]] = (("node", "nodes", "at"),)
    slips: ClassVar[Mapping[str, str]] = SPOT_SLIPS

    name: Name
    node: Name | None = None
    nodes: Name | tuple[Name, ...] | None = None
    at: Spot | None = None
    size: tuple[NotNegative, NotNegative, NotNegative] | None = None
    role: Role = "primary"
    like: tuple[Name, ...] = ()
    with_: tuple[Name, ...] = Field(default=(), alias="with")

    @classmethod
    def rules(cls, given: Given) -> Iterator[str]:
        if not {"node", "nodes", "at"} & set(given):
            yield "needs one of node, nodes or at"
        if given.get("nodes") in ((), []):
            yield "nodes is empty; name at least one node"
        if "size" in given and "at" not in given:
            yield "size stands with at only (a box on its base centre); a node has its own size"
        size = numbers(given.get("size"), 3)
        if size and not any(size):
            yield "size is zero throughout; leave it out for a point"


class Jump(Table):
    """A ballistic jump: level speed, apex height, gravity."""

    speed_mps: Positive
    apex_m: Positive
    gravity_mps2: Positive = 9.81


class Gap(Table):
    """A take-off, a landing, and how far the player gets (one of reach_m, reach, jump, or none)."""

    either: ClassVar[tuple[tuple[str, ...], ...]] = (("reach_m", "reach", "jump"),)

    name: Name
    from_: Spot = Field(alias="from")
    to: Spot
    reach_m: Positive | None = None
    reach: tuple[tuple[Number, NotNegative], ...] | None = None
    jump: Jump | None = None
    landing: Name | None = None

    @classmethod
    def rules(cls, given: Given) -> Iterator[str]:
        start, end = (numbers(one, 3) or one for one in (given.get("from_"), given.get("to")))
        if isinstance(start, str | tuple) and start == end:
            yield "from and to are the same point"
        table = given.get("reach")
        if isinstance(table, list | tuple):
            rows = [numbers(row, 2) for row in table]
            heights = [row[0] for row in rows if row]
            if len(table) < 2:
                yield "reach needs at least two rows of [height, metres]; for level reach alone use reach_m"
            elif all(rows) and any(b <= a for a, b in pairwise(heights)):
                yield f"reach must go from low to high, its heights are {quoted_value(heights)}"


class Place(Table):
    """Where the subject stands and what has moved; or many of them: one a node of `nodes`, one a line of
    `file`, one every `every_m` metres along a line."""

    either: ClassVar[tuple[tuple[str, ...], ...]] = (("at", "nodes", "file", "along"),)
    slips: ClassVar[Mapping[str, str]] = SPOT_SLIPS

    name: Name = ""
    at: Spot | None = None
    heading_deg: Number | None = None
    height_m: BodyHeight | None = None
    move: dict[str, Vec3] = Field(default_factory=dict)
    nodes: Name | None = None
    file: Name | None = None
    along: tuple[Spot, ...] | None = None
    every_m: Positive | None = None

    @property
    def is_many(self) -> bool:
        """Whether it stands for as many places as its nodes, file or line give."""
        return not (self.nodes is None and self.file is None and self.along is None)

    @classmethod
    def rules(cls, given: Given) -> Iterator[str]:
        if "name" not in given and not {"nodes", "file"} & set(given):
            yield "name is missing, must be text, not empty"
        line = given.get("along")
        if isinstance(line, list | tuple) and len(line) < 2:
            yield "along needs two points or more"
        if ("along" in given) != ("every_m" in given):
            yield "along and every_m stand together: a line, and how far apart the places on it are"


class Sweep(Table):
    """Axis -> field -> values; several fields on one axis move together."""

    rows: Axis = Field(default_factory=dict)
    columns: Axis = Field(default_factory=dict)
    pages: Axis = Field(default_factory=dict)
    hold: Literal["nothing", "subject-scale", "subject-height", "all-in-frame"] = "nothing"

    @field_validator("rows", "columns", "pages", mode="before")
    @classmethod
    def _every(cls, axis: object) -> object:
        if not isinstance(axis, Mapping):
            return axis
        return {
            field: [values] if field in NAMED and values == EVERY else values
            for field, values in axis.items()
        }

    @field_validator("rows", "columns", "pages")
    @classmethod
    def _checked_values(cls, axis: Axis, info: ValidationInfo) -> Axis:
        return settled_axis(str(info.field_name), axis)

    @classmethod
    def rules(cls, given: Given) -> Iterator[str]:
        axes = {axis: given[axis] for axis in AXES if isinstance(given.get(axis), Mapping)}
        yield from sweep_rules(axes, given.get("hold"))


class Viewing(Table):
    """A screen, a seat and the part of the screen that the picture fills: left, top, right, bottom."""

    name: Name
    diagonal_in: Annotated[float, Strict(), Field(gt=0, le=10000), NotTiny]
    pixels: tuple[Pixels, Pixels]
    eye_distance_m: Annotated[float, Strict(), Field(gt=0, le=1000), NotTiny]
    part: Rect = (0.0, 0.0, 1.0, 1.0)
    render_scale: RenderScale = 1.0

    @property
    def drawn_px(self) -> tuple[float, float]:
        """Width and height of what the game draws for the whole screen, pixels."""
        return self.pixels[0] * self.render_scale, self.pixels[1] * self.render_scale

    @classmethod
    def rules(cls, given: Given) -> Iterator[str]:
        yield from _rect_rules("part", given.get("part"))
        sides, scale = numbers(given.get("pixels"), 2), numbers([given.get("render_scale")])
        if sides and scale and max(sides) <= MOST_PIXELS < max(sides) * scale[0]:
            most = max(sides) * scale[0]
            yield f"render_scale draws {most:g} px a side; at most {MOST_PIXELS} are drawn"


class Reserved(Table):
    """Interface that will cover the picture; rect is left, top, right, bottom."""

    name: Name
    rect: Rect
    opacity: Share = 1.0

    @classmethod
    def rules(cls, given: Given) -> Iterator[str]:
        yield from _rect_rules("rect", given.get("rect"))


def _rect_rules(key: str, value: object) -> Iterator[str]:
    sides = numbers(value, 4)
    if not sides or not all(0 <= side <= 1 for side in sides):
        return
    left, top, right, bottom = sides
    if left >= right:
        yield f"{key} is {quoted_value(value)} (left, top, right, bottom), left must be below right"
    if top >= bottom:
        yield f"{key} is {quoted_value(value)} (left, top, right, bottom), top must be below bottom"


class Limit(Table):
    """One line of the brief. One test: min, max or both; is; not; or one_of."""

    reading: Name
    min: Amount | None = None
    max: Amount | None = None
    is_: Scalar | None = Field(default=None, alias="is")
    not_: Scalar | None = Field(default=None, alias="not")
    one_of: Annotated[tuple[Scalar, ...], Field(min_length=1)] | None = None
    role: Role | None = None
    viewing: Name | None = None
    place: Name | None = None
    level: Literal["must", "should"] = "must"
    if_absent: Literal["fail", "skip"] = "fail"
    why: str = ""

    @classmethod
    def rules(cls, given: Given) -> Iterator[str]:
        tests = [test for test in TESTS if test in given or f"{test}_" in given]
        if not tests:
            yield "has no test; give min, max (or both), is, not or one_of"
        elif len(tests) > 1 and tests != ["min", "max"]:
            yield f"has more than one test ({', '.join(tests)}); only min and max go together"
        ends = numbers([given.get("min"), given.get("max")])
        if ends and ends[0] > ends[1]:
            yield f"min is {ends[0]:g}, must not be above max, which is {ends[1]:g}"


DESK = Viewing(name="desk", diagonal_in=24, pixels=(1920, 1080), eye_distance_m=0.6)


class Study(Table):
    """A whole study file."""

    title: str = ""
    scene: Name
    include: Name | None = None
    here: Flag = True
    fonts: tuple[Name, ...] = ()
    aids: tuple[Aid, ...] = ()
    show_aids: Literal["all", "shipped"] = "all"
    glance_factor: Positive = 3.0
    twin_shift_m: Positive | None = None
    awareness_m: Positive | None = None
    mesh: MeshKeys | None = None
    subject: Subject | None = None
    others: tuple[Subject, ...] = Field(default=(), alias="further subject")
    target: tuple[Target, ...] = ()
    gap: tuple[Gap, ...] = ()
    place: tuple[Place, ...] = ()
    camera: CameraFields = CameraFields()
    options: Options = Options()
    rig: tuple[Rig, ...] = ()
    light: Light | None = None
    sweep: Sweep = Sweep()
    viewing: tuple[Viewing, ...] = ()
    reserved: tuple[Reserved, ...] = ()
    limit: tuple[Limit, ...] = ()
    decision: Decision | None = None
    note: tuple[Note, ...] = ()

    @classmethod
    def rules(cls, given: Given) -> Iterator[str]:
        for table in ("target", "gap", "place", "viewing", "reserved", "rig"):
            yield from named_twice(f"[[{table}]]", given.get(table))
        yield from rigs_rules(given.get("rig"))
        subjects = [one for one in (given.get("subject"), *(given.get("others") or ())) if one is not None]
        yield from named_twice(
            "[[subject]]", [{"name": _value(one, "name") or "subject"} for one in subjects]
        )
        if given.get("others") and _value(given.get("camera"), "first_person") is True:
            yield "first_person = true is for one subject; make the others targets, or take them out"
        if _value(given.get("sweep"), "hold") == ALL_IN_FRAME and not subjects:
            yield f'hold = "{ALL_IN_FRAME}" needs a [[subject]] or more; add some, or use hold = "nothing"'
        scene = given.get("scene")
        if given.get("mesh") is not None and isinstance(scene, str) and scene.lower().endswith(".toml"):
            yield f"[mesh] says how a mesh file is taken; {quoted_value(scene)} says that in its own [[mesh]]"
        if HERE in names_in(given.get("place")) and given.get("here") is not False:
            yield 'place "here" is the study as it stands; give this place another name, or say here = false'
        yield from _eyes_swept(given)
        axes = (value_of(given.get("sweep"), axis) for axis in AXES)
        swept = frozenset(field for axis in axes if isinstance(axis, Mapping) for field in axis)
        yield from options_rules(given.get("options"), given.get("camera"), swept)
        if given.get("here") is False and not given.get("place"):
            yield "here = false leaves no place to judge; add a [[place]], or take it out"

    _asked_places: tuple[str, ...] = PrivateAttr(default=())

    def asking(self, places: tuple[str, ...]) -> Study:
        """The study of which only these places are wanted, some of them not known before the scene is."""
        asked = self.model_copy()
        asked._asked_places = places
        return asked

    @property
    def asked_places(self) -> tuple[str, ...]:
        """The places that are wanted, where that is to be settled yet; () for all."""
        return self._asked_places

    _sources: Mapping[str, str] = PrivateAttr(default_factory=dict)

    def written_in(self, sources: Mapping[str, str]) -> Study:
        """The study, of which these keys were written in other files. sources: key -> the file's name."""
        told = self.model_copy()
        told._sources = dict(sources)
        return told

    def with_source(self, complaint: str) -> str:
        """A complaint about an entry of the study, such as `limit "gaps.*": ...`, with the name of the file
        that it was included from before it."""
        table = complaint.partition(":")[0].partition(" ")[0]
        return f"{self._sources[table]}: {complaint}" if table in self._sources else complaint

    @property
    def mesh_keys(self) -> dict[str, Any]:
        """What [mesh] says, by its keys."""
        return {} if self.mesh is None else self.mesh.said()

    @property
    def viewings(self) -> tuple[Viewing, ...]:
        """The study's viewings, or the desk where it names none."""
        return self.viewing or (DESK,)

    @property
    def subjects(self) -> tuple[Subject, ...]:
        """All subjects, the player's own first."""
        return (() if self.subject is None else (self.subject,)) + self.others

    @property
    def shows_subject(self) -> bool:
        """Whether a subject is in the picture: there is one, and the camera is not at its eyes."""
        return self.subject is not None and not self.camera.first_person

    @property
    def places(self) -> tuple[Place, ...]:
        """The places to judge: the study as it stands ("here", unless here = false), then others."""
        here = (Place(name=HERE),) if self.here or not self.place else ()
        return here + self.place


def _eyes_swept(given: Given) -> Iterator[str]:
    """What a sweep asks of a camera at the subject's eyes that means nothing there."""
    camera, sweep = given.get("camera"), given.get("sweep")
    if value_of(camera, "first_person") is not True or sweep is None:
        return
    fields = {field: values for axis in AXES for field, values in dict(value_of(sweep, axis) or {}).items()}
    said = [field for field in AWAY_FROM_EYES if field in fields]
    said += ["hold"] if value_of(sweep, "hold") in HOLDING else []
    if said:
        yield eyes_rule(said, " in [sweep]")
    if any(value != "perspective" for value in fields.get("projection", ())):
        yield "first_person = true needs a perspective, and [sweep] has parallel projections; take them out"


def _value(table: object, key: str) -> Any:
    """A key of a table, whether it is data or made already."""
    return table.get(key) if isinstance(table, Mapping) else getattr(table, key, None)
