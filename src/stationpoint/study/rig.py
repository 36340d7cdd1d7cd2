"""How a camera follows: what a [[rig]] says of each of its channels, kept for those who build it."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any, ClassVar

from stationpoint.study.camera_keys import CameraFields
from stationpoint.study.table import Flag, Given, Name, NotNegative, Positive, Share, Table, value_of


class Channel(Table):
    """How one channel nears its goal: by half in half_life_s, as a critically damped spring of spring_hz, or
    not at all (hold: it keeps its first value); at once where it says none of these. cap: the most that it
    moves in a second, metres of place, height and distance, degrees of yaw and pitch."""

    either: ClassVar[tuple[tuple[str, ...], ...]] = (("half_life_s", "spring_hz", "hold"),)

    half_life_s: NotNegative | None = None
    spring_hz: Positive | None = None
    hold: Flag | None = None
    cap: Positive | None = None

    @classmethod
    def rules(cls, given: Given) -> Iterator[str]:
        if given.get("hold") is True and "cap" in given:
            yield "hold = true keeps the first value, so cap means nothing; take one of them out"


class Rig(Table):
    """A rig. camera: what it changes of [camera]. look_ahead_s: the goal is where the subject will be then,
    at its present velocity. dead_zone: width and height, shares of the picture within which the subject moves
    freely."""

    slips: ClassVar[Mapping[str, str]] = {
        **dict.fromkeys(("position", "follow"), "place"),
        **dict.fromkeys(("heading", "orbit"), "yaw"),
        **dict.fromkeys(("boom", "zoom"), "distance"),
    }

    name: Name | None = None
    camera: CameraFields | None = None
    place: Channel = Channel()
    height: Channel = Channel()
    yaw: Channel = Channel()
    pitch: Channel = Channel()
    distance: Channel = Channel()
    look_ahead_s: NotNegative = 0.0
    dead_zone: tuple[Share, Share] = (0.0, 0.0)

    @classmethod
    def rules(cls, given: Given) -> Iterator[str]:
        camera = given.get("camera")
        said = [key for key in ("from", "from_", "first_person") if value_of(camera, key)]
        if said:
            word = said[0].rstrip("_")
            yield f"camera has {word}, which is for [camera]: a rig moves that camera; take it out"

    def written(self) -> dict[str, Any]:
        """What it says, as JSON's types, by its keys: all that is written, be it as by default."""
        return self.model_dump(mode="json", by_alias=True, exclude_unset=True, exclude_none=True)


def rigs_rules(rigs: object) -> Iterator[str]:
    """What is wrong with several rigs together, data or made already, as sentences."""
    several = rigs if isinstance(rigs, list | tuple) else ()
    if len(several) > 1 and not all(value_of(one, "name") for one in several):
        yield "of several [[rig]] each needs a name, to be told from the others"
