"""Mistakes of axes and units, and of the order of matrices."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from itertools import permutations, product

import numpy as np

from stationpoint.record import HandedBack
from stationpoint.run.port.mistakes.trial import MATRIX, WORLD, Matrix, Mistake, Trial

UNITS = {
    100.0: "centimetres for metres, or the reverse",
    1000.0: "millimetres for metres, or the reverse",
    10.0: "millimetres for centimetres, or the reverse",
    1 / 0.0254: "inches for metres, or the reverse",
    1 / 2.54: "inches for centimetres, or the reverse",
    1 / 0.3048: "feet for metres, or the reverse",
}


def world_mistakes(handed: HandedBack) -> Iterator[Mistake]:
    """Points in another unit than the camera, or their axes mirrored or exchanged."""
    convention = handed.convention

    def world(matrix: Matrix) -> Matrix:
        """A (3, 3) on coordinates of the convention, as a (4, 4) on ours."""
        whole = np.eye(4)
        whole[:3, :3] = convention.turn.T @ matrix @ convention.turn
        return whole

    def of(name: str, says: str, matrix: Matrix, common: bool) -> Mistake:
        at = world(matrix)
        return Mistake(name, says, WORLD, lambda trial: replace(trial, world=trial.world @ at), common)

    for factor, words in UNITS.items():
        for k, what in ((factor, "too long"), (1 / factor, "too short")):
            says = f"lengths are {factor:.5g} times {what} beside the camera: {words}"
            yield of("unit", says, np.eye(3) * k, factor in (100.0, 1000.0))
    for axes, signs in product(permutations(range(3)), product((1.0, -1.0), repeat=3)):
        matrix = np.zeros((3, 3))
        for row, (axis, sign) in enumerate(zip(axes, signs, strict=True)):
            matrix[row, axis] = sign
        if not np.array_equal(matrix, np.eye(3)):
            name, says = _axes_words(matrix, convention.up[-1])
            yield of(name, says, matrix, name != "axes exchanged")


def _axes_words(matrix: Matrix, up: str) -> tuple[str, str]:
    rows = [("-" if row.min() < 0 else "") + "xyz"[int(np.argmax(np.abs(row)))] for row in matrix]
    mirrored = bool(np.linalg.det(matrix) < 0)
    taken = f"x, y, z are taken as {', '.join(rows)}"
    moved = [axis for axis, row in zip("xyz", rows, strict=True) if row[-1] != axis]
    if not moved:
        flipped = [axis for axis, row in zip("xyz", rows, strict=True) if row.startswith("-")]
        if len(flipped) == 1:
            return "handedness", f"the world has the wrong hand: {flipped[0]} is mirrored"
        return ("handedness" if mirrored else "axes exchanged"), f"axes of the world are mirrored: {taken}"
    if up in moved:
        if mirrored:
            return "up axis and handedness", f"the world has the wrong up axis, and the wrong hand: {taken}"
        return "up axis", f"the world has the wrong up axis: {taken}"
    name = "handedness" if mirrored else "axes exchanged"
    return name, f"level axes of the world are exchanged: {taken}"


def matrix_mistakes(handed: HandedBack) -> Iterator[Mistake]:
    """Matrices of the convention's own, written by rows and read by columns."""
    convention, camera = handed.convention, handed.camera
    view, projection = convention.view(camera.view), convention.projection(camera.projection)
    into = np.eye(4)
    into[:3, :3] = convention.turn / convention.metres_per_unit
    out = np.linalg.inv(convention.clip_turn)

    def of(name: str, says: str, whole: Matrix) -> Mistake:
        return Mistake(
            name, says, MATRIX, lambda trial: Trial(into, np.eye(4), out @ whole, trial.picture), False
        )

    yield of("transposed matrix", "the product of projection and view is transposed", (projection @ view).T)
    yield of("transposed matrix", "projection and view are each transposed", projection.T @ view.T)
    yield of("transposed matrix", "the view matrix is transposed", projection @ view.T)
    yield of("transposed matrix", "the projection matrix is transposed", projection.T @ view)
    turned = view.copy()
    turned[:3, :3] = view[:3, :3].T
    yield of("transposed matrix", "the rotation in the view matrix is transposed", projection @ turned)
    yield of(
        "inverse view",
        "the camera's place is used as the view matrix, without being inverted",
        projection @ np.linalg.inv(view),
    )
    yield of(
        "order of the product", "view and projection are multiplied in the wrong order", view @ projection
    )
