"""What each kind of camera is asked: its question, seats, aids, its brief and where each limit comes from."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, NamedTuple

from stationpoint.study.models import Aid, Limit, Role, Viewing

COMMON = "(common practice)"
CHARACTER = "least height of a character that is read: ISO 9241-3 (1992), 16'"
PLACE = "15' and more a metre: its place tells it (common practice)"
RING = "framing.awareness_ring"
ROUND = "1 / cos of the angle off the axis (geometry); how much is too much: (common practice)"

SEATS: Mapping[str, Viewing] = {
    "couch": Viewing(name="couch", diagonal_in=55, pixels=(1920, 1080), eye_distance_m=2.7),
    "desk": Viewing(name="desk", diagonal_in=24, pixels=(1920, 1080), eye_distance_m=0.6),
    "handheld": Viewing(name="handheld", diagonal_in=7, pixels=(1280, 720), eye_distance_m=0.35),
}


class Line(NamedTuple):
    """A limit and where it comes from. reading: "{plane}" is the plane that is played in. role: of the
    targets that it is of, None for no targets."""

    reading: str
    test: Mapping[str, Any]
    why: str
    source: str
    role: Role | None = None
    level: str = "must"
    if_absent: str = "fail"
    viewing: str | None = None

    def limit(self, plane: str) -> Limit:
        """As a study has it."""
        said: dict[str, Any] = {"reading": self.reading.format(plane=plane), **self.test}
        said |= {"role": self.role} if self.role else {}
        said |= {"viewing": self.viewing} if self.viewing else {}
        said |= {"level": self.level} if self.level != "must" else {}
        said |= {"if_absent": self.if_absent} if self.if_absent != "fail" else {}
        return Limit.model_validate({**said, "why": self.why})


class Brief(NamedTuple):
    """asks: the question, "{}" is the scene. cautions: lines of remarks at the top. more: what can be
    added, at the end."""

    asks: str
    seats: tuple[str, ...]
    aids: tuple[Aid, ...]
    lines: tuple[Line, ...]
    cautions: str
    more: str


SUBJECT_SEEN = Line(
    "subject.seen", {"min": 0.5}, "the player must see at least half of what they steer", COMMON
)
SUBJECT_SIZE = Line("subject.piece_arcmin.*", {"min": 16}, "its pose must be read at every seat", CHARACTER)
TARGET_SEEN = Line(
    "targets.*.seen", {"min": 0.5}, "what matters most must be seen by half at least", COMMON, "primary"
)
TARGET_SIZE = Line(
    "targets.*.piece_arcmin.*",
    {"min": 16},
    "what matters most must be told from a blot at every seat",
    CHARACTER,
    "primary",
)
BOOM = Line(
    "boom.clear_share",
    {"min": 0.9},
    "a camera that a wall pulls in by more than a tenth jumps in play",
    COMMON,
)

MOVES = """\
# Views that move, and wide ones, make some people sick. Nothing here measures that: leave it to user
# testing, to the rules that hold where the game is sold, and to people licensed to advise on health.
"""
GAP = """\
# A jump, and that it must not be misread: take the # away once the gap is one of your level.
#
# [[gap]]                                    # a take-off, a landing, and how far the player gets
# name = "first hop"
# from = {take_off}
# to = {landing}
# reach_m = {reach}
#
# [[limit]]
# reading = "gaps.*.verdict"
# not = "lies"
# if_absent = "skip"
# why = "a player must never be sure of a jump that fails"
"""
NEARER = """\
# Where the two come to half their distance, the same lens must hold too: take the # away.
#
# [[place]]
# name = "close"
# move = {nearer}
"""
RESERVED = """\
# Interface that will cover the picture; take the # away.
#
# [[reserved]]                               # left, top, right, bottom, as shares of the picture
# name = "map"
# rect = [0.0, 0.78, 0.25, 1.0]
"""

BRIEFS: Mapping[str, Brief] = {
    "third-person": Brief(
        "Which lens and pitch follow the player through {}?",
        ("couch", "desk"),
        ("ground-texture", "cast-shadow"),
        (
            SUBJECT_SEEN,
            SUBJECT_SIZE,
            BOOM,
            TARGET_SEEN,
            TARGET_SIZE._replace(level="should"),
            Line(
                "subject.action_safe",
                {"min": 0.95},
                "every limb must be inside what every screen shows",
                "the middle 93 % of the picture: SMPTE ST 2046-1; how much of the body: (common practice)",
                level="should",
            ),
        ),
        MOVES,
        GAP,
    ),
    "first-person": Brief(
        "Which angle of view lets a player read {}?",
        ("desk", "couch"),
        ("ground-texture", "cast-shadow"),
        (
            TARGET_SEEN,
            TARGET_SIZE,
            Line(
                "targets.*.edge_stretch",
                {"max": 1.3},
                "things must keep about the shape that they have in the middle",
                ROUND,
                "primary",
            ),
            Line(
                "viewing.*.dfov_deg",
                {"max": 102.6},
                "in the picture's corners a ball must be drawn at most 1.6 times as long as wide",
                ROUND,
                level="should",
            ),
            Line(
                "viewing.desk.hfov_deg",
                {"min": 60},
                "near a screen a narrower view feels like looking through a tube",
                COMMON,
                level="should",
            ),
        ),
        MOVES,
        RESERVED,
    ),
    "side-on": Brief(
        "Parallel or a long lens, and how far from above, for {} from the side?",
        ("couch", "handheld"),
        ("cast-shadow",),
        (
            SUBJECT_SEEN,
            SUBJECT_SIZE,
            Line(
                "planes.{plane}.worst_arcmin_per_m",
                {"min": 15},
                "a metre in the plane that is played in must be told, whichever way it goes",
                PLACE,
            ),
            Line(
                "pairs.up-across.apart_deg",
                {"min": 75},
                "up and along must stay nearly square",
                "within 15 degrees of a right angle (common practice)",
            ),
            Line(
                "pairs.up-away.swap_m",
                {"min": 3},
                "a step into depth must not pass for a step up: 3 m away at least look like 1 m up",
                "1 / tan of the pitch in a parallel view (geometry); 3 m: (common practice)",
                if_absent="skip",
            ),
            TARGET_SEEN,
        ),
        MOVES,
        GAP,
    ),
    "overhead": Brief(
        "How steep, and parallel or not, for {} from above?",
        ("desk", "handheld"),
        ("ground-texture", "cast-shadow"),
        (
            SUBJECT_SEEN,
            SUBJECT_SIZE,
            Line(
                "planes.ground.worst_arcmin_per_m",
                {"min": 15},
                "a metre on the ground must be told, whichever way it goes",
                PLACE,
            ),
            Line(
                "pairs.up-away.swap_m",
                {"max": 1},
                "a metre of height must not pass for more than a metre of ground",
                "1 / tan of the pitch in a parallel view (geometry); 1 m: (common practice)",
                if_absent="skip",
            ),
            Line(
                "framing.stick_error_deg.camera",
                {"max": 22.5},
                "a push must not look nearer to the next of eight directions",
                "half of the step between eight directions (geometry)",
            ),
            TARGET_SEEN,
            Line(
                "axes.y.arcmin_per_m",
                {"min": 15},
                "where heights matter in play, a metre up must be told; else take this out",
                PLACE,
                level="should",
            ),
            Line(
                RING,
                {"min": 0.75},
                "what nears the subject must be seen a second before it is there, on three of four sides",
                "three body heights are a second at a run, and three of four sides: (common practice)",
                level="should",
            ),
        ),
        MOVES,
        GAP,
    ),
    "two-subjects": Brief(
        "Which lens keeps both in {} whole, and alike?",
        ("couch", "desk"),
        ("cast-shadow",),
        (
            SUBJECT_SEEN._replace(reading="subjects.*.seen", why="at least half of each must be seen"),
            SUBJECT_SIZE._replace(
                reading="subjects.*.piece_arcmin.*", why="the pose of each must be read at every seat"
            ),
            Line(
                "subjects.*.action_safe",
                {"min": 0.95},
                "every limb of both must be inside what every screen shows",
                "the middle 93 % of the picture: SMPTE ST 2046-1; how much of the body: (common practice)",
            ),
            Line(
                "framing.limb_spread",
                {"max": 1.2},
                "the nearest limb must not look like a giant's: at most 1.2 times as large as the farthest",
                "largest depth of the two over the smallest (geometry); 1.2: (common practice)",
            ),
            BOOM,
        ),
        MOVES,
        NEARER,
    ),
}
