"""What stays from one drawing of a study to the next: its scene as read, the renderer, results by all that
they depend on. A study that has changed a little is drawn again but little."""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Callable, Mapping
from contextlib import ExitStack
from dataclasses import fields, replace
from hashlib import sha256
from pathlib import Path
from time import time_ns
from typing import Any, NamedTuple, Protocol

import numpy as np

from stationpoint.base.inputs import files_read, note, noting
from stationpoint.readings import Result, bounded_paths
from stationpoint.render import Renderer, open_renderer
from stationpoint.run.cache import feed
from stationpoint.run.cases import widest_aspect
from stationpoint.run.prepare import Prepared
from stationpoint.run.sweep import CaseRunner, Wants
from stationpoint.scene import Node, Scene, read_scene
from stationpoint.study import Study, Sweep, Variant, study_digest

MOST_SCENES = 2  # of the sheet and of the page
MOST_BYTES = 400_000_000  # of results that are kept
SETTLED_NS = 100_000_000  # a file that changed less long ago may be changing still
NO_SWEEP = Sweep()
Stamp = tuple[int, int, int] | None
Key = bytes


def stamp(path: Path) -> Stamp:
    """What tells a file from what it was: when it changed, its size and its number; None where it is not."""
    try:
        found = path.stat()
    except (OSError, ValueError):
        return None
    return found.st_mtime_ns, found.st_size, found.st_ino


class Onlooker(Protocol):
    """Who is told of a sweep while it is drawn, if anything of it must be."""

    def begin(self, keys: Mapping[str, Key]) -> None:
        """It begins. keys: label of each variant -> what tells its results from all others."""

    def see(self, result: Result) -> None:
        """A result is at hand: first those that were drawn before, then each that is drawn."""


class _ReadScene(NamedTuple):
    path: Path
    mesh: str
    scene: Scene
    stamps: dict[Path, Stamp]


class Warm:
    """A process's place to draw one study again and again. drawn: how many variants the last sweep drew.
    keys: by label, what tells the results of each of its variants from all others.

    open_things: closes the renderer in the end.
    """

    def __init__(self, open_things: ExitStack) -> None:
        self._open_things = open_things
        self._read: _ReadScene | None = None
        self._scenes = OrderedDict[Key, Scene]()
        self._renderer: tuple[tuple[str, Key], Renderer, ExitStack] | None = None
        self._results = OrderedDict[Key, tuple[Result, ...]]()
        self.packed: dict[tuple[bytes, bool], bytes] = {}
        self.drawn = 0
        self.keys: dict[str, Key] = {}

    def scene(self, path: Path, mesh: Mapping[str, Any]) -> Scene | None:
        """The scene of a study, read where any of its files has changed; None where there is none. mesh: as
        in `read_scene`. Raises what that raises."""
        if not path.exists():
            return None
        kept, said = self._read, repr(sorted(mesh.items()))
        is_same = kept is not None and (kept.path, kept.mesh) == (path, said)
        if kept is not None and is_same and all(stamp(file) == was for file, was in kept.stamps.items()):
            for file in kept.stamps:
                note(file)
            return kept.scene
        self._read, begun = None, time_ns()
        files: tuple[Path, ...] = ()
        try:
            with noting():
                try:
                    scene = read_scene(path, mesh)
                finally:
                    files = files_read()
        finally:
            for file in files:
                note(file)
        stamps = {file: stamp(file) for file in files}
        if all(one is not None and one[0] < begun - SETTLED_NS for one in stamps.values()):
            self._read = _ReadScene(path, said, scene, stamps)
        return scene

    def settled(self, prepared: Prepared) -> Prepared:
        """The study with the scene that was drawn before, where it is the same: what has been found of its
        nodes comes along."""
        key = self._scene_key(prepared.scene)
        kept = self._scenes.setdefault(key, prepared.scene)
        self._scenes.move_to_end(key)
        while len(self._scenes) > MOST_SCENES:
            self._scenes.popitem(last=False)
        return replace(prepared, scene=replace(prepared.scene, nodes=kept.nodes))

    def sweep(
        self,
        prepared: Prepared,
        wants: Wants,
        renderer: str = "gl",
        workers: int | None = 1,
        on_result: Callable[[], None] | None = None,
        onlooker: Onlooker | None = None,
    ) -> list[Result]:
        """As `sweep_variants`, in this process alone: what was drawn before is not drawn again."""
        prepared = self.settled(prepared)
        base = _base_key(prepared, self._scene_key(prepared.scene), wants, renderer)
        keys = self.keys = {variant.label: _key(base, variant) for variant in prepared.variants}
        missing = tuple(one for one in prepared.variants if keys[one.label] not in self._results)
        self.drawn = len(missing)
        if missing and onlooker is not None:
            onlooker.begin(keys)
            for variant in prepared.variants:
                for result in self._results.get(keys[variant.label], ()):
                    onlooker.see(_as_of(result, variant))
        if missing:
            see = None if onlooker is None else onlooker.see
            runner = CaseRunner(
                prepared, wants, renderer, self._open_things, lambda: self._opened(renderer, prepared.scene)
            )
            of_each: dict[str, list[Result]] = {one.label: [] for one in missing}
            for result in runner.of_variants(missing, on_result, see):
                of_each[result.variant.label].append(result)
            for label, found in of_each.items():
                self._results[keys[label]] = tuple(found)
        results: list[Result] = []
        for variant in prepared.variants:
            self._results.move_to_end(keys[variant.label])
            results.extend(_as_of(result, variant) for result in self._results[keys[variant.label]])
        self._forget(set(keys.values()))
        return results

    def _scene_key(self, scene: Scene) -> Key:
        """`scene_key`, at once for the nodes of a scene that is kept."""
        known = (key for key, kept in self._scenes.items() if kept.nodes is scene.nodes)
        return next(known, None) or scene_key(scene)

    def _opened(self, name: str, scene: Scene) -> Renderer:
        key = (name, self._scene_key(scene))
        if self._renderer is None or self._renderer[0] != key:
            if self._renderer is not None:
                self._renderer[2].close()
                self._renderer = None
            of_it = self._open_things.enter_context(ExitStack())
            self._renderer = key, of_it.enter_context(open_renderer(name, scene)), of_it
        return self._renderer[1]

    def _forget(self, needed: set[Key]) -> None:
        """Let go of what was wanted longest ago, but for what is wanted now."""
        total = sum(map(_bytes, self._results.values()))
        for key in list(self._results):
            if total <= MOST_BYTES:
                return
            if key not in needed:
                total -= _bytes(self._results.pop(key))


def scene_key(scene: Scene) -> Key:
    """All that a picture of a scene depends on, as a digest."""
    total = sha256()
    for node in scene.nodes:
        _feed_node(total, node)
    return total.digest()


def _feed_node(total: Any, node: Node) -> None:
    """Take in a node, but for what has been found of it since."""
    feed(total, [(one.name, getattr(node, one.name)) for one in fields(node) if one.init])


def _base_key(prepared: Prepared, scene: Key, wants: Wants, renderer: str) -> Key:
    """What all variants rest on: of the brief which readings are bounded, and not by what. Title,
    notes and decision are only told."""
    total = sha256()
    study = prepared.study
    bare: Study = study.model_copy(
        update={"title": "", "decision": None, "note": (), "limit": (), "sweep": NO_SWEEP}
    )
    said = [renderer, study_digest(bare), bounded_paths(study), sorted(wants.only or ()), wants.only is None]
    feed(total, [said, replace(wants, only=None), widest_aspect(prepared)])
    feed(total, [prepared.scene_digest, scene, prepared.scene.in_colour, prepared.cameras])
    if prepared.body is not None:
        _feed_node(total, prepared.body)
    return total.digest()


def _key(base: Key, variant: Variant) -> Key:
    """What one variant's results depend on: no label, since that only says where it stands."""
    total = sha256(base)
    plain = replace(variant, label="", key="", page=0, row=0, column=0)
    feed(total, [plain, variant.camera.said(), variant.base.said()])
    return total.digest()


def _as_of(result: Result, variant: Variant) -> Result:
    """A result that was kept, where its variant stands now."""
    stands = {name: getattr(variant, name) for name in ("label", "key", "page", "row", "column")}
    return replace(result, variant=replace(result.variant, **stands))


def _bytes(results: tuple[Result, ...]) -> int:
    arrays = (getattr(result, one.name) for result in results for one in fields(result))
    return sum(array.nbytes for array in arrays if isinstance(array, np.ndarray))
