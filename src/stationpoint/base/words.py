"""Numbers and names as a person reads them: units, rounding, lists, near misses."""

from __future__ import annotations

import re
from collections.abc import Collection, Iterable, Sequence
from fnmatch import fnmatchcase
from pathlib import PurePath
from unicodedata import category, east_asian_width

MINUS = "\u2212"
TIMES = "\u00d7"
DEGREE = "\u00b0"
# What a terminal obeys rather than shows: control characters, line separators, turns of the writing's
# direction; and halves of surrogate pairs, which no terminal shows.
OBEYED = re.compile("[\x00-\x1f\x7f-\x9f\u2028\u2029\u202a-\u202e\u2066-\u2069\ud800-\udfff]")

TOOL = "stationpoint"  # the name under which records and files say what made them
KEPT = "https://stationpoint.invalid/kept"  # the namespace of what an SVG keeps unseen; nothing lies there
MOST_LINES = 100  # of complaints or notes of one call: nobody reads more
NO_FBX = "is FBX, which is not read; export it as glTF or USD."


def number(value: float, decimals: int = 1) -> str:
    """`value` rounded to `decimals`, with a real minus sign and never "-0.0".

    number(-3.04) gives "−3.0"; number(54.43) gives "54.4".
    """
    rounded = round(value, decimals)
    text = f"{abs(rounded):.{decimals}f}"
    return MINUS + text if rounded < 0 else text


def plain(value: float, most_decimals: int = 3) -> str:
    """`value` with no trailing zeros: plain(35.0) gives "35", plain(0.25) gives "0.25"."""
    text = number(value, most_decimals)
    return text.rstrip("0").rstrip(".") if "." in text else text


def title_name(path: str) -> str:
    """A file's name as a title says it: title_name("levels/meeting_room.glb") gives "meeting room"."""
    stem = PurePath(path).stem
    return " ".join(stem.replace("_", " ").split()) or stem


def metres(value: float) -> str:
    """A length as a caption prints it: metres(8) gives "8.0 m"."""
    return f"{number(value, 1)} m"


def degrees(value: float) -> str:
    """An angle as a caption prints it: whole ones without a decimal."""
    return f"{plain(value, 1)}{DEGREE}"


def pitch_words(pitch_deg: float, most_decimals: int = 1) -> str:
    """A camera's pitch, its sign in words: 20 gives "pitch 20° down", -5 "pitch 5° up", 0 "pitch 0°"."""
    return _signed("pitch", pitch_deg, most_decimals, "down", "up")


def yaw_words(yaw_deg: float, most_decimals: int = 1) -> str:
    """A camera's yaw, its sign in words: 25 gives "yaw 25° left", -30 "yaw 30° right", 0 "yaw 0°"."""
    return _signed("yaw", yaw_deg, most_decimals, "left", "right")


def _signed(name: str, angle_deg: float, most_decimals: int, above: str, below: str) -> str:
    """An angle and which way it turns; half a turn is the same both ways."""
    size = plain(abs(angle_deg), most_decimals)
    way = "" if size in ("0", "180") else f" {above if angle_deg > 0 else below}"
    return f"{name} {size}{DEGREE}{way}"


def angles(h_deg: float, v_deg: float) -> str:
    """Two angles of view: angles(54.43, 32.27) gives "54.4 × 32.3"."""
    return f"{number(h_deg)} {TIMES} {number(v_deg)}"


def listed(names: Iterable[str], last: str = "and") -> str:
    """Names as a sentence lists them: "a", "a and b", "a, b and c"."""
    items = list(names)
    if len(items) < 2:
        return "".join(items)
    return f"{', '.join(items[:-1])} {last} {items[-1]}"


def counted(count: int, thing: str, plural: str = "") -> str:
    """A count and its thing: counted(1, "variant") gives "1 variant"."""
    return f"{count} {thing if count == 1 else plural or thing + 's'}"


def short_of(lines: Sequence[str], most: int = MOST_LINES) -> list[str]:
    """Lines as they are, or the first of a flood and how many follow.

    short_of(["a", "b", "c"], 1) gives ["a", "and 2 more."].
    """
    if len(lines) <= most:
        return list(lines)
    return [*lines[:most], f"and {grouped(len(lines) - most)} more."]


def grouped(count: int) -> str:
    """A whole number in groups of three: grouped(4900) is "4 900"."""
    return f"{count:,}".replace(",", " ")


def columns_wide(words: str) -> int:
    """How many columns of a terminal words take: two for Han, kana and Hangul, none for marks and joiners.

    By the Unicode property East_Asian_Width (UAX #11): columns_wide("港 1") is 4.
    """
    if words.isascii():
        return len(words)
    none = ("Mn", "Me", "Cf")
    return sum((1 + (east_asian_width(c) in "WF")) * (category(c) not in none) for c in words)


def visible(words: str) -> str:
    """Words as one line that a terminal shows and does not obey: visible("a\\x1b[2J") gives "a\\\\x1b[2J"."""
    return OBEYED.sub(lambda found: ascii(found.group())[1:-1], words)


def decision_words(who: str, by: str, on: str, because: str) -> str:
    """A decision in one line: "A2, by AK on 2026-11-12: because it holds"; what is empty is left out."""
    signed = who + (f", by {by}" if by else "") + (f" on {on}" if on else "")
    reason = " ".join(because.split()).removeprefix("because ")
    return " ".join(signed.split()) + (f": because {reason}" if reason else "")


def matching_names(pattern: str, names: Collection[str]) -> tuple[str, ...]:
    """Names that equal `pattern`, or else match it as a wildcard (*, ?), in the names' order."""
    if pattern in names:
        return (pattern,)
    wild = pattern.replace("[", "[[]")  # a bracket is a letter of a name, as in "crate [2]"
    return tuple(name for name in names if fnmatchcase(name, wild))


def nearest(wrong: str, known: Sequence[str], alike: float = 0.6) -> str | None:
    """The known word that `wrong` was most likely meant to be, or None. alike: share of letters, at least."""
    from difflib import get_close_matches  # late: only on the way to an error

    lowered = {word.lower(): word for word in known}
    found = get_close_matches(wrong.lower(), list(lowered), n=1, cutoff=alike)
    return lowered[found[0]] if found else None
