"""What is wrong where a limit fails, in words of the level: "slung load is out of view"."""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import NamedTuple

from stationpoint.readings.cues.rules import CUE_RULES
from stationpoint.readings.paths import CUES, TWINS, without_viewing
from stationpoint.readings.types import Path
from stationpoint.readings.verdict.judge import Finding
from stationpoint.readings.verdict.words import about_reading

NUMBERED = re.compile(r"[\s._-]*\d+$")  # what tells copies of one thing apart
MORE = " more"
HALF = 0.5  # of a share: what is less of a thing is little of it


class Wrong(NamedTuple):
    """What is said of a thing whose reading is under its least, and over its most; "" where that is no
    fault that people have words for. {it} is the thing."""

    low: str = ""
    high: str = ""


# By group and last name of a reading's path.
WRONG: Mapping[tuple[str, str], Wrong] = {
    ("targets", "in_frame"): Wrong("{it} is cut by the picture's edge"),
    ("targets", "edge_stretch"): Wrong(high="{it} is drawn stretched"),
    ("targets", "screen_share"): Wrong("{it} is drawn too small", "{it} is drawn too large"),
    ("targets", "size_px"): Wrong("{it} is drawn too small", "{it} is drawn too large"),
    ("targets", "size_arcmin"): Wrong("{it} is drawn too small", "{it} is drawn too large"),
    ("targets", "piece_arcmin"): Wrong("{it} is seen in pieces too small"),
    ("targets", "action_safe"): Wrong("{it} is too near the picture's edge"),
    ("targets", "title_safe"): Wrong("{it} is too near the picture's edge"),
    ("targets", "reserved_cover"): Wrong(high="{it} is under the interface"),
    ("targets", "ratio"): Wrong("{it} is too like what is round it"),
    ("targets", "delta_l"): Wrong("{it} is too like what is round it"),
    ("targets", "delta_e"): Wrong("{it} is too like what is round it"),
    ("targets", "protan"): Wrong("{it} is lost to eyes without red cones"),
    ("targets", "deutan"): Wrong("{it} is lost to eyes without green cones"),
    ("targets", "tritan"): Wrong("{it} is lost to eyes without blue cones"),
    ("targets", "prominence"): Wrong("{it} does not stand out"),
    ("targets", "prominence_rank"): Wrong(high="{it} is out-shouted"),
    ("gaps", "scale_ratio"): Wrong("both ends of {it} are drawn too much alike"),
    ("gaps", "read_ratio"): Wrong("{it} looks too short", "{it} looks too long"),
    ("gaps", "flat_span_m"): Wrong("{it} looks too short", "{it} looks too long"),
    ("gaps", "foreshortening"): Wrong("{it} is drawn too short"),
    ("gaps", "tell_m"): Wrong(high="a change of {it} is not told"),
    ("gaps", "landing_seen"): Wrong("the landing of {it} is out of view"),
    ("gaps", "lip_hides"): Wrong(high="the take-off hides the way of {it}"),
    ("pairs", "apart_deg"): Wrong("{it} are drawn alike"),
    ("pairs", "swap_m"): Wrong("{it} are drawn alike", "{it} are drawn alike"),
    ("axes", "px_per_m"): Wrong(
        "a metre along {it} is drawn too small", "a metre along {it} is drawn too large"
    ),
    ("axes", "arcmin_per_m"): Wrong(
        "a metre along {it} is drawn too small", "a metre along {it} is drawn too large"
    ),
    ("planes", "worst_arcmin_per_m"): Wrong("a metre on {it} is drawn too small one way"),
    ("viewing", "hfov_deg"): Wrong("the view is too narrow", "the view is too wide"),
    ("viewing", "vfov_deg"): Wrong("the view is too low", "the view is too high"),
    ("viewing", "dfov_deg"): Wrong("the view is too narrow", "the view is too wide"),
    ("framing", "limb_spread"): Wrong(high="near limbs are drawn too large"),
    ("framing", "stick_error_deg"): Wrong(high="a push of the stick goes astray"),
    ("framing", "awareness_ring"): Wrong("too little round the subject is in view"),
    ("framing", "headroom"): Wrong("the subject is too near the top", "the subject is too low"),
    ("framing", "outshouted_by"): Wrong(high="a primary target is out-shouted"),
    ("boom", "clear_m"): Wrong("something stands close before the camera"),
    ("boom", "clear_share"): Wrong("something stands between camera and subject"),
}
VERDICTS = {
    "lies": "{it} lies to the eye",
    "close call": "{it} is too close to call",
    "needs a cue": "{it} is told by a cue alone",
    "unseen": "an end of {it} is out of view",
    "sure": "{it} is sure",
}


def wrong_words(found: Finding, name: str = "") -> str:
    """What is wrong where a finding fails, in words of the level; "" where it holds, or there are none.

    Worked: seen 0 of a target "slung load" that needs 0.6 gives "slung load is out of view".
    """
    if found.margin >= 0.0:
        return ""
    if found.value is None:
        return ""
    return _said(without_viewing(found.path), found).replace("{it}", name or about_reading(found.path).whose)


def _said(path: Path, found: Finding) -> str:
    group, last = path[0], path[-1]
    if group == CUES and last == "grade":
        return _of_cue(path[2], found.value)
    if group == TWINS and last == "ambiguous":
        return "{it} could stand elsewhere and look the same"
    if group == "gaps" and last == "verdict":
        return VERDICTS.get(str(found.value), "")
    if (group, last) == ("framing", "role_order_holds"):
        return found.because or "roles are out of order"
    if group == "false_contacts":
        return "surfaces look joined that are apart"
    if group == "false_breaks":
        return "surfaces look apart that are within reach"
    if last == "seen" and isinstance(found.value, int | float):
        if found.limit.min is None:
            return ""
        if found.value < 0.005:
            return "{it} is out of view"
        return "{it} is mostly out of view" if found.value < HALF else "too little of {it} is in view"
    if last == "prominence_rank" and found.because:
        return _out_shouted(found.because)
    wrong = WRONG.get(("targets" if group == "subject" else group, last), Wrong())
    return wrong.low if _is_low(found) else wrong.high


def _out_shouted(because: str) -> str:
    """By whom a thing is out-shouted: "stool.1 and stool.4 out-shout near table" gives "... by stools"."""
    names = because.partition(" out-shout")[0]
    stems = {NUMBERED.sub("", name) for name in re.split(", | and ", names)}
    if len(stems) == 1 and not names.endswith(MORE) and re.search(", | and ", names):
        names = f"{stems.pop()}s"
    return f"{{it}} is out-shouted by {names}"


def _is_low(found: Finding) -> bool:
    """Whether a value fails under its least rather than over its most."""
    parts = found.value if isinstance(found.value, tuple) else (found.value,)
    numbers = [float(one) for one in parts if isinstance(one, int | float)]
    return found.limit.min is not None and bool(numbers) and min(numbers) < found.limit.min


def _of_cue(cue: str, grade: object) -> str:
    """What is wrong with a cue that the brief bounds."""
    name = CUE_RULES[cue].words if cue in CUE_RULES else cue.replace("_", " ")
    says = {"absent": "tells nothing", "weak": "tells too little", "misleads": "misleads"}
    return f"{name} {says.get(str(grade), 'is ' + str(grade))} of {{it}}"
