"""The legend's part on what captions say: each with a sample as the page has it, and only what it has."""

from __future__ import annotations

import re
from collections.abc import Iterable

from stationpoint.base.words import DEGREE, MINUS, TIMES
from stationpoint.ink import Group, Shape, Text

# What is found in a page's words, a text a line, and what that means.
SAID = (
    (rf"[\d.]+ {TIMES} [\d.]+, diagonal [\d.]+{DEGREE}", "angles of view: across, upright, diagonal"),
    (rf"^[\d.]+ {TIMES} [\d.]+{DEGREE}$", "angles of view: across, upright"),
    (rf"yaw [\d.]+{DEGREE} (?:left|right)", f"turned that way from {MINUS}z, seen from above"),
    (r"looks [\d.]+ m", "the gap to an eye that takes no depth cue"),
    (r"if level [\d.]+ m", "to one that takes both ends to be level"),
    (r"^(?:sure|close call)\n, to [\d.]+ m", "the smallest change of the gap that tells"),
    (r"^needs a cue\n: [A-Z ]+$", "the gap tells by these alone"),
    (r"^unseen$", "an end of the gap cannot be seen, so nobody judges it"),
    (r"seen \d+ %", "how much of its whole outline is in the picture and not hidden"),
    (r"\d+ % under .+", "what a reserved area will cover of what is visible"),
    (r"[\d.]+ arcmin high", "sixtieths of a degree at the first viewing's seat"),
)
WAYS = r"1 m (?:up|across).* looks like [\d.]+.* m (?:away|across)"
WAYS_MEAN = "upwards; level, to the camera's right; level, the way it heads"


def texts_of(shapes: Iterable[Shape]) -> list[str]:
    """What the texts among shapes say, in painting order."""
    found = []
    for shape in shapes:
        if isinstance(shape, Text):
            found.append(shape.words)
        elif isinstance(shape, Group):
            found += texts_of(shape.shapes)
    return found


def said_on(texts: Iterable[str], explained: Iterable[str] = ()) -> tuple[tuple[str, str], ...]:
    """What of a page's words must be explained: a sample as it stands there, and what it means. explained:
    the readings that the legend explains already."""
    page, known = "\n".join(texts), set(explained)
    found = []
    for pattern, means in SAID:
        sample = re.search(pattern, page, re.MULTILINE)
        if sample and sample.group().split(" ")[0] not in known:
            found.append((sample.group().replace("\n", ""), means))
    if re.search(WAYS, page):
        found.append(("up, across, away", WAYS_MEAN))
    return tuple(found)
