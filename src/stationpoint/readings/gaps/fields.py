"""The fields of a gap, as people know them."""

from __future__ import annotations

from stationpoint.readings.types import Field, Holds

END_BEHIND = "an end is behind the eye"
NO_REACH = "the study gives no reach"


def _field(
    name: str,
    unit: str,
    decimals: int,
    says: str,
    null: str = "",
    source: str = "definition",
    holds: Holds = "number",
    words: tuple[str, ...] = (),
) -> Field:
    return Field(("gaps", "*", name), unit, decimals, says, source, null, holds=holds, words=words)


FIELDS = (
    _field(
        "from_xy",
        "",
        7,
        "Screen position of the take-off, fractions from top-left.",
        "behind the eye",
        holds="numbers",
    ),
    _field(
        "to_xy",
        "",
        7,
        "Screen position of the landing, fractions from top-left.",
        "behind the eye",
        holds="numbers",
    ),
    _field("true_span_m", "m", 5, "Straight distance in space from take-off to landing."),
    _field("level_span_m", "m", 5, "Level distance from take-off to landing."),
    _field("height_m", "m", 5, "Height of the landing over the take-off."),
    _field("flat_span_m", "m", 5, "Length read by an eye that takes no depth cue.", END_BEHIND),
    _field(
        "flat_span_by_body_m",
        "m",
        5,
        "The same with the subject's drawn height as the yardstick.",
        "the view looks straight down, or an end is behind the eye",
    ),
    _field("read_ratio", "", 5, "Flat span over true span; it can exceed 1.", END_BEHIND),
    _field(
        "ground_span_m",
        "m",
        5,
        "Length read by an eye that believes both ends stand on one level.",
        "the sightline through the landing misses the take-off's level",
    ),
    _field("scale_ratio", "", 5, "Nearer over farther frontal scale of the two ends.", END_BEHIND),
    _field(
        "foreshortening", "", 5, "Pixels a metre along the gap over frontal ones, at its middle.", END_BEHIND
    ),
    _field(
        "arcmin_per_m",
        "'/m",
        3,
        "How far the landing moves on screen per metre that it moves away.",
        "an end is behind the eye, or the gap is vertical",
    ),
    _field(
        "tell_m",
        "m",
        5,
        "Smallest change of the gap that could be told.",
        "nothing on screen tells its length",
        "thresholds of 5' and 3 %",
    ),
    _field(
        "reach_m", "m", 5, "Level reach at the landing's height.", "no reach given, or none at that height"
    ),
    _field("reach_level_m", "m", 5, "Level reach on one level.", "no reach given, or none on the level"),
    _field("reachable", "", 0, "Whether the gap can be jumped in truth.", NO_REACH, holds="flag"),
    _field(
        "decidable",
        "",
        0,
        "Whether truth is at least three tellable steps from the limit.",
        "no reach given, an end is behind the eye, or the gap is vertical",
        "common practice",
        holds="flag",
    ),
    _field(
        "misleading",
        "",
        0,
        "Whether the flat reading contradicts the truth.",
        "no reach given, or an end is behind the eye",
        holds="flag",
    ),
    _field(
        "verdict",
        "",
        0,
        "What a player makes of it: close call, lies, needs a cue, or sure.",
        "no reach given, or an end is behind the eye",
        holds="word",
        words=("close call", "lies", "needs a cue", "sure"),
    ),
)
