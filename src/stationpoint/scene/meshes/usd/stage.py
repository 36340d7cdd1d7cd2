"""A USD stage read to plain arrays: run as a program of its own, since usd-core leaves threads behind.

    python stage.py FILE MOST

writes to standard output an npz with the arrays of every mesh, and among them "tables": JSON in UTF-8
with what read.py makes parts and cameras of. MOST: how many parts are drawn at most; the walk ends past
that. Imports nothing of this package, so that it starts quickly and from anywhere.

Matrices are USD's: (4, 4), for points as rows, in the stage's own axes and unit.
"""

from __future__ import annotations

import io
import json
import os
import re
import sys
from collections.abc import Iterator
from typing import Any, NamedTuple

import numpy as np

DRAWN_PURPOSES = ("default", "render")
SHAPES = frozenset({"Cube", "Sphere", "Cylinder", "Cone", "Capsule", "Plane", "NurbsPatch", "TetMesh"})
SHAPES |= frozenset({"BasisCurves", "NurbsCurves", "Points"})
FROM_WHOM = re.compile(r" introduced by .*", re.DOTALL)
NAME = "stationpoint:name"  # ours, where a prim cannot have it: letters, digits and low lines alone can
PLACE = re.compile(r"@[^@\n]*[/\\]([^@/\\\n]*)@")


class Wrong(Exception):
    """A stage that cannot be drawn right; the message is one sentence without the file's name."""


class Spot(NamedTuple):
    """A prim on the way: its parent's matrix to the world, and whether anything above hides it."""

    prim: Any
    above: Any
    hidden: bool
    predicate: Any
    depth: int


class Found:
    """What a walk has found so far."""

    def __init__(self) -> None:
        self.arrays: dict[str, np.ndarray] = {}
        self.meshes: dict[str, int] = {}  # by the path of the prim that holds the data
        self.draws: list[dict[str, object]] = []
        self.cameras: list[dict[str, object]] = []
        self.names: dict[str, list[str]] = {}  # what is odd: of which prims

    def say(self, what: str, prim: Any) -> None:
        names = self.names.setdefault(what, [])
        if prim.GetName() not in names:
            names.append(prim.GetName())


def main(file: str, most: int) -> dict[str, object]:
    """Write the stage's arrays; or its failure as {"wrong": sentence} or {"lacks": true}."""
    try:
        from pxr import Tf, Usd
    except ImportError:
        return _written({}, {"lacks": True})
    try:
        stage = Usd.Stage.Open(os.path.abspath(file))
        found = Found()
        tables = _stage(stage, found, most)
    except Wrong as error:
        return _written({}, {"wrong": str(error)})
    except Tf.ErrorException as error:
        return _written({}, {"wrong": f"is not a USD file that can be read: {_reason(error)}."})
    return _written(found.arrays, tables)


def _written(arrays: dict[str, np.ndarray], tables: dict[str, object]) -> dict[str, object]:
    held = io.BytesIO()
    text = json.dumps(tables).encode()
    np.savez(held, allow_pickle=False, tables=np.frombuffer(text, np.uint8), **arrays)
    sys.stdout.buffer.write(held.getvalue())
    return tables


def _reason(error: object) -> str:
    """The innermost reason of an error, without paths and places in other people's code."""
    said = re.findall(r"' ?: '(.*?)'(?=\n|$)| : '(.*?)'(?=\n|$)", str(error), re.DOTALL)
    text = next((a or b for a, b in said), "") or "it is cut off or wrong"
    text = re.sub(r"(?:[A-Za-z]:)?[/\\][^\s:@>]*[/\\]([^\s:/@>]*)", r"\1", text)
    return " ".join(text.split()).rstrip(". ")[:140].replace("</>", "the root")


def _stage(stage: Any, found: Found, most: int) -> dict[str, object]:
    from pxr import Gf, Usd, UsdGeom

    _check_whole(stage)
    authored = stage.HasAuthoredTimeCodeRange()
    time = Usd.TimeCode(stage.GetStartTimeCode()) if authored else Usd.TimeCode.EarliestTime()
    predicate = Usd.TraverseInstanceProxies(Usd.PrimDefaultPredicate)
    root = stage.GetPseudoRoot()
    for prim in root.GetFilteredChildren(predicate):
        _walk(Spot(prim, Gf.Matrix4d(1.0), False, predicate, 0), time, found, most)
    files = [layer.realPath for layer in stage.GetUsedLayers() if layer.realPath]
    unit = UsdGeom.GetStageMetersPerUnit(stage)
    return {
        "up": UsdGeom.GetStageUpAxis(stage).lower(),
        "metres_per_unit": unit,
        "unit_is_said": UsdGeom.StageHasAuthoredMetersPerUnit(stage),
        "moves": authored and stage.GetEndTimeCode() > stage.GetStartTimeCode(),
        "files": sorted(files),
        "draws": found.draws,
        "cameras": found.cameras,
        "odd": found.names,
    }


def _check_whole(stage: Any) -> None:
    """Wrong where a layer, reference or payload is missing or broken: USD itself would go on without it."""
    errors = [" ".join(str(error).split()) for error in stage.GetCompositionErrors()]
    if errors:
        said = PLACE.sub(r"@\1@", FROM_WHOM.sub("", min(errors))).replace("@", '"').rstrip(". ")
        raise Wrong(f"is not whole: {said[:1].lower()}{said[1:160]}.")


def _walk(start: Spot, time: Any, found: Found, most: int) -> None:
    """All prims under one, in the stage's order; deep trees are no matter."""
    spots = [start]
    while spots and len(found.draws) <= most:
        spot = spots.pop()
        below = list(_met(spot, time, found, most))
        spots.extend(reversed(below))


def _met(spot: Spot, time: Any, found: Found, most: int) -> Iterator[Spot]:
    """Keep what one prim shows; what is to be walked next."""
    from pxr import Gf, UsdGeom

    prim, world, hidden = spot.prim, spot.above, spot.hidden
    if prim.IsA(UsdGeom.Xformable):
        xformable = UsdGeom.Xformable(prim)
        local = xformable.GetLocalTransformation(time)
        world = local if xformable.GetResetXformStack() and not spot.depth else local * world
    if prim.IsA(UsdGeom.Imageable):
        visibility = UsdGeom.Imageable(prim).GetVisibilityAttr().Get(time)
        if visibility == "invisible" and not hidden:
            hidden = True
            found.say("marked as not visible, left out with all under it", prim)
    if prim.IsA(UsdGeom.Camera):
        found.cameras.append(_camera(prim, world, time, found))
    if hidden:
        pass  # cameras are no shapes: they are looked for all the same
    elif prim.IsA(UsdGeom.Mesh):
        _mesh(prim, world, time, found)
    elif prim.IsA(UsdGeom.PointInstancer):
        yield from _instances(spot, Gf.Matrix4d(world), time, most)
        return
    elif prim.GetTypeName() in SHAPES and _is_drawn(prim):
        found.say(f"of type {prim.GetTypeName()}, not drawn; export it as a mesh", prim)
    for child in prim.GetFilteredChildren(spot.predicate):
        yield Spot(child, world, hidden, spot.predicate, spot.depth)


def _is_drawn(prim: Any) -> bool:
    from pxr import UsdGeom

    return UsdGeom.Imageable(prim).ComputePurpose() in DRAWN_PURPOSES


def _mesh(prim: Any, world: Any, time: Any, found: Found) -> None:
    from pxr import UsdGeom

    if not _is_drawn(prim):
        return
    source = prim.GetPrimInPrototype() if prim.IsInstanceProxy() else prim
    key = str(source.GetPath())
    mesh = UsdGeom.Mesh(prim)
    if key not in found.meshes:
        found.meshes[key] = number = len(found.meshes)
        given = {
            "points": (mesh.GetPointsAttr(), np.float32, (0, 3)),
            "counts": (mesh.GetFaceVertexCountsAttr(), np.int32, (0,)),
            "corners": (mesh.GetFaceVertexIndicesAttr(), np.int32, (0,)),
            "holes": (mesh.GetHoleIndicesAttr(), np.int32, (0,)),
        }
        for name, (attribute, kind, empty) in given.items():
            values = attribute.Get(time)
            found.arrays[f"{name} {number}"] = (
                np.zeros(empty, kind) if values is None else np.asarray(values, dtype=kind)
            )
    if mesh.GetSubdivisionSchemeAttr().Get() != "none":
        found.say("subdivision surfaces, drawn as their control cages", prim)
    if prim.GetRelationship("skel:skeleton").HasAuthoredTargets():
        found.say("moved by a skeleton, drawn as it was bound", prim)
    found.draws.append(
        {
            "name": prim.GetName(),
            "mesh": found.meshes[key],
            "matrix": _numbers(world),
            "left_handed": mesh.GetOrientationAttr().Get(time) == "leftHanded",
        }
    )


def _instances(spot: Spot, world: Any, time: Any, most: int) -> Iterator[Spot]:
    """The prototypes of a point instancer, each where it stands; its children are not drawn themselves."""
    from pxr import Usd, UsdGeom

    prim = spot.prim
    if spot.depth > 16:
        raise Wrong(f"{prim.GetName()!r} holds instances of itself.")
    instancer = UsdGeom.PointInstancer(prim)
    which = instancer.GetProtoIndicesAttr().Get(time)
    if not which:
        return
    if len(which) > most:
        raise Wrong(f"{prim.GetName()!r} places {len(which)} instances; at most {most} parts are drawn.")
    matrices = instancer.ComputeInstanceTransformsAtTime(
        time, time, UsdGeom.PointInstancer.ExcludeProtoXform, UsdGeom.PointInstancer.IgnoreMask
    )
    shown = instancer.ComputeMaskAtTime(time)
    targets = instancer.GetPrototypesRel().GetForwardedTargets()
    if len(matrices) != len(which):
        raise Wrong(f"{prim.GetName()!r}: the lists of its instances do not fit each other.")
    prims = [prim.GetStage().GetPrimAtPath(path) for path in targets]
    below = Usd.TraverseInstanceProxies(
        Usd.PrimIsActive & Usd.PrimIsLoaded & Usd.PrimHasDefiningSpecifier
    )  # prototypes often lie under an "over" or a class, so that they are not drawn themselves
    for k, (number, matrix) in enumerate(zip(which, matrices, strict=True)):
        if shown and not shown[k]:
            continue
        if not 0 <= number < len(prims) or not prims[number]:
            raise Wrong(f"{prim.GetName()!r} asks for prototype {number} of {len(prims)}.")
        yield Spot(prims[number], matrix * world, False, below, spot.depth + 1)


def _camera(prim: Any, world: Any, time: Any, found: Found) -> dict[str, object]:
    """A camera's place and lens: lengths in tenths of the stage's unit, near and far in its unit."""
    from pxr import UsdGeom

    camera = UsdGeom.Camera(prim)
    value = {
        "focal": camera.GetFocalLengthAttr(),
        "width": camera.GetHorizontalApertureAttr(),
        "height": camera.GetVerticalApertureAttr(),
        "right": camera.GetHorizontalApertureOffsetAttr(),
        "up": camera.GetVerticalApertureOffsetAttr(),
    }
    lens = {name: float(attribute.Get(time) or 0.0) for name, attribute in value.items()}
    near, far = camera.GetClippingRangeAttr().Get(time) or (0.0, 0.0)
    return {
        "name": prim.GetName(),
        "said": prim.GetAttribute(NAME).Get() if prim.HasAttribute(NAME) else "",
        "matrix": _numbers(world),
        "orthographic": camera.GetProjectionAttr().Get(time) == "orthographic",
        "near": float(near),
        "far": float(far),
        **lens,
    }


def _numbers(matrix: Any) -> list[float]:
    return [float(value) for row in matrix for value in row]


if __name__ == "__main__":
    main(sys.argv[1], int(sys.argv[2]))
