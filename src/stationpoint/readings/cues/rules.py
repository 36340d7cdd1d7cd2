"""What each depth cue must reach to count, and how a cue is graded: the one place for both.

T are laboratory thresholds or common practice (Cutting and Vishton 1995 and the papers named at the
cues); from T on a cue is weak, from `glance_factor` x T on it reads at a glance in motion. That factor
is common practice; a study may set it. A cue that contradicts the truth misleads, whatever its value.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import NamedTuple

ABSENT, WEAK, READS, MISLEADS = "absent", "weak", "reads", "misleads"
GRADES = (ABSENT, WEAK, READS, MISLEADS)
ORDER, AMOUNT = "order", "amount"
FORM_ONLY = "form only"


class Rule(NamedTuple):
    """A cue: the letter of its tag, the unit of its value, T in that unit, what it can give, T's source."""

    letter: str
    unit: str
    least: float
    gives: str
    source: str


PRACTICE = "common practice"
RULES: Mapping[str, Rule] = {
    "occlusion": Rule("O", "'", 10.0, ORDER, PRACTICE),
    "relative_size": Rule("S", "%", 3.0, AMOUNT, "Cutting and Vishton 1995"),
    "height_in_field": Rule("H", "'", 5.0, AMOUNT, "Cutting and Vishton 1995"),
    "drop_line": Rule("D", "'", 5.0, AMOUNT, "as height in the field"),
    "cast_shadow": Rule("C", "sq '", 256.0, ORDER, PRACTICE),  # amount as well, if the light is overhead
    "texture_gradient": Rule("T", "%", 10.0, AMOUNT, "Cutting and Vishton 1995, density"),
    "convergence": Rule("V", "deg", 0.6, AMOUNT, "orientation of a bar: Perception 24, 1131"),
    "horizon": Rule("Z", "%", 10.0, AMOUNT, PRACTICE),
    "parallax": Rule("P", "'/s", 2.0, AMOUNT, "Cutting and Vishton 1995"),
    "light_on_form": Rule("L", "faces", 2.0, FORM_ONLY, PRACTICE),
}
CUES = tuple(RULES)
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
    gives = RULES[name].gives
    if misleads:
        return Cue(value, MISLEADS, gives)
    found = grade(value, RULES[name].least, factor)
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
    return Cue(0.0, ABSENT, RULES[name].gives)


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
