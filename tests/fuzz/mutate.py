"""Text, bytes and trees of JSON broken at random; all chance comes from the `random.Random` that is given."""

from __future__ import annotations

import json
import re
from copy import deepcopy
from random import Random
from typing import Any

NUMBERS = [
    "0",
    "-0.0",
    "-1",
    "1",
    "2",
    "1e308",
    "-1e308",
    "1e-320",
    "nan",
    "-inf",
    "inf",
    "90",
    "360.5",
    "4294967295",
    "99999999999999999999",
    "1e400",
    "0x1F",
    "1_000",
    "0.1e",
    "true",
]
WORDS = [
    '""',
    '" "',
    '"a.b"',
    '"*"',
    '"../x"',
    '"/"',
    '"' + "x" * 300 + '"',
    '"\u202egnp"',
    '"名前"',
    '"שלום"',
    '"<b>&"',
    '"=1+1"',
    '"$a$"',
    '"\\u0007"',
    "[]",
    "{}",
    "[[]]",
    "[1, 2]",
    "[1, 2, 3, 4]",
    "1979-05-27",
    "'''x'''",
    '"floor"',
    '"primary"',
    '"perspective"',
    "[nan, 0, 0]",
    '["a", "a"]',
]
TOKEN = re.compile(r'"[^"\n]*"|-?\d+(?:\.\d+)?(?:[eE][-+]?\d+)?|[A-Za-z_][A-Za-z_0-9]*|[\[\]{}=,.#]')
SIGNS = ["\x00", "\ufeff", "\r", "\t", "[", "]", "{", "}", "=", '"', "#", "\\", "\n\n", "\u2028", ","]
ODD_INTS = [0, 1, 2, 127, 128, 255, 256, 32767, 65535, 65536, 2**31 - 1, 2**31, 2**32 - 1]
ODD_VALUES: list[Any] = [
    None,
    True,
    False,
    0,
    -1,
    1,
    1.5,
    1e308,
    -1e308,
    2**31,
    2**63,
    2**80,
    "",
    "x",
    "nan",
    [],
    {},
    [0],
    [None],
    [[]],
    {"a": 1},
    float("nan"),
    float("inf"),
]


def broken_text(chance: Random, text: str) -> str:
    """A text of lines with one to six changes: of lines, of what stands in them, of single signs."""
    lines = text.split("\n")
    for _ in range(chance.randint(1, 6)):
        where = chance.randrange(len(lines))
        what = chance.randrange(10)
        if what == 0:
            del lines[where]
        elif what == 1:
            lines.insert(chance.randrange(len(lines) + 1), lines[where])
        elif what == 2:
            other = chance.randrange(len(lines))
            lines[where], lines[other] = lines[other], lines[where]
        elif what == 3:
            signs = chance.choice(SIGNS)
            at = chance.randint(0, len(lines[where]))
            lines[where] = lines[where][:at] + signs + lines[where][at:]
        else:
            lines[where] = _other_token(chance, lines[where], text)
        lines = lines or [""]
    return "\n".join(lines)


def _other_token(chance: Random, line: str, text: str) -> str:
    tokens = list(TOKEN.finditer(line))
    if not tokens:
        return line
    token = chance.choice(tokens)
    kinds = [NUMBERS, WORDS, TOKEN.findall(text)]
    new = chance.choice(chance.choice(kinds) or NUMBERS)
    if chance.randrange(4) == 0:
        new = ""
    return line[: token.start()] + new + line[token.end() :]


def broken_bytes(chance: Random, data: bytes) -> bytes:
    """Bytes with one to eight changes: flipped, replaced by a number at a border, cut, doubled."""
    out = bytearray(data)
    for _ in range(chance.randint(1, 8)):
        if not out:
            break
        at = chance.randrange(len(out))
        what = chance.randrange(8)
        if what == 0:
            out[at] ^= 1 << chance.randrange(8)
        elif what == 1:
            out[at] = chance.randrange(256)
        elif what <= 3:
            width = chance.choice([1, 2, 4])
            value = chance.choice(ODD_INTS) % (1 << 8 * width)
            out[at : at + width] = value.to_bytes(width, chance.choice(["little", "big"]))
        elif what == 4:
            del out[at : at + chance.randint(1, 32)]
        elif what == 5:
            piece = out[at : at + chance.randint(1, 64)]
            out[at:at] = piece
        elif what == 6:
            out[at:at] = chance.choice(
                [b"nan", b"1e999", b"-1", b"\x00\x00\xc0\x7f", b"\x00\x00\x80\x7f", b"\n"]
            )
        elif chance.randrange(3) == 0:
            del out[at:]
    return bytes(out)


def broken_tree(chance: Random, tree: Any) -> Any:
    """A tree of JSON, copied, with one to four values changed, left out, doubled or renamed."""
    tree = json.loads(json.dumps(tree))
    for _ in range(chance.randint(1, 4)):
        places = list(_places(tree))
        if not places:
            return tree
        parent, key = chance.choice(places)
        what = chance.randrange(8)
        if what == 0:
            del parent[key]
        elif what == 1 and isinstance(parent, list):
            parent.insert(key, json.loads(json.dumps(parent[key])))
        elif what == 1:
            parent[chance.choice(["x", "", key + " ", "__class__"])] = parent.pop(key)
        elif what == 2:
            there = chance.choice(places)
            try:
                parent[key] = json.loads(json.dumps(there[0][there[1]]))
            except (KeyError, IndexError):
                parent[key] = None
        elif what == 3 and isinstance(parent[key], int | float) and not isinstance(parent[key], bool):
            parent[key] = parent[key] * chance.choice([-1, 0, 2, 0.5, 1e6]) + chance.choice([0, 1, -1])
        else:
            parent[key] = deepcopy(chance.choice(ODD_VALUES))  # a change of the tree changes no later one
    return tree


def _places(tree: Any) -> Any:
    keys = tree.keys() if isinstance(tree, dict) else range(len(tree)) if isinstance(tree, list) else ()
    for key in list(keys):
        yield tree, key
        yield from _places(tree[key])
