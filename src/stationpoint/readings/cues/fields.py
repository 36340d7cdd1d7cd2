"""The fields of the cues, as people know them."""

from __future__ import annotations

from stationpoint.base.words import listed
from stationpoint.readings.cues.rules import CUES, GRADES, RULES
from stationpoint.readings.types import Field

UNSEEN = "either of the two is behind the eye or not in the picture"
SAYS = {
    "occlusion": "Length of the border at which one of the two, or what it stands on, covers the other.",
    "relative_size": "How much smaller the farther one is drawn.",
    "height_in_field": "How much higher in the picture one foot is than the other.",
    "drop_line": "Length of the line from its foot to the floor below it, if the game draws one.",
    "cast_shadow": "Visible area of its own shadow, if the game draws one.",
    "texture_gradient": "How much denser the ground's pattern is at the farther one, if the game has one.",
    "convergence": "Angle between the lines 1 m left and right of the way from one to the other.",
    "horizon": "Share of the horizon's row that is open to sky or far ground.",
    "parallax": "Difference of the two's speeds on the picture when the camera slides sideways at 1 m/s.",
    "light_on_form": "Number of its visible faces that light tells apart.",
}


def _decimals(unit: str) -> int:
    return {"'": 3, "sq '": 1, "%": 3, "deg": 4, "'/s": 3, "faces": 0}[unit]


def _of(name: str) -> tuple[Field, ...]:
    rule, path = RULES[name], ("cues", "*", name)
    words = name.replace("_", " ")
    unseen = "a parallel view has none and counts 0" if name == "horizon" else UNSEEN
    share = "depth of the first one over that of the second one, taken from 1" if name == "parallax" else ""
    return (
        Field((*path, "value"), rule.unit, _decimals(rule.unit), SAYS[name], null=unseen),
        Field(
            (*path, "share"),
            "",
            5,
            f"Second number of {words}: {share}." if share else f"Not used by {words}.",
            null=unseen if share else "always: parallax alone has two numbers",
        ),
        Field((*path, "unit"), "", 0, f"Unit of the value of {words}.", holds="word"),
        Field(
            (*path, "grade"),
            "",
            0,
            f"What {words} is worth from {rule.least:g} {rule.unit} on: {listed(list(GRADES), 'or')}.",
            f"threshold: {rule.source}; factor of a glance: common practice",
            holds="word",
            words=GRADES,
        ),
    )


FIELDS = (
    *(field for name in CUES for field in _of(name)),
    Field(
        ("cues", "*", "drop_line", "floor_m"),
        "m",
        5,
        "From its foot straight down to the floor below it.",
        null="no floor: it is over a void",
    ),
    Field(
        ("cues", "*", "cast_shadow", "off_m"),
        "m",
        5,
        "Level distance from its foot to the foot's shadow; 0 if it stands.",
        null="the game ships none, it casts none or is out of the picture, or the shadow falls on nothing",
    ),
    Field(("cues", "*", "order"), "", 0, "How many cues read and tell which of the two is nearer."),
    Field(("cues", "*", "amount"), "", 0, "How many cues read and tell how far apart the two are."),
)
