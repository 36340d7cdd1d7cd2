"""The order in which the characters of a line are seen: the Unicode bidirectional algorithm (UAX #9).

Rules P2 to L2, brackets and isolates included. Left out are embeddings and overrides (LRE, RLE, LRO, RLO,
PDF): `settable` takes them away, as it does all other controls, so that no name can turn what stands
beside it. Mirrored brackets (L4) are HarfBuzz's work.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache
from itertools import groupby
from typing import TypeVar
from unicodedata import bidirectional

LRI, RLI, FSI, PDI = "\u2066", "\u2067", "\u2068", "\u2069"
OPENERS = (LRI, RLI, FSI)
MARKS = "\u200e\u200f\u061c"  # of direction, with no ink: left to right, right to left, Arabic letter
BRACKETS = {"(": ")", "[": "]", "{": "}", "\u3008": "\u3009", "\u300c": "\u300d", "\u3010": "\u3011"}
MOST_OPEN, MOST_DEEP = 63, 120  # of brackets (BD16) and levels (BD2), by the standard
NEUTRAL = ("B", "S", "WS", "ON")
Item = TypeVar("Item")


def has_rtl(words: str) -> bool:
    """Whether anything in a line is ordered from right to left."""
    return not words.isascii() and any(bidirectional(c) in ("R", "AL", "AN", "RLI") for c in words)


def base_level(words: str) -> int:
    """1 where the first strong character outside isolates is of a script set from right to left, else 0."""
    ends, k = _matching(words), 0
    while k < len(words):
        if bidirectional(words[k]) in ("L", "R", "AL"):
            return int(bidirectional(words[k]) != "L")
        k = ends.get(k, k) + 1
    return 0


@lru_cache(maxsize=4096)
def levels(words: str) -> tuple[int, ...]:
    """The level of each character: odd ones are set from right to left.

    Worked, of UAX #9: "car is THE CAR in arabic", capitals standing for Hebrew letters: 1 from T to R, 0
    elsewhere.
    """
    result = [0] * len(words)
    base = base_level(words)
    _resolve(words, 0, len(words), base, result)
    for k in reversed(range(len(words))):  # L1: blanks at the end of the line
        if bidirectional(words[k]) != "WS" and words[k] not in (*OPENERS, PDI):
            break
        result[k] = base
    return tuple(result)


def in_sight(items: Sequence[Item], levels: Sequence[int]) -> list[Item]:
    """Items, each of one level, from left to right as they are seen (rule L2)."""
    order = list(range(len(items)))
    for level in range(max(levels, default=0), 0, -1):
        turned: list[int] = []
        for is_high, stretch in groupby([(levels[k] >= level, k) for k in order], lambda pair: pair[0]):
            those = [k for _, k in stretch]
            turned += reversed(those) if is_high else those
        order = turned
    return [items[k] for k in order]


def _matching(words: str) -> dict[int, int]:
    """Where each isolate that begins at a place ends: at its PDI, or past the end of the line (BD9)."""
    ends: dict[int, int] = {}
    begun: list[int] = []
    for k, character in enumerate(words):
        if character in OPENERS:
            begun.append(k)
        elif character == PDI and begun:
            ends[begun.pop()] = k
    return ends | dict.fromkeys(begun, len(words))


def _resolve(words: str, start: int, end: int, level: int, result: list[int]) -> None:
    """Levels of a stretch, the line or an isolate's content, and of the isolates in it."""
    ends, those, k = _matching(words[start:end]), list[int](), start
    while k < end:
        those.append(k)
        if words[k] in OPENERS:
            close = start + ends[k - start]
            inner = words[k + 1 : close]
            odd = {LRI: 0, RLI: 1}.get(words[k], base_level(inner))
            deeper = level + 1 + ((level + 1) % 2 != odd)
            _resolve(words, k + 1, close, deeper if deeper <= MOST_DEEP else level, result)
            k = close
        else:
            k += 1
    kinds = _strong([words[k] for k in those], "R" if level % 2 else "L")
    for k, kind in zip(those, kinds, strict=True):
        if level % 2:
            result[k] = level + (kind != "R")
        else:
            result[k] = level + {"L": 0, "R": 1}.get(kind, 2)


def _strong(characters: Sequence[str], along: str) -> list[str]:
    """L, R, EN or AN for each character of one isolating run: rules W1 to N2. along: the run's own
    direction, before and after it too."""
    kinds = ["ON" if c in (*OPENERS, PDI) else bidirectional(c) or "L" for c in characters]
    before = along
    for k, kind in enumerate(kinds):  # W1
        if kind in ("NSM", "BN"):
            kinds[k] = before
        before = kinds[k]
    strong = along
    for k, kind in enumerate(kinds):  # W2, W3
        if kind in ("L", "R", "AL"):
            strong = kind
        kinds[k] = "AN" if kind == "EN" and strong == "AL" else "R" if kind == "AL" else kind
    for k in range(1, len(kinds) - 1):  # W4
        one, kind, other = kinds[k - 1 : k + 2]
        if one == other and (one, kind) in (("EN", "ES"), ("EN", "CS"), ("AN", "CS")):
            kinds[k] = one
    _join(kinds, ("ET",), lambda one, other: "EN" if "EN" in (one, other) else None, along)  # W5
    strong = along
    for k, kind in enumerate(kinds):  # W6, W7
        if kind in ("L", "R"):
            strong = kind
        kinds[k] = "ON" if kind in ("ES", "ET", "CS") else "L" if (kind, strong) == ("EN", "L") else kind
    _pair_brackets(characters, kinds, along)  # N0
    both = {"EN": "R", "AN": "R"}

    def between(one: str, other: str) -> str:  # N1, N2
        one, other = both.get(one, one), both.get(other, other)
        return one if one == other else along

    _join(kinds, NEUTRAL, between, along)
    return kinds


def _join(kinds: list[str], those: Sequence[str], between: object, along: str) -> None:
    """Each stretch of `those` kinds becomes what `between` makes of the kinds before and after it."""
    assert callable(between)
    at = 0
    for inside, stretch in groupby(list(kinds), lambda kind: kind in those):
        count = len(list(stretch))
        if inside:
            one = kinds[at - 1] if at else along
            other = kinds[at + count] if at + count < len(kinds) else along
            kind = between(one, other)
            kinds[at : at + count] = kinds[at : at + count] if kind is None else [kind] * count
        at += count


def _pair_brackets(characters: Sequence[str], kinds: list[str], along: str) -> None:
    """Rule N0: a pair of brackets goes with what it holds, or with what stands before it."""
    pairs: list[tuple[int, int]] = []
    begun: list[tuple[str, int]] = []
    for k, character in enumerate(characters):
        if kinds[k] != "ON":
            continue
        if character in BRACKETS:
            if len(begun) == MOST_OPEN:
                break
            begun.append((BRACKETS[character], k))
        elif any(close == character for close, _ in begun):
            while begun[-1][0] != character:
                begun.pop()
            pairs.append((begun.pop()[1], k))
    ways = {"L": "L", "R": "R", "EN": "R", "AN": "R"}
    for first, last in sorted(pairs):
        held = {ways[kind] for kind in kinds[first + 1 : last] if kind in ways}
        if not held:
            continue
        if along in held:
            way = along
        else:
            context = next((ways[kind] for kind in reversed(kinds[:first]) if kind in ways), along)
            way = context if context != along else along
        for k in (first, last):
            kinds[k] = way
            while k + 1 < len(kinds) and bidirectional(characters[k + 1]) == "NSM":
                k += 1
                kinds[k] = way
