"""A hand-off read back: its cameras as ours, its check points, and the port's own pixels for them."""

from __future__ import annotations

import csv
import io
import json
from collections.abc import Mapping
from dataclasses import dataclass
from math import atan, atan2, degrees, hypot, isfinite
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from stationpoint.base.errors import StudyWrong
from stationpoint.base.inputs import read_input
from stationpoint.base.words import TOOL, listed, nearest
from stationpoint.camera import Camera
from stationpoint.record.handoff.convention import Convention, convention_from

Matrix = NDArray[np.float64]
Points = NDArray[np.float64]

MOST_NAMED = 8
MOST = 1e12  # of a length, a pixel or a matrix's number, in any unit
NEEDED = ("name", "x_px", "y_px")


@dataclass(frozen=True, slots=True, eq=False)
class HandedBack:
    """A variant of a hand-off as it is read. camera: ours. points_m: (n, 3). px: (n, 2) where they must be.
    depth: (n,) along the axis in the convention's unit, clip_z: (n,) after the divide. pose, lens: as they
    are written.
    """

    label: str
    key: str
    camera: Camera
    aspect: float
    convention: Convention
    pose: Mapping[str, Any]
    lens: Mapping[str, Any]
    names: tuple[str, ...]
    points_m: Points
    px: Points
    depth: NDArray[np.float64]
    clip_z: NDArray[np.float64]

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
        return tuple(_variant(one, convention) for one in whole["variants"])
    except (KeyError, TypeError, ValueError, AttributeError, IndexError, np.linalg.LinAlgError) as error:
        where = " ".join(str(error).split())[:60]
        raise StudyWrong(f"{path} is a hand-off that cannot be read, at {where}; write it again.") from None


def _variant(table: Mapping[str, Any], convention: Convention) -> HandedBack:
    lens, points = table["lens"], table["points"]
    view = convention.our_view(_matrix(table["matrices"]["view"], convention.order))
    projection = convention.our_projection(_matrix(table["matrices"]["projection"], convention.order))
    width, height = (int(side) for side in lens["pixels"])
    scale = convention.metres_per_unit
    kind = lens["projection"]
    if kind not in ("perspective", "orthographic", "oblique") or min(width, height) < 1:
        raise ValueError("lens")
    near_m, far_m = float(lens["near"]) * scale, float(lens["far"]) * scale
    xyz, px = _numbers([one["xyz"] for one in points], 3), _numbers([one["px"] for one in points], 2)
    return HandedBack(
        label=str(table["id"]),
        key=str(table["key"]),
        camera=Camera(view, projection, (width, height), kind, near_m, far_m),
        aspect=float(lens["width_over_height"]),
        convention=convention,
        pose=dict(table["pose"]),
        lens=dict(lens),
        names=tuple(str(one["name"]) for one in points),
        points_m=convention.points_m(xyz),
        px=px,
        depth=_numbers([[one["depth"]] for one in points], 1)[:, 0],
        clip_z=_numbers([[one["clip_z"]] for one in points], 1)[:, 0],
    )


def _matrix(rows: object, order: str) -> Matrix:
    found = _numbers(rows, 4)
    if found.shape != (4, 4):
        raise ValueError("matrices")
    return found if order == "row" else found.T


def _numbers(rows: object, width: int) -> NDArray[np.float64]:
    found = np.array(rows, dtype=np.float64).reshape(-1, width)
    if not (np.abs(found) <= MOST).all():
        raise ValueError("a number that is none, or out of all measure")
    return found


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
