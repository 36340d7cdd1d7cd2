"""The one table of depth cues: what each must reach to count, its words; and how a cue is graded.

T are laboratory thresholds or common practice (Cutting and Vishton 1995 and the papers named at the
cues); from T on a cue is weak, from `glance_factor` x T on it reads at a glance in motion. That factor
is common practice; a study may set it. A cue that contradicts the truth misleads, whatever its value.

The smallest step in depth that a cue tells grows with the distance D (Cutting and Vishton 1995): of
relative size it is 3 % of D and of texture 10 % of D, at every distance; of height in the field
5' (D^2 + H^2) / H under an eye H over the ground; of parallax it grows with D^2.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import NamedTuple

from stationpoint.base.words import counted, listed
from stationpoint.readings.types import Field

ABSENT, WEAK, READS, MISLEADS = "absent", "weak", "reads", "misleads"
GRADES = (ABSENT, WEAK, READS, MISLEADS)
ORDER, AMOUNT = "order", "amount"
FORM_ONLY = "form only"


class CueRule(NamedTuple):
    """A cue in general, whatever the pair.

    name: in paths. letter: of its tag. unit: of its value, in records; unit_words: on a sheet. decimals: in
    records. least: T, in that unit. gives: what it can tell. source: T's. says: what its value is. tells:
    what a player sees of it. aid: what the game must ship for it, "" if nothing.
    """

    name: str
    letter: str
    unit: str
    unit_words: str
    decimals: int
    least: float
    gives: str
    source: str
    says: str
    tells: str
    aid: str = ""

    @property
    def words(self) -> str:
        """Its name in words, as a sheet and the docs have it: "height in field"."""
        return self.name.replace("_", " ")


PRACTICE = "common practice"
VISHTON = "Cutting and Vishton 1995"
# Strips, legends, records and docs have the cues in this order.
CUE_RULES: Mapping[str, CueRule] = {
    rule.name: rule
    for rule in (
        CueRule(
            "occlusion",
            "O",
            unit="'",
            unit_words="arcmin of border",
            decimals=3,
            least=10.0,
            gives=ORDER,
            source=PRACTICE,
            says="Length of the border at which one of the two, or what it stands on, covers the other.",
            tells="what covers what",
        ),
        CueRule(
            "relative_size",
            "S",
            unit="%",
            unit_words="%",
            decimals=3,
            least=3.0,
            gives=AMOUNT,
            source=VISHTON,
            says="How much smaller the farther one is drawn.",
            tells="its size",
        ),
        CueRule(
            "height_in_field",
            "H",
            unit="'",
            unit_words="arcmin",
            decimals=3,
            least=5.0,
            gives=AMOUNT,
            source=VISHTON,
            says="How much higher in the picture one foot is than the other.",
            tells="its height in the picture",
        ),
        CueRule(
            "drop_line",
            "D",
            unit="'",
            unit_words="arcmin",
            decimals=3,
            least=5.0,
            gives=AMOUNT,
            source="as height in the field",
            says="Length of the line from its foot to the floor below it, if the game draws one.",
            tells="its drop line",
            aid="drop-marker",
        ),
        CueRule(
            "cast_shadow",
            "C",
            unit="sq '",
            unit_words="sq arcmin",
            decimals=1,
            least=256.0,
            gives=ORDER,  # AMOUNT as well, if the light is overhead
            source=PRACTICE,
            says="Visible area of its own shadow, if the game draws one.",
            tells="its shadow",
            aid="cast-shadow",
        ),
        CueRule(
            "texture_gradient",
            "T",
            unit="%",
            unit_words="%",
            decimals=3,
            least=10.0,
            gives=AMOUNT,
            source=f"{VISHTON}, density",
            says="How much denser the ground's pattern is at the farther one, if the game has one.",
            tells="the ground's pattern",
            aid="ground-texture",
        ),
        CueRule(
            "convergence",
            "V",
            unit="deg",
            unit_words="degrees",
            decimals=4,
            least=0.6,
            gives=AMOUNT,
            source="orientation of a bar: Perception 24, 1131",
            says="Angle between the lines 1 m left and right of the way from one to the other.",
            tells="lines that converge",
        ),
        CueRule(
            "horizon",
            "Z",
            unit="%",
            unit_words="% open",
            decimals=3,
            least=10.0,
            gives=AMOUNT,
            source=PRACTICE,
            says="Share of the horizon's row that is open to sky or far ground.",
            tells="the horizon",
        ),
        CueRule(
            "parallax",
            "P",
            unit="'/s",
            unit_words="arcmin/s",
            decimals=3,
            least=2.0,
            gives=AMOUNT,
            source=VISHTON,
            says="Difference of the two's speeds on the picture when the camera slides sideways at 1 m/s.",
            tells="how it slides as the eye moves",
        ),
        CueRule(
            "light_on_form",
            "L",
            unit="faces",
            unit_words="faces",
            decimals=0,
            least=2.0,
            gives=FORM_ONLY,
            source=PRACTICE,
            says="Number of its visible faces that light tells apart.",
            tells="the light on it",
        ),
    )
}
CUE_NAMES = tuple(CUE_RULES)
PARALLAX_SHARE = 0.10  # the second threshold of parallax: abs(1 - z_A / z_B)
ALIKE_PCT = 3.0  # things known to be alike and drawn the wrong way round by this much mislead
GROUND_ERROR = 0.10  # a ground reading that errs by more than this misleads
SHADOW_OFF_M = 0.5  # so does the shadow of a hanging thing that falls this far aside
OVERHEAD_DEG = 15.0  # light this near to straight above is overhead: a shadow then gives the amount


@dataclass(frozen=True, slots=True)
class Cue:
    """One cue of one pair.

    value: in the unit of its rule, None where it cannot exist. share: parallax alone has one.
    gives: "order", "amount" or "form only", as it stands here.
    """

    value: float | None
    grade: str
    gives: str
    share: float | None = None


def graded(
    name: str, value: float | None, factor: float, *, misleads: bool = False, at_most: str = READS
) -> Cue:
    """A cue by its value and its rule. at_most: "weak" where it can never read."""
    gives = CUE_RULES[name].gives
    if misleads:
        return Cue(value, MISLEADS, gives)
    found = grade(value, CUE_RULES[name].least, factor)
    return Cue(value, WEAK if found == READS and at_most == WEAK else found, gives)


def grade(value: float | None, least: float, factor: float) -> str:
    """Grade of a value against its threshold: "absent", "weak" or "reads". Worked: 9 %, 3 %, 3: reads."""
    if value is None or value < least:
        return ABSENT
    return READS if value >= factor * least else WEAK


def weaker(first: str, second: str) -> str:
    """The weaker one of two grades."""
    return min(first, second, key=GRADES.index)


def none_of(name: str) -> Cue:
    """A cue that is zero by construction, or rests on an aid that the game does not ship."""
    return Cue(0.0, ABSENT, CUE_RULES[name].gives)


UNSEEN = "either of the two is behind the eye or not in the picture"


def _fields_of(rule: CueRule) -> tuple[Field, ...]:
    """What a cue carries: value, share, unit and grade."""
    path = ("cues", "*", rule.name)
    unseen = "a parallel view has none and counts 0" if rule.name == "horizon" else UNSEEN
    share = (
        "depth of the first one over that of the second one, taken from 1" if rule.name == "parallax" else ""
    )
    return (
        Field((*path, "value"), rule.unit, rule.decimals, rule.says, null=unseen),
        Field(
            (*path, "share"),
            "",
            5,
            f"Second number of {rule.words}: {share}." if share else f"Not used by {rule.words}.",
            null=unseen if share else "always: parallax alone has two numbers",
        ),
        Field((*path, "unit"), "", 0, f"Unit of the value of {rule.words}.", holds="word"),
        Field(
            (*path, "grade"),
            "",
            0,
            f"What {rule.words} is worth from {rule.least:g} {rule.unit} on: {listed(list(GRADES), 'or')}.",
            f"threshold: {rule.source}; factor of a glance: common practice",
            holds="word",
            words=GRADES,
            plain=rule.says[:1].lower() + rule.says[1:].rstrip("."),
        ),
    )


RULE_FIELDS = tuple(field for rule in CUE_RULES.values() for field in _fields_of(rule))
COUNT_FIELDS = (
    Field(("cues", "*", "order"), "", 0, "How many cues read and tell which of the two is nearer."),
    Field(("cues", "*", "amount"), "", 0, "How many cues read and tell how far apart the two are."),
)


def order(cues: Iterable[Cue]) -> int:
    """How many cues read and tell at least which of the two is nearer.

    A cue that gives the amount gives the order too. Source: definition. Worked: story quay in
    perspective, five cues that give the amount: 5.
    """
    return sum(cue.grade == READS and cue.gives in (ORDER, AMOUNT) for cue in cues)


def amount(cues: Iterable[Cue]) -> int:
    """How many cues read and tell how far the two are apart.

    Source: definition. Worked: story quay in a parallel view: height in the field alone, 1.
    """
    return sum(cue.grade == READS and cue.gives == AMOUNT for cue in cues)


def told_words(order: int, amount: int) -> str:
    """How many cues of a pair read, in the words of sheet, legend and ticket: told_words(5, 4) gives "5 cues
    tell which is farther, 4 how far". order: cues that tell which is nearer, those of amount among them."""
    if not order:
        return "no cue tells which is farther"
    tell = "tells" if order == 1 else "tell"
    return f"{counted(order, 'cue')} {tell} which is farther, {amount or 'none'} how far"
