"""A hand-off read back: its cameras as ours, its check points, and the port's own pixels for them."""

from __future__ import annotations

import csv
import io
import json
from collections.abc import Mapping
from dataclasses import dataclass
from math import atan, atan2, degrees, hypot, isfinite
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from stationpoint.base.errors import StudyWrong
from stationpoint.base.inputs import read_input
from stationpoint.base.words import TOOL, listed, nearest
from stationpoint.camera import Camera
from stationpoint.record.handoff.convention import Convention, convention_from
from stationpoint.record.handoff.part import MOST, Part

Matrix = NDArray[np.float64]
Points = NDArray[np.float64]

MOST_NAMED = 8
KINDS, OFFSETS = ("perspective", "orthographic", "oblique"), ("slide", "turn", "shift")
TURNED = 1e-3  # by how much a view's rotation may be none, as its numbers are written
NEEDED = ("name", "x_px", "y_px")


@dataclass(frozen=True, slots=True, eq=False)
class Boomed:
    """How an eye is placed from its anchor, signs and unit ours. anchor_m: (3,). anchor_over_foot_m: its
    height over the subject's foot. offset: fractions of the picture, right and up; offset_by: how it is made.
    """

    anchor_m: Points
    anchor_over_foot_m: float
    distance_m: float
    yaw_deg: float
    pitch_deg: float
    roll_deg: float
    offset: tuple[float, float]
    offset_by: str


@dataclass(frozen=True, slots=True, eq=False)
class HandedBack:
    """A variant of a hand-off as it is read. camera: ours. points_m: (n, 3). px: (n, 2) where they must be.
    boom: None where the eye is not placed from an anchor. focal_mm, gate_mm: None where it has none.
    lens_shift: where the axis lands at the anchor's depth, fractions from the centre, right and up.
    """

    label: str
    key: str
    camera: Camera
    aspect: float
    convention: Convention
    boom: Boomed | None
    focal_mm: float | None
    gate_mm: tuple[float, float] | None
    lens_shift: tuple[float, float]
    names: tuple[str, ...]
    points_m: Points
    px: Points

    @property
    def vfov_deg(self) -> float | None:
        """Vertical angle of view; None of a parallel view."""
        return None if self.camera.parallel else degrees(2.0 * atan(1.0 / self.camera.projection[1, 1]))

    @property
    def view_height_m(self) -> float | None:
        """Whole height of a parallel view; None of another."""
        return 2.0 / float(self.camera.projection[1, 1]) if self.camera.parallel else None

    @property
    def shift(self) -> tuple[float, float]:
        """Where the axis lands, fractions from the centre, right and up; in an oblique view at depth 0."""
        p = self.camera.projection
        x, y = (p[0, 3], p[1, 3]) if self.camera.parallel else (-p[0, 2], -p[1, 2])
        return float(x) / 2.0, float(y) / 2.0

    @property
    def oblique(self) -> tuple[float, float] | None:
        """Drawn over true length of receding lines, and their direction in degrees; None if not oblique."""
        if self.camera.kind != "oblique":
            return None
        p = self.camera.projection
        across, up = float(-p[0, 2] / p[0, 0]), float(-p[1, 2] / p[1, 1])
        return hypot(across, up), degrees(atan2(up, across))


def read_handoff(path: Path) -> tuple[HandedBack, ...]:
    """The variants of a hand-off; StudyWrong where the file is none."""
    try:
        whole = json.loads(read_input(path).decode("utf-8-sig"))
    except OSError as error:
        raise StudyWrong(f"{path} cannot be read: {(error.strerror or 'input error').lower()}.") from None
    except (ValueError, RecursionError):
        raise StudyWrong(f"{path} is not JSON; give a hand-off that stationpoint wrote.") from None
    tool = whole.get("tool") if isinstance(whole, dict) else None
    known = isinstance(tool, dict) and tool.get("name") == TOOL
    if not known or not isinstance(whole.get("convention"), dict):
        raise StudyWrong(f"{path} is JSON but no hand-off; give one that stationpoint handoff wrote.")
    try:
        convention = convention_from(whole["convention"])
        handed = tuple(_variant(one, convention) for one in Part(whole, "")["variants"].parts())
        if not handed:
            raise ValueError("variants, of which there are none")
        _refuse_twins([one.label for one in handed], "variants' id")
        _refuse_twins([name.strip() for one in handed for name in one.names], "points' name")
    except ValueError as error:
        raise StudyWrong(f"{path} is a hand-off that cannot be read, at {error}; write it again.") from None
    return handed


def _refuse_twins(words: list[str], what: str) -> None:
    twice = next((word for k, word in enumerate(words) if word in words[:k]), None)
    if twice is not None:
        raise ValueError(f'{what}, of which two are "{twice[:40]}"')


def _variant(one: Part, convention: Convention) -> HandedBack:
    """A variant with all that is asked of it later; ValueError says where it is not as it must be."""
    lens, points, matrices = one["lens"], one["points"].parts(), one["matrices"]
    scale = convention.metres_per_unit
    kind = lens["projection"].word(KINDS)
    width, height = (side.whole() for side in lens["pixels"].parts(2))
    near_m, far_m = lens["near"].number() * scale, lens["far"].number() * scale
    if far_m - max(near_m, 0.0) < 1 / MOST:
        raise ValueError(f"{lens.where}.far, which must be before the camera and beyond near")
    px = _rows([point["px"].numbers(2) for point in points], 2)
    if len(px) > 1 and np.ptp(px, axis=0).min() == 0.0:
        raise ValueError(f"{one.where}.points, whose px are all on one line, so that they tell nothing")
    gate = lens.get("gate_mm")
    return HandedBack(
        label=one["id"].text(),
        key=one["key"].text(),
        camera=Camera(
            _view(matrices["view"], convention),
            _projection(matrices["projection"], convention),
            (width, height),
            kind,
            near_m,
            far_m,
        ),
        aspect=lens["width_over_height"].positive(),
        convention=convention,
        boom=_boom(one["pose"], convention),
        focal_mm=None if (focal := lens.get("focal_mm")) is None else focal.positive(),
        gate_mm=None if gate is None else _pair([side.positive() for side in gate.parts(2)]),
        lens_shift=_pair(lens["shift"].numbers(2)),
        names=tuple(point["name"].text() for point in points),
        points_m=convention.points_m(_rows([point["xyz"].numbers(3) for point in points], 3)),
        px=px,
    )


def _boom(pose: Part, convention: Convention) -> Boomed | None:
    distance, offset, by = pose.get("distance"), pose.get("offset"), pose.get("offset_by")
    if distance is None or offset is None or distance.number() == 0.0:
        return None
    scale = convention.metres_per_unit
    return Boomed(
        anchor_m=convention.points_m(np.array([pose["anchor"].numbers(3)]))[0],
        anchor_over_foot_m=pose["anchor_over_foot"].number() * scale,
        distance_m=distance.positive() * scale,
        yaw_deg=pose["yaw_deg"].number() * (1.0 if convention.yaw == "left" else -1.0),
        pitch_deg=pose["pitch_deg"].number() * (1.0 if convention.pitch == "down" else -1.0),
        roll_deg=pose["roll_deg"].number(),
        offset=_pair(offset.numbers(2)),
        offset_by=OFFSETS[0] if by is None else by.word(OFFSETS),
    )


def _view(part: Part, convention: Convention) -> Matrix:
    view = convention.our_view(_matrix(part, convention.order))
    turn = view[:3, :3]
    if np.abs(turn @ turn.T - np.eye(3)).max() > TURNED or np.linalg.det(turn) < 0.0:
        raise ValueError(f"{part.where}, which must turn and move, and do nothing else")
    return view


def _projection(part: Part, convention: Convention) -> Matrix:
    projection = convention.our_projection(_matrix(part, convention.order))
    if min(projection[0, 0], projection[1, 1]) < 1 / MOST:
        raise ValueError(f"{part.where}, which must scale x and y by more than 0")
    return projection


def _matrix(part: Part, order: str) -> Matrix:
    found = np.array([row.numbers(4) for row in part.parts(4)])
    return found if order == "row" else found.T


def _pair(two: list[float]) -> tuple[float, float]:
    return two[0], two[1]


def _rows(rows: list[list[float]], width: int) -> Points:
    return np.array(rows, dtype=np.float64).reshape(-1, width)


@dataclass(frozen=True, slots=True, eq=False)
class Seen:
    """Where a port draws points of one variant: which of them, their pixels (n, 2), depth (n,) or None."""

    which: tuple[int, ...]
    px: Points
    depth: NDArray[np.float64] | None


def read_seen(path: Path, handed: tuple[HandedBack, ...]) -> dict[str, Seen]:
    """A port's own pixels by variant's label; those that are blank are left out. Raises StudyWrong."""
    rows = _table(path)
    spots = {name.strip(): (one.label, k) for one in handed for k, name in enumerate(one.names)}
    found: dict[str, list[tuple[int, list[float]]]] = {one.label: [] for one in handed}
    met: set[str] = set()
    for line, row in rows:
        name = row["name"].strip()
        if name not in spots:
            close = nearest(name, list(spots))
            names = listed([*spots][:MOST_NAMED])
            meant = f'did you mean "{close}"?' if close else f"there are {names}."
            raise StudyWrong(f'{path.name}, line {line}: the hand-off has no point "{name}"; {meant}')
        if name in met:
            raise StudyWrong(f'{path.name}, line {line}: the point "{name}" comes twice.')
        met.add(name)
        values = [_value(row, key, f"{path.name}, line {line}") for key in ("x_px", "y_px", "depth")]
        if values[0] is not None and values[1] is not None:
            label, number = spots[name]
            depth = float("nan") if values[2] is None else values[2]
            found[label].append((number, [values[0], values[1], depth]))
    return {label: _seen(given) for label, given in found.items() if given}


def _seen(given: list[tuple[int, list[float]]]) -> Seen:
    values = np.array([row for _, row in given])
    depth = values[:, 2] if np.isfinite(values[:, 2]).all() else None
    return Seen(tuple(number for number, _ in given), values[:, :2], depth)


def _value(row: Mapping[str, str], key: str, where: str) -> float | None:
    """A number; None where there is none to read, as of a point that is not drawn."""
    words = (row.get(key) or "").strip()
    if words.lower() in ("", "nan", "null", "none"):
        return None
    try:
        value = float(words)
    except ValueError:
        raise StudyWrong(f'{where}: {key} is "{words[:40]}", must be a number.') from None
    if not isfinite(value) or abs(value) > MOST:
        raise StudyWrong(f'{where}: {key} is "{words[:40]}", must be a finite number.')
    return value


def _table(path: Path) -> list[tuple[int, dict[str, str]]]:
    try:
        text = read_input(path).decode("utf-8-sig")
    except OSError as error:
        raise StudyWrong(f"{path} cannot be read: {(error.strerror or 'input error').lower()}.") from None
    except UnicodeDecodeError:
        raise StudyWrong(f"{path} is not text (UTF-8); give a table as CSV.") from None
    first = text.partition("\n")[0]
    comma = ";" if ";" in first and "," not in first else ","
    try:
        reader = csv.reader(io.StringIO(text, newline=""), delimiter=comma)
        heading = [word.strip() for word in next(reader, [])]
        lost = [key for key in NEEDED if key not in heading]
        if lost:
            raise StudyWrong(
                f"{path.name} has no column {listed(lost)}; its first line must name {listed(NEEDED)}."
            )
        rows = [
            (reader.line_num, {key: row[k] if k < len(row) else "" for k, key in enumerate(heading)})
            for row in reader
            if any(word.strip() for word in row)
        ]
    except csv.Error as error:
        raise StudyWrong(f"{path.name} is not a table: {error}.") from None
    if not rows:
        raise StudyWrong(f"{path.name} holds no points.")
    return rows
