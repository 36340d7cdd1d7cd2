"""What the first study of a kind of camera starts from, and what a kind makes of it."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, NamedTuple

from stationpoint.study.first.study import ANCHOR_SHARE, Asks
from stationpoint.study.first.targets import Eye
from stationpoint.study.first.view import Point, rounded
from stationpoint.study.models import CameraFields, Place, Subject, Sweep, Target

if TYPE_CHECKING:
    from stationpoint.scene import Node, Scene


class Ground(NamedTuple):
    """What a kind starts from. things: nodes but the ground. spots: where a body may stand, best first.
    opens: whether a study can take away what is in the way: of a mesh file it can."""

    scene: Scene
    things: Sequence[Node]
    height_m: float
    spots: Sequence[Point]
    asks: Asks
    opens: bool

    def free(self, foot: Point, yaw_deg: float, pitch_deg: float) -> float:
        """Metres from a body's middle on a foot to the next surface."""
        return self.asks.free_m(self.middle(foot), yaw_deg, pitch_deg)

    def middle(self, foot: Point) -> Point:
        """What a camera of a body on that foot is aimed at."""
        return foot[0], round(foot[1] + self.anchor_m, 5), foot[2]

    @property
    def anchor_m(self) -> float:
        """Of the anchor above the foot."""
        return rounded(ANCHOR_SHARE * self.height_m)


class Taken(NamedTuple):
    """What a kind makes of it. heading_deg: of the subject. others: further subjects. eyes: the first one
    sees the targets, and all of them the primary one: the nearest, or with small_first the one that is drawn
    smallest. targets: None for those that are seen. open_up: whether the camera looks in from outside, past
    what faces away from it and what covers the room. awareness_m: None where the brief does not ask.
    """

    foot: Point
    heading_deg: float
    camera: CameraFields
    sweep: Sweep
    eyes: tuple[Eye, ...] = ()
    targets: tuple[Target, ...] | None = None
    places: tuple[Place, ...] = ()
    others: tuple[Subject, ...] = ()
    awareness_m: float | None = None
    open_up: bool = False
    play_plane: str = "front"
    small_first: bool = False
