"""What targets, gaps, nodes, viewings and the subject are called never changes a reading."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from readings.made import COUCH, DESK, block, body, camera, case, square, values
from stationpoint.readings.kinds import read, wanted
from stationpoint.readings.types import Case, Path, Value
from stationpoint.render import open_renderer
from stationpoint.scene.types import Node

EYE = camera(pitch=0, distance=10, focal=36, pixels=(1280, 720))
CELL = (160, 90)


def test_target_called_as_the_landings_zoom_is_seen_as_the_area_left_free() -> None:
    # An occluder before the right half of a square, by similar triangles: .5. The deck behind it, which
    # the subject jumps to, is small as well: both are looked at closely.
    plate, half = square("plate", (-1, 1), (-1, 1), 0), square("half", (0, 2), (-2, 2), 5)
    deck, figure = block("deck", (-6, -3, -20), (1, 0.2, 1)), body((6, -3, 0))
    gap = {"name": "hop", "from": (6, -3, 0), "to": (-6, -2.8, -20)}
    for name in ("landing deck", "landing", "deck", "main", "zoom", "hop"):
        made = case(
            EYE, plate, half, deck, figure,
            target=[{"name": name, "node": "plate"}], gap=[gap], subject={"at": (6, -3, 0)}, cell=CELL,
        )  # fmt: skip
        assert values(made, ["visibility", "covers"])["targets", name, "seen"] == pytest.approx(
            0.5, abs=0.01
        ), name


@pytest.mark.parametrize(
    ("target", "key"),
    [
        ("deck", "deck"),
        ("hop", "hop"),
        ("gap:hop", "target:gap:hop"),
        ("target:gap:hop", "target:target:gap:hop"),
    ],
)
def test_target_called_as_a_landing_or_its_node_keeps_what_covers_it_apart(target: str, key: str) -> None:
    # The subject, .5 m wide at 6 m, stands before the middle of a square of 2 m at 10 m: it hides .417 of
    # its width, all but the dome's corners. Of a deck far to the left it hides nothing.
    plate, deck = square("plate", (-1, 1), (-1, 1), 0), block("deck", (-6, -3, -2), (1, 0.2, 1))
    gap = {"name": "hop", "from": (0, -1, 4), "to": (-6, -2.8, -2)}
    made = case(
        EYE, plate, deck, body((0, -1, 4)),
        target=[{"name": target, "node": "plate"}], gap=[gap], subject={"at": (0, -1, 4)}, cell=CELL,
    )  # fmt: skip
    covered = {path[2]: value for path, value in values(made, ["covers"]).items()}
    assert covered == {key: pytest.approx(0.4, abs=0.03), "gap:hop": 0.0}


def test_landing_that_is_a_target_too_stands_under_both_names() -> None:
    plate = block("plate", (0, -1, 0), (2, 2, 0.01))
    gap = {"name": "hop", "from": (0, -1, 4), "to": (0, 1, 0)}
    made = case(
        EYE, plate, body((0, -1, 4)),
        target=[{"name": "t", "node": "plate"}], gap=[gap], subject={"at": (0, -1, 4)}, cell=CELL,
    )  # fmt: skip
    covered = values(made, ["covers"])
    assert 0.3 < covered["framing", "subject_covers", "t"] < 0.5  # type: ignore[operator]
    assert covered["framing", "subject_covers", "gap:hop"] == covered["framing", "subject_covers", "t"]


def test_landing_over_a_void_is_covered_by_nobody() -> None:
    gap = {"name": "hop", "from": (0, -1, 4), "to": (50, 1, 0)}
    made = case(EYE, body((0, -1, 4)), gap=[gap], subject={"at": (0, -1, 4)}, cell=CELL)
    assert values(made, ["covers"]) == {("framing", "subject_covers", "gap:hop"): None}


# ---- any names at all -------------------------------------------------------------------------------

TARGETS, GAPS = ("t-one", "t-two", "t-three", "t-four", "t-five"), ("g-one", "g-two")
NODES = ("n-floor", "n-deck", "n-crate", "n-lamp", "n-isles")
SUBJECT, VIEWINGS = "s-body", ("v-one", "v-two")
HOSTILE = (
    "main", "main.2", "plain", "uncast", "subject", "here", "ground", "sky", "A1", "slide", "mirror",
    "gap:g-one", "gap:t-one", "target:t-one", "target:gap:x", "gap:", "target:", ":", "zoom", "landing deck",
    "landing:g", "n-deck", "t-one", "g-one", "v-one", "n-crate+n-lamp", "+", "n-isles\x1f0", "n-isles\x1f1",
    "a.b", ".", "..", "a/b", "\x00", "\x1f", "a\nb", "\x1b[2J", "*", "[x]*?", "x", "X", "caf\u00e9",
    "cafe\u0301", " ", "  ", "seen", "desk", "size_px", "order", "amount", "drop_line", "verdict", "none",
    "false", "0", "1", "\u202egnp", "\U0001f6a2", "part-1",
)  # fmt: skip
Names = Mapping[str, str]


def _isles(name: str) -> Node:
    """Two slabs 3 m apart in one node, as an exported level has them."""
    one, other = block(name, (-6, 0, -3), (2, 0.4, 2)), block(name, (-6, 1, -6), (2, 0.4, 2))
    vertices = np.concatenate([one.vertices, other.vertices])
    faces = np.concatenate([one.faces, other.faces + len(one.vertices)])
    return Node(name, vertices, faces, walkable=True, kind="mesh")


def _case(names: Names) -> Case:
    floor, deck, crate, lamp, isles = (names[name] for name in NODES)
    t, g = [names[name] for name in TARGETS], [names[name] for name in GAPS]
    nodes = (
        block(floor, (0, -1, 0), (40, 1, 40)),
        block(deck, (3, 0, -7), (2, 0.8, 2)),
        block(crate, (1, 0, -2), (1, 1, 1)),
        block(lamp, (-2, 2.5, -1), (0.4, 0.5, 0.4)),
        _isles(isles),
        body((0, 0, 1), names[SUBJECT]),
    )
    seats = [replace(seat, name=names[name]) for seat, name in zip((COUCH, DESK), VIEWINGS, strict=True)]
    return case(
        camera(anchor=(0, 1, 0), pitch=15), *nodes,
        target=[
            {"name": t[0], "node": crate, "like": [t[1]]},
            {"name": t[1], "nodes": [lamp, deck], "role": "secondary"},
            {"name": t[2], "at": (0.2, 0, -4), "size": (1, 1, 1)},
            {"name": t[3], "at": (-1, 1, -2)},
            {"name": t[4], "node": lamp, "with": [crate]},
        ],
        gap=[
            {"name": g[0], "from": (0, 0, 1), "to": (3, 0.8, -7), "landing": deck,
             "jump": {"speed_mps": 4, "apex_m": 1.25}},
            {"name": g[1], "from": (-6, 0.4, -3), "to": (-6, 1.4, -6), "reach_m": 2},
        ],
        subject={"name": names[SUBJECT], "at": (0, 0, 1)},
        reserved=[{"name": "t-one", "rect": (0, 0.8, 0.2, 1)}],
        aids=["cast-shadow", "drop-marker"],
        twin_shift_m=1.0,
        at=seats,
        cell=(96, 54),
    )  # fmt: skip


def _renamed(value: Value, names: Names) -> Value:
    """A value with what it names renamed: whole words, or in a sentence."""
    if isinstance(value, str):
        if value in names:
            return names[value]
        for plain in sorted(names, key=len, reverse=True):
            value = value.replace(plain, f"\0{plain}\0")
        return "".join(names.get(part, part) for part in value.split("\0"))
    if isinstance(value, tuple):
        return tuple(_renamed(one, names) for one in value)
    if isinstance(value, Mapping):
        return {str(_renamed(key, names)): _renamed(one, names) for key, one in value.items()}
    return value


def _renamed_path(path: Path, names: Names) -> Path:
    """A reading's path with what it names renamed."""
    if path[:2] == ("framing", "subject_covers") and path[2] in TARGETS:
        name = names[path[2]]
        return (*path[:2], f"target:{name}" if name.startswith(("gap:", "target:")) else name)
    parts = [str(_renamed(part, names)) if ":" not in part else part for part in path]
    for k, part in enumerate(path):
        kind, seam, name = part.partition(":")
        if seam:
            parts[k] = f"{kind}:{names[name]}"
    return tuple(parts)


def _values(made: Case) -> dict[Path, Value]:
    """The readings of a case, its shots drawn by rays."""
    with open_renderer("rays", made.scene) as renderer:
        return read(made, {key: renderer.draw(shot) for key, shot in wanted(made).items()}).values


def _assert_no_name_matters(names: Names, plain: Mapping[Path, Value]) -> None:
    found = _values(_case(names))
    assert len(found) == len(plain)
    for path, value in plain.items():
        assert found[_renamed_path(path, names)] == _renamed(value, names), path


PLAIN: dict[str, Any] = {name: name for name in (*TARGETS, *GAPS, *NODES, SUBJECT, *VIEWINGS)}


@pytest.fixture(scope="module")
def plain() -> dict[Path, Value]:
    return _values(_case(PLAIN))


def test_the_study_under_plain_names_reads_all_that_could_be_mixed_up(plain: dict[Path, Value]) -> None:
    assert len(plain) > 300
    assert {path[0] for path in plain} >= {"targets", "gaps", "cues", "twins", "framing", "false_contacts"}
    assert 0 < plain["targets", "t-one", "seen"] <= 1  # type: ignore[operator]
    assert plain["targets", "t-two", "hidden_by"]
    assert plain["framing", "subject_covers", "gap:g-one"] is not None


def _all(targets: Sequence[str], gaps: Sequence[str], nodes: Sequence[str], viewings: Sequence[str]) -> Names:
    subject, *nodes = nodes
    hostile = (*targets, *gaps, *nodes, subject, *viewings)
    return dict(zip(PLAIN, hostile, strict=True))


@pytest.mark.parametrize(
    "names",
    [
        _all(
            ["landing deck", "deck", "gap:main", "target:deck", "main"],
            ["main", "deck"],
            ["subject", "ground", "deck", "main", "deck+main", "gap:deck"],
            ["seen", "here"],
        ),
        _all(
            ["main.2", "uncast", "plain", "gap:\x1f", "\x1f"],
            ["\x1f", "slide"],
            ["n-isles", "a+b", "a", "b", "n-isles\x1f0\x1f1", "n-isles\x1f0"],
            ["slide", "mirror"],
        ),
        _all(
            ["x", "X", "caf\u00e9", "cafe\u0301", " "],
            ["x.y", "x/y"],
            ["*", "[x]*?", "x", "X", "caf\u00e9", "cafe\u0301"],
            ["*", "x"],
        ),
        _all(
            ["size_px", "order", "verdict", "value", "grade"],
            ["order", "sides"],
            ["value", "order", "axes", "false_contact", "0", "none"],
            ["size_px", "piece_arcmin"],
        ),
    ],
    ids=["our words", "our joins", "alike", "readings"],
)
def test_names_that_could_be_taken_for_others_change_no_reading(
    names: Names, plain: dict[Path, Value]
) -> None:
    _assert_no_name_matters(names, plain)


def _several(count: int) -> st.SearchStrategy[list[str]]:
    one = st.sampled_from(HOSTILE) | st.text(min_size=1, max_size=4)
    return st.lists(one, min_size=count, max_size=count, unique=True)


@settings(max_examples=10, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(st.tuples(_several(5), _several(2), _several(6), _several(2)))
def test_no_names_whatever_change_a_reading(
    plain: dict[Path, Value], chosen: tuple[list[str], list[str], list[str], list[str]]
) -> None:
    _assert_no_name_matters(_all(*chosen), plain)
